//! Bending energy of the rod: one term per interior node, `B/(2 L) |c - p|^2`, with `c` the change of
//! (unstretched-length) tangent across the node, `p` the set it has taken and `L` the node's Voronoi length.
//!
//! `c` is linear in the positions. A set belongs to the material, so `p` turns with the two edges and their spin,
//! within a step too: a set left standing in space would push the thread round without end, with nothing to take the
//! reaction.

use super::Rod;
use super::equations::Equations;
use super::stretch::outer;
use crate::math::{DMat3, DVec3, rotation, rotation_between};

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

/// A node's set as one of its edges has carried it along since the start of the step.
#[derive(Debug, Clone, Copy)]
struct Carried {
    /// The set, turned with the edge.
    set: DVec3,
    /// Direction of the edge.
    tangent: DVec3,
    /// Turn of the edge's material per motion of its second end against its first [1/mm].
    turn_by_motion: DMat3,
}

impl Carried {
    fn by_edge(rod: &Rod, set: DVec3, positions: &[DVec3], spin: &[f64], e: usize) -> Carried {
        let start = (rod.positions[e + 1] - rod.positions[e]).normalize();
        let edge = positions[e + 1] - positions[e];
        let length = edge.length();
        let tangent = edge / length;
        let spun = spin[e] - rod.spin[e];
        let turned = rotation_between(start, tangent) * set;
        let set = if spun == 0.0 { turned } else { rotation(tangent, spun) * turned };
        // The least turn from the start to here and the least turn onward differ from the least turn there at once, by the
        // area the three directions span on the sphere.
        let area = tangent.cross(start) / (1.0 + start.dot(tangent)).max(1e-6);
        let turn_by_motion = (cross_matrix(tangent) + outer(tangent, area)) * (1.0 / length);
        Carried { set, tangent, turn_by_motion }
    }
}

/// Matrix of the cross product `v x`.
fn cross_matrix(v: DVec3) -> DMat3 {
    DMat3::from_cols(v.cross(DVec3::X), v.cross(DVec3::Y), v.cross(DVec3::Z))
}

/// Set of node `i` as both its edges carry it.
fn carried(rod: &Rod, positions: &[DVec3], spin: &[f64], i: usize) -> [Carried; 2] {
    [i - 1, i].map(|e| Carried::by_edge(rod, rod.set[i], positions, spin, e))
}

/// Energy of all nodes [mN mm] at the trial positions and spins; `rod` holds the state at the start of the step.
#[must_use]
pub fn energy(rod: &Rod, positions: &[DVec3], spin: &[f64]) -> f64 {
    let mut sum = 0.0;
    for i in 1..rod.node_count() - 1 {
        if !rod.bends(i) {
            continue;
        }
        let mut elastic = change(rod, positions, i);
        if rod.set[i] != DVec3::ZERO {
            let [before, after] = carried(rod, positions, spin, i);
            elastic -= (before.set + after.set) * 0.5;
        }
        sum += 0.5 * rod.section.bending_stiffness / voronoi_length(rod, i) * elastic.length_squared();
    }
    sum
}

/// Adds gradient and tangent; returns the energy.
pub(crate) fn assemble(rod: &Rod, positions: &[DVec3], spin: &[f64], equations: &mut Equations) -> f64 {
    let mut sum = 0.0;
    for i in 1..rod.node_count() - 1 {
        if !rod.bends(i) {
            continue;
        }
        let elastic = if rod.set[i] == DVec3::ZERO {
            assemble_straight(rod, positions, i, equations)
        } else {
            assemble_set(rod, positions, spin, i, equations)
        };
        sum += 0.5 * rod.section.bending_stiffness / voronoi_length(rod, i) * elastic.length_squared();
    }
    sum
}

fn weights(rod: &Rod, i: usize) -> [f64; 3] {
    let (before, after) = (1.0 / rod.rest_lengths[i - 1], 1.0 / rod.rest_lengths[i]);
    [before, -(before + after), after]
}

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
            equations.add_stiffness(i - 1 + a, i - 1 + b, DMat3::IDENTITY * (stiffness * wa * wb));
        }
    }
    elastic
}

fn assemble_set(rod: &Rod, positions: &[DVec3], spin: &[f64], i: usize, equations: &mut Equations) -> DVec3 {
    let sides = carried(rod, positions, spin, i);
    let elastic = change(rod, positions, i) - (sides[0].set + sides[1].set) * 0.5;
    let stiffness = rod.section.bending_stiffness / voronoi_length(rod, i);
    let weights = weights(rod, i).map(|w| DMat3::IDENTITY * w);
    let [before, after] = sides.map(|side| cross_matrix(side.set) * side.turn_by_motion * 0.5);
    let by_position = [weights[0] - before, weights[1] + before - after, weights[2] + after];
    let by_spin =
        [sides[0].tangent.cross(sides[0].set) * -0.5, sides[1].tangent.cross(sides[1].set) * -0.5, DVec3::ZERO];
    equations.add_squared(i - 1, &by_position, &by_spin, elastic, stiffness);
    if equations.gradient_only() {
        return elastic;
    }
    for (e, side) in [i - 1, i].into_iter().zip(&sides) {
        let along = elastic.dot(side.set);
        let turning = if equations.exact() {
            let mixed = outer(elastic, side.set);
            DMat3::IDENTITY * along - (mixed + mixed.transpose()) * 0.5
        } else {
            DMat3::IDENTITY * along.max(0.0)
        };
        let rows = [-side.turn_by_motion, side.turn_by_motion];
        equations.add_turning(e, &rows, side.tangent, turning * (0.5 * stiffness));
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
        for side in carried(&rod, &positions, &spin, 4) {
            // Spin is not the whole turn about the tangent but for small angles: what is left out is of second order, 1e-8.
            assert!((side.set - turn * rod.set[4]).length() < 1e-8, "{:?} against {:?}", side.set, turn * rod.set[4]);
        }
    }
}
