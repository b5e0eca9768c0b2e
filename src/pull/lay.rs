//! Knots laid down as a loose centreline, throw upon throw.
//!
//! A throw of n wraps is two limbs turned about each other by 2n + 1 half turns; the limbs come in below, one from each
//! side, and leave above, each on the other side, from where they turn back into the next throw.

use super::notation::Throw;
use crate::math::{DVec3, cos, sin};
use std::f64::consts::PI;

/// Radius of the thread that the lengths here suit [mm]; for another thread all of them go with its radius.
pub const LAID_RADIUS: f64 = 0.1125;
/// Half the distance between the two limbs of a throw as laid [mm].
const TURN_RADIUS: f64 = 0.2;
/// Length along the throw of one half turn as laid [mm].
const HALF_TURN: f64 = 0.8;
/// Height between two throws as laid [mm].
const RISE: f64 = 0.8;

/// Centreline [mm] of one of the two strands, from its limb's end to its tail's end; `side` is the side its limb is on.
pub(super) fn strand(throws: &[Throw], side: f64, limb: f64, tail: f64) -> Vec<DVec3> {
    let fine = 0.05;
    let mut points = Vec::new();
    let mut side = side;
    for (level, &Throw { wraps, hand }) in throws.iter().enumerate() {
        let half_turns = (2 * wraps + 1) as f64;
        let half = 0.5 * half_turns * HALF_TURN;
        let height = level as f64 * (2.0 * TURN_RADIUS + RISE);
        let outside = |reach: f64, z: f64| DVec3::new(side * (half + reach), 0.0, z);
        if level == 0 {
            let count = pieces(limb, fine);
            points.extend((0..count).map(|k| outside(limb - k as f64 * fine, height - TURN_RADIUS)));
        }
        let count = pieces(2.0 * half, fine);
        for k in 0..count {
            let share = k as f64 / count as f64;
            let along_x = if side < 0.0 { share } else { 1.0 - share };
            // Half a turn apart everywhere, the two strands make a double helix about the x axis.
            let start = if side < 0.0 { -0.5 * PI } else { 0.5 * PI };
            let angle = start + hand * half_turns * PI * along_x;
            points.push(DVec3::new(
                half * (2.0 * along_x - 1.0),
                TURN_RADIUS * cos(angle),
                height + TURN_RADIUS * sin(angle),
            ));
        }
        side = -side;
        let end = |reach: f64, z: f64| DVec3::new(side * (half + reach), 0.0, z);
        if let Some(next) = throws.get(level + 1) {
            let next_half = 0.5 * (2 * next.wraps + 1) as f64 * HALF_TURN;
            turn_back(&mut points, side, half, next_half, height + TURN_RADIUS, fine);
        } else {
            let count = pieces(tail, fine);
            points.extend((0..=count).map(|k| end(k as f64 * fine, height + TURN_RADIUS)));
        }
    }
    points
}

/// The bend outside a throw that leads up into the next.
fn turn_back(points: &mut Vec<DVec3>, side: f64, half: f64, next_half: f64, from: f64, fine: f64) {
    let outer = half.max(next_half);
    let straight = |points: &mut Vec<DVec3>, a: f64, b: f64, z: f64| {
        let count = pieces((b - a).abs(), fine);
        points.extend((0..count).map(|k| DVec3::new(side * (a + (b - a) * k as f64 / count as f64), 0.0, z)));
    };
    straight(points, half, outer, from);
    let radius = 0.5 * RISE;
    let count = pieces(PI * radius, fine);
    for k in 0..count {
        let angle = -0.5 * PI + PI * k as f64 / count as f64;
        points.push(DVec3::new(side * (outer + radius * cos(angle)), 0.0, from + radius * (1.0 + sin(angle))));
    }
    straight(points, outer, next_half, from + RISE);
}

/// How many pieces of about `piece` [mm] make `length` [mm].
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "lengths of some millimetres")]
#[must_use]
pub fn pieces(length: f64, piece: f64) -> usize {
    (length / piece).round() as usize
}

/// Points along a polyline [mm] at (nearly) equal steps of `mesh` [mm], its ends kept.
#[must_use]
pub fn resampled(points: &[DVec3], mesh: f64) -> Vec<DVec3> {
    let total: f64 = points.windows(2).map(|p| p[0].distance(p[1])).sum();
    let count = pieces(total, mesh);
    let mut out = vec![points[0]];
    let mut wanted = 1;
    let mut gone = 0.0;
    for pair in points.windows(2) {
        let length = pair[0].distance(pair[1]);
        while wanted < count && gone + length >= wanted as f64 * total / count as f64 {
            let share = (wanted as f64 * total / count as f64 - gone) / length;
            out.push(pair[0].lerp(pair[1], share));
            wanted += 1;
        }
        gone += length;
    }
    out.push(points[points.len() - 1]);
    out
}

/// Centreline [mm] of the throws in one uncut thread of [`LAID_RADIUS`]: tail, throws, an arc of loop below them, throws,
/// tail; limbs and tails of the given lengths [mm].
#[must_use]
pub fn looped(throws: &[Throw], limb: f64, tail: f64) -> Vec<DVec3> {
    let mut points = strand(throws, -1.0, limb, tail);
    points.reverse();
    let (from, last) = (points[points.len() - 1], strand(throws, 1.0, limb, tail));
    let radius = 0.5 * (last[0].x - from.x);
    let count = pieces(PI * radius, 0.05);
    points.extend((1..count).map(|k| {
        let angle = PI * k as f64 / count as f64;
        DVec3::new(-radius * cos(angle), 0.0, from.z - radius * sin(angle))
    }));
    points.extend(last);
    points
}
