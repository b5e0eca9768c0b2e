//! Knot aside: off the socket, on the ordered side.

use crate::analysis::findings::{Findings, Knot, Side};
use crate::said::{PutIn, Said, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, mm, tenth, time};
use crate::score::curve::Curve;
use crate::score::per_stitch::over_stitches;

/// Judges how far beyond the socket's mouth the knot lies, and on which side of the wound.
#[derive(Debug, Clone, Copy)]
pub struct KnotAside;

const OUTSIDE_NONE: Band = Band {
    id: "outside_none_mm",
    default: 0.0,
    unit: "mm",
    min: -5.0,
    max: 5.0,
    doc: "distance of the knot outside the socket that earns nothing",
    source: COMMON_PRACTICE,
};
const OUTSIDE_FULL: Band = Band {
    id: "outside_full_mm",
    default: 1.0,
    unit: "mm",
    min: -5.0,
    max: 10.0,
    // A knot of three throws in a 0.2 mm thread is about 1 mm long: its middle 1 mm outside leaves nothing over the edge.
    doc: "distance of the knot outside the socket that earns everything",
    source: COMMON_PRACTICE,
};
const WRONG_SIDE_SHARE: Band = Band {
    id: "wrong_side_share",
    default: 0.4,
    unit: "1",
    min: 0.0,
    max: 1.0,
    doc: "share of the mark that a knot on the other side keeps",
    source: COMMON_PRACTICE,
};

impl Criterion for KnotAside {
    fn id(&self) -> &'static str {
        "knot_aside"
    }

    fn title(&self) -> &'static str {
        "Knot beside the wound"
    }

    fn doc(&self) -> &'static str {
        "A knot over the socket gathers plaque and rubs the membrane. It must lie outside the line of the socket's \
         mouth and flap edge, on the side that the task names, as a rule the cheek's."
    }

    fn source(&self) -> &'static str {
        "to the side of the cut, on the cheek's side: oral-surgery texts, from memory; distances: common practice, no \
         source"
    }

    fn bands(&self) -> &'static [Band] {
        &[OUTSIDE_NONE, OUTSIDE_FULL, WRONG_SIDE_SHARE]
    }

    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment {
        over_stitches(findings, order, |stitch| match &stitch.knot {
            None => Assessment::no_knot(),
            Some(knot) => assess_knot(knot, order.knot_side, bands).unwrap_or_else(|| {
                Assessment::unmeasured(said!("mark-aside-unmeasured", "The place of the knot was not measured."))
            }),
        })
    }
}

/// `None` if a number is not finite.
fn assess_knot(knot: &Knot, ordered: Side, bands: &Bands) -> Option<Assessment> {
    let (from_line, outside) = (tenth(knot.from_wound_line_mm.value)?, tenth(knot.outside_socket_mm.value)?);
    let side = if from_line < 0.0 { Side::Tongue } else { Side::Cheek };
    let curve = Curve::RampUp { none: bands.of(&OUTSIDE_NONE), full: bands.of(&OUTSIDE_FULL) };
    let share = if side == ordered { 1.0 } else { bands.of(&WRONG_SIDE_SHARE) };
    let mark = share * curve.mark(outside);
    let fault = mark < 1.0;
    Some(Assessment {
        mark,
        evidence: evidence(from_line.abs(), outside, side, ordered, time(knot.outside_socket_mm.tick)),
        value: Some((outside, "mm")),
        band: curve.describe("mm"),
        advice: if fault {
            said!(
                "mark-aside-advice",
                "Before the last throw is tight, draw the knot to the {side} side, off the socket.",
                side = ordered.said()
            )
        } else {
            Said::default()
        },
        tick: Some(knot.outside_socket_mm.tick),
        fault,
    })
}

fn evidence(from_line: f64, outside: f64, side: Side, ordered: Side, when: PutIn) -> Said {
    let place = if outside < 0.0 {
        said!("mark-aside-inside", "{distance} inside the socket's edge", distance = mm(outside.abs()))
    } else {
        said!("mark-aside-outside", "{distance} outside the socket's edge", distance = mm(outside))
    };
    if side == ordered {
        said!(
            "mark-aside-lies",
            "The knot lies {from_line} from the wound line on the {side} side, {place} ({when}).",
            from_line = mm(from_line),
            side = side.said(),
            place,
            when
        )
    } else {
        said!(
            "mark-aside-lies-wrong",
            "The knot lies {from_line} from the wound line on the {side} side, ordered on the {ordered} side, {place} \
             ({when}).",
            from_line = mm(from_line),
            side = side.said(),
            ordered = ordered.said(),
            place,
            when
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::example::{check, findings, with_knot};

    fn placed(from_line: f64, outside: f64) -> Findings {
        with_knot(|knot| {
            knot.from_wound_line_mm.value = from_line;
            knot.outside_socket_mm.value = outside;
        })
    }

    #[test]
    fn a_knot_well_outside_on_the_ordered_side_earns_everything() {
        let sentence =
            "The knot lies 4.8 mm from the wound line on the cheek side, 1.4 mm outside the socket's edge (90.0 s).";
        check(&KnotAside, &findings(), "1.00", sentence);
    }

    #[test]
    fn a_knot_on_the_edge_is_worth_half() {
        let sentence =
            "The knot lies 3.9 mm from the wound line on the cheek side, 0.5 mm outside the socket's edge (90.0 s).";
        check(&KnotAside, &placed(3.9, 0.5), "0.50", sentence);
    }

    #[test]
    fn a_knot_over_the_socket_fails() {
        let sentence = "The knot lies 0.3 mm from the wound line on the tongue side, ordered on the cheek side, 3.1 mm inside the \
             socket's edge (90.0 s).";
        check(&KnotAside, &placed(-0.3, -3.1), "0.00", sentence);
    }

    #[test]
    fn a_knot_on_the_other_side_keeps_a_share() {
        let sentence = "The knot lies 4.8 mm from the wound line on the tongue side, ordered on the cheek side, 1.4 mm outside \
             the socket's edge (90.0 s).";
        check(&KnotAside, &placed(-4.8, 1.4), "0.40", sentence);
    }

    #[test]
    fn a_place_that_was_not_measured_earns_nothing() {
        check(&KnotAside, &placed(f64::NAN, 1.4), "0.00", "The place of the knot was not measured.");
    }
}
