//! The files of a case on stage, looked at now and then for what has changed in them.

use crate::cli::check::{Checked, examine};
use crate::cli::{case, files};
use std::fs::metadata;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

/// Time between two looks: soon enough for who has just saved a file, and far too seldom to cost anything (common practice, no
/// source).
const EVERY: Duration = Duration::from_millis(500);

/// A file as it is without being read: when it was written and how long it is; `None` if it is not there.
type Stamp = Option<(SystemTime, u64)>;

/// The files of a case: its own, those that it extends, and its scripts.
pub(crate) struct Watch {
    /// The scenario, as it was named.
    file: PathBuf,
    every: Duration,
    /// When the files were looked at last.
    looked: Option<Instant>,
    /// The files as they were when they were read last.
    read: Vec<(PathBuf, Stamp)>,
    /// The same as they were when they were looked at last.
    seen: Vec<(PathBuf, Stamp)>,
    in_order: bool,
}

impl Watch {
    /// Looks at the scenario that was just read from `file`, and at all that it names.
    pub(crate) fn of(file: PathBuf) -> Watch {
        Watch::every(file, EVERY)
    }

    /// The same, with another time between two looks.
    pub(crate) fn every(file: PathBuf, every: Duration) -> Watch {
        let places = files::need(&file).map_or_else(|_| vec![file.clone()], |found| case::read_with_places(&found).1);
        let read: Vec<_> = places.into_iter().map(stamped).collect();
        Watch { file, every, looked: Some(now()), seen: read.clone(), read, in_order: true }
    }

    /// Looks at a scenario that was just written to its end, and reads it at once.
    pub(crate) fn anew(file: PathBuf) -> Watch {
        let seen = vec![stamped(file.clone())];
        Watch { file, every: EVERY, looked: None, read: seen.clone(), seen, in_order: false }
    }

    /// The scenario, as it was named.
    pub(crate) fn file(&self) -> &Path {
        &self.file
    }

    /// What messages call the file.
    pub(crate) fn name(&self) -> String {
        self.file.file_name().unwrap_or(self.file.as_os_str()).to_string_lossy().into_owned()
    }

    /// Looks at the files, if that is due: the case that they hold or all that is wrong with it, if they have been read again.
    pub(crate) fn look(&mut self) -> Option<Result<Checked, String>> {
        if self.looked.is_some_and(|looked| looked.elapsed() < self.every) {
            return None;
        }
        self.looked = Some(now());
        let found: Vec<_> = self.read.iter().map(|(place, _)| stamped(place.clone())).collect();
        // A file that is still being written is another one at the next look.
        let still = std::mem::replace(&mut self.seen, found.clone()) == found;
        // What is not in order may lack a file that nobody knew of when it was read.
        if !still || (found == self.read && self.in_order) {
            return None;
        }
        let checked = examine(&self.file).map_err(|failure| failure.message);
        self.in_order = checked.is_ok();
        self.read = match &checked {
            Ok(checked) => checked.places.iter().map(|place| known(place, &found)).collect(),
            Err(_) => found,
        };
        self.seen.clone_from(&self.read);
        Some(checked)
    }
}

/// A file as it was before it was read, where that is known: what changed since is seen at the next look.
fn known(place: &Path, before: &[(PathBuf, Stamp)]) -> (PathBuf, Stamp) {
    let before = before.iter().find(|(known, _)| known == place);
    before.cloned().unwrap_or_else(|| stamped(place.to_owned()))
}

fn stamped(place: PathBuf) -> (PathBuf, Stamp) {
    let stamp = metadata(&place).and_then(|found| Ok((found.modified()?, found.len()))).ok();
    (place, stamp)
}

#[expect(clippy::disallowed_methods, reason = "nothing that is simulated depends on when a file is looked at")]
fn now() -> Instant {
    Instant::now()
}
