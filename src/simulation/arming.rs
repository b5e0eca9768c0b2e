//! Arming: before a stitch fingers set the needle in the holder and lay the rest of its thread out.
//!
//! That happens off the wound and is not simulated: needle and thread are where it leaves them, or nothing happens.

use super::needle::{Needle, State, relative};
use super::piercing::SWAGED;
use super::{LEFT, RIGHT, World};
use crate::instruments::GRIP_GAP;
use crate::math::{DVec3, Pose, atan2, cos, rotation, sin};
use crate::performer::facing;
use crate::rod::contact::{closest_cone, closest_on_segments};
use crate::rod::surroundings::{Host, PlacedCone};
use crate::site::laid_thread;
use std::ops::Range;

/// Where the holder has the needle, as a share of the arc from the point: common practice, no source.
const HELD_AT: f64 = 0.7;
/// Where the needle runs through the holder's pads, from the tip [mm].
pub const NEEDLE_IN_PADS: f64 = 2.0;
/// How far above the gum the needle's arc waits over its way through [mm].
const WAITS_ABOVE: f64 = 8.0;
/// How far before the gum the point waits, along the arc [rad].
const WAITS_BEFORE: f64 = 0.35;
/// Thread is laid out no nearer to anything than this [mm]: so near it would be in each other's way at once.
const CLEARANCE: f64 = 0.3;

/// Needle and holder as they wait above the wound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Armed {
    /// The needle's pose.
    pub needle: Pose,
    /// The pose of the holder that has it.
    pub holder: Pose,
}

impl Armed {
    /// A needle of this radius [mm] and arc [rad] above the wound at `x` [mm], turned to go in `half_span` [mm] from the
    /// wound's middle.
    #[must_use]
    pub fn above(radius: f64, arc: f64, x: f64, half_span: f64) -> Armed {
        let (entry, height) = way_through(radius, half_span);
        let turn = entry + WAITS_BEFORE;
        let position = DVec3::X * x + DVec3::Z * (height + WAITS_ABOVE);
        let needle = Pose { position, rotation: rotation(DVec3::X, turn) };
        let held = HELD_AT * arc;
        let out = DVec3::new(0.0, sin(held + turn), -cos(held + turn));
        let holder =
            Pose { position: position + out * radius - DVec3::X * NEEDLE_IN_PADS, rotation: facing(DVec3::X, out) };
        Armed { needle, holder }
    }
}

/// Angle from straight down at which an arc of `radius` whose middle is `height` above the gum goes through it, and
/// that height, for holes `half_span` [mm] to either side.
#[must_use]
pub fn way_through(radius: f64, half_span: f64) -> (f64, f64) {
    let height = (radius * radius - half_span * half_span).max(0.0).sqrt();
    (atan2(half_span, height), height)
}

/// Why the needle is not armed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotArmed {
    /// There is none.
    #[error("there is no needle")]
    NoNeedle,
    /// It sticks in the gum.
    #[error("the needle sticks in the gum: draw it out first")]
    Sticks,
    /// The thread on it runs through the gum.
    #[error("its thread still runs through the gum: tie and cut it first")]
    ThreadInGum,
    /// The holder has thread between its jaws.
    #[error("the needle holder holds thread: let that go first")]
    HoldsThread,
    /// The holder's jaws are open.
    #[error("the needle holder's jaws are open: shut them first")]
    JawsOpen,
    /// The thread cannot be laid out.
    #[error("something lies where its thread would be laid out: move the instruments and loose ends away first")]
    InTheWay,
}

impl World {
    /// Sets the needle in the holder's closed jaws, as before the first stitch, and lays its thread out behind it.
    ///
    /// # Errors
    /// And nothing is done, while needle or thread are in the gum, the jaws are open or hold thread, or something lies in
    /// the thread's way.
    pub fn arm(&mut self) -> Result<(), NotArmed> {
        let piece = self.rod.pieces()[0].clone();
        let Some(mut needle) = self.needle.clone() else { return Err(NotArmed::NoNeedle) };
        let holds_thread = self.around.grips.iter().any(|g| g.tool == RIGHT && !self.is_swage(g));
        let hindrances = [
            (needle.sticks(), NotArmed::Sticks),
            (self.is_in_tissue(&piece), NotArmed::ThreadInGum),
            (holds_thread, NotArmed::HoldsThread),
            (self.instruments[RIGHT].gap >= GRIP_GAP, NotArmed::JawsOpen),
        ];
        if let Some((_, why)) = hindrances.into_iter().find(|(there, _)| *there) {
            return Err(why);
        }
        // How the needle stands in the holder is the same at any place over the wound.
        let Armed { needle: pose, holder } = Armed::above(needle.radius, needle.arc, 0.0, 0.0);
        needle.state = State::Held { tool: RIGHT, local: relative(&holder, &pose) };
        needle.passage = None;
        let before = self.needle.replace(needle.clone());
        let Some(laid) = self.needle_pose().and_then(|pose| self.laid_out(&needle, &pose, &piece)) else {
            self.needle = before;
            return Err(NotArmed::InTheWay);
        };
        self.let_go_of_piece(&piece);
        self.rod.lay_anew(&laid);
        self.memory.laid_anew(&self.rod, &piece);
        if let (Some(pose), Some(needle)) = (self.needle_pose(), &mut self.needle) {
            needle.tip_before = needle.point(&pose, 0.0);
        }
        self.grip_swage();
        self.memory.topology_changed();
        Ok(())
    }

    /// No hand holds anything of a piece.
    fn let_go_of_piece(&mut self, piece: &Range<usize>) {
        self.around.grips.retain(|g| !piece.contains(&g.node));
        self.around.sleeves.retain(|s| s.host != Host::Tool(LEFT));
        for node in piece.clone() {
            self.rod.free[node] = true;
            self.rod.carried[node] = false;
        }
    }

    /// Places [mm] for the nodes of the needle's piece, laid out behind the needle; `None` if they come near anything.
    fn laid_out(&self, needle: &Needle, pose: &Pose, piece: &Range<usize>) -> Option<Vec<DVec3>> {
        let height = self.around.floor.map_or(0.0, |floor| floor.height) + self.rod.section.radius;
        let (swage, back) = (needle.point(pose, needle.arc), -needle.forward(pose, needle.arc));
        let lengths = &self.rod.rest_lengths[..piece.end - 1];
        let laid = unstretched(&laid_thread(lengths, swage, back, height), lengths);
        let cones: Vec<PlacedCone> = (self.around.tools.iter())
            .flat_map(|tool| tool.shapes.iter().map(|shape| shape.placed(tool.position, tool.rotation)))
            .collect();
        let others: Vec<usize> = (piece.end..self.rod.rest_lengths.len()).filter(|&i| self.rod.live(i)).collect();
        let (radius, places) = (self.rod.section.radius, &self.rod.positions);
        // The first edges are the swage's, between the jaws.
        let clear = laid.windows(2).skip(SWAGED).all(|edge| {
            let apart = |other: &usize| {
                closest_on_segments(edge[0], edge[1], places[*other], places[other + 1]).2.length() - 2.0 * radius
            };
            others.iter().all(|other| apart(other) > CLEARANCE)
                && cones.iter().all(|cone| -closest_cone(edge[0], edge[1], radius, cone).overlap > CLEARANCE)
        });
        clear.then_some(laid)
    }
}

/// The same way with edges of exactly these lengths [mm]: where it touches down the layout cuts a corner.
fn unstretched(way: &[DVec3], lengths: &[f64]) -> Vec<DVec3> {
    let mut nodes = vec![way[0]];
    for (pair, length) in way.windows(2).zip(lengths) {
        nodes.push(nodes[nodes.len() - 1] + (pair[1] - pair[0]).normalize() * *length);
    }
    nodes
}
