//! A bench for throws: a thread through two fixed holes, and two hands that hold nothing but its ends.
//!
//! Whatever comes of the thread comes by the simulation's own steps: hands are led, no faster than a share of the
//! thread's diameter a step, and give way where the thread pulls harder than they do.

use super::knot::Knot;
use super::lay::{LAID_RADIUS, resampled};
use super::running::Running;
use crate::math::{DVec3, cos, sin};
use crate::rod::surroundings::{Grip, Hand, RoundCone, Tool};
use crate::rod::{Rod, Section};
use core::f64::consts::PI;

/// The holes are so far from the middle between them [mm]; for another thread all lengths go with its radius.
const HOLE: f64 = 6.0;
/// How far a hand is led in a step, in diameters: nothing that is held gets past a strand between two steps.
const REACH: f64 = 0.5;
/// Length of a step [ms]: a hand moves by some 50 mm/s, slow for fingers, and drag takes some millinewtons.
const STEP_MS: f64 = 2.0;
/// Steps in which a pull fades.
const FADING_STEPS: u32 = 90;
/// Steps for which is waited at most until a hand arrives.
const ARRIVAL_STEPS: usize = 60;
/// The ends are at rest when they move by less than this share of their reach for so many steps.
const REST: f64 = 0.02;
const REST_STEPS: usize = 20;
const SETTLE_STEPS_MAX: usize = 1500;
/// Stiffness [mN/mm] and damping [mN ms/mm] of a hand; estimate: a light hand follows without lag.
const HAND: (f64, f64) = (2000.0, 200.0);
/// Fingers that let the thread roll, but not slip: stiffness [mN/mm] and limit [mN].
const FINGERS: f64 = 1e5;
/// How steeply ends are held up to be cut [1], 63 degrees; estimate: ends that are let go of along the limbs wind round
/// them as they spring.
const RAISED: f64 = 2.0;

/// The loop goes down from its holes by so much [mm], where it is solid and keeps a turn from slipping off a strand.
const BELOW: f64 = 10.0;

/// What a straight post comes out of: solid and round, so far below the hole [radii of the thread] and so thick [mm]. A hitch of
/// slippery thread is drawn off the post's foot without.
const TISSUE: (f64, f64) = (2.0, 1.5);
/// A knot pusher, a disc with a hole that the post runs through, is so many spokes ...
const SPOKES: u32 = 12;
/// ... from so near to the post's middle to so far, and so thick [radii of the thread]: one strand fits through the hole, two do not,
/// and none gets between the spokes.
const SPOKE: (f64, f64, f64) = (3.6, 11.5, 2.0);

/// The thread, its holes and the hands at its ends. Strand 0 is the rod's start, from the left hole (-x), strand 1 its end.
#[derive(Debug, Clone)]
pub(super) struct Bench {
    /// The thread.
    pub(super) knot: Knot,
    /// Lengths over those for a thread of [`LAID_RADIUS`].
    pub(super) scale: f64,
    /// Which tool is the knot pusher, while there is one.
    pusher: Option<usize>,
    /// Whether a hitch was left that was not run down.
    pub(super) stands_open: bool,
}

impl Bench {
    /// Both strands upright above their holes, `strand` [mm for a thread of the laid radius] long, in edges of `mesh` [mm].
    pub(super) fn new(section: Section, mesh: f64, strand: f64) -> Bench {
        let scale = section.radius / LAID_RADIUS;
        let upright = |side: f64| {
            let hole = DVec3::new(side * HOLE * scale, 0.0, 0.0);
            resampled(&[hole, hole + DVec3::Z * (strand * scale)], mesh)
        };
        let mut positions = upright(-1.0);
        positions.reverse();
        let first = positions.len() - 1;
        positions.extend(upright(1.0));
        let mut rod = Rod::at_rest(section, positions);
        rod.whole[first] = false;
        let last = rod.node_count() - 1;
        let mut knot = Knot::of(rod, [first, first + 1]);
        knot.hold_limbs();
        for (tool, node) in [0, last].into_iter().enumerate() {
            let place = knot.rod.positions[node];
            let hand = Hand { target: place, stiffness: HAND.0, force_max: 0.0, damping: HAND.1 };
            knot.around.tools.push(Tool::new(place, Vec::new(), Some(hand)));
            let held = Grip { node, tool, place: DVec3::ZERO, stiffness: FINGERS, limit: FINGERS, spin: 0.0 };
            knot.around.grips.push(held);
        }
        for limb in knot.limbs {
            let (hole, thread) = (knot.rod.positions[limb], section.radius);
            let loop_below = RoundCone::capsule(-DVec3::Z * (2.0 * thread), -DVec3::Z * (BELOW * scale), thread);
            knot.around.tools.push(Tool::new(hole, vec![loop_below], None));
        }
        Bench { knot, scale, pusher: None, stands_open: false }
    }

    /// Solid below the hole of `post` instead of all along the loop: the turns about a straight post are above both holes.
    pub(super) fn stand(&mut self, post: usize) {
        self.knot.around.tools.truncate(2);
        let (below, thick) = (TISSUE.0 * self.knot.rod.section.radius, TISSUE.1 * self.scale);
        let (middle, half) = (-DVec3::Z * (below + thick), DVec3::Y * thick);
        let tissue = RoundCone::capsule(middle - half, middle + half, thick);
        let hole = self.knot.rod.positions[self.knot.limbs[post]];
        self.knot.around.tools.push(Tool::new(hole, vec![tissue], None));
    }

    /// Where a strand's end is [mm].
    pub(super) fn end(&self, strand: usize) -> DVec3 {
        self.knot.around.tools[strand].position
    }

    /// Largest force of the hand at a strand's end [mN].
    pub(super) fn hold(&mut self, strand: usize, force: f64) {
        let speed_max = 2.0 * self.reach() / STEP_MS;
        if let Some(hand) = &mut self.knot.around.tools[strand].hand {
            (hand.force_max, hand.damping) = (force, force / speed_max);
        }
    }

    /// Leads both hands along straight ways, the two targets arriving together, and waits a little for hand `awaited`.
    pub(super) fn carry(&mut self, to: [DVec3; 2], awaited: usize) {
        let targets = |bench: &Bench| [0, 1].map(|k| bench.knot.around.tools[k].hand.map_or(to[k], |hand| hand.target));
        let from = targets(self);
        let longest = from[0].distance(to[0]).max(from[1].distance(to[1]));
        let reach = self.reach();
        let steps = (longest / reach).ceil().max(1.0);
        self.knot.led = [0, 1].map(|k| (to[k] - from[k]) / (steps * STEP_MS)).to_vec();
        self.lead(steps);
        let mut waited = 0;
        while waited < ARRIVAL_STEPS && self.is_sound() && self.end(awaited).distance(to[awaited]) > reach {
            self.step();
            waited += 1;
        }
    }

    /// Leads the hands for so many steps, unless something goes wrong.
    fn lead(&mut self, steps: f64) {
        let mut step = 0.0;
        while step < steps && self.is_sound() {
            self.step();
            step += 1.0;
        }
        self.knot.led.clear();
    }

    /// Other fingers take a strand firmly at `node`, where it is.
    pub(super) fn pinch(&mut self, node: usize) {
        let (place, spin) = (self.knot.rod.positions[node], self.knot.rod.spin[node]);
        let hand = Hand { target: place, stiffness: HAND.0, force_max: FINGERS, damping: HAND.1 };
        let tool = self.knot.around.tools.len();
        self.knot.around.tools.push(Tool::new(place, Vec::new(), Some(hand)));
        let held = Grip { node, tool, place: DVec3::ZERO, stiffness: FINGERS, limit: FINGERS, spin };
        self.knot.around.grips.push(held);
        self.knot.memory.topology_changed();
    }

    /// Where the first pinched strand is [mm], if one is.
    pub(super) fn pinched(&self) -> Option<DVec3> {
        self.knot.around.grips.get(2).map(|grip| self.knot.rod.positions[grip.node])
    }

    /// Holds both ends up above where the strands ran out of the knot.
    pub(super) fn hold_up(&mut self, tight: [Running; 2]) {
        let exits = [0, 1].map(|k| self.knot.rod.positions[self.node_at(k, tight[k].exit)]);
        let middle = 0.5 * (exits[0] + exits[1]);
        let reach = 1.3 * self.length(0).max(self.length(1));
        let raised = |strand: usize| {
            let side = (self.end(strand).x - middle.x).signum();
            middle + DVec3::new(side, 0.0, RAISED).normalize() * reach
        };
        let to = [raised(0), raised(1)];
        self.carry(to, 0);
        self.settle();
    }

    /// Takes a strand nearer to the knot, at `node`, and cuts off what is beyond, if there is any. The hand stays there.
    pub(super) fn shorten(&mut self, strand: usize, node: usize) {
        self.retake(strand, node, |_| DVec3::ZERO);
    }

    /// The same, and the hand goes on pulling as it did.
    pub(super) fn cut_in_hand(&mut self, strand: usize, node: usize) {
        self.retake(strand, node, |tool| tool.hand.map_or(DVec3::ZERO, |hand| hand.target - tool.position));
    }

    /// Takes a strand at `node`, wanting so far from there [mm].
    fn retake(&mut self, strand: usize, node: usize, wanting: fn(&Tool) -> DVec3) {
        let grip = &mut self.knot.around.grips[strand];
        if node == grip.node {
            return;
        }
        grip.node = node;
        grip.spin = self.knot.rod.spin[node];
        self.knot.cut_tail(strand, self.knot.rod.material[node]);
        let tool = &mut self.knot.around.tools[strand];
        let lead = wanting(tool);
        tool.position = self.knot.rod.positions[node];
        if let Some(hand) = &mut tool.hand {
            hand.target = tool.position + lead;
        }
    }

    /// The node of a strand that is `depth` [mm] from its hole along the thread, or its end.
    pub(super) fn node_at(&self, strand: usize, depth: f64) -> usize {
        let (hole, end) = (self.knot.limbs[strand], self.knot.around.grips[strand].node);
        let off = |node: usize| ((self.knot.rod.material[node] - self.knot.rod.material[hole]).abs() - depth).abs();
        (hole.min(end)..=hole.max(end)).min_by(|&a, &b| off(a).total_cmp(&off(b))).unwrap_or(end)
    }

    /// Length of a strand from its hole to its end [mm].
    pub(super) fn length(&self, strand: usize) -> f64 {
        let material = &self.knot.rod.material;
        (material[self.knot.around.grips[strand].node] - material[self.knot.limbs[strand]]).abs()
    }

    /// Lets the hands' force fade, then lets go of the ends.
    pub(super) fn release(&mut self) {
        let forces = [0, 1].map(|k| self.knot.around.tools[k].hand.map_or(0.0, |hand| hand.force_max));
        for k in (0..FADING_STEPS).rev() {
            let share = f64::from(k) / f64::from(FADING_STEPS);
            for (strand, force) in forces.iter().enumerate() {
                self.hold(strand, force * share);
            }
            self.wait(1);
        }
        self.knot.around.tools.clear();
        self.knot.around.grips.clear();
        self.knot.memory.topology_changed();
    }

    /// Lets go of all pinched strands.
    pub(super) fn let_go(&mut self) {
        let fingers: Vec<usize> = self.knot.around.grips.drain(2..).map(|grip| grip.tool).collect();
        if let Some(&first) = fingers.first() {
            self.knot.around.tools.truncate(first);
        }
        self.knot.memory.topology_changed();
    }

    /// Threads a knot pusher on a strand at `from`, and leads it down to `to` with `force` [mN] at most. It stays until it is
    /// [taken](Bench::take_pusher).
    pub(super) fn push(&mut self, from: DVec3, to: DVec3, force: f64) {
        let radius = self.knot.rod.section.radius;
        let across = (to - from).cross(DVec3::Y).normalize();
        let spoke = |k: u32| {
            let angle = 2.0 * PI * f64::from(k) / f64::from(SPOKES);
            let out = (across * cos(angle) + DVec3::Y * sin(angle)) * radius;
            RoundCone::capsule(out * SPOKE.0, out * SPOKE.1, SPOKE.2 * radius)
        };
        let hand = Hand { target: from, stiffness: HAND.0, force_max: force, damping: HAND.1 };
        let tool = self.knot.around.tools.len();
        self.knot.around.tools.push(Tool::new(from, (0..SPOKES).map(spoke).collect(), Some(hand)));
        self.pusher = Some(tool);
        self.knot.memory.topology_changed();
        let steps = (from.distance(to) / self.reach()).ceil().max(1.0);
        self.knot.led = vec![DVec3::ZERO; tool];
        self.knot.led.push((to - from) / (steps * STEP_MS));
        self.lead(steps);
        self.wait(ARRIVAL_STEPS);
    }

    /// From now on the pusher pushes with `force` [mN] at most, if there is one.
    pub(super) fn press(&mut self, force: f64) {
        if let Some(hand) = self.pusher.and_then(|tool| self.knot.around.tools[tool].hand.as_mut()) {
            hand.force_max = force;
        }
    }

    /// Where the pusher is [mm], if there is one.
    pub(super) fn pusher(&self) -> Option<DVec3> {
        self.pusher.map(|tool| self.knot.around.tools[tool].position)
    }

    /// Takes the pusher away, and whatever was put on the bench after it.
    pub(super) fn take_pusher(&mut self) {
        if let Some(tool) = self.pusher.take() {
            self.knot.around.tools.truncate(tool);
            self.knot.memory.topology_changed();
        }
    }

    /// How far along `strand` the other one is last beside it, no farther away than `within` [mm]; depths as of
    /// [`node_at`](Bench::node_at) [mm].
    pub(super) fn last_beside(&self, strand: usize, within: f64) -> Option<f64> {
        let nodes = |strand: usize| {
            let (hole, end) = (self.knot.limbs[strand], self.knot.around.grips[strand].node);
            hole.min(end)..=hole.max(end)
        };
        let rod = &self.knot.rod;
        let depth = |node: usize| (rod.material[node] - rod.material[self.knot.limbs[strand]]).abs();
        let beside =
            |node: &usize| nodes(1 - strand).any(|other| rod.positions[other].distance(rod.positions[*node]) < within);
        nodes(strand).filter(beside).map(depth).reduce(f64::max)
    }

    /// Keeps the hands where they are for `steps` steps.
    pub(super) fn wait(&mut self, steps: usize) {
        for _ in 0..steps {
            if self.is_sound() {
                self.step();
            }
        }
    }

    /// Keeps the hands' targets where they are until the ends are at rest.
    pub(super) fn settle(&mut self) {
        let (mut at_rest, mut steps) = (0, 0);
        while at_rest < REST_STEPS && steps < SETTLE_STEPS_MAX && self.is_sound() {
            let before = [0, 1].map(|k| self.end(k));
            self.step();
            let moved = [0, 1].map(|k| self.end(k).distance(before[k]));
            at_rest = if moved[0].max(moved[1]) < REST * self.reach() { at_rest + 1 } else { 0 };
            steps += 1;
        }
    }

    fn reach(&self) -> f64 {
        REACH * 2.0 * self.knot.rod.section.radius
    }

    /// Whether the thread is whole and no step was unsound.
    pub(super) fn is_sound(&self) -> bool {
        self.knot.fault.is_none() && self.knot.thread_break.is_none()
    }

    fn step(&mut self) {
        self.knot.run(1, STEP_MS);
        for grip in &mut self.knot.around.grips {
            grip.spin = self.knot.rod.spin[grip.node];
        }
    }
}
