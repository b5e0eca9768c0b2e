//! Edges: they lie as the scenario asks, and neither stands higher than the other.

use crate::analysis::findings::{EdgeStation, Edges as Found, Findings, Side};
use crate::quantity::Tick;
use crate::said::{Said, said};
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, mm, tenth, time};
use crate::score::curve::Curve;
use crate::score::{Closure, TaskOrder};

/// Judges the step between the edges and, where the edges shall meet, the gap between them; the worse is the mark.
#[derive(Debug, Clone, Copy)]
pub struct Edges;

const GAP_FULL: Band = Band {
    id: "gap_full_mm",
    default: 0.5,
    unit: "mm",
    min: 0.0,
    max: 10.0,
    doc: "largest gap between edges that shall meet that earns everything",
    source: COMMON_PRACTICE,
};
const GAP_NONE: Band = Band {
    id: "gap_none_mm",
    default: 2.0,
    unit: "mm",
    min: 0.1,
    max: 20.0,
    doc: "gap between edges that shall meet that earns nothing",
    source: COMMON_PRACTICE,
};
const STEP_FULL: Band = Band {
    id: "step_full_mm",
    default: 0.5,
    unit: "mm",
    min: 0.0,
    max: 5.0,
    doc: "largest step between the edges that earns everything",
    source: COMMON_PRACTICE,
};
// About a flap's thickness: past it one edge lies on the other.
const STEP_NONE: Band = Band {
    id: "step_none_mm",
    default: 1.5,
    unit: "mm",
    min: 0.1,
    max: 5.0,
    doc: "step between the edges that earns nothing",
    source: COMMON_PRACTICE,
};
const REACH: Band = Band {
    id: "reach_mm",
    default: 2.0,
    unit: "mm",
    min: 0.5,
    max: 10.0,
    doc: "how far along the wound a stitch holds the edges on either side of it",
    source: "3 to 5 mm from stitch to stitch within the mouth: oral-surgery texts, from memory; half of 4 mm",
};

impl Criterion for Edges {
    fn id(&self) -> &'static str {
        "edges"
    }

    fn title(&self) -> &'static str {
        "Edges lie level"
    }

    fn doc(&self) -> &'static str {
        "After tying, neither edge may stand higher than the other. Where the task asks for edges that meet, they must do \
         so within a stitch's reach; in open healing the gap may stay, and only the step counts."
    }

    fn source(&self) -> &'static str {
        "bites of unlike depth or distance leave a step, which heals with a ridge: oral-surgery texts, from memory; sizes \
         of gaps and steps: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[GAP_FULL, GAP_NONE, STEP_FULL, STEP_NONE, REACH]
    }

    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment {
        if findings.knots().next().is_none() {
            return Assessment::missing(
                said!("mark-edges-no-knot", "No knot was tied, so no edge was drawn to the other."),
                said!("mark-tie-snug", "Tie the stitch snug."),
            );
        }
        let stations = findings.tissue.edges.as_ref().map(|edges| (edges, within_reach(findings, edges, bands)));
        let measured = stations.and_then(|(edges, near)| assess_stations(&near, edges.tick, order.closure, bands));
        measured
            .unwrap_or_else(|| Assessment::unmeasured(said!("mark-edges-unmeasured", "The edges were not measured.")))
    }
}

/// The stations that lie within reach of a bite; nearer ones than the nearest there are not.
fn within_reach(findings: &Findings, edges: &Found, bands: &Bands) -> Vec<EdgeStation> {
    let bites = || findings.stitches.iter().flat_map(|stitch| &stitch.bites);
    let near = |station: &&EdgeStation| {
        bites().any(|bite| (bite.along_wound_mm - station.along_wound_mm).abs() <= bands.of(&REACH))
    };
    edges.stations.iter().filter(near).copied().collect()
}

/// `None` if there is no station, or a number is not finite.
fn assess_stations(stations: &[EdgeStation], tick: Tick, closure: Closure, bands: &Bands) -> Option<Assessment> {
    let widest = stations.iter().reduce(|a, b| if b.gap_mm > a.gap_mm { b } else { a })?;
    let uneven = stations.iter().reduce(|a, b| if b.step_mm.abs() > a.step_mm.abs() { b } else { a })?;
    let places = [tenth(widest.along_wound_mm)?, tenth(uneven.along_wound_mm)?];
    let all_finite = stations.iter().all(|station| station.gap_mm.is_finite() && station.step_mm.is_finite());
    let (gap, step) = (tenth(widest.gap_mm)?, tenth(uneven.step_mm.abs()).filter(|_| all_finite)?);
    let gap_curve = Curve::RampDown { full: bands.of(&GAP_FULL), none: bands.of(&GAP_NONE) };
    let step_curve = Curve::RampDown { full: bands.of(&STEP_FULL), none: bands.of(&STEP_NONE) };
    let (gap_mark, step_mark) = match closure {
        Closure::OpenHealing => (1.0, step_curve.mark(step)),
        Closure::Approximation => (gap_curve.mark(gap), step_curve.mark(step)),
    };
    let by_gap = gap_mark < step_mark;
    let mark = gap_mark.min(step_mark);
    let fault = mark < 1.0;
    let asked = match closure {
        Closure::OpenHealing => said!("mark-edges-may-stay", "which may stay"),
        Closure::Approximation => said!("mark-edges-to-close", "which shall be closed"),
    };
    let side = if uneven.step_mm > 0.0 { Side::Cheek } else { Side::Tongue };
    let higher = match step {
        0.0 => said!("mark-edges-level", "neither stands higher"),
        _ => said!(
            "mark-edges-higher",
            "the {side} edge stands {step} higher at {place}",
            side = side.said(),
            step = mm(step),
            place = mm(places[1])
        ),
    };
    Some(Assessment {
        mark,
        evidence: said!(
            "mark-edges-apart",
            "The edges are {gap} apart at most, {asked}, at {place} along the wound; {higher} ({when}).",
            gap = mm(gap),
            asked,
            place = mm(places[0]),
            higher,
            when = time(tick)
        ),
        value: Some(if by_gap { (gap, "mm") } else { (step, "mm") }),
        band: if by_gap { gap_curve.describe("mm") } else { step_curve.describe("mm") },
        advice: match (fault, by_gap) {
            (false, _) => Said::default(),
            (true, true) => {
                said!("mark-edges-advice-gap", "Draw the first throw down until the edges meet, and no further.")
            }
            (true, false) => said!(
                "mark-edges-advice-step",
                "Take the same depth and distance on both sides, and pull level with the gum."
            ),
        },
        tick: Some(tick),
        fault,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::criterion::Bands;
    use crate::score::example::{check, findings, order};

    fn with(change: impl FnOnce(&mut Vec<EdgeStation>)) -> Findings {
        let mut findings = findings();
        change(&mut findings.tissue.edges.as_mut().expect("the example has them").stations);
        findings
    }

    #[test]
    fn open_edges_that_lie_level_earn_everything_where_they_may_stay_open() {
        let sentence = "The edges are 2.4 mm apart at most, which may stay, at 1.2 mm along the wound; the tongue edge \
                        stands 0.1 mm higher at 0.0 mm (90.0 s).";
        check(&Edges, &findings(), "1.00", sentence);
    }

    #[test]
    fn a_step_costs_and_one_beyond_a_stitchs_reach_does_not() {
        let stepped = with(|stations| stations[2].step_mm = 1.0);
        let sentence = "The edges are 2.4 mm apart at most, which may stay, at 1.2 mm along the wound; the cheek edge \
                        stands 1.0 mm higher at 0.0 mm (90.0 s).";
        check(&Edges, &stepped, "0.50", sentence);
        let elsewhere = with(|stations| stations[0].step_mm = 1.0);
        assert!(!Edges.assess(&elsewhere, &order(), &Bands::default()).fault);
    }

    #[test]
    fn edges_that_shall_meet_are_marked_by_their_widest_gap() {
        let ordered = TaskOrder { closure: Closure::Approximation, ..order() };
        for (gap, mark) in [(0.4, 1.0), (1.25, 0.5), (2.0, 0.0)] {
            let found = with(|stations| stations.iter_mut().for_each(|station| station.gap_mm = gap));
            let assessment = Edges.assess(&found, &ordered, &Bands::default());
            // Marks follow the printed tenths.
            assert!((assessment.mark - mark).abs() < 0.05, "{gap}: {}", assessment.evidence);
            assert_eq!(assessment.fault, mark < 1.0, "{}", assessment.evidence);
        }
    }

    #[test]
    fn what_was_not_measured_earns_nothing() {
        let mut unmeasured = findings();
        unmeasured.tissue.edges = None;
        check(&Edges, &unmeasured, "0.00", "The edges were not measured.");
        let not_finite = with(|stations| stations[2].gap_mm = f64::NAN);
        check(&Edges, &not_finite, "0.00", "The edges were not measured.");
        let mut untied = findings();
        untied.stitches[0].knot = None;
        check(&Edges, &untied, "0.00", "No knot was tied, so no edge was drawn to the other.");
    }
}
