//! From forces and stresses to the pressure on the blood in the gum.

use serde::{Deserialize, Serialize};

use super::sheet::Stress;
use crate::math::{DVec2, exp};

/// How stresses and pressing threads add up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PressureSettings {
    /// Share of the in-plane tension that presses inward over the ridge.
    ///
    /// Laplace: a sheet of thickness t under tension s over a ridge of radius R presses with s t / R;
    /// 1.4 mm over 8 to 14 mm is 0.10 to 0.18 (estimate).
    pub tension_share: f64,
    /// Width s of the halo exp(-r^2 / 2 s^2) where the thread pinches the flap at a hole [mm] (estimate: 0.21 of 1.4
    /// mm).
    pub pinch_width_mm: f64,
    /// The same for what lies on the surface: limbs of the thread, knot, instruments [mm] (estimate: a third of 1.4
    /// mm).
    pub press_width_mm: f64,
}

impl Default for PressureSettings {
    fn default() -> Self {
        Self { tension_share: 0.1, pinch_width_mm: 0.3, press_width_mm: 0.5 }
    }
}

/// Pressure [kPa] that in-plane stress alone puts on the blood: mean compression plus a share of the tension.
#[must_use]
pub fn in_plane_pressure(stress: &Stress, tension_share: f64) -> f64 {
    (-stress.mean()).max(0.0) + tension_share * stress.greatest().max(0.0)
}

/// A force pressed through the flap, spread as a round blob.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Halo {
    /// Middle in the flap's own coordinates [mm].
    pub centre: DVec2,
    /// Pressing force [mN], not negative.
    pub force: f64,
    /// Width s of exp(-r^2 / 2 s^2) [mm].
    pub width: f64,
}

impl Halo {
    /// Distance [mm] beyond which the halo of any bearable force is below a thousandth of the onset pressure.
    #[must_use]
    pub fn reach(&self) -> f64 {
        5.5 * self.width
    }

    /// Pressure [kPa] at `point` [mm]: a third of the stress across the flap, the mean of the three principal stresses.
    #[must_use]
    pub fn pressure(&self, point: DVec2) -> f64 {
        let square = self.width * self.width;
        let peak = self.force / (3.0 * std::f64::consts::TAU * square);
        peak * exp(-0.5 * (point - self.centre).length_squared() / square)
    }
}
