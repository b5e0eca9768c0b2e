//! Where each throw lies, what it adds to the Gauss integral, and how the limbs share the bending.

use super::votes::{Knot, Sequence};
use super::{Direction, StitchCurve, Throw, index_below};
use crate::math::DVec3;
use crate::topology::{GaussTable, HalfKnot, LedOn, Wound};

/// How far a throw's Gauss integral may lie outside the range its wraps allow [turns].
///
/// The limbs' directions where they are cut add up to 1/4 either way each, and so does the thread in the tissue below a
/// knot that lies on its hole (estimate). A wrap more or less is a whole turn, so it must stay below 1.
pub(super) const GAUSS_TOLERANCE: f64 = 0.75;

/// Part of all winding that is left out at either end of each limb where the knot begins and ends: tails wind about each
/// other a little wherever they lie. Our choice.
const WINDING_LEFT_OUT: f64 = 0.1;

/// How the two halves of the thread wind about each other, from the middle of the tissue loop to well above the last
/// throw.
///
/// Not from the holes: a knot drawn down on one of them is wound about thread that is already in it.
pub(super) struct Winding<'halves> {
    table: GaussTable<'halves>,
    /// Index of the point at which both halves begin.
    middle: usize,
    /// Straight away from the stitch [mm].
    lead: DVec3,
    /// Where the knot begins on the limbs, as fractional indices into the points.
    start: (f64, f64),
    /// Places within which each throw is safe from cuts.
    safe: Vec<(f64, f64)>,
    /// Beyond the last throw as much thread again as it may have on the limb that has more of it: no end of a throw is
    /// looked for farther out.
    limit: (f64, f64),
}

impl<'halves> Winding<'halves> {
    /// `halves`: as [`StitchCurve::halves`] gives them [mm].
    pub(super) fn of(curve: &StitchCurve, halves: &'halves [Vec<DVec3>; 2], knot: &Knot, sequence: &Sequence) -> Self {
        let start = knot_start(curve, knot);
        let safe: Vec<(f64, f64)> = (0..sequence.half_knots.len()).map(|number| sequence.end_of(number)).collect();
        let farther = |end: (f64, f64), safe: &(f64, f64)| (end.0.min(safe.0), end.1.max(safe.1));
        let below = safe[..safe.len().saturating_sub(1)].iter().fold(start, farther);
        let end = safe.iter().fold(start, farther);
        let length = (below.0 - end.0).max(end.1 - below.1);
        let limit = ((end.0 - length).max(0.0), (end.1 + length).min(curve.last()));
        let (middle, [a, b]) = (curve.middle(), halves);
        let table = GaussTable::new(&a[..=up_a(middle, limit.0)], &b[..=up_b(middle, limit.1)]);
        Self { table, middle, lead: lead_on(curve, knot), start, safe, limit }
    }

    /// Places the throws on the limbs and measures each one's part of the Gauss integral.
    ///
    /// A throw is safe from cuts a little before its last crossings are passed. From there its end is looked for outward,
    /// to the first place where the winding is nearest to what the throw needs.
    pub(super) fn throws(&self, half_knots: &[HalfKnot]) -> Vec<Throw> {
        const STEPS: u32 = 5;
        // The next throw's own last quarter cannot belong to this one.
        const REACH: f64 = 0.75;
        let mut below = self.start;
        let mut turns_below = 0.0;
        let mut throws = Vec::with_capacity(half_knots.len());
        for (number, half_knot) in half_knots.iter().enumerate() {
            let (a, b) = self.safe[number];
            let safe = (a.min(below.0), b.max(below.1));
            let limit = self.safe.get(number + 1).copied().unwrap_or_else(|| {
                // As much thread again as the throw has on the limb that has more of it.
                let length = (below.0 - safe.0).max(safe.1 - below.1);
                ((safe.0 - length).max(self.limit.0), (safe.1 + length).min(self.limit.1))
            });
            let limit = (limit.0.min(safe.0), limit.1.max(safe.1));
            let outward =
                |step: u32, from: f64, to: f64| from + REACH * f64::from(step) / f64::from(STEPS) * (to - from);
            let ends_a: Vec<f64> = (0..=STEPS).map(|step| outward(step, safe.0, limit.0)).collect();
            let ends_b: Vec<f64> = (0..=STEPS).map(|step| outward(step, safe.1, limit.1)).collect();
            let mut led_on = self.led_on(&ends_a, &ends_b);
            // By their sum: the nearest place comes first.
            let last = ends_a.len() - 1;
            let steps =
                (0..=2 * last).flat_map(|sum| (sum.saturating_sub(last)..=sum.min(last)).map(move |a| (a, sum - a)));
            let (mut end, mut turns, mut least) = (safe, 0.0, f64::INFINITY);
            for (on_a, on_b) in steps {
                let here = led_on.turns(on_a, on_b);
                let misfit = gauss_misfit(*half_knot, here - turns_below).abs();
                if misfit < least {
                    (end, turns, least) = ((ends_a[on_a], ends_b[on_b]), here, misfit);
                }
                // Nothing farther out can fit better.
                if misfit == 0.0 {
                    break;
                }
            }
            throws.push(Throw {
                wraps: half_knot.wraps,
                handedness: half_knot.handedness,
                gauss_integral: turns - turns_below,
                direction: if half_knot.handedness < 0 { Direction::Away } else { Direction::Toward },
                limb_a: (below.0, end.0),
                limb_b: (below.1, end.1),
            });
            (below, turns_below) = (end, turns);
        }
        throws
    }

    /// Both limbs cut at the points next outside any of these places on A and on B, and led straight on.
    fn led_on(&self, ends_a: &[f64], ends_b: &[f64]) -> LedOn<'_> {
        let on_a: Vec<usize> = ends_a.iter().map(|&end| up_a(self.middle, end)).collect();
        let on_b: Vec<usize> = ends_b.iter().map(|&end| up_b(self.middle, end)).collect();
        self.table.led_on(&on_a, &on_b, self.lead)
    }

    /// The stretches of the limbs that make the knot, each from its lower to its higher index, and the knot's middle.
    ///
    /// By the winding, not by the throws' ends: those differ with the sides from which they were seen.
    pub(super) fn knot(&self) -> Option<Wound> {
        let wound = self.table.wound(WINDING_LEFT_OUT)?;
        let middle = self.middle as f64;
        // What lies in the tissue bends with the tissue, and a loop that nobody has marked may be taken for a longer one: the
        // knot begins no nearer to the middle than where the limbs first pass each other.
        let on_a = [wound.on_a.1, wound.on_a.0].map(|place| (middle - place).min(self.start.0));
        let on_b = [wound.on_b.0, wound.on_b.1].map(|place| (middle + place).max(self.start.1));
        let (on_a, on_b) = (on_a.into(), on_b.into());
        Some(Wound { on_a, on_b, ..wound })
    }
}

/// Segments of the half that runs down the points from `middle`, up to the point next outside a place.
fn up_a(middle: usize, place: f64) -> usize {
    middle - index_below(place).min(middle)
}

/// The same of the half that runs up the points.
fn up_b(middle: usize, place: f64) -> usize {
    index_below(place.ceil()).saturating_sub(middle)
}

/// How far a Gauss integral is from what a throw of n wraps has: n on a straight post to n + 1/2 lying flat [turns].
pub(super) fn gauss_misfit(half_knot: HalfKnot, gauss_integral: f64) -> f64 {
    let along = f64::from(half_knot.handedness) * gauss_integral;
    let wraps = f64::from(half_knot.wraps);
    (along - wraps - 0.5).max(0.0) + (along - wraps).min(0.0)
}

/// Straight away from the stitch, toward the middle of the views that agree [mm].
///
/// A hundred thread lengths away the rest of the integral is below the third decimal.
fn lead_on(curve: &StitchCurve, knot: &Knot) -> DVec3 {
    let up = knot.views.iter().map(|view| view.toward).sum::<DVec3>().try_normalize().unwrap_or(knot.views[0].toward);
    let far = curve.points.iter().map(|point| point.distance(curve.points[0])).fold(1.0, f64::max);
    100.0 * far * up
}

/// The places on both limbs, next to the tissue, where the limbs first pass each other, as most views see it.
fn knot_start(curve: &StitchCurve, knot: &Knot) -> (f64, f64) {
    let (mut on_a, mut on_b) = (Vec::new(), Vec::new());
    for view in &knot.views {
        let crossings = view.shadow.crossings().iter();
        let passes: Vec<(f64, f64)> = crossings.filter_map(|c| curve.between_limbs(c.over, c.under)).collect();
        on_a.extend(passes.iter().map(|pass| pass.0).max_by(f64::total_cmp));
        on_b.extend(passes.iter().map(|pass| pass.1).min_by(f64::total_cmp));
    }
    if on_a.is_empty() {
        return (curve.loop_start as f64, curve.loop_end as f64);
    }
    (median(on_a), median(on_b))
}

/// The middle value; `values` is not empty.
fn median(mut values: Vec<f64>) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    values[values.len() / 2]
}

/// The first throw whose Gauss integral contradicts its wraps or its handedness, in words.
pub(super) fn gauss_objection(throws: &[Throw]) -> Option<String> {
    throws.iter().enumerate().find_map(|(number, throw)| {
        let wraps = throw.wraps;
        let turns = f64::from(throw.handedness) * throw.gauss_integral;
        (gauss_misfit(throw.half_knot(), throw.gauss_integral).abs() > GAUSS_TOLERANCE).then(|| {
            format!(
                "throw {} closes like {wraps} wraps, but there the limbs wind about each other {turns:.1} turns, not \
                 {wraps} to {wraps}.5",
                number + 1
            )
        })
    })
}

/// (K_A - K_B) / (K_A + K_B) over a stretch of either limb, each from its lower to its higher index.
pub(super) fn curvature_asymmetry(curve: &StitchCurve, on_a: (f64, f64), on_b: (f64, f64)) -> f64 {
    let (on_a, on_b) = (total_curvature(curve, on_a), total_curvature(curve, on_b));
    if on_a + on_b > 0.0 { (on_a - on_b) / (on_a + on_b) } else { 0.0 }
}

/// Sum of the turning angles between two places [rad].
fn total_curvature(curve: &StitchCurve, (from, to): (f64, f64)) -> f64 {
    let inner = &curve.points[index_below(from) + 1..=index_below(to).max(index_below(from))];
    let path: Vec<DVec3> =
        core::iter::once(curve.at(from)).chain(inner.iter().copied()).chain(core::iter::once(curve.at(to))).collect();
    let turn = |corner: &[DVec3]| {
        let (before, after) = (corner[1] - corner[0], corner[2] - corner[1]);
        crate::math::atan2(before.cross(after).length(), before.dot(after))
    };
    path.windows(3).map(turn).sum()
}
