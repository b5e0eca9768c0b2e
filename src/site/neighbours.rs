//! The crowns beside the socket: where they stand and how wide they are at each level.

use crate::math::DVec3;
use crate::scenario::schema::{OperatorSide, Scenario};

/// Room between two crowns at their contact [mm]: they nearly touch; common practice, no source.
const CONTACT_ROOM: f64 = 0.3;

/// How much wider a crown is than its neck: about a third for premolars (Ash & Nelson, Dental Anatomy; from memory).
const CROWN_PER_NECK: f64 = 1.35;

/// Depth below the gum down to which a crown's neck is known [mm]; estimate: bone hides the rest.
pub const NECK_DEPTH: f64 = 3.0;

/// Width of the neck as a share of the crown's; estimate.
pub const NECK_SHARE: f64 = 0.74;

/// Height of the greatest bulge as a share of the crown's: near the middle third (Ash & Nelson; from memory).
pub const BULGE: f64 = 0.42;

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

impl Crown {
    /// It changes over to the other side of the socket.
    pub fn mirror(&mut self) {
        self.middle.x = -self.middle.x;
    }

    /// Its outline from the neck up, each ring as its level above the gum [mm] and its width as a share of the whole: neck, bulge
    /// and the rim of the top, with straight sides between. The rim's shares are estimates.
    #[must_use]
    pub fn rings(&self) -> [(f64, f64); 3] {
        [(-NECK_DEPTH, NECK_SHARE), (BULGE * self.height, 1.0), (0.88 * self.height, 0.62)]
    }
}

/// The mesial and the distal neighbour, and beyond them two more teeth on the mesial and one on the distal side, of common size.
#[must_use]
pub fn crowns(scenario: &Scenario) -> [Crown; 5] {
    let site = &scenario.site;
    let mesial = mesial_side(site.tooth, site.cheek);
    let crown = |inner: f64, side: f64, width: f64, height: f64, molar: bool| {
        let half = 0.5 * width;
        let across = if molar { 0.96 } else { 1.08 } * half;
        let middle = DVec3::new(side * (inner + CONTACT_ROOM + half), 0.0, 0.0);
        Crown { middle, half: [half, across.min(5.2)], height, molar }
    };
    let lost = 0.5 * site.socket.mesiodistal_mm * CROWN_PER_NECK;
    let place = site.tooth % 10;
    let (front, back) = (&site.mesial_neighbour, &site.distal_neighbour);
    [
        crown(lost, mesial, front.crown_width_mm, front.crown_height_mm, place > 6),
        crown(lost, -mesial, back.crown_width_mm, back.crown_height_mm, place >= 5),
        crown(lost + CONTACT_ROOM + front.crown_width_mm, mesial, 7.2, front.crown_height_mm, false),
        crown(lost + 2.0 * CONTACT_ROOM + front.crown_width_mm + 7.2, mesial, 6.8, 9.5, false),
        crown(lost + CONTACT_ROOM + back.crown_width_mm, -mesial, 10.5, back.crown_height_mm, place >= 4),
    ]
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
