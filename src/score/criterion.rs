//! The shape of a criterion: what it needs, what it answers, and how an instructor may tune it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::TaskOrder;
use crate::analysis::findings::Findings;
use crate::quantity::Tick;
use crate::said::{PutIn, Said, measure, said};

/// One thing that is marked.
pub trait Criterion: Sync {
    /// Name in rubrics and reports; it never changes.
    fn id(&self) -> &'static str;
    /// Name for people.
    fn title(&self) -> &'static str;
    /// What is judged and how, for instructors.
    fn doc(&self) -> &'static str;
    /// Where the thresholds come from, or `common practice, no source`.
    fn source(&self) -> &'static str;
    /// The numbers that a rubric may change.
    fn bands(&self) -> &'static [Band];
    /// The mark and the reason for it. A missing measurement earns 0 and a sentence that says so.
    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment;
}

/// A number of a criterion that a rubric may change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Name in the rubric, with its unit.
    pub id: &'static str,
    /// Value if the rubric is silent.
    pub default: f64,
    /// Unit; `1` for a plain number.
    pub unit: &'static str,
    /// Smallest allowed value.
    pub min: f64,
    /// Largest allowed value.
    pub max: f64,
    /// What the number does.
    pub doc: &'static str,
    /// Where the default comes from, or `common practice, no source`.
    pub source: &'static str,
}

/// What most defaults of bands rest on.
pub(crate) const COMMON_PRACTICE: &str = "common practice, no source";

/// The numbers that a rubric changed, by the name of the band.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Bands(pub BTreeMap<String, f64>);

impl Bands {
    /// The rubric's value of `band`, or its default.
    #[must_use]
    pub fn of(&self, band: &Band) -> f64 {
        self.0.get(band.id).copied().unwrap_or(band.default)
    }
}

/// A mark that explains itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    /// From 0 (nothing) to 1 (everything).
    pub mark: f64,
    /// One sentence with the numbers, their units and their time.
    pub evidence: Said,
    /// The number that decided, and its unit.
    pub value: Option<(f64, &'static str)>,
    /// The curve or rule that turned the number into the mark, in words.
    pub band: Said,
    /// What to do next time; empty if there is nothing to correct.
    pub advice: Said,
    /// The moment to look at.
    pub tick: Option<Tick>,
    /// Whether there is something to correct.
    pub fault: bool,
}

impl Assessment {
    /// No mark, because what is judged was not done or could not be measured.
    #[must_use]
    pub fn missing(evidence: Said, advice: Said) -> Self {
        Self {
            mark: 0.0,
            evidence,
            value: None,
            band: said!("mark-band-none", "none without a measurement"),
            advice,
            tick: None,
            fault: true,
        }
    }

    /// The same, because there is no number for what was done.
    #[must_use]
    pub fn unmeasured(evidence: Said) -> Self {
        Self::missing(evidence, said!("mark-repeat", "Repeat the attempt."))
    }

    /// The same, because there is no knot to judge.
    #[must_use]
    pub fn no_knot() -> Self {
        Self::missing(
            said!("mark-no-knot", "No knot was tied."),
            said!("mark-tie-the-knot", "Tie the knot that the task asks for."),
        )
    }
}

/// `value` to the nearest tenth, or `None` if it is not finite.
///
/// Marks follow the numbers that are printed, so that they can be checked by hand.
#[must_use]
pub(crate) fn tenth(value: f64) -> Option<f64> {
    // Adding zero turns -0.0 into 0.0, which is how people write it.
    let rounded = (value * 10.0).round() / 10.0 + 0.0;
    rounded.is_finite().then_some(rounded)
}

/// The time of `tick` in a sentence.
#[must_use]
pub(crate) fn time(tick: Tick) -> PutIn {
    measure(tick.seconds(), 1, "s")
}

/// A length in a sentence.
#[must_use]
pub(crate) fn mm(value: f64) -> PutIn {
    measure(value, 1, "mm")
}
