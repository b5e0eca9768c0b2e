//! Where things of the site stand, worked out once from the scenario for the eye and for the instruments' bodies.

use crate::scenario::schema::Scenario;
use crate::site::neighbours::crowns;
pub use crate::site::neighbours::{Crown, mesial_side};

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
        let mouth = 0.5 * site.socket.mesiodistal_mm;
        let mut crowns = crowns(scenario);
        if mirrored {
            crowns.iter_mut().for_each(Crown::mirror);
        }
        SitePlan {
            half_gap: 0.5 * drawn.edge_gap_mm,
            thickness: drawn.flap_thickness_mm,
            half_length: 0.5 * site.flap.length_mm,
            height: site.flap.height_mm,
            socket: [mouth, 0.5 * site.socket.buccolingual_mm],
            overlap: site.membrane.overlap_mm,
            crowns,
            thread: scenario.thread.material.clone(),
        }
    }
}
