//! Throws read from the shape of one stitch: how many, how many wraps each, which way they turn, flat or sliding.
//!
//! The method needs centrelines only and knows nothing of how they came about:
//!
//! 1. The whole thread is closed from several sides; the majority's Alexander polynomial gives the wraps of all
//!    throws, in no order.
//! 2. Seen from each side that agrees, both limbs are cut back from their ends, one crossing after the other, and the
//!    rest is closed again. When the polynomial loses the factor of n wraps and the signature changes by 2n, the last
//!    throw has come undone: it had n wraps and the handedness of the change. Its neighbour below is next, until the
//!    thread is free. The sides vote on the sequence.
//! 3. The Gauss integral between the limbs, throw by throw, must have the same sign and about the same size.
//! 4. Where the limbs wind about each other is the knot, and how they share its bending says whether it is flat or
//!    sliding.
//!
//! Where the first three disagree, or a vote has no clear lead and the winding does not decide it, the reading is unclear and
//! says why. The votes are in `votes`, the throws' places, windings and bends in `measure`.

mod measure;
mod votes;

use crate::math::DVec3;
use crate::topology::{HalfKnot, Invariants, Known, catalogue, gauss_between};
use measure::{GAUSS_TOLERANCE, Winding, curvature_asymmetry, gauss_misfit, gauss_objection};
use serde::{Deserialize, Serialize};
use votes::{Knot, Sequence, vote_on_knot, vote_on_sequence};

/// Curvature asymmetry above which a knot is called sliding: half way between an even share (0) and all on one limb
/// (1). Our measure; no published threshold.
pub const SLIDING_ASYMMETRY_MIN: f64 = 0.5;

/// The centreline of one stitch, from one thread end through the tissue to the other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StitchCurve {
    /// Points [mm], shape `[point_count]`.
    pub points: Vec<DVec3>,
    /// Index of the point at the first tissue hole. Limb A runs from here back to point 0.
    pub loop_start: usize,
    /// Index of the point at the last tissue hole, not before `loop_start`. Limb B runs from here to the last point.
    pub loop_end: usize,
}

/// Which way the strand went over the top of a holder that came from the right (+x).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// Away from the operator: the limbs cross left-handed.
    Away,
    /// Toward the operator: the limbs cross right-handed.
    Toward,
}

/// How the two limbs share the bending inside the knot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Both limbs bend: the throws lie flat.
    Flat,
    /// One limb stays straight and the other is hitched round it: the knot can slide.
    Sliding,
}

impl Form {
    /// Wraps by which one strand can be further along than the other where they press on each other, in throws of so many wraps
    /// each: the most of a throw if they lie flat; all of them about a post, which runs straight through what winds about it.
    pub fn wraps_apart(self, wraps: impl Iterator<Item = usize>) -> usize {
        match self {
            Form::Flat => wraps.max().unwrap_or(0),
            Form::Sliding => wraps.sum(),
        }
    }
}

/// The part of the thread on one side of the stitch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limb {
    /// From the first hole back to point 0.
    A,
    /// From the last hole to the last point.
    B,
}

/// How many looks at a shape there were, and how many of them agreed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Votes {
    /// Looks that saw what the reading says.
    pub agreeing: usize,
    /// Looks that saw anything that can be read.
    pub cast: usize,
}

/// One throw, as read from the shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Throw {
    /// Wraps, 1 for a single throw.
    pub wraps: u32,
    /// +1 if the limbs, both followed from the tissue to their ends, cross right-handed; -1 if left-handed.
    pub handedness: i8,
    /// What this throw adds to the Gauss integral between the halves of the thread, led straight up where they are cut [turns].
    pub gauss_integral: f64,
    /// Way of the wrapping strand that makes this handedness.
    pub direction: Direction,
    /// Where the throw lies on limb A: fractional indices into the points, the end nearer to the tissue first.
    pub limb_a: (f64, f64),
    /// Where the throw lies on limb B, the same way.
    pub limb_b: (f64, f64),
}

/// Everything that can be told from the shape of one stitch.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Wraps of each throw from the tissue up, `=` between throws of opposite and `x` of equal handedness
    /// (Tera and Aberg 1976, Acta Chir. Scand. 142, 1-7); empty if there is no throw.
    pub notation: String,
    /// The throws, the one nearest to the tissue first.
    pub throws: Vec<Throw>,
    /// Flat or sliding; `None` if there is no throw.
    pub form: Option<Form>,
    /// (K_A - K_B) / (K_A + K_B) with the total curvature of each limb inside the knot, in -1..=1.
    pub curvature_asymmetry: f64,
    /// The straighter limb, which the other is hitched round; `None` if the knot is flat or there is none.
    pub post: Option<Limb>,
    /// Whether shape and invariants say the same.
    pub clear: bool,
    /// Why the reading is unclear, or what else there is to know about a clear one.
    pub reason: Option<String>,
    /// Determinant of the closed thread; `None` if the views do not agree on a knot.
    pub determinant: Option<i64>,
    /// Alexander polynomial of the closed thread, constant term first; empty if the views do not agree.
    pub alexander: Vec<i64>,
    /// Signature of the closed thread, positive for right-handed throws; `None` if the views do not agree.
    pub signature: Option<i32>,
    /// Whether determinant, polynomial and signature are those of the throws read, tied as a stack; `None` if none were.
    pub agrees_with_catalogue: Option<bool>,
    /// Directions from which the closed thread was looked at.
    pub knot_votes: Votes,
    /// Ways of cutting the limbs back, from all directions that agree on the knot.
    pub sequence_votes: Votes,
    /// How much farther the Gauss integral of the worst throw could be off before the reading were unclear [turns];
    /// negative if it is, `None` if there is no throw. At most 0.75, for integrals within what the wraps allow.
    pub gauss_margin: Option<f64>,
    /// Mean place at which the limbs wind about each other [mm]; `None` if there is no throw.
    pub knot_centre: Option<DVec3>,
}

impl Reading {
    /// What is said of a stitch that cannot be read, and why.
    #[must_use]
    pub fn unclear(reason: String) -> Reading {
        Reading { reason: Some(reason), ..Reading::nothing() }
    }

    /// As of [`Form::wraps_apart`]; at least 1.
    #[must_use]
    pub fn wraps_apart(&self) -> usize {
        let wraps = self.throws.iter().map(|throw| throw.wraps as usize);
        self.form.unwrap_or(Form::Flat).wraps_apart(wraps).max(1)
    }

    /// The throws as pieces of knot, the one nearest to the tissue first.
    pub fn half_knots(&self) -> impl Iterator<Item = HalfKnot> {
        self.throws.iter().map(|throw| HalfKnot { wraps: throw.wraps, handedness: throw.handedness })
    }

    fn nothing() -> Reading {
        Reading {
            notation: String::new(),
            throws: Vec::new(),
            form: None,
            curvature_asymmetry: 0.0,
            clear: false,
            reason: None,
            determinant: None,
            alexander: Vec::new(),
            signature: None,
            post: None,
            agrees_with_catalogue: None,
            knot_votes: Votes::default(),
            sequence_votes: Votes::default(),
            gauss_margin: None,
            knot_centre: None,
        }
    }
}

impl StitchCurve {
    /// Points of limb A from the tissue to its end.
    #[must_use]
    pub fn limb_a(&self) -> Vec<DVec3> {
        self.points[..=self.loop_start].iter().rev().copied().collect()
    }

    /// Points of limb B from the tissue to its end.
    #[must_use]
    pub fn limb_b(&self) -> Vec<DVec3> {
        self.points[self.loop_end..].to_vec()
    }

    /// Index of the point in the middle of the tissue loop.
    fn middle(&self) -> usize {
        self.loop_start.midpoint(self.loop_end)
    }

    /// Points of the two halves of the thread, from the middle of the tissue loop to the ends of limb A and of limb B.
    fn halves(&self) -> [Vec<DVec3>; 2] {
        let middle = self.middle();
        [self.points[..=middle].iter().rev().copied().collect(), self.points[middle..].to_vec()]
    }

    /// Gauss integral between the whole limbs as they lie [turns].
    #[must_use]
    pub fn gauss_total(&self) -> f64 {
        gauss_between(&self.limb_a(), &self.limb_b())
    }

    fn last(&self) -> f64 {
        self.points.len() as f64 - 1.0
    }

    /// Point at a fractional index [mm].
    #[must_use]
    pub fn at(&self, place: f64) -> DVec3 {
        let index = index_below(place).min(self.points.len() - 1);
        let next = (index + 1).min(self.points.len() - 1);
        self.points[index].lerp(self.points[next], place - index as f64)
    }

    /// The crossing's places on (limb A, limb B), if it is one between the limbs.
    fn between_limbs(&self, over: f64, under: f64) -> Option<(f64, f64)> {
        let (low, high) = (over.min(under), over.max(under));
        (low < self.loop_start as f64 && high > self.loop_end as f64).then_some((low, high))
    }

    /// Out of the tissue: from the middle of the tissue loop to the middle between the holes; `None` if the loop is
    /// straight.
    #[must_use]
    pub fn outward(&self) -> Option<DVec3> {
        let tissue = &self.points[self.loop_start..=self.loop_end];
        let middle = tissue.iter().copied().sum::<DVec3>() / tissue.len() as f64;
        let holes = 0.5 * (tissue[0] + tissue[tissue.len() - 1]);
        let outward = holes - middle;
        // A loop drawn straight from hole to hole has no inside.
        let straight = outward.length() <= 1e-3 * tissue[0].distance(tissue[tissue.len() - 1]);
        if straight { None } else { outward.try_normalize() }
    }

    fn problem(&self) -> Option<String> {
        let count = self.points.len();
        if let Some(index) = self.points.iter().position(|p| !p.is_finite()) {
            return Some(format!("point {index} of the thread has no finite position"));
        }
        let ordered = self.loop_start <= self.loop_end && self.loop_end < count;
        (!ordered).then(|| {
            format!(
                "the tissue loop {}..={} does not lie within the thread's {count} points",
                self.loop_start, self.loop_end
            )
        })
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "places are small and not negative")]
fn index_below(place: f64) -> usize {
    place.max(0.0) as usize
}

/// Reads the throws of a stitch, finished or in progress.
#[must_use]
pub fn read(curve: &StitchCurve) -> Reading {
    let mut reading = Reading { reason: curve.problem(), ..Reading::nothing() };
    if reading.reason.is_some() {
        return reading;
    }
    let mut known = Known::default();
    match vote_on_knot(curve, &mut known) {
        Some(knot) => read_knot(curve, &knot, &mut known, &mut reading),
        None => reading.reason = Some("from different sides the thread looks like different knots".to_owned()),
    }
    reading
}

fn read_knot(curve: &StitchCurve, knot: &Knot, known: &mut Known, reading: &mut Reading) {
    reading.determinant = Some(knot.invariants.determinant);
    reading.alexander.clone_from(&knot.invariants.alexander);
    reading.signature = Some(knot.invariants.signature);
    reading.knot_votes = Votes { agreeing: knot.views.len(), cast: knot.cast };
    let Some(wraps) = catalogue::wraps_of(&knot.invariants.alexander) else {
        let determinant = knot.invariants.determinant;
        reading.reason = Some(format!("a knot with determinant {determinant} is no stack of throws"));
        return;
    };
    if wraps.is_empty() {
        read_unknot(curve, &knot.invariants, reading);
        return;
    }
    let halves = curve.halves();
    let mut contenders: Vec<(Sequence, Winding, Vec<Throw>)> = (vote_on_sequence(curve, knot, &wraps, known)
        .into_iter())
    .map(|sequence| {
        let winding = Winding::of(curve, &halves, knot, &sequence);
        let throws = winding.throws(&sequence.half_knots);
        (sequence, winding, throws)
    })
    .collect();
    if contenders.len() > 1 {
        // Where the votes do not decide, the winding does: throws in another order than theirs do not wind as they have to.
        contenders.retain(|(.., throws)| gauss_objection(throws).is_none());
    }
    let [(sequence, winding, throws)] = &contenders[..] else {
        let list = wraps.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
        reading.reason = Some(format!("the throws have {list} wraps, but their order cannot be read from the shape"));
        return;
    };
    reading.throws.clone_from(throws);
    reading.notation = notation(throws);
    if let Some(wound) = winding.knot() {
        reading.curvature_asymmetry = curvature_asymmetry(curve, wound.on_a, wound.on_b);
        reading.knot_centre = Some(wound.centre);
    }
    let sliding = reading.curvature_asymmetry.abs() > SLIDING_ASYMMETRY_MIN;
    reading.form = Some(if sliding { Form::Sliding } else { Form::Flat });
    reading.post = sliding.then_some(if reading.curvature_asymmetry < 0.0 { Limb::A } else { Limb::B });
    reading.sequence_votes = Votes { agreeing: sequence.witnesses.len(), cast: sequence.cast };
    let agrees = catalogue::expected(&sequence.half_knots) == knot.invariants;
    reading.agrees_with_catalogue = Some(agrees);
    let margin = |throw: &Throw| GAUSS_TOLERANCE - gauss_misfit(throw.half_knot(), throw.gauss_integral).abs();
    reading.gauss_margin = reading.throws.iter().map(margin).min_by(f64::total_cmp);
    reading.reason = if agrees {
        gauss_objection(&reading.throws)
    } else {
        let signature = knot.invariants.signature;
        Some(format!("the throws seen to go one by one do not add up to the closed thread's signature {signature}"))
    };
    reading.clear = reading.reason.is_none();
}

impl Throw {
    fn half_knot(&self) -> HalfKnot {
        HalfKnot { wraps: self.wraps, handedness: self.handedness }
    }
}

fn read_unknot(curve: &StitchCurve, invariants: &Invariants, reading: &mut Reading) {
    reading.clear = invariants.signature == 0;
    if !reading.clear {
        reading.reason = Some(format!("a knot with signature {} is no stack of throws", invariants.signature));
    } else if curve.gauss_total().abs() > GAUSS_TOLERANCE {
        reading.reason = Some("the limbs wind about each other, but no end is tucked through".to_owned());
    }
}

fn notation(throws: &[Throw]) -> String {
    let mut notation = String::new();
    for (number, throw) in throws.iter().enumerate() {
        if number > 0 {
            notation.push(if throws[number - 1].handedness == throw.handedness { 'x' } else { '=' });
        }
        notation.push_str(&throw.wraps.to_string());
    }
    notation
}
