//! Energy, gradient and tangent of what is neither thread nor contact: drag, weight, floor, loads, hands, grips, tissue.

use super::Solve;
use crate::math::{DMat3, DVec3};
use crate::rod::contact::friction::Friction;
use crate::rod::equations::Equations;
use crate::rod::stretch::outer;

/// Spring between the surface round a hole and its tissue [mN/mm]: stiff beside the tissue's own few hundred.
const COLLAR_STIFFNESS: f64 = 1e5;

impl Solve<'_> {
    /// Adds everything that is a spring, a damper or a dead load; returns the energy with it.
    pub(super) fn add_simple(
        &self,
        places: &[DVec3],
        spin: &[f64],
        mut equations: Option<&mut Equations>,
        mut energy: f64,
    ) -> f64 {
        let rod = self.rod;
        for i in (0..self.nodes).filter(|&i| self.turns(i)) {
            let shift = places[i] - self.start[i];
            let drag = self.settings.drag * self.lengths[i] / self.dt;
            let turned = spin[i] - self.start_spin[i];
            // Spin drag: the thread's own surface moving through the same drag.
            let spin_drag = drag * rod.section.radius * rod.section.radius + 1e-6;
            let weight = DVec3::new(0.0, 0.0, -rod.section.weight * self.lengths[i]);
            energy += 0.5 * drag * shift.length_squared() + 0.5 * spin_drag * turned * turned - weight.dot(shift);
            let overlap = self.around.floor.map_or(0.0, |f| self.floor_overlap(&f, i, places[i]));
            let stiffness = self.around.floor.map_or(0.0, |f| f.stiffness);
            let lies = overlap > 0.0 && !self.inside[i];
            if lies {
                energy += 0.5 * stiffness * overlap * overlap;
            }
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(i, weight - shift * drag);
                equations.add_gradient(i, [0.0, 0.0, 0.0, spin_drag * turned]);
                equations.add_trace(i, [drag, drag, drag, spin_drag]);
                if lies {
                    equations.add_force(i, DVec3::Z * (stiffness * overlap));
                    equations.add_trace(i, [0.0, 0.0, stiffness, 0.0]);
                }
            }
        }
        for &(node, force) in &self.around.loads {
            energy -= force.dot(places[node] - self.start[node]);
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(node, force);
            }
        }
        if !self.around.planes.is_empty() {
            energy += self.add_planes(places, equations.as_deref_mut());
        }
        energy += self.add_tools(places, spin, equations.as_deref_mut());
        energy + self.add_tissue(places, equations)
    }

    pub(super) fn add_tools(&self, places: &[DVec3], spin: &[f64], mut equations: Option<&mut Equations>) -> f64 {
        let mut energy = 0.0;
        for (t, tool) in self.around.tools.iter().enumerate() {
            let block = self.nodes + t;
            let Some(hand) = tool.hand else { continue };
            let lag = places[block] - hand.target;
            let shift = places[block] - self.start[block];
            let (e, force, tangent) = limited_spring(lag, hand.stiffness, hand.force_max);
            let damping = hand.damping / self.dt;
            energy += e + 0.5 * damping * shift.length_squared();
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(block, -force - shift * damping);
                equations.add_stiffness(block, block, tangent + DMat3::IDENTITY * damping);
                equations.add_spin_stiffness(block, 1.0);
            }
        }
        let bites = self.nodes + self.around.tools.len();
        for collar in &self.around.collars {
            let (tool, bite) = (self.nodes + collar.tool, bites + collar.bite);
            let stretch = places[tool] - collar.rest - places[bite];
            energy += 0.5 * COLLAR_STIFFNESS * stretch.length_squared();
            if let Some(equations) = equations.as_deref_mut() {
                let (force, hold) = (stretch * COLLAR_STIFFNESS, DMat3::IDENTITY * COLLAR_STIFFNESS);
                equations.add_force(tool, -force);
                equations.add_force(bite, force);
                equations.add_stiffness(tool, tool, hold);
                equations.add_stiffness(bite, bite, hold);
                equations.add_stiffness(tool, bite, -hold);
                equations.add_spin_stiffness(tool, 1.0);
            }
        }
        for grip in &self.around.grips {
            let tool = self.nodes + grip.tool;
            let stretch = places[grip.node] - places[tool] - self.around.tools[grip.tool].rotation * grip.place;
            let (e, force, tangent) = limited_spring(stretch, grip.stiffness, grip.limit);
            let turned = spin[grip.node] - grip.spin;
            let hold = 1e3;
            energy += e + 0.5 * hold * turned * turned;
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(grip.node, -force);
                equations.add_force(tool, force);
                equations.add_stiffness(grip.node, grip.node, tangent);
                equations.add_stiffness(tool, tool, tangent);
                equations.add_stiffness(grip.node, tool, -tangent);
                equations.add_gradient(grip.node, [0.0, 0.0, 0.0, hold * turned]);
                equations.add_spin_stiffness(grip.node, hold);
            }
        }
        energy
    }

    pub(super) fn add_tissue(&self, places: &[DVec3], mut equations: Option<&mut Equations>) -> f64 {
        let bites = self.nodes + self.around.tools.len();
        let mut energy = 0.0;
        for b in 0..self.around.bites.len() {
            let response = self.tissue.respond(b, places[bites + b]);
            energy += response.energy;
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(bites + b, -response.gradient);
                equations.add_stiffness(bites + b, bites + b, response.tangent);
                equations.add_spin_stiffness(bites + b, 1.0);
            }
        }
        for meeting in self.tissue.meet(&places[bites..]) {
            energy += meeting.energy;
            if let Some(equations) = equations.as_deref_mut() {
                for (a, &bite) in meeting.bites.iter().enumerate() {
                    equations.add_force(bites + bite, -meeting.gradient[a]);
                    equations.add_stiffness(bites + bite, bites + bite, meeting.hessian[a][a]);
                }
                equations.add_stiffness(bites + meeting.bites[0], bites + meeting.bites[1], meeting.hessian[0][1]);
            }
        }
        for k in 0..self.around.sleeves.len() {
            let stiffness = self.around.sleeves[k].stiffness;
            let (edge, along, centre) = self.sleeve_closest(k, places);
            let tangent = (places[edge + 1] - places[edge]).normalize();
            let apart = places[edge].lerp(places[edge + 1], along) - centre;
            energy += 0.5 * stiffness * apart.length_squared();
            if let Some(equations) = equations.as_deref_mut() {
                let inside = along > 0.0 && along < 1.0;
                let hold = if inside { DMat3::IDENTITY - outer(tangent, tangent) } else { DMat3::IDENTITY };
                let turns = inside && equations.exact && !equations.gradient_only;
                let length = places[edge].distance(places[edge + 1]);
                let ends = [-1.0, 1.0, 0.0];
                let host = self.host_block(self.around.sleeves[k].host);
                let rows = [(edge, 1.0 - along), (edge + 1, along), (host, -1.0)];
                for (a, &(block, weight)) in rows.iter().enumerate() {
                    equations.add_force(block, apart * (-stiffness * weight));
                    for (b, &(other, other_weight)) in rows.iter().enumerate().skip(a) {
                        let mut square = hold * (weight * other_weight);
                        if turns {
                            // The edge turns, and the place on it moves.
                            let turned = outer(tangent, apart) * (weight * ends[b])
                                + outer(apart, tangent) * (other_weight * ends[a]);
                            square -=
                                turned * (1.0 / length) + outer(apart, apart) * (ends[a] * ends[b] / (length * length));
                        }
                        equations.add_stiffness(block, other, square * stiffness);
                    }
                }
            }
        }
        energy
    }
}

/// A spring no stronger than `limit`: energy, force along the stretch, tangent.
pub(super) fn limited_spring(stretch: DVec3, stiffness: f64, limit: f64) -> (f64, DVec3, DMat3) {
    let spring = Friction { anchor: DVec3::ZERO, normal: DVec3::Z, limit, stiffness, levers: Vec::new() };
    let (force, tangent) = spring.force(stretch);
    (spring.energy(stretch), force, tangent)
}
