//! A stitch that is through the gum when an attempt begins: thread laid out, tail short, strand and needle in the left hand.
//!
//! How it came there is not simulated: bites, holes and collars are where the needle would have left them.

use super::gum::Gum;
use super::needle::Taken;
use super::piercing::{HOLE_DRAG, HOLE_STIFFNESS};
use super::{World, wet_floor};
use crate::math::{DVec3, Pose};
use crate::performer::facing;
use crate::quantity::Tick;
use crate::rod::surroundings::{Host, Sleeve, Surroundings};
use crate::rod::{Rod, Section};
use crate::tissue::{BiteId, BiteSpec, Flaps, Membrane, OutOfRange, Side};

/// Tail beyond the hole on the far side [mm], as the demonstrations draw it.
const TAIL: f64 = 22.0;
/// Where the left hand holds the strand [mm].
const HAND: DVec3 = DVec3::new(-14.0, -38.0, 32.0);
/// Which way the rest of the strand lies behind it, before the palm takes it [mm].
const BEHIND_HAND: DVec3 = DVec3::new(-50.0, -12.0, -20.0);
/// The holes in the lower surface are this far from the edge [mm]: the arc of a needle narrows below the gum (estimate).
const UNDER_EDGE: f64 = 0.4;
/// How high the thread's middle lies on the gum [mm].
const LIFT: f64 = 0.12;

/// What the stitch runs through and is made of.
pub(super) struct Threaded {
    pub(super) section: Section,
    /// Length of the thread [mm].
    pub(super) length: f64,
    pub(super) flaps: Flaps,
    pub(super) membrane: Membrane,
    /// Gap between the edges at rest [mm].
    pub(super) gap: f64,
    /// Thickness of the flaps [mm].
    pub(super) thickness: f64,
    /// Distance of both bites from their edges [mm].
    pub(super) bite: f64,
}

impl Threaded {
    /// The world with the stitch in it, the holder away from the wound; or every number of a bite that its flap cannot take.
    pub(super) fn world(self) -> Result<World, Vec<OutOfRange>> {
        let Threaded { section, length, mut flaps, membrane, gap, thickness, bite } = self;
        let spec =
            |side| BiteSpec { side, x_mm: 0.0, edge_distance_mm: bite, thread_diameter_mm: 2.0 * section.radius };
        let bites = [flaps.add_bite(spec(Side::Cheek))?, flaps.add_bite(spec(Side::Tongue))?];
        let mouth = |side: Side| DVec3::Y * (side.sign() * (0.5 * gap + bite));
        let under = |side: Side| DVec3::new(0.0, side.sign() * (0.5 * gap + UNDER_EDGE), -thickness);
        let holes =
            [(1, mouth(Side::Tongue)), (1, under(Side::Tongue)), (0, under(Side::Cheek)), (0, mouth(Side::Cheek))];
        let points = laid(&holes.map(|(_, place)| place), length);
        let rod = Rod::at_rest(section, points);
        let mut around = Surroundings { floor: Some(wet_floor()), ..Surroundings::default() };
        for (bite, rest) in holes {
            around.sleeves.push(Sleeve {
                host: Host::Bite(bite),
                rest,
                material: nearest(&rod, rest),
                stiffness: HOLE_STIFFNESS,
                friction: rod.section.friction_tissue,
                drag: HOLE_DRAG,
                anchor: 0.0,
                force: DVec3::ZERO,
            });
        }
        let held = nearest(&rod, HAND);
        let taken = bites.map(|id| (Tick(0), taken(&flaps, id, bite, thickness)));
        let pose = |position, axis: DVec3| Pose { position, rotation: facing(axis, DVec3::Z) };
        let right = pose(DVec3::new(30.0, 0.0, 30.0), DVec3::new(0.97, 0.0, 0.2));
        let left = pose(HAND, DVec3::new(-1.0, 0.0, 0.3));
        let gum = Gum { flaps, membrane, bites: bites.to_vec() };
        let mut world = World::new(rod, around, gum, right, left);
        world.taken = taken.to_vec();
        world.take_strand(held);
        for (bite, side) in Side::BOTH.into_iter().enumerate() {
            world.add_collar(bite, mouth(side));
        }
        Ok(world)
    }
}

/// A bite as the needle would have taken it.
fn taken(flaps: &Flaps, bite: BiteId, distance_from_edge: f64, depth: f64) -> Taken {
    Taken {
        bite,
        stitch: 0,
        along_wound: 0.0,
        distance_from_edge,
        depth,
        forward: -DVec3::Z,
        seat: flaps.rest_point(bite),
    }
}

/// Nodes [mm] from the swaged end through the hand and the holes to the tail's end; finer the nearer to the knot.
fn laid(holes: &[DVec3; 4], length: f64) -> Vec<DVec3> {
    let [near, near_under, far_under, far] = *holes;
    let lift = DVec3::Z * LIFT;
    let middle = near + (HAND - near) * 0.62;
    let tail_end = far + DVec3::new(-0.6, 1.0, 0.0).normalize() * TAIL + lift;
    let mut corners = vec![
        (HAND, 0.9),
        (middle, 0.5),
        (near + lift, 0.45),
        (near_under, 0.45),
        (far_under, 0.45),
        (far + lift, 0.5),
        (tail_end, 0.5),
    ];
    let laid: f64 = corners.windows(2).map(|pair| pair[0].0.distance(pair[1].0)).sum();
    corners.insert(0, (HAND + BEHIND_HAND.normalize() * (length - laid), 1.2));
    let mut points = Vec::new();
    for pair in corners.windows(2) {
        let ((from, spacing), (to, _)) = (pair[0], pair[1]);
        let count = (from.distance(to) / spacing).ceil().max(1.0);
        let mut k = 0.0;
        while k < count {
            points.push(from.lerp(to, k / count));
            k += 1.0;
        }
    }
    points.push(tail_end);
    points
}

/// Material coordinate [mm] of the node that is nearest to a place.
fn nearest(rod: &Rod, place: DVec3) -> f64 {
    let distance = |node: usize| rod.positions[node].distance(place);
    let node = (0..rod.node_count()).min_by(|&a, &b| distance(a).total_cmp(&distance(b)));
    rod.material[node.expect("a thread has nodes")]
}
