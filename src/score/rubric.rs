//! How a case is marked: which criteria, with what weight, and what passes.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::criteria::{self, CRITERIA};
use super::criterion::{Band, Bands, COMMON_PRACTICE};
use super::critical::CRITICAL_FAULTS;
use crate::scenario::WRONG_SITE;

/// The band that every criterion has besides its own: a required criterion below it fails the attempt.
pub const FAILS_BELOW: Band = Band {
    id: "fails_below",
    default: 0.5,
    unit: "1",
    min: 0.0,
    max: 1.0,
    doc: "mark below which the criterion is failed; the attempt too, if the criterion is required",
    source: COMMON_PRACTICE,
};

/// One criterion of a rubric.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rule {
    /// Name of the criterion.
    pub id: String,
    /// Its share of the total, relative to the other weights.
    pub weight: f64,
    /// Whether an attempt that fails this criterion fails altogether.
    pub required: bool,
    /// Numbers of the criterion that differ from their defaults.
    pub bands: Bands,
}

/// A rubric whose names and numbers have been checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Rubric {
    pass_mark: f64,
    rules: Vec<Rule>,
    critical: Vec<String>,
}

impl Rubric {
    /// A rubric that passes attempts of `pass_mark` (0 to 100) or more without any of the `critical` faults.
    ///
    /// # Errors
    /// Every name that does not exist or comes twice, and every number out of its range.
    pub fn new(pass_mark: f64, rules: Vec<Rule>, critical: Vec<String>) -> Result<Self, Vec<RubricProblem>> {
        let mut problems = Vec::new();
        check_number("pass_mark".to_owned(), pass_mark, 0.0, 100.0, &mut problems);
        check_rules(&rules, &mut problems);
        check_critical(&critical, &mut problems);
        if problems.is_empty() { Ok(Self { pass_mark, rules, critical }) } else { Err(problems) }
    }

    /// Total from which an attempt passes, 0 to 100.
    #[must_use]
    pub fn pass_mark(&self) -> f64 {
        self.pass_mark
    }

    /// The criteria, in the order of the rubric.
    #[must_use]
    pub fn rules(&self) -> &[Rule] {
        &self.rules
    }

    /// Names of the faults that fail an attempt whatever its sum.
    #[must_use]
    pub fn critical(&self) -> &[String] {
        &self.critical
    }

    /// Whether the site has to be marked before the first bite.
    #[must_use]
    pub fn checks_site(&self) -> bool {
        self.critical.iter().any(|id| id == WRONG_SITE)
    }
}

/// What is wrong with a rubric, and where.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RubricProblem {
    /// A name that does not exist.
    #[error("`{place}` is `{found}`, but must be one of {allowed}")]
    UnknownName {
        /// Path of the field.
        place: String,
        /// The name found.
        found: String,
        /// The names there are.
        allowed: String,
    },
    /// A name that was there before.
    #[error("`{place}` is `{found}` again, but each may be listed once")]
    Repeated {
        /// Path of the field.
        place: String,
        /// The name found.
        found: String,
    },
    /// A number out of its range.
    #[error("`{place}` is {found}, but must be between {min} and {max}")]
    Range {
        /// Path of the field.
        place: String,
        /// The number found.
        found: f64,
        /// Smallest allowed.
        min: f64,
        /// Largest allowed.
        max: f64,
    },
    /// No weight at all.
    #[error("the weights of `criteria` add up to 0, but must add up to more")]
    NoWeight,
}

/// Weights are relative, so any scale will do; this one keeps their sum finite.
const WEIGHT_MAX: f64 = 1000.0;

fn check_rules(rules: &[Rule], problems: &mut Vec<RubricProblem>) {
    let mut seen = BTreeMap::new();
    for (index, rule) in rules.iter().enumerate() {
        let place = format!("criteria[{index}]");
        check_number(format!("{place}.weight"), rule.weight, 0.0, WEIGHT_MAX, problems);
        if seen.insert(rule.id.as_str(), index).is_some() {
            problems.push(RubricProblem::Repeated { place: format!("{place}.id"), found: rule.id.clone() });
        }
        match criteria::named(&rule.id) {
            Some(criterion) => check_bands(&place, &rule.bands, criterion.bands(), problems),
            None => problems.push(RubricProblem::UnknownName {
                place: format!("{place}.id"),
                found: rule.id.clone(),
                allowed: listed(CRITERIA.iter().map(|criterion| criterion.id())),
            }),
        }
    }
    if !rules.iter().any(|rule| rule.weight > 0.0) {
        problems.push(RubricProblem::NoWeight);
    }
}

fn check_bands(place: &str, bands: &Bands, own: &[Band], problems: &mut Vec<RubricProblem>) {
    for (id, &found) in &bands.0 {
        match own.iter().chain([&FAILS_BELOW]).find(|band| band.id == id) {
            Some(band) => check_number(format!("{place}.bands.{id}"), found, band.min, band.max, problems),
            None => problems.push(RubricProblem::UnknownName {
                place: format!("{place}.bands"),
                found: id.clone(),
                allowed: listed(own.iter().chain([&FAILS_BELOW]).map(|band| band.id)),
            }),
        }
    }
}

fn check_critical(critical: &[String], problems: &mut Vec<RubricProblem>) {
    for (index, id) in critical.iter().enumerate() {
        if !CRITICAL_FAULTS.iter().any(|fault| fault.id == id) {
            problems.push(RubricProblem::UnknownName {
                place: format!("critical[{index}]"),
                found: id.clone(),
                allowed: listed(CRITICAL_FAULTS.iter().map(|fault| fault.id)),
            });
        }
    }
}

fn check_number(place: String, found: f64, min: f64, max: f64, problems: &mut Vec<RubricProblem>) {
    // A number that is not a number is in no range.
    if !(min..=max).contains(&found) {
        problems.push(RubricProblem::Range { place, found, min, max });
    }
}

fn listed<'a>(names: impl Iterator<Item = &'a str>) -> String {
    names.map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rule(id: &str, weight: f64, bands: &[(&str, f64)]) -> Rule {
        let bands = Bands(bands.iter().map(|&(id, value)| (id.to_owned(), value)).collect());
        Rule { id: id.to_owned(), weight, required: false, bands }
    }

    #[track_caller]
    fn check(pass_mark: f64, rules: Vec<Rule>, critical: &[&str], expected: &[&str]) {
        let critical = critical.iter().map(|&id| id.to_owned()).collect();
        let problems = Rubric::new(pass_mark, rules, critical).err().unwrap_or_default();
        let found: Vec<String> = problems.iter().map(ToString::to_string).collect();
        assert_eq!(found, expected);
    }

    #[test]
    fn a_rubric_may_change_a_band_and_the_common_one() {
        let bands = [("slit_none_mm", 2.0), ("fails_below", 0.8)];
        check(70.0, vec![rule("tearing", 10.0, &bands)], &["tear_through"], &[]);
    }

    #[test]
    fn every_problem_is_named_at_once_with_its_place() {
        let rules = vec![
            rule("tearing", -1.0, &[("slit_none_mm", 12.0), ("slit", 1.0)]),
            rule("tearing", 1.0, &[]),
            rule("smile", f64::NAN, &[]),
        ];
        let expected = [
            "`pass_mark` is 101, but must be between 0 and 100",
            "`criteria[0].weight` is -1, but must be between 0 and 1000",
            "`criteria[0].bands` is `slit`, but must be one of `slit_full_mm`, `slit_none_mm`, `fails_below`",
            "`criteria[0].bands.slit_none_mm` is 12, but must be between 0.1 and 10",
            "`criteria[1].id` is `tearing` again, but each may be listed once",
            "`criteria[2].weight` is NaN, but must be between 0 and 1000",
            "`criteria[2].id` is `smile`, but must be one of `throws`, `laid_square`, `blanching`, `tearing`, \
             `knot_aside`, `bite`, `spacing`, `membrane_cover`, `edges`, `needle_care`, `thread_care`, `cut_ends`, \
             `holds`, `snug`, `time`",
            "`critical[0]` is `late`, but must be one of `wrong_site`, `tear_through`, `knot_undone`, `needle_lost`, \
             `thread_broken`, `physically_invalid`",
        ];
        check(101.0, rules, &["late"], &expected);
    }

    #[test]
    fn a_rubric_without_weight_is_refused() {
        let expected = "the weights of `criteria` add up to 0, but must add up to more";
        check(70.0, vec![rule("bite", 0.0, &[])], &[], &[expected]);
        check(70.0, vec![], &[], &[expected]);
    }
}
