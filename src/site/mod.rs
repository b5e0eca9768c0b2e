//! The site of a scenario: gum, membrane and floor, and how thread and needle lie before the first bite.
//!
//! Left out: thread and instruments do not touch the neighbour teeth; the needle does.

pub mod hard;
pub mod neighbours;

use crate::math::{DVec2, DVec3, rotation, rotation_between};
use crate::scenario::Scenario;
use crate::tissue::{Flaps, FlapsSettings, Membrane, OutOfRange};
use hard::Hard;

/// Mesh where the knot will be tied [mm]: about two diameters of the thread.
const FINE: f64 = 0.5;
/// Mesh of the rest of the strand [mm].
const COARSE: f64 = 1.1;
/// Tail, stitch and the strand that is wrapped [mm]: the thread from its end that needs the fine mesh.
const FINE_LENGTH: f64 = 22.0 + 10.0 + 45.0;
/// What each stitch takes off that end [mm]: the tail that is cut off, the loop, the knot and its ends.
const STITCH_LENGTH: f64 = 22.0 + 10.0 + 15.0;
/// Radius of the bend in which the thread is laid [mm].
const LAID_RADIUS: f64 = 11.0;

/// The gum of a scenario.
#[derive(Debug, Clone)]
pub struct Site {
    /// Both flaps.
    pub flaps: Flaps,
    /// The membrane.
    pub membrane: Membrane,
    /// Depth below the flaps' surface at which a point is through the membrane [mm].
    pub membrane_depth: f64,
    /// Gap between the edges at rest [mm].
    pub gap: f64,
    /// Bone and teeth.
    pub hard: Hard,
}

impl Site {
    /// The gum of this scenario with its amounts drawn, or every number the flaps cannot take.
    pub fn of(scenario: &Scenario) -> Result<Site, Vec<OutOfRange>> {
        let (site, drawn) = (&scenario.site, scenario.draw());
        let mut settings =
            FlapsSettings { length_mm: site.flap.length_mm, gap_mm: drawn.edge_gap_mm, ..FlapsSettings::default() };
        for flap in [&mut settings.cheek, &mut settings.tongue] {
            flap.height_mm = site.flap.height_mm;
            flap.thickness_mm = drawn.flap_thickness_mm;
            flap.modulus_kpa = site.flap.modulus_kpa;
            flap.tear.quality = site.flap.quality;
        }
        let (mouth, past) = (&site.socket, 2.0 * site.membrane.overlap_mm);
        let size = DVec2::new(mouth.mesiodistal_mm + past, mouth.buccolingual_mm + past);
        let membrane_depth = drawn.flap_thickness_mm + site.membrane.thickness_mm;
        Ok(Site {
            flaps: Flaps::new(settings)?,
            membrane: Membrane::new(DVec2::ZERO, size),
            membrane_depth,
            gap: drawn.edge_gap_mm,
            hard: Hard::of(scenario, membrane_depth),
        })
    }
}

/// Edge lengths [mm] of a thread of this `length` [mm] for so many stitches, from the needle on: fine where the knots
/// will be.
#[must_use]
pub fn thread_mesh(length: f64, stitches: u32) -> Vec<f64> {
    let fine = FINE_LENGTH + STITCH_LENGTH * f64::from(stitches.saturating_sub(1));
    let (mut steps, mut laid) = (Vec::new(), 0.0);
    while length - laid > 1e-9 {
        let left = length - laid;
        let mesh = if left > fine { COARSE.min(left - fine).max(0.5 * FINE) } else { FINE };
        let step = mesh.min(left);
        steps.push(step);
        laid += step;
    }
    steps
}

/// Nodes [mm] of a thread with these edges [mm] that leaves `start` along `way`, bends over to the far side, comes down
/// and lies there, `height` [mm] above the gum.
#[must_use]
pub fn laid_thread(steps: &[f64], start: DVec3, way: DVec3, height: f64) -> Vec<DVec3> {
    let over = DVec3::new(-0.45, 0.75, -0.45).normalize();
    let along = DVec3::new(-0.5, 0.86, 0.0).normalize();
    let (mut place, mut way) = (start, way.normalize());
    let mut nodes = vec![place];
    for &step in steps {
        let fall = (-way.z).max(0.0);
        let flare = LAID_RADIUS * (1.0 - (1.0 - fall * fall).sqrt());
        let lands = way.y > 0.0 && place.z - height <= flare + fall * step;
        way = turned(way, if lands { along } else { over }, step / LAID_RADIUS);
        place += way * step;
        place.z = place.z.max(height);
        nodes.push(place);
    }
    nodes
}

/// `way`, turned toward `wanted` by at most `most` [rad].
fn turned(way: DVec3, wanted: DVec3, most: f64) -> DVec3 {
    let chord = (wanted - way).length();
    if chord <= most {
        return wanted;
    }
    let axis = way.cross(wanted);
    if axis.length() < 1e-6 {
        // Straight back: any side will do, so up.
        let side = rotation_between(DVec3::Y, way) * DVec3::X;
        return rotation(side.normalize(), most) * way;
    }
    (rotation(axis.normalize(), most) * way).normalize()
}
