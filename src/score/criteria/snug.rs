//! Snug: the loop is not left slack.

use crate::analysis::findings::{Findings, LoopTension};
use crate::said::{Said, measure, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, tenth, time};
use crate::score::curve::Curve;
use crate::score::per_stitch::over_stitches;

/// Judges whether the loop through the gum still bears tension at the end. Too much of it is for `blanching` to judge.
#[derive(Debug, Clone, Copy)]
pub struct Snug;

const TENSION_FULL: Band = Band {
    id: "tension_full_mn",
    default: 10.0,
    unit: "mN",
    min: 0.1,
    max: 1000.0,
    doc: "tension of the loop from which it counts as snug",
    source: "closing forces of 10 to 400 mN: Burkhardt & Lang 2010, Clin Oral Implants Res 21:50",
};
const TENSION_NONE: Band = Band {
    id: "tension_none_mn",
    default: 0.0,
    unit: "mN",
    min: 0.0,
    max: 1000.0,
    doc: "tension up to which the loop counts as slack",
    source: COMMON_PRACTICE,
};

impl Criterion for Snug {
    fn id(&self) -> &'static str {
        "snug"
    }

    fn title(&self) -> &'static str {
        "Stitch snug"
    }

    fn doc(&self) -> &'static str {
        "A slack loop holds neither flap nor membrane: the wound gapes and the clot is lost. At the end the loop through \
         the gum must still bear as much as the least that a wound pulls."
    }

    fn source(&self) -> &'static str {
        "too loose leaves a gap and bares the membrane: common practice, no source; forces: see the bands"
    }

    fn bands(&self) -> &'static [Band] {
        &[TENSION_FULL, TENSION_NONE]
    }

    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment {
        over_stitches(findings, order, |stitch| match (&stitch.knot, &stitch.loop_tension) {
            (None, _) => Assessment::no_knot(),
            (Some(_), tension) => {
                let assessed = tension.as_ref().and_then(|tension| assess_tension(tension, bands));
                assessed.unwrap_or_else(|| {
                    Assessment::unmeasured(said!("mark-snug-unmeasured", "The tension of the loop was not measured."))
                })
            }
        })
    }
}

/// `None` if a number is not finite.
fn assess_tension(tension: &LoopTension, bands: &Bands) -> Option<Assessment> {
    let now = tenth(tension.now_mn.value)?;
    let curve = Curve::RampUp { none: bands.of(&TENSION_NONE), full: bands.of(&TENSION_FULL) };
    let mark = curve.mark(now);
    let fault = mark < 1.0;
    Some(Assessment {
        mark,
        evidence: said!(
            "mark-snug-bears",
            "The loop through the gum bears {tension} at the end ({when}).",
            tension = measure(now, 1, "mN"),
            when = time(tension.now_mn.tick)
        ),
        value: Some((now, "mN")),
        band: curve.describe("mN"),
        advice: if fault {
            said!("mark-snug-advice", "Draw the first throw down until the flaps just move.")
        } else {
            Said::default()
        },
        tick: Some(tension.now_mn.tick),
        fault,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::example::{check, findings};

    fn bears(now_mn: f64) -> Findings {
        let mut findings = findings();
        findings.stitches[0].loop_tension.as_mut().expect("it was measured").now_mn.value = now_mn;
        findings
    }

    #[test]
    fn a_loop_under_tension_earns_everything() {
        check(&Snug, &findings(), "1.00", "The loop through the gum bears 85.0 mN at the end (90.0 s).");
    }

    #[test]
    fn a_loop_that_hardly_pulls_is_worth_half() {
        check(&Snug, &bears(5.0), "0.50", "The loop through the gum bears 5.0 mN at the end (90.0 s).");
    }

    #[test]
    fn a_slack_loop_earns_nothing() {
        check(&Snug, &bears(0.0), "0.00", "The loop through the gum bears 0.0 mN at the end (90.0 s).");
    }

    #[test]
    fn a_tension_that_was_not_measured_earns_nothing() {
        check(&Snug, &bears(f64::NAN), "0.00", "The tension of the loop was not measured.");
    }
}
