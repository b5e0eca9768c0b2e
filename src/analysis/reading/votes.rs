//! What knot it is and in which order its throws were laid, by the vote of many views.

use super::StitchCurve;
use crate::math::DVec3;
use crate::topology::closure::Directions;
use crate::topology::signature::GoeritzReading;
use crate::topology::untying::{Loss, untie};
use crate::topology::{Diagram, HalfKnot, Invariants, Known, Shadow};

/// Views tried at most. Each costs about a tenth of a millisecond.
const VIEWS_MAX: usize = 24;
/// Lead that decides the vote on the whole knot; without it the reading is unclear. Our choice: closures of long tails agree in nearly all views.
const KNOT_LEAD: usize = 5;
/// Lead that decides the vote on the sequence; a view casts up to three votes, so at least two views take part.
const SEQUENCE_LEAD: usize = 6;
/// A sequence contends while no other has a clear lead and one vote in so many is for it. Our choice: in knots drawn tight
/// the two limbs may pass the throws in different orders, and then cuts of either limb alone vote for as many sequences.
const CONTENDER_SHARE: usize = 4;
/// How far the preferred views stray from straight above the stitch, as a part of the unit vector.
///
/// From above, the ends of a limb cut between two throws are on the viewer's side of what is left.
const VIEW_SPREAD: f64 = 0.7;

/// What most views agree on.
pub(super) struct Knot {
    pub(super) invariants: Invariants,
    /// Views of all knots seen.
    pub(super) cast: usize,
    /// Those that see this one, the one with the fewest crossings first.
    pub(super) views: Vec<View>,
}

pub(super) struct View {
    pub(super) toward: DVec3,
    pub(super) shadow: Shadow,
}

/// Views that see the same knot: its polynomial is compared by the fingerprint alone.
struct Ballot {
    fingerprint: u64,
    goeritz: GoeritzReading,
    views: Vec<View>,
    simplest: Diagram,
}

impl Ballot {
    fn add(&mut self, view: View, diagram: Diagram) {
        self.views.push(view);
        if diagram.crossing_count() < self.simplest.crossing_count() {
            self.simplest = diagram;
        }
    }
}

/// Two of three directions near `outward`, the others anywhere; all anywhere if there is no `outward`.
fn view_directions(outward: Option<DVec3>) -> impl Iterator<Item = DVec3> {
    Directions::seeded(1).take(VIEWS_MAX).enumerate().map(move |(number, anywhere)| match outward {
        Some(outward) if number % 3 != 2 => (outward + VIEW_SPREAD * anywhere).normalize(),
        _ => anywhere,
    })
}

pub(super) fn vote_on_knot(curve: &StitchCurve, known: &mut Known) -> Option<Knot> {
    let mut ballots: Vec<Ballot> = Vec::new();
    let lead = |ballots: &[Ballot]| lead(ballots, |ballot| ballot.views.len());
    for toward in view_directions(curve.outward()) {
        let shadow = Shadow::cast(&curve.points, toward);
        let diagram = shadow.close_over(0.0, shadow.end()).simplified();
        let Some(goeritz) = known.signature(&diagram) else { continue };
        let fingerprint = known.fingerprint(&diagram);
        let view = View { toward, shadow };
        match ballots.iter_mut().find(|ballot| ballot.fingerprint == fingerprint && ballot.goeritz == goeritz) {
            Some(known) => known.add(view, diagram),
            None => ballots.push(Ballot { fingerprint, goeritz, views: vec![view], simplest: diagram }),
        }
        ballots.sort_by_key(|ballot| core::cmp::Reverse(ballot.views.len()));
        if lead(&ballots) >= KNOT_LEAD {
            break;
        }
    }
    let decided = lead(&ballots) >= KNOT_LEAD;
    let cast: usize = ballots.iter().map(|ballot| ballot.views.len()).sum();
    let leader = ballots.into_iter().next().filter(|leader| decided && 2 * leader.views.len() > cast)?;
    let Ballot { goeritz, simplest, mut views, .. } = leader;
    // What is cut and closed again later costs least where least crosses.
    views.sort_by_key(|view| view.shadow.crossings().len());
    Some(Knot { invariants: Invariants::with(goeritz, &simplest)?, cast, views })
}

/// By how many votes the first ballot leads the second; ballots stand in order of their votes.
fn lead<T>(ballots: &[T], votes: impl Fn(&T) -> usize) -> usize {
    let of = |place: usize| ballots.get(place).map_or(0, &votes);
    of(0) - of(1)
}

/// Which limb is cut back from its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cutting {
    A,
    B,
    Both,
}

/// The sequence of throws most cuttings agree on, and where they saw each throw end.
pub(super) struct Sequence {
    pub(super) half_knots: Vec<HalfKnot>,
    /// Votes for all sequences seen.
    pub(super) cast: usize,
    pub(super) witnesses: Vec<(Cutting, Vec<Loss>)>,
}

/// The sequence with a clear lead, or else all that have a share of the votes from which one could be right.
pub(super) fn vote_on_sequence(curve: &StitchCurve, knot: &Knot, wraps: &[u32], known: &mut Known) -> Vec<Sequence> {
    let mut ballots: Vec<Sequence> = Vec::new();
    let lead = |ballots: &[Sequence]| lead(ballots, |ballot| ballot.witnesses.len());
    for view in &knot.views {
        let by_limb = cuts_by_limb(curve, &view.shadow);
        for cutting in [Cutting::Both, Cutting::A, Cutting::B] {
            let cuts = cuts(&by_limb, curve.last(), cutting);
            let Some(losses) = untie(&view.shadow, &cuts, wraps, knot.invariants.signature, known) else { continue };
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
    let cast: usize = ballots.iter().map(|ballot| ballot.witnesses.len()).sum();
    let votes = |ballot: &Sequence| ballot.witnesses.len();
    if lead(&ballots) >= SEQUENCE_LEAD && 2 * votes(&ballots[0]) > cast {
        ballots.truncate(1);
    }
    ballots.retain(|ballot| CONTENDER_SHARE * votes(ballot) >= cast);
    for ballot in &mut ballots {
        ballot.cast = cast;
    }
    ballots
}

/// Places to cut limb A and limb B at, each a crossing farther in than the one before.
fn cuts_by_limb(curve: &StitchCurve, shadow: &Shadow) -> [Vec<f64>; 2] {
    let (start, end) = (curve.loop_start as f64, curve.loop_end as f64);
    let on_a: Vec<f64> = shadow.places().take_while(|&place| place < start).collect();
    let on_b: Vec<f64> = shadow.places().rev().take_while(|&place| place > end).collect();
    [between(0.0, &on_a, start), between(curve.last(), &on_b, end)]
}

/// Ever shorter stretches of the thread, the first one whole; `last`: its last place.
fn cuts([on_a, on_b]: &[Vec<f64>; 2], last: f64, cutting: Cutting) -> Vec<(f64, f64)> {
    match cutting {
        Cutting::A => on_a.iter().map(|&from| (from, last)).collect(),
        Cutting::B => on_b.iter().map(|&to| (0.0, to)).collect(),
        Cutting::Both => {
            let steps = (on_a.len().max(on_b.len()) - 1).max(1);
            let at = |cuts: &[f64], step: usize| cuts[(step * (cuts.len() - 1)).div_ceil(steps)];
            (0..=steps).map(|step| (at(on_a, step), at(on_b, step))).collect()
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

impl Sequence {
    /// Where throw `number` ends on each limb: the last place where cutting that limb alone spares it, else both.
    ///
    /// Nearly the outermost place any view saw: a cut a little inside a throw may be mended by the way the ends are
    /// closed, but no cut outside harms it.
    pub(super) fn end_of(&self, number: usize) -> (f64, f64) {
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
