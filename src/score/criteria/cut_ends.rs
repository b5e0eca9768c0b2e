//! Cut ends: long enough to hold, short enough not to rub.

use crate::analysis::findings::{Findings, Measured, Tails};
use crate::said::{Said, number, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, mm, tenth, time};
use crate::score::curve::Curve;
use crate::score::per_stitch::over_stitches;

/// Judges the length of both ends; the worse is the mark.
#[derive(Debug, Clone, Copy)]
pub struct CutEnds;

const OUTSIDE_FULL: Band = Band {
    id: "outside_full_mm",
    default: 0.0,
    unit: "mm",
    min: 0.0,
    max: 5.0,
    doc: "how far outside the ordered lengths an end still earns everything",
    source: COMMON_PRACTICE,
};
const SHORT_NONE: Band = Band {
    id: "short_none_mm",
    default: 1.0,
    unit: "mm",
    min: 0.1,
    max: 5.0,
    // A flush end slips out of the last throw; 1 mm below the order is about a third of the least safe length.
    doc: "how far below the ordered length an end earns nothing",
    source: COMMON_PRACTICE,
};
const LONG_NONE: Band = Band {
    id: "long_none_mm",
    default: 5.0,
    unit: "mm",
    min: 0.1,
    max: 50.0,
    // With gut's order of up to 5 mm this is 10 mm, the longest length in the source.
    doc: "how far above the ordered length an end earns nothing",
    source: "ends of 3 to 10 mm: J Am Acad Dermatol 2022, PMC9043372",
};

impl Criterion for CutEnds {
    fn id(&self) -> &'static str {
        "cut_ends"
    }

    fn title(&self) -> &'static str {
        "Ends cut to length"
    }

    fn doc(&self) -> &'static str {
        "Both ends must be cut to the ordered length: short ones unravel, long ones rub and gather plaque. About 3 mm \
         is usual, 4 to 5 mm in gut, which swells; never under 3 mm or over 10 mm."
    }

    fn source(&self) -> &'static str {
        "ends of 3 to 10 mm unravel less than shorter ones, aim 3 mm: J Am Acad Dermatol 2022, PMC9043372; chromic gut \
         4 to 5 mm: veterinary-school knot page; how the mark falls below: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[OUTSIDE_FULL, SHORT_NONE, LONG_NONE]
    }

    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment {
        let curve = Curve::Plateau {
            none_below: order.tail_mm.min - bands.of(&SHORT_NONE),
            full_from: order.tail_mm.min - bands.of(&OUTSIDE_FULL),
            full_to: order.tail_mm.max + bands.of(&OUTSIDE_FULL),
            none_above: order.tail_mm.max + bands.of(&LONG_NONE),
        };
        over_stitches(findings, order, |stitch| {
            if stitch.knot.is_none() {
                return Assessment::missing(
                    said!("mark-ends-no-knot", "No knot was tied, so there are no ends."),
                    said!("mark-ends-tie-then-cut", "Tie the knot, then cut."),
                );
            }
            assess_tails(&stitch.tails, order, curve)
        })
    }
}

fn assess_tails(tails: &Tails, order: &TaskOrder, curve: Curve) -> Assessment {
    let advice = said!(
        "mark-ends-advice",
        "Cut both ends {min} to {max} from the knot.",
        min = number(order.tail_mm.min, 1),
        max = mm(order.tail_mm.max)
    );
    let (Some(tail), Some(strand)) = (tails.tail_mm, tails.strand_mm) else {
        let evidence = match (tails.tail_mm, tails.strand_mm) {
            (None, None) => said!("mark-ends-none-cut", "Neither end was cut."),
            (None, Some(_)) => said!("mark-ends-tail-not-cut", "The short end was not cut."),
            _ => said!("mark-ends-strand-not-cut", "The long strand was not cut."),
        };
        return Assessment::missing(evidence, advice);
    };
    assess_lengths(tail, strand, curve, &advice)
        .unwrap_or_else(|| Assessment::unmeasured(said!("mark-ends-unmeasured", "The ends were not measured.")))
}

/// `None` if a number is not finite.
fn assess_lengths(tail: Measured, strand: Measured, curve: Curve, advice: &Said) -> Option<Assessment> {
    let (tail_length, strand_length) = (tenth(tail.value)?, tenth(strand.value)?);
    let (tail_mark, strand_mark) = (curve.mark(tail_length), curve.mark(strand_length));
    let (worst, tick) = if strand_mark < tail_mark { (strand_length, strand.tick) } else { (tail_length, tail.tick) };
    let mark = tail_mark.min(strand_mark);
    let fault = mark < 1.0;
    Some(Assessment {
        mark,
        evidence: said!(
            "mark-ends-lengths",
            "The short end is {tail} long (cut at {tail_when}), the long strand's end {strand} (cut at {strand_when}).",
            tail = mm(tail_length),
            tail_when = time(tail.tick),
            strand = mm(strand_length),
            strand_when = time(strand.tick)
        ),
        value: Some((worst, "mm")),
        band: curve.describe("mm"),
        advice: if fault { advice.clone() } else { Said::default() },
        tick: Some(tick),
        fault,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::example::{check, findings};

    fn cut(tail: Option<f64>, strand: Option<f64>) -> Findings {
        let mut findings = findings();
        let tails = &mut findings.stitches[0].tails;
        tails.tail_mm = tail.map(|value| Measured { value, ..tails.tail_mm.unwrap_or_default() });
        tails.strand_mm = strand.map(|value| Measured { value, ..tails.strand_mm.unwrap_or_default() });
        findings
    }

    #[test]
    fn ends_of_the_ordered_length_earn_everything() {
        let sentence = "The short end is 4.2 mm long (cut at 82.0 s), the long strand's end 4.8 mm (cut at 84.0 s).";
        check(&CutEnds, &findings(), "1.00", sentence);
    }

    #[test]
    fn a_long_end_costs() {
        let sentence = "The short end is 4.2 mm long (cut at 82.0 s), the long strand's end 7.5 mm (cut at 84.0 s).";
        check(&CutEnds, &cut(Some(4.2), Some(7.5)), "0.50", sentence);
    }

    #[test]
    fn a_flush_end_fails() {
        let sentence = "The short end is 1.2 mm long (cut at 82.0 s), the long strand's end 4.8 mm (cut at 84.0 s).";
        check(&CutEnds, &cut(Some(1.2), Some(4.8)), "0.00", sentence);
    }

    #[test]
    fn an_end_that_was_not_cut_is_named() {
        check(&CutEnds, &cut(None, None), "0.00", "Neither end was cut.");
        check(&CutEnds, &cut(None, Some(4.0)), "0.00", "The short end was not cut.");
        check(&CutEnds, &cut(Some(4.0), None), "0.00", "The long strand was not cut.");
        check(&CutEnds, &cut(Some(f64::NAN), Some(4.0)), "0.00", "The ends were not measured.");
    }
}
