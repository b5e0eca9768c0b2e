//! `grade`: recordings carried out again one by one, each with its verdict and its marks; one that cannot be read stops
//! no other.

use super::again::{Again, Done, again};
use super::arguments::GradeArguments;
use super::output::{json, say};
use super::runs::in_order;
use super::{Case, Failure, Status, progress};
use crate::record::Verdict;
use serde::Serialize;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

/// How recordings are told from other files in a folder.
const EXTENSION: &str = "attempt";

/// One recording of the class.
#[derive(Debug, Serialize)]
struct Grade {
    file: String,
    /// One word, or a few.
    status: &'static str,
    /// The same in a sentence.
    verdict: String,
    /// Throws of the knot, if there is one.
    notation: Option<String>,
    /// Marks are given to what is verified, and to nothing else.
    total: Option<f64>,
    passed: Option<bool>,
    criteria: Vec<Criterion>,
    critical: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Criterion {
    id: String,
    mark: f64,
    evidence: String,
}

pub(super) fn grade(arguments: &GradeArguments) -> Result<Status, Failure> {
    let files = recordings(&arguments.paths)?;
    let case = arguments.scenario.as_deref().map(Case::at).transpose()?;
    let count = u32::try_from(files.len()).map_err(|error| Failure::new(Status::Usage, error))?;
    let bar = progress::runs(count);
    if !arguments.json {
        bar.suspend(|| say("total  passed  status                    knot      file\n"))?;
    }
    let mut grades = Vec::new();
    in_order(
        count,
        arguments.jobs.get(),
        |index| graded(&files[index as usize], case.as_ref()),
        |grade| {
            if !arguments.json {
                bar.suspend(|| say(&line(&grade)))?;
            }
            bar.inc(1);
            grades.push(grade);
            Ok(())
        },
    )?;
    bar.finish_and_clear();
    if arguments.json {
        say(&json(&grades)?)?;
    } else {
        say(&summary(&grades))?;
    }
    let all_verified = grades.iter().all(|grade| grade.total.is_some());
    Ok(if all_verified { Status::Done } else { Status::NotVerified })
}

/// The files named, and those in the folders named in the order of their names, folders below them included.
fn recordings(paths: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_dir() {
            gather(path, &mut files)?;
        } else {
            files.push(path.clone());
        }
    }
    let none = || Failure::new(Status::Usage, format!("PATH holds no file that ends in .{EXTENSION}"));
    if files.is_empty() { Err(none()) } else { Ok(files) }
}

fn gather(folder: &Path, files: &mut Vec<PathBuf>) -> Result<(), Failure> {
    let unreadable = |error| Failure::new(Status::Usage, format!("{}: {error}", folder.display()));
    let entries = fs::read_dir(folder).map_err(unreadable)?;
    let mut paths =
        entries.map(|entry| entry.map(|entry| entry.path())).collect::<Result<Vec<_>, _>>().map_err(unreadable)?;
    paths.sort_unstable();
    for path in paths {
        if path.is_dir() {
            gather(&path, files)?;
        } else if path.extension().is_some_and(|extension| extension == EXTENSION) {
            files.push(path);
        }
    }
    Ok(())
}

fn graded(path: &Path, scenario: Option<&Case>) -> Grade {
    let file = path.display().to_string();
    // A recording that makes the program fail is one person's trouble, not the class's.
    let again = catch_unwind(AssertUnwindSafe(|| again(path, scenario, |_| ())));
    let (status, verdict) = match again {
        Err(_) => ("not carried out", "the program failed on it: please report it with the message above".to_owned()),
        Ok(Err(failure)) => ("unreadable", failure.message),
        Ok(Ok(Again { verdict: Verdict::Verified, done: Some(done), .. })) => return with_marks(file, done),
        Ok(Ok(Again { verdict, .. })) => (word(&verdict), verdict.to_string()),
    };
    Grade {
        file,
        status,
        verdict,
        notation: None,
        total: None,
        passed: None,
        criteria: Vec::new(),
        critical: Vec::new(),
    }
}

fn with_marks(file: String, Done { outcome, .. }: Done) -> Grade {
    let invalid = !outcome.findings.validity.invalid_ticks.is_empty();
    let notation = outcome.knot().map(|(notation, _)| notation.to_owned());
    let score = outcome.score;
    let criteria = score.criteria.into_iter();
    Grade {
        file,
        status: if invalid { "physically invalid" } else { "verified" },
        verdict: Verdict::Verified.to_string(),
        notation,
        total: Some(score.total),
        passed: Some(score.passed),
        criteria: criteria.map(|c| Criterion { id: c.id, mark: c.mark, evidence: c.evidence }).collect(),
        critical: score.critical.iter().map(|fault| fault.id.to_string()).collect(),
    }
}

fn word(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Verified => "verified",
        Verdict::DivergedAt { .. } => "diverged",
        Verdict::WrongScenario { .. } => "wrong scenario",
        Verdict::OtherVersion { .. } => "other simulation version",
        Verdict::Damaged { .. } => "damaged",
    }
}

fn line(grade: &Grade) -> String {
    let total = grade.total.map_or_else(|| "    -".to_owned(), |total| format!("{total:5.1}"));
    let passed = grade.passed.map_or("-", |passed| if passed { "yes" } else { "no" });
    let knot = grade.notation.as_deref().unwrap_or("-");
    format!("{total}  {passed:<6}  {:<24}  {knot:<8}  {}\n", grade.status, grade.file)
}

fn summary(grades: &[Grade]) -> String {
    let marked = grades.iter().filter(|grade| grade.total.is_some()).count();
    let passed = grades.iter().filter(|grade| grade.passed == Some(true)).count();
    let mut text = format!("of {} recordings {marked} were marked, {passed} passed\n", grades.len());
    for grade in grades.iter().filter(|grade| grade.total.is_none()) {
        text.push_str(&format!("{}: {}\n", grade.file, grade.verdict));
    }
    text
}
