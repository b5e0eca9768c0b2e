//! The search for the least energy: gradient, motion, line search.

use super::model::Tangent;
use super::{Active, CORRECTIONS_MAX, MOTION_MAX, Memory, Report, SlipLimit, Solve};
use crate::math::DVec3;
use crate::rod::bend::Turns;
use crate::rod::contact::candidates::Candidates;
use crate::rod::contact::{Closest, Partner};
use crate::rod::sparse::Quad;
use crate::rod::surroundings::PlacedCone;

/// Where everything would be.
pub(super) struct Trial {
    pub(super) places: Vec<DVec3>,
    pub(super) spin: Vec<f64>,
    /// How the edges would have turned.
    pub(super) turned: Turns,
}

impl Solve<'_> {
    pub(super) fn run(&mut self, memory: &mut Memory) -> Report {
        let mut report = Report::default();
        memory.solves = 0;
        memory.pattern_fits_step = false;
        memory.candidates.moved(|_| 0.0, |t| self.tool_motion(t));
        self.turned = self.turns_at(&self.places, &self.spin);
        self.predict(memory);
        self.balance(memory, &mut report);
        if let SlipLimit::StepEnd { within } = self.settings.slip_limit {
            self.follow_limits(memory, within, &mut report);
        }
        report.solves = memory.solves;
        memory.iterations = report.iterations;
        report.passed_through = self.passed_through;
        report
    }

    /// Goes on from where everything is to the least energy.
    pub(super) fn balance(&mut self, memory: &mut Memory, report: &mut Report) {
        let before = report.iterations;
        for iteration in 0..self.settings.iterations_max {
            self.cones = self.placed(&self.places);
            memory.candidates.refresh(self.rod, &self.places, &self.cones, MOTION_MAX);
            let active = self.touching(&mut memory.candidates, &self.places, &self.cones);
            // The first motion is made in any case, and as many as the last step took are likely: there the gradient comes with its
            // tangent.
            let mut base = (iteration == 0 || iteration < memory.iterations).then_some(Tangent::True);
            let energy = match base {
                Some(tangent) => self.gradient_with_tangent(memory, &active, tangent),
                None => self.gradient(memory, &active),
            };
            report.residual = self.residual(&memory.gradient);
            report.iterations = before + iteration;
            if report.residual < self.settings.tolerance && iteration > 0 {
                break;
            }
            let Some(motion) = self.motion(memory, &active, &mut base) else {
                report.broken = true;
                break;
            };
            let slope: f64 = motion.iter().zip(&memory.gradient).map(|(m, g)| dot(m, g)).sum();
            if !slope.is_finite() {
                report.broken = true;
                break;
            }
            self.advance(memory, &motion, energy, slope);
            report.iterations = before + iteration + 1;
        }
    }

    /// Puts the gradient at the places into the memory; returns the energy there.
    fn gradient(&self, memory: &mut Memory, active: &[Active]) -> f64 {
        let mut probe = std::mem::take(&mut memory.probe);
        probe.gradient_only = true;
        let energy = self.assemble(&self.places, &self.spin, &self.turned, active, &mut probe);
        memory.gradient.clone_from(&probe.gradient);
        memory.probe = probe;
        energy
    }

    /// The same, and leaves the tangent of everything but friction in the equations.
    fn gradient_with_tangent(&self, memory: &mut Memory, active: &[Active], tangent: Tangent) -> f64 {
        self.ensure_pattern(memory, active);
        let smooth = self.assemble_base(active, tangent, &mut memory.equations);
        let mut probe = std::mem::take(&mut memory.probe);
        probe.gradient_only = true;
        probe.gradient.clone_from(&memory.equations.gradient);
        let energy = smooth + self.assemble_frictions(&self.places, &self.spin, None, &mut probe);
        self.hold(&mut probe.gradient);
        memory.gradient.clone_from(&probe.gradient);
        memory.probe = probe;
        energy
    }

    pub(super) fn since_start(&self, block: usize) -> (DVec3, f64) {
        (self.places[block] - self.start[block], self.spin[block] - self.start_spin[block])
    }

    /// How far the shapes of tool `t` have moved by the hand's turning and opening alone [mm].
    pub(super) fn tool_motion(&self, t: usize) -> f64 {
        let tool = &self.around.tools[t];
        let mut most: f64 = 0.0;
        for (now, before) in tool.shapes.iter().zip(&tool.shapes_before) {
            for (a, b) in [(now.start, before.start), (now.end, before.end)] {
                most = most.max((tool.rotation * a - tool.rotation_before * b).length());
            }
            let swollen = (now.start_radius - before.start_radius).abs();
            most = most.max(swollen).max((now.end_radius - before.end_radius).abs());
        }
        most
    }

    /// Starts from where the last motion would lead, if that is downhill.
    fn predict(&mut self, memory: &mut Memory) {
        if memory.velocity.len() != self.blocks {
            return;
        }
        let motion: Vec<Quad> = memory
            .velocity
            .iter()
            .zip(&memory.spin_velocity)
            .map(|(v, w)| [v.x * self.dt, v.y * self.dt, v.z * self.dt, w * self.dt])
            .collect();
        self.cones = self.placed(&self.places);
        memory.candidates.refresh(self.rod, &self.places, &self.cones, MOTION_MAX);
        let (share, near) = self.step_share(&mut memory.candidates, &motion);
        let energy = self.energy(memory.candidates.pairs(), &near, &self.places, &self.spin, &self.turned);
        let trial = self.moved(&motion, share);
        if self.energy_of(&trial, memory, &near) < energy {
            self.accept(memory, trial);
        }
    }

    fn energy_of(&self, trial: &Trial, memory: &Memory, near: &[usize]) -> f64 {
        self.energy(memory.candidates.pairs(), near, &trial.places, &trial.spin, &trial.turned)
    }

    fn accept(&mut self, memory: &mut Memory, Trial { places, spin, turned }: Trial) {
        self.passed_through |= memory.candidates.any_crossed(self.rod, &self.places, &places);
        let moved = |b: usize| places[b].distance(self.places[b]);
        memory.candidates.moved(moved, |t| moved(self.nodes + t));
        self.places = places;
        self.spin = spin;
        self.turned = turned;
    }

    /// Where a share of a motion would lead.
    pub(super) fn moved(&self, motion: &[Quad], share: f64) -> Trial {
        let places: Vec<DVec3> = self.places.iter().zip(motion).map(|(p, m)| *p + shift(m) * share).collect();
        let spin: Vec<f64> = self.spin.iter().zip(motion).map(|(s, m)| s + m[3] * share).collect();
        let turned = self.turns_at(&places, &spin);
        Trial { places, spin, turned }
    }

    /// The share of a motion that cannot carry anything through anything, and the listed pairs that may come to touch
    /// on the way: a pair either stays apart, or moves less against each other than would bring its centrelines together.
    pub(super) fn step_share(&self, candidates: &mut Candidates, motion: &[Quad]) -> (f64, Vec<usize>) {
        let speed: Vec<f64> = motion.iter().map(|m| shift(m).length()).collect();
        let most = speed.iter().copied().fold(0.0, f64::max);
        let mut share = if most > MOTION_MAX { MOTION_MAX / most } else { 1.0 };
        // Of each side of a pair, as the list counts them: edges, then tools.
        let mut side_speed: Vec<f64> = speed[..self.nodes].windows(2).map(|s| s[0].max(s[1])).collect();
        side_speed.extend_from_slice(&speed[self.nodes..]);
        let mut near = Vec::new();
        let near_enough =
            candidates.near(2.0 * most * share, |[one, other]| (side_speed[one] + side_speed[other]) * share);
        for k in near_enough {
            let [one, other] = candidates.sides(k);
            let approach = side_speed[one] + side_speed[other];
            // The share may have become less on the way.
            if candidates.gap(k) > approach * share {
                continue;
            }
            let (i, partner) = candidates.pairs()[k];
            if self.ignored(i, partner) {
                continue;
            }
            let closest = self.closest(i, partner, &self.places, &self.cones);
            candidates.measured(k, -closest.overlap);
            if -closest.overlap > approach * share {
                continue;
            }
            near.push(k);
            let relative = self.relative_motion(i, partner, motion);
            // Not even a motion straight across may use up what separates the centrelines.
            let apart = 2.0 * self.rod.section.radius - closest.overlap;
            let room = (0.45 * apart).max(-closest.overlap).max(0.05 * self.rod.section.radius);
            if relative * share > room {
                share = room / relative;
            }
        }
        (share, near)
    }

    /// The most that any place on one side of a pair moves against any place on the other [mm].
    pub(super) fn relative_motion(&self, i: usize, partner: Partner, motion: &[Quad]) -> f64 {
        let mut most: f64 = 0.0;
        for own in [i, i + 1] {
            let others = match partner {
                Partner::Edge(j) => [j, j + 1],
                Partner::Shape(t, _) => [self.nodes + t; 2],
            };
            for other in others {
                most = most.max((shift(&motion[own]) - shift(&motion[other])).length_squared());
            }
        }
        most.sqrt()
    }

    /// Goes as far along a Newton motion as lowers the energy enough.
    ///
    /// An inextensible thread moves on curved paths: a straight motion stretches it in second order, and a line search
    /// would cut every motion that turns edges to nothing. So a motion that does not go down is first bent back onto
    /// the path with the factors at hand (second-order correction; Nocedal & Wright 2006, Numerical Optimization, section 18.3).
    fn advance(&mut self, memory: &mut Memory, motion: &[Quad], energy: f64, slope: f64) {
        let (mut share, near) = self.step_share(&mut memory.candidates, motion);
        for attempt in 0..8 {
            let trial = self.moved(motion, share);
            let reached = self.energy_of(&trial, memory, &near);
            let wanted = energy + 1e-4 * share * slope;
            if reached <= wanted || attempt == 7 {
                return self.accept(memory, trial);
            }
            if attempt < CORRECTIONS_MAX
                && let Some(trial) = self.corrected(memory, motion, share, &trial, &near, wanted)
            {
                return self.accept(memory, trial);
            }
            share *= 0.5;
        }
    }

    /// The trial place bent back by one more solve with the same factors, if that goes down as wanted.
    fn corrected(
        &self,
        memory: &mut Memory,
        motion: &[Quad],
        share: f64,
        trial: &Trial,
        near: &[usize],
        wanted: f64,
    ) -> Option<Trial> {
        let cones = self.placed(&trial.places);
        let touching: Vec<(usize, Partner, Closest)> = near
            .iter()
            .map(|&k| memory.candidates.pairs()[k])
            .map(|(i, partner)| (i, partner, self.closest(i, partner, &trial.places, &cones)))
            .filter(|(_, _, closest)| closest.overlap > 0.0)
            .collect();
        let mut probe = std::mem::take(&mut memory.probe);
        probe.gradient_only = true;
        self.assemble(&trial.places, &trial.spin, &trial.turned, &touching, &mut probe);
        // What the linear model expects to be left after this share of the motion is no error of the path.
        let mut whole: Vec<Quad> = probe
            .gradient
            .iter()
            .zip(&memory.gradient)
            .map(|(there, here)| std::array::from_fn(|c| (1.0 - share) * here[c] - there[c]))
            .collect();
        memory.probe = probe;
        memory.equations.matrix.solve(&mut whole);
        for (w, m) in whole.iter_mut().zip(motion) {
            for (a, b) in w.iter_mut().zip(m) {
                *a += share * b;
            }
        }
        let (allowed, near) = self.step_share(&mut memory.candidates, &whole);
        if allowed < 1.0 {
            return None;
        }
        let trial = self.moved(&whole, 1.0);
        let reached = self.energy_of(&trial, memory, &near);
        (reached <= wanted).then_some(trial)
    }

    pub(super) fn residual(&self, gradient: &[Quad]) -> f64 {
        let mut most: f64 = 0.0;
        for (i, g) in gradient.iter().enumerate() {
            if self.solid(i) {
                most = most.max((g[0] * g[0] + g[1] * g[1] + g[2] * g[2]).sqrt());
            }
        }
        most
    }

    /// Whether the spin of block `i` is solved for: that of an edge is, unless both its nodes are held.
    pub(super) fn turns(&self, i: usize) -> bool {
        self.solved[i].spin
    }

    /// Whether the place of block `i` is solved for.
    pub(super) fn solid(&self, i: usize) -> bool {
        self.solved[i].place
    }

    /// The listed pairs that overlap.
    pub(super) fn touching(
        &self,
        candidates: &mut Candidates,
        places: &[DVec3],
        cones: &[Vec<PlacedCone>],
    ) -> Vec<(usize, Partner, Closest)> {
        let near = candidates.near(0.0, |_| 0.0);
        let mut touching = Vec::with_capacity(near.len());
        for k in near {
            let (i, partner) = candidates.pairs()[k];
            if self.ignored(i, partner) {
                continue;
            }
            let closest = self.closest(i, partner, places, cones);
            candidates.measured(k, -closest.overlap);
            if closest.overlap > 0.0 {
                touching.push((i, partner, closest));
            }
        }
        touching
    }
}

pub(super) fn dot(a: &Quad, b: &Quad) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3]
}

pub(super) fn shift(motion: &Quad) -> DVec3 {
    DVec3::new(motion[0], motion[1], motion[2])
}
