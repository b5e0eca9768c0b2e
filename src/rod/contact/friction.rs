//! Coulomb friction as a spring in positions with a slip limit, acting on the thread's surface with its couple.
//!
//! Each contact keeps how far its spring is stretched (its anchor). Within a step the limit is that of the step's
//! start, so the step has a true energy, quadratic while sticking and linear while slipping. Friction smoothed in
//! velocity would creep and untie every knot in minutes; this one does not move at all below its limit.
//!
//! Source: Cundall & Strack 1979, Geotechnique 29:47 (tangential spring with a Coulomb cap); the couple follows from
//! letting the force act where the surfaces meet.

use crate::math::{DMat3, DVec3};
use crate::rod::stretch::outer;

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
