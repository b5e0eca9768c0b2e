//! Pages of reports, from what a case and its outcome say.

use super::class::rubric_words;
use super::marked::VERSIONS;
use super::{Case, Failure, Status};
use crate::analysis::kept::Versions;
use std::fs;
use std::path::Path;

/// What wrote a page.
pub(super) fn program() -> String {
    format!("Written by knotwright {}.", env!("CARGO_PKG_VERSION"))
}

/// Where an attempt's marks are from: the case whose rubric it was, what is to be thought of the recording, and the
/// version of the program that measured.
pub(super) fn origin(rubric: &Case, recording: &str, program_version: &str) -> Vec<(&'static str, String)> {
    let Versions { measuring, simulation } = VERSIONS;
    let versions =
        format!("knotwright {program_version}, measuring version {measuring}, simulation version {simulation}");
    vec![("Rubric", rubric_words(rubric)), ("Recording", recording.to_owned()), ("Measured by", versions)]
}

/// Writes a text to a file.
pub(super) fn write(path: &Path, text: &str) -> Result<(), Failure> {
    fs::write(path, text).map_err(|error| Failure::new(Status::Usage, format!("{}: {error}", path.display())))
}
