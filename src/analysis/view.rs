//! What is drawn of an attempt and marked by nothing: its numbers over time, and the site and the thread at its end.

use serde::{Deserialize, Serialize};

use super::findings::Side;
use super::reading::StitchCurve;
use crate::math::DVec2;
use crate::quantity::{MN_PER_N, Tick};

/// What is drawn of an attempt.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct View {
    /// Numbers over time, in order.
    pub course: Vec<Moment>,
    /// The site at the end.
    pub site: SitePlan,
    /// The stitches' centrelines at the end.
    pub stitches: Vec<StitchCurve>,
}

impl View {
    /// The last numbers noted at `tick` or before; the first ones if there is nothing before.
    #[must_use]
    pub fn at(&self, tick: Tick) -> Option<&Moment> {
        let after = self.course.partition_point(|moment| moment.tick <= tick);
        self.course.get(after.saturating_sub(1))
    }
}

/// Numbers of one tick.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Moment {
    /// When.
    pub tick: Tick,
    /// Tension of the current stitch's loop through the tissue [mN], 0 while there is none.
    pub loop_tension_mn: f64,
    /// Pale area as in [`Blanching`](super::findings::Blanching) [mm2].
    pub pale_mm2: f64,
}

impl Moment {
    /// Tension of the loop through the tissue [N].
    #[must_use]
    pub fn loop_tension_n(&self) -> f64 {
        self.loop_tension_mn / MN_PER_N
    }
}

/// The site from above, in the operator's frame: x to the right, y away from the operator [mm].
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct SitePlan {
    /// The free edge of the cheek's flap and of the tongue's, from left to right [mm].
    pub edges: [Vec<DVec2>; 2],
    /// The socket's mouth about the origin: along the wound and across it [mm].
    pub socket: DVec2,
    /// Middle of the membrane [mm].
    pub membrane_centre: DVec2,
    /// Size of the membrane along the wound and across it [mm].
    pub membrane_size: DVec2,
    /// Where the membrane is pierced [mm].
    pub membrane_pierced: Vec<DVec2>,
    /// Holes in the flaps, in the order in which the bites were taken.
    pub holes: Vec<Hole>,
    /// Pieces of thread in the field [mm].
    pub strands: Vec<Vec<DVec2>>,
    /// Diameter of the thread [mm].
    pub thread_mm: f64,
    /// Points of the gum that are pale.
    pub pale: Vec<Pale>,
}

impl SitePlan {
    /// The edge of the flap on whose side of the wound a place lies, straight across from it, and how far beyond that edge it
    /// is [mm]: below 0 over the gap.
    #[must_use]
    pub fn beyond_edge(&self, place: DVec2) -> (DVec2, f64) {
        let (edge, outward) = if place.y >= 0.0 { (&self.edges[0], 1.0) } else { (&self.edges[1], -1.0) };
        let foot = DVec2::new(place.x, edge_at(edge, place.x));
        (foot, (place.y - foot.y) * outward)
    }
}

/// The edge's y at `x` [mm]; its ends are led on level.
fn edge_at(edge: &[DVec2], x: f64) -> f64 {
    let after = edge.partition_point(|place| place.x < x);
    match (after.checked_sub(1).map(|before| edge[before]), edge.get(after)) {
        (Some(a), Some(b)) => a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x),
        (Some(end), None) => end.y,
        (None, Some(end)) => end.y,
        (None, None) => 0.0,
    }
}

/// A hole in a flap, as it lies at the end.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Hole {
    /// Whose it is.
    pub flap: Side,
    /// Where it is [mm].
    pub place: DVec2,
    /// The flap's edge straight across from it [mm].
    pub edge: DVec2,
}

/// A point of pale gum.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pale {
    /// Where [mm].
    pub place: DVec2,
    /// How pale, 0 to 1.
    pub paleness: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_numbers_of_a_tick_are_the_last_noted_before_it() {
        let moment = |tick| Moment { tick: Tick(tick), loop_tension_mn: f64::from(tick), pale_mm2: 0.0 };
        let view = View { course: [6, 12, 18].map(moment).to_vec(), ..View::default() };
        for (tick, noted) in [(0, 6), (6, 6), (11, 6), (12, 12), (400, 18)] {
            assert_eq!(view.at(Tick(tick)).map(|moment| moment.tick), Some(Tick(noted)), "{tick}");
        }
        assert_eq!(View::default().at(Tick(3)), None);
    }

    #[test]
    fn the_edge_is_straight_between_its_points_and_level_beyond() {
        let edge = [DVec2::new(-1.0, 2.0), DVec2::new(1.0, 3.0)];
        for (x, y) in [(-5.0, 2.0), (-1.0, 2.0), (0.0, 2.5), (1.0, 3.0), (4.0, 3.0)] {
            assert!((edge_at(&edge, x) - y).abs() < 1e-12, "{x}");
        }
    }
}
