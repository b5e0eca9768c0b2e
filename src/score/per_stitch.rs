//! One assessment from those of several stitches.

use super::TaskOrder;
use super::criterion::Assessment;
use crate::analysis::findings::{Findings, Stitch};
use crate::said::said;

/// The mean mark over the stitches, ordered ones that are missing counting 0, with the reason of the worst stitch.
pub(crate) fn over_stitches(
    findings: &Findings,
    order: &TaskOrder,
    assess: impl Fn(&Stitch) -> Assessment,
) -> Assessment {
    let assessments: Vec<Assessment> = findings.stitches.iter().map(assess).collect();
    let placed = assessments.len();
    let judged = placed.max(usize::try_from(order.stitches).unwrap_or(usize::MAX));
    let sum: f64 = assessments.iter().map(|assessment| assessment.mark).sum();

    let worst = assessments.into_iter().enumerate().reduce(|a, b| if b.1.mark < a.1.mark { b } else { a });
    let Some((index, mut assessment)) = worst else {
        return Assessment::missing(
            said!("mark-no-stitch", "No stitch was placed."),
            said!("mark-place-stitch", "Place the stitch that the task asks for."),
        );
    };
    assessment.mark = sum / judged as f64;
    if placed > 1 {
        assessment.evidence = said!(
            "mark-stitch-of",
            "Stitch {number} of {placed}: {evidence}",
            number = index + 1,
            placed,
            evidence = assessment.evidence
        );
    }
    if placed < judged {
        assessment.evidence = said!(
            "mark-stitches-placed",
            "{placed} of {judged} stitches placed. {evidence}",
            placed,
            judged,
            evidence = assessment.evidence
        );
        assessment.advice = said!("mark-place-every-stitch", "Place every stitch that the task asks for.");
        assessment.fault = true;
    }
    assessment
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::said::Said;
    use crate::score::example;

    fn half(_: &Stitch) -> Assessment {
        Assessment { mark: 0.5, ..Assessment::missing(Said::plain("Half."), Said::plain("More.")) }
    }

    #[test]
    fn a_missing_stitch_counts_nothing() {
        let (findings, mut order) = (example::findings(), example::order());
        order.stitches = 2;
        let assessment = over_stitches(&findings, &order, half);
        assert_eq!(format!("{:.2}", assessment.mark), "0.25");
        assert_eq!(assessment.evidence, "1 of 2 stitches placed. Half.");
    }

    #[test]
    fn the_sentence_is_that_of_the_worst_stitch() {
        let (mut findings, order) = (example::findings(), example::order());
        findings.stitches.push(Stitch::default());
        let assessment = over_stitches(&findings, &order, |stitch| {
            if stitch.knot.is_some() { Assessment { mark: 1.0, ..half(stitch) } } else { half(stitch) }
        });
        assert_eq!(format!("{:.2}", assessment.mark), "0.75");
        assert_eq!(assessment.evidence, "Stitch 2 of 2: Half.");
    }
}
