//! Spacing: stitches neither crowded nor far apart, and evenly spread.

use crate::analysis::findings::{Findings, Stitch};
use crate::quantity::Tick;
use crate::said::{Said, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, mm, tenth, time};
use crate::score::curve::Curve;

/// Judges the distances between neighbouring stitches along the wound; the worse of distance and evenness is the mark.
#[derive(Debug, Clone, Copy)]
pub struct Spacing;

const NEAR_FULL: Band = Band {
    id: "near_full_mm",
    default: 3.0,
    unit: "mm",
    min: 0.5,
    max: 10.0,
    doc: "least distance between neighbours that earns everything",
    source: "3 to 5 mm within the mouth: oral-surgery texts, from memory",
};
const NEAR_NONE: Band = Band {
    id: "near_none_mm",
    default: 1.5,
    unit: "mm",
    min: 0.0,
    max: 10.0,
    doc: "distance between neighbours that is so near that it earns nothing",
    source: COMMON_PRACTICE,
};
const FAR_FULL: Band = Band {
    id: "far_full_mm",
    default: 5.0,
    unit: "mm",
    min: 0.5,
    max: 20.0,
    doc: "largest distance between neighbours that earns everything",
    source: "3 to 5 mm within the mouth: oral-surgery texts, from memory",
};
const FAR_NONE: Band = Band {
    id: "far_none_mm",
    default: 8.0,
    unit: "mm",
    min: 0.5,
    max: 20.0,
    doc: "distance between neighbours that is so far that it earns nothing",
    source: "texts name 3 to 8 mm at the widest: oral-surgery texts, from memory",
};
const UNEVEN_FULL: Band = Band {
    id: "uneven_full_mm",
    default: 0.5,
    unit: "mm",
    min: 0.0,
    max: 5.0,
    doc: "largest difference between the distances that earns everything",
    source: COMMON_PRACTICE,
};
const UNEVEN_NONE: Band = Band {
    id: "uneven_none_mm",
    default: 2.0,
    unit: "mm",
    min: 0.1,
    max: 10.0,
    doc: "difference between the distances that earns nothing",
    source: COMMON_PRACTICE,
};

impl Criterion for Spacing {
    fn id(&self) -> &'static str {
        "spacing"
    }

    fn title(&self) -> &'static str {
        "Stitches evenly spaced"
    }

    fn doc(&self) -> &'static str {
        "Neighbouring stitches must lie neither crowded, which starves the gum between them, nor so far apart that the \
         wound gapes, and all at the same distance. The worse of distance and evenness is the mark."
    }

    fn source(&self) -> &'static str {
        "3 to 5 mm within the mouth, 3 to 8 mm at the widest: oral-surgery texts, from memory; equidistant: common \
         practice, no source; how the mark falls: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[NEAR_FULL, NEAR_NONE, FAR_FULL, FAR_NONE, UNEVEN_FULL, UNEVEN_NONE]
    }

    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment {
        let placed = findings.stitches.len();
        let ordered = usize::try_from(order.stitches).unwrap_or(usize::MAX);
        if placed == 1 && ordered <= 1 {
            return single();
        }
        if placed < ordered.max(2) {
            let evidence = match placed {
                1 => said!("mark-spacing-one", "1 stitch of {ordered} placed: there is no spacing to judge.", ordered),
                _ => said!(
                    "mark-spacing-few",
                    "{placed} stitches of {ordered} placed: there is no spacing to judge.",
                    placed,
                    ordered
                ),
            };
            let advice = said!("mark-place-every-stitch", "Place every stitch that the task asks for.");
            return Assessment::missing(evidence, advice);
        }
        let places: Option<Vec<(f64, Tick)>> = findings.stitches.iter().map(place).collect();
        places
            .filter(|places| places.iter().all(|(x, _)| x.is_finite()))
            .and_then(|places| assess_places(places, bands))
            .unwrap_or_else(|| Assessment::unmeasured(said!("mark-bites-unmeasured", "The bites were not measured.")))
    }
}

/// A stitch that was ordered alone.
fn single() -> Assessment {
    Assessment {
        mark: 1.0,
        evidence: said!("mark-spacing-single", "A single stitch was ordered: there is no spacing to judge."),
        value: None,
        band: said!("mark-spacing-band-single", "full for a single stitch"),
        advice: Said::default(),
        tick: None,
        fault: false,
    }
}

/// Where a stitch lies along the wound [mm], the mean of its bites, and when its last bite was taken.
fn place(stitch: &Stitch) -> Option<(f64, Tick)> {
    let sum: f64 = stitch.bites.iter().map(|bite| bite.along_wound_mm).sum();
    let last = stitch.bites.iter().map(|bite| bite.tick).max()?;
    Some((sum / stitch.bites.len() as f64, last))
}

fn assess_places(mut places: Vec<(f64, Tick)>, bands: &Bands) -> Option<Assessment> {
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    let distances: Vec<f64> = places.windows(2).map(|pair| tenth(pair[1].0 - pair[0].0)).collect::<Option<_>>()?;
    let distance_curve = Curve::Plateau {
        none_below: bands.of(&NEAR_NONE),
        full_from: bands.of(&NEAR_FULL),
        full_to: bands.of(&FAR_FULL),
        none_above: bands.of(&FAR_NONE),
    };
    let uneven_curve = Curve::RampDown { full: bands.of(&UNEVEN_FULL), none: bands.of(&UNEVEN_NONE) };
    let worst = distances.iter().copied().min_by(|a, b| distance_curve.mark(*a).total_cmp(&distance_curve.mark(*b)))?;
    let largest = distances.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let smallest = distances.iter().copied().fold(f64::INFINITY, f64::min);
    let uneven = tenth(largest - smallest)?;
    let (distance_mark, uneven_mark) = (distance_curve.mark(worst), uneven_curve.mark(uneven));
    let (value, curve, advice) = if uneven_mark < distance_mark {
        let advice = said!(
            "mark-spacing-advice-uneven",
            "Divide the wound before the first bite, and keep to the same distance."
        );
        (uneven, uneven_curve, advice)
    } else if worst < bands.of(&NEAR_FULL) {
        (worst, distance_curve, said!("mark-spacing-advice-near", "Leave more room between the stitches."))
    } else {
        (worst, distance_curve, said!("mark-spacing-advice-far", "Set the stitches closer together."))
    };
    let mark = distance_mark.min(uneven_mark);
    let fault = mark < 1.0;
    let last = places.iter().map(|place| place.1).max()?;
    Some(Assessment {
        mark,
        evidence: said!(
            "mark-spacing-distances",
            "Between neighbouring stitches: {distances}; the distances differ by {uneven} (last bite at {when}).",
            distances = Said::joined(distances.into_iter().map(mm), ", "),
            uneven = mm(uneven),
            when = time(last)
        ),
        value: Some((value, "mm")),
        band: curve.describe("mm"),
        advice: if fault { advice } else { Said::default() },
        tick: Some(last),
        fault,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::example;

    /// Marks stitches at these places along the wound [mm], three of them ordered.
    fn placed(places: &[f64]) -> Assessment {
        let mut findings = example::findings();
        let stitch = findings.stitches[0].clone();
        findings.stitches = places.iter().map(|_| stitch.clone()).collect();
        for (stitch, &x) in findings.stitches.iter_mut().zip(places) {
            stitch.bites.iter_mut().for_each(|bite| bite.along_wound_mm = x);
        }
        let mut order = example::order();
        order.stitches = 3;
        Spacing.assess(&findings, &order, &Bands::default())
    }

    #[test]
    fn the_worse_of_distance_and_evenness_is_the_mark_in_whatever_order_the_stitches_were_placed() {
        let cases: [(&[f64], f64, f64); 6] = [
            (&[-4.0, 0.0, 4.0], 1.0, 4.0),
            (&[4.0, -4.0, 0.0], 1.0, 4.0),
            // Halfway from 3 mm, which earns all, to 1.5 mm, which earns nothing.
            (&[0.0, 2.3, 4.5], 0.47, 2.2),
            // Halfway from 5 to 8 mm.
            (&[-6.5, 0.0, 6.5], 0.5, 6.5),
            // 3 and 4.5 mm: a difference of 1.5 mm, two thirds of the way from 0.5 to 2.
            (&[0.0, 3.0, 7.5], 0.33, 1.5),
            (&[0.0, 1.0, 5.0], 0.0, 1.0),
        ];
        for (places, mark, value) in cases {
            let assessment = placed(places);
            assert!((assessment.mark - mark).abs() < 0.005, "{places:?}: {assessment:?}");
            assert_eq!(assessment.value, Some((value, "mm")), "{places:?}");
            assert_eq!(assessment.fault, mark < 1.0);
        }
    }

    #[test]
    fn the_sentence_gives_every_distance_and_its_moment() {
        let sentence =
            "Between neighbouring stitches: 4.0 mm, 4.5 mm; the distances differ by 0.5 mm (last bite at 20.0 s).";
        assert_eq!(placed(&[-4.0, 0.0, 4.5]).evidence, sentence);
    }

    #[test]
    fn a_stitch_that_is_missing_leaves_nothing_to_judge() {
        let assessment = placed(&[0.0, 4.0]);
        assert_eq!((assessment.mark, assessment.fault), (0.0, true));
        assert_eq!(assessment.evidence, "2 stitches of 3 placed: there is no spacing to judge.");
        let sentence = "A single stitch was ordered: there is no spacing to judge.";
        example::check(&Spacing, &example::findings(), "1.00", sentence);
    }
}
