//! What is drawn of an attempt: its numbers now, and the site from above.

use super::attempt::Attempt;
use crate::analysis::findings;
use crate::analysis::view::{Hole, Moment, Pale, SitePlan};
use crate::math::DVec2;
use crate::tissue::Side;

/// Stations along a flap's edge: as dense as the flaps' own mesh, so more would show nothing new.
const STATIONS: u32 = 33;
/// Paleness below this is not seen.
const PALE_MIN: f64 = 0.05;

impl Attempt {
    /// The numbers that are followed over time, as they are now.
    #[must_use]
    pub fn moment(&self) -> Moment {
        Moment {
            tick: self.world.tick,
            loop_tension_mn: self.world.loop_tension(self.world.current_stitch()),
            pale_mm2: self.world.gum.flaps.blanched_area_mm2(),
        }
    }

    /// The site from above, as it lies now.
    #[must_use]
    pub fn site_plan(&self) -> SitePlan {
        let (gum, snapshot, socket) = (&self.world.gum, self.snapshot(""), &self.scenario.site.socket);
        let surface = snapshot.flaps.iter().flat_map(|flap| flap.points.iter().zip(&flap.blanch));
        SitePlan {
            edges: Side::BOTH.map(|side| self.edge(side)),
            socket: DVec2::new(socket.mesiodistal_mm, socket.buccolingual_mm),
            membrane_centre: gum.membrane.centre(),
            membrane_size: gum.membrane.size(),
            membrane_pierced: gum.membrane.pierced().iter().map(|&at| at + gum.membrane.centre()).collect(),
            holes: self.holes(),
            strands: snapshot.strands.iter().map(|strand| strand.iter().map(|at| at.truncate()).collect()).collect(),
            thread_mm: 2.0 * snapshot.thread_radius,
            pale: surface
                .filter(|&(_, &paleness)| paleness > PALE_MIN)
                .map(|(place, &paleness)| Pale { place: place.truncate(), paleness })
                .collect(),
        }
    }

    fn edge(&self, side: Side) -> Vec<DVec2> {
        let half = 0.5 * self.scenario.site.flap.length_mm;
        let x = |station| half * (2.0 * f64::from(station) / f64::from(STATIONS - 1) - 1.0);
        let flap = self.world.gum.flaps.flap(side);
        (0..STATIONS).map(|station| DVec2::new(x(station), flap.edge_y(x(station)))).collect()
    }

    fn holes(&self) -> Vec<Hole> {
        let flaps = &self.world.gum.flaps;
        let holes = self.world.taken.iter().map(|(_, taken)| {
            let (bite, side) = (taken.bite, taken.bite.side);
            let place = (flaps.rest_point(bite) + flaps.hole_displacement(bite)).truncate();
            Hole {
                flap: match side {
                    Side::Cheek => findings::Side::Cheek,
                    Side::Tongue => findings::Side::Tongue,
                },
                place,
                edge: DVec2::new(place.x, flaps.flap(side).edge_y(place.x)),
            }
        });
        holes.collect()
    }
}
