//! The thread: a discrete elastic rod, what touches it, and the step that moves it.
#![doc = include_str!("README.md")]

pub mod bend;
pub mod breaking;
pub mod contact;
pub mod equations;
pub mod remesh;
pub mod sparse;
pub mod step;
pub mod stretch;
pub mod surroundings;
pub mod twist;

use crate::math::{DVec3, across, atan2, exp, rotation, rotation_between};
use contact::friction::LoadLaw;
use std::f64::consts::PI;
use std::ops::Range;
use stretch::ForceStrain;

/// Greatest elastic share of bending, over the curvature of first yield: a round section that yields through and
/// through carries 16 / (3 pi) times the moment at which its outermost fibre first yields (textbook, elastic and
/// perfectly plastic beam).
pub const FULLY_PLASTIC: f64 = 16.0 / (3.0 * PI);

/// What a thread is made of, as the solver needs it. Where a real thread's numbers come from is not the rod's concern.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Radius [mm].
    pub radius: f64,
    /// Axial stiffness EA [mN], at rest.
    pub axial_stiffness: f64,
    /// How tension goes on with strain.
    pub force_strain: ForceStrain,
    /// Force that breaks a straight strand [mN]; infinite for a thread that never breaks.
    pub strength: f64,
    /// Bending stiffness EI [mN mm^2].
    pub bending_stiffness: f64,
    /// Twist stiffness GJ [mN mm^2].
    pub twist_stiffness: f64,
    /// Curvature beyond which the thread takes a set [1/mm].
    pub yield_curvature: f64,
    /// Time in which the set follows most of the way to the curvature the thread is held in [ms]; infinite for a thread
    /// that remembers for ever.
    pub set_relaxation: f64,
    /// Coulomb friction of thread on thread.
    pub friction_thread: f64,
    /// Coulomb friction of thread on an instrument.
    pub friction_steel: f64,
    /// Coulomb friction of thread on and through gum.
    pub friction_tissue: f64,
    /// How all frictions go with the force that presses.
    pub friction_load: LoadLaw,
    /// Weight per length [mN/mm].
    pub weight: f64,
    /// Normal stiffness where two threads cross [mN/mm].
    pub contact_stiffness: f64,
}

/// A thread, or the pieces of one after cuts.
#[derive(Debug, Clone, PartialEq)]
pub struct Rod {
    /// What it is made of.
    pub section: Section,
    /// Node positions [mm], shape [node_count].
    pub positions: Vec<DVec3>,
    /// Turn of each edge's material frame about its tangent, from the transported reference frame [rad],
    /// shape [node_count]; the last entry belongs to no edge and stays zero.
    pub spin: Vec<f64>,
    /// Unstretched edge lengths [mm], shape [node_count - 1].
    pub rest_lengths: Vec<f64>,
    /// Material coordinate of each node from the swaged end [mm], shape [node_count].
    pub material: Vec<f64>,
    /// Whether each edge still holds, shape [node_count - 1]; a cut edge carries nothing.
    pub whole: Vec<bool>,
    /// Whether its last node is kept on its first one, so that the pieces on either side of that are neighbours.
    pub ring: bool,
    /// Whether each node is free to move; one that is not goes where its holder puts it, shape [node_count].
    pub free: Vec<bool>,
    /// Whether each node is carried in a palm: held, and the thread about it hangs slack and touches nothing.
    pub carried: Vec<bool>,
    /// The set each interior node has taken, as a change of tangent [1], shape [node_count].
    pub set: Vec<DVec3>,
    /// Reference director of each edge, at right angles to it, shape [node_count - 1].
    pub directors: Vec<DVec3>,
    /// Turn from each edge's transported reference director to the next edge's own [rad], shape [node_count].
    pub reference_twist: Vec<f64>,
}

/// Reference directors of a thread without twist through these positions [mm]: each the one before, transported.
fn untwisted(positions: &[DVec3]) -> Vec<DVec3> {
    let tangents: Vec<DVec3> = positions.windows(2).map(|p| (p[1] - p[0]).normalize()).collect();
    let mut directors = vec![across(tangents[0])];
    for pair in tangents.windows(2) {
        let carried = rotation_between(pair[0], pair[1]) * directors[directors.len() - 1];
        directors.push((carried - pair[1] * carried.dot(pair[1])).normalize());
    }
    directors
}

impl Rod {
    /// A thread at rest in the given shape: straight set, no twist, no stretch.
    ///
    /// # Panics
    /// If there are fewer than two positions.
    #[must_use]
    pub fn at_rest(section: Section, positions: Vec<DVec3>) -> Rod {
        assert!(positions.len() >= 2, "a thread has at least one edge");
        let rest_lengths: Vec<f64> = positions.windows(2).map(|p| p[0].distance(p[1])).collect();
        let mut material = vec![0.0];
        for length in &rest_lengths {
            material.push(material[material.len() - 1] + length);
        }
        let count = positions.len();
        let directors = untwisted(&positions);
        Rod {
            section,
            positions,
            spin: vec![0.0; count],
            whole: vec![true; rest_lengths.len()],
            rest_lengths,
            material,
            ring: false,
            free: vec![true; count],
            carried: vec![false; count],
            set: vec![DVec3::ZERO; count],
            directors,
            reference_twist: vec![0.0; count],
        }
    }

    /// Lays the first nodes anew, at these positions [mm], straightened by fingers: straight set, no twist. Its
    /// unstretched lengths stay.
    pub fn lay_anew(&mut self, positions: &[DVec3]) {
        let count = positions.len();
        self.positions[..count].copy_from_slice(positions);
        self.directors[..count - 1].copy_from_slice(&untwisted(positions));
        self.spin[..count].fill(0.0);
        self.set[..count].fill(DVec3::ZERO);
        self.reference_twist[..count].fill(0.0);
    }

    /// Joins thread that was slack in a palm, nodes `slack`, to the one node after it: moved as it lies so that
    /// neither stretch nor bend nor twist comes of it there, and rolled so that it has no twist in itself.
    pub fn join(&mut self, slack: Range<usize>) {
        let next = slack.end;
        if slack.is_empty() || next + 1 >= self.node_count() || !self.whole[next - 1] {
            return;
        }
        let length = self.rest_lengths[next - 1];
        let after = (self.positions[next + 1] - self.positions[next]) / self.rest_lengths[next];
        let place = self.positions[next] - (after - self.set[next]).normalize() * length;
        let shift = place - self.positions[next - 1];
        let before = self.positions.clone();
        for node in slack.clone() {
            self.positions[node] += shift;
        }
        let spin = self.spin.clone();
        self.transport(&before, &spin);
        for edge in slack.rev() {
            self.spin[edge] = self.spin[edge + 1] + self.reference_twist[edge + 1];
        }
    }

    /// How many nodes there are.
    #[must_use]
    pub fn node_count(&self) -> usize {
        self.positions.len()
    }

    /// The node at a material coordinate [mm], or the next one.
    #[must_use]
    pub fn node_at(&self, material: f64) -> usize {
        self.material.partition_point(|&s| s < material).min(self.node_count() - 1)
    }

    /// The pieces that cuts have left, as runs of nodes from the swaged end on.
    #[must_use]
    pub fn pieces(&self) -> Vec<Range<usize>> {
        let cuts = self.whole.iter().enumerate().filter(|(_, whole)| !**whole).map(|(edge, _)| edge + 1);
        let ends = cuts.chain([self.node_count()]);
        ends.scan(0, |start, end| Some(std::mem::replace(start, end)..end)).collect()
    }

    /// Whether edge `i` (from node i to i + 1) carries force and can touch: it is whole, not in a palm and not
    /// between held nodes.
    #[must_use]
    pub fn live(&self, i: usize) -> bool {
        self.whole[i] && !self.carried[i] && !self.carried[i + 1] && (self.free[i] || self.free[i + 1])
    }

    /// Whether interior node `i` resists bending and twist: both its edges are whole, none of it lies in a palm, and not
    /// all of it is held. Two held nodes and a free one are a clamp.
    #[must_use]
    pub fn bends(&self, i: usize) -> bool {
        let nodes = i - 1..=i + 1;
        self.whole[i - 1]
            && self.whole[i]
            && !self.carried[nodes.clone()].contains(&true)
            && self.free[nodes].contains(&true)
    }

    /// Tension of edge `i` [mN], from its strain.
    #[must_use]
    pub fn tension(&self, i: usize) -> f64 {
        if !self.live(i) {
            return 0.0;
        }
        self.section.force_strain.at(self.section.axial_stiffness, self.strain(i)).force
    }

    /// Strain of edge `i` [1].
    #[must_use]
    pub fn strain(&self, i: usize) -> f64 {
        self.positions[i].distance(self.positions[i + 1]) / self.rest_lengths[i] - 1.0
    }

    /// Moves frames, set and reference twist from where the nodes were to where they are: the reference frame of an
    /// edge is transported in time, and the set turns with the material, spin included.
    pub fn transport(&mut self, before: &[DVec3], spin_before: &[f64]) {
        let edges = self.rest_lengths.len();
        let mut turns = Vec::with_capacity(edges);
        let mut tangents = Vec::with_capacity(edges);
        for i in 0..edges {
            let old = (before[i + 1] - before[i]).normalize();
            let new = (self.positions[i + 1] - self.positions[i]).normalize();
            let turn = rotation_between(old, new);
            let carried = turn * self.directors[i];
            self.directors[i] = (carried - new * carried.dot(new)).normalize();
            turns.push(turn);
            tangents.push(new);
        }
        // An edge's spin, which its next node wants as well.
        let mut last = None;
        for i in 1..edges {
            if self.set[i] != DVec3::ZERO {
                let length = self.set[i].length();
                let spun = |e: usize| rotation(tangents[e], self.spin[e] - spin_before[e]);
                let before = last.filter(|&(e, _)| e == i - 1).map_or_else(|| spun(i - 1), |(_, spun)| spun);
                let after = spun(i);
                last = Some((i, after));
                let sum = before * (turns[i - 1] * self.set[i]) + after * (turns[i] * self.set[i]);
                self.set[i] = sum.normalize_or_zero() * length;
            }
            self.reference_twist[i] = self.frame_turn(i, [tangents[i - 1], tangents[i]], self.reference_twist[i]);
        }
    }

    /// Turn from the reference director of the edge before node `i`, carried over to the edge after it, to that edge's own
    /// [rad], to the full turn nearest to `wanted`.
    fn frame_turn(&self, i: usize, tangents: [DVec3; 2], wanted: f64) -> f64 {
        let carried = rotation_between(tangents[0], tangents[1]) * self.directors[i - 1];
        let sine = carried.cross(self.directors[i]).dot(tangents[1]);
        let cosine = carried.dot(self.directors[i]);
        let angle = atan2(sine, cosine);
        let turn = 2.0 * PI;
        angle + turn * ((wanted - angle) / turn).round()
    }

    /// Twist at node `i` [rad]; none where nothing resists it.
    #[must_use]
    pub fn twist(&self, i: usize) -> f64 {
        if self.resists(i) { self.spin[i] - self.spin[i - 1] + self.reference_twist[i] } else { 0.0 }
    }

    /// Whether node `i` is an interior one that [bends](Rod::bends).
    fn resists(&self, i: usize) -> bool {
        i > 0 && i + 1 < self.node_count() && self.bends(i)
    }

    /// Lets the set follow the curvature the thread has been held in for `time` [ms], and take up what is bent beyond the
    /// yield curvature (return mapping).
    ///
    /// In a shape that does not change the elastic part of a bend fades as `exp(-time / set_relaxation)` (Maxwell 1867,
    /// Phil. Trans. R. Soc. 157:49), which is done exactly here; the set gains what that loses, in its direction, so that
    /// bending energy only ever falls and moments keep their balance.
    ///
    /// Nodes within a range of `spared` material coordinates [mm] are bent by something soft and take none.
    pub fn take_set(&mut self, time: f64, spared: &[(f64, f64)]) {
        let fades = self.section.set_relaxation.is_finite();
        let kept = if fades { exp(-time / self.section.set_relaxation) } else { 1.0 };
        for i in 1..self.node_count() - 1 {
            let s = self.material[i];
            if spared.iter().any(|&(from, to)| s > from && s < to) || !self.bends(i) {
                continue;
            }
            let elastic = bend::tangent_change(self, i) - self.set[i];
            if fades {
                self.set[i] += elastic * (1.0 - kept);
            }
            let allowed = self.section.yield_curvature * bend::voronoi_length(self, i);
            let size = kept * elastic.length();
            if size > allowed {
                self.set[i] += elastic * kept * (1.0 - allowed / size);
            }
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// Wet gut of size 4-0, in round numbers.
    pub(crate) fn gut() -> Section {
        Section {
            radius: 0.1125,
            axial_stiffness: 32_000.0,
            force_strain: ForceStrain::HOOKE,
            strength: f64::INFINITY,
            bending_stiffness: 100.0,
            twist_stiffness: 71.0,
            yield_curvature: 0.75,
            set_relaxation: f64::INFINITY,
            friction_thread: 0.35,
            friction_steel: 0.2,
            friction_tissue: 0.25,
            friction_load: LoadLaw::COULOMB,
            weight: 5e-4,
            contact_stiffness: 2e5,
        }
    }

    /// A thread wound along an uneven screw.
    pub(crate) fn bent(section: Section, nodes: usize) -> Rod {
        let place = |k: usize| {
            let s = k as f64;
            DVec3::new(0.3 * s, crate::math::sin(0.8 * s) * 0.35, crate::math::cos(0.6 * s) * (0.3 + 0.02 * s))
        };
        Rod::at_rest(section, (0..nodes).map(place).collect())
    }

    #[test]
    fn a_thread_turned_as_a_whole_keeps_its_twist_and_takes_its_set_along() {
        let mut rod = bent(gut(), 12);
        rod.set[5] = DVec3::new(0.5, -0.2, 0.4);
        rod.spin[7] = 0.3;
        let twist = |rod: &Rod, i: usize| rod.spin[i] - rod.spin[i - 1] + rod.reference_twist[i];
        let before = rod.clone();
        let turn = rotation(DVec3::new(0.4, 0.5, -0.7).normalize(), 0.02);
        // In steps, as in use: the spin of a large turn is not known from its ends.
        for _ in 0..100 {
            let (places, spin) = (rod.positions.clone(), rod.spin.clone());
            for place in &mut rod.positions {
                *place = turn * *place;
            }
            let axis = DVec3::new(turn.x, turn.y, turn.z).normalize();
            for i in 0..11 {
                let mean = (places[i + 1] - places[i]).normalize();
                rod.spin[i] += turning_about(mean, axis, 0.02);
            }
            rod.transport(&places, &spin);
        }
        let whole = rotation(DVec3::new(0.4, 0.5, -0.7).normalize(), 2.0);
        for i in 1..11 {
            assert!((twist(&rod, i) - twist(&before, i)).abs() < 1e-9, "twist of node {i}");
        }
        assert!((rod.set[5] - whole * before.set[5]).length() < 1e-9, "{:?}", rod.set[5]);
    }

    #[test]
    fn thread_that_was_slack_is_joined_without_stretch_bend_or_twist() {
        let mut rod = bent(gut(), 12);
        rod.set[5] = across((rod.positions[6] - rod.positions[5]).normalize()) * 0.06;
        rod.spin[3] = 2.0;
        for node in 0..5 {
            // As a palm leaves it: somewhere else, and turned.
            rod.positions[node] += DVec3::new(4.0, -1.0, 2.0);
        }
        let (before, shape) = (rod.positions.clone(), |rod: &Rod| rod.positions[3] - rod.positions[0]);
        let slack = shape(&rod);
        rod.join(0..5);
        assert!(rod.strain(4).abs() < 1e-12, "strain {}", rod.strain(4));
        // What is left is half the square of the set, over the length that belongs to the node.
        let allowed = 1.1 * 0.5 * 0.06 * 0.06 / bend::voronoi_length(&rod, 5);
        assert!(bend::elastic_curvature(&rod, 5) < allowed, "curvature {}", bend::elastic_curvature(&rod, 5));
        for node in 1..6 {
            assert!(rod.twist(node).abs() < 1e-12, "twist {} at node {node}", rod.twist(node));
        }
        assert!((shape(&rod) - slack).length() < 1e-12, "what was slack keeps its shape");
        assert_eq!(rod.positions[5..], before[5..], "the thread it is joined to stays");
    }

    /// How far a turn about `axis` spins an edge along `tangent` against its least turn.
    fn turning_about(tangent: DVec3, axis: DVec3, angle: f64) -> f64 {
        let turn = rotation(axis, angle);
        let least = rotation_between(tangent, turn * tangent);
        let side = across(tangent);
        let (is, would) = (turn * side, least * side);
        crate::math::atan2(would.cross(is).dot(turn * tangent), would.dot(is))
    }
}
