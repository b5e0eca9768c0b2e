//! Bone and teeth stop the needle, and blunt its point; on its body they leave no mark.
//!
//! They push back on the instrument that holds it, at every place of the needle that is in them, and never pull. The instrument's
//! way in a sub-step is foreseen from its hand alone, so that a stiff push neither overshoots nor lets the needle in. Left out:
//! the thread's pull in that foresight, friction along bone and enamel, the bending of the wire, and instruments, which only the
//! window keeps out of teeth.

use super::World;
use super::needle::{Needle, State};
use crate::analysis::findings::NeedleEventKind;
use crate::math::{DVec3, Pose};
use crate::rod::surroundings::Hand;
use crate::site::hard::{Depth, Substance};

/// Push per depth of one place of the needle in bone or tooth [mN/mm]; estimate: both are harder, and this lets the strongest hand
/// of 20 N no farther in than a thread is thick.
const STIFFNESS: f64 = 50_000.0;

/// What is farther away than this is not met in a sub-step [mm]: a hand of the greatest speed, 500 mm/s, goes as far in a quarter
/// of a tick.
const REACH: f64 = 2.1;

/// Rounds in which the pushes of several places find their balance: one is enough for one place, a dozen places of the same face
/// take some hundred.
const ROUNDS: usize = 500;

/// Balance is found when no push changes by more than this in a round [mN]; estimate, far below what a hand feels.
const SETTLED: f64 = 1e-3;

/// A point that is so far away has left what it was on [mm]; estimate, well above any tremor under load.
const APART: f64 = 0.2;

/// Places at which the needle's body meets bone and teeth are no farther apart [mm]; estimate: between two of them an arc of 8 mm
/// bulges by 0.02 mm.
const SPACING: f64 = 1.0;

/// Share of the needle, from its point, over which it grows to its full width: the cutting part is about the front third (an
/// oral-surgery textbook's extract).
const POINTED: f64 = 1.0 / 3.0;

/// Width of the flat that wear leaves on a new point, and on the bluntest [mm]: 0.127 to 0.346 after up to 3 stitches, those
/// whose needle passes along bone the bluntest (Barranco-Piedra, J Clin Exp Dent).
const FLAT: [f64; 2] = [0.127, 0.346];

/// Push on bone or tooth that makes a point wholly blunt [mN]; estimate: the hands that wore those points pushed no harder than
/// gum takes to let one through that is as blunt, three times 600 mN.
const BLUNTING_PUSH: f64 = 1800.0;

/// The point on bone or tooth, from when it came there until it left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// What it is on.
    pub with: Substance,
    /// The greatest push so far [mN].
    pub push: f64,
    /// Where the point was then [mm].
    pub place: DVec3,
    /// When.
    pub tick: crate::quantity::Tick,
}

impl Meeting {
    /// What is told of it.
    #[must_use]
    pub fn kind(&self) -> NeedleEventKind {
        match self.with {
            Substance::Bone => NeedleEventKind::MetBone,
            Substance::Tooth => NeedleEventKind::MetTooth,
        }
    }
}

/// Sharpness (0..=1) that a push [mN] on bone or tooth leaves a new point.
///
/// A point is flattened until it bears the push, so that its flat's area grows as the push (indentation hardness: Tabor 1951, The
/// Hardness of Metals; from memory) and the same push again does nothing more; sharpness falls evenly with the flat's width.
/// Estimate: that it is the width that counts.
#[must_use]
pub fn sharpness_after(push: f64) -> f64 {
    let [new, bluntest] = FLAT;
    let flat = (new * new + (bluntest * bluntest - new * new) * (push / BLUNTING_PUSH).min(1.0)).sqrt();
    (bluntest - flat) / (bluntest - new)
}

/// How a hand's instrument goes in a sub-step if no more than known forces act on it.
#[derive(Debug, Clone, Copy)]
struct Way {
    /// Where it goes [mm].
    free: DVec3,
    /// How far each force takes it off that way [mm/mN].
    give: f64,
}

/// The way of an instrument at `position` [mm] in a sub-step of `dt` [ms], under a `load` [mN] besides its hand.
fn foreseen(hand: &Hand, position: DVec3, load: DVec3, dt: f64) -> Way {
    let damping = hand.damping / dt;
    let lag = hand.target - position;
    let sprung = (lag * hand.stiffness + load) / (hand.stiffness + damping);
    if (lag - sprung).length() * hand.stiffness <= hand.force_max {
        return Way { free: sprung, give: 1.0 / (hand.stiffness + damping) };
    }
    Way { free: (lag.normalize() * hand.force_max + load) / damping, give: 1.0 / damping }
}

/// The push [mN] of each place that is so deep in something hard, when the instrument goes this way.
fn pushes(way: &Way, depths: &[Depth]) -> Vec<f64> {
    let (mut moved, mut pushes) = (way.free, vec![0.0; depths.len()]);
    for _ in 0..ROUNDS {
        let mut change = 0.0_f64;
        for (push, depth) in pushes.iter_mut().zip(depths) {
            let before = *push;
            let without = moved - depth.normal * (before * way.give);
            let inside = depth.depth - without.dot(depth.normal);
            *push = inside.max(0.0) / (1.0 / STIFFNESS + way.give);
            moved = without + depth.normal * (*push * way.give);
            change = change.max((*push - before).abs());
        }
        if change < SETTLED {
            break;
        }
    }
    pushes
}

/// Places along a needle [mm] with its radius there [mm], the point first.
fn places(needle: &Needle, pose: &Pose) -> impl Iterator<Item = (DVec3, f64)> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of millimetres")]
    let pieces = (needle.arc * needle.radius / SPACING).ceil() as u32;
    (0..=pieces).map(move |k| {
        let share = f64::from(k) / f64::from(pieces);
        (needle.point(pose, needle.arc * share), 0.5 * needle.wire * (share / POINTED).min(1.0))
    })
}

impl World {
    /// Bone and teeth act on the instrument that holds the needle, in a sub-step of `dt` [ms]; after all other loads are known.
    pub(super) fn stop_needle(&mut self, dt: f64) {
        let (Some(pose), Some(needle)) = (self.needle_pose(), &self.needle) else { return };
        let State::Held { tool, .. } = needle.state else { return };
        let depths: Vec<Vec<Depth>> = places(needle, &pose)
            .map(|(place, radius)| {
                let near = self.hard.depths(place).map(move |depth| Depth { depth: depth.depth + radius, ..depth });
                near.filter(|depth| depth.depth > -REACH).collect()
            })
            .collect();
        let of_point = depths[0].len();
        let depths = depths.concat();
        let block = self.rod.node_count() + tool;
        let load = self.around.loads.iter().filter(|(to, _)| *to == block).map(|(_, load)| *load).sum();
        let instrument = &self.around.tools[tool];
        let hand = instrument.hand.expect("an instrument is in a hand");
        let pushes = pushes(&foreseen(&hand, instrument.position, load, dt), &depths);
        let push = depths.iter().zip(&pushes).map(|(depth, push)| depth.normal * *push).sum::<DVec3>();
        if push != DVec3::ZERO {
            self.around.loads.push((block, push));
        }
        let hardest = depths[..of_point].iter().zip(pushes).max_by(|a, b| a.1.total_cmp(&b.1));
        let pressed = hardest.filter(|(_, push)| *push > 0.0).map(|(depth, push)| (depth.of, push));
        if let Some(needle) = &mut self.needle {
            needle.pressed = pressed;
        }
    }

    /// Blunts the point by the push of the sub-step that was just done, and notes where it met what.
    pub(super) fn blunt_point(&mut self, needle: &mut Needle, point: DVec3) {
        let Some((with, push)) = needle.pressed.take() else {
            let left = |meeting: &Meeting| {
                let depths = self.hard.depths(point);
                depths.filter(|depth| depth.of == meeting.with).all(|depth| depth.depth < -APART)
            };
            if let Some(meeting) = needle.meeting.take_if(|meeting| left(meeting)) {
                self.meetings.push(meeting);
            }
            return;
        };
        needle.sharpness = needle.sharpness.min(sharpness_after(push));
        let now = Meeting { with, push, place: point, tick: self.tick };
        match &mut needle.meeting {
            Some(meeting) if meeting.with == with => {
                if push > meeting.push {
                    *meeting = now;
                }
            }
            other => self.meetings.extend(other.replace(now)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_flat_that_a_push_leaves_bears_it_and_is_as_wide_as_was_measured() {
        // Push, and the flat's width [mm]: areas grow as the push, from the least to the greatest measured.
        let half: f64 = 0.5 * (0.127 * 0.127 + 0.346 * 0.346);
        for (push, flat) in [(0.0, 0.127), (900.0, half.sqrt()), (1800.0, 0.346), (5000.0, 0.346)] {
            let expected = (0.346 - flat) / (0.346 - 0.127);
            let sharpness = sharpness_after(push);
            // Rounding alone.
            assert!((sharpness - expected).abs() < 1e-12, "{push} mN: {sharpness}, not {expected}");
        }
    }

    const HAND: Hand = Hand { target: DVec3::ZERO, stiffness: 2000.0, force_max: 5000.0, damping: 20_000.0 };

    /// Where a hand that wants to go down to a bone and `lag` [mm] into it comes to rest, and how hard it then pushes [mN].
    fn pressed_down(lag: f64, places: usize) -> (f64, f64) {
        let hand = Hand { target: DVec3::NEG_Z * lag, ..HAND };
        let mut place = DVec3::ZERO;
        let mut push = 0.0;
        for _ in 0..200 {
            let way = foreseen(&hand, place, DVec3::ZERO, 2.0);
            let depth = Depth { of: Substance::Bone, depth: -place.z, normal: DVec3::Z };
            let found = pushes(&way, &vec![depth; places]);
            push = found.iter().sum();
            place += way.free + DVec3::Z * (push * way.give);
        }
        (-place.z, push)
    }

    #[test]
    fn bone_bears_what_a_hand_pushes_with_and_hardly_gives() {
        for (lag, places) in [(1.0, 1), (1.0, 12), (2.0, 3), (10.0, 1)] {
            let (depth, push) = pressed_down(lag, places);
            // The hand's spring on the lag that is left, or all the hand can.
            let expected = ((lag - depth) * HAND.stiffness).min(HAND.force_max);
            assert!((push - expected).abs() < 1e-3 * expected, "{lag} mm on {places}: {push}, not {expected} mN");
            let give = expected / (STIFFNESS * places as f64);
            assert!((depth - give).abs() < 1e-3 * give + 1e-9, "{lag} mm on {places}: {depth}, not {give} mm");
        }
    }

    #[test]
    fn bone_never_pulls() {
        let depth = Depth { of: Substance::Bone, depth: 0.05, normal: DVec3::Z };
        let away = Way { free: DVec3::Z * 0.2, give: 1e-4 };
        assert!(pushes(&away, &[depth])[0].abs() < 1e-12);
    }
}
