//! The membrane over the graft: a flat sheet tucked under both flaps.
//!
//! In its plane it does not stretch: wet collagen of some 10 MPa gives a thousandth under 0.05 N (estimate).

use serde::{Deserialize, Serialize};

use super::flap::Side;
use super::flaps::Flaps;
use crate::math::DVec2;

/// A rectangular membrane, its sides along x and y.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Membrane {
    centre: DVec2,
    size: DVec2,
    pierced: Vec<DVec2>,
}

/// How far the membrane reaches under each flap's edge where it reaches least [mm]; below 0 the graft is bare there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overlap {
    /// Under the cheek flap.
    pub cheek_mm: f64,
    /// Under the tongue flap.
    pub tongue_mm: f64,
}

impl Overlap {
    /// The lesser of the two [mm].
    #[must_use]
    pub fn least_mm(&self) -> f64 {
        self.cheek_mm.min(self.tongue_mm)
    }
}

impl Membrane {
    /// A whole membrane about `centre` [mm], `size` [mm] along the wound and across it.
    #[must_use]
    pub fn new(centre: DVec2, size: DVec2) -> Self {
        Self { centre, size, pierced: Vec::new() }
    }

    /// Middle [mm].
    #[must_use]
    pub fn centre(&self) -> DVec2 {
        self.centre
    }

    /// Size along the wound and across it [mm].
    #[must_use]
    pub fn size(&self) -> DVec2 {
        self.size
    }

    /// Slides the membrane by `by` [mm].
    pub fn slide(&mut self, by: DVec2) {
        self.centre += by;
    }

    /// Whether the membrane lies at `point` [mm].
    #[must_use]
    pub fn is_under(&self, point: DVec2) -> bool {
        (point - self.centre).abs().cmple(0.5 * self.size).all()
    }

    /// A needle or an instrument's tip goes down at `point` [mm]; `true` if it went through the membrane.
    pub fn pierce(&mut self, point: DVec2) -> bool {
        let inside = self.is_under(point);
        if inside {
            self.pierced.push(point - self.centre);
        }
        inside
    }

    /// Whether the membrane has been pierced.
    #[must_use]
    pub fn is_pierced(&self) -> bool {
        !self.pierced.is_empty()
    }

    /// Where it has been pierced [mm], in the membrane's own coordinates about its middle.
    #[must_use]
    pub fn pierced(&self) -> &[DVec2] {
        &self.pierced
    }

    /// Least overlap under each flap, with the flaps where they are now.
    #[must_use]
    pub fn least_overlap_mm(&self, flaps: &Flaps) -> Overlap {
        let [cheek_mm, tongue_mm] = Side::BOTH.map(|side| self.least_under(flaps, side));
        Overlap { cheek_mm, tongue_mm }
    }

    fn least_under(&self, flaps: &Flaps, side: Side) -> f64 {
        // The flaps' edges are drawn and solved on a grid of the same order, so more stations would show nothing new.
        const STATIONS: u32 = 17;
        let flap = flaps.flap(side);
        let border = side.sign() * self.centre.y + 0.5 * self.size.y;
        let mut least = f64::INFINITY;
        for station in 0..STATIONS {
            let share = f64::from(station) / f64::from(STATIONS - 1) - 0.5;
            let edge = flap.edge_y(self.centre.x + share * self.size.x);
            least = least.min(border - side.sign() * edge);
        }
        least
    }
}
