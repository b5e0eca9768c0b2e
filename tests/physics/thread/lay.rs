//! Knots laid down as a loose centreline, throw upon throw, and pulled tight: what a pull test or a timing starts from.
//!
//! A throw of n wraps is two limbs turned about each other by 2n + 1 half turns; the limbs come in below, one from each
//! side, and leave above, each on the other side, from where they turn back into the next throw.

use knotwright::math::{DVec3, cos, sin};
use knotwright::rod::contact::friction::LoadLaw;
use knotwright::rod::step::{Memory, Report, Settings, step};
use knotwright::rod::stretch::ForceStrain;
use knotwright::rod::surroundings::{NoTissue, Surroundings};
use knotwright::rod::{Rod, Section};
use std::f64::consts::PI;

/// Wet chromic gut of size 4-0, the numbers of the material table rounded, without the laws that go with load and time.
pub(crate) const GUT: Section = Section {
    radius: 0.1125,
    axial_stiffness: 32_000.0,
    force_strain: ForceStrain::HOOKE,
    strength: f64::INFINITY,
    bending_stiffness: 100.0,
    twist_stiffness: 71.0,
    yield_curvature: 0.44 * 16.0 / (3.0 * PI),
    set_relaxation: f64::INFINITY,
    friction_thread: 0.35,
    friction_steel: 0.2,
    friction_tissue: 0.25,
    friction_load: LoadLaw::COULOMB,
    weight: 5e-4,
    contact_stiffness: 2e5,
};

/// Edge length that suits a knot in [`GUT`], two diameters [mm].
pub(crate) const MESH: f64 = 0.45;

/// A throw: its wraps, and +1 or -1 for the hand of its turns. Neighbours of opposite hand lie square.
pub(crate) type Throw = (usize, f64);

/// Surgeon's throw and two more, square: `2=1=1`.
pub(crate) const SURGEONS: &[Throw] = &[(2, 1.0), (1, -1.0), (1, 1.0)];

/// A knot with its loop cut open: the rod runs tail, knot, limb, cut, limb, knot, tail.
#[derive(Clone)]
pub(crate) struct Knot {
    /// The thread.
    pub(crate) rod: Rod,
    /// Nodes where the two limbs end, on either side of the cut.
    pub(crate) limbs: [usize; 2],
    /// What is around: nothing but loads.
    pub(crate) around: Surroundings,
    /// The solver's memory.
    pub(crate) memory: Memory,
    /// The solver's settings.
    pub(crate) settings: Settings,
    /// The last step's report.
    pub(crate) report: Report,
    /// Steps and Newton iterations so far.
    pub(crate) work: (usize, usize),
    /// Linear solves so far.
    pub(crate) solves: usize,
    /// Steps that ended below the tolerance.
    pub(crate) converged: usize,
}

/// Half the distance between the two limbs of a throw as laid [mm].
const TURN_RADIUS: f64 = 0.2;
/// Length along the throw of one half turn as laid [mm].
const HALF_TURN: f64 = 0.8;
/// Height between two throws as laid [mm].
const RISE: f64 = 0.8;

/// Centreline of one of the two strands, from its limb's end to its tail's end; `side` is the side its limb is on.
fn strand(throws: &[Throw], side: f64, limb: f64, tail: f64) -> Vec<DVec3> {
    let fine = 0.05;
    let mut points = Vec::new();
    let mut side = side;
    for (level, &(wraps, hand)) in throws.iter().enumerate() {
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
        if let Some(&(next, _)) = throws.get(level + 1) {
            let next_half = 0.5 * (2 * next + 1) as f64 * HALF_TURN;
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

/// How many pieces of about `piece` make `length`.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "lengths of some millimetres")]
pub(crate) fn pieces(length: f64, piece: f64) -> usize {
    (length / piece).round() as usize
}

/// Points along a polyline at (nearly) equal steps of `mesh`, its ends kept.
pub(crate) fn resampled(points: &[DVec3], mesh: f64) -> Vec<DVec3> {
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

/// Centreline of the throws in one uncut thread: tail, throws, an arc of loop below them, throws, tail.
pub(crate) fn looped(throws: &[Throw], limb: f64, tail: f64) -> Vec<DVec3> {
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

impl Knot {
    /// The throws laid loosely in thread of the given section, limbs and tails of the given lengths [mm].
    pub(crate) fn laid(throws: &[Throw], section: Section, mesh: f64, limb: f64, tail: f64) -> Knot {
        let mut positions = resampled(&strand(throws, -1.0, limb, tail), mesh);
        positions.reverse();
        let first = positions.len() - 1;
        positions.extend(resampled(&strand(throws, 1.0, limb, tail), mesh));
        let mut rod = Rod::at_rest(section, positions);
        rod.whole[first] = false;
        Knot::of(rod, [first, first + 1])
    }

    /// A knot in a thread, with the nodes where its limbs end and nothing around it.
    pub(crate) fn of(rod: Rod, limbs: [usize; 2]) -> Knot {
        Knot {
            rod,
            limbs,
            around: Surroundings::default(),
            memory: Memory::default(),
            settings: Settings::default(),
            report: Report::default(),
            work: (0, 0),
            solves: 0,
            converged: 0,
        }
    }

    /// The throws laid, settled and pulled tight at both tails by `pull` [mN], then at rest with slack tails.
    pub(crate) fn tied(throws: &[Throw], section: Section, mesh: f64, pull: f64, tail: f64) -> Knot {
        let mut knot = Knot::laid(throws, section, mesh, 6.0, tail);
        knot.rod.free[knot.limbs[0]] = false;
        // As laid it is bent by the laying, which is to leave no set.
        knot.settings.yields = false;
        knot.pull_ends(0.02 * pull);
        knot.run(60, 2.0);
        knot.settings.yields = true;
        knot.ramp(|knot, share| knot.pull_ends(pull * share * share), 300, 3.0);
        knot.run(100, 3.0);
        knot.ramp(|knot, share| knot.pull_ends(pull * (1.0 - share)), 60, 3.0);
        knot.around.loads.clear();
        knot.run(30, 3.0);
        knot
    }

    /// Pulls both tails and the free limb outward, away from the knot, by `pull` [mN].
    pub(crate) fn pull_ends(&mut self, pull: f64) {
        let last = self.rod.node_count() - 1;
        self.around.loads =
            [0, last, self.limbs[1]].map(|end| (end, DVec3::X * (pull * self.rod.positions[end].x.signum()))).to_vec();
    }

    /// Runs `steps` steps, told before each how far through they are (0 to 1).
    pub(crate) fn ramp(&mut self, set: impl Fn(&mut Knot, f64), steps: usize, dt: f64) {
        for k in 0..steps {
            set(self, (k + 1) as f64 / steps as f64);
            self.run(1, dt);
        }
    }

    /// Runs `steps` steps of `dt` [ms].
    pub(crate) fn run(&mut self, steps: usize, dt: f64) {
        for _ in 0..steps {
            self.report = step(&mut self.rod, &mut self.around, &NoTissue, &mut self.memory, &self.settings, dt);
            self.work.0 += 1;
            self.work.1 += self.report.iterations;
            self.solves += self.report.solves;
            self.converged += usize::from(self.report.residual < self.settings.tolerance);
        }
    }

    /// Pulls the loop open: one limb stays where it is, the other is pulled away from it by `force` [mN].
    pub(crate) fn load_limb(&mut self, force: f64) {
        let [held, pulled] = self.limbs;
        self.rod.free[held] = false;
        self.rod.free[pulled] = true;
        let away = (self.rod.positions[pulled] - self.rod.positions[held]).normalize();
        self.around.loads = vec![(pulled, away * force)];
    }

    /// Distance between the limbs' ends [mm].
    pub(crate) fn separation(&self) -> f64 {
        self.rod.positions[self.limbs[0]].distance(self.rod.positions[self.limbs[1]])
    }
}
