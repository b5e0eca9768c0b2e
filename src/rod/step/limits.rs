//! Verification: friction no greater than what presses at the step's end allows.
//!
//! Within one search for the least energy the limits stay, so that there is an energy. When it is found the limits are set
//! to what then presses, and the search goes on from there: a fixed point over the limits (Panagiotopoulos 1975,
//! Ingenieur-Archiv 44:421, from memory).

use super::{Memory, Report, Solve};
use crate::rod::contact::friction::Friction;
use crate::rod::surroundings::Floor;

/// How often limits are set anew in one step at most.
const ROUNDS_MAX: usize = 40;

impl Solve<'_> {
    /// Solves the step anew until no force of friction changes by more than the share `within` of its limit when limits
    /// become those of the step's end.
    pub(super) fn follow_limits(&mut self, memory: &mut Memory, within: f64, report: &mut Report) {
        for _ in 0..ROUNDS_MAX {
            report.limit_error = self.set_limits();
            if report.limit_error <= within || report.broken {
                return;
            }
            self.balance(memory, report);
        }
        report.limit_error = self.set_limits();
    }

    /// Sets all limits to what presses now; the greatest change of a force by that, over its limit. A force may be out of
    /// balance by the tolerance, and changes no greater than that are none.
    fn set_limits(&mut self) -> f64 {
        let mut most: f64 = 0.0;
        let stretches: Vec<_> =
            self.all_frictions().map(|friction| friction.stretch(|b| self.since_start(b))).collect();
        let (limits, tolerance) = (self.limits(), self.settings.tolerance);
        for ((friction, stretch), limit) in self.all_frictions_mut().zip(stretches).zip(limits) {
            let (was, before) = (friction.limit, friction.force(stretch).0);
            friction.limit = limit;
            let change = (friction.force(stretch).0 - before).length();
            if change > tolerance {
                most = most.max(change / was.max(limit));
            }
        }
        most
    }

    /// What limits each friction with everything where it is [mN].
    fn limits(&self) -> Vec<f64> {
        let cones = self.placed(&self.places);
        let pairs = self.frictions.iter().map(|&((i, partner), _)| {
            let force = self.pressing(partner).at(self.closest(i, partner, &self.places, &cones).overlap).force;
            self.friction_coefficient(partner, force) * force
        });
        let on_floor = self.floor_frictions.iter().filter_map(|&(node, _)| {
            let floor = self.around.floor?;
            Some(self.floor_limit(&floor, self.floor_overlap(&floor, node, self.places[node])))
        });
        let on_planes = self.plane_frictions.iter().map(|&((plane, node), _)| {
            let plane = &self.around.planes[plane];
            self.plane_limit(plane, self.plane_overlap(plane, self.places[node]))
        });
        let in_sleeves = (0..self.sleeve_frictions.len()).map(|k| self.sleeve_limit(k, &self.places));
        pairs.chain(on_floor).chain(on_planes).chain(in_sleeves).collect()
    }

    pub(super) fn all_frictions_mut(&mut self) -> impl Iterator<Item = &mut Friction> {
        self.frictions
            .iter_mut()
            .map(|(_, f)| f)
            .chain(self.floor_frictions.iter_mut().map(|(_, f)| f))
            .chain(self.plane_frictions.iter_mut().map(|(_, f)| f))
            .chain(&mut self.sleeve_frictions)
    }

    /// What holds a node that is pressed into the floor by `overlap` [mN].
    pub(super) fn floor_limit(&self, floor: &Floor, overlap: f64) -> f64 {
        if overlap <= 0.0 {
            return 0.0;
        }
        let section = &self.rod.section;
        let friction = section.friction_tissue * section.friction_load.share(floor.stiffness * overlap);
        friction * floor.stiffness * overlap + floor.adhesion
    }
}
