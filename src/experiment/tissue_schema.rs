//! What an experiment file says of gum: two flaps as in a scenario, holes through them, and needles pushed into them.

use super::schema::Place;
use serde::{Deserialize, Serialize};

/// Gum between whose flaps an experiment goes on. The wound lies along x, the cheek's flap on the side of positive y.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TissueSpec {
    /// Distance of the flaps' edges at rest [mm].
    pub edge_gap_mm: f64,
    /// Both flaps.
    pub flap: FlapSpec,
    /// Holes through them.
    #[serde(default)]
    pub holes: Vec<Hole>,
    /// Needles that are pushed into them.
    #[serde(default)]
    pub needles: Vec<NeedlePush>,
}

/// A flap, as in a scenario.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FlapSpec {
    /// Thickness [mm].
    pub thickness_mm: f64,
    /// From the free edge to the fold [mm].
    pub height_mm: f64,
    /// Along the wound [mm].
    pub length_mm: f64,
    /// Young's modulus that stands for the give of the whole flap [kPa].
    pub modulus_kpa: f64,
    /// Share of the tear force of sound pig gum.
    pub quality: f64,
}

/// A hole through a flap.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hole {
    /// What the rest of the file calls it.
    pub name: String,
    /// The flap.
    pub flap: FlapSide,
    /// Place along the wound [mm].
    pub along_wound_mm: f64,
    /// From the flap's free edge [mm].
    pub edge_distance_mm: f64,
    /// Diameter of what made it [mm].
    pub diameter_mm: f64,
    /// The threads that run through it.
    #[serde(default)]
    pub threads: Vec<Pass>,
}

/// A side of the wound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum FlapSide {
    /// The cheek's.
    Cheek,
    /// The tongue's.
    Tongue,
}

/// A thread through a hole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pass {
    /// The thread.
    pub thread: String,
    /// What of it lies in the hole at first.
    pub place: Place,
    /// Coulomb friction of the gum on it.
    #[serde(default)]
    pub friction: f64,
    /// Grip of the hole on it, whatever presses [N].
    #[serde(default)]
    pub grip_n: f64,
}

/// A needle pushed into gum, along its own way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NeedlePush {
    /// What the rest of the file calls it.
    pub name: String,
    /// Way of its point since it met the gum.
    pub motion: Vec<WayKey>,
}

/// A way at a time; straight changes between keys, and none at time 0.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WayKey {
    /// Time [ms].
    pub at_ms: f64,
    /// Way [mm].
    pub way_mm: f64,
}

/// A loop's tension at a time; straight changes between keys, and none before the first.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TensionKey {
    /// Time [ms].
    pub at_ms: f64,
    /// Tension [N].
    pub tension_n: f64,
}
