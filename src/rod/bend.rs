//! Bending energy of the rod: one term per interior node, `B/(2 L) |c - p|^2`, with `c` the change of
//! (unstretched-length) tangent across the node, `p` the set it has taken and `L` the node's Voronoi length.
//!
//! `c` is linear in the positions. A set belongs to the material, so `p` turns with the two edges and their spin,
//! within a step too: a set left standing in space would push the thread round without end, with nothing to take the
//! reaction.

use super::Rod;
use super::equations::{Equations, rows};
use super::stretch::outer;
use crate::math::{DMat3, DQuat, DVec3, rotation, rotation_between};

/// Half the rest lengths of the two edges at node `i` [mm].
#[must_use]
pub fn voronoi_length(rod: &Rod, i: usize) -> f64 {
    0.5 * (rod.rest_lengths[i - 1] + rod.rest_lengths[i])
}

/// Change of tangent at interior node `i` [1], from the rod's own positions.
#[must_use]
pub fn tangent_change(rod: &Rod, i: usize) -> DVec3 {
    change(rod, &rod.positions, i)
}

/// Curvature at interior node `i` beyond its set [1/mm]: what springs back.
#[must_use]
pub fn elastic_curvature(rod: &Rod, i: usize) -> f64 {
    (tangent_change(rod, i) - rod.set[i]).length() / voronoi_length(rod, i)
}

fn change(rod: &Rod, positions: &[DVec3], i: usize) -> DVec3 {
    (positions[i + 1] - positions[i]) / rod.rest_lengths[i]
        - (positions[i] - positions[i - 1]) / rod.rest_lengths[i - 1]
}

/// How an edge has turned since the start of the step, and its material with it.
#[derive(Debug, Clone, Copy)]
struct Turn {
    /// Direction now.
    tangent: DVec3,
    /// Length now [mm].
    length: f64,
    /// The least turn from the direction at the start to that now.
    least: DQuat,
    /// Turn of the material about the edge beyond that; `None` if there is none.
    spun: Option<DQuat>,
}

impl Turn {
    fn of_edge(rod: &Rod, starts: &[DVec3], positions: &[DVec3], spin: &[f64], e: usize) -> Turn {
        let edge = positions[e + 1] - positions[e];
        let length = edge.length();
        let tangent = edge / length;
        let spun = spin[e] - rod.spin[e];
        let spun = if spun == 0.0 { None } else { Some(rotation(tangent, spun)) };
        Turn { tangent, length, least: rotation_between(starts[e], tangent), spun }
    }

    /// A set that the edge has carried along.
    #[inline(always)]
    fn carry(&self, set: DVec3) -> DVec3 {
        let turned = self.least * set;
        self.spun.map_or(turned, |spun| spun * turned)
    }

    /// Turn of the edge's material per motion of its second end against its first [1/mm].
    #[inline(always)]
    fn by_motion(&self, start: DVec3) -> DMat3 {
        // The least turn from the start to here and the least turn onward differ from the least turn there at once, by the
        // area the three directions span on the sphere.
        let area = self.tangent.cross(start) / (1.0 + start.dot(self.tangent)).max(1e-6);
        (cross_matrix(self.tangent) + outer(self.tangent, area)) * (1.0 / self.length)
    }
}

/// Directions of the edges [1], shape [node_count - 1].
pub(crate) fn tangents(rod: &Rod) -> Vec<DVec3> {
    rod.positions.windows(2).map(|ends| (ends[1] - ends[0]).normalize()).collect()
}

/// How the edges have turned at some positions and spins, and turn on with a motion; edges that carry no set are left out.
#[derive(Debug, Clone, Default)]
pub(crate) struct Turns {
    edges: Vec<Option<Turn>>,
    /// The set of each node that has one and bends, as the edges before and after it have carried it.
    sets: Vec<[DVec3; 2]>,
}

impl Turns {
    /// The turns at the given positions and spins; `rod` holds the state at the start of the step, `starts` its
    /// [directions](tangents).
    pub(crate) fn at(rod: &Rod, starts: &[DVec3], positions: &[DVec3], spin: &[f64]) -> Turns {
        let mut edges: Vec<Option<Turn>> = vec![None; starts.len()];
        let mut sets = vec![[DVec3::ZERO; 2]; starts.len()];
        let turn = |e: usize| Turn::of_edge(rod, starts, positions, spin, e);
        for i in (1..starts.len()).filter(|&i| rod.set[i] != DVec3::ZERO && rod.bends(i)) {
            let before = *edges[i - 1].get_or_insert_with(|| turn(i - 1));
            let after = turn(i);
            sets[i] = [before.carry(rod.set[i]), after.carry(rod.set[i])];
            edges[i] = Some(after);
        }
        Turns { edges, sets }
    }

    /// Those of the two edges at a node with a set.
    #[inline(always)]
    fn at_node(&self, i: usize) -> Option<[&Turn; 2]> {
        Some([self.edges[i - 1].as_ref()?, self.edges[i].as_ref()?])
    }
}

/// Matrix of the cross product `v x`.
#[inline(always)]
fn cross_matrix(v: DVec3) -> DMat3 {
    DMat3::from_cols(v.cross(DVec3::X), v.cross(DVec3::Y), v.cross(DVec3::Z))
}

/// Cross products of `v` with the columns of a matrix.
#[inline(always)]
fn crossed(v: DVec3, matrix: DMat3) -> DMat3 {
    DMat3::from_cols(v.cross(matrix.x_axis), v.cross(matrix.y_axis), v.cross(matrix.z_axis))
}

/// Energy of all nodes [mN mm] at the trial positions and spins; `rod` holds the state at the start of the step.
#[must_use]
pub fn energy(rod: &Rod, positions: &[DVec3], spin: &[f64]) -> f64 {
    energy_at(rod, positions, &Turns::at(rod, &tangents(rod), positions, spin))
}

/// The same with edges turned by `turns`.
pub(crate) fn energy_at(rod: &Rod, positions: &[DVec3], turns: &Turns) -> f64 {
    let mut sum = 0.0;
    for i in 1..rod.node_count() - 1 {
        if !rod.bends(i) {
            continue;
        }
        let mut elastic = change(rod, positions, i);
        if rod.set[i] != DVec3::ZERO {
            let [before, after] = turns.sets[i];
            elastic -= (before + after) * 0.5;
        }
        sum += 0.5 * rod.section.bending_stiffness / voronoi_length(rod, i) * elastic.length_squared();
    }
    sum
}

/// Adds gradient and tangent at positions and their turns; returns the energy.
#[inline(always)]
pub(crate) fn assemble(
    rod: &Rod,
    starts: &[DVec3],
    positions: &[DVec3],
    turns: &Turns,
    equations: &mut Equations,
) -> f64 {
    let mut sum = 0.0;
    // An edge's turning per motion, which its next node wants as well.
    let mut last: Option<(usize, DMat3)> = None;
    for i in 1..rod.node_count() - 1 {
        if !rod.bends(i) {
            continue;
        }
        let elastic = match turns.at_node(i).filter(|_| rod.set[i] != DVec3::ZERO) {
            Some([before, after]) => {
                let known = last.filter(|&(edge, _)| edge == i - 1);
                let before_by = known.map_or_else(|| before.by_motion(starts[i - 1]), |(_, by)| by);
                let after_by = after.by_motion(starts[i]);
                last = Some((i, after_by));
                assemble_set(rod, positions, [(before, before_by), (after, after_by)], turns.sets[i], i, equations)
            }
            None => assemble_straight(rod, positions, i, equations),
        };
        sum += 0.5 * rod.section.bending_stiffness / voronoi_length(rod, i) * elastic.length_squared();
    }
    sum
}

fn weights(rod: &Rod, i: usize) -> [f64; 3] {
    let (before, after) = (1.0 / rod.rest_lengths[i - 1], 1.0 / rod.rest_lengths[i]);
    [before, -(before + after), after]
}

#[inline(always)]
fn assemble_straight(rod: &Rod, positions: &[DVec3], i: usize, equations: &mut Equations) -> DVec3 {
    let elastic = change(rod, positions, i);
    let stiffness = rod.section.bending_stiffness / voronoi_length(rod, i);
    let weights = weights(rod, i);
    for (a, &wa) in weights.iter().enumerate() {
        equations.add_force(i - 1 + a, elastic * (-stiffness * wa));
        if equations.gradient_only() {
            continue;
        }
        for (b, &wb) in weights.iter().enumerate().skip(a) {
            equations.add_even_stiffness(i - 1 + a, i - 1 + b, stiffness * wa * wb);
        }
    }
    elastic
}

#[inline(always)]
fn assemble_set(
    rod: &Rod,
    positions: &[DVec3],
    turns: [(&Turn, DMat3); 2],
    sets: [DVec3; 2],
    i: usize,
    equations: &mut Equations,
) -> DVec3 {
    let elastic = change(rod, positions, i) - (sets[0] + sets[1]) * 0.5;
    let stiffness = rod.section.bending_stiffness / voronoi_length(rod, i);
    let weight = weights(rod, i);
    let weights = [DMat3::IDENTITY * weight[0], DMat3::IDENTITY * weight[1], DMat3::IDENTITY * weight[2]];
    let by_set = |k: usize| crossed(sets[k], turns[k].1) * 0.5;
    let (before, after) = (by_set(0), by_set(1));
    let by_spin = |k: usize| turns[k].0.tangent.cross(sets[k]) * -0.5;
    let by = [
        rows(&(weights[0] - before), by_spin(0)),
        rows(&(weights[1] + before - after), by_spin(1)),
        rows(&(weights[2] + after), DVec3::ZERO),
    ];
    equations.add_squared(i - 1, &by, elastic, stiffness);
    if equations.gradient_only() {
        return elastic;
    }
    for k in [0, 1] {
        let along = elastic.dot(sets[k]);
        let turning = if equations.exact() {
            let mixed = outer(elastic, sets[k]);
            DMat3::IDENTITY * along - (mixed + mixed.transpose()) * 0.5
        } else {
            DMat3::IDENTITY * along.max(0.0)
        };
        let (turn, by_motion) = &turns[k];
        equations.add_turning(i - 1 + k, by_motion, turn.tangent, turning * (0.5 * stiffness));
    }
    elastic
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rod::tests::{bent, gut};

    #[test]
    fn a_set_follows_a_small_turn_of_the_whole_thread_to_first_order() {
        let mut rod = bent(gut(), 9);
        rod.set[4] = DVec3::new(0.3, -0.2, 0.25);
        let axis = DVec3::new(0.4, 0.5, -0.7).normalize();
        let angle = 1e-4;
        let turn = rotation(axis, angle);
        let positions: Vec<DVec3> = rod.positions.iter().map(|p| turn * *p).collect();
        let mut spin = rod.spin.clone();
        for (i, pair) in rod.positions.windows(2).enumerate() {
            spin[i] += angle * axis.dot((pair[1] - pair[0]).normalize());
        }
        for edge in [3, 4] {
            let set = Turn::of_edge(&rod, &tangents(&rod), &positions, &spin, edge).carry(rod.set[4]);
            // Spin is not the whole turn about the tangent but for small angles: what is left out is of second order, 1e-8.
            assert!((set - turn * rod.set[4]).length() < 1e-8, "{set:?} against {:?}", turn * rod.set[4]);
        }
    }
}
