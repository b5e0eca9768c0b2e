//! Coulomb friction as a spring in positions with a slip limit, acting on the thread's surface with its couple.
//!
//! Each contact keeps how far its spring is stretched (its anchor). Within a step the limit is that of the step's
//! start, so the step has a true energy, quadratic while sticking and linear while slipping. Friction smoothed in
//! velocity would creep and untie every knot in minutes; this one does not move at all below its limit.
//!
//! Source: Cundall & Strack 1979, Geotechnique 29:47 (tangential spring with a Coulomb cap); the couple follows from
//! letting the force act where the surfaces meet.

use crate::math::{DMat3, DVec3, pow};
use crate::rod::stretch::outer;

/// How friction goes with the force that presses: with a power of it, between bounds.
///
/// The force is that of one contact: an edge on an edge, on a tool, or a node on a plane.
///
/// Source: index of load, Howell 1953, J. Text. Inst. 44:T359, from memory; Bowden & Tabor 1950, The Friction and
/// Lubrication of Solids, from memory: 0 for rough surfaces that flow plastically, -1/3 for smooth elastic ones (Hertz).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadLaw {
    /// Power of the force with which the coefficient goes [1], 0 or below.
    pub exponent: f64,
    /// Force at which the coefficients hold [mN].
    pub load: f64,
    /// Least and greatest share of the coefficient that was ever measured [1].
    pub shares: [f64; 2],
}

impl LoadLaw {
    /// Friction in proportion to the force (Coulomb).
    pub const COULOMB: LoadLaw = LoadLaw { exponent: 0.0, load: 1.0, shares: [0.0, f64::INFINITY] };

    /// What is left of a coefficient under `force` [mN], as a share.
    #[must_use]
    pub fn share(&self, force: f64) -> f64 {
        if self.exponent == 0.0 || force <= 0.0 {
            return 1.0;
        }
        let [least, most] = self.shares;
        pow(force / self.load, self.exponent).clamp(least, most)
    }
}

/// How one block of unknowns (x, y, z, spin) moves the sliding surface: u gains `by_position` dx + `by_spin` dspin.
#[derive(Debug, Clone, Copy)]
pub struct Lever {
    /// Index of the block.
    pub block: usize,
    /// Slip per displacement [1].
    pub by_position: DMat3,
    /// Slip per spin [mm/rad].
    pub by_spin: DVec3,
}

/// A friction spring, frozen for one step.
#[derive(Debug, Clone)]
pub struct Friction {
    /// Stretch at the start of the step, with what moving tools add to it [mm].
    pub anchor: DVec3,
    /// Normal at the start of the step.
    pub normal: DVec3,
    /// Slip limit [mN].
    pub limit: f64,
    /// Spring stiffness [mN/mm].
    pub stiffness: f64,
    /// Which unknowns move it, and how.
    pub levers: Vec<Lever>,
}

impl Friction {
    /// Stretch of the spring [mm] when the blocks have moved by `moved` (position, spin) since the start of the step.
    #[must_use]
    pub fn stretch(&self, moved: impl Fn(usize) -> (DVec3, f64)) -> DVec3 {
        let mut u = self.anchor;
        for lever in &self.levers {
            let (shift, spin) = moved(lever.block);
            u += lever.by_position * shift + lever.by_spin * spin;
        }
        u
    }

    /// Energy of a stretch [mN mm].
    #[must_use]
    pub fn energy(&self, stretch: DVec3) -> f64 {
        let size = stretch.length();
        if self.stiffness * size <= self.limit {
            0.5 * self.stiffness * size * size
        } else {
            self.limit * size - 0.5 * self.limit * self.limit / self.stiffness
        }
    }

    /// Force against a stretch [mN] and its tangent [mN/mm].
    #[must_use]
    pub fn force(&self, stretch: DVec3) -> (DVec3, DMat3) {
        let size = stretch.length();
        if self.stiffness * size <= self.limit {
            (stretch * self.stiffness, DMat3::IDENTITY * self.stiffness)
        } else {
            let direction = stretch / size;
            (direction * self.limit, (DMat3::IDENTITY - outer(direction, direction)) * (self.limit / size))
        }
    }
}

/// The part of `v` at right angles to the unit vector `normal`.
#[must_use]
pub fn tangential(v: DVec3, normal: DVec3) -> DVec3 {
    v - normal * v.dot(normal)
}

/// `v`, no longer than `limit`.
#[must_use]
pub fn clipped(v: DVec3, limit: f64) -> DVec3 {
    let size = v.length();
    if size > limit { v * (limit / size) } else { v }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn friction_falls_with_the_power_of_the_load_and_stays_within_what_was_measured() {
        let law = LoadLaw { exponent: -0.25, load: 1000.0, shares: [0.6, 1.5] };
        for (force, share) in [(1000.0, 1.0), (16_000.0, 0.6), (4000.0, 0.5_f64.sqrt()), (62.5, 1.5), (0.0, 1.0)] {
            assert!((law.share(force) - share).abs() < 1e-12, "{force} mN: {}", law.share(force));
        }
        for force in [1e-3, 1.0, 777.7] {
            assert_eq!(LoadLaw::COULOMB.share(force).to_bits(), 1.0_f64.to_bits());
        }
    }
}
