//! Stretching energy of the rod: one linear spring per edge, `EA/(2 l0) (l - l0)^2`.

use super::Rod;
use super::equations::Equations;
use crate::math::{DMat3, DVec3};

/// Energy of all edges [mN mm] at the trial positions.
#[must_use]
pub fn energy(rod: &Rod, positions: &[DVec3]) -> f64 {
    let mut sum = 0.0;
    for i in 0..rod.rest_lengths.len() {
        if rod.live(i) {
            let stretch = positions[i].distance(positions[i + 1]) - rod.rest_lengths[i];
            sum += 0.5 * rod.section.axial_stiffness / rod.rest_lengths[i] * stretch * stretch;
        }
    }
    sum
}

/// Adds gradient and tangent. Unless the true tangent is wanted, a slack edge keeps only its axial stiffness, so that
/// the tangent stays positive. Returns the energy.
pub(crate) fn assemble(rod: &Rod, positions: &[DVec3], equations: &mut Equations) -> f64 {
    let mut sum = 0.0;
    for i in 0..rod.rest_lengths.len() {
        if !rod.live(i) {
            continue;
        }
        let along = positions[i + 1] - positions[i];
        let length = along.length();
        let tangent = along / length;
        let stiffness = rod.section.axial_stiffness / rod.rest_lengths[i];
        let tension = stiffness * (length - rod.rest_lengths[i]);
        sum += 0.5 * tension * (length - rod.rest_lengths[i]);
        equations.add_force(i, tangent * tension);
        equations.add_force(i + 1, -tangent * tension);
        if equations.gradient_only() {
            continue;
        }
        let outer = outer(tangent, tangent);
        let across = if equations.exact() { tension / length } else { (tension / length).max(0.0) };
        let block = outer * stiffness + (DMat3::IDENTITY - outer) * across;
        equations.add_stiffness(i, i, block);
        equations.add_stiffness(i + 1, i + 1, block);
        equations.add_stiffness(i, i + 1, -block);
    }
    sum
}

/// a b^T
#[must_use]
pub fn outer(a: DVec3, b: DVec3) -> DMat3 {
    DMat3::from_cols(a * b.x, a * b.y, a * b.z)
}
