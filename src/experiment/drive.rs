//! What moves by the clock of an experiment: holds, obstacles, loads.

use super::build::{Bench, Span};
use super::curve::vector;
use super::schema::{ForceKey, Hold, HoldKind, Key, Load, MomentKey, Obstacle, Place, Vector};
use crate::math::{DVec3, across, atan2, rotation, rotation_between};
use crate::quantity::MN_PER_N;
use crate::rod::Rod;
use crate::rod::surroundings::RoundCone;
use std::f64::consts::PI;

/// Everything that is driven.
#[derive(Debug, Clone, Default)]
pub(super) struct Drive {
    pub(super) holders: Vec<Holder>,
    pub(super) movers: Vec<Mover>,
    pub(super) loads: Vec<Load>,
}

/// A hold and where it is.
#[derive(Debug, Clone)]
pub(super) struct Holder {
    pub(super) hold: Hold,
    pub(super) nodes: Vec<usize>,
    /// The node it turns about, and the places of its nodes at first [mm].
    pivot: DVec3,
    home: Vec<DVec3>,
    /// Where it is against its home: keys and pull.
    now: Key,
    pulled: f64,
    /// Whether its pull has met its force.
    pub(super) stopped: bool,
    pub(super) released: bool,
}

impl Holder {
    pub(super) fn new(hold: Hold, nodes: Vec<usize>, rod: &Rod) -> Holder {
        let home: Vec<DVec3> = nodes.iter().map(|&i| rod.positions[i]).collect();
        // The outer node of an end is the one it turns about.
        let pivot = if hold.place == Place::End { home[home.len() - 1] } else { home[0] };
        Holder { hold, nodes, pivot, home, now: Key::default(), pulled: 0.0, stopped: false, released: false }
    }

    /// How far it has gone [mm].
    pub(super) fn shift(&self) -> DVec3 {
        let way = self.hold.pull.map_or(DVec3::ZERO, |pull| vector(pull.toward).normalize() * self.pulled);
        vector(self.now.shift_mm) + way
    }

    /// How far it has spun the thread [turns].
    pub(super) fn spin_turns(&self) -> f64 {
        self.now.spin_turns
    }

    /// Takes its nodes and their spin to where they are at `time` [ms], `dt` after the step before.
    fn advance(&mut self, rod: &mut Rod, time: f64, dt: f64) {
        if self.released {
            return;
        }
        let before = std::mem::replace(&mut self.now, key_at(&self.hold.motion, time));
        if let Some(pull) = self.hold.pull
            && time > pull.from_ms
            && !self.stopped
        {
            self.pulled += pull.speed_mm_per_s * 1e-3 * dt.min(time - pull.from_ms);
        }
        let axis = self.hold.turn_axis.map_or(DVec3::Z, |axis| vector(axis).normalize());
        let turn = |key: &Key| rotation(axis, key.turn_deg * PI / 180.0);
        let shift = self.shift();
        for (&node, home) in self.nodes.iter().zip(&self.home) {
            rod.positions[node] = self.pivot + turn(&self.now) * (*home - self.pivot) + shift;
        }
        if self.hold.kind == HoldKind::Clamp {
            let tangent = turn(&before) * (self.home[1] - self.home[0]).normalize();
            let angle = (self.now.turn_deg - before.turn_deg) * PI / 180.0;
            let spun = (self.now.spin_turns - before.spin_turns) * 2.0 * PI;
            rod.spin[self.nodes[0]] += spun + spin_of_turn(tangent, axis, angle);
        }
    }
}

/// How far a turn about `axis` spins an edge along `tangent` against the least turn that carries the edge along.
fn spin_of_turn(tangent: DVec3, axis: DVec3, angle: f64) -> f64 {
    let turn = rotation(axis, angle);
    let (to, side) = (turn * tangent, across(tangent));
    let (is, would) = (turn * side, rotation_between(tangent, to) * side);
    atan2(would.cross(is).dot(to), would.dot(is))
}

/// An obstacle and where it is.
#[derive(Debug, Clone)]
pub(super) struct Mover {
    pub(super) obstacle: Obstacle,
    pub(super) moves: Moves,
    now: Key,
    /// Turn about its axis [rad].
    pub(super) turned: f64,
}

/// What of the surroundings an obstacle is.
#[derive(Debug, Clone)]
pub(super) enum Moves {
    /// A tool, with its shapes about its centre.
    Tool { tool: usize, shapes: Vec<RoundCone> },
    /// A plane.
    Plane(usize),
}

impl Mover {
    pub(super) fn new(obstacle: Obstacle, moves: Moves) -> Mover {
        Mover { obstacle, moves, now: Key::default(), turned: 0.0 }
    }

    fn axis(&self) -> DVec3 {
        self.obstacle.turn_axis.map_or(DVec3::Z, |axis| vector(axis).normalize())
    }
}

impl Bench {
    /// Takes all that is driven to where it is at `time` [ms]; `dt` is the step that ends there.
    pub(super) fn drive(&mut self, time: f64, dt: f64) {
        let (before, spin_before) = (self.rod.positions.clone(), self.rod.spin.clone());
        let mut let_go = false;
        for holder in &mut self.drive.holders {
            if !holder.released && holder.hold.release_ms.is_some_and(|release| time > release) {
                holder.released = true;
                holder.nodes.iter().for_each(|&node| self.rod.free[node] = true);
                let_go = true;
            }
            holder.advance(&mut self.rod, time, dt);
        }
        if let_go {
            self.memory.topology_changed();
        }
        self.rod.transport(&before, &spin_before);
        for k in 0..self.drive.movers.len() {
            self.move_obstacle(k, time);
        }
        self.around.loads = self.loads(time);
    }

    fn move_obstacle(&mut self, k: usize, time: f64) {
        let mover = &mut self.drive.movers[k];
        let before = std::mem::replace(&mut mover.now, key_at(&mover.obstacle.motion, time));
        mover.turned += (mover.now.turn_deg - before.turn_deg) * PI / 180.0;
        match &mover.moves {
            Moves::Plane(plane) => {
                let shift = vector(mover.now.shift_mm) - vector(before.shift_mm);
                self.around.planes[*plane].point += shift;
                self.around.planes[*plane].shift = shift;
            }
            Moves::Tool { tool, shapes } => {
                let turn = rotation(mover.axis(), mover.turned);
                // The tool's own place is not solved for when nobody holds it: its shapes move in its frame.
                let shift = turn.conjugate() * vector(mover.now.shift_mm);
                let shapes = shapes.iter().map(|s| RoundCone { start: s.start + shift, end: s.end + shift, ..*s });
                self.around.tools[*tool].rotation = turn;
                self.around.tools[*tool].shapes = shapes.collect();
            }
        }
    }

    fn loads(&self, time: f64) -> Vec<(usize, DVec3)> {
        let mut loads = Vec::new();
        let span = |name: &str| self.spans.iter().find(|span| span.name == name);
        for load in &self.drive.loads {
            match load {
                Load::Force { thread, place, keys } => {
                    let keys = keys.iter().map(|ForceKey { at_ms, force_n }| (*at_ms, *force_n));
                    let node = span(thread).map(|span| span.node(&self.rod, *place));
                    loads.extend(node.map(|node| (node, amount_at(keys, time) * MN_PER_N)));
                }
                Load::Moment { thread, place, keys } => {
                    let keys = keys.iter().map(|MomentKey { at_ms, moment_n_mm }| (*at_ms, *moment_n_mm));
                    let couple =
                        |span: &Span| couple(&self.rod, span.edge(&self.rod, *place), amount_at(keys, time) * MN_PER_N);
                    loads.extend(span(thread).map(couple).into_iter().flatten());
                }
                // Gum takes these.
                Load::Hole { .. } | Load::Loop { .. } | Load::Press { .. } => {}
            }
        }
        loads
    }

    /// After a step: pulls that met their force stop.
    pub(super) fn follow(&mut self) {
        let pulls = self.drive.holders.iter().any(|h| !h.stopped && h.hold.pull.is_some_and(|p| p.until_n.is_some()));
        if pulls {
            let forces = self.forces();
            for holder in &mut self.drive.holders {
                if let Some(pull) = holder.hold.pull
                    && let Some(until) = pull.until_n
                {
                    let force: DVec3 = holder.nodes.iter().map(|&node| forces.nodes[node]).sum();
                    holder.stopped |= -force.dot(vector(pull.toward).normalize()) >= until * MN_PER_N;
                }
            }
        }
    }
}

/// Two forces on the ends of an edge whose couple is what of a moment [mN mm] lies across it.
fn couple(rod: &Rod, edge: usize, moment: DVec3) -> [(usize, DVec3); 2] {
    let along = rod.positions[edge + 1] - rod.positions[edge];
    let force = moment.cross(along) / along.length_squared();
    [(edge + 1, force), (edge, -force)]
}

/// The motion at a time: nothing at time 0 unless a key says otherwise, straight changes, and the last key from then on.
fn key_at(keys: &[Key], time: f64) -> Key {
    let time = time.max(0.0);
    let after = keys.iter().position(|key| key.at_ms >= time);
    let last = keys.last().copied().unwrap_or_default();
    let Some(after) = after else { return last };
    let (from, to) = (if after > 0 { keys[after - 1] } else { Key::default() }, keys[after]);
    let span = to.at_ms - from.at_ms;
    let share = if span > 0.0 { (time - from.at_ms) / span } else { 1.0 };
    let between = |a: f64, b: f64| a + (b - a) * share;
    Key {
        at_ms: time,
        shift_mm: vector(from.shift_mm).lerp(vector(to.shift_mm), share).to_array(),
        turn_deg: between(from.turn_deg, to.turn_deg),
        spin_turns: between(from.spin_turns, to.spin_turns),
    }
}

/// A load at a time: nothing before its first key, straight changes, and the last key from then on.
pub(super) fn amount_at(keys: impl Iterator<Item = (f64, Vector)>, time: f64) -> DVec3 {
    let time = time.max(0.0);
    let mut before: Option<(f64, DVec3)> = None;
    for (at, amount) in keys {
        let amount = vector(amount);
        if at > time {
            return before.map_or(DVec3::ZERO, |(from, start)| start.lerp(amount, (time - from) / (at - from)));
        }
        before = Some((at, amount));
    }
    before.map_or(DVec3::ZERO, |(_, amount)| amount)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_motion_begins_at_nothing_and_keeps_its_last_key() {
        let keys = [
            Key { at_ms: 10.0, turn_deg: 90.0, ..Key::default() },
            Key { at_ms: 20.0, shift_mm: [2.0, 0.0, 0.0], ..Key::default() },
        ];
        for (time, turn, shift) in
            [(-5.0, 0.0, 0.0), (5.0, 45.0, 0.0), (10.0, 90.0, 0.0), (15.0, 45.0, 1.0), (99.0, 0.0, 2.0)]
        {
            let key = key_at(&keys, time);
            assert!((key.turn_deg - turn).abs() < 1e-12 && (key.shift_mm[0] - shift).abs() < 1e-12, "{time}: {key:?}");
        }
    }

    #[test]
    fn a_load_is_nothing_before_its_first_key() {
        let keys = [(10.0, [1.0, 0.0, 0.0]), (20.0, [3.0, 0.0, 0.0])];
        for (time, force) in [(0.0, 0.0), (9.9, 0.0), (10.0, 1.0), (15.0, 2.0), (30.0, 3.0)] {
            assert!((amount_at(keys.into_iter(), time).x - force).abs() < 1e-12, "{time}");
        }
    }

    #[test]
    fn a_turn_about_the_edge_itself_is_all_spin_and_one_across_is_none() {
        assert!((spin_of_turn(DVec3::X, DVec3::X, 0.3) - 0.3).abs() < 1e-12);
        assert!(spin_of_turn(DVec3::X, DVec3::Y, 0.3).abs() < 1e-12);
    }
}
