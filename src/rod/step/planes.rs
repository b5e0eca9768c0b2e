//! Flat solids: they press on nodes, and hold them by friction without couple.

use super::end::Commits;
use super::start::found;
use super::{Memory, PlaneTouch, Solve};
use crate::math::{DMat3, DVec3};
use crate::rod::contact::friction::{Friction, Lever, clipped, tangential};
use crate::rod::equations::Equations;
use crate::rod::stretch::outer;
use crate::rod::surroundings::Plane;

impl Solve<'_> {
    /// Freezes the friction of every node that lies on a plane at the start of the step, with the plane where it was then.
    pub(super) fn freeze_planes(&mut self, memory: &Memory) {
        for (p, plane) in self.around.planes.iter().enumerate() {
            let before = Plane { point: plane.point - plane.shift, ..*plane };
            for i in 0..self.nodes {
                let overlap = self.plane_overlap(&before, self.start[i]);
                if overlap <= 0.0 || !self.rod.free[i] {
                    continue;
                }
                let anchor = found(&memory.plane_anchors, (p, i)) - plane.shift;
                let across = DMat3::IDENTITY - outer(plane.normal, plane.normal);
                let friction = Friction {
                    anchor: tangential(anchor, plane.normal),
                    normal: plane.normal,
                    limit: self.plane_limit(plane, overlap),
                    stiffness: plane.stiffness,
                    levers: vec![Lever { block: i, by_position: across, by_spin: DVec3::ZERO }],
                };
                self.plane_frictions.push(((p, i), friction));
            }
        }
    }

    /// Adds what the planes press with; returns the energy.
    pub(super) fn add_planes(&self, places: &[DVec3], mut equations: Option<&mut Equations>) -> f64 {
        let mut energy = 0.0;
        for plane in &self.around.planes {
            let square = outer(plane.normal, plane.normal) * plane.stiffness;
            for (i, place) in places[..self.nodes].iter().enumerate() {
                let overlap = self.plane_overlap(plane, *place);
                if overlap <= 0.0 {
                    continue;
                }
                energy += 0.5 * plane.stiffness * overlap * overlap;
                if let Some(equations) = equations.as_deref_mut() {
                    equations.add_force(i, plane.normal * (plane.stiffness * overlap));
                    equations.add_stiffness(i, i, square);
                }
            }
        }
        energy
    }

    /// What is left on the planes for the next step.
    pub(super) fn commit_planes(&self, commits: &mut Commits) {
        for &((p, i), ref friction) in &self.plane_frictions {
            let plane = &self.around.planes[p];
            let overlap = self.plane_overlap(plane, self.places[i]).max(0.0);
            let limit = self.plane_friction(plane, plane.stiffness * overlap) * overlap;
            let kept = clipped(friction.stretch(|b| self.since_start(b)), limit);
            if limit > 0.0 {
                commits.plane_anchors.push(((p, i), kept));
            }
        }
        for (p, plane) in self.around.planes.iter().enumerate() {
            for (i, place) in self.places[..self.nodes].iter().enumerate() {
                let force = plane.stiffness * self.plane_overlap(plane, *place);
                if force > 0.0 {
                    let friction = found(&commits.plane_anchors, (p, i)) * -plane.stiffness;
                    let slips = super::end::at_limit(friction, self.plane_friction(plane, force) * force);
                    commits.plane_touches.push(PlaneTouch { plane: p, node: i, force, friction, slips });
                }
            }
        }
    }

    /// Coulomb friction of the thread on a plane that a node presses with `force` [mN].
    fn plane_friction(&self, plane: &Plane, force: f64) -> f64 {
        plane.friction * self.rod.section.friction_load.share(force)
    }

    /// What holds a node that is pressed into a plane by `overlap` [mN].
    pub(super) fn plane_limit(&self, plane: &Plane, overlap: f64) -> f64 {
        let overlap = overlap.max(0.0);
        self.plane_friction(plane, plane.stiffness * overlap) * plane.stiffness * overlap
    }

    pub(super) fn plane_overlap(&self, plane: &Plane, place: DVec3) -> f64 {
        self.rod.section.radius - (place - plane.point).dot(plane.normal)
    }
}
