//! `scenario check`: everything that is wrong in scenario files and in the hand scripts they name.

use super::output::{complain, say};
use super::{Case, Failure, Status, case, files};
use crate::input::script::Script;
use std::path::{Path, PathBuf};

pub(super) fn check(files: &[PathBuf]) -> Result<Status, Failure> {
    let mut status = Status::Done;
    for file in files {
        match check_one(file) {
            Ok(sentence) => say(&sentence)?,
            Err(failure) => {
                complain(&failure.message);
                status = failure.status;
            }
        }
    }
    Ok(status)
}

/// A scenario that is in order, with all that its check has read.
#[derive(Debug)]
pub(super) struct Checked {
    pub name: String,
    pub case: Case,
    /// What its author should know, a problem each.
    pub warnings: Vec<String>,
    /// Its demonstration, if that is there.
    #[cfg_attr(not(feature = "window"), expect(dead_code, reason = "only the window plays it"))]
    pub demonstration: Option<Script>,
    /// Where all that it is made of is, or would be.
    #[cfg_attr(not(feature = "window"), expect(dead_code, reason = "only the window looks at files again"))]
    pub places: Vec<PathBuf>,
}

/// One sentence about a scenario that is in order; its warnings are printed.
fn check_one(file: &Path) -> Result<String, Failure> {
    let Checked { name, case, warnings, .. } = examine(file)?;
    warnings.iter().for_each(|warning| complain(warning));
    Ok(format!("{name}: in order: {}, {}\n", case.scenario.title, case.order.notation()))
}

/// Reads a scenario and all that it names.
///
/// # Errors
/// Everything that is wrong with it.
pub(super) fn examine(file: &Path) -> Result<Checked, Failure> {
    let found = files::need(file)?;
    let (reading, places) = case::read_with_places(&found);
    let mut warnings = Vec::new();
    if reading.scenario.is_some() && !reading.problems.0.is_empty() {
        warnings.push(reading.explained());
    }
    let case = Case::of_reading(&found.name, reading)?;
    case.begin()?;
    let fault = case.scenario.fault.iter().map(|fault| ("fault", &fault.hands));
    let mut demonstration = None;
    for (what, name) in std::iter::once(("demonstration", &case.scenario.demonstration)).chain(fault) {
        let place = case::script(name, &found.place)?;
        if files::find(&place)?.is_none() {
            warnings.push(format!("{}: warning: its {what} {} is not there", found.name, place.display()));
        } else {
            let script = case::hands(&place)?;
            demonstration = demonstration.or_else(|| (what == "demonstration").then_some(script));
        }
    }
    Ok(Checked { name: found.name, case, warnings, demonstration, places })
}
