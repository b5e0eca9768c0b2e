//! Out of plane, each bite is one scalar spring: soft and stiffening when lifted, stopped when pressed down.
//!
//! Lifting a thin flap first bends it and then stretches it, so the force grows as k1 z + k3 z^3, the two terms of a
//! clamped plate at large deflection (Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., chapter 13;
//! from memory). Bending goes with the cube of the thickness, stretching with the thickness itself.
//! Below the flap lie graft and bone.

use serde::{Deserialize, Serialize};

/// Thickness [mm] at which the lift constants are given.
const REFERENCE_THICKNESS: f64 = 1.4;

/// Spring constants of a bite across the flap.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LiftSettings {
    /// k1, the small-motion stiffness of a flap 1.4 mm thick [mN/mm].
    pub linear_mn_per_mm: f64,
    /// k3, the stiffening of a flap 1.4 mm thick [mN/mm^3].
    pub cubic_mn_per_mm3: f64,
    /// Stiffness of graft and bone below [mN/mm].
    pub support_mn_per_mm: f64,
}

impl Default for LiftSettings {
    /// Estimate: the cubic through 0.01 N at 0.67 mm, 0.12 N at 3.3 mm and 0.3 N at 5.2 mm within 8 %, which
    /// large-strain elements of a 20 x 10 x 1.4 mm flap of 0.209 MPa gave; the support is any value that lets 0.1 N
    /// sink by 0.05 mm.
    fn default() -> Self {
        Self { linear_mn_per_mm: 15.0, cubic_mn_per_mm3: 1.7, support_mn_per_mm: 2000.0 }
    }
}

/// The spring of one flap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lift {
    linear: f64,
    cubic: f64,
    support: f64,
}

impl Lift {
    /// The spring of a flap of `thickness` [mm].
    #[must_use]
    pub fn new(settings: &LiftSettings, thickness: f64) -> Self {
        let ratio = thickness / REFERENCE_THICKNESS;
        Self {
            linear: settings.linear_mn_per_mm * ratio * ratio * ratio,
            cubic: settings.cubic_mn_per_mm3 * ratio,
            support: settings.support_mn_per_mm,
        }
    }

    /// Energy [mN mm], force [mN] and stiffness [mN/mm] at a height above rest [mm]; force is the energy's slope.
    #[must_use]
    pub fn at(&self, height: f64) -> [f64; 3] {
        let square = height * height;
        if height < 0.0 {
            return [0.5 * self.support * square, self.support * height, self.support];
        }
        [
            0.5 * self.linear * square + 0.25 * self.cubic * square * square,
            (self.linear + self.cubic * square) * height,
            self.linear + 3.0 * self.cubic * square,
        ]
    }

    /// Height above rest [mm] at which the spring balances an upward `force` [mN].
    #[must_use]
    pub fn height(&self, force: f64) -> f64 {
        if force <= 0.0 {
            return force / self.support;
        }
        // The curve is convex, so Newton from above its root only comes down; it settles in fewer steps than these.
        const STEPS: usize = 40;
        let mut height = force / self.linear;
        for _ in 0..STEPS {
            let [_, at, stiffness] = self.at(height);
            height -= (at - force) / stiffness;
        }
        height
    }
}
