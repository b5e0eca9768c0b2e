//! Text in, scenario or problems out.

use super::check::{Findings, check};
use super::problem::{Problems, Severity};
use super::rules::check_rules;
use super::scan::{Kind, Scan, Value, scan};
use super::schema::Scenario;
use super::shape::{SCENARIO, Shape};
use super::translate::translate;

/// What a text turned out to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The scenario, if no problem is an error.
    pub scenario: Option<Scenario>,
    /// Errors and warnings, in the order of the text.
    pub problems: Problems,
}

/// Reads a scenario and finds everything that is wrong with it.
///
/// `name` is the file's name as messages should show it, `text` what the file holds.
/// A text of another `format` gets that one problem only: nothing else about it can be judged.
#[must_use]
pub fn read(name: &str, text: &str) -> Reading {
    let Scan { root, fault } = scan(text);
    let mut findings = Findings::new(name);
    if !has_our_format(&root, &mut findings) {
        return Reading { scenario: None, problems: Problems(findings.problems) };
    }
    check(&root, &SCENARIO, "", "", &mut findings);
    if let Some(fault) = &fault {
        findings.note(Severity::Error, fault.at, &fault.path, [&fault.found, &fault.allowed, &fault.hint]);
    }
    let mut scenario = None;
    if fault.is_none() && !findings.misfit {
        match ron::from_str::<Scenario>(text) {
            Ok(read) => {
                check_rules(&read, &root, &mut findings);
                scenario = Some(read);
            }
            // An outlying number that does not fit its type has its message already.
            Err(_) if !findings.problems.is_empty() => {}
            Err(error) => findings.problems.push(translate(name, &error, &root)),
        }
    }
    findings.problems.sort_by_key(|problem| (problem.line, problem.column));
    let problems = Problems(findings.problems);
    Reading { scenario: scenario.filter(|_| !problems.has_errors()), problems }
}

/// Reads a scenario that has to be in order; warnings are dropped, see [`read`].
///
/// # Errors
/// Every problem of the text, warnings included, if one of them is an error.
///
/// ```
/// let text = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/first_stitch.ron"));
/// let scenario = knotwright::scenario::parse("scenarios/first_stitch.ron", text)?;
/// assert_eq!(scenario.task.notation(), "2=1=1");
/// # Ok::<(), knotwright::scenario::Problems>(())
/// ```
pub fn parse(name: &str, text: &str) -> Result<Scenario, Problems> {
    let Reading { scenario, problems } = read(name, text);
    scenario.ok_or(problems)
}

/// Whether the text is in the format this program reads, as far as it says so; else notes what it is.
fn has_our_format(root: &Value, findings: &mut Findings) -> bool {
    let (Kind::Group { fields: entries, whole }, Shape::Group(fields)) = (&root.kind, &SCENARIO) else { return true };
    let format = &fields[0];
    match entries.iter().find(|entry| entry.name == format.name) {
        Some(entry) => check(&entry.value, &format.shape, format.name, format.hint, findings),
        None if *whole && !entries.is_empty() => {
            findings.note(Severity::Error, root.at, format.name, ["missing", "1", format.hint]);
        }
        None => {}
    }
    findings.problems.is_empty()
}
