//! Blanching: how much gum is pale, and for how long.

use crate::analysis::findings::{Blanching, Findings, FlapPlace};
use crate::said::{Said, measure, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, mm, tenth, time};
use crate::score::curve::Curve;

/// Judges pale area that stays after tying, and pale area summed over time; the worse of the two is the mark.
#[derive(Debug, Clone, Copy)]
pub struct BlanchedGum;

const AREA_FULL: Band = Band {
    id: "area_full_mm2",
    default: 3.0,
    unit: "mm2",
    min: 0.0,
    max: 50.0,
    doc: "largest area still pale 5 s after tying that earns everything",
    source: COMMON_PRACTICE,
};
const AREA_NONE: Band = Band {
    id: "area_none_mm2",
    default: 15.0,
    unit: "mm2",
    min: 0.1,
    max: 400.0,
    doc: "area still pale 5 s after tying that earns nothing",
    source: COMMON_PRACTICE,
};
// A stitch may take 63 to 103 s (half the times that separated competent operators from novices in a study of two
// intra-oral stitches, n = 38), of which about 50 s are after the first throw (our estimate). The defaults below are
// the areas above held for those 50 s.
const DOSE_FULL: Band = Band {
    id: "dose_full_mm2_s",
    default: 150.0,
    unit: "mm2 s",
    min: 0.0,
    max: 5000.0,
    doc: "largest sum of pale area over time that earns everything",
    source: COMMON_PRACTICE,
};
const DOSE_NONE: Band = Band {
    id: "dose_none_mm2_s",
    default: 750.0,
    unit: "mm2 s",
    min: 1.0,
    max: 50_000.0,
    doc: "sum of pale area over time that earns nothing",
    source: COMMON_PRACTICE,
};

impl Criterion for BlanchedGum {
    fn id(&self) -> &'static str {
        "blanching"
    }

    fn title(&self) -> &'static str {
        "Gum not blanched"
    }

    fn doc(&self) -> &'static str {
        "A stitch that is too tight keeps blood out of the gum. The area that is still pale 5 s after the last throw \
         and the pale area summed over the attempt are marked, and the worse counts. The halo of 1 mm round each hole, \
         which every stitch has, is left out, and a short paling while a throw is drawn down costs little."
    }

    fn source(&self) -> &'static str {
        "closing force up to 0.1 N left 10 % of wounds open, above it 40 % or more: Burkhardt & Lang 2010, Clin Oral \
         Implants Res 21:50; areas and times: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[AREA_FULL, AREA_NONE, DOSE_FULL, DOSE_NONE]
    }

    fn assess(&self, findings: &Findings, _order: &TaskOrder, bands: &Bands) -> Assessment {
        if findings.knots().next().is_none() {
            return Assessment::missing(
                said!("mark-blanching-no-knot", "No knot was tied, so no gum was pressed."),
                said!("mark-tie-snug", "Tie the stitch snug."),
            );
        }
        let measured = findings.tissue.blanching.as_ref().and_then(|blanching| assess_blanching(blanching, bands));
        measured.unwrap_or_else(|| {
            Assessment::unmeasured(said!("mark-blanching-unmeasured", "Blanching was not measured."))
        })
    }
}

/// `None` if a number is not finite.
fn assess_blanching(blanching: &Blanching, bands: &Bands) -> Option<Assessment> {
    let (after, moment) = match blanching.persisting_mm2 {
        Some(persisting) => (persisting, said!("mark-blanching-after-tying", "5 s after tying")),
        None => (blanching.end_mm2, said!("mark-blanching-at-end", "at the end")),
    };
    let (area, dose) = (tenth(after.value)?, tenth(blanching.integral_mm2_s.value)?);
    let peak = tenth(blanching.peak_mm2.value)?;
    let area_curve = Curve::RampDown { full: bands.of(&AREA_FULL), none: bands.of(&AREA_NONE) };
    let dose_curve = Curve::RampDown { full: bands.of(&DOSE_FULL), none: bands.of(&DOSE_NONE) };
    let (area_mark, dose_mark) = (area_curve.mark(area), dose_curve.mark(dose));
    let stays = area_mark <= dose_mark;
    let mark = area_mark.min(dose_mark);
    let fault = mark < 1.0;
    Some(Assessment {
        mark,
        evidence: said!(
            "mark-blanching-pale",
            "{area} of gum is pale {moment} ({when}{place}); {dose} over the attempt, most at {peak_when} \
             ({peak}{peak_place}).",
            area = measure(area, 1, "mm2"),
            moment,
            when = time(after.tick),
            place = place(blanching.lasting_place),
            dose = measure(dose, 1, "mm2 s"),
            peak_when = time(blanching.peak_mm2.tick),
            peak = measure(peak, 1, "mm2"),
            peak_place = place(blanching.peak_place)
        ),
        value: Some(if stays { (area, "mm2") } else { (dose, "mm2 s") }),
        band: if stays { area_curve.describe("mm2") } else { dose_curve.describe("mm2 s") },
        advice: advice(fault, stays),
        tick: Some(if stays { after.tick } else { blanching.peak_mm2.tick }),
        fault,
    })
}

/// Where the middle of pale gum lies, to follow a number; nothing if that was not measured.
fn place(middle: Option<FlapPlace>) -> Said {
    let numbers = middle.and_then(|at| Some((at.flap, tenth(at.from_edge_mm)?, tenth(at.along_wound_mm)?)));
    numbers.map_or_else(Said::default, |(flap, from_edge, along)| {
        said!(
            "mark-blanching-place",
            ", in the {flap} flap {from_edge} from its edge, {along} along the wound",
            flap = flap.said(),
            from_edge = mm(from_edge),
            along = mm(along)
        )
    })
}

fn advice(fault: bool, stays: bool) -> Said {
    match (fault, stays) {
        (false, _) => Said::default(),
        (true, true) => said!(
            "mark-blanching-advice-stays",
            "Draw the first throw down only until the gum just meets the thread, and stop."
        ),
        (true, false) => {
            said!("mark-blanching-advice-long", "Do not hold tension while laying throws: draw down, let go, go on.")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::findings::{Measured, Side};
    use crate::quantity::Tick;
    use crate::score::example::{check, findings};

    fn blanched(change: impl FnOnce(&mut Blanching)) -> Findings {
        let mut findings = findings();
        change(findings.tissue.blanching.as_mut().expect("the example has it"));
        findings
    }

    #[test]
    fn a_snug_stitch_earns_everything() {
        let sentence =
            "1.6 mm2 of gum is pale 5 s after tying (75.0 s); 96.0 mm2 s over the attempt, most at 71.0 s (11.5 mm2).";
        check(&BlanchedGum, &findings(), "1.00", sentence);
    }

    #[test]
    fn where_the_pale_gum_lies_is_said() {
        let placed = blanched(|blanching| {
            blanching.lasting_place = Some(FlapPlace { flap: Side::Cheek, along_wound_mm: -0.4, from_edge_mm: 2.6 });
        });
        let sentence = "1.6 mm2 of gum is pale 5 s after tying (75.0 s, in the cheek flap 2.6 mm from its edge, -0.4 mm \
                        along the wound); 96.0 mm2 s over the attempt, most at 71.0 s (11.5 mm2).";
        check(&BlanchedGum, &placed, "1.00", sentence);
    }

    #[test]
    fn pale_gum_that_stays_costs() {
        let half = blanched(|blanching| blanching.persisting_mm2 = Some(Measured::new(9.0, Tick(4500))));
        let sentence =
            "9.0 mm2 of gum is pale 5 s after tying (75.0 s); 96.0 mm2 s over the attempt, most at 71.0 s (11.5 mm2).";
        check(&BlanchedGum, &half, "0.50", sentence);
    }

    #[test]
    fn pale_gum_that_lasted_too_long_fails_even_if_it_is_gone() {
        let long = blanched(|blanching| blanching.integral_mm2_s.value = 812.0);
        let sentence =
            "1.6 mm2 of gum is pale 5 s after tying (75.0 s); 812.0 mm2 s over the attempt, most at 71.0 s (11.5 mm2).";
        check(&BlanchedGum, &long, "0.00", sentence);
    }

    #[test]
    fn an_attempt_that_ended_early_is_judged_by_its_end() {
        let early = blanched(|blanching| blanching.persisting_mm2 = None);
        let sentence =
            "1.1 mm2 of gum is pale at the end (90.0 s); 96.0 mm2 s over the attempt, most at 71.0 s (11.5 mm2).";
        check(&BlanchedGum, &early, "1.00", sentence);
    }

    #[test]
    fn what_was_not_measured_earns_nothing() {
        let mut unmeasured = findings();
        unmeasured.tissue.blanching = None;
        check(&BlanchedGum, &unmeasured, "0.00", "Blanching was not measured.");
        let not_finite = blanched(|blanching| blanching.peak_mm2.value = f64::NAN);
        check(&BlanchedGum, &not_finite, "0.00", "Blanching was not measured.");
    }
}
