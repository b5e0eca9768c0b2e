//! A graded class as files: a page for it and for each attempt, a table, and findings to mark again.

use super::arguments::ClassArguments;
use super::marked::{Graded, Marked, VERSIONS};
use super::pages::{origin, program, write};
use super::{Case, Failure, Status};
use crate::report::{AttemptPage, Class, MarkedAttempt, ReadStitch, Report, attempt_page, class_csv, class_page};
use std::fs;
use std::path::Path;

/// Digits of the recording's hash by which an attempt goes: of a thousand attempts two share them once in two million.
const NAME_DIGITS: usize = 10;

/// Writes what is asked for, into folders that [`make_folders`] made; `names` says whether files may be named, `rubric`
/// who marked if not each one's own case.
pub(super) fn write_class(
    graded: &[Graded],
    asked: &ClassArguments,
    names: bool,
    rubric: Option<&Case>,
) -> Result<(), Failure> {
    let program = program();
    let class = class(graded, names, rubric, &program);
    if let Some(folder) = &asked.html {
        write(&folder.join("index.html"), &class_page(&class))?;
        for (graded, marked) in graded.iter().filter_map(|graded| Some((graded, graded.marked.as_ref()?))) {
            let text = page(graded, marked, rubric.unwrap_or(&marked.case), &program);
            write(&folder.join(page_name(&graded.recording_hash)), &text)?;
        }
    }
    asked.csv.as_deref().map_or(Ok(()), |file| write(file, &class_csv(&class)))
}

/// Writes what was measured of each attempt to a file that goes by its recording's hash.
pub(super) fn write_findings(graded: &[Graded], folder: &Path) -> Result<(), Failure> {
    graded.iter().filter_map(|graded| graded.marked.as_ref()).try_for_each(|Marked { kept, .. }| {
        write(&folder.join(format!("{}.findings", short(&kept.recording_hash))), &kept.line(VERSIONS))
    })
}

/// Makes the folders that will be needed, so that a fault of theirs is told before the class is graded and not after.
pub(super) fn make_folders(asked: &ClassArguments, findings: Option<&Path>) -> Result<(), Failure> {
    asked.html.as_deref().into_iter().chain(findings).try_for_each(make)
}

fn make(folder: &Path) -> Result<(), Failure> {
    fs::create_dir_all(folder).map_err(|error| Failure::new(Status::Usage, format!("{}: {error}", folder.display())))
}

pub(super) fn short(hash: &str) -> &str {
    hash.get(..NAME_DIGITS).unwrap_or(hash)
}

fn name(hash: &str) -> String {
    if hash.is_empty() { "recording that cannot be read".to_owned() } else { format!("attempt {}", short(hash)) }
}

fn page_name(hash: &str) -> String {
    format!("attempt-{}.html", short(hash))
}

/// The class in an order that says nothing of who is who, unless files are named.
fn class<'a>(graded: &'a [Graded], names: bool, rubric: Option<&Case>, program: &'a str) -> Class<'a> {
    let mut graded: Vec<&Graded> = graded.iter().collect();
    if !names {
        graded.sort_by(|a, b| a.recording_hash.cmp(&b.recording_hash));
    }
    let called = |graded: &Graded| if names { graded.file.clone() } else { name(&graded.recording_hash) };
    Class {
        marked: graded.iter().filter_map(|graded| attempt(graded, names)).collect(),
        unmarked: graded.iter().filter(|one| one.marked.is_none()).map(|one| (called(one), one.status)).collect(),
        origin: vec![
            (
                "Rubric",
                rubric.or_else(|| shared(&graded)).map_or_else(|| "each attempt’s own".to_owned(), rubric_words),
            ),
            (
                "Measured by",
                format!("measuring version {}, simulation version {}", VERSIONS.measuring, VERSIONS.simulation),
            ),
        ],
        program,
    }
}

/// The case of all attempts, if they have one.
fn shared<'a>(graded: &[&'a Graded]) -> Option<&'a Case> {
    let mut cases = graded.iter().filter_map(|graded| Some(&graded.marked.as_ref()?.case));
    let first = cases.next()?;
    cases.all(|case| case.text == first.text).then_some(first)
}

fn attempt(graded: &Graded, names: bool) -> Option<MarkedAttempt<'_>> {
    let marked = graded.marked.as_ref()?;
    Some(MarkedAttempt {
        name: name(&graded.recording_hash),
        file: names.then(|| graded.file.clone()),
        page: page_name(&graded.recording_hash),
        scenario: &marked.case.scenario.title,
        status: graded.status,
        digest: &marked.kept.digest,
        findings: &marked.kept.findings,
        score: &marked.score,
    })
}

/// A rubric by its scenario's title and hash.
pub(super) fn rubric_words(case: &Case) -> String {
    format!("of “{}”, scenario {}", case.scenario.title, short(&crate::record::scenario_hash(&case.text)))
}

fn page(graded: &Graded, marked: &Marked, rubric: &Case, program: &str) -> String {
    let Marked { case, kept, score, sensitivity } = marked;
    let recording = format!("{}, {}; BLAKE3 {}", graded.verdict, kept.integrity, short(&kept.recording_hash));
    attempt_page(&AttemptPage {
        name: &name(&graded.recording_hash),
        report: Report {
            scenario: &case.scenario.title,
            digest: &kept.digest,
            real_time_factor: None,
            timings: &[],
            findings: &kept.findings,
            score,
        },
        order: &case.order,
        view: &kept.view,
        stitches: &ReadStitch::numbered(kept.view.stitches.clone()),
        origin: &origin(rubric, &recording, &kept.program_version),
        class: Some("index.html"),
        sensitivity: sensitivity.as_ref(),
        program,
    })
}
