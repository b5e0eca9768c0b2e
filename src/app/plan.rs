//! Where things of the site stand, worked out once from the scenario for the eye and for the instruments' bodies.

use crate::math::DVec3;
use crate::scenario::schema::{OperatorSide, Scenario};

/// Room between two crowns at their contact [mm]: they nearly touch; common practice, no source.
const CONTACT_ROOM: f64 = 0.3;

/// How much wider a crown is than its neck: about a third for premolars (Ash & Nelson, Dental Anatomy; from memory).
const CROWN_PER_NECK: f64 = 1.35;

/// A neighbouring crown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crown {
    /// Middle of the neck at the gum's level [mm].
    pub middle: DVec3,
    /// Half widths along the arch and from cheek to tongue [mm].
    pub half: [f64; 2],
    /// Height above the gum [mm].
    pub height: f64,
    /// A molar has four cusps, other teeth two.
    pub molar: bool,
}

/// The site's places and sizes, operator's frame.
#[derive(Debug, Clone, PartialEq)]
pub struct SitePlan {
    /// Half the gap between the flaps' edges [mm].
    pub half_gap: f64,
    /// Thickness of the flaps [mm].
    pub thickness: f64,
    /// Half the flaps' length along the wound [mm].
    pub half_length: f64,
    /// Width of a flap from edge to fold [mm].
    pub height: f64,
    /// Half widths of the socket's mouth [mm], along the arch and across.
    pub socket: [f64; 2],
    /// How far the membrane reaches past the mouth [mm].
    pub overlap: f64,
    /// The mesial and the distal neighbour, and beyond each the next teeth, of common size.
    pub crowns: [Crown; 5],
    /// Generic name of the thread's material.
    pub thread: String,
}

impl SitePlan {
    /// The plan of a scenario; if the picture will be mirrored, with the teeth changed over so that they are where they
    /// belong in the mirror.
    #[must_use]
    pub fn new(scenario: &Scenario, mirrored: bool) -> SitePlan {
        let site = &scenario.site;
        let drawn = scenario.draw();
        let mesial = mesial_side(site.tooth, site.cheek) * if mirrored { -1.0 } else { 1.0 };
        let mouth = 0.5 * site.socket.mesiodistal_mm;
        let crown = |inner: f64, side: f64, width: f64, height: f64, molar: bool| {
            let half = 0.5 * width;
            let across = if molar { 0.96 } else { 1.08 } * half;
            let middle = DVec3::new(side * (inner + CONTACT_ROOM + half), 0.0, 0.0);
            Crown { middle, half: [half, across.min(5.2)], height, molar }
        };
        let lost = mouth * CROWN_PER_NECK;
        let place = site.tooth % 10;
        let (front, back) = (&site.mesial_neighbour, &site.distal_neighbour);
        SitePlan {
            half_gap: 0.5 * drawn.edge_gap_mm,
            thickness: drawn.flap_thickness_mm,
            half_length: 0.5 * site.flap.length_mm,
            height: site.flap.height_mm,
            socket: [mouth, 0.5 * site.socket.buccolingual_mm],
            overlap: site.membrane.overlap_mm,
            crowns: [
                crown(lost, mesial, front.crown_width_mm, front.crown_height_mm, place > 6),
                crown(lost, -mesial, back.crown_width_mm, back.crown_height_mm, place >= 5),
                crown(lost + CONTACT_ROOM + front.crown_width_mm, mesial, 7.2, front.crown_height_mm, false),
                crown(lost + 2.0 * CONTACT_ROOM + front.crown_width_mm + 7.2, mesial, 6.8, 9.5, false),
                crown(lost + CONTACT_ROOM + back.crown_width_mm, -mesial, 10.5, back.crown_height_mm, place >= 4),
            ],
            thread: scenario.thread.material.clone(),
        }
    }
}

/// On which side of the operator the midline lies: +1 right, -1 left.
///
/// z points out of the gum, y toward the cheek or away from it; what is left of the axes in a right-handed frame is
/// the way to the front of the mouth.
#[must_use]
pub fn mesial_side(tooth: u8, cheek: OperatorSide) -> f64 {
    let quadrant = tooth / 10;
    let left = matches!(quadrant, 2 | 3);
    let lower = matches!(quadrant, 3 | 4);
    let far = cheek == OperatorSide::Far;
    [left, lower, far].iter().map(|true_is_plus| if *true_is_plus { 1.0 } else { -1.0 }).product()
}
