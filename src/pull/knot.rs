//! A knot on the bench: laid, drawn tight by the solver, its loop cut open between the two limbs.

use super::lay::{LAID_RADIUS, resampled, strand};
use super::notation::Throw;
use crate::math::DVec3;
use crate::rod::breaking::Break;
use crate::rod::step::{Memory, Report, Settings, step};
use crate::rod::surroundings::{NoTissue, Surroundings};
use crate::rod::{Rod, Section};

/// Length of each limb as laid, from the first throw to the cut [mm].
const LIMB: f64 = 6.0;
/// How steeply tails are pulled up and limbs down [1], 27 degrees; estimate: enough to keep a throw from unwinding.
const RISE: f64 = 0.5;
/// Share of the pull under which a knot as laid settles; estimate: with much less a stiff thread springs out of the shape
/// it was laid in before it is held.
const SETTLING: f64 = 0.5;
/// How often a step is halved at most: 1/64 of it moves nothing by more than a twentieth of a thread's radius.
const HALVINGS_MAX: u32 = 6;

/// A step that no shorter step cures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// Two strands went through each other.
    #[error("two strands went through each other")]
    PassedThrough,
    /// A number is not finite.
    #[error("the equations have no solution")]
    NoSolution,
}

/// A knot with its loop cut open: the rod runs tail, knot, limb, cut, limb, knot, tail.
#[derive(Debug, Clone)]
pub struct Knot {
    /// The thread.
    pub rod: Rod,
    /// Nodes where the two limbs end, on either side of the cut.
    pub limbs: [usize; 2],
    /// What is around: loads, and hands that hold it.
    pub around: Surroundings,
    /// Speed at which the second limb's end is drawn, if it is held [mm/ms].
    pub drawn: DVec3,
    /// Speed at which each hand of what is around is led [mm/ms]; hands not listed stay.
    pub led: Vec<DVec3>,
    /// The solver's memory.
    pub memory: Memory,
    /// The solver's settings.
    pub settings: Settings,
    /// The last step's report.
    pub report: Report,
    /// The first step that could not be done soundly, if any.
    pub fault: Option<Fault>,
    /// Where the thread broke first, if it did.
    pub thread_break: Option<Break>,
    /// Steps and Newton iterations so far.
    pub work: (usize, usize),
    /// Linear solves so far.
    pub solves: usize,
    /// Steps that ended below the tolerance.
    pub converged: usize,
}

impl Knot {
    /// The throws laid loosely in thread of the given section, in edges of `mesh` [mm], limbs and tails of the given
    /// lengths [mm].
    #[must_use]
    pub fn laid(throws: &[Throw], section: Section, mesh: f64, limb: f64, tail: f64) -> Knot {
        let scale = section.radius / LAID_RADIUS;
        let nodes = |side: f64| {
            let line = resampled(&strand(throws, side, limb / scale, tail / scale), mesh / scale);
            line.into_iter().map(move |place| place * scale)
        };
        let mut positions: Vec<DVec3> = nodes(-1.0).collect();
        positions.reverse();
        let first = positions.len() - 1;
        positions.extend(nodes(1.0));
        let mut rod = Rod::at_rest(section, positions);
        rod.whole[first] = false;
        Knot::of(rod, [first, first + 1])
    }

    /// A knot in a thread, with the nodes where its limbs end and nothing around it.
    #[must_use]
    pub fn of(rod: Rod, limbs: [usize; 2]) -> Knot {
        Knot {
            rod,
            limbs,
            around: Surroundings::default(),
            drawn: DVec3::ZERO,
            led: Vec::new(),
            memory: Memory::default(),
            settings: Settings::default(),
            report: Report::default(),
            fault: None,
            thread_break: None,
            work: (0, 0),
            solves: 0,
            converged: 0,
        }
    }

    /// The throws laid, settled and drawn tight at all ends by `pull` [mN], the pull still on: tails outward and up, limbs
    /// outward and down, for the hands are above the knot and what it ties is below. The tails are laid `tail` [mm] long.
    #[must_use]
    pub fn drawn_tight(throws: &[Throw], section: Section, mesh: f64, pull: f64, tail: f64) -> Knot {
        let mut knot = Knot::laid(throws, section, mesh, LIMB, tail);
        knot.draw_tight(Knot::pull_ends_apart, SETTLING * pull, |share| pull * share.max(SETTLING));
        knot
    }

    /// A knot drawn tight along one line, then at rest with slack limbs and tails: a knot for checks of the thread. The ends
    /// may turn about each other, so a throw with nothing laid on it unwinds.
    #[must_use]
    pub fn tied(throws: &[Throw], section: Section, mesh: f64, pull: f64, tail: f64) -> Knot {
        let mut knot = Knot::laid(throws, section, mesh, LIMB, tail);
        knot.draw_tight(Knot::pull_ends, 0.02 * pull, |share| pull * share * share);
        knot.let_go(Knot::pull_ends, pull);
        knot
    }

    /// Lets the knot settle under a pull of `settling` [mN], then draws it tight by what `growing` [mN] gives by time, 0 to 1.
    fn draw_tight(&mut self, pull_ends: fn(&mut Knot, f64), settling: f64, growing: impl Fn(f64) -> f64) {
        self.rod.free[self.limbs[0]] = false;
        // As laid it is bent by the laying, which is to leave no set.
        self.settings.yields = false;
        pull_ends(self, settling);
        self.run(60, 2.0);
        self.settings.yields = true;
        self.ramp(|knot, share| pull_ends(knot, growing(share)), 300, 3.0);
        self.run(100, 3.0);
    }

    /// Takes away the `pull` [mN] of a knot [drawn tight](Knot::drawn_tight) at all ends that are free.
    pub fn release(&mut self, pull: f64) {
        self.let_go(Knot::pull_ends_apart, pull);
    }

    fn let_go(&mut self, pull_ends: fn(&mut Knot, f64), pull: f64) {
        self.ramp(|knot, share| pull_ends(knot, pull * (1.0 - share)), 60, 3.0);
        self.around.loads.clear();
        self.run(30, 3.0);
    }

    /// Keeps the limbs' ends where they are, as a loop does that lies about something.
    pub fn hold_limbs(&mut self) {
        for node in self.limbs {
            self.rod.free[node] = false;
        }
        self.memory.topology_changed();
    }

    /// Pulls both tails and the free limb outward, away from the knot, by `pull` [mN].
    pub fn pull_ends(&mut self, pull: f64) {
        let last = self.rod.node_count() - 1;
        self.around.loads =
            [0, last, self.limbs[1]].map(|end| (end, DVec3::X * (pull * self.rod.positions[end].x.signum()))).to_vec();
    }

    /// Pulls the ends as hands above the knot and what it ties below: tails outward and up, the free limb outward and down.
    fn pull_ends_apart(&mut self, pull: f64) {
        let last = self.rod.node_count() - 1;
        self.around.loads = [(0, RISE), (last, RISE), (self.limbs[1], -RISE)]
            .map(|(end, rise)| (end, DVec3::new(self.rod.positions[end].x.signum(), 0.0, rise).normalize() * pull))
            .to_vec();
    }

    /// Runs `steps` steps of `dt` [ms], told before each how far through they are (0 to 1).
    pub fn ramp(&mut self, set: impl Fn(&mut Knot, f64), steps: usize, dt: f64) {
        for k in 0..steps {
            set(self, (k + 1) as f64 / steps as f64);
            self.run(1, dt);
        }
    }

    /// Runs `steps` steps of `dt` [ms].
    pub fn run(&mut self, steps: usize, dt: f64) {
        for _ in 0..steps {
            self.step(dt, HALVINGS_MAX);
        }
    }

    /// One step. Where strands would go through each other, or numbers would break, it is taken back and done again in two
    /// halves.
    fn step(&mut self, dt: f64, halvings: u32) {
        let kept = (self.rod.clone(), self.around.clone(), self.memory.without_lists());
        self.rod.positions[self.limbs[1]] += self.drawn * dt;
        for (tool, speed) in self.around.tools.iter_mut().zip(&self.led) {
            if let Some(hand) = &mut tool.hand {
                hand.target += *speed * dt;
            }
        }
        self.report = step(&mut self.rod, &mut self.around, &NoTissue, &mut self.memory, &self.settings, dt);
        if self.report.passed_through || self.report.broken {
            if halvings > 0 {
                (self.rod, self.around, self.memory) = kept;
                self.step(0.5 * dt, halvings - 1);
                self.step(0.5 * dt, halvings - 1);
                return;
            }
            let fault = if self.report.broken { Fault::NoSolution } else { Fault::PassedThrough };
            self.fault = self.fault.or(Some(fault));
        }
        self.thread_break = self.thread_break.or(self.report.thread_break);
        self.work.0 += 1;
        self.work.1 += self.report.iterations;
        self.solves += self.report.solves;
        self.converged += usize::from(self.report.residual < self.settings.tolerance);
    }

    /// Pulls the loop open: one limb stays where it is, the other is pulled away from it by `force` [mN].
    pub fn load_limb(&mut self, force: f64) {
        let [held, pulled] = self.limbs;
        self.rod.free[held] = false;
        self.rod.free[pulled] = true;
        let away = (self.rod.positions[pulled] - self.rod.positions[held]).normalize();
        self.around.loads = vec![(pulled, away * force)];
    }

    /// Distance between the limbs' ends [mm].
    #[must_use]
    pub fn separation(&self) -> f64 {
        self.rod.positions[self.limbs[0]].distance(self.rod.positions[self.limbs[1]])
    }

    /// Cuts a tail before the nearest node to `material` [mm]; what is beyond goes away. `end` is 0 for the tail at the
    /// rod's start, 1 for that at its end. Gives the material coordinate of that node [mm].
    pub fn cut_tail(&mut self, end: usize, material: f64) -> f64 {
        let nearest = |a: &usize, b: &usize| {
            let off = |k: usize| (self.rod.material[k] - material).abs();
            off(*a).total_cmp(&off(*b))
        };
        let last = self.rod.node_count() - 1;
        let node = (1..last).min_by(nearest).unwrap_or(last);
        let (edge, gone) = if end == 0 { (node - 1, 0..node) } else { (node, node + 1..self.rod.node_count()) };
        self.rod.whole[edge] = false;
        for k in gone {
            self.rod.free[k] = false;
            self.rod.carried[k] = true;
        }
        self.memory.topology_changed();
        self.rod.material[node]
    }
}
