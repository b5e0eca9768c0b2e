//! A recording, or findings kept of one, and what became of it; and how a class of them is printed.

use super::output::{json, say};
use super::{Case, Failure, Status};
use crate::analysis::kept::{Kept, MEASURING_VERSION, Versions};
use crate::cli::session::{Outcome, SIMULATION_VERSION};
use crate::record::{Integrity, scenario_hash};
use crate::score::{Score, Sensitivity, score};
use serde::Serialize;

/// What measures now.
pub(super) const VERSIONS: Versions = Versions { measuring: MEASURING_VERSION, simulation: SIMULATION_VERSION };

/// What is kept of an attempt that was carried out.
pub(super) fn kept(
    recording_hash: String,
    student_key: String,
    integrity: &Integrity,
    case: &Case,
    outcome: Outcome,
) -> Kept {
    Kept {
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        recording_hash,
        student_key,
        scenario_hash: scenario_hash(&case.text),
        scenario_text: case.text.clone(),
        integrity: integrity.to_string(),
        digest: outcome.digest,
        findings: outcome.findings,
        view: outcome.view,
    }
}

/// A recording of the class, or a line of findings, and what became of it.
pub(super) struct Graded {
    /// Where it was read.
    pub file: String,
    /// BLAKE3 of the recording; empty if it could not be read.
    pub recording_hash: String,
    /// One word, or a few.
    pub status: &'static str,
    /// The same in a sentence.
    pub verdict: String,
    /// Marks are given to what is verified, and to nothing else.
    pub marked: Option<Marked>,
}

/// What was measured, and its marks.
pub(super) struct Marked {
    /// The attempt's own case.
    pub case: Case,
    pub kept: Kept,
    pub score: Score,
    /// How far the mark moves with the thread, if that was asked for.
    pub sensitivity: Option<Sensitivity>,
}

impl Marked {
    /// Marks by the rubric of the attempt's own case, or by that of another. An error if its case cannot be read.
    fn new(kept: Kept, other: Option<&Case>) -> Result<Marked, Failure> {
        let case = Case::read(&format!("scenario of recording {:.10}", kept.recording_hash), &kept.scenario_text)?;
        let score = score(&kept.findings, &case.order, &other.unwrap_or(&case).rubric);
        Ok(Marked { case, kept, score, sensitivity: None })
    }
}

impl Graded {
    /// Something without marks.
    pub(super) fn without_marks(file: String, status: &'static str, verdict: impl ToString) -> Graded {
        Graded { file, recording_hash: String::new(), status, verdict: verdict.to_string(), marked: None }
    }

    /// What was measured, with its marks; `status` is what is to be thought of it, unless the simulation cannot vouch
    /// for it.
    pub(super) fn of(file: String, status: &'static str, kept: Kept, rubric: Option<&Case>) -> Graded {
        let recording_hash = kept.recording_hash.clone();
        match Marked::new(kept, rubric) {
            Ok(marked) => {
                let sound = marked.kept.findings.validity.invalid_ticks.is_empty();
                let verdict = status.to_owned();
                let status = if sound { status } else { "physically invalid" };
                Graded { file, recording_hash, status, verdict, marked: Some(marked) }
            }
            Err(failure) => Graded { recording_hash, ..Graded::without_marks(file, "unreadable", failure) },
        }
    }

    /// As a line of the table under [`HEADING`].
    pub(super) fn line(&self) -> String {
        let Row { total, passed, notation, .. } = Row::from(self);
        let total = total.map_or_else(|| "    -".to_owned(), |total| format!("{total:5.1}"));
        let passed = passed.map_or("-", |passed| if passed { "yes" } else { "no" });
        let knot = notation.as_deref().unwrap_or("-");
        format!("{total}  {passed:<6}  {:<24}  {knot:<8}  {}\n", self.status, self.file)
    }
}

/// Heading of the table.
pub(super) const HEADING: &str = "total  passed  status                    knot      file\n";

/// Prints the class: as one JSON list, or what stands below the table.
pub(super) fn tell(class: &[Graded], as_json: bool) -> Result<(), Failure> {
    if as_json { say(&json(&class.iter().map(Row::from).collect::<Vec<_>>())?) } else { say(&summary(class)) }
}

/// Whether all of the class has marks.
pub(super) fn status(class: &[Graded]) -> Status {
    if class.iter().all(|graded| graded.marked.is_some()) { Status::Done } else { Status::NotVerified }
}

fn summary(class: &[Graded]) -> String {
    let marked = || class.iter().filter_map(|graded| graded.marked.as_ref());
    let passed = marked().filter(|marked| marked.score.passed).count();
    let mut text = format!("of {} recordings {} were marked, {passed} passed\n", class.len(), marked().count());
    for graded in class {
        let sensitivity = graded.marked.as_ref().and_then(|marked| marked.sensitivity.as_ref());
        text.extend(sensitivity.map(|found| format!("{}: {}\n", graded.file, found.sentence())));
    }
    for graded in class.iter().filter(|graded| graded.marked.is_none()) {
        text.push_str(&format!("{}: {}\n", graded.file, graded.verdict));
    }
    text
}

/// What programs read of it.
#[derive(Debug, Serialize)]
struct Row<'a> {
    file: &'a str,
    status: &'a str,
    verdict: &'a str,
    notation: Option<String>,
    total: Option<f64>,
    passed: Option<bool>,
    criteria: Vec<Criterion<'a>>,
    critical: Vec<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sensitivity: Option<Moves>,
}

/// How far a total moves with the thread.
#[derive(Debug, Serialize)]
struct Moves {
    threads: usize,
    seed: u64,
    error: Option<f64>,
    least: Option<f64>,
    greatest: Option<f64>,
    passing: usize,
    missing: usize,
    flips: bool,
    totals: Vec<Option<f64>>,
}

impl From<&Sensitivity> for Moves {
    fn from(found: &Sensitivity) -> Moves {
        Moves {
            threads: found.drawn.len(),
            seed: found.seed,
            error: found.error(),
            least: found.range().map(|[least, _]| least),
            greatest: found.range().map(|[_, greatest]| greatest),
            passing: found.passing(),
            missing: found.missing(),
            flips: found.flips(),
            totals: found.drawn.iter().map(|one| one.map(|(total, _)| total)).collect(),
        }
    }
}

#[derive(Debug, Serialize)]
struct Criterion<'a> {
    id: &'a str,
    mark: f64,
    evidence: &'a str,
}

impl<'a> From<&'a Graded> for Row<'a> {
    fn from(graded: &'a Graded) -> Row<'a> {
        let marked = graded.marked.as_ref();
        let score = marked.map(|marked| &marked.score);
        let criteria = score.map_or(&[][..], |score| &score.criteria);
        let critical = score.map_or(&[][..], |score| &score.critical);
        Row {
            file: &graded.file,
            status: graded.status,
            verdict: &graded.verdict,
            notation: marked.and_then(|marked| marked.kept.findings.notations()),
            total: score.map(|score| score.total),
            passed: score.map(|score| score.passed),
            criteria: criteria.iter().map(|c| Criterion { id: &c.id, mark: c.mark, evidence: &c.evidence }).collect(),
            critical: critical.iter().map(|fault| fault.id.as_str()).collect(),
            sensitivity: marked.and_then(|marked| marked.sensitivity.as_ref()).map(Moves::from),
        }
    }
}
