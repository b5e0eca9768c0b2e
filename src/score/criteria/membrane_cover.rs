//! Membrane cover: the sheet over the graft stays under both flaps, and whole.

use crate::analysis::findings::{Findings, MembraneCover as Found};
use crate::said::{Said, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, mm, tenth, time};
use crate::score::curve::Curve;

/// Judges the least overlap of membrane and flap at the end, and holes in the membrane.
#[derive(Debug, Clone, Copy)]
pub struct MembraneCover;

const OVERLAP_FULL: Band = Band {
    id: "overlap_full_mm",
    default: 2.0,
    unit: "mm",
    min: 0.0,
    max: 10.0,
    doc: "least overlap under a flap that earns everything",
    source: "2 to 3 mm past the defect: Jung 2018, Clin Oral Implants Res 29(5)",
};
const OVERLAP_NONE: Band = Band {
    id: "overlap_none_mm",
    default: 0.0,
    unit: "mm",
    min: -5.0,
    max: 10.0,
    doc: "overlap under a flap that earns nothing: at 0 mm the graft is bare",
    source: COMMON_PRACTICE,
};
const PIERCED_SHARE: Band = Band {
    id: "pierced_share",
    default: 0.5,
    unit: "1",
    min: 0.0,
    max: 1.0,
    doc: "share of the mark that is left for each hole in the membrane",
    source: COMMON_PRACTICE,
};

impl Criterion for MembraneCover {
    fn id(&self) -> &'static str {
        "membrane_cover"
    }

    fn title(&self) -> &'static str {
        "Membrane covered and whole"
    }

    fn doc(&self) -> &'static str {
        "At the end the membrane must still reach under both flaps, or the graft lies bare beside it, and the needle must \
         not have gone through it. The least overlap is marked; every hole takes a share of the mark."
    }

    fn source(&self) -> &'static str {
        "a membrane 2 to 3 mm past the defect: Jung 2018, Clin Oral Implants Res 29(5); holes: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[OVERLAP_FULL, OVERLAP_NONE, PIERCED_SHARE]
    }

    fn assess(&self, findings: &Findings, _order: &TaskOrder, bands: &Bands) -> Assessment {
        let cover = findings.tissue.membrane.as_ref();
        cover.and_then(|cover| assess_cover(cover, bands)).unwrap_or_else(|| {
            Assessment::unmeasured(said!("mark-membrane-unmeasured", "The membrane was not measured."))
        })
    }
}

/// `None` if a number is not finite.
fn assess_cover(cover: &Found, bands: &Bands) -> Option<Assessment> {
    let [cheek, tongue] = [tenth(cover.under_cheek_mm.value)?, tenth(cover.under_tongue_mm.value)?];
    let least = cheek.min(tongue);
    let curve = Curve::RampUp { none: bands.of(&OVERLAP_NONE), full: bands.of(&OVERLAP_FULL) };
    let covered = curve.mark(least);
    // As many factors as holes; the first few already leave nothing that shows.
    let kept = cover.pierced.iter().fold(1.0, |share, _| share * bands.of(&PIERCED_SHARE));
    let mark = covered * kept;
    let fault = mark < 1.0;
    let dragged = cover.dragged_mm.and_then(|dragged| Some((tenth(dragged.value)?, dragged.tick)));
    let (holes, advice, tick) = match cover.pierced.first() {
        None => {
            let advice = if dragged.is_some() {
                said!(
                    "mark-membrane-advice-dragged",
                    "Keep tips and needle off the membrane: it lies loose under the flaps and goes with whatever presses \
                     on it."
                )
            } else {
                said!("mark-membrane-advice-bare", "Take the bite without drawing the flap off the membrane.")
            };
            (said!("mark-membrane-whole", "it is whole"), advice, dragged.map(|(_, tick)| tick))
        }
        Some(&first) => (
            said!(
                "mark-membrane-pierced",
                "the needle went through it {count} times, first at {when}",
                count = cover.pierced.len(),
                when = time(first)
            ),
            said!(
                "mark-membrane-advice-pierced",
                "Lift the flap off the membrane before the needle goes in, and keep its point in the flap."
            ),
            Some(first),
        ),
    };
    let moved = dragged.map(|(way, tick)| {
        said!(
            "mark-membrane-dragged",
            "it was dragged {way} from its place, until {when}",
            way = mm(way),
            when = time(tick)
        )
    });
    Some(Assessment {
        mark,
        evidence: said!(
            "mark-membrane-reaches",
            "The membrane reaches {cheek} under the cheek flap and {tongue} under the tongue flap ({when}); {state}.",
            cheek = mm(cheek),
            tongue = mm(tongue),
            when = time(cover.under_cheek_mm.tick),
            state = Said::joined([Some(holes), moved].into_iter().flatten(), "; ")
        ),
        value: Some((least, "mm")),
        band: curve.describe("mm"),
        advice: if fault { advice } else { Said::default() },
        tick: tick.or(Some(cover.under_cheek_mm.tick)),
        fault,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::findings::Measured;
    use crate::quantity::Tick;
    use crate::score::example::{check, findings};

    fn covered(change: impl FnOnce(&mut Found)) -> Findings {
        let mut findings = findings();
        change(findings.tissue.membrane.as_mut().expect("the example has one"));
        findings
    }

    #[test]
    fn a_whole_membrane_under_both_flaps_earns_everything() {
        let sentence =
            "The membrane reaches 4.6 mm under the cheek flap and 4.8 mm under the tongue flap (90.0 s); it is whole.";
        check(&MembraneCover, &findings(), "1.00", sentence);
    }

    #[test]
    fn a_flap_drawn_half_off_costs_half_and_a_bare_graft_everything() {
        let half = covered(|cover| cover.under_tongue_mm.value = 1.0);
        let sentence =
            "The membrane reaches 4.6 mm under the cheek flap and 1.0 mm under the tongue flap (90.0 s); it is whole.";
        check(&MembraneCover, &half, "0.50", sentence);
        let bare = covered(|cover| cover.under_cheek_mm.value = -0.3);
        let sentence =
            "The membrane reaches -0.3 mm under the cheek flap and 4.8 mm under the tongue flap (90.0 s); it is whole.";
        check(&MembraneCover, &bare, "0.00", sentence);
    }

    #[test]
    fn a_membrane_that_was_dragged_off_says_how_far_and_when() {
        let dragged = covered(|cover| {
            (cover.under_cheek_mm.value, cover.dragged_mm) = (-2.4, Some(Measured::new(7.0, Tick(240))));
        });
        let sentence = "The membrane reaches -2.4 mm under the cheek flap and 4.8 mm under the tongue flap (90.0 s); it is \
                        whole; it was dragged 7.0 mm from its place, until 4.0 s.";
        check(&MembraneCover, &dragged, "0.00", sentence);
        let assessment = MembraneCover.assess(&dragged, &crate::score::example::order(), &Bands::default());
        assert_eq!(assessment.tick, Some(Tick(240)));
    }

    #[test]
    fn every_hole_takes_half_of_what_is_left() {
        let pierced = covered(|cover| cover.pierced = vec![Tick(600), Tick(900)]);
        let sentence = "The membrane reaches 4.6 mm under the cheek flap and 4.8 mm under the tongue flap (90.0 s); the \
                        needle went through it 2 times, first at 10.0 s.";
        check(&MembraneCover, &pierced, "0.25", sentence);
    }

    #[test]
    fn what_was_not_measured_earns_nothing() {
        let mut findings = findings();
        findings.tissue.membrane = None;
        check(&MembraneCover, &findings, "0.00", "The membrane was not measured.");
        let unmeasured = covered(|cover| cover.under_cheek_mm.value = f64::NAN);
        check(&MembraneCover, &unmeasured, "0.00", "The membrane was not measured.");
    }
}
