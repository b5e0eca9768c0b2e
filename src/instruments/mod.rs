//! Instruments: their shapes, their jaws, and how jaws take hold of thread.
//!
//! An instrument's own frame: the tip is the origin, +x runs back along the shaft to the handle, the jaws open along z.

use crate::math::DVec3;
use crate::rod::surroundings::RoundCone;

/// What an instrument is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Kind {
    /// Needle holder: strong short jaws, ratchet.
    NeedleHolder,
    /// Tissue forceps, whose hand also carries the long strand.
    Forceps,
}

/// Fixed sizes of an instrument. Sizes are those of common small instruments: common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Design {
    /// Distance from tip to jaw pivot [mm].
    pub pivot: f64,
    /// Jaw gap at the tip when fully open [mm].
    pub gap_max: f64,
    /// Speed of the gap [mm/ms].
    pub gap_speed: f64,
    /// Radius of one jaw at its tip and at the pivot [mm].
    pub jaw_radius: (f64, f64),
    /// Radius of the shaft at the pivot and at the handle [mm].
    pub shaft_radius: (f64, f64),
    /// Length of the shaft behind the pivot [mm].
    pub shaft: f64,
    /// Length of the gripping pads from the tip [mm].
    pub pad_length: f64,
    /// Half width of the pads [mm].
    pub pad_half_width: f64,
    /// Force beyond which a gripped thread slips out [mN].
    pub grip_limit: f64,
}

impl Kind {
    /// The sizes of this instrument.
    #[must_use]
    pub fn design(self) -> Design {
        match self {
            Kind::NeedleHolder => Design {
                pivot: 16.0,
                gap_max: 3.0,
                gap_speed: 0.02,
                jaw_radius: (0.5, 1.0),
                shaft_radius: (1.5, 2.2),
                shaft: 90.0,
                pad_length: 5.0,
                pad_half_width: 0.9,
                grip_limit: 12_000.0,
            },
            Kind::Forceps => Design {
                pivot: 60.0,
                gap_max: 4.0,
                gap_speed: 0.02,
                jaw_radius: (0.4, 1.8),
                shaft_radius: (1.8, 2.2),
                shaft: 40.0,
                pad_length: 4.0,
                pad_half_width: 0.9,
                grip_limit: 8_000.0,
            },
        }
    }
}

/// Gap below which the jaws hold what lies between their pads [mm].
pub const GRIP_GAP: f64 = 0.6;

/// How far a jaw's centreline lies outside its flat inner face, as a share of its radius.
const FLAT: f64 = 0.55;

/// Shapes of an instrument whose jaws stand `gap` [mm] apart at the tip: two jaws, what fills the throat behind the
/// pads so that a loop cannot fall between them, and the shaft.
#[must_use]
pub fn shapes(kind: Kind, gap: f64) -> Vec<RoundCone> {
    let d = kind.design();
    let jaw = |side: f64| RoundCone {
        start: DVec3::new(d.jaw_radius.0, 0.0, side * (0.5 * gap + FLAT * d.jaw_radius.0)),
        end: DVec3::new(d.pivot, 0.0, side * FLAT * d.jaw_radius.1),
        start_radius: d.jaw_radius.0,
        end_radius: d.jaw_radius.1,
    };
    let throat = d.pad_length + 1.0;
    let share = throat / d.pivot;
    let fill = RoundCone {
        start: DVec3::new(throat, 0.0, 0.0),
        end: DVec3::new(d.pivot, 0.0, 0.0),
        start_radius: (d.jaw_radius.0 + (d.jaw_radius.1 - d.jaw_radius.0) * share) * 0.95,
        end_radius: d.jaw_radius.1,
    };
    let shaft = RoundCone {
        start: DVec3::new(d.pivot, 0.0, 0.0),
        end: DVec3::new(d.pivot + d.shaft, 0.0, 0.0),
        start_radius: d.shaft_radius.0,
        end_radius: d.shaft_radius.1,
    };
    vec![jaw(1.0), jaw(-1.0), fill, shaft]
}

/// Whether a point in the instrument's frame lies between the pads.
#[must_use]
pub fn between_pads(kind: Kind, gap: f64, local: DVec3) -> bool {
    let d = kind.design();
    local.x > 0.0 && local.x < d.pad_length && local.y.abs() < d.pad_half_width && local.z.abs() < 0.5 * gap + 0.3
}
