//! What the needle does in the world: it is held and let go, its point goes through the flaps, thread follows into
//! the holes it leaves.

use super::needle::{Needle, Passage, State, Taken, piercing_force, placed, relative};
use super::{LEFT, World};
use crate::analysis::findings::NeedleEventKind;
use crate::instruments;
use crate::math::{DVec2, DVec3, Pose};
use crate::rod::surroundings::{Grip, Host, Sleeve};
use crate::tissue::{BiteSpec, Side};

/// Stiffness of a hole that has thread in it [mN/mm]: a thread's width of play under a newton or so; estimate.
pub(super) const HOLE_STIFFNESS: f64 = 20_000.0;
/// Grip of a hole on thread that slides through [mN]; estimate.
pub(super) const HOLE_DRAG: f64 = 60.0;
/// A hole that the needle still fills holds no thread; this keeps its place in the list [mN/mm].
const FILLED_STIFFNESS: f64 = 1e-6;
/// The swage holds the first nodes of the thread this stiffly [mN/mm].
const SWAGE_STIFFNESS: f64 = 100_000.0;
/// No hand pulls the thread out of its swage [mN]: the limit of a hand stops it before.
const SWAGE_LIMIT: f64 = 50_000.0;
/// Nodes that the swage holds: a place and a direction.
pub(super) const SWAGED: usize = 2;

impl World {
    /// Where the needle is, while it is in the field.
    #[must_use]
    pub fn needle_pose(&self) -> Option<Pose> {
        match self.needle.as_ref()?.state {
            State::Held { tool, local } => Some(placed(&self.pose(tool), &local)),
            State::Resting(pose) => Some(pose),
            State::InPalm => None,
        }
    }

    /// Whether a hand's instrument holds the needle.
    #[must_use]
    pub fn holds_needle(&self, hand: usize) -> bool {
        matches!(self.needle.as_ref().map(|n| n.state), Some(State::Held { tool, .. }) if tool == hand)
    }

    /// Whether the rest of the strand goes into the palm of the hand that holds it: not while the needle is elsewhere.
    pub(super) fn palm_is_free(&self) -> bool {
        self.needle.as_ref().is_none_or(|n| n.state == State::InPalm)
    }

    /// Gives the needle to the world, held as its state says.
    pub fn set_needle(&mut self, needle: Needle) {
        self.needle = Some(needle);
        self.grip_swage();
    }

    /// Clamps the thread's end to the needle, where the needle is.
    pub(super) fn grip_swage(&mut self) {
        let (Some(needle), Some(pose)) = (self.needle.clone(), self.needle_pose()) else { return };
        let (end, back) = (needle.point(&pose, needle.arc), -needle.forward(&pose, needle.arc));
        self.drop_swage_grips();
        for node in 0..SWAGED {
            let place = end + back * self.rod.material[node];
            if let State::Held { tool, .. } = needle.state {
                self.rod.free[node] = true;
                self.around.grips.push(Grip {
                    node,
                    tool,
                    place: self.pose(tool).local(place),
                    stiffness: SWAGE_STIFFNESS,
                    limit: SWAGE_LIMIT,
                    spin: self.rod.spin[node],
                });
            } else {
                self.rod.free[node] = false;
                self.rod.positions[node] = place;
            }
        }
        self.around.grips.sort_by_key(|g| (g.tool, g.node));
        self.memory.topology_changed();
    }

    fn drop_swage_grips(&mut self) {
        self.around.grips.retain(|g| g.node >= SWAGED);
    }

    /// Whether a grip is the swage's hold on the thread.
    pub(super) fn is_swage(&self, grip: &Grip) -> bool {
        grip.node < SWAGED && self.holds_needle(grip.tool)
    }

    /// Closing jaws take a needle that nobody holds, if it lies between their pads.
    pub(super) fn take_needle(&mut self, hand: usize) -> bool {
        let Some(needle) = &mut self.needle else { return false };
        let State::Resting(pose) = needle.state else { return false };
        let tool = &self.around.tools[hand];
        let tool = Pose { position: tool.position, rotation: tool.rotation };
        let (kind, gap) = (self.instruments[hand].kind, self.instruments[hand].gap);
        let steps = 60;
        let held = (0..=steps).any(|k| {
            let place = needle.point(&pose, needle.arc * f64::from(k) / f64::from(steps));
            instruments::between_pads(kind, gap, tool.local(place))
        });
        if held {
            needle.state = State::Held { tool: hand, local: relative(&tool, &pose) };
            self.grip_swage();
        }
        held
    }

    /// Opening jaws leave the needle in the gum, or drop it.
    pub(super) fn release_needle(&mut self, hand: usize) {
        let from_palm = hand == LEFT && matches!(self.needle.as_ref().map(|n| n.state), Some(State::InPalm));
        let pose = if from_palm { Some(self.pose(LEFT)) } else { self.needle_pose() };
        if !(from_palm || self.holds_needle(hand)) {
            return;
        }
        let (Some(mut pose), Some(needle)) = (pose, &mut self.needle) else { return };
        if from_palm || !needle.sticks() {
            let lowest = needle.centreline(&pose).iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
            pose.position.z -= lowest - 0.5 * needle.wire;
            needle.passage = None;
            self.needle_events.push((self.tick, NeedleEventKind::Dropped, needle.point(&pose, 0.0)));
        }
        needle.tip_before = needle.point(&pose, 0.0);
        needle.state = State::Resting(pose);
        let is_loose = !needle.sticks();
        self.grip_swage();
        if is_loose {
            self.lay_collars();
        }
    }

    /// The left hand has taken the strand; once needle and strand are out of the gum, its palm takes both.
    pub(super) fn needle_to_palm(&mut self, material: f64) {
        let holes = self.around.sleeves.iter().filter(|s| matches!(s.host, Host::Bite(_)));
        let strand_side = holes.map(|s| s.material).fold(f64::INFINITY, f64::min) > material;
        let Some(needle) = &mut self.needle else { return };
        let loose = matches!(needle.state, State::Held { .. } | State::Resting(_));
        if loose && strand_side && !needle.sticks() {
            needle.state = State::InPalm;
            needle.passage = None;
            self.drop_swage_grips();
            self.lay_collars();
            self.memory.topology_changed();
        }
    }

    /// Lays the gum's surface round the holes once the needle is out of hand: only then can a knot come to them, and
    /// the coarse thread behind the swage would only catch on it.
    fn lay_collars(&mut self) {
        for bite in 0..self.taken.len() {
            if !self.around.collars.iter().any(|collar| collar.bite == bite) {
                self.add_collar(bite, self.taken[bite].1.seat);
            }
        }
    }

    /// The gum's resistance acts on the instrument that holds the needle.
    pub(super) fn resist_needle(&mut self) {
        let (Some(needle), Some(pose)) = (&self.needle, self.needle_pose()) else { return };
        if let State::Held { tool, .. } = needle.state {
            let force = needle.resistance(needle.forward(&pose, 0.0));
            self.around.loads.push((self.rod.node_count() + tool, force));
        }
    }

    /// Follows the needle's point and its swage through the step that was just done.
    pub(super) fn follow_needle(&mut self, dt: f64) {
        let Some(pose) = self.needle_pose() else { return };
        let Some(mut needle) = self.needle.take() else { return };
        let (tip, forward) = (needle.point(&pose, 0.0), needle.forward(&pose, 0.0));
        let (before, way) = (needle.tip_before, (tip - needle.tip_before).dot(forward));
        needle.speed = way / dt;
        self.blunt_point(&mut needle, tip);
        self.advance_point(&mut needle, before, tip, forward, way);
        needle.tip_before = tip;
        if tip.z < -needle.membrane_depth && before.z >= -needle.membrane_depth {
            let through = self.gum.membrane.pierce(DVec2::new(tip.x, tip.y));
            if through {
                self.needle_events.push((self.tick, NeedleEventKind::PiercedMembrane, tip));
            }
        }
        self.fill_holes_with_thread(&mut needle, &pose);
        self.needle = Some(needle);
    }

    /// The flap the point is in, if any.
    fn flap_at(&self, place: DVec3) -> Option<Side> {
        Side::BOTH.into_iter().find(|side| {
            let flap = self.gum.flaps.flap(*side);
            let half_length = -flap.surface().node_position(0, 0).x;
            if place.x.abs() > half_length || place.z > 0.0 || place.z < -flap.settings().thickness_mm {
                return false;
            }
            let from_edge = side.sign() * (place.y - flap.edge_y(place.x));
            from_edge > 0.0 && from_edge < flap.settings().height_mm
        })
    }

    /// Where between two places the flap is entered or left [mm].
    fn border(&self, mut inside: DVec3, mut outside: DVec3, side: Side) -> DVec3 {
        const HALVINGS: usize = 20;
        for _ in 0..HALVINGS {
            let middle = inside.lerp(outside, 0.5);
            if self.flap_at(middle) == Some(side) { inside = middle } else { outside = middle }
        }
        inside.lerp(outside, 0.5)
    }

    /// The direction out of the face of a flap that a place on its surface lies in; edges and ends are straight.
    fn face_of_flap(&self, side: Side, place: DVec3) -> DVec3 {
        let flap = self.gum.flaps.flap(side);
        let (half_length, settings) = (-flap.surface().node_position(0, 0).x, flap.settings());
        let from_edge = side.sign() * (place.y - flap.edge_y(place.x));
        let outward = DVec3::Y * side.sign();
        let faces = [
            (place.z, DVec3::Z),
            (place.z + settings.thickness_mm, -DVec3::Z),
            (from_edge, -outward),
            (settings.height_mm - from_edge, outward),
            (half_length - place.x.abs(), DVec3::X * place.x.signum()),
        ];
        faces.into_iter().min_by(|a, b| a.0.abs().total_cmp(&b.0.abs())).map_or(DVec3::Z, |face| face.1)
    }

    fn advance_point(&mut self, needle: &mut Needle, before: DVec3, tip: DVec3, forward: DVec3, way: f64) {
        let here = self.flap_at(tip);
        let Some(mut passage) = needle.passage else {
            if let (Some(side), None) = (here, self.flap_at(before)) {
                let entry = self.border(tip, before, side);
                let way = tip.distance(entry);
                let push = piercing_force(-forward.dot(self.face_of_flap(side, entry)), needle.sharpness);
                let passage = Passage { side, entry, entry_forward: forward, depth: 0.0, way, push, pierced: false };
                needle.passage = Some(passage);
            }
            return;
        };
        passage.way += way;
        passage.depth = passage.depth.max(-tip.z);
        let thickness = self.gum.flaps.flap(passage.side).settings().thickness_mm;
        if !passage.pierced && way > 0.0 && passage.gives_way(thickness) {
            passage.pierced = true;
            self.needle_events.push((self.tick, NeedleEventKind::Entered, tip));
        }
        needle.passage = Some(passage);
        if here == Some(passage.side) {
            return;
        }
        needle.passage = None;
        if passage.pierced && way > 0.0 {
            self.needle_events.push((self.tick, NeedleEventKind::Exited, tip));
            let exit = self.border(before, tip, passage.side);
            self.make_bite(needle, &passage, exit, forward);
        }
    }

    /// The point is through a flap: its way becomes two holes, which the needle still fills.
    fn make_bite(&mut self, needle: &mut Needle, passage: &Passage, exit: DVec3, exit_forward: DVec3) {
        let side = passage.side;
        let down = passage.entry.z > exit.z;
        let (upper, forward) = if down { (passage.entry, passage.entry_forward) } else { (exit, exit_forward) };
        let edge = self.gum.flaps.flap(side).edge_y(upper.x);
        let distance_from_edge = side.sign() * (upper.y - edge);
        let diameter = 2.0 * self.rod.section.radius;
        let spec = BiteSpec { side, x_mm: upper.x, edge_distance_mm: distance_from_edge, thread_diameter_mm: diameter };
        // A bite out of range grips no tissue: the needle has only scratched the edge.
        let Ok(bite) = self.gum.flaps.add_bite(spec) else { return };
        let stitch = self.stitch_of_next_bite();
        let seat = self.gum.flaps.rest_point(bite);
        let host = Host::Bite(self.gum.bites.len());
        self.gum.bites.push(bite);
        self.around.bites.push(DVec3::ZERO);
        let taken =
            Taken { bite, stitch, along_wound: upper.x, distance_from_edge, depth: passage.depth, forward, seat };
        self.taken.push((self.tick, taken));
        for (k, place) in [exit, passage.entry].into_iter().enumerate() {
            let hole = Sleeve {
                host,
                rest: seat + (place - upper),
                material: 0.0,
                stiffness: FILLED_STIFFNESS,
                friction: 0.0,
                drag: 0.0,
                anchor: 0.0,
                force: DVec3::ZERO,
            };
            self.around.sleeves.insert(k, hole);
        }
        needle.filled += 2;
        self.memory.topology_changed();
    }

    /// The swage has passed a hole: from now on thread runs through it.
    fn fill_holes_with_thread(&mut self, needle: &mut Needle, pose: &Pose) {
        let (swage, forward) = (needle.point(pose, needle.arc), needle.forward(pose, needle.arc));
        while needle.filled > 0 {
            let hole = &self.around.sleeves[needle.filled - 1];
            let Host::Bite(bite) = hole.host else { break };
            let past = (swage - hole.rest - self.around.bites[bite]).dot(forward);
            if past <= 0.0 {
                break;
            }
            let friction = self.rod.section.friction_tissue;
            let hole = &mut self.around.sleeves[needle.filled - 1];
            hole.material = past;
            hole.stiffness = HOLE_STIFFNESS;
            hole.friction = friction;
            hole.drag = HOLE_DRAG;
            needle.filled -= 1;
            self.memory.topology_changed();
        }
        for hole in &mut self.around.sleeves[..needle.filled] {
            (hole.material, hole.anchor, hole.force) = (0.0, 0.0, DVec3::ZERO);
        }
    }

    /// Holes follow their bite's seat as it tears toward the edge; one that has torn out holds nothing.
    pub(super) fn follow_tears(&mut self) {
        for (index, (_, taken)) in self.taken.iter_mut().enumerate() {
            let now = self.gum.flaps.rest_point(taken.bite);
            let shift = now - taken.seat;
            taken.seat = now;
            let host = Host::Bite(index);
            self.around.sleeves.iter_mut().filter(|s| s.host == host).for_each(|s| s.rest += shift);
            self.around.collars.iter_mut().filter(|c| c.bite == index).for_each(|c| c.rest += shift);
            if self.gum.flaps.tear(taken.bite).torn_through {
                if !self.around.sleeves.iter().any(|s| s.host == host) {
                    continue;
                }
                if let Some(needle) = &mut self.needle {
                    let filled = &self.around.sleeves[..needle.filled];
                    needle.filled = filled.iter().filter(|s| s.host != host).count();
                }
                self.around.sleeves.retain(|s| s.host != host);
                self.memory.topology_changed();
            }
        }
    }
}
