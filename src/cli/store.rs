//! Files of findings: read for marking again, and added to while a class is graded, so that grading can go on where it
//! stopped.

use super::marked::VERSIONS;
use super::output::complain;
use super::{Failure, Status};
use crate::analysis::kept::{Kept, LineProblem};
use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

/// An attempt, or why there is none.
pub(super) type Line = Result<Kept, LineProblem>;

/// A file of findings that grows.
pub(super) struct Store {
    name: String,
    /// By the hash of the recording.
    known: BTreeMap<String, Kept>,
    file: Mutex<File>,
}

impl Store {
    /// Opens a file of findings, or begins one. What cannot be used of it stays in it, and is told.
    ///
    /// # Errors
    /// If it cannot be opened, or is some other file.
    pub(super) fn open(path: &Path) -> Result<Store, Failure> {
        let name = path.display().to_string();
        let refuse = |why: &dyn std::fmt::Display| Failure::new(Status::Usage, format!("--resume {name}: {why}"));
        let mut file = OpenOptions::new().create(true).append(true).open(path).map_err(|error| refuse(&error))?;
        let bytes = fs::read(path).map_err(|error| refuse(&error))?;
        if !bytes.iter().take(64).all(u8::is_ascii_hexdigit) {
            return Err(refuse(&"this is no file of findings, so nothing is added to it"));
        }
        if bytes.last().is_some_and(|&last| last != b'\n') {
            // The program was ended while it wrote the last line; what comes next has to be a line of its own.
            file.write_all(b"\n").map_err(|error| refuse(&error))?;
        }
        let mut known = BTreeMap::new();
        for (number, line) in lines(&bytes) {
            match line {
                Ok(kept) => drop(known.insert(kept.recording_hash.clone(), kept)),
                Err(problem) => complain(&format!("{name}:{number}: {problem}; it is not used")),
            }
        }
        Ok(Store { name, known, file: Mutex::new(file) })
    }

    /// What was measured of a recording before.
    pub(super) fn find(&self, recording_hash: &str) -> Option<&Kept> {
        self.known.get(recording_hash)
    }

    /// Adds what was measured; it is on the disk when this returns.
    ///
    /// # Errors
    /// If the file does not take it.
    pub(super) fn keep(&self, kept: &Kept) -> Result<(), Failure> {
        let line = kept.line(VERSIONS);
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        // In one go: what is read back later is the whole line or a line that says that it is not whole.
        let written = file.write_all(line.as_bytes()).and_then(|()| file.sync_data());
        written.map_err(|error| Failure::new(Status::Internal, format!("--resume {}: {error}", self.name)))
    }
}

/// The attempts of a file of findings, each with the number of its line.
///
/// # Errors
/// If the file cannot be read.
pub(super) fn read(path: &Path) -> Result<Vec<(usize, Line)>, Failure> {
    let bytes = fs::read(path)
        .map_err(|error| Failure::new(Status::AttemptUnreadable, format!("{}: {error}", path.display())))?;
    Ok(lines(&bytes))
}

fn lines(bytes: &[u8]) -> Vec<(usize, Line)> {
    let lines = (1..).zip(bytes.split(|&byte| byte == b'\n')).filter(|(_, line)| !line.is_empty());
    lines
        .map(|(number, line)| {
            let text = str::from_utf8(line).map_err(|_| LineProblem::Altered);
            (number, text.and_then(|text| Kept::of_line(text, VERSIONS)))
        })
        .collect()
}
