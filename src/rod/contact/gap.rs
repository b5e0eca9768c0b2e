//! How hard two surfaces press on each other: linear at first, as real thread is soft at its surface, and stiffening
//! without bound before the centrelines can meet.
//!
//! `N = k g / (1 - (g/m)^2)` for the overlap `g` and its limit `m`; past 95 % of the limit the law goes on along its
//! tangent, so that energies stay finite while an iteration overshoots.

use crate::math::ln;

/// A pressing law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pressing {
    /// Stiffness at first touch [mN/mm].
    pub stiffness: f64,
    /// Overlap that would need infinite force [mm].
    pub overlap_max: f64,
}

/// Energy [mN mm], force [mN] and tangent [mN/mm] of an overlap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pressed {
    /// Energy [mN mm].
    pub energy: f64,
    /// Force [mN].
    pub force: f64,
    /// Tangent stiffness [mN/mm].
    pub tangent: f64,
}

const EXTRAPOLATE_FROM: f64 = 0.95;

impl Pressing {
    /// The law at an overlap [mm]; all zero when the surfaces are apart.
    #[must_use]
    pub fn at(&self, overlap: f64) -> Pressed {
        if overlap <= 0.0 {
            return Pressed { energy: 0.0, force: 0.0, tangent: 0.0 };
        }
        let share = overlap / self.overlap_max;
        if share <= EXTRAPOLATE_FROM {
            return self.inside(share);
        }
        let edge = self.inside(EXTRAPOLATE_FROM);
        let past = overlap - EXTRAPOLATE_FROM * self.overlap_max;
        Pressed {
            energy: edge.energy + edge.force * past + 0.5 * edge.tangent * past * past,
            force: edge.force + edge.tangent * past,
            tangent: edge.tangent,
        }
    }

    fn inside(&self, share: f64) -> Pressed {
        let rest = 1.0 - share * share;
        Pressed {
            energy: -0.5 * self.stiffness * self.overlap_max * self.overlap_max * ln(rest),
            force: self.stiffness * self.overlap_max * share / rest,
            tangent: self.stiffness * (1.0 + share * share) / (rest * rest),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn force_is_the_slope_of_energy_and_tangent_the_slope_of_force() {
        let law = Pressing { stiffness: 2e5, overlap_max: 0.15 };
        let step = 1e-7;
        for overlap in [0.001, 0.02, 0.07, 0.12, 0.1424, 0.1426, 0.16, 0.3] {
            let (low, mid, high) = (law.at(overlap - step), law.at(overlap), law.at(overlap + step));
            let force = (high.energy - low.energy) / (2.0 * step);
            let tangent = (high.force - low.force) / (2.0 * step);
            // Central differences err by step^2 times the third derivative, below 1e-4 of the value here.
            assert!((force / mid.force - 1.0).abs() < 1e-4, "overlap {overlap}: {force} against {}", mid.force);
            assert!((tangent / mid.tangent - 1.0).abs() < 1e-4, "overlap {overlap}: {tangent} against {}", mid.tangent);
        }
    }
}
