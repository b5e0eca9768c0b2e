//! Size and tissue of a flap, with the ranges its numbers may have.

use serde::{Deserialize, Serialize};

use super::flap::Side;
use super::lift::LiftSettings;
use super::problem::Check;
use super::tearing::TearSettings;

/// Size and tissue of one flap.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FlapSettings {
    /// From the free edge to the fold [mm].
    pub height_mm: f64,
    /// Thickness [mm].
    pub thickness_mm: f64,
    /// Young's modulus that stands for the give of the whole flap [kPa].
    pub modulus_kpa: f64,
    /// Young's modulus of the gingiva at the rim [kPa]: it sets how far a thread sinks at its hole and edges dent.
    pub rim_modulus_kpa: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Spring of a bite across the flap.
    pub lift: LiftSettings,
    /// What its holes stand.
    pub tear: TearSettings,
}

impl Default for FlapSettings {
    /// Thickness between those of free and of attached gingiva, 1.56 and 1.25 mm (Goaslind et al. 1977, J Periodontol;
    /// from memory).
    ///
    /// The modulus is a secant: it is fitted so that a 20 x 10 x 1.4 mm flap gives 5.14 mm under 1.08 N at a hole 2.5
    /// mm from its edge, the give of unreleased pig flaps (Traboulsi-Garet et al. 2021, J Oral Implantol 47:395): one
    /// load, so one secant of 0.21 N/mm is all that is known, and the size of the flap and the place of the hole are
    /// estimates. It lies inside the 0.06 to 8.9 MPa of published oral mucosa (Chen et al. 2015, J R Soc Interface
    /// 12:20150325). Gingiva itself is stiffer, from 4 to 37 MPa (Goktas et al. 2011, J Periodontol 82:1178; Choi et
    /// al. 2020, Clin Exp Dent Res 6:602; from memory); 5 MPa for the rim is an estimate near the lower end.
    fn default() -> Self {
        Self {
            height_mm: 10.0,
            thickness_mm: 1.4,
            modulus_kpa: 154.0,
            rim_modulus_kpa: 5000.0,
            poisson: 0.45,
            lift: LiftSettings::default(),
            tear: TearSettings::default(),
        }
    }
}

impl FlapSettings {
    /// Give of the hole itself on top of the sheet's [mm/mN].
    ///
    /// The rim of a hole is much smaller than the blob that loads the sheet, and what a narrower load gives more is a
    /// spring of 4 pi E t / ((1 + nu)(3 - nu) ln(ratio of widths)) (Kelvin's solution in the plane: Timoshenko &
    /// Goodier, Theory of Elasticity, 3rd ed., article 42; from memory). 2.7 E at 1.4 mm of thickness is an estimate:
    /// it stands for a hole a sixth as wide as the blob.
    pub(super) fn hole_compliance(&self) -> f64 {
        1.0 / (2.7 * self.rim_modulus_kpa * self.thickness_mm / 1.4)
    }

    /// How much less the rim deforms than the sheet's own modulus says.
    pub(super) fn rim_share(&self) -> f64 {
        self.modulus_kpa / self.rim_modulus_kpa
    }

    pub(super) fn check(&self, side: Side, check: &mut Check) {
        let name = match side {
            Side::Cheek => "cheek",
            Side::Tongue => "tongue",
        };
        let mut range = |field: &str, found, range, unit| check.range(&format!("{name}.{field}"), found, range, unit);
        range("height_mm", self.height_mm, [5.0, 25.0], "mm");
        range("thickness_mm", self.thickness_mm, [0.3, 5.0], "mm");
        range("modulus_kpa", self.modulus_kpa, [20.0, 50_000.0], "kPa");
        range("rim_modulus_kpa", self.rim_modulus_kpa, [20.0, 50_000.0], "kPa");
        range("poisson", self.poisson, [0.0, 0.49], "(ratio)");
        range("lift.linear_mn_per_mm", self.lift.linear_mn_per_mm, [0.1, 10_000.0], "mN/mm");
        range("lift.cubic_mn_per_mm3", self.lift.cubic_mn_per_mm3, [0.0, 10_000.0], "mN/mm^3");
        range("lift.support_mn_per_mm", self.lift.support_mn_per_mm, [10.0, 1e6], "mN/mm");
        range("tear.quality", self.tear.quality, [0.1, 2.0], "(ratio)");
        range("tear.lining", self.tear.lining, [0.1, 1.0], "(ratio)");
    }
}
