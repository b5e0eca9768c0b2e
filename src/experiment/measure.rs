//! What can be measured, in the units of the outputs.

use super::build::{Bench, Span};
use super::curve::vector;
use super::drive::{Holder, Mover, Moves};
use super::schema::{Contacts, EnergyKind, Place, Quantity, Vector};
use crate::math::{DVec3, acos, across};
use crate::rod::contact::Partner;
use crate::rod::step::{Forces, forces};
use crate::rod::surroundings::{NoTissue, Tissue};
use crate::rod::{Rod, bend, stretch, twist};
use crate::topology::{gauss_between, writhe};
use std::f64::consts::PI;

/// How far away an open thread is closed [mm]: what the closure adds is the thread's size over this.
const CLOSED_AT: f64 = 1e6;

/// The unit of a quantity; empty for a pure number.
pub(super) fn unit(quantity: &Quantity) -> &'static str {
    match quantity {
        Quantity::HoldForce { .. }
        | Quantity::ObstacleForce { .. }
        | Quantity::Contact { .. }
        | Quantity::Tension { .. }
        | Quantity::BreakLoad
        | Quantity::HoleForce { .. }
        | Quantity::TearForce { .. }
        | Quantity::NeedleForce { .. }
        | Quantity::Residual => "N",
        Quantity::HoldTorque { .. }
        | Quantity::TwistMoment { .. }
        | Quantity::Energy { .. }
        | Quantity::TissueEnergy => "N mm",
        Quantity::HoldShift { .. }
        | Quantity::Position { .. }
        | Quantity::Displacement { .. }
        | Quantity::HoleDisplacement { .. }
        | Quantity::TearLength { .. }
        | Quantity::EdgeGap { .. }
        | Quantity::Distance { .. } => "mm",
        Quantity::PressedArea { .. } | Quantity::PaleArea => "mm^2",
        Quantity::PaleDose => "mm^2 s",
        Quantity::HoldSpin { .. }
        | Quantity::ObstacleTurn { .. }
        | Quantity::Twist { .. }
        | Quantity::Writhe { .. }
        | Quantity::Linking { .. }
        | Quantity::Winding { .. } => "turns",
        Quantity::Slope { .. } | Quantity::Turning { .. } => "deg",
        Quantity::Curvature { .. } => "1/mm",
        Quantity::TwistRate { .. } => "rad/mm",
        Quantity::Sliding { .. } | Quantity::Strain { .. } | Quantity::Paleness { .. } => "",
    }
}

impl Bench {
    /// All forces in the present state.
    pub(super) fn forces(&mut self) -> Forces {
        let tissue: &dyn Tissue = self.bed.as_ref().map_or(&NoTissue, |bed| &bed.gum);
        forces(&self.rod, &self.around, tissue, &mut self.memory, &self.settings)
    }

    fn span(&self, name: &str) -> &Span {
        self.spans.iter().find(|span| span.name == name).expect("checked: the thread exists")
    }

    fn holder(&self, name: &str) -> &Holder {
        self.drive.holders.iter().find(|holder| holder.hold.name == name).expect("checked: the hold exists")
    }

    fn mover(&self, name: &str) -> &Mover {
        self.drive.movers.iter().find(|mover| mover.obstacle.name == name).expect("checked: the obstacle exists")
    }

    /// A quantity in its unit; `forces` are those of the present state, if anybody had to reckon them already.
    pub(super) fn measure(&mut self, quantity: &Quantity, known: &mut Option<Forces>) -> f64 {
        if let Some(value) = self.bed.as_ref().and_then(|bed| bed.measure(quantity)) {
            return value;
        }
        match quantity {
            Quantity::HoldForce { hold, along } => {
                let forces = known.get_or_insert_with(|| self.forces());
                let holder = self.holder(hold);
                if holder.released {
                    return 0.0;
                }
                part(holder.nodes.iter().map(|&node| forces.nodes[node]).sum(), *along) * 1e-3
            }
            Quantity::HoldTorque { hold } => {
                let forces = known.get_or_insert_with(|| self.forces());
                let holder = self.holder(hold);
                if holder.released { 0.0 } else { forces.spins[holder.nodes[0]] * 1e-3 }
            }
            Quantity::ObstacleForce { obstacle, along } => {
                let force = self.obstacle_force(obstacle, known);
                part(force, *along) * 1e-3
            }
            _ => self.state(quantity),
        }
    }

    /// What needs no reckoning of forces.
    fn state(&self, quantity: &Quantity) -> f64 {
        let rod = &self.rod;
        match quantity {
            Quantity::HoldShift { hold, along } => part(self.holder(hold).shift(), *along),
            Quantity::HoldSpin { hold } => self.holder(hold).spin_turns(),
            Quantity::ObstacleTurn { obstacle } => self.mover(obstacle).turned / (2.0 * PI),
            Quantity::Contact { of } => self.contacts(of).map(|(force, _)| force).sum::<f64>() * 1e-3,
            Quantity::Sliding { of } => {
                let all: f64 = self.contacts(of).map(|(force, _)| force).sum();
                let sliding: f64 = self.contacts(of).filter(|(_, slips)| *slips).map(|(force, _)| force).sum();
                if all > 0.0 { sliding / all } else { 0.0 }
            }
            Quantity::Tension { thread, place } => rod.tension(self.span(thread).live_edge(rod, *place)) * 1e-3,
            Quantity::Strain { thread, place } => rod.strain(self.span(thread).live_edge(rod, *place)),
            Quantity::Position { thread, place, along } => {
                part(rod.positions[self.span(thread).node(rod, *place)], Some(*along))
            }
            Quantity::Displacement { thread, place, along } => {
                let node = self.span(thread).node(rod, *place);
                part(rod.positions[node] - self.origin[node], *along)
            }
            Quantity::Distance { thread, place, other_thread, other_place } => {
                let at = |thread: &str, place: &Place| rod.positions[self.span(thread).node(rod, *place)];
                at(thread, place).distance(at(other_thread, other_place))
            }
            Quantity::Slope { thread, place, against } => {
                let edge = self.span(thread).edge(rod, *place);
                let tangent = (rod.positions[edge + 1] - rod.positions[edge]).normalize();
                acos(tangent.dot(vector(*against).normalize())) * 180.0 / PI
            }
            Quantity::Curvature { thread, place } => {
                let node = self.span(thread).corner(rod, *place);
                bend::tangent_change(rod, node).length() / bend::voronoi_length(rod, node)
            }
            Quantity::Turning { thread, from, to } => {
                let span = self.span(thread);
                let (from, to) = (span.node(rod, *from), span.node(rod, *to));
                (from.min(to) + 1..from.max(to)).map(|i| corner(&rod.positions, i)).sum::<f64>() * 180.0 / PI
            }
            Quantity::TwistRate { thread, place } => self.twist_rate(thread, *place),
            Quantity::TwistMoment { thread, place } => {
                self.twist_rate(thread, *place) * rod.section.twist_stiffness * 1e-3
            }
            Quantity::Twist { thread } => self.twist(self.span(thread)),
            Quantity::Writhe { thread } => closed_writhe(rod, self.span(thread)),
            Quantity::Linking { thread } => {
                let span = self.span(thread);
                self.twist(span) + closed_writhe(rod, span)
            }
            Quantity::Winding { thread, other } => {
                let points = |name: &str| &rod.positions[self.span(name).nodes.clone()];
                gauss_between(points(thread), points(other))
            }
            Quantity::BreakLoad => self.break_load * 1e-3,
            Quantity::Energy { of } => self.energy(*of) * 1e-3,
            Quantity::Residual => self.report.residual * 1e-3,
            Quantity::HoldForce { .. } | Quantity::HoldTorque { .. } | Quantity::ObstacleForce { .. } => {
                unreachable!("these need forces")
            }
            _ => unreachable!("checked: gum is measured where there is gum"),
        }
    }

    fn obstacle_force(&mut self, name: &str, known: &mut Option<Forces>) -> DVec3 {
        match self.mover(name).moves {
            Moves::Tool { tool, .. } => known.get_or_insert_with(|| self.forces()).tools[tool],
            Moves::Plane(plane) => {
                let normal = self.around.planes[plane].normal;
                let on = self.memory.plane_touches.iter().filter(|touch| touch.plane == plane);
                on.map(|touch| -normal * touch.force - touch.friction).sum()
            }
        }
    }

    /// Pressing force [mN] of each contact of a kind, and whether it slips.
    fn contacts<'a>(&'a self, of: &'a Contacts) -> impl Iterator<Item = (f64, bool)> + 'a {
        let touches = self.memory.touches.iter().filter(move |touch| self.belongs(touch.edge, touch.partner, of));
        let planes = self.memory.plane_touches.iter().filter(move |touch| match of {
            Contacts::All => true,
            Contacts::Obstacle { name } => {
                matches!(self.mover(name).moves, Moves::Plane(plane) if plane == touch.plane)
            }
            Contacts::Threads { .. } | Contacts::Stretches { .. } => false,
        });
        touches.map(|t| (t.force, t.slips)).chain(planes.map(|t| (t.force, t.slips)))
    }

    fn belongs(&self, edge: usize, partner: Partner, of: &Contacts) -> bool {
        match (of, partner) {
            (Contacts::All, _) => true,
            (Contacts::Obstacle { name }, Partner::Shape(t, _)) => {
                matches!(self.mover(name).moves, Moves::Tool { tool, .. } if tool == t)
            }
            (Contacts::Threads { first, second }, Partner::Edge(other)) => {
                let (first, second) = (&self.span(first).nodes, &self.span(second).nodes);
                let both = |a, b| first.contains(&a) && second.contains(&b);
                both(edge, other) || both(other, edge)
            }
            (Contacts::Stretches { thread, from_mm, to_mm, other_from_mm, other_to_mm }, Partner::Edge(other)) => {
                let span = self.span(thread);
                let along = |e: usize| {
                    let middle = 0.5 * (self.rod.material[e] + self.rod.material[e + 1]);
                    span.nodes.contains(&e).then_some(middle - self.rod.material[span.nodes.start])
                };
                let within = |e: usize, from: f64, to: f64| along(e).is_some_and(|s| (from..=to).contains(&s));
                let both = |a, b| within(a, *from_mm, *to_mm) && within(b, *other_from_mm, *other_to_mm);
                both(edge, other) || both(other, edge)
            }
            _ => false,
        }
    }

    fn twist_at(&self, i: usize) -> f64 {
        self.rod.spin[i] - self.rod.spin[i - 1] + self.rod.reference_twist[i]
    }

    fn twist_rate(&self, thread: &str, place: Place) -> f64 {
        let node = self.span(thread).corner(&self.rod, place);
        self.twist_at(node) / bend::voronoi_length(&self.rod, node)
    }

    fn twist(&self, span: &Span) -> f64 {
        (span.nodes.start + 1..span.nodes.end - 1).map(|i| self.twist_at(i)).sum::<f64>() / (2.0 * PI)
    }

    fn energy(&self, kind: EnergyKind) -> f64 {
        let (rod, places, spin) = (&self.rod, &self.rod.positions, &self.rod.spin);
        match kind {
            EnergyKind::Stretch => stretch::energy(rod, places),
            EnergyKind::Bending => bend::energy(rod, places, spin),
            EnergyKind::Twist => twist::energy(rod, &twist::gradients(rod), places, spin),
            EnergyKind::All => {
                let kinds = [EnergyKind::Stretch, EnergyKind::Bending, EnergyKind::Twist];
                kinds.into_iter().map(|kind| self.energy(kind)).sum()
            }
        }
    }
}

/// A vector's part along a direction, or its size.
fn part(v: DVec3, along: Option<Vector>) -> f64 {
    along.map_or(v.length(), |along| v.dot(vector(along).normalize()))
}

/// Angle between the edges at node `i` [rad].
fn corner(places: &[DVec3], i: usize) -> f64 {
    let (before, after) = ((places[i] - places[i - 1]).normalize(), (places[i + 1] - places[i]).normalize());
    crate::math::atan2(before.cross(after).length(), before.dot(after))
}

/// Writhe of a ring, or of a thread led straight on from both ends and closed far away in the plane of the leads.
fn closed_writhe(rod: &Rod, span: &Span) -> f64 {
    let points = &rod.positions[span.nodes.clone()];
    let last = points.len() - 1;
    if span.ring {
        return writhe(&points[..last]);
    }
    let first_lead = points[0] - (points[1] - points[0]).normalize() * CLOSED_AT;
    let last_lead = points[last] + (points[last] - points[last - 1]).normalize() * CLOSED_AT;
    let chord = last_lead - first_lead;
    let side = if chord.length() > 1.0 { across(chord) } else { DVec3::Z } * CLOSED_AT;
    let mut ring = vec![first_lead + side, first_lead];
    ring.extend(points);
    ring.extend([last_lead, last_lead + side, first_lead + side]);
    writhe(&ring)
}
