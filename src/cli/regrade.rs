//! `regrade`: marks by another rubric, from findings that `grade` kept. Nothing is simulated, and no mark is believed.

use super::arguments::RegradeArguments;
use super::class::{make_folders, rubric_words, write_class};
use super::files::with_extension;
use super::marked::{Graded, HEADING, VERSIONS, status, tell};
use super::output::say;
use super::store::{self, Line};
use super::{Case, Failure, Status};
use crate::analysis::kept::LineProblem;
use std::collections::BTreeSet;

/// How files of findings are told from other files in a folder.
const EXTENSION: &str = "findings";

pub(super) fn regrade(arguments: &RegradeArguments) -> Result<Status, Failure> {
    let rubric = Case::at(&arguments.rubric)?;
    make_folders(&arguments.class, None)?;
    let (mut class, mut seen) = (Vec::new(), BTreeSet::new());
    for path in with_extension(&arguments.paths, EXTENSION)? {
        for (number, line) in store::read(&path)? {
            // The same recording may have been measured twice; it is one attempt all the same.
            if line.as_ref().map_or(true, |kept| seen.insert(kept.recording_hash.clone())) {
                class.push(graded(format!("{}:{number}", path.display()), line, &rubric));
            }
        }
    }
    if !arguments.json {
        say(&format!(
            "Marked by the rubric {}, from findings of measuring version {} and simulation version {}\n{HEADING}",
            rubric_words(&rubric),
            VERSIONS.measuring,
            VERSIONS.simulation
        ))?;
        class.iter().try_for_each(|graded| say(&graded.line()))?;
    }
    tell(&class, arguments.json)?;
    write_class(&class, &arguments.class, false, Some(&rubric))?;
    Ok(status(&class))
}

fn graded(file: String, line: Line, rubric: &Case) -> Graded {
    match line {
        Ok(kept) => Graded::of(file, "verified when measured", kept, Some(rubric)),
        Err(problem) => {
            let word = match problem {
                LineProblem::Altered => "altered",
                LineProblem::OtherVersion { .. } => "other version",
                LineProblem::Unreadable(_) => "unreadable",
            };
            Graded::without_marks(file, word, problem)
        }
    }
}
