//! The attempts of a class, ready to be laid out as a page or as a table.

use std::collections::BTreeMap;

use crate::analysis::findings::Findings;
use crate::score::{Item, Score, items};

/// Width of a step of the distribution of totals.
pub(super) const STEP: f64 = 10.0;
/// Steps from 0 to 100; the last holds 100 itself.
pub(super) const STEPS: usize = 10;

/// The recordings of a class.
#[derive(Debug, Clone)]
pub struct Class<'a> {
    /// What was marked.
    pub marked: Vec<MarkedAttempt<'a>>,
    /// What was not, and why in a word or two: what each is called and the word.
    pub unmarked: Vec<(String, &'a str)>,
    /// Where all this is from: names and what they stand for.
    pub origin: Vec<(&'a str, String)>,
    /// What made the marks.
    pub program: &'a str,
}

/// One marked attempt of a class.
#[derive(Debug, Clone)]
pub struct MarkedAttempt<'a> {
    /// What it is called.
    pub name: String,
    /// The recording's file, if it may be named.
    pub file: Option<String>,
    /// The attempt's own page, as a link.
    pub page: String,
    /// Title of its scenario.
    pub scenario: &'a str,
    /// What is to be thought of it, in a word or two.
    pub status: &'a str,
    /// Digest of its states.
    pub digest: &'a str,
    /// What was measured.
    pub findings: &'a Findings,
    /// What it is worth.
    pub score: &'a Score,
}

impl MarkedAttempt<'_> {
    /// Whether the simulation can vouch for it; what it cannot vouch for says nothing of a criterion.
    fn is_sound(&self) -> bool {
        self.findings.validity.invalid_ticks.is_empty()
    }
}

impl Class<'_> {
    /// Scores of the attempts that count for the class.
    pub(super) fn scores(&self) -> Vec<&Score> {
        self.marked.iter().filter(|attempt| attempt.is_sound()).map(|attempt| attempt.score).collect()
    }

    /// The criteria over the class.
    pub(super) fn items(&self) -> Vec<Item> {
        items(&self.scores())
    }

    /// Attempts in each step of totals.
    pub(super) fn distribution(&self) -> [usize; STEPS] {
        let mut counts = [0; STEPS];
        for score in self.scores() {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "totals are from 0 to 100")]
            let step = (score.total / STEP) as usize;
            counts[step.min(STEPS - 1)] += 1;
        }
        counts
    }

    /// Attempts whose recording is the same as that of one before them, byte by byte.
    pub(super) fn copies(&self) -> usize {
        let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
        for attempt in &self.marked {
            *seen.entry(&attempt.page).or_default() += 1;
        }
        seen.values().map(|count| count - 1).sum()
    }
}
