//! Text in, scenario or problems out.

use super::check::{Findings, check};
use super::extend::{Joined, Others, Source, join_sources};
use super::problem::{Problem, Problems, Severity};
use super::rules::check_rules;
use super::scan::{Kind, Scan, Value, place, scan};
use super::schema::Scenario;
use super::shape::{SCENARIO, Shape};
use super::translate::translate;
use ron::error::SpannedError;
use serde::de::DeserializeOwned;

/// What a text turned out to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The scenario, if no problem is an error.
    pub scenario: Option<Scenario>,
    /// Errors and warnings, in the order of the text.
    pub problems: Problems,
    /// The text that says all of the scenario: its own, or one put together if it extends others; empty if they could not
    /// be followed.
    pub text: String,
    /// The texts it was read from, its own first.
    pub sources: Vec<Source>,
}

impl Reading {
    /// Every problem, each with the line of the text it points at.
    #[must_use]
    pub fn explained(&self) -> String {
        let problems = self.problems.0.iter().map(|problem| {
            let source = self.sources.iter().find(|source| source.name == problem.file);
            let excerpt = source.map(|source| problem.excerpt(&source.text)).unwrap_or_default();
            format!("{problem}{excerpt}")
        });
        problems.collect::<Vec<_>>().join("\n")
    }
}

/// Reads a scenario and finds everything that is wrong with it.
///
/// `name` is the file's name as messages should show it, `text` what the file holds; there is no other scenario that it
/// could extend, see [`read_extending`]. A text of another `format` gets that one problem only: nothing else about it can
/// be judged.
#[must_use]
pub fn read(name: &str, text: &str) -> Reading {
    let source = Source { name: name.to_owned(), text: text.to_owned() };
    read_extending(&source, &mut |_, _| Err("no other scenario is at hand here".into()))
}

/// The same for a scenario that may extend others, which `others` finds.
#[must_use]
pub fn read_extending(source: &Source, others: &mut Others) -> Reading {
    let mut findings = Findings::new(&source.name, LANGUAGE_NAME);
    let Some(joined) = join_sources(source, others, &mut findings) else {
        let sources = vec![source.clone()];
        return Reading { scenario: None, problems: findings.in_order(), text: String::new(), sources };
    };
    check(&joined.root, &SCENARIO, "", "", &mut findings);
    let (mut scenario, mut text) = (None, String::new());
    if joined.whole && !findings.misfit {
        text = joined.text();
        match ron::from_str::<Scenario>(&text) {
            Ok(read) => {
                check_rules(&read, &joined.root, &mut findings);
                scenario = Some(read);
            }
            // An outlying number that does not fit its type has its message already.
            Err(_) if !findings.problems.is_empty() => {}
            Err(error) => findings.problems.push(refused(&joined, &text, &error)),
        }
    }
    let problems = findings.in_order();
    Reading { scenario: scenario.filter(|_| !problems.has_errors()), problems, text, sources: joined.sources }
}

/// What ron says of a text, at its place in the text that the value is from.
fn refused(joined: &Joined, text: &str, error: &SpannedError) -> Problem {
    let [only] = &joined.sources[..] else {
        let problem = translate("", LANGUAGE_NAME, error, &scan(text).root);
        let at = place(&joined.root, &problem.field).at;
        let file = joined.sources[at.source].name.clone();
        return Problem { file, line: at.line, column: at.column, ..problem };
    };
    translate(&only.name, LANGUAGE_NAME, error, &joined.root)
}

/// What a whole text is called.
const LANGUAGE_NAME: &str = "scenario";

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
            return (None, findings.in_order());
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
        let problems = findings.in_order();
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
    let Reading { scenario, problems, .. } = read(name, text);
    scenario.ok_or(problems)
}

/// Whether the text is in the format this program reads, as far as it says so; else notes what it is.
pub(super) fn has_our_format(root: &Value, shape: &Shape, findings: &mut Findings) -> bool {
    let before = findings.problems.len();
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
    findings.problems.len() == before
}
