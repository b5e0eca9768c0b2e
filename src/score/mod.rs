//! From what was measured to a mark that explains itself.
//!
//! Each [`Criterion`] is a file in [`criteria`]; [`CRITERIA`] lists them. A [`Rubric`] says which of them count and
//! how much. [`score`] puts them together. Marks are rounded to hundredths and the total to tenths before anything
//! is decided by them, so that whoever has the report can repeat the sum by hand.

pub mod criteria;
pub mod criterion;
pub mod critical;
pub mod curve;
mod from_scenario;
mod items;
mod order;
mod past;
mod per_stitch;
mod rubric;
mod sensitivity;
mod site;

use serde::{Deserialize, Serialize};

pub use self::criteria::CRITERIA;
pub use self::criterion::{Assessment, Band, Bands, Criterion};
pub use self::critical::{CRITICAL_FAULTS, CriticalFault, CriticalMark};
pub use self::from_scenario::{Ramp, ramps};
pub use self::items::{Item, items};
pub use self::order::{Closure, OrderedThrow, Span, TaskOrder};
pub use self::past::Past;
pub use self::rubric::{FAILS_BELOW, Rubric, RubricProblem, Rule};
pub use self::sensitivity::Sensitivity;
pub use self::site::CheckedSite;

use crate::analysis::findings::Findings;
use crate::quantity::Tick;
use crate::said::{Said, number, said};

/// The marks of one attempt.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Score {
    /// Weighted mean of the marks, 0 to 100, to a tenth.
    pub total: f64,
    /// Total from which the rubric passes an attempt.
    pub pass_mark: f64,
    /// Whether the attempt passed.
    pub passed: bool,
    /// Why it did not pass, one sentence each; empty if it did.
    pub reasons: Vec<Said>,
    /// The marks, in the order of the rubric.
    pub criteria: Vec<CriterionMark>,
    /// Faults that fail the attempt whatever the sum.
    pub critical: Vec<CriticalMark>,
    /// What was ordered and marked as the site; `None` if the rubric has no site check.
    #[serde(default)]
    pub site: Option<CheckedSite>,
    /// The one piece of advice to follow next time.
    pub one_thing_to_change: Said,
}

/// The mark of one criterion.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CriterionMark {
    /// Name of the criterion.
    pub id: String,
    /// Its name for people.
    pub title: String,
    /// Its share of the total, relative to the other weights.
    pub weight: f64,
    /// From 0 to 1, to a hundredth.
    pub mark: f64,
    /// Whether an attempt that fails this criterion fails altogether.
    pub required: bool,
    /// Mark below which the criterion is failed.
    pub fails_below: f64,
    /// Whether the mark is below `fails_below`.
    pub failed: bool,
    /// Whether there is something to correct.
    pub fault: bool,
    /// One sentence with the numbers, their units and their time.
    pub evidence: Said,
    /// What to do next time; empty if there is nothing to correct.
    pub advice: Said,
    /// The curve or rule that turned the number into the mark.
    pub band: Said,
    /// Where the thresholds come from.
    pub source: String,
    /// The number that decided.
    pub value: Option<f64>,
    /// Unit of `value`; empty without one.
    pub unit: String,
    /// The moment to look at.
    pub tick: Option<Tick>,
    /// The same moment [s].
    pub seconds: Option<f64>,
}

/// Marks `findings` against what was ordered.
#[must_use]
pub fn score(findings: &Findings, order: &TaskOrder, rubric: &Rubric) -> Score {
    let criteria: Vec<CriterionMark> = rubric.rules().iter().filter_map(|rule| mark(findings, order, rule)).collect();
    let critical = critical::found(findings, order, rubric.critical());
    let total = total(&criteria);
    let reasons = reasons(total, rubric, &criteria, &critical);
    Score {
        total,
        pass_mark: rubric.pass_mark(),
        passed: reasons.is_empty(),
        one_thing_to_change: one_thing_to_change(&criteria, &critical),
        reasons,
        criteria,
        critical,
        site: rubric.checks_site().then(|| CheckedSite::of(findings, order)),
    }
}

/// `None` for a name that does not exist, which a checked rubric does not hold.
fn mark(findings: &Findings, order: &TaskOrder, rule: &Rule) -> Option<CriterionMark> {
    let criterion = criteria::named(&rule.id)?;
    let assessment = criterion.assess(findings, order, &rule.bands);
    assert!((0.0..=1.0).contains(&assessment.mark), "criterion `{}` gave the mark {}", rule.id, assessment.mark);
    let mark = (assessment.mark * 100.0).round() / 100.0;
    let fails_below = rule.bands.of(&FAILS_BELOW);
    Some(CriterionMark {
        id: rule.id.clone(),
        title: criterion.title().to_owned(),
        weight: rule.weight,
        mark,
        required: rule.required,
        fails_below,
        failed: mark < fails_below,
        fault: assessment.fault,
        evidence: assessment.evidence,
        advice: assessment.advice,
        band: assessment.band,
        source: criterion.source().to_owned(),
        value: assessment.value.map(|(value, _)| value),
        unit: assessment.value.map_or_else(String::new, |(_, unit)| unit.to_owned()),
        tick: assessment.tick,
        seconds: assessment.tick.map(Tick::seconds),
    })
}

fn total(criteria: &[CriterionMark]) -> f64 {
    let weights: f64 = criteria.iter().map(|criterion| criterion.weight).sum();
    let earned: f64 = criteria.iter().map(|criterion| criterion.weight * criterion.mark).sum();
    (1000.0 * earned / weights).round() / 10.0
}

fn reasons(total: f64, rubric: &Rubric, criteria: &[CriterionMark], critical: &[CriticalMark]) -> Vec<Said> {
    let by_fault = |fault: &CriticalMark| {
        let (id, evidence) = (Said::plain(&fault.id), &fault.evidence);
        said!("mark-reason-critical", "critical fault `{id}`: {evidence}", id, evidence)
    };
    let mut reasons: Vec<Said> = critical.iter().map(by_fault).collect();
    for criterion in criteria.iter().filter(|criterion| criterion.required && criterion.failed) {
        reasons.push(said!(
            "mark-reason-required",
            "required criterion `{id}` is marked {mark}, below {fails_below}",
            id = Said::plain(&criterion.id),
            mark = number(criterion.mark, 2),
            fails_below = number(criterion.fails_below, 2)
        ));
    }
    if total < rubric.pass_mark() {
        reasons.push(said!(
            "mark-reason-total",
            "total {total} is below the pass mark {pass_mark}",
            total = number(total, 1),
            pass_mark = number(rubric.pass_mark(), 1)
        ));
    }
    reasons
}

/// What failed the attempt comes first; else what cost most.
fn one_thing_to_change(criteria: &[CriterionMark], critical: &[CriticalMark]) -> Said {
    if let Some(fault) = critical.first() {
        return fault.advice.clone();
    }
    let faults = criteria.iter().filter(|criterion| criterion.fault);
    let worst = faults.reduce(|a, b| if urgency(b) > urgency(a) { b } else { a });
    worst.map_or_else(
        || said!("mark-nothing-to-change", "Nothing: do it so again."),
        |criterion| criterion.advice.clone(),
    )
}

/// Whether a criterion failed the attempt, and how much of the total it cost.
fn urgency(criterion: &CriterionMark) -> (bool, f64) {
    (criterion.required && criterion.failed, criterion.weight * (1.0 - criterion.mark))
}

/// An attempt without fault, for the tests of the criteria to spoil.
#[cfg(test)]
mod example {
    use super::{Bands, Criterion, TaskOrder};
    use crate::analysis::findings::{Findings, Knot};

    pub(super) fn findings() -> Findings {
        ron::from_str(include_str!("../../tests/scoring/faultless.ron")).expect("the example is valid")
    }

    pub(super) fn order() -> TaskOrder {
        ron::from_str(include_str!("../../tests/scoring/order.ron")).expect("the example is valid")
    }

    pub(super) fn with_knot(change: impl FnOnce(&mut Knot)) -> Findings {
        let mut findings = findings();
        change(findings.stitches[0].knot.as_mut().expect("the example has a knot"));
        findings
    }

    #[track_caller]
    pub(super) fn check(criterion: &dyn Criterion, findings: &Findings, mark: &str, sentence: &str) {
        let assessment = criterion.assess(findings, &order(), &Bands::default());
        assert_eq!(format!("{:.2}", assessment.mark), mark, "{}", assessment.evidence);
        assert_eq!(assessment.evidence, sentence);
        let full = mark == "1.00";
        assert_eq!(assessment.fault, !full, "a fault is what costs");
        assert_eq!(assessment.advice.is_empty(), full, "advice is for faults");
    }
}
