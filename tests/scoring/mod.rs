//! From findings to marks and reports, on an attempt without fault and on spoiled ones.

mod classes;
mod handed;
mod marks;
pub(crate) mod pages;
mod registry;
mod report;
pub(crate) mod structure;
mod total;
pub(crate) mod words;

use knotwright::analysis::findings::{Findings, Knot};
use knotwright::score::{Bands, CRITERIA, CRITICAL_FAULTS, Rubric, Rule, Score, TaskOrder, score};

pub(crate) fn faultless() -> Findings {
    ron::from_str(include_str!("faultless.ron")).expect("the file is valid")
}

pub(crate) fn order() -> TaskOrder {
    ron::from_str(include_str!("order.ron")).expect("the file is valid")
}

/// Weights that add up to 100.
/// What says nothing of a single stitch without fault has no weight, so that sums stay easy to do by hand.
const WEIGHTS: [(&str, f64); 15] = [
    ("throws", 15.0),
    ("laid_square", 20.0),
    ("blanching", 15.0),
    ("tearing", 10.0),
    ("knot_aside", 10.0),
    ("bite", 10.0),
    ("spacing", 0.0),
    ("membrane_cover", 0.0),
    ("edges", 0.0),
    ("needle_care", 0.0),
    ("thread_care", 0.0),
    ("cut_ends", 10.0),
    ("holds", 5.0),
    ("snug", 5.0),
    ("time", 0.0),
];

fn score_of(findings: &Findings, rubric: &Rubric) -> Score {
    score(findings, &order(), rubric)
}

fn rubric(required: bool) -> Rubric {
    let rules = WEIGHTS.map(|(id, weight)| Rule { id: id.to_owned(), weight, required, bands: Bands::default() });
    let critical = CRITICAL_FAULTS.iter().map(|fault| fault.id.to_owned()).collect();
    assert_eq!(rules.len(), CRITERIA.len(), "the rubric marks every criterion");
    Rubric::new(70.0, rules.to_vec(), critical).expect("the rubric is valid")
}

/// The attempt without fault, changed.
fn spoiled(change: impl FnOnce(&mut Findings)) -> Findings {
    let mut findings = faultless();
    change(&mut findings);
    findings
}

fn knot(findings: &mut Findings) -> &mut Knot {
    findings.stitches[0].knot.as_mut().expect("the attempt has a knot")
}
