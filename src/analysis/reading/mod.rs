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
//!
//! Where the three disagree, or a vote has no clear lead, the reading is unclear and says why.

use crate::math::DVec3;
use crate::topology::closure::Directions;
use crate::topology::signature::{GoeritzReading, signature};
use crate::topology::untying::{Loss, untie};
use crate::topology::{Diagram, GaussTable, HalfKnot, Invariants, Shadow, alexander, catalogue};
use serde::{Deserialize, Serialize};

/// Views tried at most. Each costs a few tenths of a millisecond.
const VIEWS_MAX: usize = 24;
/// Lead that decides the vote on the whole knot; without it the reading is unclear. Our choice: closures of long tails agree in nearly all views.
const KNOT_LEAD: usize = 5;
/// Lead that decides the vote on the sequence; a view casts up to three votes, so at least two views take part.
const SEQUENCE_LEAD: usize = 6;
/// How far the preferred views stray from straight above the stitch, as a part of the unit vector.
///
/// From above, the ends of a limb cut between two throws are on the viewer's side of what is left.
const VIEW_SPREAD: f64 = 0.7;
/// How far a throw's Gauss integral may lie outside the range its wraps allow [turns].
///
/// The limbs' directions where they are cut add up to 1/4 either way each, and on a knot within a millimetre of the gum
/// the limbs to the holes are short and leave out up to as much again (estimate). A wrap more or less is a whole turn,
/// so it must stay below 1.
const GAUSS_TOLERANCE: f64 = 0.75;
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
    /// What this throw adds to the Gauss integral between the limbs, the cut limbs led straight up [turns].
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
    /// Gauss integral between the whole limbs as they lie [turns].
    pub gauss_total: f64,
    /// Middle of the crossings that make the knot [mm]; `None` if there is no throw.
    pub knot_centre: Option<DVec3>,
}

impl Reading {
    /// What is said of a stitch that cannot be read, and why.
    #[must_use]
    pub fn unclear(reason: String) -> Reading {
        Reading { reason: Some(reason), ..Reading::nothing() }
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
            gauss_total: 0.0,
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
    let (a, b) = (curve.limb_a(), curve.limb_b());
    let table = GaussTable::new(&a, &b);
    reading.gauss_total = table.total();
    match vote_on_knot(curve) {
        Some(knot) => read_knot(curve, &knot, table, &mut reading),
        None => reading.reason = Some("from different sides the thread looks like different knots".to_owned()),
    }
    reading
}

/// What most views agree on.
struct Knot {
    invariants: Invariants,
    /// Views of all knots seen.
    cast: usize,
    fingerprint: u64,
    views: Vec<View>,
}

impl Knot {
    fn of(diagram: &Diagram, fingerprint: u64) -> Option<Self> {
        Invariants::of(diagram).map(|invariants| Self { invariants, cast: 0, fingerprint, views: Vec::new() })
    }

    /// Whether a diagram is of this knot; its polynomial is compared by the fingerprint alone.
    fn is(&self, fingerprint: u64, goeritz: GoeritzReading) -> bool {
        self.fingerprint == fingerprint
            && self.invariants.signature == goeritz.signature
            && i128::from(self.invariants.determinant) == goeritz.determinant
    }
}

struct View {
    toward: DVec3,
    shadow: Shadow,
}

/// Two of three directions near `outward`, the others anywhere; all anywhere if there is no `outward`.
fn view_directions(outward: Option<DVec3>) -> impl Iterator<Item = DVec3> {
    Directions::seeded(1).take(VIEWS_MAX).enumerate().map(move |(number, anywhere)| match outward {
        Some(outward) if number % 3 != 2 => (outward + VIEW_SPREAD * anywhere).normalize(),
        _ => anywhere,
    })
}

fn vote_on_knot(curve: &StitchCurve) -> Option<Knot> {
    let mut ballots: Vec<Knot> = Vec::new();
    let lead = |ballots: &[Knot]| {
        let views = |place: usize| ballots.get(place).map_or(0, |ballot| ballot.views.len());
        views(0) - views(1)
    };
    for toward in view_directions(curve.outward()) {
        let shadow = Shadow::cast(&curve.points, toward);
        let diagram = shadow.close_over(0.0, shadow.end()).simplified();
        let Some(goeritz) = signature(&diagram) else { continue };
        let fingerprint = alexander::fingerprint(&diagram);
        let known = ballots.iter().position(|ballot| ballot.is(fingerprint, goeritz));
        let place = match known {
            Some(place) => place,
            None => match Knot::of(&diagram, fingerprint) {
                Some(knot) => {
                    ballots.push(knot);
                    ballots.len() - 1
                }
                None => continue,
            },
        };
        ballots[place].views.push(View { toward, shadow });
        ballots.sort_by_key(|ballot| core::cmp::Reverse(ballot.views.len()));
        if lead(&ballots) >= KNOT_LEAD {
            break;
        }
    }
    let decided = lead(&ballots) >= KNOT_LEAD;
    let cast: usize = ballots.iter().map(|ballot| ballot.views.len()).sum();
    let leader = ballots.into_iter().next().map(|leader| Knot { cast, ..leader });
    leader.filter(|leader| decided && 2 * leader.views.len() > cast)
}

fn read_knot(curve: &StitchCurve, knot: &Knot, table: GaussTable, reading: &mut Reading) {
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
        read_unknot(&knot.invariants, reading);
        return;
    }
    let Some(sequence) = vote_on_sequence(curve, knot, &wraps) else {
        let list = wraps.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
        reading.reason = Some(format!("the throws have {list} wraps, but their order cannot be read from the shape"));
        return;
    };
    let winding = Winding { table, loop_start: curve.loop_start, loop_end: curve.loop_end, lead: lead_on(curve, knot) };
    reading.throws = measure_throws(curve, knot, &sequence, &winding);
    reading.notation = notation(&reading.throws);
    let (first, last) = (&reading.throws[0], &reading.throws[reading.throws.len() - 1]);
    reading.curvature_asymmetry =
        curvature_asymmetry(curve, (last.limb_a.1, first.limb_a.0), (first.limb_b.0, last.limb_b.1));
    let sliding = reading.curvature_asymmetry.abs() > SLIDING_ASYMMETRY_MIN;
    reading.form = Some(if sliding { Form::Sliding } else { Form::Flat });
    reading.post = sliding.then_some(if reading.curvature_asymmetry < 0.0 { Limb::A } else { Limb::B });
    reading.knot_centre = knot_centre(curve, knot, &reading.throws);
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

fn read_unknot(invariants: &Invariants, reading: &mut Reading) {
    reading.clear = invariants.signature == 0;
    if !reading.clear {
        reading.reason = Some(format!("a knot with signature {} is no stack of throws", invariants.signature));
    } else if reading.gauss_total.abs() > GAUSS_TOLERANCE {
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

/// Which limb is cut back from its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Cutting {
    A,
    B,
    Both,
}

/// The sequence of throws most cuttings agree on, and where they saw each throw end.
struct Sequence {
    half_knots: Vec<HalfKnot>,
    /// Votes for all sequences seen.
    cast: usize,
    witnesses: Vec<(Cutting, Vec<Loss>)>,
}

fn vote_on_sequence(curve: &StitchCurve, knot: &Knot, wraps: &[u32]) -> Option<Sequence> {
    let mut ballots: Vec<Sequence> = Vec::new();
    let lead = |ballots: &[Sequence]| {
        let votes = |place: usize| ballots.get(place).map_or(0, |ballot| ballot.witnesses.len());
        votes(0) - votes(1)
    };
    for view in &knot.views {
        for cutting in [Cutting::Both, Cutting::A, Cutting::B] {
            let cuts = cuts(curve, &view.shadow, cutting);
            let Some(losses) = untie(&view.shadow, &cuts, wraps, knot.invariants.signature) else { continue };
            let half_knots: Vec<HalfKnot> = losses.iter().map(|loss| loss.half_knot).collect();
            match ballots.iter_mut().find(|ballot| ballot.half_knots == half_knots) {
                Some(ballot) => ballot.witnesses.push((cutting, losses)),
                None => ballots.push(Sequence { half_knots, cast: 0, witnesses: vec![(cutting, losses)] }),
            }
        }
        ballots.sort_by_key(|ballot| core::cmp::Reverse(ballot.witnesses.len()));
        if lead(&ballots) >= SEQUENCE_LEAD {
            break;
        }
    }
    let decided = lead(&ballots) >= SEQUENCE_LEAD;
    let cast: usize = ballots.iter().map(|ballot| ballot.witnesses.len()).sum();
    let leader = ballots.into_iter().next().map(|leader| Sequence { cast, ..leader });
    leader.filter(|leader| decided && 2 * leader.witnesses.len() > cast)
}

/// Ever shorter stretches of the thread, the first one whole, each a crossing shorter than the one before.
fn cuts(curve: &StitchCurve, shadow: &Shadow, cutting: Cutting) -> Vec<(f64, f64)> {
    let (start, end) = (curve.loop_start as f64, curve.loop_end as f64);
    let places = || shadow.crossings().iter().flat_map(|crossing| [crossing.over, crossing.under]);
    let mut on_a: Vec<f64> = places().filter(|&place| place < start).collect();
    let mut on_b: Vec<f64> = places().filter(|&place| place > end).collect();
    on_a.sort_unstable_by(f64::total_cmp);
    on_b.sort_unstable_by(|x, y| y.total_cmp(x));
    let cuts_a = between(0.0, &on_a, start);
    let cuts_b = between(curve.last(), &on_b, end);
    match cutting {
        Cutting::A => cuts_a.iter().map(|&from| (from, curve.last())).collect(),
        Cutting::B => cuts_b.iter().map(|&to| (0.0, to)).collect(),
        Cutting::Both => {
            let steps = (cuts_a.len().max(cuts_b.len()) - 1).max(1);
            let at = |cuts: &[f64], step: usize| cuts[(step * (cuts.len() - 1)).div_ceil(steps)];
            (0..=steps).map(|step| (at(&cuts_a, step), at(&cuts_b, step))).collect()
        }
    }
}

/// The limb's end, then a place a little outside each crossing, at last one half way from the innermost to the tissue.
fn between(limb_end: f64, crossings: &[f64], tissue: f64) -> Vec<f64> {
    let outside = |(&here, &before): (&f64, &f64)| {
        let gap = before - here;
        here + (0.5 * gap).clamp(-0.5, 0.5)
    };
    let before = core::iter::once(&limb_end).chain(crossings);
    let innermost = crossings.last().map(|last| 0.5 * (last + tissue));
    core::iter::once(limb_end).chain(crossings.iter().zip(before).map(outside)).chain(innermost).collect()
}

/// Places the throws on the limbs and measures each one's part of the Gauss integral.
///
/// A throw is safe from cuts a little before its last crossings are passed. From there its end is looked for outward,
/// to the first place where the winding is nearest to what the throw needs.
fn measure_throws(curve: &StitchCurve, knot: &Knot, sequence: &Sequence, winding: &Winding) -> Vec<Throw> {
    const STEPS: u32 = 5;
    // The next throw's own last quarter cannot belong to this one.
    const REACH: f64 = 0.75;
    let mut below = knot_start(curve, knot);
    let mut turns_below = 0.0;
    let mut throws = Vec::with_capacity(sequence.half_knots.len());
    for (number, half_knot) in sequence.half_knots.iter().enumerate() {
        let (a, b) = sequence.end_of(number);
        let safe = (a.min(below.0), b.max(below.1));
        let limit = if number + 1 < sequence.half_knots.len() {
            sequence.end_of(number + 1)
        } else {
            // As much thread again as the throw has on the limb that has more of it.
            let length = (below.0 - safe.0).max(safe.1 - below.1);
            ((safe.0 - length).max(0.0), (safe.1 + length).min(curve.last()))
        };
        let limit = (limit.0.min(safe.0), limit.1.max(safe.1));
        let outward = |step: u32, from: f64, to: f64| from + REACH * f64::from(step) / f64::from(STEPS) * (to - from);
        let ends_a: Vec<f64> = (0..=STEPS).map(|step| outward(step, safe.0, limit.0)).collect();
        let ends_b: Vec<f64> = (0..=STEPS).map(|step| outward(step, safe.1, limit.1)).collect();
        let turns_up_to = winding.up_to(&ends_a, &ends_b);
        // By their sum: the nearest place comes first.
        let last = ends_a.len() - 1;
        let steps =
            (0..=2 * last).flat_map(|sum| (sum.saturating_sub(last)..=sum.min(last)).map(move |a| (a, sum - a)));
        let candidates = steps.map(|(on_a, on_b)| ((ends_a[on_a], ends_b[on_b]), turns_up_to[on_a][on_b]));
        let misfit = |turns: f64| gauss_misfit(*half_knot, turns - turns_below).abs();
        let (end, turns) = candidates.min_by(|x, y| misfit(x.1).total_cmp(&misfit(y.1))).expect("there are steps");
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

/// How far a Gauss integral is from what a throw of n wraps has: n on a straight post to n + 1/2 lying flat [turns].
fn gauss_misfit(half_knot: HalfKnot, gauss_integral: f64) -> f64 {
    let along = f64::from(half_knot.handedness) * gauss_integral;
    let wraps = f64::from(half_knot.wraps);
    (along - wraps - 0.5).max(0.0) + (along - wraps).min(0.0)
}

/// The limbs' Gauss integral, whole or cut.
struct Winding<'limbs> {
    table: GaussTable<'limbs>,
    loop_start: usize,
    loop_end: usize,
    lead: DVec3,
}

impl Winding<'_> {
    /// Both limbs cut at the points next outside two places and led straight on, for all places on A and on B.
    fn up_to(&self, ends_a: &[f64], ends_b: &[f64]) -> Vec<Vec<f64>> {
        let on_a: Vec<usize> =
            ends_a.iter().map(|&end| self.loop_start - index_below(end).min(self.loop_start)).collect();
        let on_b: Vec<usize> =
            ends_b.iter().map(|&end| index_below(end.ceil()).saturating_sub(self.loop_end)).collect();
        self.table.led_on(&on_a, &on_b, self.lead)
    }
}

/// Straight away from the stitch, toward the middle of the views that agree [mm].
///
/// A hundred thread lengths away the rest of the integral is below the third decimal.
fn lead_on(curve: &StitchCurve, knot: &Knot) -> DVec3 {
    let up = knot.views.iter().map(|view| view.toward).sum::<DVec3>().try_normalize().unwrap_or(knot.views[0].toward);
    let far = curve.points.iter().map(|point| point.distance(curve.points[0])).fold(1.0, f64::max);
    100.0 * far * up
}

/// Crossings between the limbs: place on A, place on B, half a turn with its sign (both limbs followed outward).
fn limb_crossings(curve: &StitchCurve, view: &View) -> Vec<(f64, f64, f64)> {
    let crossings = view.shadow.crossings().iter();
    crossings
        .filter_map(|c| curve.between_limbs(c.over, c.under).map(|(a, b)| (a, b, -0.5 * f64::from(c.sign))))
        .collect()
}

impl Sequence {
    /// Where throw `number` ends on each limb: the last place where cutting that limb alone spares it, else both.
    ///
    /// Nearly the outermost place any view saw: a cut a little inside a throw may be mended by the way the ends are
    /// closed, but no cut outside harms it.
    fn end_of(&self, number: usize) -> (f64, f64) {
        let seen = |alone: Cutting| {
            let by = |wanted: Cutting| {
                let losses = self.witnesses.iter().filter(move |(cutting, _)| *cutting == wanted);
                losses.map(|(_, losses)| losses[number]).collect::<Vec<_>>()
            };
            let found = [by(alone), by(Cutting::Both)].into_iter().find(|found| !found.is_empty());
            found.unwrap_or_else(|| self.witnesses.iter().map(|(_, losses)| losses[number]).collect())
        };
        let outermost_first = |mut places: Vec<f64>| {
            places.sort_unstable_by(f64::total_cmp);
            places[places.len() / 4]
        };
        let from = outermost_first(seen(Cutting::A).iter().map(|loss| loss.from).collect());
        let to = -outermost_first(seen(Cutting::B).iter().map(|loss| -loss.to).collect());
        (from, to)
    }
}

/// The places on both limbs, next to the tissue, where the limbs first pass each other, as most views see it.
fn knot_start(curve: &StitchCurve, knot: &Knot) -> (f64, f64) {
    let (mut on_a, mut on_b) = (Vec::new(), Vec::new());
    for view in &knot.views {
        let passes = limb_crossings(curve, view);
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
fn gauss_objection(throws: &[Throw]) -> Option<String> {
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
fn curvature_asymmetry(curve: &StitchCurve, on_a: (f64, f64), on_b: (f64, f64)) -> f64 {
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

/// Mean of the places where the limbs pass each other inside the throws, over all views.
fn knot_centre(curve: &StitchCurve, knot: &Knot, throws: &[Throw]) -> Option<DVec3> {
    let (first, last) = (&throws[0], &throws[throws.len() - 1]);
    let mut sum = DVec3::ZERO;
    let mut count = 0.0;
    for (a, b, _) in knot.views.iter().flat_map(|view| limb_crossings(curve, view)) {
        if (last.limb_a.1..=first.limb_a.0).contains(&a) && (first.limb_b.0..=last.limb_b.1).contains(&b) {
            sum += 0.5 * (curve.at(a) + curve.at(b));
            count += 1.0;
        }
    }
    (count > 0.0).then(|| sum / count)
}
