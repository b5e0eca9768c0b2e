//! Laid square: neighbouring throws alternate and lie flat.

use crate::analysis::findings::{Findings, Form, Knot, Stitch};
use crate::said::{Said, number, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, time};
use crate::score::per_stitch::over_stitches;

/// Asks that neighbours be of opposite handedness and that no strand run straight.
#[derive(Debug, Clone, Copy)]
pub struct LaidSquare;

const CROSSED_COST: Band = Band {
    id: "crossed_cost",
    default: 0.6,
    unit: "1",
    min: 0.0,
    max: 1.0,
    doc: "what each pair of crossed neighbours (granny) takes from the mark",
    source: COMMON_PRACTICE,
};
const SLIDING_COST: Band = Band {
    id: "sliding_cost",
    default: 1.0,
    unit: "1",
    min: 0.0,
    max: 1.0,
    doc: "what a sliding form takes from the mark",
    source: "flat reef slipped in 24 of 120, tied under tension in all: BMJ Surg Interv Health Technol 2021;3:e000091",
};

impl Criterion for LaidSquare {
    fn id(&self) -> &'static str {
        "laid_square"
    }

    fn title(&self) -> &'static str {
        "Laid square and flat"
    }

    fn doc(&self) -> &'static str {
        "Each throw must turn the opposite way to the one before (square, `=`), not the same way (granny, `x`), and \
         both strands must bend alike: a straight strand with the other wound about it slides."
    }

    fn source(&self) -> &'static str {
        "sliding: BMJ Surg Interv Health Technol 2021;3:e000091 (flat reef slipped 20 %, tied under tension 100 %); \
         granny as safe as square only in gut, PGA and polydioxanone: Rosin & Robinson 1989, Vet Surg 18:269; cost of \
         a crossed pair: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[CROSSED_COST, SLIDING_COST]
    }

    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment {
        over_stitches(findings, order, |stitch| assess_stitch(stitch, bands))
    }
}

fn assess_stitch(stitch: &Stitch, bands: &Bands) -> Assessment {
    let Some(knot) = &stitch.knot else {
        return Assessment::no_knot();
    };
    if let Some(reason) = &knot.unclear {
        return Assessment::missing(
            said!(
                "mark-square-unclear",
                "Whether the knot is square cannot be read: {reason}.",
                reason = Said::plain(reason)
            ),
            said!("mark-draw-every-throw", "Draw every throw down snug and flat before the next one."),
        );
    }
    if knot.throws.len() < 2 {
        return Assessment::missing(
            said!(
                "mark-square-single",
                "Read {read}: fewer than two throws make no square knot.",
                read = Said::plain(&knot.notation)
            ),
            said!("mark-square-advice-single", "Lay a second throw the opposite way."),
        );
    }
    assess_knot(knot, bands)
}

fn assess_knot(knot: &Knot, bands: &Bands) -> Assessment {
    let crossed = crossed_throws(knot);
    let sliding = knot.form == Form::Sliding;
    let cost = crossed.len() as f64 * bands.of(&CROSSED_COST) + if sliding { bands.of(&SLIDING_COST) } else { 0.0 };
    let last = knot.throws.last().map(|throw| throw.tick);
    Assessment {
        mark: (1.0 - cost).clamp(0.0, 1.0),
        evidence: evidence(knot, &crossed),
        value: Some((crossed.len() as f64, "crossed pairs")),
        band: said!(
            "mark-square-band",
            "1 less {crossed} a crossed pair, {sliding} for a sliding form",
            crossed = number(bands.of(&CROSSED_COST), 2),
            sliding = number(bands.of(&SLIDING_COST), 2)
        ),
        advice: advice(&crossed, sliding),
        tick: crossed.first().map_or(last, |&index| Some(knot.throws[index].tick)),
        fault: sliding || !crossed.is_empty(),
    }
}

/// Places of the throws that turn the same way as the throw before.
fn crossed_throws(knot: &Knot) -> Vec<usize> {
    (1..knot.throws.len()).filter(|&index| knot.throws[index].handedness == knot.throws[index - 1].handedness).collect()
}

fn evidence(knot: &Knot, crossed: &[usize]) -> Said {
    let pair = |&index: &usize| {
        said!(
            "mark-square-crossed",
            "throws {before} and {number} are both {hand}-handed (laid at {when})",
            before = index,
            number = index + 1,
            hand = knot.throws[index].handedness.said(),
            when = time(knot.throws[index].tick)
        )
    };
    let neighbours = if crossed.is_empty() {
        said!("mark-square-alternate", "all neighbours alternate")
    } else {
        Said::joined(crossed.iter().map(pair), "; ")
    };
    let measure = if knot.form_measure.is_finite() {
        said!("mark-square-measure", "{measure}, 0 flat to 1 straight post", measure = number(knot.form_measure, 2))
    } else {
        said!("mark-square-unmeasured", "its measure is missing")
    };
    said!(
        "mark-square-read",
        "Read {read}: {neighbours}; the form is {form} ({measure}).",
        read = Said::plain(&knot.notation),
        neighbours,
        form = knot.form.said(),
        measure
    )
}

fn advice(crossed: &[usize], sliding: bool) -> Said {
    match (crossed.first(), sliding) {
        (_, true) => said!(
            "mark-square-advice-sliding",
            "Pull both ends flat and level, with equal force, and cross the hands at every throw."
        ),
        (Some(&index), false) => said!(
            "mark-square-advice-crossed",
            "Turn throw {number} the opposite way to throw {before}: wrap from the other side.",
            number = index + 1,
            before = index
        ),
        (None, false) => Said::default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::findings::Handedness;
    use crate::score::example::{check, findings, with_knot};

    #[test]
    fn a_square_flat_knot_earns_everything() {
        let sentence = "Read 2=1=1: all neighbours alternate; the form is flat (0.12, 0 flat to 1 straight post).";
        check(&LaidSquare, &findings(), "1.00", sentence);
    }

    #[test]
    fn one_crossed_pair_of_two_is_named() {
        let granny_end = |knot: &mut Knot| {
            knot.notation = "2=1x1".to_owned();
            knot.throws[2].handedness = Handedness::Right;
        };
        let sentence = "Read 2=1x1: throws 2 and 3 are both right-handed (laid at 70.0 s); \
                        the form is flat (0.12, 0 flat to 1 straight post).";
        check(&LaidSquare, &with_knot(granny_end), "0.40", sentence);
    }

    #[test]
    fn a_sliding_knot_fails_even_if_its_throws_alternate() {
        let sliding = |knot: &mut Knot| {
            knot.notation = "S2=1=1".to_owned();
            knot.form = Form::Sliding;
            knot.form_measure = 0.81;
        };
        let sentence = "Read S2=1=1: all neighbours alternate; the form is sliding (0.81, 0 flat to 1 straight post).";
        check(&LaidSquare, &with_knot(sliding), "0.00", sentence);
    }

    #[test]
    fn a_single_throw_is_no_square_knot() {
        let single = |knot: &mut Knot| {
            knot.notation = "2".to_owned();
            knot.throws.truncate(1);
        };
        check(&LaidSquare, &with_knot(single), "0.00", "Read 2: fewer than two throws make no square knot.");
    }
}
