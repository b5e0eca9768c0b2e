//! Bites: far enough from the edge, deep enough, and alike on both sides.

use crate::analysis::findings::{Bite, Findings, Side, Stitch};
use crate::quantity::Tick;
use crate::said::{Said, number, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, mm, tenth, time};
use crate::score::curve::Curve;
use crate::score::per_stitch::over_stitches;

/// Judges distance from the edge, depth, and how much the bites of a stitch differ; the worst of these is the mark.
#[derive(Debug, Clone, Copy)]
pub struct BitePlacement;

const OUTSIDE_FULL: Band = Band {
    id: "outside_full_mm",
    default: 0.0,
    unit: "mm",
    min: 0.0,
    max: 5.0,
    doc: "how far outside the ordered distances a bite still earns everything",
    source: COMMON_PRACTICE,
};
const NEAR_NONE: Band = Band {
    id: "near_none_mm",
    default: 1.0,
    unit: "mm",
    min: 0.1,
    max: 5.0,
    // By our own estimate the force to tear falls in proportion to the distance below 3 mm, so that half of the
    // ordered 2 mm is not safe.
    doc: "how far below the ordered distance from the edge a bite earns nothing",
    source: COMMON_PRACTICE,
};
const FAR_NONE: Band = Band {
    id: "far_none_mm",
    default: 3.0,
    unit: "mm",
    min: 0.1,
    max: 10.0,
    doc: "how far above the ordered distance from the edge a bite earns nothing",
    source: COMMON_PRACTICE,
};
const DEPTH_NONE: Band = Band {
    id: "depth_none_mm",
    default: 0.3,
    unit: "mm",
    min: 0.0,
    max: 5.0,
    doc: "depth that earns nothing",
    source: COMMON_PRACTICE,
};
const DEPTH_FULL: Band = Band {
    id: "depth_full_mm",
    default: 1.0,
    unit: "mm",
    min: 0.0,
    max: 5.0,
    doc: "depth that earns everything",
    source: "a raised flap is 1 to 2 mm thick and the bite takes all of it: oral-surgery texts, from memory",
};
const UNEVEN_FULL: Band = Band {
    id: "uneven_full_mm",
    default: 0.5,
    unit: "mm",
    min: 0.0,
    max: 5.0,
    doc: "largest difference between the bites, in distance or in depth, that earns everything",
    source: COMMON_PRACTICE,
};
const UNEVEN_NONE: Band = Band {
    id: "uneven_none_mm",
    default: 1.5,
    unit: "mm",
    min: 0.1,
    max: 10.0,
    doc: "difference between the bites, in distance or in depth, that earns nothing",
    source: COMMON_PRACTICE,
};

impl Criterion for BitePlacement {
    fn id(&self) -> &'static str {
        "bite"
    }

    fn title(&self) -> &'static str {
        "Bites placed well"
    }

    fn doc(&self) -> &'static str {
        "Each bite must keep the ordered distance from the flap's edge and take the flap's thickness, and both sides \
         must be alike, or the edges meet in a step. The worst of distance, depth and difference is the mark."
    }

    fn source(&self) -> &'static str {
        "not nearer than 2 to 3 mm, at a right angle: continuing-education paper \"Suturing for surgical success\", \
         table 1; no tearing beyond 3 mm: Jeong 2024, Clin Oral Implants Res 35:739; same depth and distance on both \
         sides: oral-surgery texts, from memory; how the mark falls: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[OUTSIDE_FULL, NEAR_NONE, FAR_NONE, DEPTH_NONE, DEPTH_FULL, UNEVEN_FULL, UNEVEN_NONE]
    }

    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment {
        over_stitches(findings, order, |stitch| assess_stitch(stitch, order, bands))
    }
}

fn assess_stitch(stitch: &Stitch, order: &TaskOrder, bands: &Bands) -> Assessment {
    if stitch.bites.is_empty() {
        return Assessment::missing(
            said!("mark-no-bite", "No bite was taken."),
            said!("mark-bite-both-flaps", "Pass the needle through both flaps."),
        );
    }
    for side in [Side::Cheek, Side::Tongue] {
        if stitch.bites.iter().all(|bite| bite.flap != side) {
            return Assessment::missing(
                said!("mark-bite-flap-missed", "The {flap} flap was not bitten.", flap = side.said()),
                said!("mark-bite-both-flaps", "Pass the needle through both flaps."),
            );
        }
    }
    let Some(parts) = parts(&stitch.bites, order, bands) else {
        return Assessment::unmeasured(said!("mark-bites-unmeasured", "The bites were not measured."));
    };
    let worst = parts.into_iter().reduce(|a, b| if b.mark() < a.mark() { b } else { a });
    worst.map_or_else(
        || Assessment::missing(said!("mark-no-bite", "No bite was taken."), Said::default()),
        |worst| worst.assessment(&stitch.bites),
    )
}

/// One thing judged about the bites of a stitch.
struct Part {
    /// What it is and its value, in a sentence.
    what: Said,
    value: f64,
    curve: Curve,
    advice: Said,
    tick: Tick,
}

impl Part {
    fn mark(&self) -> f64 {
        self.curve.mark(self.value)
    }

    fn assessment(self, bites: &[Bite]) -> Assessment {
        let mark = self.mark();
        let fault = mark < 1.0;
        let said = bites.iter().map(listed).chain(fault.then_some(self.what));
        Assessment {
            mark,
            evidence: said!("mark-bite-bites", "Bites: {bites}.", bites = Said::joined(said, "; ")),
            value: Some((self.value, "mm")),
            band: self.curve.describe("mm"),
            advice: if fault { self.advice } else { Said::default() },
            tick: Some(self.tick),
            fault,
        }
    }
}

/// Everything judged about `bites`; `None` if a number is not finite.
fn parts(bites: &[Bite], order: &TaskOrder, bands: &Bands) -> Option<Vec<Part>> {
    let distance_curve = Curve::Plateau {
        none_below: order.bite_mm.min - bands.of(&NEAR_NONE),
        full_from: order.bite_mm.min - bands.of(&OUTSIDE_FULL),
        full_to: order.bite_mm.max + bands.of(&OUTSIDE_FULL),
        none_above: order.bite_mm.max + bands.of(&FAR_NONE),
    };
    let depth_curve = Curve::RampUp { none: bands.of(&DEPTH_NONE), full: bands.of(&DEPTH_FULL) };
    let uneven_curve = Curve::RampDown { full: bands.of(&UNEVEN_FULL), none: bands.of(&UNEVEN_NONE) };

    let mut parts = Vec::new();
    for bite in bites {
        let (distance, depth) = (tenth(bite.distance_from_edge_mm)?, tenth(bite.depth_mm)?);
        parts.push(Part {
            what: said!(
                "mark-bite-distance",
                "the {side} bite's distance is {distance}",
                side = bite.flap.said(),
                distance = mm(distance)
            ),
            value: distance,
            curve: distance_curve,
            advice: said!(
                "mark-bite-advice-distance",
                "Measure the ordered distance from the edge with the needle's width before entering."
            ),
            tick: bite.tick,
        });
        parts.push(Part {
            what: said!(
                "mark-bite-depth",
                "the {side} bite's depth is {depth}",
                side = bite.flap.said(),
                depth = mm(depth)
            ),
            value: depth,
            curve: depth_curve,
            advice: said!("mark-bite-advice-depth", "Enter at a right angle and take the whole thickness of the flap."),
            tick: bite.tick,
        });
    }
    let last = bites.iter().map(|bite| bite.tick).max()?;
    let (distances, depths) = (spread(bites, |bite| bite.distance_from_edge_mm)?, spread(bites, |bite| bite.depth_mm)?);
    for (what, value) in [
        (said!("mark-bite-distances", "distances differ by {uneven}", uneven = mm(distances)), distances),
        (said!("mark-bite-depths", "depths differ by {uneven}", uneven = mm(depths)), depths),
    ] {
        parts.push(Part {
            what,
            value,
            curve: uneven_curve,
            advice: said!(
                "mark-bite-advice-uneven",
                "Make the second bite mirror the first: same distance, same depth."
            ),
            tick: last,
        });
    }
    Some(parts)
}

/// Largest less smallest of a number over the bites, from the printed tenths.
fn spread(bites: &[Bite], number: fn(&Bite) -> f64) -> Option<f64> {
    let numbers: Vec<f64> = bites.iter().map(|bite| tenth(number(bite))).collect::<Option<_>>()?;
    let largest = numbers.iter().copied().reduce(f64::max)?;
    let smallest = numbers.iter().copied().reduce(f64::min)?;
    tenth(largest - smallest)
}

/// A bite with all that was measured of it. The angle is said and not marked: taught is a right angle, flap by flap, but a
/// needle that takes both flaps on one arc cannot keep it, and no source says what that costs.
fn listed(bite: &Bite) -> Said {
    let angle = tenth(bite.angle_deg).map_or_else(Said::default, |angle| {
        said!("mark-bite-angle", ", entered at {angle} deg", angle = number(angle, 0))
    });
    said!(
        "mark-bite-listed",
        "{side} {distance} from the edge, {depth} deep{angle} ({when})",
        side = bite.flap.said(),
        distance = mm(bite.distance_from_edge_mm),
        depth = mm(bite.depth_mm),
        angle,
        when = time(bite.tick)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::example::{check, findings};

    fn bitten(change: impl FnOnce(&mut Vec<Bite>)) -> Findings {
        let mut findings = findings();
        change(&mut findings.stitches[0].bites);
        findings
    }

    #[test]
    fn even_bites_within_the_order_earn_everything() {
        let sentence = "Bites: cheek 2.4 mm from the edge, 1.5 mm deep, entered at 84 deg (12.0 s); \
                        tongue 2.6 mm from the edge, 1.4 mm deep, entered at 88 deg (20.0 s).";
        check(&BitePlacement, &findings(), "1.00", sentence);
    }

    #[test]
    fn uneven_bites_are_worth_half() {
        let uneven = bitten(|bites| {
            bites[0].distance_from_edge_mm = 2.0;
            bites[1].distance_from_edge_mm = 3.0;
        });
        let sentence = "Bites: cheek 2.0 mm from the edge, 1.5 mm deep, entered at 84 deg (12.0 s); \
                        tongue 3.0 mm from the edge, 1.4 mm deep, entered at 88 deg (20.0 s); distances differ by 1.0 mm.";
        check(&BitePlacement, &uneven, "0.50", sentence);
    }

    #[test]
    fn a_bite_at_the_edge_fails() {
        let near = bitten(|bites| bites[1].distance_from_edge_mm = 0.9);
        let sentence = "Bites: cheek 2.4 mm from the edge, 1.5 mm deep, entered at 84 deg (12.0 s); \
                        tongue 0.9 mm from the edge, 1.4 mm deep, entered at 88 deg (20.0 s); the tongue bite's distance is 0.9 mm.";
        check(&BitePlacement, &near, "0.00", sentence);
    }

    #[test]
    fn a_shallow_bite_costs() {
        let shallow = bitten(|bites| bites[0].depth_mm = 0.9);
        let sentence = "Bites: cheek 2.4 mm from the edge, 0.9 mm deep, entered at 84 deg (12.0 s); \
                        tongue 2.6 mm from the edge, 1.4 mm deep, entered at 88 deg (20.0 s); the cheek bite's depth is 0.9 mm.";
        check(&BitePlacement, &shallow, "0.86", sentence);
    }

    #[test]
    fn a_flap_that_was_not_bitten_is_named() {
        let one_flap = bitten(|bites| bites.truncate(1));
        check(&BitePlacement, &one_flap, "0.00", "The tongue flap was not bitten.");
        check(&BitePlacement, &bitten(Vec::clear), "0.00", "No bite was taken.");
        let unmeasured = bitten(|bites| bites[0].depth_mm = f64::INFINITY);
        check(&BitePlacement, &unmeasured, "0.00", "The bites were not measured.");
    }
}
