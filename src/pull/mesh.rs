//! How far a pull may be off by the mesh: the same pull with edges half as long.

use super::outcome::Pull;

/// How many times shorter the edges of a refined pull are.
pub const FINER: u32 = 2;

/// Power of the edge length with which the error of the holding force is taken to fall: the first.
///
/// Bending and twist are of second order, but strands meet as straight edges with corners between them, and friction's
/// law of load knows one edge's force: those errors go with the edge itself, and they are what holds.
pub const ORDER: i32 = 1;

/// How far the holding force of `coarse` may be off [mN], by that of `fine`, whose edges are half as long.
///
/// Source: Richardson 1911, Phil. Trans. R. Soc. A 210:307, with [`ORDER`].
#[must_use]
pub fn mesh_error(coarse: &Pull, fine: &Pull) -> f64 {
    let finer = f64::from(FINER);
    let left = (0..ORDER).fold(1.0, |left, _| left / finer);
    (fine.holding_force - coarse.holding_force).abs() / (1.0 - left)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_that_falls_with_the_edge_is_found_whole() {
        let held = |holding_force| Pull { holding_force, ..Pull::of_tails([3.0; 2], 1.8) };
        // 5000 mN without a mesh, 600 mN off by the coarser one, either way.
        for off in [600.0, -600.0] {
            let error = mesh_error(&held(5000.0 + off), &held(5000.0 + 0.5 * off));
            assert!((error - 600.0).abs() < 1e-9, "{error}");
        }
    }
}
