//! Where scenarios and hand scripts are: beside whoever asks, beside the program, or in it.

use super::{Failure, Status};
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// The scenario that is used when none is named.
pub(super) const FIRST_SCENARIO: &str = "scenarios/first_stitch.ron";

/// Where the shipped scenarios are, from the folder of the project or of the program.
pub(super) const SHIPPED: &str = "scenarios";

/// What the program carries with it, so that it works alone in an empty folder.
const BUILT_IN: &[(&str, &str)] = &[
    (FIRST_SCENARIO, include_str!("../../scenarios/first_stitch.ron")),
    ("scenarios/hands/first_stitch.hands", include_str!("../../scenarios/hands/first_stitch.hands")),
    ("scenarios/hands/fault_same_way.hands", include_str!("../../scenarios/hands/fault_same_way.hands")),
];

/// A text and where it was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    /// Its place, which other paths may be relative to.
    pub place: PathBuf,
    /// Its name for messages.
    pub name: String,
    /// What it holds.
    pub text: String,
}

/// Finds a text: as named, then relative to the program and the folders above it, then built in. `None` if it is nowhere.
pub(super) fn find(path: &Path) -> Result<Option<Found>, Failure> {
    let program = std::env::current_exe().unwrap_or_default();
    // `target/release/` lies two folders below the project.
    let beside = program.ancestors().skip(1).take(3).map(|folder| folder.join(path));
    for place in std::iter::once(path.to_owned()).chain(beside) {
        match fs::read(&place) {
            Ok(bytes) => return text(place, bytes).map(Some),
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => return Err(refuse(&place, &error)),
        }
    }
    let built_in = BUILT_IN.iter().find(|(name, _)| Path::new(name) == path);
    Ok(built_in.map(|(name, text)| Found {
        place: path.to_owned(),
        name: format!("{name} (built in)"),
        text: (*text).to_owned(),
    }))
}

/// The files named, and those in the folders named that have this extension, in the order of their names, folders below
/// them included.
///
/// # Errors
/// If a folder cannot be read, or if there is no such file.
pub(super) fn with_extension(paths: &[PathBuf], extension: &str) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_dir() {
            gather(path, extension, &mut files)?;
        } else {
            files.push(path.clone());
        }
    }
    let none = || Failure::new(Status::Usage, format!("PATH holds no file that ends in .{extension}"));
    if files.is_empty() { Err(none()) } else { Ok(files) }
}

/// The files of a folder that have this extension, as [`with_extension`] orders them; there may be none.
pub(super) fn all_with_extension(folder: &Path, extension: &str) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    gather(folder, extension, &mut files)?;
    Ok(files)
}

fn gather(folder: &Path, extension: &str, files: &mut Vec<PathBuf>) -> Result<(), Failure> {
    let unreadable = |error| Failure::new(Status::Usage, format!("{}: {error}", folder.display()));
    let entries = fs::read_dir(folder).map_err(unreadable)?;
    let mut paths =
        entries.map(|entry| entry.map(|entry| entry.path())).collect::<Result<Vec<_>, _>>().map_err(unreadable)?;
    paths.sort_unstable();
    for path in paths {
        if path.is_dir() {
            gather(&path, extension, files)?;
        } else if path.extension().is_some_and(|found| found == extension) {
            files.push(path);
        }
    }
    Ok(())
}

/// Finds a text that another one names: beside that one, or else among what is shipped.
pub(super) fn find_beside(place: &Path, name: &str) -> Result<Option<Found>, Failure> {
    match find(&place.with_file_name(name))? {
        Some(found) => Ok(Some(found)),
        None => find(&Path::new(SHIPPED).join(name)),
    }
}

/// The shipped scenarios: here, beside the program, or built in.
pub(super) fn shipped() -> Result<Vec<PathBuf>, Failure> {
    let program = std::env::current_exe().unwrap_or_default();
    let beside = program.ancestors().skip(1).take(3).map(|folder| folder.join(SHIPPED));
    match std::iter::once(PathBuf::from(SHIPPED)).chain(beside).find(|folder| folder.is_dir()) {
        Some(folder) => with_extension(&[folder], "ron"),
        None => Ok(BUILT_IN.iter().map(|(name, _)| PathBuf::from(name)).filter(|name| is_scenario(name)).collect()),
    }
}

fn is_scenario(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == "ron")
}

/// Finds a text that has to be there.
pub(super) fn need(path: &Path) -> Result<Found, Failure> {
    find(path)?.ok_or_else(|| refuse(path, &"no such file here or beside the program"))
}

fn text(place: PathBuf, bytes: Vec<u8>) -> Result<Found, Failure> {
    let name = place.display().to_string();
    match String::from_utf8(bytes) {
        Ok(text) => Ok(Found { place, name, text }),
        Err(error) => Err(refuse(&place, &format!("byte {} is not UTF-8 text", error.utf8_error().valid_up_to()))),
    }
}

fn refuse(place: &Path, why: &dyn std::fmt::Display) -> Failure {
    Failure::new(Status::ScenarioInvalid, format!("{}: {why}", place.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_built_in_holds_the_demonstration_and_the_fault_of_the_first_scenario() {
        let (_, scenario) = BUILT_IN[0];
        let scenario = crate::scenario::parse(FIRST_SCENARIO, scenario).expect("it is shipped");
        for hands in [scenario.demonstration, scenario.fault.expect("it shows one").hands] {
            let place = Path::new(FIRST_SCENARIO).with_file_name(hands);
            assert!(BUILT_IN.iter().any(|(name, _)| Path::new(name) == place), "{}", place.display());
        }
    }

    #[test]
    fn a_file_that_is_nowhere_is_none() {
        assert_eq!(find(Path::new("no_such_folder/no_such_file.ron")), Ok(None));
    }
}
