//! `scenario check`: everything that is wrong in scenario files and in the hand scripts they name.

use super::output::{complain, say};
use super::{Case, Failure, Status, case, files};
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

/// One sentence about a scenario that is in order; its warnings are printed.
fn check_one(file: &Path) -> Result<String, Failure> {
    let found = files::need(file)?;
    let reading = case::read(&found);
    if reading.scenario.is_some() && !reading.problems.0.is_empty() {
        complain(&reading.explained());
    }
    let case = Case::found(&found)?;
    case.begin()?;
    let fault = case.scenario.fault.iter().map(|fault| ("fault", &fault.hands));
    for (what, name) in std::iter::once(("demonstration", &case.scenario.demonstration)).chain(fault) {
        let script = case::script(name, &found.place)?;
        if files::find(&script)?.is_none() {
            complain(&format!("{}: warning: its {what} {} is not there", found.name, script.display()));
        } else {
            case::hands(&script)?;
        }
    }
    Ok(format!("{}: in order: {}, {}\n", found.name, case.scenario.title, case.order.notation()))
}
