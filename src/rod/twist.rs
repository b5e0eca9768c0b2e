//! Twist energy of the rod: one term per interior node, `GJ/(2 L) (spin after - spin before + reference twist)^2`.
//!
//! Within one step the reference twist is followed by its first derivative, the curvature binormal over twice the edge
//! length; at the end of the step it is computed anew from the transported frames, so nothing drifts.
//!
//! Source: Bergou, Wardetzky, Robinson, Audoly, Grinspun 2008, Discrete Elastic Rods, ACM Trans. Graph. 27(3), section 6;
//! time-parallel frames: Bergou, Audoly, Vouga, Wardetzky, Grinspun 2010, ACM Trans. Graph. 29(4).

use super::Rod;
use super::bend::voronoi_length;
use super::equations::Equations;
use crate::math::DVec3;

/// What is frozen for one step at each interior node: the twist gradient [1/mm] with respect to nodes i - 1, i, i + 1.
pub(crate) type Gradients = Vec<[DVec3; 3]>;

/// Gradient of the reference twist at every node, shape [node_count]; ends stay zero.
pub(crate) fn gradients(rod: &Rod) -> Gradients {
    let mut all = vec![[DVec3::ZERO; 3]; rod.node_count()];
    for (i, gradient) in all.iter_mut().enumerate().take(rod.node_count() - 1).skip(1) {
        let before = rod.positions[i] - rod.positions[i - 1];
        let after = rod.positions[i + 1] - rod.positions[i];
        let (length_before, length_after) = (before.length(), after.length());
        // A fold back of exactly 180 degrees has no binormal; the floor keeps the number finite there.
        let scale = (length_before * length_after + before.dot(after)).max(1e-3 * length_before * length_after);
        let binormal = before.cross(after) * (2.0 / scale);
        let first = binormal * (0.5 / length_before);
        let last = binormal * (0.5 / length_after);
        *gradient = [-first, first - last, last];
    }
    all
}

#[inline(always)]
fn mismatch(rod: &Rod, gradients: &Gradients, positions: &[DVec3], spin: &[f64], i: usize) -> f64 {
    let mut twist = spin[i] - spin[i - 1] + rod.reference_twist[i];
    for (k, g) in gradients[i].iter().enumerate() {
        twist += g.dot(positions[i - 1 + k] - rod.positions[i - 1 + k]);
    }
    twist
}

/// Energy of all nodes [mN mm]; `rod` holds the state at the start of the step.
pub(crate) fn energy(rod: &Rod, gradients: &Gradients, positions: &[DVec3], spin: &[f64]) -> f64 {
    let mut sum = 0.0;
    for i in 1..rod.node_count() - 1 {
        if rod.bends(i) {
            let twist = mismatch(rod, gradients, positions, spin, i);
            sum += 0.5 * rod.section.twist_stiffness / voronoi_length(rod, i) * twist * twist;
        }
    }
    sum
}

/// Adds gradient and tangent; returns the energy.
#[inline(always)]
pub(crate) fn assemble(
    rod: &Rod,
    gradients: &Gradients,
    positions: &[DVec3],
    spin: &[f64],
    equations: &mut Equations,
) -> f64 {
    let mut sum = 0.0;
    for i in 1..rod.node_count() - 1 {
        if !rod.bends(i) {
            continue;
        }
        let twist = mismatch(rod, gradients, positions, spin, i);
        let stiffness = rod.section.twist_stiffness / voronoi_length(rod, i);
        sum += 0.5 * stiffness * twist * twist;
        let g = &gradients[i];
        let rows = [(g[0], -1.0), (g[1], 1.0), (g[2], 0.0)];
        for (a, &(ga, sa)) in rows.iter().enumerate() {
            let by = |v: f64| v * stiffness * twist;
            equations.add_gradient(i - 1 + a, [by(ga.x), by(ga.y), by(ga.z), by(sa)]);
            if equations.gradient_only() {
                continue;
            }
            for (b, &(gb, sb)) in rows.iter().enumerate().skip(a) {
                equations.add_outer(i - 1 + a, i - 1 + b, [ga.x, ga.y, ga.z, sa], [gb.x, gb.y, gb.z, sb], stiffness);
            }
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rod::tests::{bent, gut};

    #[test]
    fn the_gradient_is_how_transport_changes_the_reference_twist() {
        let rod = bent(gut(), 9);
        let found = gradients(&rod);
        let step = 1e-6;
        for (i, node) in found.iter().enumerate().take(8).skip(1) {
            for (k, by) in node.iter().enumerate() {
                for axis in 0..3 {
                    let at = |sign: f64| {
                        let mut moved = rod.clone();
                        moved.positions[i - 1 + k][axis] += sign * step;
                        moved.transport(&rod.positions, &rod.spin);
                        moved.reference_twist[i]
                    };
                    let slope = (at(1.0) - at(-1.0)) / (2.0 * step);
                    // Central differences err by step^2 and by rounding over the step, 1e-10.
                    let error = (slope - by[axis]).abs();
                    assert!(error < 1e-8, "node {i}, by node {k} of 3, axis {axis}: off by {error}");
                }
            }
        }
    }
}
