//! How the two strands run through the knot: where each first and last presses on the other, along the thread.

use super::knot::Knot;
use crate::rod::contact::Partner;

/// Thread that a half turn of a throw takes at most when it is drawn tight, in radii: pi round the other strand's axis,
/// twice as far from the middle as a strand's own surface, and as much again for the pitch; estimate.
const HALF_TURN_RADII: f64 = 6.0;

/// One strand in the knot, in thread at rest from its limb's end [mm].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Running {
    /// Where it first presses on the other strand, from its limb.
    pub entry: f64,
    /// Where it last presses on it.
    pub exit: f64,
}

impl Running {
    /// Both strands, that of the rod's start first, in a knot of which one strand can be `wraps` wraps further along than the
    /// other, see [`Form::wraps_apart`](crate::analysis::reading::Form::wraps_apart); `None` if they do not press on each other.
    ///
    /// Tails that lie along the other strand's limb, beside the knot, are no part of it: within a throw both strands are about as far
    /// along, these are not.
    #[must_use]
    pub fn of(knot: &Knot, wraps: usize) -> Option<[Running; 2]> {
        let touches = depths(knot);
        let pressed: f64 = touches.iter().map(|(_, force)| force).sum();
        if pressed <= 0.0 {
            return None;
        }
        // One strand may have run further than the other.
        let ahead = touches.iter().map(|([a, b], force)| (a - b) * force).sum::<f64>() / pressed;
        let throw = HALF_TURN_RADII * (2 * wraps + 1) as f64 * knot.rod.section.radius;
        let within = touches.iter().filter(|([a, b], _)| (a - b - ahead).abs() <= throw);
        let start = [Running { entry: f64::INFINITY, exit: f64::NEG_INFINITY }; 2];
        let both = within.fold(start, |both, (depths, _)| {
            [0, 1].map(|k| Running { entry: both[k].entry.min(depths[k]), exit: both[k].exit.max(depths[k]) })
        });
        both[0].entry.is_finite().then_some(both)
    }
}

/// How far along each strand the two press on each other [mm], and how much [mN].
fn depths(knot: &Knot) -> Vec<([f64; 2], f64)> {
    let cut = knot.limbs[0];
    let ends = knot.limbs.map(|node| knot.rod.material[node]);
    let mut found = Vec::new();
    for touch in knot.memory.touches.iter().filter(|touch| touch.force > 0.0) {
        let Partner::Edge(other) = touch.partner else { continue };
        if (touch.edge <= cut) == (other <= cut) {
            continue;
        }
        let depth = |edge: usize| {
            let [from, to] = [edge, edge + 1].map(|node| knot.rod.positions[node]);
            let along = (touch.place - from).dot(to - from) / (to - from).length_squared();
            let material = knot.rod.material[edge] + along.clamp(0.0, 1.0) * knot.rod.rest_lengths[edge];
            (material - ends[usize::from(edge > cut)]).abs()
        };
        found.push(([depth(touch.edge.min(other)), depth(touch.edge.max(other))], touch.force));
    }
    found
}
