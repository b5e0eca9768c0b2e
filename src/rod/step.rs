//! One step of the thread and what it touches: the minimum of an energy, by Newton's method with a direct solve.
//!
//! Unknown are the nodes and edge spins of the thread, the places of yielding instruments and the displacements of
//! the tissue at the bites, all together: staggering any of them overshoots. Slip limits, twist gradients and friction
//! levers are those of the step's start, so the step has a true energy and a line search is legitimate.

use super::contact::candidates::Candidates;
use super::contact::friction::{Friction, Lever, clipped, tangential};
use super::contact::gap::{Pressed, Pressing};
use super::contact::{Closest, Partner, closest_cone, closest_edges};
pub use super::equations::Equations;
use super::equations::joined;
use super::sparse::{BlockSystem, Quad};
use super::stretch::outer;
use super::surroundings::{Floor, Host, PlacedCone, Surroundings, Tissue};
use super::{Rod, bend, stretch, twist};
use crate::math::{DMat3, DVec3};

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
}

impl Default for Settings {
    fn default() -> Settings {
        Settings { iterations_max: 12, tolerance: 3.0, drag: 3.0, yields: true }
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
    /// Deepest overlap of thread with thread [mm].
    pub overlap_self: f64,
    /// Deepest overlap of thread with a tool [mm].
    pub overlap_tool: f64,
    /// Whether two strands went through each other.
    pub passed_through: bool,
    /// Whether any number was not finite.
    pub broken: bool,
}

/// What lasts from one step to the next: friction anchors, candidate lists, the matrix pattern, the last motion.
#[derive(Debug, Clone, Default)]
pub struct Memory {
    /// Friction anchor [mm] of each pair in touch, pairs ascending.
    anchors: Vec<((usize, Partner), DVec3)>,
    floor_anchors: Vec<(usize, DVec3)>,
    candidates: Candidates,
    equations: Equations,
    /// Room for a gradient alone.
    probe: Equations,
    /// Gradient at the last iterate.
    gradient: Vec<Quad>,
    pattern_blocks: usize,
    /// Linear solves so far in this step.
    solves: usize,
    /// Nodes at the end of the last step: whoever holds some moves them between steps.
    places: Vec<DVec3>,
    velocity: Vec<DVec3>,
    spin_velocity: Vec<f64>,
    /// Pressing force of each pair in touch at the end of the last step [mN], with the place of touch [mm].
    pub touches: Vec<Touch>,
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
}

impl Memory {
    /// Forgets lists and matrix pattern, after nodes were cut, held or renumbered. Anchors stay.
    pub fn topology_changed(&mut self) {
        self.candidates.forget();
        self.pattern_blocks = 0;
    }
}

/// Length of thread on either side of soft pads that they bend gently [mm]; estimate.
const SOFT_REACH: f64 = 3.0;
/// Spring between the surface round a hole and its tissue [mN/mm]: stiff beside the tissue's own few hundred.
const COLLAR_STIFFNESS: f64 = 1e5;
const SELF_OVERLAP_SHARE: f64 = 0.6;
const TOOL_OVERLAP_MAX: f64 = 0.25;
/// The most anything moves in one iteration [mm].
const MOTION_MAX: f64 = 0.7;
/// Pairs closer than this get their place in the matrix before they touch [mm].
const PATTERN_GAP: f64 = 0.03;
/// Stiffness that any block is given when the thread's own is too small to solve with [mN/mm].
const DAMPING: f64 = 1e-3;
/// How often the set of touching pairs is guessed anew within one iteration.
const MODEL_ROUNDS: usize = 8;
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
    let mut solve = Solve::new(rod, around, tissue, memory, settings, dt);
    let report = solve.run(memory);
    let (places, spin) = (solve.places.clone(), solve.spin.clone());
    let commits = solve.commits(memory);
    finish(rod, around, memory, settings, places, spin, commits, dt, report)
}

/// A pair with its nearest points.
type Active = (usize, Partner, Closest);

/// What the linear model of one iteration takes for granted.
struct Model {
    /// Pairs still apart that come to touch.
    coming: Vec<Active>,
    /// Stretch about which each friction is linearised [mm].
    slips: Vec<DVec3>,
}

/// Which tangent the equations hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Tangent {
    /// The true one, which need not be positive.
    True,
    /// Without what could make it negative.
    Positive,
    /// The same with a little of everything, for a slack thread whose own stiffness is lost in rounding.
    Damped,
}

struct Commits {
    anchors: Vec<((usize, Partner), DVec3)>,
    floor_anchors: Vec<(usize, DVec3)>,
    touches: Vec<Touch>,
    sleeves: Vec<(f64, f64, DVec3)>,
    grips: Vec<DVec3>,
    overlap_self: f64,
    overlap_tool: f64,
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
    start: Vec<DVec3>,
    start_spin: Vec<f64>,
    places: Vec<DVec3>,
    spin: Vec<f64>,
    cones: Vec<Vec<PlacedCone>>,
    gradients: twist::Gradients,
    frictions: Vec<((usize, Partner), Friction)>,
    floor_frictions: Vec<(usize, Friction)>,
    sleeve_edges: Vec<std::ops::Range<usize>>,
    sleeve_frictions: Vec<Friction>,
    gripped_edge: Vec<Vec<bool>>,
    inside: Vec<bool>,
    self_pressing: Pressing,
    tool_pressing: Pressing,
    drags: Vec<f64>,
}

impl<'a> Solve<'a> {
    fn new(
        rod: &'a Rod,
        around: &'a Surroundings,
        tissue: &'a dyn Tissue,
        memory: &mut Memory,
        settings: &Settings,
        dt: f64,
    ) -> Solve<'a> {
        let nodes = rod.node_count();
        let tools = around.tools.len();
        let blocks = nodes + tools + around.bites.len();
        let mut start = rod.positions.clone();
        start.extend(around.tools.iter().map(|t| t.position));
        start.extend(&around.bites);
        let mut start_spin = rod.spin.clone();
        start_spin.resize(blocks, 0.0);
        let mut drags: Vec<f64> = (0..nodes)
            .map(|i| {
                let before = if i > 0 { rod.rest_lengths[i - 1] } else { 0.0 };
                let after = if i + 1 < nodes { rod.rest_lengths[i] } else { 0.0 };
                settings.drag * 0.5 * (before + after)
            })
            .collect();
        drags.resize(blocks, 0.0);
        let mut gripped_edge = vec![vec![false; rod.rest_lengths.len()]; tools];
        for grip in &around.grips {
            for edge in [grip.node.wrapping_sub(1), grip.node] {
                if let Some(flag) = gripped_edge[grip.tool].get_mut(edge) {
                    *flag = true;
                }
            }
        }
        let diameter = 2.0 * rod.section.radius;
        let mut solve = Solve {
            rod,
            around,
            tissue,
            settings: *settings,
            dt,
            nodes,
            blocks,
            places: start.clone(),
            spin: start_spin.clone(),
            start,
            start_spin,
            cones: Vec::new(),
            gradients: twist::gradients(rod),
            frictions: Vec::new(),
            floor_frictions: Vec::new(),
            sleeve_edges: Vec::new(),
            sleeve_frictions: Vec::new(),
            gripped_edge,
            inside: vec![false; nodes],
            self_pressing: Pressing {
                stiffness: rod.section.contact_stiffness,
                overlap_max: SELF_OVERLAP_SHARE * diameter,
            },
            tool_pressing: Pressing { stiffness: rod.section.contact_stiffness, overlap_max: TOOL_OVERLAP_MAX },
            drags,
        };
        solve.mark_inside();
        solve.freeze_sleeves();
        solve.freeze_frictions(memory);
        solve.freeze_floor(memory);
        solve.cones = solve.placed(&solve.places);
        solve
    }

    /// Nodes inside or near the tissue do not lie on its surface, nor on the surface round their own hole.
    fn mark_inside(&mut self) {
        let holes = self.around.sleeves.iter().filter(|s| matches!(s.host, Host::Bite(_))).map(|s| s.material);
        let Some(first) = holes.clone().reduce(f64::min) else { return };
        let last = holes.fold(first, f64::max);
        for (i, &s) in self.rod.material.iter().enumerate() {
            self.inside[i] = s > first - 1.0 && s < last + 1.0;
        }
        for collar in &self.around.collars {
            for (edge, flag) in self.gripped_edge[collar.tool].iter_mut().enumerate() {
                *flag = self.inside[edge] && self.inside[edge + 1];
            }
        }
    }

    fn placed(&self, places: &[DVec3]) -> Vec<Vec<PlacedCone>> {
        self.around
            .tools
            .iter()
            .enumerate()
            .map(|(t, tool)| tool.shapes.iter().map(|s| s.placed(places[self.nodes + t], tool.rotation)).collect())
            .collect()
    }

    fn ignored(&self, i: usize, partner: Partner) -> bool {
        match partner {
            Partner::Shape(t, _) => self.gripped_edge[t][i],
            Partner::Edge(_) => false,
        }
    }

    fn closest(&self, i: usize, partner: Partner, places: &[DVec3], cones: &[Vec<PlacedCone>]) -> Closest {
        let radius = self.rod.section.radius;
        match partner {
            Partner::Edge(j) => closest_edges(places[i], places[i + 1], places[j], places[j + 1], radius),
            Partner::Shape(t, k) => closest_cone(places[i], places[i + 1], radius, &cones[t][k]),
        }
    }

    fn pressing(&self, partner: Partner) -> &Pressing {
        match partner {
            Partner::Edge(_) => &self.self_pressing,
            Partner::Shape(..) => &self.tool_pressing,
        }
    }

    /// Freezes the friction of every pair that touches at the start of the step, with tools where they were then.
    fn freeze_frictions(&mut self, memory: &mut Memory) {
        let before: Vec<Vec<PlacedCone>> = self
            .around
            .tools
            .iter()
            .map(|tool| tool.shapes_before.iter().map(|s| s.placed(tool.position, tool.rotation_before)).collect())
            .collect();
        let held_moved = |i: usize| memory.places.get(i).map_or(0.0, |p| p.distance(self.start[i]));
        memory.candidates.moved(held_moved, |_| 0.0);
        memory.candidates.refresh(self.rod, &self.places, &before, 0.0);
        for (i, partner, closest) in self.touching(&mut memory.candidates, &self.start, &before) {
            let anchor = found(&memory.anchors, (i, partner));
            let force = self.pressing(partner).at(closest.overlap).force;
            self.frictions.push(((i, partner), self.friction(i, partner, &closest, force, anchor)));
        }
    }

    fn friction(&self, i: usize, partner: Partner, closest: &Closest, force: f64, anchor: DVec3) -> Friction {
        let normal = closest.normal;
        let across = DMat3::IDENTITY - outer(normal, normal);
        // Both surfaces are moved at the middle of their overlap, so that what one gets the other gets back, couple and all.
        let arm = self.rod.section.radius - 0.5 * closest.overlap;
        let mut levers = Vec::with_capacity(5);
        self.edge_levers(&mut levers, i, closest.along, normal, across, arm, 1.0);
        let mut anchor = tangential(anchor, normal);
        let coefficient = match partner {
            Partner::Edge(j) => {
                self.edge_levers(&mut levers, j, closest.along_partner, normal, across, arm, -1.0);
                self.rod.section.friction_thread
            }
            Partner::Shape(t, k) => {
                let tool = &self.around.tools[t];
                levers.push(Lever { block: self.nodes + t, by_position: -across, by_spin: DVec3::ZERO });
                let at = |s: &super::surroundings::RoundCone| s.start + (s.end - s.start) * closest.along_partner;
                let centre_before = at(&tool.shapes_before[k]);
                let reach = tool.shapes[k].start_radius * (1.0 - closest.along_partner)
                    + tool.shapes[k].end_radius * closest.along_partner;
                let surface = tool.rotation_before.conjugate() * (normal * reach);
                let moved =
                    tool.rotation * (at(&tool.shapes[k]) + surface) - tool.rotation_before * (centre_before + surface);
                anchor -= tangential(moved, normal);
                self.rod.section.friction_steel
            }
        };
        Friction { anchor, normal, limit: coefficient * force, stiffness: self.pressing(partner).stiffness, levers }
    }

    /// How edge `i` moves its surface where it is touched: with its centreline, and by turning, about its own axis
    /// and with its direction. `side` is +1 for the edge the normal points to, -1 for its partner.
    #[expect(clippy::too_many_arguments, reason = "one contact's geometry, used twice")]
    fn edge_levers(
        &self,
        levers: &mut Vec<Lever>,
        i: usize,
        along: f64,
        normal: DVec3,
        across: DMat3,
        arm: f64,
        side: f64,
    ) {
        let edge = self.start[i + 1] - self.start[i];
        let length = edge.length();
        let tangent = edge / length;
        // The touching point lies at -side arm n from the centreline. Turning the edge moves it by (t x dt) x arm n; both
        // signs of `side` (which end of the arm, which end of the slip) cancel.
        let flat = DMat3::IDENTITY - outer(tangent, tangent);
        let turning = across * (outer(tangent, normal) - DMat3::IDENTITY * tangent.dot(normal)) * flat * (arm / length);
        let spinning = tangent.cross(normal) * -arm;
        levers.push(Lever { block: i, by_position: across * (side * (1.0 - along)) - turning, by_spin: spinning });
        levers.push(Lever { block: i + 1, by_position: across * (side * along) + turning, by_spin: DVec3::ZERO });
    }

    fn freeze_floor(&mut self, memory: &Memory) {
        let Some(floor) = self.around.floor else { return };
        for i in 0..self.nodes {
            let overlap = self.floor_overlap(&floor, i, self.start[i]);
            if overlap > 0.0 && self.rod.free[i] && !self.inside[i] {
                let limit = self.rod.section.friction_tissue * floor.stiffness * overlap + floor.adhesion;
                let across = DMat3::from_diagonal(DVec3::new(1.0, 1.0, 0.0));
                let lever = Lever { block: i, by_position: across, by_spin: DVec3::ZERO };
                let anchor = found(&memory.floor_anchors, i);
                let friction =
                    Friction { anchor, normal: DVec3::Z, limit, stiffness: floor.stiffness, levers: vec![lever] };
                self.floor_frictions.push((i, friction));
            }
        }
    }

    fn floor_overlap(&self, floor: &Floor, _node: usize, place: DVec3) -> f64 {
        floor.height + self.rod.section.radius - place.z
    }

    fn sleeve_place(&self, k: usize, places: &[DVec3]) -> DVec3 {
        let sleeve = &self.around.sleeves[k];
        let host = places[self.host_block(sleeve.host)];
        match sleeve.host {
            Host::Bite(_) => sleeve.rest + host,
            Host::Tool(t) => host + self.around.tools[t].rotation * sleeve.rest,
        }
    }

    fn host_block(&self, host: Host) -> usize {
        match host {
            Host::Bite(b) => self.nodes + self.around.tools.len() + b,
            Host::Tool(t) => self.nodes + t,
        }
    }

    fn freeze_sleeves(&mut self) {
        for (k, sleeve) in self.around.sleeves.iter().enumerate() {
            let at = self.rod.material.partition_point(|&s| s <= sleeve.material).clamp(1, self.nodes - 1) - 1;
            let carried = self.rod.carried.iter().take_while(|&&c| c).count();
            let range = at.saturating_sub(2).max(carried.min(at))..(at + 3).min(self.nodes - 1);
            if let Host::Tool(t) = sleeve.host {
                // What lies in the palm, between the pads and just in front of them does not touch the tool's outside.
                self.gripped_edge[t][..(range.end + 3).min(self.nodes - 1)].fill(true);
            }
            self.sleeve_edges.push(range);
            let (edge, along, centre) = self.sleeve_closest(k, &self.start);
            let tangent = (self.start[edge + 1] - self.start[edge]).normalize();
            let point = self.start[edge].lerp(self.start[edge + 1], along);
            let pressed = sleeve.stiffness * tangential(point - centre, tangent).length();
            let axial = outer(tangent, tangent);
            let host = self.host_block(sleeve.host);
            let levers = vec![
                Lever { block: edge, by_position: axial * (1.0 - along), by_spin: DVec3::ZERO },
                Lever { block: edge + 1, by_position: axial * along, by_spin: DVec3::ZERO },
                Lever { block: host, by_position: -axial, by_spin: DVec3::ZERO },
            ];
            self.sleeve_frictions.push(Friction {
                anchor: tangent * sleeve.anchor,
                normal: tangent,
                limit: sleeve.friction * pressed + sleeve.drag,
                stiffness: sleeve.stiffness,
                levers,
            });
        }
    }

    /// The edge nearest a sleeve's centre, the place on it, and the centre.
    fn sleeve_closest(&self, k: usize, places: &[DVec3]) -> (usize, f64, DVec3) {
        let centre = self.sleeve_place(k, places);
        let mut best = (f64::INFINITY, 0, 0.0);
        for i in self.sleeve_edges[k].clone() {
            let edge = places[i + 1] - places[i];
            let along = ((centre - places[i]).dot(edge) / edge.length_squared()).clamp(0.0, 1.0);
            let distance = (places[i] + edge * along).distance_squared(centre);
            if distance < best.0 {
                best = (distance, i, along);
            }
        }
        (best.1, best.2, centre)
    }

    fn run(&mut self, memory: &mut Memory) -> Report {
        let mut report = Report::default();
        memory.solves = 0;
        memory.candidates.moved(|_| 0.0, |t| self.tool_motion(t));
        self.predict(memory);
        for iteration in 0..self.settings.iterations_max {
            self.cones = self.placed(&self.places);
            memory.candidates.refresh(self.rod, &self.places, &self.cones, MOTION_MAX);
            let active = self.touching(&mut memory.candidates, &self.places, &self.cones);
            let mut probe = std::mem::take(&mut memory.probe);
            probe.gradient_only = true;
            let energy = self.assemble(&self.places, &self.spin, &active, &mut probe);
            memory.gradient.clone_from(&probe.gradient);
            report.residual = self.residual(&probe.gradient);
            report.iterations = iteration;
            memory.probe = probe;
            if report.residual < self.settings.tolerance && iteration > 0 {
                break;
            }
            let Some(motion) = self.motion(memory, &active) else {
                report.broken = true;
                break;
            };
            let slope: f64 = motion.iter().zip(&memory.gradient).map(|(m, g)| dot(m, g)).sum();
            if !slope.is_finite() {
                report.broken = true;
                break;
            }
            self.advance(memory, &motion, energy, slope);
            report.iterations = iteration + 1;
        }
        report.solves = memory.solves;
        report
    }

    /// The motion to the minimum of the linear model, in which pairs that come to touch on the way press too: otherwise
    /// every new contact would be met only after it has been overrun. `None` if the equations have no solution.
    fn motion(&self, memory: &mut Memory, active: &[Active]) -> Option<Vec<Quad>> {
        let stretches: Vec<DVec3> =
            self.all_frictions().map(|friction| friction.stretch(|b| self.since_start(b))).collect();
        let mut model = Model { coming: Vec::new(), slips: stretches.clone() };
        let mut base = None;
        let plain = self.model_motion(memory, active, &model, &mut base)?;
        let mut motion = plain.clone();
        for _round in 0..MODEL_ROUNDS {
            let met = self.meet(memory, active, &mut model.coming, &motion);
            let slipped = self.slip(&mut model.slips, &stretches, &motion);
            if !met && !slipped {
                break;
            }
            motion = self.model_motion(memory, active, &model, &mut base)?;
        }
        let slope = |motion: &[Quad]| -> f64 { motion.iter().zip(&memory.gradient).map(|(m, g)| dot(m, g)).sum() };
        Some(if slope(&motion) < 0.0 { motion } else { plain })
    }

    fn since_start(&self, block: usize) -> (DVec3, f64) {
        (self.places[block] - self.start[block], self.spin[block] - self.start_spin[block])
    }

    /// Brings the stretches about which frictions are linearised into line with a motion; whether that changed whether
    /// or where to any of them slips. One that turns against its slip sticks first.
    fn slip(&self, slips: &mut [DVec3], stretches: &[DVec3], motion: &[Quad]) -> bool {
        let mut changed = false;
        for ((friction, slip), stretch) in self.all_frictions().zip(slips).zip(stretches) {
            let by = |b: usize| (shift(&motion[b]), motion[b][3]);
            let there = *stretch + friction.stretch(by) - friction.anchor;
            let reach = friction.limit / friction.stiffness;
            let slipped = slip.length() > reach;
            let slips_there = there.length() > reach && !(slipped && slip.dot(there) < 0.0);
            let next = if slips_there { there } else { DVec3::ZERO };
            let turned = slips_there && next.dot(*slip) < 0.95 * next.length() * slip.length();
            changed |= slips_there != slipped || turned;
            *slip = next;
        }
        changed
    }

    /// Brings the list of pairs that come to touch into line with a motion; whether that changed it.
    fn meet(&self, memory: &mut Memory, active: &[Active], coming: &mut Vec<Active>, motion: &[Quad]) -> bool {
        let presses =
            |(i, partner, closest): &Active| closest.overlap + self.approach(*i, *partner, closest, motion) > 0.0;
        let before = coming.len();
        coming.retain(presses);
        let mut changed = coming.len() != before;
        let (_, near) = self.step_share(&mut memory.candidates, motion);
        for &k in &near {
            let (i, partner) = memory.candidates.pairs()[k];
            let known = |list: &[Active]| list.iter().any(|a| a.0 == i && a.1 == partner);
            if known(active) || known(coming) {
                continue;
            }
            let pair = (i, partner, self.closest(i, partner, &self.places, &self.cones));
            if presses(&pair) {
                coming.push(pair);
                changed = true;
            }
        }
        changed
    }

    /// Solves the linear model, with the true tangent if that is positive. What does not change from one model to the
    /// next of the same iteration is kept in `base`, which says of what kind it is.
    fn model_motion(
        &self,
        memory: &mut Memory,
        active: &[Active],
        model: &Model,
        base: &mut Option<Tangent>,
    ) -> Option<Vec<Quad>> {
        let all: Vec<Active> = active.iter().chain(&model.coming).copied().collect();
        if self.ensure_pattern(memory, &all) {
            *base = None;
        }
        let mut equations = std::mem::take(&mut memory.equations);
        let mut solved = false;
        while !solved {
            match *base {
                Some(_) => equations.restore(),
                None => self.assemble_base(active, Tangent::True, &mut equations),
            }
            let kind = base.unwrap_or(Tangent::True);
            *base = Some(kind);
            self.assemble_frictions(&self.places, &self.spin, Some(&model.slips), &mut equations);
            for (i, partner, closest) in &model.coming {
                self.assemble_coming(*i, *partner, closest, &mut equations);
            }
            self.hold(&mut equations.gradient);
            solved = equations.matrix.factor();
            memory.solves += 1;
            if !solved {
                let next = match kind {
                    Tangent::True => Tangent::Positive,
                    Tangent::Positive => Tangent::Damped,
                    Tangent::Damped => break,
                };
                self.assemble_base(active, next, &mut equations);
                *base = Some(next);
            }
        }
        let mut motion: Vec<Quad> = equations.gradient.iter().map(|g| g.map(|v| -v)).collect();
        if solved {
            equations.matrix.solve(&mut motion);
        }
        memory.equations = equations;
        solved.then_some(motion)
    }

    fn assemble_base(&self, active: &[Active], kind: Tangent, equations: &mut Equations) {
        equations.exact = kind == Tangent::True;
        equations.clear(self.blocks);
        self.assemble_smooth(&self.places, &self.spin, active, equations);
        if kind == Tangent::Damped {
            let block = std::array::from_fn(|k| if k % 5 == 0 { DAMPING } else { 0.0 });
            (0..self.blocks).for_each(|i| equations.add_block(i, i, &block));
        }
        equations.keep();
    }

    /// How much deeper a pair gets by a motion, to first order [mm].
    fn approach(&self, i: usize, partner: Partner, closest: &Closest, motion: &[Quad]) -> f64 {
        let own = shift(&motion[i]).lerp(shift(&motion[i + 1]), closest.along);
        let other = match partner {
            Partner::Edge(j) => shift(&motion[j]).lerp(shift(&motion[j + 1]), closest.along_partner),
            Partner::Shape(t, _) => shift(&motion[self.nodes + t]),
        };
        (other - own).dot(closest.normal)
    }

    /// How far the shapes of tool `t` have moved by the hand's turning and opening alone [mm].
    fn tool_motion(&self, t: usize) -> f64 {
        let tool = &self.around.tools[t];
        let mut most: f64 = 0.0;
        for (now, before) in tool.shapes.iter().zip(&tool.shapes_before) {
            for (a, b) in [(now.start, before.start), (now.end, before.end)] {
                most = most.max((tool.rotation * a - tool.rotation_before * b).length());
            }
            let swollen = (now.start_radius - before.start_radius).abs();
            most = most.max(swollen).max((now.end_radius - before.end_radius).abs());
        }
        most
    }

    /// Starts from where the last motion would lead, if that is downhill.
    fn predict(&mut self, memory: &mut Memory) {
        if memory.velocity.len() != self.blocks {
            return;
        }
        let motion: Vec<Quad> = memory
            .velocity
            .iter()
            .zip(&memory.spin_velocity)
            .map(|(v, w)| [v.x * self.dt, v.y * self.dt, v.z * self.dt, w * self.dt])
            .collect();
        self.cones = self.placed(&self.places);
        memory.candidates.refresh(self.rod, &self.places, &self.cones, MOTION_MAX);
        let (share, near) = self.step_share(&mut memory.candidates, &motion);
        let energy = self.energy(memory.candidates.pairs(), &near, &self.places, &self.spin);
        let trial = self.moved(&motion, share);
        if self.energy(memory.candidates.pairs(), &near, &trial.0, &trial.1) < energy {
            self.accept(memory, trial);
        }
    }

    fn accept(&mut self, memory: &mut Memory, (places, spin): (Vec<DVec3>, Vec<f64>)) {
        let moved = |b: usize| places[b].distance(self.places[b]);
        memory.candidates.moved(moved, |t| moved(self.nodes + t));
        self.places = places;
        self.spin = spin;
    }

    fn moved(&self, motion: &[Quad], share: f64) -> (Vec<DVec3>, Vec<f64>) {
        let places = self.places.iter().zip(motion).map(|(p, m)| *p + shift(m) * share).collect();
        let spin = self.spin.iter().zip(motion).map(|(s, m)| s + m[3] * share).collect();
        (places, spin)
    }

    /// The share of a motion that cannot carry anything through anything, and the listed pairs that may come to touch
    /// on the way: a pair either stays apart, or moves less against each other than would bring its centrelines together.
    fn step_share(&self, candidates: &mut Candidates, motion: &[Quad]) -> (f64, Vec<usize>) {
        let speed: Vec<f64> = motion.iter().map(|m| shift(m).length()).collect();
        let most = speed.iter().copied().fold(0.0, f64::max);
        let mut share = if most > MOTION_MAX { MOTION_MAX / most } else { 1.0 };
        let edge_speed: Vec<f64> = speed.windows(2).map(|s| s[0].max(s[1])).collect();
        let mut near = Vec::new();
        for k in 0..candidates.pairs().len() {
            let (i, partner) = candidates.pairs()[k];
            let other = match partner {
                Partner::Edge(j) => edge_speed[j],
                Partner::Shape(t, _) => speed[self.nodes + t],
            };
            let approach = edge_speed[i] + other;
            if candidates.gap(k) > approach * share || self.ignored(i, partner) {
                continue;
            }
            let closest = self.closest(i, partner, &self.places, &self.cones);
            candidates.measured(k, -closest.overlap);
            if -closest.overlap > approach * share {
                continue;
            }
            near.push(k);
            let relative = self.relative_motion(i, partner, motion);
            // Not even a motion straight across may use up what separates the centrelines.
            let apart = 2.0 * self.rod.section.radius - closest.overlap;
            let room = (0.45 * apart).max(-closest.overlap).max(0.05 * self.rod.section.radius);
            if relative * share > room {
                share = room / relative;
            }
        }
        (share, near)
    }

    /// The most that any place on one side of a pair moves against any place on the other [mm].
    fn relative_motion(&self, i: usize, partner: Partner, motion: &[Quad]) -> f64 {
        let mut most: f64 = 0.0;
        for own in [i, i + 1] {
            let others = match partner {
                Partner::Edge(j) => [j, j + 1],
                Partner::Shape(t, _) => [self.nodes + t; 2],
            };
            for other in others {
                most = most.max((shift(&motion[own]) - shift(&motion[other])).length_squared());
            }
        }
        most.sqrt()
    }

    /// Goes as far along a Newton motion as lowers the energy enough.
    ///
    /// An inextensible thread moves on curved paths: a straight motion stretches it in second order, and a line search
    /// would cut every motion that turns edges to nothing. So a motion that does not go down is first bent back onto
    /// the path with the factors at hand (second-order correction; Nocedal & Wright 2006, Numerical Optimization, section 18.3).
    fn advance(&mut self, memory: &mut Memory, motion: &[Quad], energy: f64, slope: f64) {
        let (mut share, near) = self.step_share(&mut memory.candidates, motion);
        for attempt in 0..8 {
            let trial = self.moved(motion, share);
            let reached = self.energy(memory.candidates.pairs(), &near, &trial.0, &trial.1);
            let wanted = energy + 1e-4 * share * slope;
            if reached <= wanted || attempt == 7 {
                return self.accept(memory, trial);
            }
            if attempt < CORRECTIONS_MAX
                && let Some(trial) = self.corrected(memory, motion, share, &trial, &near, wanted)
            {
                return self.accept(memory, trial);
            }
            share *= 0.5;
        }
    }

    /// The trial place bent back by one more solve with the same factors, if that goes down as wanted.
    fn corrected(
        &self,
        memory: &mut Memory,
        motion: &[Quad],
        share: f64,
        trial: &(Vec<DVec3>, Vec<f64>),
        near: &[usize],
        wanted: f64,
    ) -> Option<(Vec<DVec3>, Vec<f64>)> {
        let cones = self.placed(&trial.0);
        let touching: Vec<(usize, Partner, Closest)> = near
            .iter()
            .map(|&k| memory.candidates.pairs()[k])
            .map(|(i, partner)| (i, partner, self.closest(i, partner, &trial.0, &cones)))
            .filter(|(_, _, closest)| closest.overlap > 0.0)
            .collect();
        let mut probe = std::mem::take(&mut memory.probe);
        probe.gradient_only = true;
        self.assemble(&trial.0, &trial.1, &touching, &mut probe);
        // What the linear model expects to be left after this share of the motion is no error of the path.
        let mut whole: Vec<Quad> = probe
            .gradient
            .iter()
            .zip(&memory.gradient)
            .map(|(there, here)| std::array::from_fn(|c| (1.0 - share) * here[c] - there[c]))
            .collect();
        memory.probe = probe;
        memory.equations.matrix.solve(&mut whole);
        for (w, m) in whole.iter_mut().zip(motion) {
            for (a, b) in w.iter_mut().zip(m) {
                *a += share * b;
            }
        }
        let (allowed, near) = self.step_share(&mut memory.candidates, &whole);
        if allowed < 1.0 {
            return None;
        }
        let trial = self.moved(&whole, 1.0);
        let reached = self.energy(memory.candidates.pairs(), &near, &trial.0, &trial.1);
        (reached <= wanted).then_some(trial)
    }

    fn residual(&self, gradient: &[Quad]) -> f64 {
        let mut most: f64 = 0.0;
        for (i, g) in gradient.iter().enumerate() {
            if self.solid(i) {
                most = most.max((g[0] * g[0] + g[1] * g[1] + g[2] * g[2]).sqrt());
            }
        }
        most
    }

    /// Whether block `i` is solved for.
    fn solid(&self, i: usize) -> bool {
        if i < self.nodes {
            self.rod.free[i]
        } else if i < self.nodes + self.around.tools.len() {
            let tool = i - self.nodes;
            self.around.tools[tool].hand.is_some() || self.around.collars.iter().any(|c| c.tool == tool)
        } else {
            true
        }
    }

    /// The listed pairs that overlap.
    fn touching(
        &self,
        candidates: &mut Candidates,
        places: &[DVec3],
        cones: &[Vec<PlacedCone>],
    ) -> Vec<(usize, Partner, Closest)> {
        let mut touching = Vec::new();
        for k in 0..candidates.pairs().len() {
            if candidates.gap(k) > 0.0 {
                continue;
            }
            let (i, partner) = candidates.pairs()[k];
            if self.ignored(i, partner) {
                continue;
            }
            let closest = self.closest(i, partner, places, cones);
            candidates.measured(k, -closest.overlap);
            if closest.overlap > 0.0 {
                touching.push((i, partner, closest));
            }
        }
        touching
    }

    fn pair_blocks(&self, i: usize, partner: Partner) -> ([usize; 4], usize) {
        match partner {
            Partner::Edge(j) => ([i, i + 1, j, j + 1], 4),
            Partner::Shape(t, _) => ([i, i + 1, self.nodes + t, 0], 3),
        }
    }

    /// Makes room in the matrix for every coupling there is; whether it had to be laid out anew.
    fn ensure_pattern(&self, memory: &mut Memory, active: &[Active]) -> bool {
        let mut groups: Vec<([usize; 4], usize)> = Vec::with_capacity(active.len() + self.frictions.len());
        groups.extend(active.iter().map(|&(i, partner, _)| self.pair_blocks(i, partner)));
        groups.extend(self.frictions.iter().map(|&((i, partner), _)| self.pair_blocks(i, partner)));
        groups.extend(self.around.grips.iter().map(|grip| ([grip.node, self.nodes + grip.tool, 0, 0], 2)));
        let bites = self.nodes + self.around.tools.len();
        groups.extend(self.around.collars.iter().map(|c| ([self.nodes + c.tool, bites + c.bite, 0, 0], 2)));
        for (sleeve, edges) in self.around.sleeves.iter().zip(&self.sleeve_edges) {
            groups.extend(edges.clone().map(|i| ([i, i + 1, self.host_block(sleeve.host), 0], 3)));
        }
        for meeting in self.tissue.meet(&self.places[bites..]) {
            groups.push(([bites + meeting.bites[0], bites + meeting.bites[1], 0, 0], 2));
        }
        let couples = |system: &BlockSystem, (blocks, count): &([usize; 4], usize)| {
            (0..*count).all(|k| blocks[k + 1..*count].iter().all(|&b| system.couples(blocks[k], b)))
        };
        let system = &mut memory.equations.matrix;
        if memory.pattern_blocks == self.blocks && groups.iter().all(|g| couples(system, g)) {
            return false;
        }
        // What is about to touch goes in as well, or each new contact would cost an ordering.
        for (k, &(i, partner)) in memory.candidates.pairs().iter().enumerate() {
            if memory.candidates.gap(k) < PATTERN_GAP && !self.ignored(i, partner) {
                groups.push(self.pair_blocks(i, partner));
            }
        }
        let mut pairs = Vec::new();
        for i in 0..self.nodes - 1 {
            pairs.push((i, i + 1));
            if i + 2 < self.nodes {
                pairs.push((i, i + 2));
            }
        }
        for (blocks, count) in &groups {
            for (k, &a) in blocks[..*count].iter().enumerate() {
                pairs.extend(blocks[k + 1..*count].iter().filter(|&&b| b != a).map(|&b| (a, b)));
            }
        }
        system.set_pattern(self.blocks, &pairs);
        memory.pattern_blocks = self.blocks;
        true
    }

    /// Energy of everything at trial places [mN mm], of all pairs only the `near` ones touching there.
    fn energy(&self, pairs: &[(usize, Partner)], near: &[usize], places: &[DVec3], spin: &[f64]) -> f64 {
        let nodes = &places[..self.nodes];
        let mut sum = stretch::energy(self.rod, nodes) + bend::energy(self.rod, nodes, spin);
        sum += twist::energy(self.rod, &self.gradients, nodes, spin);
        let cones = self.placed(places);
        for &k in near {
            let (i, partner) = pairs[k];
            let closest = self.closest(i, partner, places, &cones);
            if closest.overlap > 0.0 {
                sum += self.pressing(partner).at(closest.overlap).energy;
            }
        }
        let moved = |b: usize| (places[b] - self.start[b], spin[b] - self.start_spin[b]);
        for friction in self.all_frictions() {
            sum += friction.energy(friction.stretch(moved));
        }
        self.add_simple(places, spin, None, sum)
    }

    fn all_frictions(&self) -> impl Iterator<Item = &Friction> {
        self.frictions
            .iter()
            .map(|(_, f)| f)
            .chain(self.floor_frictions.iter().map(|(_, f)| f))
            .chain(&self.sleeve_frictions)
    }

    /// Fills the equations at the given places; returns the energy there.
    fn assemble(&self, places: &[DVec3], spin: &[f64], active: &[Active], equations: &mut Equations) -> f64 {
        equations.clear(self.blocks);
        let smooth = self.assemble_smooth(places, spin, active, equations);
        let energy = smooth + self.assemble_frictions(places, spin, None, equations);
        self.hold(&mut equations.gradient);
        energy
    }

    /// Everything but friction.
    fn assemble_smooth(&self, places: &[DVec3], spin: &[f64], active: &[Active], equations: &mut Equations) -> f64 {
        let nodes = &places[..self.nodes];
        let mut sum = stretch::assemble(self.rod, nodes, equations)
            + bend::assemble(self.rod, nodes, spin, equations)
            + twist::assemble(self.rod, &self.gradients, nodes, spin, equations);
        for (i, partner, closest) in active {
            sum += self.assemble_pressing(*i, *partner, closest, equations);
            if equations.exact && !equations.gradient_only {
                self.assemble_turning(*i, *partner, closest, places, equations);
            }
        }
        let energy = self.add_simple(places, spin, Some(equations), sum);
        for i in 0..self.blocks {
            if !self.solid(i) {
                // Its rows stay coupled in the pattern, so its own stiffness is made so large that it does not move.
                let block = std::array::from_fn(|k| if k % 5 == 0 { 1e14 } else { 0.0 });
                equations.add_block(i, i, &block);
            }
        }
        energy
    }

    /// Friction, linearised about the stretches it has or those given.
    fn assemble_frictions(
        &self,
        places: &[DVec3],
        spin: &[f64],
        slips: Option<&[DVec3]>,
        equations: &mut Equations,
    ) -> f64 {
        let moved = |b: usize| (places[b] - self.start[b], spin[b] - self.start_spin[b]);
        let mut sum = 0.0;
        for (k, friction) in self.all_frictions().enumerate() {
            let stretch = friction.stretch(moved);
            sum += friction.energy(stretch);
            let at = slips.map_or(stretch, |slips| slips[k]);
            assemble_friction(friction, stretch, at, equations);
        }
        sum
    }

    /// Nothing pulls on what is not solved for.
    fn hold(&self, gradient: &mut [Quad]) {
        for (i, g) in gradient.iter_mut().enumerate() {
            if !self.solid(i) {
                *g = [0.0; 4];
            }
        }
    }

    /// A pair still apart, as the spring it will be.
    fn assemble_coming(&self, i: usize, partner: Partner, closest: &Closest, equations: &mut Equations) {
        let stiffness = self.pressing(partner).stiffness;
        let pressed = Pressed { energy: 0.0, force: stiffness * closest.overlap, tangent: stiffness };
        self.assemble_pair(i, partner, closest, &pressed, equations);
    }

    fn assemble_pressing(&self, i: usize, partner: Partner, closest: &Closest, equations: &mut Equations) -> f64 {
        let pressed = self.pressing(partner).at(closest.overlap);
        self.assemble_pair(i, partner, closest, &pressed, equations);
        pressed.energy
    }

    fn assemble_pair(
        &self,
        i: usize,
        partner: Partner,
        closest: &Closest,
        pressed: &Pressed,
        equations: &mut Equations,
    ) {
        let (blocks, count) = self.pair_blocks(i, partner);
        let weights = pair_weights(partner, closest);
        let square = outer(closest.normal, closest.normal) * pressed.tangent;
        for a in 0..count {
            equations.add_force(blocks[a], closest.normal * (pressed.force * weights[a]));
            if equations.gradient_only {
                continue;
            }
            for b in a..count {
                equations.add_stiffness(blocks[a], blocks[b], square * (weights[a] * weights[b]));
            }
        }
    }

    /// The tangent that comes from a pair's normal and place of touch moving with it: the distance's own curvature times
    /// the force, with the place of touch eliminated where it is free to move along its edge.
    fn assemble_turning(
        &self,
        i: usize,
        partner: Partner,
        closest: &Closest,
        places: &[DVec3],
        equations: &mut Equations,
    ) {
        let force = self.pressing(partner).at(closest.overlap).force;
        let own = places[i + 1] - places[i];
        let (other, reach, other_turns) = match partner {
            Partner::Edge(j) => (places[j + 1] - places[j], 2.0 * self.rod.section.radius, 1.0),
            Partner::Shape(t, k) => {
                let cone = &self.cones[t][k];
                let radius = cone.start_radius + (cone.end_radius - cone.start_radius) * closest.along_partner;
                (cone.end - cone.start, self.rod.section.radius + radius, 0.0)
            }
        };
        let distance = reach - closest.overlap;
        let (blocks, count) = self.pair_blocks(i, partner);
        let weights = pair_weights(partner, closest);
        let n = closest.normal;
        let across = DMat3::IDENTITY - outer(n, n);
        let (own_flat, other_flat) = (tangential(own, n), tangential(other, n));
        let inverse = places_inverse(closest, own_flat, other_flat, distance);
        let own_ends = [-1.0, 1.0, 0.0, 0.0];
        let other_ends = [0.0, 0.0, -other_turns, other_turns];
        let p: [DVec3; 4] = std::array::from_fn(|k| own_flat * (weights[k] / distance) + n * own_ends[k]);
        let q: [DVec3; 4] = std::array::from_fn(|k| -other_flat * (weights[k] / distance) - n * other_ends[k]);
        for a in 0..count {
            for b in a..count {
                let slid = outer(p[a], p[b]) * inverse[0]
                    + (outer(p[a], q[b]) + outer(q[a], p[b])) * inverse[1]
                    + outer(q[a], q[b]) * inverse[2];
                let block = (slid - across * (weights[a] * weights[b] / distance)) * force;
                equations.add_stiffness(blocks[a], blocks[b], block);
            }
        }
    }

    /// Adds everything that is a spring, a damper or a dead load; returns the energy with it.
    fn add_simple(
        &self,
        places: &[DVec3],
        spin: &[f64],
        mut equations: Option<&mut Equations>,
        mut energy: f64,
    ) -> f64 {
        let rod = self.rod;
        for i in 0..self.nodes {
            let shift = places[i] - self.start[i];
            let drag = self.drags[i] / self.dt;
            let turned = spin[i] - self.start_spin[i];
            // Spin drag: the thread's own surface moving through the same drag.
            let spin_drag = drag * rod.section.radius * rod.section.radius + 1e-6;
            let weight = DVec3::new(0.0, 0.0, -rod.section.weight * self.drags[i] / self.settings.drag);
            energy += 0.5 * drag * shift.length_squared() + 0.5 * spin_drag * turned * turned - weight.dot(shift);
            let overlap = self.around.floor.map_or(0.0, |f| self.floor_overlap(&f, i, places[i]));
            let stiffness = self.around.floor.map_or(0.0, |f| f.stiffness);
            let lies = overlap > 0.0 && !self.inside[i];
            if lies {
                energy += 0.5 * stiffness * overlap * overlap;
            }
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(i, weight - shift * drag);
                equations.add_stiffness(i, i, DMat3::from_diagonal(DVec3::splat(drag)));
                equations.add_gradient(i, [0.0, 0.0, 0.0, spin_drag * turned]);
                equations.add_spin_stiffness(i, spin_drag);
                if lies {
                    equations.add_force(i, DVec3::Z * (stiffness * overlap));
                    equations.add_stiffness(i, i, DMat3::from_diagonal(DVec3::new(0.0, 0.0, stiffness)));
                }
            }
        }
        for &(node, force) in &self.around.loads {
            energy -= force.dot(places[node] - self.start[node]);
            if let Some(equations) = equations.as_deref_mut() {
                equations.add_force(node, force);
            }
        }
        energy += self.add_tools(places, spin, equations.as_deref_mut());
        energy + self.add_tissue(places, equations)
    }

    fn add_tools(&self, places: &[DVec3], spin: &[f64], mut equations: Option<&mut Equations>) -> f64 {
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

    fn add_tissue(&self, places: &[DVec3], mut equations: Option<&mut Equations>) -> f64 {
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
                let host = self.host_block(self.around.sleeves[k].host);
                let rows = [(edge, 1.0 - along), (edge + 1, along), (host, -1.0)];
                for (a, &(block, weight)) in rows.iter().enumerate() {
                    equations.add_force(block, apart * (-stiffness * weight));
                    for &(other, other_weight) in &rows[a..] {
                        equations.add_stiffness(block, other, hold * (stiffness * weight * other_weight));
                    }
                }
            }
        }
        energy
    }

    /// What the finished step leaves for the next one.
    fn commits(&self, memory: &mut Memory) -> Commits {
        let moved = |b: usize| (self.places[b] - self.start[b], self.spin[b] - self.start_spin[b]);
        let cones = self.placed(&self.places);
        let mut commits = Commits {
            anchors: Vec::new(),
            floor_anchors: Vec::new(),
            touches: Vec::new(),
            sleeves: Vec::new(),
            grips: Vec::new(),
            overlap_self: 0.0,
            overlap_tool: 0.0,
        };
        for &((i, partner), ref friction) in &self.frictions {
            let closest = self.closest(i, partner, &self.places, &cones);
            let force = self.pressing(partner).at(closest.overlap).force;
            let coefficient = match partner {
                Partner::Edge(_) => self.rod.section.friction_thread,
                Partner::Shape(..) => self.rod.section.friction_steel,
            };
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
            commits.touches.push(Touch {
                edge: i,
                partner,
                place: self.places[i].lerp(self.places[i + 1], closest.along),
                normal: closest.normal,
                force: self.pressing(partner).at(closest.overlap).force,
            });
        }
        for (i, friction) in &self.floor_frictions {
            let kept = clipped(friction.stretch(moved), friction.limit / friction.stiffness);
            commits.floor_anchors.push((*i, kept));
        }
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

/// How the blocks of a pair move its two touching places against each other.
fn pair_weights(partner: Partner, closest: &Closest) -> [f64; 4] {
    match partner {
        Partner::Edge(_) => {
            [1.0 - closest.along, closest.along, -(1.0 - closest.along_partner), -closest.along_partner]
        }
        Partner::Shape(..) => [1.0 - closest.along, closest.along, -1.0, 0.0],
    }
}

/// Inverse (first, mixed, second entry) of the distance's second derivatives in the two places of touch; a place held at
/// an end of its edge does not move.
fn places_inverse(closest: &Closest, own: DVec3, other: DVec3, distance: f64) -> [f64; 3] {
    let free = |along: f64| along > 0.0 && along < 1.0;
    let (own_square, other_square) = (own.length_squared(), other.length_squared());
    let mixed = -own.dot(other);
    match (free(closest.along), free(closest.along_partner)) {
        (true, true) => {
            // Nearly parallel edges slide along each other without end; the floor keeps the model finite there.
            let determinant = (own_square * other_square - mixed * mixed).max(0.02 * own_square * other_square);
            [other_square, -mixed, own_square].map(|v| v * distance / determinant)
        }
        (true, false) => [distance / own_square, 0.0, 0.0],
        (false, true) => [0.0, 0.0, distance / other_square],
        (false, false) => [0.0; 3],
    }
}

fn assemble_friction(friction: &Friction, stretch: DVec3, at: DVec3, equations: &mut Equations) {
    let (force, tangent) = friction.force(at);
    let force = force + tangent * (stretch - at);
    for (a, lever) in friction.levers.iter().enumerate() {
        let pull = lever.by_position.transpose() * force;
        equations.add_gradient(lever.block, [pull.x, pull.y, pull.z, lever.by_spin.dot(force)]);
        if equations.gradient_only {
            continue;
        }
        let left = lever.by_position.transpose() * tangent;
        let left_spin = tangent * lever.by_spin;
        for other in &friction.levers[a..] {
            let square = left * other.by_position;
            let right_spin = left * other.by_spin;
            let corner = left_spin.dot(other.by_spin);
            let bottom = other.by_position.transpose() * left_spin;
            let block = joined(square, right_spin, bottom, corner);
            equations.add_block(lever.block, other.block, &block);
        }
    }
}

/// A spring no stronger than `limit`: energy, force along the stretch, tangent.
fn limited_spring(stretch: DVec3, stiffness: f64, limit: f64) -> (f64, DVec3, DMat3) {
    let spring = Friction { anchor: DVec3::ZERO, normal: DVec3::Z, limit, stiffness, levers: Vec::new() };
    let (force, tangent) = spring.force(stretch);
    (spring.energy(stretch), force, tangent)
}

fn dot(a: &Quad, b: &Quad) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3]
}

fn shift(motion: &Quad) -> DVec3 {
    DVec3::new(motion[0], motion[1], motion[2])
}

/// What an ascending list keeps under a key; zero if nothing.
fn found<K: Ord + Copy>(list: &[(K, DVec3)], key: K) -> DVec3 {
    list.binary_search_by(|(k, _)| k.cmp(&key)).map_or(DVec3::ZERO, |at| list[at].1)
}

#[expect(clippy::too_many_arguments, reason = "the end of one step, split off so that the borrow of its start ends")]
fn finish(
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
    report.passed_through = memory.candidates.any_crossed(rod, &places);
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
        // Fingers bend a thread round their own softness, wider than the point a sleeve stands for.
        let soft: Vec<(f64, f64)> = around
            .sleeves
            .iter()
            .filter(|s| matches!(s.host, Host::Tool(_)))
            .map(|s| (s.material - SOFT_REACH, s.material + SOFT_REACH))
            .collect();
        rod.yield_bending(&soft);
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
    memory.touches = commits.touches;
    report.overlap_self = commits.overlap_self;
    report.overlap_tool = commits.overlap_tool;
    report
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::{DQuat, rotation};
    use crate::rod::surroundings::{Grip, Hand, NoTissue, RoundCone, Sleeve, Tool};
    use crate::rod::tests::{bent, gut};
    use rand::{Rng, SeedableRng};

    fn peg(from: DVec3, to: DVec3, radius: f64) -> Tool {
        let cone = RoundCone { start: DVec3::ZERO, end: to - from, start_radius: radius, end_radius: 0.7 * radius };
        Tool {
            position: from,
            rotation: DQuat::IDENTITY,
            rotation_before: rotation(DVec3::Z, -0.002),
            shapes: vec![cone],
            shapes_before: vec![cone],
            hand: Some(Hand { target: from, stiffness: 2000.0, force_max: 5000.0, damping: 20_000.0 }),
        }
    }

    /// A crumpled thread that touches itself, a hand-held peg and the floor, runs through a sleeve and hangs in a grip.
    fn tangle() -> (Rod, Surroundings) {
        let mut rod = bent(gut(), 30);
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(3);
        let mut vector = |size: f64| DVec3::from(std::array::from_fn(|_| size * (random.random::<f64>() - 0.5)));
        // The second half comes back across the first, just touching.
        for k in 15..30 {
            rod.positions[k] = rod.positions[29 - k] + DVec3::new(0.1, 0.05, 0.19) + vector(0.05);
        }
        for k in 1..29 {
            rod.set[k] = vector(0.6);
            rod.spin[k] = vector(0.5).x;
        }
        let (before, spin) = (rod.positions.clone(), rod.spin.clone());
        rod.transport(&before, &spin);
        let around = Surroundings {
            tools: vec![peg(
                rod.positions[18] + DVec3::new(0.1, -1.0, 0.3),
                rod.positions[18] + DVec3::new(0.2, 1.5, 0.32),
                0.3,
            )],
            floor: Some(Floor { height: 0.0, stiffness: 2000.0, adhesion: 0.2 }),
            sleeves: vec![Sleeve {
                host: Host::Tool(0),
                rest: DVec3::new(1.0, 0.5, 0.3),
                material: rod.material[6] + 0.1,
                stiffness: 2e4,
                drag: 30.0,
                anchor: 0.001,
                force: DVec3::ZERO,
            }],
            grips: vec![Grip {
                node: 29,
                tool: 0,
                place: DVec3::new(0.2, 0.1, 0.5),
                stiffness: 1e5,
                limit: 900.0,
                spin: 0.1,
            }],
            bites: Vec::new(),
            loads: vec![(3, DVec3::new(20.0, -10.0, 5.0))],
        };
        (rod, around)
    }

    #[test]
    fn the_gradient_is_the_slope_of_the_energy_with_everything_in_touch() {
        let (rod, around) = tangle();
        let mut memory = Memory::default();
        let settings = Settings { drag: 2.0, ..Settings::default() };
        let mut solve = Solve::new(&rod, &around, &NoTissue, &mut memory, &settings, 2.0);
        let touching = solve.frictions.len();
        assert!(touching >= 6 && !solve.floor_frictions.is_empty(), "only {touching} pairs touch");
        assert!(solve.frictions.iter().any(|((_, partner), _)| matches!(partner, Partner::Shape(..))));
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(5);
        for block in 0..solve.blocks {
            let shift = DVec3::from(std::array::from_fn(|_| 4e-3 * (random.random::<f64>() - 0.5)));
            solve.places[block] += shift;
            if block < solve.nodes {
                solve.spin[block] += 0.05 * (random.random::<f64>() - 0.5);
            }
        }
        solve.cones = solve.placed(&solve.places);
        let near: Vec<usize> = (0..memory.candidates.pairs().len()).collect();
        let pairs = memory.candidates.pairs().to_vec();
        let active: Vec<Active> = pairs
            .iter()
            .filter(|&&(i, partner)| !solve.ignored(i, partner))
            .map(|&(i, partner)| (i, partner, solve.closest(i, partner, &solve.places, &solve.cones)))
            .filter(|(_, _, closest)| closest.overlap > 0.0)
            .collect();
        let near: Vec<usize> = near.into_iter().filter(|&k| !solve.ignored(pairs[k].0, pairs[k].1)).collect();
        let mut probe = Equations { gradient_only: true, ..Equations::default() };
        solve.assemble(&solve.places, &solve.spin, &active, &mut probe);
        let step = 1e-6;
        for block in 0..solve.blocks {
            for axis in 0..4 {
                let at = |sign: f64| {
                    let (mut places, mut spin) = (solve.places.clone(), solve.spin.clone());
                    if axis < 3 {
                        places[block][axis] += sign * step;
                    } else {
                        spin[block] += sign * step;
                    }
                    solve.energy(&pairs, &near, &places, &spin)
                };
                let slope = (at(1.0) - at(-1.0)) / (2.0 * step);
                let found = probe.gradient[block][axis];
                // Central differences err by the third derivative times step^2 (1e-6 of these forces) and by rounding,
                // the energy's 1e3 times 1e-16 over the step: 1e-7.
                let allowed = 1e-4 * (1.0 + found.abs());
                assert!((slope - found).abs() < allowed, "block {block} axis {axis}: {found}, differences say {slope}");
            }
        }
    }
}
