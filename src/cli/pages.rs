//! Pages of reports, from what a case and its outcome say.

use super::session::SIMULATION_VERSION;
use super::{Case, Failure, Status};
use std::fs;
use std::path::Path;

/// What wrote a page.
pub(super) fn program() -> String {
    format!("knotwright {}, simulation version {SIMULATION_VERSION}", env!("CARGO_PKG_VERSION"))
}

/// Where an attempt's marks are from.
pub(super) fn origin(case: &Case, verdict: &str) -> Vec<(&'static str, String)> {
    vec![("Rubric", format!("of “{}”", case.scenario.title)), ("Recording", verdict.to_owned())]
}

/// Writes a text to a file.
pub(super) fn write(path: &Path, text: &str) -> Result<(), Failure> {
    fs::write(path, text).map_err(|error| Failure::new(Status::Usage, format!("{}: {error}", path.display())))
}
