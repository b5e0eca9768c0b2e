//! What the thread meets: instruments that yield to it, teeth, the gum's surface, holes it runs through, jaws that hold it.

use crate::math::{DMat3, DQuat, DVec3};

/// A round cone in a tool's own frame: all spheres between two. With both centres in one place it is a sphere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoundCone {
    /// Centre of the first sphere [mm].
    pub start: DVec3,
    /// Centre of the last sphere [mm].
    pub end: DVec3,
    /// Radius of the first sphere [mm].
    pub start_radius: f64,
    /// Radius of the last sphere [mm].
    pub end_radius: f64,
}

/// A round cone in the world.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlacedCone {
    /// Centre of the first sphere [mm].
    pub start: DVec3,
    /// Centre of the last sphere [mm].
    pub end: DVec3,
    /// Radius of the first sphere [mm].
    pub start_radius: f64,
    /// Radius of the last sphere [mm].
    pub end_radius: f64,
}

impl RoundCone {
    /// A cylinder with round ends: the same radius [mm] all along.
    #[must_use]
    pub const fn capsule(start: DVec3, end: DVec3, radius: f64) -> RoundCone {
        RoundCone { start, end, start_radius: radius, end_radius: radius }
    }

    /// The cone in the world when its tool is at `position`, turned by `rotation`.
    #[must_use]
    pub fn placed(&self, position: DVec3, rotation: DQuat) -> PlacedCone {
        PlacedCone {
            start: position + rotation * self.start,
            end: position + rotation * self.end,
            start_radius: self.start_radius,
            end_radius: self.end_radius,
        }
    }
}

/// How a hand holds a tool: a spring to where the hand is, no stronger than the hand, and a damper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hand {
    /// Where the hand wants the tool's origin [mm].
    pub target: DVec3,
    /// Stiffness [mN/mm].
    pub stiffness: f64,
    /// Largest force [mN].
    pub force_max: f64,
    /// Damping [mN ms/mm].
    pub damping: f64,
}

/// An instrument, or anything else solid. Its place is solved with the thread, so it yields; its turn is the hand's.
#[derive(Debug, Clone, PartialEq)]
pub struct Tool {
    /// Origin [mm].
    pub position: DVec3,
    /// Turn at the end of the step, body to world.
    pub rotation: DQuat,
    /// Turn at the start of the step.
    pub rotation_before: DQuat,
    /// Shapes at the end of the step, in the tool's frame.
    pub shapes: Vec<RoundCone>,
    /// Shapes at the start of the step (jaws move), same length.
    pub shapes_before: Vec<RoundCone>,
    /// Who holds it; nobody holds what cannot move.
    pub hand: Option<Hand>,
    /// Coulomb friction of the thread on it; `None` for that of the section on steel.
    pub friction: Option<f64>,
}

impl Tool {
    /// A tool that has not moved, in no turn, with the section's friction on steel.
    #[must_use]
    pub fn new(position: DVec3, shapes: Vec<RoundCone>, hand: Option<Hand>) -> Tool {
        Tool {
            position,
            rotation: DQuat::IDENTITY,
            rotation_before: DQuat::IDENTITY,
            shapes_before: shapes.clone(),
            shapes,
            hand,
            friction: None,
        }
    }
}

/// A level surface the thread and the tools lie on: gum, graft and membrane, soft and wet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Floor {
    /// Height [mm].
    pub height: f64,
    /// Stiffness for one node [mN/mm].
    pub stiffness: f64,
    /// Wet adhesion one node must overcome to slide [mN].
    pub adhesion: f64,
}

/// A flat solid of any orientation that keeps the thread on the side its normal points to. It presses on nodes and holds
/// them by friction without couple, as the floor does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    /// A place on it at the end of the step [mm].
    pub point: DVec3,
    /// Unit vector out of the solid.
    pub normal: DVec3,
    /// How far it has moved since the start of the step [mm].
    pub shift: DVec3,
    /// Stiffness for one node [mN/mm].
    pub stiffness: f64,
    /// Coulomb friction of the thread on it.
    pub friction: f64,
}

/// What a sleeve belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Host {
    /// A hole in the tissue of this bite.
    Bite(usize),
    /// The pads of this tool.
    Tool(usize),
}

/// A place the thread runs through and may slide in: a hole in the gum, or pads that hold it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sleeve {
    /// What it moves with.
    pub host: Host,
    /// Place when the tissue is at rest, or in the tool's frame [mm].
    pub rest: DVec3,
    /// Material coordinate of the thread now inside it [mm].
    pub material: f64,
    /// Stiffness against the thread leaving its middle [mN/mm].
    pub stiffness: f64,
    /// Coulomb friction of the thread against what it presses on when it is pulled aside.
    pub friction: f64,
    /// Grip on resting or sliding thread, whatever presses beside [mN].
    pub drag: f64,
    /// Stretch of its friction spring along the thread [mm].
    pub anchor: f64,
    /// Force of the thread on the tissue at the end of the last step [mN].
    pub force: DVec3,
}

/// One node of the thread between the jaws of a tool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grip {
    /// The node.
    pub node: usize,
    /// The tool.
    pub tool: usize,
    /// Where on the pads, in the tool's frame [mm].
    pub place: DVec3,
    /// Stiffness [mN/mm].
    pub stiffness: f64,
    /// Force beyond which it slips [mN].
    pub limit: f64,
    /// Spin of the edge after the node that the pads hold [rad].
    pub spin: f64,
}

/// A tool that is part of the tissue at a bite and moves with it: the gum's surface round a hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Collar {
    /// The tool.
    pub tool: usize,
    /// The bite.
    pub bite: usize,
    /// The tool's origin when the tissue is at rest [mm].
    pub rest: DVec3,
}

/// Energy, gradient and tangent of a bite's tissue at a displacement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    /// Energy [mN mm].
    pub energy: f64,
    /// Gradient [mN].
    pub gradient: DVec3,
    /// Tangent, symmetric positive definite [mN/mm].
    pub tangent: DMat3,
}

/// Elastic tissue behind the bites.
pub trait Tissue {
    /// How many bites there are.
    fn bite_count(&self) -> usize;
    /// The tissue at bite `bite` displaced by `displacement` [mm].
    fn respond(&self, bite: usize, displacement: DVec3) -> Response;
    /// Pairs of bites whose edges may press on each other: the same pairs wherever the bites are.
    fn meet(&self, displacements: &[DVec3]) -> Vec<Meeting>;
}

/// The edges in front of two bites pressed together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// The two bites.
    pub bites: [usize; 2],
    /// Energy [mN mm].
    pub energy: f64,
    /// Slope of the energy by each bite's displacement [mN].
    pub gradient: [DVec3; 2],
    /// Second derivatives [mN/mm], positive semi-definite as a whole.
    pub hessian: [[DMat3; 2]; 2],
}

/// No tissue at all.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoTissue;

impl Tissue for NoTissue {
    fn bite_count(&self) -> usize {
        0
    }
    fn respond(&self, _bite: usize, _displacement: DVec3) -> Response {
        Response { energy: 0.0, gradient: DVec3::ZERO, tangent: DMat3::IDENTITY }
    }
    fn meet(&self, _displacements: &[DVec3]) -> Vec<Meeting> {
        Vec::new()
    }
}

/// Everything around the thread.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Surroundings {
    /// Instruments, teeth, test cylinders.
    pub tools: Vec<Tool>,
    /// The surface below, if any.
    pub floor: Option<Floor>,
    /// Flat solids.
    pub planes: Vec<Plane>,
    /// Holes, in the order the thread passes them.
    pub sleeves: Vec<Sleeve>,
    /// What the jaws hold.
    pub grips: Vec<Grip>,
    /// Tools that move with the tissue.
    pub collars: Vec<Collar>,
    /// Displacement of each bite's tissue [mm].
    pub bites: Vec<DVec3>,
    /// Dead loads: node and force [mN].
    pub loads: Vec<(usize, DVec3)>,
}
