//! The thread: a discrete elastic rod, what touches it, and the step that moves it.
#![doc = include_str!("README.md")]

pub mod bend;
pub mod contact;
pub mod material;
pub mod sparse;
pub mod step;
pub mod stretch;
pub mod surroundings;
pub mod twist;

use crate::math::{DVec3, across, rotation, rotation_between};

/// What a thread is made of, as the solver needs it. Where the numbers come from stands with the material table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Radius [mm].
    pub radius: f64,
    /// Axial stiffness EA [mN].
    pub axial_stiffness: f64,
    /// Bending stiffness EI [mN mm^2].
    pub bending_stiffness: f64,
    /// Twist stiffness GJ [mN mm^2].
    pub twist_stiffness: f64,
    /// Curvature beyond which the thread takes a set [1/mm].
    pub yield_curvature: f64,
    /// Coulomb friction of thread on thread.
    pub friction_thread: f64,
    /// Coulomb friction of thread on an instrument.
    pub friction_steel: f64,
    /// Coulomb friction of thread on and through gum.
    pub friction_tissue: f64,
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
        let tangents: Vec<DVec3> = positions.windows(2).map(|p| (p[1] - p[0]).normalize()).collect();
        let mut directors = vec![across(tangents[0])];
        for pair in tangents.windows(2) {
            let carried = rotation_between(pair[0], pair[1]) * directors[directors.len() - 1];
            directors.push((carried - pair[1] * carried.dot(pair[1])).normalize());
        }
        Rod {
            section,
            positions,
            spin: vec![0.0; count],
            whole: vec![true; rest_lengths.len()],
            rest_lengths,
            material,
            free: vec![true; count],
            carried: vec![false; count],
            set: vec![DVec3::ZERO; count],
            directors,
            reference_twist: vec![0.0; count],
        }
    }

    /// How many nodes there are.
    #[must_use]
    pub fn node_count(&self) -> usize {
        self.positions.len()
    }

    /// Whether edge `i` (from node i to i + 1) carries force and can touch: it is whole, not in a palm and not
    /// between held nodes.
    #[must_use]
    pub fn live(&self, i: usize) -> bool {
        self.whole[i] && !self.carried[i] && !self.carried[i + 1] && (self.free[i] || self.free[i + 1])
    }

    /// Tension of edge `i` [mN], from its strain.
    #[must_use]
    pub fn tension(&self, i: usize) -> f64 {
        if !self.live(i) {
            return 0.0;
        }
        let length = self.positions[i].distance(self.positions[i + 1]);
        self.section.axial_stiffness * (length / self.rest_lengths[i] - 1.0)
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
        for i in 1..edges {
            let mean = (tangents[i - 1] + tangents[i]).normalize_or(tangents[i]);
            let spun = 0.5 * (self.spin[i - 1] - spin_before[i - 1] + self.spin[i] - spin_before[i]);
            let average = (turns[i - 1] * self.set[i] + turns[i] * self.set[i]) * 0.5;
            let length = self.set[i].length();
            let turned = if spun == 0.0 { average } else { rotation(mean, spun) * average };
            self.set[i] = turned.normalize_or_zero() * length;
            let carried = rotation_between(tangents[i - 1], tangents[i]) * self.directors[i - 1];
            let wanted = self.reference_twist[i];
            let sine = carried.cross(self.directors[i]).dot(tangents[i]);
            let cosine = carried.dot(self.directors[i]);
            let angle = crate::math::atan2(sine, cosine);
            let turn = 2.0 * std::f64::consts::PI;
            self.reference_twist[i] = angle + turn * ((wanted - angle) / turn).round();
        }
    }

    /// Lets the thread take a set where it is bent beyond its yield curvature (return mapping).
    ///
    /// Nodes within a range of `spared` material coordinates [mm] are bent by something soft and take none.
    pub fn yield_bending(&mut self, spared: &[(f64, f64)]) {
        for i in 1..self.node_count() - 1 {
            let s = self.material[i];
            if spared.iter().any(|&(from, to)| s > from && s < to) || !(self.live(i - 1) && self.live(i)) {
                continue;
            }
            let elastic = bend::tangent_change(self, i) - self.set[i];
            let allowed = self.section.yield_curvature * bend::voronoi_length(self, i);
            let size = elastic.length();
            if size > allowed {
                self.set[i] += elastic * (1.0 - allowed / size);
            }
        }
    }
}
