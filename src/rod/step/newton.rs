//! The search for the least energy: model, motion, line search.

use super::{Active, CORRECTIONS_MAX, DAMPING, MODEL_ROUNDS, MOTION_MAX, Memory, Report, SlipLimit, Solve};
use crate::math::DVec3;
use crate::rod::contact::candidates::Candidates;
use crate::rod::contact::{Closest, Partner};
use crate::rod::equations::Equations;
use crate::rod::sparse::Quad;
use crate::rod::surroundings::PlacedCone;

/// What the linear model of one iteration takes for granted.
pub(super) struct Model {
    /// Pairs still apart that come to touch.
    pub(super) coming: Vec<Active>,
    /// Stretch about which each friction is linearised [mm].
    pub(super) slips: Vec<DVec3>,
}

/// Which tangent the equations hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tangent {
    /// The true one, which need not be positive.
    True,
    /// Without what could make it negative.
    Positive,
    /// The same with a little of everything, for a slack thread whose own stiffness is lost in rounding.
    Damped,
}

impl Solve<'_> {
    pub(super) fn run(&mut self, memory: &mut Memory) -> Report {
        let mut report = Report::default();
        memory.solves = 0;
        memory.candidates.moved(|_| 0.0, |t| self.tool_motion(t));
        self.predict(memory);
        self.balance(memory, &mut report);
        if let SlipLimit::StepEnd { within } = self.settings.slip_limit {
            self.follow_limits(memory, within, &mut report);
        }
        report.solves = memory.solves;
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
            let mut probe = std::mem::take(&mut memory.probe);
            probe.gradient_only = true;
            let energy = self.assemble(&self.places, &self.spin, &active, &mut probe);
            memory.gradient.clone_from(&probe.gradient);
            report.residual = self.residual(&probe.gradient);
            report.iterations = before + iteration;
            memory.probe = probe;
            if report.residual < self.settings.tolerance && iteration > 0 {
                break;
            }
            let Some(motion) = self.motion(memory, &active) else {
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

    /// The motion to the minimum of the linear model, in which pairs that come to touch on the way press too: otherwise
    /// every new contact would be met only after it has been overrun. `None` if the equations have no solution.
    pub(super) fn motion(&self, memory: &mut Memory, active: &[Active]) -> Option<Vec<Quad>> {
        let stretches: Vec<DVec3> =
            self.all_frictions().map(|friction| friction.stretch(|b| self.since_start(b))).collect();
        let mut model = Model { coming: Vec::new(), slips: stretches.clone() };
        let mut base = None;
        let plain = self.model_motion(memory, active, &model, &mut base)?;
        let mut motion = plain.clone();
        for _round in 0..MODEL_ROUNDS {
            let met = self.meet(memory, active, &mut model.coming, &motion);
            let slipped = self.slip(&mut model.slips, &stretches, &motion);
            if !met && !slipped {
                break;
            }
            motion = self.model_motion(memory, active, &model, &mut base)?;
        }
        let slope = |motion: &[Quad]| -> f64 { motion.iter().zip(&memory.gradient).map(|(m, g)| dot(m, g)).sum() };
        Some(if slope(&motion) < 0.0 { motion } else { plain })
    }

    pub(super) fn since_start(&self, block: usize) -> (DVec3, f64) {
        (self.places[block] - self.start[block], self.spin[block] - self.start_spin[block])
    }

    /// Brings the stretches about which frictions are linearised into line with a motion; whether that changed whether
    /// or where to any of them slips. One that turns against its slip sticks first.
    pub(super) fn slip(&self, slips: &mut [DVec3], stretches: &[DVec3], motion: &[Quad]) -> bool {
        let mut changed = false;
        for ((friction, slip), stretch) in self.all_frictions().zip(slips).zip(stretches) {
            let by = |b: usize| (shift(&motion[b]), motion[b][3]);
            let there = *stretch + friction.stretch(by) - friction.anchor;
            let reach = friction.limit / friction.stiffness;
            let slipped = slip.length() > reach;
            let slips_there = there.length() > reach && !(slipped && slip.dot(there) < 0.0);
            let next = if slips_there { there } else { DVec3::ZERO };
            let turned = slips_there && next.dot(*slip) < 0.95 * next.length() * slip.length();
            changed |= slips_there != slipped || turned;
            *slip = next;
        }
        changed
    }

    /// Brings the list of pairs that come to touch into line with a motion; whether that changed it.
    pub(super) fn meet(
        &self,
        memory: &mut Memory,
        active: &[Active],
        coming: &mut Vec<Active>,
        motion: &[Quad],
    ) -> bool {
        let presses =
            |(i, partner, closest): &Active| closest.overlap + self.approach(*i, *partner, closest, motion) > 0.0;
        let before = coming.len();
        coming.retain(presses);
        let mut changed = coming.len() != before;
        let (_, near) = self.step_share(&mut memory.candidates, motion);
        for &k in &near {
            let (i, partner) = memory.candidates.pairs()[k];
            let known = |list: &[Active]| list.iter().any(|a| a.0 == i && a.1 == partner);
            if known(active) || known(coming) {
                continue;
            }
            let pair = (i, partner, self.closest(i, partner, &self.places, &self.cones));
            if presses(&pair) {
                coming.push(pair);
                changed = true;
            }
        }
        changed
    }

    /// Solves the linear model, with the true tangent if that is positive. What does not change from one model to the
    /// next of the same iteration is kept in `base`, which says of what kind it is.
    pub(super) fn model_motion(
        &self,
        memory: &mut Memory,
        active: &[Active],
        model: &Model,
        base: &mut Option<Tangent>,
    ) -> Option<Vec<Quad>> {
        let all: Vec<Active> = active.iter().chain(&model.coming).copied().collect();
        if self.ensure_pattern(memory, &all) {
            *base = None;
        }
        let mut equations = std::mem::take(&mut memory.equations);
        let mut solved = false;
        while !solved {
            match *base {
                Some(_) => equations.restore(),
                None => self.assemble_base(active, Tangent::True, &mut equations),
            }
            let kind = base.unwrap_or(Tangent::True);
            *base = Some(kind);
            self.assemble_frictions(&self.places, &self.spin, Some(&model.slips), &mut equations);
            for (i, partner, closest) in &model.coming {
                self.assemble_coming(*i, *partner, closest, &mut equations);
            }
            self.hold(&mut equations.gradient);
            solved = equations.matrix.factor();
            memory.solves += 1;
            if !solved {
                let next = match kind {
                    Tangent::True => Tangent::Positive,
                    Tangent::Positive => Tangent::Damped,
                    Tangent::Damped => break,
                };
                self.assemble_base(active, next, &mut equations);
                *base = Some(next);
            }
        }
        let mut motion: Vec<Quad> = equations.gradient.iter().map(|g| g.map(|v| -v)).collect();
        if solved {
            equations.matrix.solve(&mut motion);
        }
        memory.equations = equations;
        solved.then_some(motion)
    }

    pub(super) fn assemble_base(&self, active: &[Active], kind: Tangent, equations: &mut Equations) {
        equations.exact = kind == Tangent::True;
        equations.clear(self.blocks);
        self.assemble_smooth(&self.places, &self.spin, active, equations);
        if kind == Tangent::Damped {
            let block = std::array::from_fn(|k| if k % 5 == 0 { DAMPING } else { 0.0 });
            (0..self.blocks).for_each(|i| equations.add_block(i, i, &block));
        }
        equations.keep();
    }

    /// How much deeper a pair gets by a motion, to first order [mm].
    pub(super) fn approach(&self, i: usize, partner: Partner, closest: &Closest, motion: &[Quad]) -> f64 {
        let own = shift(&motion[i]).lerp(shift(&motion[i + 1]), closest.along);
        let other = match partner {
            Partner::Edge(j) => shift(&motion[j]).lerp(shift(&motion[j + 1]), closest.along_partner),
            Partner::Shape(t, _) => shift(&motion[self.nodes + t]),
        };
        (other - own).dot(closest.normal)
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
    pub(super) fn predict(&mut self, memory: &mut Memory) {
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
        let energy = self.energy(memory.candidates.pairs(), &near, &self.places, &self.spin);
        let trial = self.moved(&motion, share);
        if self.energy(memory.candidates.pairs(), &near, &trial.0, &trial.1) < energy {
            self.accept(memory, trial);
        }
    }

    pub(super) fn accept(&mut self, memory: &mut Memory, (places, spin): (Vec<DVec3>, Vec<f64>)) {
        self.passed_through |= memory.candidates.any_crossed(self.rod, &self.places, &places);
        let moved = |b: usize| places[b].distance(self.places[b]);
        memory.candidates.moved(moved, |t| moved(self.nodes + t));
        self.places = places;
        self.spin = spin;
    }

    pub(super) fn moved(&self, motion: &[Quad], share: f64) -> (Vec<DVec3>, Vec<f64>) {
        let places = self.places.iter().zip(motion).map(|(p, m)| *p + shift(m) * share).collect();
        let spin = self.spin.iter().zip(motion).map(|(s, m)| s + m[3] * share).collect();
        (places, spin)
    }

    /// The share of a motion that cannot carry anything through anything, and the listed pairs that may come to touch
    /// on the way: a pair either stays apart, or moves less against each other than would bring its centrelines together.
    pub(super) fn step_share(&self, candidates: &mut Candidates, motion: &[Quad]) -> (f64, Vec<usize>) {
        let speed: Vec<f64> = motion.iter().map(|m| shift(m).length()).collect();
        let most = speed.iter().copied().fold(0.0, f64::max);
        let mut share = if most > MOTION_MAX { MOTION_MAX / most } else { 1.0 };
        let edge_speed: Vec<f64> = speed.windows(2).map(|s| s[0].max(s[1])).collect();
        let mut near = Vec::new();
        for k in 0..candidates.pairs().len() {
            let (i, partner) = candidates.pairs()[k];
            let other = match partner {
                Partner::Edge(j) => edge_speed[j],
                Partner::Shape(t, _) => speed[self.nodes + t],
            };
            let approach = edge_speed[i] + other;
            if candidates.gap(k) > approach * share || self.ignored(i, partner) {
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
    pub(super) fn advance(&mut self, memory: &mut Memory, motion: &[Quad], energy: f64, slope: f64) {
        let (mut share, near) = self.step_share(&mut memory.candidates, motion);
        for attempt in 0..8 {
            let trial = self.moved(motion, share);
            let reached = self.energy(memory.candidates.pairs(), &near, &trial.0, &trial.1);
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
    pub(super) fn corrected(
        &self,
        memory: &mut Memory,
        motion: &[Quad],
        share: f64,
        trial: &(Vec<DVec3>, Vec<f64>),
        near: &[usize],
        wanted: f64,
    ) -> Option<(Vec<DVec3>, Vec<f64>)> {
        let cones = self.placed(&trial.0);
        let touching: Vec<(usize, Partner, Closest)> = near
            .iter()
            .map(|&k| memory.candidates.pairs()[k])
            .map(|(i, partner)| (i, partner, self.closest(i, partner, &trial.0, &cones)))
            .filter(|(_, _, closest)| closest.overlap > 0.0)
            .collect();
        let mut probe = std::mem::take(&mut memory.probe);
        probe.gradient_only = true;
        self.assemble(&trial.0, &trial.1, &touching, &mut probe);
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
        let reached = self.energy(memory.candidates.pairs(), &near, &trial.0, &trial.1);
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
        if i < self.nodes {
            self.rod.free[i] || self.rod.free.get(i + 1).is_some_and(|&free| free)
        } else {
            self.solid(i)
        }
    }

    /// Whether the place of block `i` is solved for.
    pub(super) fn solid(&self, i: usize) -> bool {
        if i < self.nodes {
            self.rod.free[i]
        } else if i < self.nodes + self.around.tools.len() {
            let tool = i - self.nodes;
            self.around.tools[tool].hand.is_some() || self.around.collars.iter().any(|c| c.tool == tool)
        } else {
            true
        }
    }

    /// The listed pairs that overlap.
    pub(super) fn touching(
        &self,
        candidates: &mut Candidates,
        places: &[DVec3],
        cones: &[Vec<PlacedCone>],
    ) -> Vec<(usize, Partner, Closest)> {
        let mut touching = Vec::new();
        for k in 0..candidates.pairs().len() {
            if candidates.gap(k) > 0.0 {
                continue;
            }
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
