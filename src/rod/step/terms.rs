//! Energy, gradient and tangent of everything.

use super::{Active, Memory, PATTERN_GAP, Solve};
use crate::math::{DMat3, DVec3, Wide, widest};
use crate::rod::bend::Turns;
use crate::rod::contact::friction::{Friction, tangential};
use crate::rod::contact::gap::Pressed;
use crate::rod::contact::{Closest, Partner};
use crate::rod::equations::{Equations, joined};
use crate::rod::sparse::{BlockSystem, Quad};
use crate::rod::stretch::outer;
use crate::rod::{bend, stretch, twist};

impl Solve<'_> {
    pub(super) fn pair_blocks(&self, i: usize, partner: Partner) -> ([usize; 4], usize) {
        match partner {
            Partner::Edge(j) => ([i, i + 1, j, j + 1], 4),
            Partner::Shape(t, _) => ([i, i + 1, self.nodes + t, 0], 3),
        }
    }

    /// Makes room in the matrix for every coupling there is; whether it had to be laid out anew.
    pub(super) fn ensure_pattern(&self, memory: &mut Memory, active: &[Active]) -> bool {
        let touching = || active.iter().map(|&(i, partner, _)| self.pair_blocks(i, partner));
        // Only what has left a palm since can have made the chain longer.
        let same_chain = memory.pattern_blocks == self.blocks && memory.pattern_carried == self.rod.carried;
        let system = &mut memory.equations.matrix;
        let couples = |system: &BlockSystem, (blocks, count): ([usize; 4], usize)| {
            (0..count).all(|k| blocks[k + 1..count].iter().all(|&b| system.couples(blocks[k], b)))
        };
        let fits = memory.pattern_blocks == self.blocks
            && touching().all(|group| couples(system, group))
            && (memory.pattern_fits_step
                || self.lasting().all(|group| couples(system, group))
                    && (same_chain || self.chain().all(|group| couples(system, group))));
        memory.pattern_fits_step = true;
        if fits {
            return false;
        }
        // What is about to touch goes in as well, or each new contact would cost an ordering.
        let pairs = memory.candidates.pairs().iter().enumerate();
        let coming =
            pairs.filter(|&(k, &(i, partner))| memory.candidates.gap(k) < PATTERN_GAP && !self.ignored(i, partner));
        let coming = coming.map(|(_, &(i, partner))| self.pair_blocks(i, partner));
        let mut pairs = Vec::new();
        for (blocks, count) in touching().chain(self.lasting()).chain(self.chain()).chain(coming) {
            for (k, &a) in blocks[..count].iter().enumerate() {
                pairs.extend(blocks[k + 1..count].iter().filter(|&&b| b != a).map(|&b| (a, b)));
            }
        }
        system.set_pattern(self.blocks, &pairs);
        memory.pattern_blocks = self.blocks;
        memory.pattern_carried.clone_from(&self.rod.carried);
        true
    }

    /// The blocks that are coupled all through the step, beside the chain: by friction, hands, holes and edges that meet.
    fn lasting(&self) -> impl Iterator<Item = ([usize; 4], usize)> {
        let around = self.around;
        let bites = self.nodes + around.tools.len();
        let frictions = self.frictions.iter().map(|&((i, partner), _)| self.pair_blocks(i, partner));
        let grips = around.grips.iter().map(|grip| ([grip.node, self.nodes + grip.tool, 0, 0], 2));
        let collars = around.collars.iter().map(move |c| ([self.nodes + c.tool, bites + c.bite, 0, 0], 2));
        let sleeves = around.sleeves.iter().zip(&self.sleeve_edges).flat_map(|(sleeve, edges)| {
            let host = self.host_block(sleeve.host);
            edges.clone().map(move |i| ([i, i + 1, host, 0], 3))
        });
        let meetings = self.tissue.meet(&self.places[bites..]);
        let meetings = meetings.into_iter().map(move |m| ([bites + m.bites[0], bites + m.bites[1], 0, 0], 2));
        frictions.chain(grips).chain(collars).chain(sleeves).chain(meetings)
    }

    /// The blocks that the thread's own stiffness couples: none where it is slack in a palm or was taken away.
    fn chain(&self) -> impl Iterator<Item = ([usize; 4], usize)> {
        let slack = |nodes: std::ops::Range<usize>| self.rod.carried[nodes].contains(&true);
        let next = (1..self.nodes).map(|i| ([i - 1, i, 0, 0], 2));
        let after_next = (2..self.nodes).map(|i| ([i - 2, i, 0, 0], 2));
        next.chain(after_next).filter(move |([from, to, ..], _)| !slack(*from..to + 1))
    }

    /// Energy of everything at trial places [mN mm], of all pairs only the `near` ones touching there, with edges turned by `turns`.
    pub(super) fn energy(
        &self,
        pairs: &[(usize, Partner)],
        near: &[usize],
        places: &[DVec3],
        spin: &[f64],
        turns: &Turns,
    ) -> f64 {
        let nodes = &places[..self.nodes];
        let mut sum = stretch::energy(self.rod, nodes) + bend::energy_at(self.rod, nodes, turns);
        sum += twist::energy(self.rod, &self.gradients, nodes, spin);
        let cones = self.placed(places);
        for &k in near {
            let (i, partner) = pairs[k];
            let closest = self.closest(i, partner, places, &cones);
            if closest.overlap > 0.0 {
                sum += self.pressing(partner).at(closest.overlap).energy;
            }
        }
        let moved = |b: usize| (places[b] - self.start[b], spin[b] - self.start_spin[b]);
        for friction in self.all_frictions() {
            sum += friction.energy(friction.stretch(moved));
        }
        self.add_simple(places, spin, None, sum)
    }

    pub(super) fn all_frictions(&self) -> impl Iterator<Item = &Friction> {
        self.frictions
            .iter()
            .map(|(_, f)| f)
            .chain(self.floor_frictions.iter().map(|(_, f)| f))
            .chain(self.plane_frictions.iter().map(|(_, f)| f))
            .chain(&self.sleeve_frictions)
    }

    /// How the edges have turned at the given places.
    pub(super) fn turns_at(&self, places: &[DVec3], spin: &[f64]) -> Turns {
        Turns::at(self.rod, &self.tangents, &places[..self.nodes], spin)
    }

    /// Fills the equations at the given places and turns; returns the energy there.
    pub(super) fn assemble(
        &self,
        places: &[DVec3],
        spin: &[f64],
        turns: &Turns,
        active: &[Active],
        equations: &mut Equations,
    ) -> f64 {
        equations.clear(self.blocks);
        let smooth = self.assemble_smooth(places, spin, turns, active, equations);
        let energy = smooth + self.assemble_frictions(places, spin, None, equations);
        self.hold(&mut equations.gradient);
        energy
    }

    /// Everything but friction.
    pub(super) fn assemble_smooth(
        &self,
        places: &[DVec3],
        spin: &[f64],
        turns: &Turns,
        active: &[Active],
        equations: &mut Equations,
    ) -> f64 {
        let nodes = &places[..self.nodes];
        let mut sum = widest(Elastic { solve: self, nodes, spin, turns, equations });
        for (i, partner, closest) in active {
            sum += self.assemble_pressing(*i, *partner, closest, equations);
            if equations.exact && !equations.gradient_only {
                self.assemble_turning(*i, *partner, closest, places, equations);
            }
        }
        let energy = self.add_simple(places, spin, Some(equations), sum);
        for i in 0..self.blocks {
            // Its rows stay coupled in the pattern, so its own stiffness is made so large that it does not move.
            if !self.solid(i) {
                equations.add_trace(i, [1e14, 1e14, 1e14, 0.0]);
            }
            if !self.turns(i) {
                equations.add_spin_stiffness(i, 1e14);
            }
        }
        energy
    }

    /// Friction, linearised about the stretches it has or those given.
    pub(super) fn assemble_frictions(
        &self,
        places: &[DVec3],
        spin: &[f64],
        slips: Option<&[DVec3]>,
        equations: &mut Equations,
    ) -> f64 {
        let moved = |b: usize| (places[b] - self.start[b], spin[b] - self.start_spin[b]);
        let mut sum = 0.0;
        for (k, friction) in self.all_frictions().enumerate() {
            let stretch = friction.stretch(moved);
            sum += friction.energy(stretch);
            let at = slips.map_or(stretch, |slips| slips[k]);
            assemble_friction(friction, stretch, at, equations);
        }
        sum
    }

    /// Nothing pulls on what is not solved for.
    pub(super) fn hold(&self, gradient: &mut [Quad]) {
        for (i, g) in gradient.iter_mut().enumerate() {
            if !self.solid(i) {
                *g = [0.0, 0.0, 0.0, g[3]];
            }
            if !self.turns(i) {
                g[3] = 0.0;
            }
        }
    }

    /// A pair still apart, as the spring it will be.
    pub(super) fn assemble_coming(&self, i: usize, partner: Partner, closest: &Closest, equations: &mut Equations) {
        let stiffness = self.pressing(partner).stiffness;
        let pressed = Pressed { energy: 0.0, force: stiffness * closest.overlap, tangent: stiffness };
        self.assemble_pair(i, partner, closest, &pressed, equations);
    }

    pub(super) fn assemble_pressing(
        &self,
        i: usize,
        partner: Partner,
        closest: &Closest,
        equations: &mut Equations,
    ) -> f64 {
        let pressed = self.pressing(partner).at(closest.overlap);
        self.assemble_pair(i, partner, closest, &pressed, equations);
        pressed.energy
    }

    pub(super) fn assemble_pair(
        &self,
        i: usize,
        partner: Partner,
        closest: &Closest,
        pressed: &Pressed,
        equations: &mut Equations,
    ) {
        let (blocks, count) = self.pair_blocks(i, partner);
        let weights = pair_weights(partner, closest);
        let square = outer(closest.normal, closest.normal) * pressed.tangent;
        for a in 0..count {
            equations.add_force(blocks[a], closest.normal * (pressed.force * weights[a]));
            if equations.gradient_only {
                continue;
            }
            for b in a..count {
                equations.add_stiffness(blocks[a], blocks[b], square * (weights[a] * weights[b]));
            }
        }
    }

    /// The tangent that comes from a pair's normal and place of touch moving with it: the distance's own curvature times
    /// the force, with the place of touch eliminated where it is free to move along its edge.
    pub(super) fn assemble_turning(
        &self,
        i: usize,
        partner: Partner,
        closest: &Closest,
        places: &[DVec3],
        equations: &mut Equations,
    ) {
        let force = self.pressing(partner).at(closest.overlap).force;
        let own = places[i + 1] - places[i];
        let (other, reach, other_turns) = match partner {
            Partner::Edge(j) => (places[j + 1] - places[j], 2.0 * self.rod.section.radius, 1.0),
            Partner::Shape(t, k) => {
                let cone = &self.cones[t][k];
                let radius = cone.start_radius + (cone.end_radius - cone.start_radius) * closest.along_partner;
                (cone.end - cone.start, self.rod.section.radius + radius, 0.0)
            }
        };
        let distance = reach - closest.overlap;
        let (blocks, count) = self.pair_blocks(i, partner);
        let weights = pair_weights(partner, closest);
        let n = closest.normal;
        let across = DMat3::IDENTITY - outer(n, n);
        let (own_flat, other_flat) = (tangential(own, n), tangential(other, n));
        let inverse = places_inverse(closest, own_flat, other_flat, distance);
        let own_ends = [-1.0, 1.0, 0.0, 0.0];
        let other_ends = [0.0, 0.0, -other_turns, other_turns];
        let p: [DVec3; 4] = std::array::from_fn(|k| own_flat * (weights[k] / distance) + n * own_ends[k]);
        let q: [DVec3; 4] = std::array::from_fn(|k| -other_flat * (weights[k] / distance) - n * other_ends[k]);
        for a in 0..count {
            for b in a..count {
                let slid = outer(p[a], p[b]) * inverse[0]
                    + (outer(p[a], q[b]) + outer(q[a], p[b])) * inverse[1]
                    + outer(q[a], q[b]) * inverse[2];
                let block = (slid - across * (weights[a] * weights[b] / distance)) * force;
                equations.add_stiffness(blocks[a], blocks[b], block);
            }
        }
    }
}

/// Gradient and tangent of the thread's own stiffness, as wide work; what comes of it is the energy.
struct Elastic<'a, 'b> {
    solve: &'a Solve<'b>,
    nodes: &'a [DVec3],
    spin: &'a [f64],
    turns: &'a Turns,
    equations: &'a mut Equations,
}

impl Wide for Elastic<'_, '_> {
    type Output = f64;
    #[inline(always)]
    fn run(self) -> f64 {
        let Elastic { solve, nodes, spin, turns, equations } = self;
        stretch::assemble(solve.rod, nodes, equations)
            + bend::assemble(solve.rod, &solve.tangents, nodes, turns, equations)
            + twist::assemble(solve.rod, &solve.gradients, nodes, spin, equations)
    }
}

/// How the blocks of a pair move its two touching places against each other.
pub(super) fn pair_weights(partner: Partner, closest: &Closest) -> [f64; 4] {
    match partner {
        Partner::Edge(_) => {
            [1.0 - closest.along, closest.along, -(1.0 - closest.along_partner), -closest.along_partner]
        }
        Partner::Shape(..) => [1.0 - closest.along, closest.along, -1.0, 0.0],
    }
}

/// Inverse (first, mixed, second entry) of the distance's second derivatives in the two places of touch; a place held at
/// an end of its edge does not move.
pub(super) fn places_inverse(closest: &Closest, own: DVec3, other: DVec3, distance: f64) -> [f64; 3] {
    let free = |along: f64| along > 0.0 && along < 1.0;
    let (own_square, other_square) = (own.length_squared(), other.length_squared());
    let mixed = -own.dot(other);
    match (free(closest.along), free(closest.along_partner)) {
        (true, true) => {
            // Nearly parallel edges slide along each other without end; the floor keeps the model finite there.
            let determinant = (own_square * other_square - mixed * mixed).max(0.02 * own_square * other_square);
            [other_square, -mixed, own_square].map(|v| v * distance / determinant)
        }
        (true, false) => [distance / own_square, 0.0, 0.0],
        (false, true) => [0.0, 0.0, distance / other_square],
        (false, false) => [0.0; 3],
    }
}

pub(super) fn assemble_friction(friction: &Friction, stretch: DVec3, at: DVec3, equations: &mut Equations) {
    let (force, tangent) = friction.force(at);
    let force = force + tangent * (stretch - at);
    for (a, lever) in friction.levers.iter().enumerate() {
        let pull = lever.by_position.transpose() * force;
        equations.add_gradient(lever.block, [pull.x, pull.y, pull.z, lever.by_spin.dot(force)]);
        if equations.gradient_only {
            continue;
        }
        let left = lever.by_position.transpose() * tangent;
        let left_spin = tangent * lever.by_spin;
        for other in &friction.levers[a..] {
            let square = left * other.by_position;
            let right_spin = left * other.by_spin;
            let corner = left_spin.dot(other.by_spin);
            let bottom = other.by_position.transpose() * left_spin;
            let block = joined(square, right_spin, bottom, corner);
            equations.add_block(lever.block, other.block, &block);
        }
    }
}
