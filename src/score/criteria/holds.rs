//! The knot holds: what the loop bears before the knot slips or the thread breaks.

use crate::analysis::findings::{Findings, Holding};
use crate::said::{Said, measure, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, Criterion, mm, tenth, time};
use crate::score::curve::Curve;
use crate::score::per_stitch::over_stitches;

/// Judges the force that the knot held when its loop was cut and drawn open.
#[derive(Debug, Clone, Copy)]
pub struct KnotHolds;

const FORCE_FULL: Band = Band {
    id: "force_full_n",
    default: 5.0,
    unit: "N",
    min: 0.1,
    max: 50.0,
    doc: "force from which the knot earns everything: what the gum itself bears",
    source: "gum tore at 5.03 N in the mean of 288 pieces: J Clin Periodontol 2026, doi 10.1111/jcpe.70127",
};
const FORCE_NONE: Band = Band {
    id: "force_none_n",
    default: 0.4,
    unit: "N",
    min: 0.0,
    max: 50.0,
    doc: "force up to which it earns nothing: the most that a closed wound pulls by itself",
    source: "closing forces of 0.01 to 0.4 N: Burkhardt & Lang 2010, Clin Oral Implants Res 21:50",
};

impl Criterion for KnotHolds {
    fn id(&self) -> &'static str {
        "holds"
    }

    fn title(&self) -> &'static str {
        "Knot holds"
    }

    fn doc(&self) -> &'static str {
        "When the attempt ends its knot is pulled on a bench: the loop is cut opposite the knot and drawn open until the \
         knot has slipped by 1.8 mm or the thread breaks. A knot that holds more than the gum is not what fails."
    }

    fn source(&self) -> &'static str {
        "slip of 1.8 mm: Silver et al 2016, J Oral Maxillofac Surg; forces: see the bands"
    }

    fn bands(&self) -> &'static [Band] {
        &[FORCE_FULL, FORCE_NONE]
    }

    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment {
        over_stitches(findings, order, |stitch| match &stitch.knot {
            None => Assessment::no_knot(),
            Some(knot) => {
                let assessed = knot.holding.as_ref().and_then(|holding| assess_holding(holding, bands));
                assessed.unwrap_or_else(|| {
                    Assessment::unmeasured(said!("mark-holds-unmeasured", "The knot was not pulled."))
                })
            }
        })
    }
}

/// `None` if a number is not finite.
fn assess_holding(holding: &Holding, bands: &Bands) -> Option<Assessment> {
    let (force, slip) = (tenth(holding.force_n())?, tenth(holding.slip_mm)?);
    let curve = Curve::RampUp { none: bands.of(&FORCE_NONE), full: bands.of(&FORCE_FULL) };
    let mark = curve.mark(force);
    Some(Assessment {
        mark,
        evidence: evidence(force, slip, holding),
        value: Some((force, "N")),
        band: curve.describe("N"),
        advice: if mark < 1.0 { advice(holding.broke) } else { Said::default() },
        tick: Some(holding.force_mn.tick),
        fault: mark < 1.0,
    })
}

fn evidence(force: f64, slip: f64, holding: &Holding) -> Said {
    let (force, slip, when) = (measure(force, 1, "N"), mm(slip), time(holding.force_mn.tick));
    if holding.broke {
        said!(
            "mark-holds-broke",
            "Pulled as it was tied, the knot held {force}, with {slip} of slip, and then the thread broke ({when}).",
            force,
            slip,
            when
        )
    } else {
        said!(
            "mark-holds-slipped",
            "Pulled as it was tied, the knot held {force}, with {slip} of slip, and then it slipped ({when}).",
            force,
            slip,
            when
        )
    }
}

fn advice(broke: bool) -> Said {
    if broke {
        said!("mark-holds-advice-broke", "Take a stronger thread, and do not pinch it with the instruments.")
    } else {
        said!(
            "mark-holds-advice-slipped",
            "Draw each throw tight and square to the one below; a slippery thread needs one throw more."
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::example::{check, findings, with_knot};

    fn held(force_n: f64, slip_mm: f64, broke: bool) -> Findings {
        with_knot(|knot| {
            let holding = knot.holding.as_mut().expect("it was pulled");
            (holding.force_mn.value, holding.slip_mm, holding.broke) = (1000.0 * force_n, slip_mm, broke);
        })
    }

    #[test]
    fn a_knot_that_holds_more_than_the_gum_earns_everything() {
        let sentence =
            "Pulled as it was tied, the knot held 7.4 N, with 0.3 mm of slip, and then the thread broke (90.0 s).";
        check(&KnotHolds, &findings(), "1.00", sentence);
    }

    #[test]
    fn a_knot_that_slips_halfway_is_worth_half() {
        let sentence = "Pulled as it was tied, the knot held 2.7 N, with 1.8 mm of slip, and then it slipped (90.0 s).";
        check(&KnotHolds, &held(2.7, 1.8, false), "0.50", sentence);
    }

    #[test]
    fn a_knot_that_a_swollen_flap_pulls_open_earns_nothing() {
        let sentence = "Pulled as it was tied, the knot held 0.3 N, with 1.7 mm of slip, and then it slipped (90.0 s).";
        check(&KnotHolds, &held(0.3, 1.7, false), "0.00", sentence);
    }

    #[test]
    fn a_knot_that_was_not_pulled_earns_nothing() {
        check(&KnotHolds, &with_knot(|knot| knot.holding = None), "0.00", "The knot was not pulled.");
        check(&KnotHolds, &held(f64::NAN, 0.0, true), "0.00", "The knot was not pulled.");
    }
}
