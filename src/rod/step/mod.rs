//! One step of the thread and what it touches: the minimum of an energy, by Newton's method with a direct solve.
//!
//! Unknown are the nodes and edge spins of the thread, the places of yielding instruments and the displacements of
//! the tissue at the bites, all together: staggering any of them overshoots. Twist gradients, friction levers and, unless
//! [`SlipLimit`] says otherwise, slip limits are those of the step's start, so the step has a true energy and a line search
//! is legitimate.

mod end;
mod forces;
mod limits;
mod model;
mod newton;
mod planes;
mod settle;
mod sleep;
mod springs;
mod start;
mod terms;
#[cfg(test)]
pub(in crate::rod) mod tests;

use crate::math::DVec3;
use crate::rod::bend::Turns;
use crate::rod::breaking::Break;
use crate::rod::contact::candidates::Candidates;
use crate::rod::contact::friction::Friction;
use crate::rod::contact::gap::Pressing;
use crate::rod::contact::{Closest, Partner};
pub use crate::rod::equations::Equations;
use crate::rod::sparse::Quad;
use crate::rod::surroundings::{Host, PlacedCone, Surroundings, Tissue};
use crate::rod::{Rod, Section, twist};
use end::finish;
pub use forces::{Forces, forces};
pub use settle::settle;
use sleep::{Nap, Sleep};
pub(in crate::rod) use start::{beside_pads, sleeve_edges};

/// How a step is solved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Newton iterations at most.
    pub iterations_max: usize,
    /// Unbalanced force allowed at any node [mN].
    pub tolerance: f64,
    /// Viscous drag per length of thread [mN ms/mm^2].
    pub drag: f64,
    /// Whether the thread may take a set.
    pub yields: bool,
    /// Whether a thread that has come to rest may sleep.
    pub sleeps: bool,
    /// Of which moment the pressing forces are that limit friction.
    pub slip_limit: SlipLimit,
    /// How far the search within an iteration goes.
    pub reach: Reach,
}

/// How far the search within an iteration goes towards what a guess of touching pairs and slipping frictions leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// The whole way. Where the guesses come to hold, a step leaves far less than its tolerance; where strands are drawn past each
    /// other they may go round in circles instead.
    Whole,
    /// To where the energy is least on the way, for hands: it never goes round in circles, and ends with what its tolerance allows.
    Least,
}

/// Of which moment of a step the pressing forces are that limit its friction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SlipLimit {
    /// Its start: one search a step; friction lags one step behind what presses.
    StepStart,
    /// Its end, for verification: the step is solved again with the limits that came of it, until no force of friction
    /// changes by more than a share `within` of its limit.
    StepEnd {
        /// That share [1].
        within: f64,
    },
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            iterations_max: 12,
            tolerance: 3.0,
            drag: 3.0,
            yields: true,
            sleeps: false,
            slip_limit: SlipLimit::StepStart,
            reach: Reach::Whole,
        }
    }
}

/// What a step did.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Report {
    /// Newton iterations used.
    pub iterations: usize,
    /// Linear systems factored.
    pub solves: usize,
    /// Largest unbalanced force left [mN].
    pub residual: f64,
    /// Greatest change of a force of friction, over its limit, were limits those of the step's end [1]; only known with
    /// [`SlipLimit::StepEnd`].
    pub limit_error: f64,
    /// Deepest overlap of thread with thread [mm].
    pub overlap_self: f64,
    /// Deepest overlap of thread with a tool [mm].
    pub overlap_tool: f64,
    /// Whether two strands went through each other.
    pub passed_through: bool,
    /// Whether any number was not finite.
    pub broken: bool,
    /// Whether the thread slept through the step.
    pub asleep: bool,
    /// Where the thread broke at the end of the step, if it did.
    pub thread_break: Option<Break>,
}

/// What lasts from one step to the next: friction anchors, candidate lists, the matrix pattern, the last motion.
#[derive(Debug, Clone, Default)]
pub struct Memory {
    /// Friction anchor [mm] of each pair in touch, pairs ascending.
    pub(in crate::rod) anchors: Vec<((usize, Partner), DVec3)>,
    pub(in crate::rod) floor_anchors: Vec<(usize, DVec3)>,
    /// Friction anchor [mm] of each plane and node in touch, ascending.
    pub(in crate::rod) plane_anchors: Vec<((usize, usize), DVec3)>,
    candidates: Candidates,
    equations: Equations,
    /// Room for a gradient alone.
    probe: Equations,
    /// Gradient at the last iterate.
    gradient: Vec<Quad>,
    pattern_blocks: usize,
    /// Which nodes were carried when the matrix pattern was laid out.
    pattern_carried: Vec<bool>,
    /// Whether what is coupled all through this step is known to have its place in the pattern.
    pattern_fits_step: bool,
    /// Iterations that the last step took.
    iterations: usize,
    /// Linear solves so far in this step.
    solves: usize,
    /// Nodes at the end of the last step: whoever holds some moves them between steps.
    pub(in crate::rod) places: Vec<DVec3>,
    pub(in crate::rod) velocity: Vec<DVec3>,
    pub(in crate::rod) spin_velocity: Vec<f64>,
    /// Pressing force of each pair in touch at the end of the last step [mN], with the place of touch [mm].
    pub touches: Vec<Touch>,
    /// The nodes that lay on planes at the end of the last step.
    pub plane_touches: Vec<PlaneTouch>,
    sleep: Sleep,
}

/// A contact as it was at the end of a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Touch {
    /// The edge.
    pub edge: usize,
    /// What it touches.
    pub partner: Partner,
    /// Place [mm].
    pub place: DVec3,
    /// Unit vector from partner to edge.
    pub normal: DVec3,
    /// Pressing force [mN].
    pub force: f64,
    /// Friction on the edge [mN]; zero in the step in which they meet.
    pub friction: DVec3,
    /// Whether friction is at its limit.
    pub slips: bool,
}

/// A node on a plane as it was at the end of a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaneTouch {
    /// The plane.
    pub plane: usize,
    /// The node.
    pub node: usize,
    /// Pressing force [mN].
    pub force: f64,
    /// Friction on the node [mN]; zero in the step in which they meet.
    pub friction: DVec3,
    /// Whether friction is at its limit.
    pub slips: bool,
}

impl Memory {
    /// What physics remembers, without the lists and matrices that can be made anew from it.
    #[must_use]
    pub fn without_lists(&self) -> Memory {
        Memory {
            anchors: self.anchors.clone(),
            floor_anchors: self.floor_anchors.clone(),
            plane_anchors: self.plane_anchors.clone(),
            places: self.places.clone(),
            velocity: self.velocity.clone(),
            spin_velocity: self.spin_velocity.clone(),
            touches: self.touches.clone(),
            plane_touches: self.plane_touches.clone(),
            sleep: self.sleep.clone(),
            ..Memory::default()
        }
    }

    /// Forgets what these nodes touched and how they moved, after they were laid anew.
    pub fn laid_anew(&mut self, rod: &Rod, nodes: &std::ops::Range<usize>) {
        let of_edge = |partner: &Partner| matches!(partner, Partner::Edge(edge) if nodes.contains(edge));
        self.anchors.retain(|((edge, partner), _)| !nodes.contains(edge) && !of_edge(partner));
        self.floor_anchors.retain(|(node, _)| !nodes.contains(node));
        self.plane_anchors.retain(|((_, node), _)| !nodes.contains(node));
        for node in nodes.clone() {
            if let (Some(place), Some(v), Some(w)) =
                (self.places.get_mut(node), self.velocity.get_mut(node), self.spin_velocity.get_mut(node))
            {
                (*place, *v, *w) = (rod.positions[node], DVec3::ZERO, 0.0);
            }
        }
        self.sleep = Sleep::default();
        self.topology_changed();
    }

    /// Forgets lists and matrix pattern, after nodes were cut, held or renumbered. Anchors stay.
    pub fn topology_changed(&mut self) {
        self.candidates.forget();
        self.pattern_blocks = 0;
    }
}

/// Length of thread on either side of soft pads that they bend gently [mm]; estimate.
const SOFT_REACH: f64 = 3.0;
const SELF_OVERLAP_SHARE: f64 = 0.6;
const TOOL_OVERLAP_MAX: f64 = 0.25;
/// The most anything moves in one iteration [mm].
const MOTION_MAX: f64 = 0.7;
/// Pairs closer than this get their place in the matrix before they touch [mm].
const PATTERN_GAP: f64 = 0.03;
/// Stiffness that any block is given when the thread's own is too small to solve with [mN/mm].
const DAMPING: f64 = 1e-3;
/// Share of the tolerance that a step as long as a sleep is solved to: what it leaves would be taken for a motion.
const TURNING_SHARE: f64 = 1e-3;
/// How often a motion is bent back before it is only shortened.
const CORRECTIONS_MAX: usize = 2;

/// Advances the thread and its surroundings by `dt` [ms].
pub fn step(
    rod: &mut Rod,
    around: &mut Surroundings,
    tissue: &dyn Tissue,
    memory: &mut Memory,
    settings: &Settings,
    dt: f64,
) -> Report {
    let (dt, far, tolerance) = match memory.nap(rod, around, tissue, settings, dt) {
        Nap::Asleep(report) => return report,
        Nap::Turning(slept, far) => (slept, far, TURNING_SHARE * settings.tolerance),
        Nap::Awake => (dt, Vec::new(), settings.tolerance),
    };
    let mut solve = Solve::new(rod, around, tissue, memory, &Settings { tolerance, ..*settings }, dt);
    let report = solve.run(memory);
    let (places, spin) = (solve.places.clone(), solve.spin.clone());
    let commits = solve.commits(memory);
    let report = finish(rod, around, memory, settings, places, spin, commits, dt, report);
    for (t, tool) in far {
        around.tools[t] = tool;
    }
    memory.tire(rod, around, tissue, settings, &report, dt);
    report
}

/// How the thread presses on a partner.
pub(in crate::rod) fn pressing(section: &Section, partner: Partner) -> Pressing {
    let overlap_max = match partner {
        Partner::Edge(_) => SELF_OVERLAP_SHARE * 2.0 * section.radius,
        Partner::Shape(..) => TOOL_OVERLAP_MAX,
    };
    Pressing { stiffness: section.contact_stiffness, overlap_max }
}

/// Stretches of thread [mm] in soft pads: fingers bend a thread round their own softness, wider than the point a sleeve
/// stands for.
fn soft_stretches(around: &Surroundings) -> Vec<(f64, f64)> {
    let held = around.sleeves.iter().filter(|s| matches!(s.host, Host::Tool(_)));
    held.map(|s| (s.material - SOFT_REACH, s.material + SOFT_REACH)).collect()
}

/// A pair with its nearest points.
type Active = (usize, Partner, Closest);

/// What is solved for of a block.
#[derive(Debug, Clone, Copy)]
struct Solved {
    place: bool,
    spin: bool,
}

/// One step being solved.
struct Solve<'a> {
    rod: &'a Rod,
    around: &'a Surroundings,
    tissue: &'a dyn Tissue,
    settings: Settings,
    dt: f64,
    nodes: usize,
    blocks: usize,
    /// What is solved for of each block.
    solved: Vec<Solved>,
    start: Vec<DVec3>,
    start_spin: Vec<f64>,
    places: Vec<DVec3>,
    spin: Vec<f64>,
    cones: Vec<Vec<PlacedCone>>,
    gradients: twist::Gradients,
    /// Directions of the edges at the start.
    tangents: Vec<DVec3>,
    /// How the edges have turned at `places`.
    turned: Turns,
    frictions: Vec<((usize, Partner), Friction)>,
    floor_frictions: Vec<(usize, Friction)>,
    /// Friction of each plane and node in touch, ascending.
    plane_frictions: Vec<((usize, usize), Friction)>,
    sleeve_edges: Vec<std::ops::Range<usize>>,
    sleeve_frictions: Vec<Friction>,
    gripped_edge: Vec<Vec<bool>>,
    inside: Vec<bool>,
    self_pressing: Pressing,
    tool_pressing: Pressing,
    /// Length of thread that belongs to each node [mm].
    lengths: Vec<f64>,
    /// Whether two strands went through each other on the way.
    passed_through: bool,
}
