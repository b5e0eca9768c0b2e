//! What there is to see at one tick: plain data, for a window to draw and for nothing else.

use crate::instruments::Kind;
use crate::math::{DVec3, Pose};
use crate::quantity::Tick;
use crate::rod::surroundings::PlacedCone;
use crate::tooth::Tooth;
use crate::topology::HalfKnot;

/// Everything a picture of the world needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Snapshot {
    /// When.
    pub tick: Tick,
    /// The pieces of thread, each a polyline [mm]; thread in a palm is left out.
    pub strands: Vec<Vec<DVec3>>,
    /// Radius of the thread [mm].
    pub thread_radius: f64,
    /// Needle holder and forceps.
    pub tools: [ToolView; 2],
    /// The needle's centreline [mm], from swage to point, while it is in the field.
    pub needle: Vec<DVec3>,
    /// Radius of the needle's wire [mm].
    pub needle_radius: f64,
    /// Cheek flap and tongue flap.
    pub flaps: [FlapView; 2],
    /// Read-outs.
    pub readout: Readout,
}

/// An instrument as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolView {
    /// What it is.
    pub kind: Kind,
    /// Tip pose; see [`crate::instruments`] for the frame.
    pub pose: Pose,
    /// Jaw gap at the tip [mm].
    pub gap: f64,
    /// Its shapes in the world.
    pub cones: Vec<PlacedCone>,
}

/// A flap's upper surface, a grid of points column by column.
#[derive(Debug, Clone, PartialEq)]
pub struct FlapView {
    /// Points along the wound.
    pub columns: usize,
    /// Points from the free edge to the fold.
    pub rows: usize,
    /// Places [mm], shape [columns * rows], rows fastest.
    pub points: Vec<DVec3>,
    /// Paleness 0..=1 of each point.
    pub blanch: Vec<f64>,
    /// Redness 0..=1 of each point after refill.
    pub redness: Vec<f64>,
    /// Thickness [mm].
    pub thickness: f64,
}

/// What hands are doing that are no script's; recordings keep it in these words.
pub const OWN_HANDS: &str = "Your own hands";

/// Numbers worth showing while tying.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Readout {
    /// Tension in the loop through the tissue [mN].
    pub loop_tension_mn: f64,
    /// Tension in the strand the left hand holds [mN].
    pub strand_tension_mn: f64,
    /// Tension in the tail the right hand holds [mN].
    pub tail_tension_mn: f64,
    /// Throws read so far, in notation.
    pub throws: String,
    /// The same throws, the one nearest to the tissue first; empty if there are none, or none that can be read.
    pub half_knots: Vec<HalfKnot>,
    /// Pale area outside the holes' own rings [mm^2].
    pub blanched_area_mm2: f64,
    /// The tooth that is marked as the site.
    pub marked: Option<Tooth>,
    /// Whether the first bite has been begun, so that a mark counts no more.
    pub bitten: bool,
    /// Bites that have been taken so far, of all stitches.
    pub bites: u32,
    /// What the script is doing, in words; [`OWN_HANDS`] when hands are live, empty where that is not known.
    pub phase: String,
}
