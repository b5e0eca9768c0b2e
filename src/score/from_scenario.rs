//! What a scenario asks for and how it marks, as this stage takes it: the one place where the two languages meet.
//!
//! An instructor writes a ramp over a measured number, such as `"slit_mm": (full: 0.0, zero: 1.0)`; a criterion has
//! single numbers, such as `slit_full_mm` and `slit_none_mm`. [`LINKS`] says which end of a ramp sets which numbers.

use std::collections::BTreeMap;

use super::criteria;
use super::criterion::{Bands, Criterion};
use super::{Closure, OrderedThrow, Rubric, RubricProblem, Rule, Span, TaskOrder};
use crate::analysis::findings::{Direction, Side};
use crate::scenario;

/// The numbers of a criterion that one ramp of a scenario sets.
struct Link {
    criterion: &'static str,
    /// Name of the ramp in the scenario.
    ramp: &'static str,
    /// Band of the criterion that takes the end with the full mark.
    full: &'static str,
    /// Bands of the criterion that take the end without a mark.
    zero: &'static [&'static str],
}

const LINKS: &[Link] = &[
    Link { criterion: "blanching", ramp: "pale_area_mm2", full: "area_full_mm2", zero: &["area_none_mm2"] },
    Link { criterion: "blanching", ramp: "pale_dose_mm2_s", full: "dose_full_mm2_s", zero: &["dose_none_mm2_s"] },
    Link { criterion: "tearing", ramp: "slit_mm", full: "slit_full_mm", zero: &["slit_none_mm"] },
    Link { criterion: "knot_aside", ramp: "past_edge_mm", full: "outside_full_mm", zero: &["outside_none_mm"] },
    Link { criterion: "bite", ramp: "outside_mm", full: "outside_full_mm", zero: &["near_none_mm", "far_none_mm"] },
    Link { criterion: "bite", ramp: "uneven_mm", full: "uneven_full_mm", zero: &["uneven_none_mm"] },
    Link { criterion: "spacing", ramp: "near_mm", full: "near_full_mm", zero: &["near_none_mm"] },
    Link { criterion: "spacing", ramp: "far_mm", full: "far_full_mm", zero: &["far_none_mm"] },
    Link { criterion: "spacing", ramp: "uneven_mm", full: "uneven_full_mm", zero: &["uneven_none_mm"] },
    Link { criterion: "membrane_cover", ramp: "overlap_mm", full: "overlap_full_mm", zero: &["overlap_none_mm"] },
    Link { criterion: "edges", ramp: "gap_mm", full: "gap_full_mm", zero: &["gap_none_mm"] },
    Link { criterion: "edges", ramp: "step_mm", full: "step_full_mm", zero: &["step_none_mm"] },
    Link { criterion: "needle_care", ramp: "drops", full: "drops_full", zero: &["drops_none"] },
    Link { criterion: "thread_care", ramp: "grips", full: "grips_full", zero: &["grips_none"] },
    Link { criterion: "thread_care", ramp: "strength_share", full: "share_full", zero: &["share_none"] },
    Link { criterion: "thread_care", ramp: "sawing_n_mm", full: "sawing_full_n_mm", zero: &["sawing_none_n_mm"] },
    Link {
        criterion: "cut_ends",
        ramp: "outside_mm",
        full: "outside_full_mm",
        zero: &["short_none_mm", "long_none_mm"],
    },
    Link { criterion: "holds", ramp: "force_n", full: "force_full_n", zero: &["force_none_n"] },
    Link { criterion: "snug", ramp: "tension_mn", full: "tension_full_mn", zero: &["tension_none_mn"] },
    Link { criterion: "time", ramp: "time_s", full: "time_full_s", zero: &["time_none_s"] },
];

/// Criteria no other can make up for: the knot that was ordered, laid square, where it was ordered, in gum that lives.
///
/// A sum of points may not pass a knot that is not the one ordered, nor one that starves or tears the gum or lies on the
/// site: common practice, no source.
const REQUIRED: &[&str] = &["throws", "laid_square", "blanching", "tearing", "knot_aside"];

/// A ramp that a scenario may give to a criterion, with the numbers that its ends may be.
#[derive(Debug, Clone, PartialEq)]
pub struct Ramp {
    /// The criterion.
    pub criterion: &'static str,
    /// Its name in the scenario, with its unit.
    pub name: &'static str,
    /// Unit of what is measured; `1` for a plain number.
    pub unit: &'static str,
    /// Least and greatest number that may earn the full mark.
    pub full: (f64, f64),
    /// Least and greatest number that may earn none.
    pub zero: (f64, f64),
    /// The ends if no scenario says otherwise; one for each number that the end without a mark sets.
    pub defaults: (f64, Vec<f64>),
    /// Where these come from.
    pub sources: Vec<&'static str>,
}

/// Every ramp of every criterion, in the order of the criteria.
#[must_use]
pub fn ramps() -> Vec<Ramp> {
    let ramp = |link: &Link| {
        let criterion = criteria::named(link.criterion).expect("every link names a criterion that exists");
        let band = |id: &str| criterion.bands().iter().find(|band| band.id == id).expect("and bands that exist");
        let (full, zero): (_, Vec<_>) = (band(link.full), link.zero.iter().map(|id| band(id)).collect());
        let mut sources: Vec<&str> =
            std::iter::once(full).chain(zero.iter().copied()).map(|band| band.source).collect();
        sources.dedup();
        Ramp {
            criterion: link.criterion,
            name: link.ramp,
            unit: full.unit,
            full: (full.min, full.max),
            zero: (
                zero.iter().map(|band| band.min).fold(f64::NEG_INFINITY, f64::max),
                zero.iter().map(|band| band.max).fold(f64::INFINITY, f64::min),
            ),
            defaults: (full.default, zero.iter().map(|band| band.default).collect()),
            sources,
        }
    };
    LINKS.iter().map(ramp).collect()
}

impl From<&scenario::Scenario> for TaskOrder {
    /// # Panics
    /// If the scenario was not checked and its tooth does not exist.
    fn from(scenario: &scenario::Scenario) -> TaskOrder {
        let task = &scenario.task;
        let span = |interval: scenario::Interval| Span { min: interval.min, max: interval.max };
        let throw = |throw: &scenario::Throw| OrderedThrow {
            wraps: u32::from(throw.wraps),
            direction: match throw.direction {
                scenario::Direction::Away => Direction::Away,
                scenario::Direction::Toward => Direction::Toward,
            },
        };
        TaskOrder {
            tooth: scenario.site.lost_tooth(),
            stitches: task.stitches,
            throws: task.throws.iter().map(throw).collect(),
            knot_side: match task.knot_side {
                scenario::KnotSide::Cheek => Side::Cheek,
                scenario::KnotSide::Tongue => Side::Tongue,
            },
            bite_mm: span(task.bite_mm),
            tail_mm: span(task.tail_mm),
            closure: match task.closure {
                scenario::Closure::OpenHealing => Closure::OpenHealing,
                scenario::Closure::Approximation => Closure::Approximation,
            },
        }
    }
}

impl TryFrom<&scenario::Rubric> for Rubric {
    type Error = Vec<RubricProblem>;

    /// The rubric of a scenario; what is required of every attempt is not for a scenario to say, see `REQUIRED`.
    ///
    /// # Errors
    /// Every name that does not exist or comes twice, and every number out of its range, by its place in the scenario.
    fn try_from(rubric: &scenario::Rubric) -> Result<Rubric, Vec<RubricProblem>> {
        let mut problems = Vec::new();
        let rules = rubric.criteria.iter().enumerate().map(|(index, item)| Rule {
            id: item.id.clone(),
            weight: item.weight,
            required: REQUIRED.contains(&item.id.as_str()),
            bands: bands(item, &format!("rubric.criteria[{index}].bands"), &mut problems),
        });
        let rules = rules.collect();
        if !problems.is_empty() {
            return Err(problems);
        }
        Rubric::new(rubric.pass_mark, rules, rubric.critical.clone())
    }
}

fn bands(item: &scenario::RubricItem, place: &str, problems: &mut Vec<RubricProblem>) -> Bands {
    let mut bands = BTreeMap::new();
    // An unknown criterion is named by the check of the whole rubric.
    let Some(criterion) = criteria::named(&item.id) else { return Bands(bands) };
    for (ramp, ends) in &item.bands {
        let Some(link) = LINKS.iter().find(|link| link.criterion == item.id && link.ramp == ramp) else {
            problems.push(RubricProblem::UnknownName {
                place: place.to_owned(),
                found: ramp.clone(),
                allowed: ramps_of(&item.id),
            });
            continue;
        };
        set(criterion, link.full, ends.full, &format!("{place}.{ramp}.full"), &mut bands, problems);
        for id in link.zero {
            set(criterion, id, ends.zero, &format!("{place}.{ramp}.zero"), &mut bands, problems);
        }
    }
    Bands(bands)
}

/// Sets one number of a criterion, if it may have that value.
fn set(
    criterion: &dyn Criterion,
    id: &'static str,
    value: f64,
    place: &str,
    bands: &mut BTreeMap<String, f64>,
    problems: &mut Vec<RubricProblem>,
) {
    let band = criterion.bands().iter().find(|band| band.id == id).expect("every link names a band that exists");
    if (band.min..=band.max).contains(&value) {
        bands.insert(id.to_owned(), value);
    } else {
        problems.push(RubricProblem::Range { place: place.to_owned(), found: value, min: band.min, max: band.max });
    }
}

fn ramps_of(criterion: &str) -> String {
    let ramps = LINKS.iter().filter(|link| link.criterion == criterion).map(|link| format!("`{}`", link.ramp));
    ramps.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::findings::{Findings, Measured, Tear};
    use crate::quantity::Tick;
    use crate::scenario::{BAND_RULES, CRITERION_IDS, CRITICAL_FAULT_IDS, Scenario};
    use crate::score::{CRITERIA, CRITICAL_FAULTS, example, score};

    fn shipped() -> Scenario {
        scenario::parse("first", include_str!("../../scenarios/first_stitch.ron")).expect("it is shipped")
    }

    /// The shipped scenario with one ramp of a criterion changed.
    fn with(criterion: &str, ramp: &str, full: f64, zero: f64) -> scenario::Rubric {
        let mut rubric = shipped().rubric;
        let item = rubric.criteria.iter_mut().find(|item| item.id == criterion).expect("it is marked");
        assert!(item.bands.insert(ramp.to_owned(), scenario::Band { full, zero }).is_some(), "{ramp} was there");
        rubric
    }

    fn mark(findings: &Findings, rubric: &scenario::Rubric, criterion: &str) -> f64 {
        let rubric = Rubric::try_from(rubric).expect("the numbers are in range");
        let score = score(findings, &TaskOrder::from(&shipped()), &rubric);
        score.criteria.iter().find(|mark| mark.id == criterion).expect("it is marked").mark
    }

    #[test]
    fn scenario_and_score_know_the_same_criteria_and_faults() {
        assert_eq!(CRITERIA.iter().map(|criterion| criterion.id()).collect::<Vec<_>>(), CRITERION_IDS);
        assert_eq!(CRITICAL_FAULTS.iter().map(|fault| fault.id).collect::<Vec<_>>(), CRITICAL_FAULT_IDS);
    }

    #[test]
    fn every_ramp_of_a_scenario_sets_numbers_that_exist_and_none_is_set_twice() {
        let asked: Vec<_> = BAND_RULES.iter().map(|rule| (rule.criterion, rule.band)).collect();
        let linked: Vec<_> = LINKS.iter().map(|link| (link.criterion, link.ramp)).collect();
        assert_eq!(linked, asked);
        let mut set = Vec::new();
        for link in LINKS {
            let own = criteria::named(link.criterion).expect("it exists").bands();
            for id in link.zero.iter().chain([&link.full]) {
                assert!(own.iter().any(|band| band.id == *id), "{} has no {id}", link.criterion);
                assert!(!set.contains(&(link.criterion, *id)), "{id} of {} is set twice", link.criterion);
                set.push((link.criterion, *id));
            }
        }
    }

    #[test]
    fn an_order_keeps_what_the_task_says() {
        let order = TaskOrder::from(&shipped());
        assert_eq!(order.notation(), shipped().task.notation());
        assert_eq!((order.stitches, order.knot_side), (1, Side::Cheek));
        assert_eq!((order.bite_mm, order.tail_mm), (Span { min: 2.0, max: 3.0 }, Span { min: 3.0, max: 5.0 }));
        assert_eq!(order.closure, Closure::OpenHealing);
        assert_eq!(order.throws[1], OrderedThrow { wraps: 1, direction: Direction::Toward });
    }

    #[test]
    fn an_attempt_without_fault_earns_everything_by_the_shipped_rubric() {
        let rubric = Rubric::try_from(&shipped().rubric).expect("it is shipped");
        let score = score(&example::findings(), &TaskOrder::from(&shipped()), &rubric);
        assert!(score.passed && score.criteria.len() == shipped().rubric.criteria.len(), "{:?}", score.reasons);
        assert_eq!(score.pass_mark.to_string(), "70");
    }

    #[test]
    fn a_granny_fails_although_the_sum_of_its_other_marks_would_pass() {
        let rubric = Rubric::try_from(&shipped().rubric).expect("it is shipped");
        let granny = example::with_knot(|knot| {
            "2x1=1".clone_into(&mut knot.notation);
            let (first, second) = (knot.throws[0].handedness, knot.throws[1].handedness);
            (knot.throws[1].handedness, knot.throws[2].handedness) = (first, second);
        });
        let score = score(&granny, &TaskOrder::from(&shipped()), &rubric);
        assert!(score.total > rubric.pass_mark() && !score.passed, "{score:#?}");
        assert_eq!(score.reasons, ["required criterion `laid_square` is marked 0.40, below 0.50"]);
    }

    #[test]
    fn each_ramp_marks_its_full_end_1_and_its_zero_end_0_and_halfway_a_half() {
        fn tear(findings: &mut Findings, slit_mm: f64) {
            findings.tissue.tears = vec![Tear { stitch: 0, bite: 0, slit_mm, through: false, tick: Tick(0) }];
        }
        fn area(findings: &mut Findings, mm2: f64) {
            findings.tissue.blanching.as_mut().expect("measured").persisting_mm2 = Some(Measured::new(mm2, Tick(0)));
        }
        fn dose(findings: &mut Findings, mm2_s: f64) {
            findings.tissue.blanching.as_mut().expect("measured").integral_mm2_s.value = mm2_s;
        }
        fn knot(findings: &mut Findings, mm: f64) {
            findings.stitches[0].knot.as_mut().expect("tied").outside_socket_mm.value = mm;
        }
        fn near(findings: &mut Findings, outside_mm: f64) {
            findings.stitches[0].bites.iter_mut().for_each(|bite| bite.distance_from_edge_mm = 2.0 - outside_mm);
        }
        fn far(findings: &mut Findings, outside_mm: f64) {
            findings.stitches[0].bites.iter_mut().for_each(|bite| bite.distance_from_edge_mm = 3.0 + outside_mm);
        }
        fn uneven(findings: &mut Findings, mm: f64) {
            let bites = &mut findings.stitches[0].bites;
            bites[1].distance_from_edge_mm = bites[0].distance_from_edge_mm + mm;
        }
        fn short(findings: &mut Findings, outside_mm: f64) {
            findings.stitches[0].tails.tail_mm.as_mut().expect("cut").value = 3.0 - outside_mm;
        }
        fn long(findings: &mut Findings, outside_mm: f64) {
            findings.stitches[0].tails.strand_mm.as_mut().expect("cut").value = 5.0 + outside_mm;
        }
        fn held(findings: &mut Findings, force_n: f64) {
            let knot = findings.stitches[0].knot.as_mut().expect("tied");
            knot.holding.as_mut().expect("pulled").force_mn.value = 1000.0 * force_n;
        }
        fn tense(findings: &mut Findings, tension_mn: f64) {
            findings.stitches[0].loop_tension.as_mut().expect("measured").now_mn.value = tension_mn;
        }
        fn overlapped(findings: &mut Findings, mm: f64) {
            findings.tissue.membrane.as_mut().expect("measured").under_tongue_mm.value = mm;
        }
        fn stepped(findings: &mut Findings, mm: f64) {
            findings.tissue.edges.as_mut().expect("measured").stations[2].step_mm = mm;
        }
        fn strained(findings: &mut Findings, share: f64) {
            findings.thread_use.peak.as_mut().expect("measured").share = share;
        }
        fn sawed(findings: &mut Findings, n_mm: f64) {
            findings.thread_use.sawing[0].work_n_mm = n_mm;
        }
        // Criterion, ramp, its full and zero ends, and how an attempt comes to a value of what it measures.
        type Spoil = fn(&mut Findings, f64);
        let cases: [(&str, &str, f64, f64, Spoil); 15] = [
            ("tearing", "slit_mm", 0.4, 1.2, tear),
            ("blanching", "pale_area_mm2", 2.0, 8.0, area),
            ("blanching", "pale_dose_mm2_s", 100.0, 500.0, dose),
            ("knot_aside", "past_edge_mm", 2.0, -1.0, knot),
            ("bite", "outside_mm", 0.2, 1.0, near),
            ("bite", "outside_mm", 0.2, 1.0, far),
            ("bite", "uneven_mm", 0.2, 0.6, uneven),
            ("cut_ends", "outside_mm", 0.4, 1.6, short),
            ("cut_ends", "outside_mm", 0.4, 1.6, long),
            ("holds", "force_n", 6.0, 1.0, held),
            ("snug", "tension_mn", 20.0, 4.0, tense),
            ("membrane_cover", "overlap_mm", 1.6, 0.4, overlapped),
            ("edges", "step_mm", 0.2, 0.6, stepped),
            ("thread_care", "strength_share", 0.4, 0.6, strained),
            ("thread_care", "sawing_n_mm", 30.0, 50.0, sawed),
        ];
        for (criterion, ramp, full, zero, spoil) in cases {
            let rubric = with(criterion, ramp, full, zero);
            for (value, expected) in [(full, 1.0), (0.5 * (full + zero), 0.5), (zero, 0.0)] {
                let mut findings = example::findings();
                spoil(&mut findings, value);
                let mark = mark(&findings, &rubric, criterion);
                assert!((mark - expected).abs() < 1e-9, "{criterion} {ramp} at {value}: {mark}, expected {expected}");
            }
        }
    }

    #[test]
    fn a_number_that_a_criterion_does_not_allow_is_named_by_its_place_in_the_scenario() {
        let problems = Rubric::try_from(&with("cut_ends", "outside_mm", 0.0, 12.0)).expect_err("12 mm is too much");
        let found: Vec<String> = problems.iter().map(ToString::to_string).collect();
        assert_eq!(found, ["`rubric.criteria[6].bands.outside_mm.zero` is 12, but must be between 0.1 and 5"]);
    }
}
