//! Text in, scenario or problems out.

use super::check::{Findings, check};
use super::problem::{Problems, Severity};
use super::rules::check_rules;
use super::scan::{Kind, Scan, Value, scan};
use super::schema::Scenario;
use super::shape::{SCENARIO, Shape};
use super::translate::translate;
use serde::de::DeserializeOwned;

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
    let language = Language { whole: "scenario", shape: &SCENARIO, options: ron::Options::default() };
    let (scenario, problems) = language.read(name, text, check_rules);
    Reading { scenario, problems }
}

/// A language of texts that people write: the shape of a text, and what ron takes for granted.
pub(crate) struct Language {
    /// What a whole text is called.
    pub(crate) whole: &'static str,
    /// Its shape, a group whose first field is the format.
    pub(crate) shape: &'static Shape,
    /// How ron reads it.
    pub(crate) options: ron::Options,
}

impl Language {
    /// The value of a text, if no problem is an error, and its problems in the order of the text; `rules` notes what is
    /// wrong between fields.
    pub(crate) fn read<T: DeserializeOwned>(
        &self,
        name: &str,
        text: &str,
        rules: impl FnOnce(&T, &Value, &mut Findings),
    ) -> (Option<T>, Problems) {
        let Scan { root, fault } = scan(text);
        let mut findings = Findings::new(name, self.whole);
        if !has_our_format(&root, self.shape, &mut findings) {
            return (None, Problems(findings.problems));
        }
        check(&root, self.shape, "", "", &mut findings);
        if let Some(fault) = &fault {
            findings.note(Severity::Error, fault.at, &fault.path, [&fault.found, &fault.allowed, &fault.hint]);
        }
        let mut value = None;
        if fault.is_none() && !findings.misfit {
            match self.options.from_str::<T>(text) {
                Ok(read) => {
                    rules(&read, &root, &mut findings);
                    value = Some(read);
                }
                // An outlying number that does not fit its type has its message already.
                Err(_) if !findings.problems.is_empty() => {}
                Err(error) => findings.problems.push(translate(name, self.whole, &error, &root)),
            }
        }
        findings.problems.sort_by_key(|problem| (problem.line, problem.column));
        let problems = Problems(findings.problems);
        (value.filter(|_| !problems.has_errors()), problems)
    }
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
fn has_our_format(root: &Value, shape: &Shape, findings: &mut Findings) -> bool {
    let (Kind::Group { fields: entries, whole, .. }, Shape::Group(fields)) = (&root.kind, shape) else {
        return true;
    };
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
