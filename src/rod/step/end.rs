//! What a finished step leaves for the next one.

use super::start::found;
use super::{Memory, PlaneTouch, Report, Settings, Solve, Touch, soft_stretches};
use crate::math::DVec3;
use crate::rod::Rod;
use crate::rod::contact::Partner;
use crate::rod::contact::friction::{clipped, tangential};
use crate::rod::surroundings::Surroundings;

/// Share of the slip limit from which a contact counts as sliding: below it by rounding only.
const SLIPS_FROM: f64 = 1.0 - 1e-9;

/// Whether a friction is as great as it can be.
pub(super) fn at_limit(friction: DVec3, limit: f64) -> bool {
    friction.length() >= SLIPS_FROM * limit
}

pub(super) struct Commits {
    pub(super) anchors: Vec<((usize, Partner), DVec3)>,
    pub(super) floor_anchors: Vec<(usize, DVec3)>,
    pub(super) plane_anchors: Vec<((usize, usize), DVec3)>,
    pub(super) plane_touches: Vec<PlaneTouch>,
    pub(super) touches: Vec<Touch>,
    pub(super) sleeves: Vec<(f64, f64, DVec3)>,
    pub(super) grips: Vec<DVec3>,
    pub(super) overlap_self: f64,
    pub(super) overlap_tool: f64,
}

impl Solve<'_> {
    /// What the finished step leaves for the next one.
    pub(super) fn commits(&self, memory: &mut Memory) -> Commits {
        let moved = |b: usize| (self.places[b] - self.start[b], self.spin[b] - self.start_spin[b]);
        let cones = self.placed(&self.places);
        let mut commits = Commits {
            anchors: Vec::new(),
            floor_anchors: Vec::new(),
            plane_anchors: Vec::new(),
            plane_touches: Vec::new(),
            touches: Vec::new(),
            sleeves: Vec::new(),
            grips: Vec::new(),
            overlap_self: 0.0,
            overlap_tool: 0.0,
        };
        for &((i, partner), ref friction) in &self.frictions {
            let closest = self.closest(i, partner, &self.places, &cones);
            let force = self.pressing(partner).at(closest.overlap).force;
            let coefficient = self.friction_coefficient(partner, force);
            let stretch = tangential(friction.stretch(moved), friction.normal);
            let kept = clipped(stretch, coefficient * force / friction.stiffness);
            if force > 0.0 {
                commits.anchors.push(((i, partner), kept));
            }
        }
        for (i, partner, closest) in self.touching(&mut memory.candidates, &self.places, &cones) {
            let deepest = match partner {
                Partner::Edge(_) => &mut commits.overlap_self,
                Partner::Shape(..) => &mut commits.overlap_tool,
            };
            *deepest = deepest.max(closest.overlap);
            let pressing = self.pressing(partner);
            let force = pressing.at(closest.overlap).force;
            let held = found(&commits.anchors, (i, partner)) * -pressing.stiffness;
            commits.touches.push(Touch {
                edge: i,
                partner,
                place: self.places[i].lerp(self.places[i + 1], closest.along),
                normal: closest.normal,
                force,
                friction: held,
                slips: at_limit(held, self.friction_coefficient(partner, force) * force),
            });
        }
        for (i, friction) in &self.floor_frictions {
            let kept = clipped(friction.stretch(moved), friction.limit / friction.stiffness);
            commits.floor_anchors.push((*i, kept));
        }
        self.commit_planes(&mut commits);
        for (k, friction) in self.sleeve_frictions.iter().enumerate() {
            let stretch = friction.stretch(moved).dot(friction.normal);
            let limit = friction.limit / friction.stiffness;
            let (edge, along, centre) = self.sleeve_closest(k, &self.places);
            let material = self.rod.material[edge] + along * self.rod.rest_lengths[edge];
            let apart = self.places[edge].lerp(self.places[edge + 1], along) - centre;
            let (held, _) = friction.force(friction.stretch(moved));
            let force = apart * self.around.sleeves[k].stiffness + held;
            commits.sleeves.push((material, stretch.clamp(-limit, limit), force));
        }
        for grip in &self.around.grips {
            let tool = &self.around.tools[grip.tool];
            let at = self.nodes + grip.tool;
            let stretch = self.places[grip.node] - self.places[at] - tool.rotation * grip.place;
            let slip = stretch - clipped(stretch, grip.limit / grip.stiffness);
            commits.grips.push(grip.place + tool.rotation.conjugate() * slip);
        }
        commits
    }
}

#[expect(clippy::too_many_arguments, reason = "the end of one step, split off so that the borrow of its start ends")]
pub(super) fn finish(
    rod: &mut Rod,
    around: &mut Surroundings,
    memory: &mut Memory,
    settings: &Settings,
    places: Vec<DVec3>,
    spin: Vec<f64>,
    commits: Commits,
    dt: f64,
    mut report: Report,
) -> Report {
    let nodes = rod.node_count();
    let tools = around.tools.len();
    if places.iter().any(|p| !p.is_finite()) || spin.iter().any(|s| !s.is_finite()) {
        report.broken = true;
        return report;
    }
    let before = std::mem::replace(&mut rod.positions, places[..nodes].to_vec());
    let spin_before = std::mem::replace(&mut rod.spin, spin[..nodes].to_vec());
    memory.velocity = before.iter().zip(&rod.positions).map(|(a, b)| (*b - *a) / dt).collect();
    memory.spin_velocity = spin_before.iter().zip(&rod.spin).map(|(a, b)| (b - a) / dt).collect();
    for (t, tool) in around.tools.iter_mut().enumerate() {
        memory.velocity.push((places[nodes + t] - tool.position) / dt);
        tool.position = places[nodes + t];
        tool.rotation_before = tool.rotation;
        tool.shapes_before.clone_from(&tool.shapes);
    }
    for (b, bite) in around.bites.iter_mut().enumerate() {
        memory.velocity.push((places[nodes + tools + b] - *bite) / dt);
        *bite = places[nodes + tools + b];
    }
    memory.spin_velocity.resize(memory.velocity.len(), 0.0);
    memory.places.clone_from(&rod.positions);
    rod.transport(&before, &spin_before);
    if settings.yields {
        rod.take_set(dt, &soft_stretches(around));
    }
    for (sleeve, (material, anchor, force)) in around.sleeves.iter_mut().zip(commits.sleeves) {
        sleeve.material = material;
        sleeve.anchor = anchor;
        sleeve.force = force;
    }
    for (grip, place) in around.grips.iter_mut().zip(commits.grips) {
        grip.place = place;
    }
    memory.anchors = commits.anchors;
    memory.floor_anchors = commits.floor_anchors;
    memory.plane_anchors = commits.plane_anchors;
    memory.plane_touches = commits.plane_touches;
    for plane in &mut around.planes {
        plane.shift = DVec3::ZERO;
    }
    memory.touches = commits.touches;
    report.overlap_self = commits.overlap_self;
    report.overlap_tool = commits.overlap_tool;
    report.thread_break = rod.break_overloaded(report.residual);
    if report.thread_break.is_some() {
        memory.topology_changed();
    }
    report
}
