//! Energy, gradient and tangent of everything.

use super::{Active, Memory, PATTERN_GAP, Solve};
use crate::math::{DMat3, DVec3};
use crate::rod::bend::Turns;
use crate::rod::contact::friction::{Friction, tangential};
use crate::rod::contact::gap::Pressed;
use crate::rod::contact::{Closest, Partner};
use crate::rod::equations::{Equations, joined};
use crate::rod::sparse::{BlockSystem, Quad};
use crate::rod::stretch::outer;
use crate::rod::{bend, stretch, twist};

/// Spring between the surface round a hole and its tissue [mN/mm]: stiff beside the tissue's own few hundred.
const COLLAR_STIFFNESS: f64 = 1e5;

impl Solve<'_> {
    pub(super) fn pair_blocks(&self, i: usize, partner: Partner) -> ([usize; 4], usize) {
        match partner {
            Partner::Edge(j) => ([i, i + 1, j, j + 1], 4),
            Partner::Shape(t, _) => ([i, i + 1, self.nodes + t, 0], 3),
        }
    }

    /// Makes room in the matrix for every coupling there is; whether it had to be laid out anew.
    pub(super) fn ensure_pattern(&self, memory: &mut Memory, active: &[Active]) -> bool {
        let mut groups: Vec<([usize; 4], usize)> = Vec::with_capacity(active.len() + self.frictions.len());
        groups.extend(active.iter().map(|&(i, partner, _)| self.pair_blocks(i, partner)));
        groups.extend(self.frictions.iter().map(|&((i, partner), _)| self.pair_blocks(i, partner)));
        groups.extend(self.around.grips.iter().map(|grip| ([grip.node, self.nodes + grip.tool, 0, 0], 2)));
        let bites = self.nodes + self.around.tools.len();
        groups.extend(self.around.collars.iter().map(|c| ([self.nodes + c.tool, bites + c.bite, 0, 0], 2)));
        for (sleeve, edges) in self.around.sleeves.iter().zip(&self.sleeve_edges) {
            groups.extend(edges.clone().map(|i| ([i, i + 1, self.host_block(sleeve.host), 0], 3)));
        }
        for meeting in self.tissue.meet(&self.places[bites..]) {
            groups.push(([bites + meeting.bites[0], bites + meeting.bites[1], 0, 0], 2));
        }
        // Only what has left a palm since can have made the chain longer.
        let same_chain = memory.pattern_blocks == self.blocks && memory.pattern_carried == self.rod.carried;
        if !same_chain {
            groups.extend(self.chain());
        }
        let couples = |system: &BlockSystem, (blocks, count): &([usize; 4], usize)| {
            (0..*count).all(|k| blocks[k + 1..*count].iter().all(|&b| system.couples(blocks[k], b)))
        };
        let system = &mut memory.equations.matrix;
        if memory.pattern_blocks == self.blocks && groups.iter().all(|g| couples(system, g)) {
            return false;
        }
        if same_chain {
            groups.extend(self.chain());
        }
        // What is about to touch goes in as well, or each new contact would cost an ordering.
        for (k, &(i, partner)) in memory.candidates.pairs().iter().enumerate() {
            if memory.candidates.gap(k) < PATTERN_GAP && !self.ignored(i, partner) {
                groups.push(self.pair_blocks(i, partner));
            }
        }
        let mut pairs = Vec::new();
        for (blocks, count) in &groups {
            for (k, &a) in blocks[..*count].iter().enumerate() {
                pairs.extend(blocks[k + 1..*count].iter().filter(|&&b| b != a).map(|&b| (a, b)));
            }
        }
        system.set_pattern(self.blocks, &pairs);
        memory.pattern_blocks = self.blocks;
        memory.pattern_carried.clone_from(&self.rod.carried);
        true
    }

    /// The blocks that the thread's own stiffness couples: none where it is slack in a palm or was taken away.
    fn chain(&self) -> impl Iterator<Item = ([usize; 4], usize)> {
        let slack = |nodes: std::ops::Range<usize>| self.rod.carried[nodes].contains(&true);
        let next = (1..self.nodes).map(|i| ([i - 1, i, 0, 0], 2));
        let after_next = (2..self.nodes).map(|i| ([i - 2, i, 0, 0], 2));
        next.chain(after_next).filter(move |([from, to, ..], _)| !slack(*from..to + 1))
    }

    /// Energy of everything at trial places [mN mm], of all pairs only the `near` ones touching there.
    pub(super) fn energy(&self, pairs: &[(usize, Partner)], near: &[usize], places: &[DVec3], spin: &[f64]) -> f64 {
        let nodes = &places[..self.nodes];
        let mut sum = stretch::energy(self.rod, nodes) + bend::energy_from(self.rod, &self.tangents, nodes, spin);
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
        let mut sum = stretch::assemble(self.rod, nodes, equations)
            + bend::assemble(self.rod, nodes, turns, equations)
            + twist::assemble(self.rod, &self.gradients, nodes, spin, equations);
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

    /// Adds everything that is a spring, a damper or a dead load; returns the energy with it.
    pub(super) fn add_simple(
        &self,
        places: &[DVec3],
        spin: &[f64],
        mut equations: Option<&mut Equations>,
        mut energy: f64,
    ) -> f64 {
        let rod = self.rod;
        for i in (0..self.nodes).filter(|&i| self.turns(i)) {
            let shift = places[i] - self.start[i];
            let drag = self.settings.drag * self.lengths[i] / self.dt;
            let turned = spin[i] - self.start_spin[i];
            // Spin drag: the thread's own surface moving through the same drag.
            let spin_drag = drag * rod.section.radius * rod.section.radius + 1e-6;
            let weight = DVec3::new(0.0, 0.0, -rod.section.weight * self.lengths[i]);
            energy += 0.5 * drag * shift.length_squared() + 0.5 * spin_drag * turned * turned - weight.dot(shift);
            let overlap = self.around.floor.map_or(0.0, |f| self.floor_overlap(&f, i, places[i]));
            let stiffness = self.around.floor.map_or(0.0, |f| f.stiffness);
            let lies = overlap > 0.0 && !self.inside[i];
            if lies {
                energy += 0.5 * stiffness * overlap * overlap;
            }
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(i, weight - shift * drag);
                equations.add_gradient(i, [0.0, 0.0, 0.0, spin_drag * turned]);
                equations.add_trace(i, [drag, drag, drag, spin_drag]);
                if lies {
                    equations.add_force(i, DVec3::Z * (stiffness * overlap));
                    equations.add_trace(i, [0.0, 0.0, stiffness, 0.0]);
                }
            }
        }
        for &(node, force) in &self.around.loads {
            energy -= force.dot(places[node] - self.start[node]);
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(node, force);
            }
        }
        if !self.around.planes.is_empty() {
            energy += self.add_planes(places, equations.as_deref_mut());
        }
        energy += self.add_tools(places, spin, equations.as_deref_mut());
        energy + self.add_tissue(places, equations)
    }

    pub(super) fn add_tools(&self, places: &[DVec3], spin: &[f64], mut equations: Option<&mut Equations>) -> f64 {
        let mut energy = 0.0;
        for (t, tool) in self.around.tools.iter().enumerate() {
            let block = self.nodes + t;
            let Some(hand) = tool.hand else { continue };
            let lag = places[block] - hand.target;
            let shift = places[block] - self.start[block];
            let (e, force, tangent) = limited_spring(lag, hand.stiffness, hand.force_max);
            let damping = hand.damping / self.dt;
            energy += e + 0.5 * damping * shift.length_squared();
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(block, -force - shift * damping);
                equations.add_stiffness(block, block, tangent + DMat3::IDENTITY * damping);
                equations.add_spin_stiffness(block, 1.0);
            }
        }
        let bites = self.nodes + self.around.tools.len();
        for collar in &self.around.collars {
            let (tool, bite) = (self.nodes + collar.tool, bites + collar.bite);
            let stretch = places[tool] - collar.rest - places[bite];
            energy += 0.5 * COLLAR_STIFFNESS * stretch.length_squared();
            if let Some(equations) = equations.as_deref_mut() {
                let (force, hold) = (stretch * COLLAR_STIFFNESS, DMat3::IDENTITY * COLLAR_STIFFNESS);
                equations.add_force(tool, -force);
                equations.add_force(bite, force);
                equations.add_stiffness(tool, tool, hold);
                equations.add_stiffness(bite, bite, hold);
                equations.add_stiffness(tool, bite, -hold);
                equations.add_spin_stiffness(tool, 1.0);
            }
        }
        for grip in &self.around.grips {
            let tool = self.nodes + grip.tool;
            let stretch = places[grip.node] - places[tool] - self.around.tools[grip.tool].rotation * grip.place;
            let (e, force, tangent) = limited_spring(stretch, grip.stiffness, grip.limit);
            let turned = spin[grip.node] - grip.spin;
            let hold = 1e3;
            energy += e + 0.5 * hold * turned * turned;
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(grip.node, -force);
                equations.add_force(tool, force);
                equations.add_stiffness(grip.node, grip.node, tangent);
                equations.add_stiffness(tool, tool, tangent);
                equations.add_stiffness(grip.node, tool, -tangent);
                equations.add_gradient(grip.node, [0.0, 0.0, 0.0, hold * turned]);
                equations.add_spin_stiffness(grip.node, hold);
            }
        }
        energy
    }

    pub(super) fn add_tissue(&self, places: &[DVec3], mut equations: Option<&mut Equations>) -> f64 {
        let bites = self.nodes + self.around.tools.len();
        let mut energy = 0.0;
        for b in 0..self.around.bites.len() {
            let response = self.tissue.respond(b, places[bites + b]);
            energy += response.energy;
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(bites + b, -response.gradient);
                equations.add_stiffness(bites + b, bites + b, response.tangent);
                equations.add_spin_stiffness(bites + b, 1.0);
            }
        }
        for meeting in self.tissue.meet(&places[bites..]) {
            energy += meeting.energy;
            if let Some(equations) = equations.as_deref_mut() {
                for (a, &bite) in meeting.bites.iter().enumerate() {
                    equations.add_force(bites + bite, -meeting.gradient[a]);
                    equations.add_stiffness(bites + bite, bites + bite, meeting.hessian[a][a]);
                }
                equations.add_stiffness(bites + meeting.bites[0], bites + meeting.bites[1], meeting.hessian[0][1]);
            }
        }
        for k in 0..self.around.sleeves.len() {
            let stiffness = self.around.sleeves[k].stiffness;
            let (edge, along, centre) = self.sleeve_closest(k, places);
            let tangent = (places[edge + 1] - places[edge]).normalize();
            let apart = places[edge].lerp(places[edge + 1], along) - centre;
            energy += 0.5 * stiffness * apart.length_squared();
            if let Some(equations) = equations.as_deref_mut() {
                let inside = along > 0.0 && along < 1.0;
                let hold = if inside { DMat3::IDENTITY - outer(tangent, tangent) } else { DMat3::IDENTITY };
                let turns = inside && equations.exact && !equations.gradient_only;
                let length = places[edge].distance(places[edge + 1]);
                let ends = [-1.0, 1.0, 0.0];
                let host = self.host_block(self.around.sleeves[k].host);
                let rows = [(edge, 1.0 - along), (edge + 1, along), (host, -1.0)];
                for (a, &(block, weight)) in rows.iter().enumerate() {
                    equations.add_force(block, apart * (-stiffness * weight));
                    for (b, &(other, other_weight)) in rows.iter().enumerate().skip(a) {
                        let mut square = hold * (weight * other_weight);
                        if turns {
                            // The edge turns, and the place on it moves.
                            let turned = outer(tangent, apart) * (weight * ends[b])
                                + outer(apart, tangent) * (other_weight * ends[a]);
                            square -=
                                turned * (1.0 / length) + outer(apart, apart) * (ends[a] * ends[b] / (length * length));
                        }
                        equations.add_stiffness(block, other, square * stiffness);
                    }
                }
            }
        }
        energy
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

/// A spring no stronger than `limit`: energy, force along the stretch, tangent.
pub(super) fn limited_spring(stretch: DVec3, stiffness: f64, limit: f64) -> (f64, DVec3, DMat3) {
    let spring = Friction { anchor: DVec3::ZERO, normal: DVec3::Z, limit, stiffness, levers: Vec::new() };
    let (force, tangent) = spring.force(stretch);
    (spring.energy(stretch), force, tangent)
}
