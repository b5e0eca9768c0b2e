//! `gradebook`, `results` and `statements`: marks as other programs take them, from findings that `grade` kept.

use super::arguments::{GradebookArguments, HandedArguments, ResultsArguments, StatementsArguments};
use super::files::with_extension;
use super::marked::{Graded, Marked};
use super::output::{complain, json, say};
use super::{Case, Failure, Status, store};
use crate::report::{Filled, HandedMark, ResultsOf, fill_gradebook, results_csv, statement};
use std::collections::BTreeMap;
use std::fs::{self, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::Path;

/// How files of findings are told from other files in a folder.
const EXTENSION: &str = "findings";

/// The best attempt of each student, by their keys; what cannot be handed over is told.
fn best(asked: &HandedArguments) -> Result<BTreeMap<String, Marked>, Failure> {
    let rubric = asked.rubric.as_deref().map(Case::at).transpose()?;
    let mut best: BTreeMap<String, Marked> = BTreeMap::new();
    for path in with_extension(&asked.findings, EXTENSION)? {
        for (number, line) in store::read(&path)? {
            let name = format!("{}:{number}", path.display());
            let graded = match line {
                Ok(kept) => Graded::of(name.clone(), "verified", kept, rubric.as_ref()),
                Err(problem) => Graded::without_marks(name.clone(), "unreadable", problem),
            };
            match graded.marked {
                Some(marked) if graded.status != "verified" => {
                    complain(&format!(
                        "{name}: {}, so it is not handed over: {}",
                        graded.status, marked.kept.student_key
                    ));
                }
                Some(marked) if marked.kept.student_key.is_empty() => {
                    complain(&format!("{name}: its recording names no student, so it is not handed over"));
                }
                Some(marked) => {
                    let known = best.get(&marked.kept.student_key);
                    if known.is_none_or(|known| known.score.total < marked.score.total) {
                        best.insert(marked.kept.student_key.clone(), marked);
                    }
                }
                None => complain(&format!("{name}: {}; it is not handed over", graded.verdict)),
            }
        }
    }
    Ok(best)
}

pub(super) fn gradebook(arguments: &GradebookArguments) -> Result<Status, Failure> {
    let table = fs::read(&arguments.file).map_err(|error| usage(&arguments.file, &error))?;
    let best = best(&arguments.handed)?;
    let mark = |marked: &Marked| {
        let total = marked.score.total.to_string();
        if arguments.decimal_comma { total.replace('.', ",") } else { total }
    };
    let marks = best.iter().map(|(student, marked)| (student.clone(), mark(marked))).collect();
    let filled = fill_gradebook(&table, &arguments.student, &arguments.column, &marks).map_err(|problems| {
        let name = arguments.file.display();
        let lines: Vec<String> = problems.iter().map(|problem| format!("{name}: {problem}")).collect();
        Failure::new(Status::Usage, lines.join("\n"))
    })?;
    write_new(&arguments.output, &filled.bytes)?;
    say(&summary(&filled)).map(|()| Status::Done)
}

fn summary(filled: &Filled) -> String {
    let Filled { filled, without_mark, without_row, .. } = filled;
    let mut lines = vec![format!("{} marks filled in", filled.len())];
    lines.extend(
        filled.iter().filter(|(_, old)| !old.trim().is_empty()).map(|(student, old)| format!("{student}: was {old}")),
    );
    for (what, students) in [
        ("in the gradebook without an attempt", without_mark),
        ("with an attempt and not in the gradebook", without_row),
    ] {
        lines.push(format!("{} {what}", students.len()));
        lines.extend(students.iter().map(|student| format!("  {student}")));
    }
    lines.join("\n") + "\n"
}

pub(super) fn results(arguments: &ResultsArguments) -> Result<Status, Failure> {
    let best = best(&arguments.handed)?;
    let of = ResultsOf { line_item: &arguments.line_item, class: &arguments.class, date: &arguments.date };
    let marks: Vec<HandedMark> = best.iter().map(handed).collect();
    let text = results_csv(&marks, of).map_err(|problems| Failure::new(Status::Usage, problems.join("\n")))?;
    write_new(&arguments.output, text.as_bytes())?;
    say(&format!("{} results written\n", best.len())).map(|()| Status::Done)
}

pub(super) fn statements(arguments: &StatementsArguments) -> Result<Status, Failure> {
    let best = best(&arguments.handed)?;
    let statements: Vec<_> = best.iter().map(|one| statement(&handed(one), &arguments.home)).collect();
    let text = json(&statements)?;
    match &arguments.output {
        Some(file) => write_new(file, text.as_bytes())?,
        None => say(&text)?,
    }
    Ok(Status::Done)
}

fn handed<'a>((student, marked): (&'a String, &'a Marked)) -> HandedMark<'a> {
    HandedMark {
        student,
        scenario: &marked.case.scenario.title,
        scenario_hash: &marked.kept.scenario_hash,
        recording_hash: &marked.kept.recording_hash,
        duration_s: marked.kept.findings.duration.seconds(),
        score: &marked.score,
    }
}

/// Writes a file that was not there.
fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let made = OpenOptions::new().write(true).create_new(true).open(path);
    made.and_then(|mut file| file.write_all(bytes)).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => usage(path, &"it is there already, and nothing is written over it"),
        _ => usage(path, &error),
    })
}

fn usage(path: &Path, why: &dyn std::fmt::Display) -> Failure {
    Failure::new(Status::Usage, format!("{}: {why}", path.display()))
}
