//! Bending energy of the rod: one term per interior node, `B/(2 L) |c - p|^2`, with `c` the change of
//! (unstretched-length) tangent across the node, `p` the set it has taken and `L` the node's Voronoi length.
//!
//! `c` is linear in the positions, so this energy is quadratic and its tangent never changes.

use super::Rod;
use super::step::Equations;
use crate::math::{DMat3, DVec3};

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

fn change(rod: &Rod, positions: &[DVec3], i: usize) -> DVec3 {
    (positions[i + 1] - positions[i]) / rod.rest_lengths[i]
        - (positions[i] - positions[i - 1]) / rod.rest_lengths[i - 1]
}

/// Energy of all nodes [mN mm] at the trial positions.
#[must_use]
pub fn energy(rod: &Rod, positions: &[DVec3]) -> f64 {
    let mut sum = 0.0;
    for i in 1..rod.node_count() - 1 {
        if rod.live(i - 1) && rod.live(i) {
            let elastic = change(rod, positions, i) - rod.set[i];
            sum += 0.5 * rod.section.bending_stiffness / voronoi_length(rod, i) * elastic.length_squared();
        }
    }
    sum
}

/// Adds gradient and tangent.
pub(crate) fn assemble(rod: &Rod, positions: &[DVec3], equations: &mut Equations) {
    for i in 1..rod.node_count() - 1 {
        if !(rod.live(i - 1) && rod.live(i)) {
            continue;
        }
        let elastic = change(rod, positions, i) - rod.set[i];
        let stiffness = rod.section.bending_stiffness / voronoi_length(rod, i);
        let (before, after) = (1.0 / rod.rest_lengths[i - 1], 1.0 / rod.rest_lengths[i]);
        let weights = [before, -(before + after), after];
        for (a, &wa) in weights.iter().enumerate() {
            equations.add_force(i - 1 + a, elastic * (-stiffness * wa));
            for (b, &wb) in weights.iter().enumerate().skip(a) {
                equations.add_stiffness(i - 1 + a, i - 1 + b, DMat3::IDENTITY * (stiffness * wa * wb));
            }
        }
    }
}
