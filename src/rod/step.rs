//! One step of the thread and what it touches: the minimum of an energy, by Newton's method with a direct solve.
//!
//! Unknown are the nodes and edge spins of the thread, the places of yielding instruments and the displacements of
//! the tissue at the bites, all together: staggering any of them overshoots. Slip limits, twist gradients and friction
//! levers are those of the step's start, so the step has a true energy and a line search is legitimate.

use super::contact::candidates::{Candidates, crossed};
use super::contact::friction::{Friction, Lever, clipped, tangential};
use super::contact::gap::Pressing;
use super::contact::{Closest, Partner, closest_cone, closest_edges};
use super::sparse::{Block, BlockSystem, Quad};
use super::stretch::outer;
use super::surroundings::{Floor, Host, PlacedCone, Surroundings, Tissue};
use super::{Rod, bend, stretch, twist};
use crate::math::{DMat3, DVec3};
use std::collections::BTreeMap;

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

/// The linear system of one Newton iteration.
#[derive(Debug, Clone, Default)]
pub struct Equations {
    matrix: BlockSystem,
    gradient: Vec<Quad>,
}

impl Equations {
    fn clear(&mut self, blocks: usize) {
        self.matrix.clear();
        self.gradient.clear();
        self.gradient.resize(blocks, [0.0; 4]);
    }

    pub(crate) fn add_force(&mut self, block: usize, force: DVec3) {
        let g = &mut self.gradient[block];
        g[0] -= force.x;
        g[1] -= force.y;
        g[2] -= force.z;
    }

    pub(crate) fn add_gradient(&mut self, block: usize, gradient: Quad) {
        for (a, b) in self.gradient[block].iter_mut().zip(gradient) {
            *a += b;
        }
    }

    pub(crate) fn add_stiffness(&mut self, i: usize, j: usize, stiffness: DMat3) {
        let m = stiffness.to_cols_array_2d();
        let mut block = [0.0; 16];
        for (c, column) in m.iter().enumerate() {
            for (r, &value) in column.iter().enumerate() {
                block[r * 4 + c] = value;
            }
        }
        self.add_block(i, j, &block);
    }

    /// Adds `scale * a b^T` at (i, j) and its mirror.
    pub(crate) fn add_outer(&mut self, i: usize, j: usize, a: Quad, b: Quad, scale: f64) {
        let mut block = [0.0; 16];
        for r in 0..4 {
            for c in 0..4 {
                block[r * 4 + c] = scale * a[r] * b[c];
            }
        }
        self.add_block(i, j, &block);
    }

    fn add_spin_stiffness(&mut self, i: usize, stiffness: f64) {
        let mut block = [0.0; 16];
        block[15] = stiffness;
        self.matrix.add_diagonal(i, &block);
    }

    fn add_block(&mut self, i: usize, j: usize, block: &Block) {
        if i == j { self.matrix.add_diagonal(i, block) } else { self.matrix.add_pair(i, j, block) }
    }
}

/// What lasts from one step to the next: friction anchors, candidate lists, the matrix pattern, the last motion.
#[derive(Debug, Clone, Default)]
pub struct Memory {
    /// Friction anchor [mm] of each pair in touch.
    anchors: BTreeMap<(usize, Partner), DVec3>,
    floor_anchors: BTreeMap<usize, DVec3>,
    candidates: Candidates,
    equations: Equations,
    pattern_blocks: usize,
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
const SELF_OVERLAP_SHARE: f64 = 0.6;
const TOOL_OVERLAP_MAX: f64 = 0.25;

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

struct Commits {
    anchors: BTreeMap<(usize, Partner), DVec3>,
    floor_anchors: BTreeMap<usize, DVec3>,
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
    frictions: BTreeMap<(usize, Partner), Friction>,
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
            frictions: BTreeMap::new(),
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
        solve.cones = solve.placed(&solve.places.clone());
        solve
    }

    /// Nodes inside or near the tissue do not lie on its surface.
    fn mark_inside(&mut self) {
        let holes = self.around.sleeves.iter().filter(|s| matches!(s.host, Host::Bite(_))).map(|s| s.material);
        let Some(first) = holes.clone().reduce(f64::min) else { return };
        let last = holes.fold(first, f64::max);
        for (i, &s) in self.rod.material.iter().enumerate() {
            self.inside[i] = s > first - 1.0 && s < last + 1.0;
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
        memory.candidates.refresh(self.rod, &self.places, &before, 0.1);
        for &(i, partner) in memory.candidates.pairs() {
            if self.ignored(i, partner) {
                continue;
            }
            let closest = self.closest(i, partner, &self.start, &before);
            let pressed = self.pressing(partner).at(closest.overlap);
            if pressed.force <= 0.0 {
                continue;
            }
            let anchor = memory.anchors.get(&(i, partner)).copied().unwrap_or(DVec3::ZERO);
            let friction = self.friction(i, partner, &closest, pressed.force, anchor);
            self.frictions.insert((i, partner), friction);
        }
    }

    fn friction(&self, i: usize, partner: Partner, closest: &Closest, force: f64, anchor: DVec3) -> Friction {
        let normal = closest.normal;
        let across = DMat3::IDENTITY - outer(normal, normal);
        let radius = self.rod.section.radius;
        let mut levers = Vec::with_capacity(5);
        self.edge_levers(&mut levers, i, closest.along, normal, across, radius, 1.0);
        let mut anchor = tangential(anchor, normal);
        let coefficient = match partner {
            Partner::Edge(j) => {
                self.edge_levers(&mut levers, j, closest.along_partner, normal, across, radius, -1.0);
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
        radius: f64,
        side: f64,
    ) {
        let edge = self.start[i + 1] - self.start[i];
        let length = edge.length();
        let tangent = edge / length;
        // The touching point lies at -side r n from the centreline. Turning the edge's direction moves it along the
        // edge; both signs of `side` (which end of the arm, which end of the slip) cancel.
        let turning = outer(tangent, normal) * (radius / length);
        let spinning = tangent.cross(normal) * -radius;
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
                let anchor = memory.floor_anchors.get(&i).copied().unwrap_or(DVec3::ZERO);
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
        memory.candidates.moved(self.tool_motion());
        self.refresh(memory);
        self.predict(memory);
        for iteration in 0..self.settings.iterations_max {
            self.refresh(memory);
            let active = self.active_pairs(memory);
            self.ensure_pattern(memory, &active);
            let mut equations = std::mem::take(&mut memory.equations);
            let energy = self.assemble(&active, &mut equations);
            report.residual = self.residual(&equations);
            report.iterations = iteration;
            if report.residual < self.settings.tolerance && iteration > 0 {
                memory.equations = equations;
                break;
            }
            let mut motion: Vec<Quad> = equations.gradient.iter().map(|g| g.map(|v| -v)).collect();
            let solved = equations.matrix.factor();
            if solved {
                equations.matrix.solve(&mut motion);
            }
            let slope: f64 = motion.iter().zip(&equations.gradient).map(|(m, g)| dot(m, g)).sum();
            memory.equations = equations;
            if !solved || !slope.is_finite() {
                report.broken = true;
                break;
            }
            self.advance(memory, &motion, energy, slope);
            report.iterations = iteration + 1;
        }
        report
    }

    /// How far a tool's shapes may have moved by the hand's turning and opening alone.
    fn tool_motion(&self) -> f64 {
        let mut most: f64 = 0.0;
        for tool in &self.around.tools {
            for (now, before) in tool.shapes.iter().zip(&tool.shapes_before) {
                for (a, b) in [(now.start, before.start), (now.end, before.end)] {
                    most = most.max((tool.rotation * a - tool.rotation_before * b).length());
                }
            }
        }
        most
    }

    fn refresh(&mut self, memory: &mut Memory) {
        self.cones = self.placed(&self.places);
        memory.candidates.refresh(self.rod, &self.places, &self.cones, 0.1);
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
        let share = self.step_share(memory, &motion);
        let energy = self.energy(memory, &self.places, &self.spin);
        let (places, spin) = self.moved(&motion, share);
        if self.energy(memory, &places, &spin) < energy {
            memory.candidates.moved(share * largest(&motion));
            self.places = places;
            self.spin = spin;
        }
    }

    fn moved(&self, motion: &[Quad], share: f64) -> (Vec<DVec3>, Vec<f64>) {
        let places = self.places.iter().zip(motion).map(|(p, m)| *p + DVec3::new(m[0], m[1], m[2]) * share).collect();
        let spin = self.spin.iter().zip(motion).map(|(s, m)| s + m[3] * share).collect();
        (places, spin)
    }

    /// The share of a motion that cannot carry anything through anything: within the list's margin, and for each
    /// listed pair less than half of what separates their centrelines.
    fn step_share(&self, memory: &Memory, motion: &[Quad]) -> f64 {
        let most = largest(motion);
        let mut share: f64 = if most > 0.1 { 0.1 / most } else { 1.0 };
        let shift = |i: usize| DVec3::new(motion[i][0], motion[i][1], motion[i][2]);
        for &(i, partner) in memory.candidates.pairs() {
            if self.ignored(i, partner) {
                continue;
            }
            let closest = self.closest(i, partner, &self.places, &self.cones);
            let own = shift(i).lerp(shift(i + 1), closest.along);
            let (other, reach) = match partner {
                Partner::Edge(j) => (shift(j).lerp(shift(j + 1), closest.along_partner), 2.0 * self.rod.section.radius),
                Partner::Shape(t, _) => (shift(self.nodes + t), 2.0 * self.rod.section.radius),
            };
            let toward = -(own - other).dot(closest.normal);
            let room = match partner {
                Partner::Edge(_) => 0.4 * (reach - closest.overlap).max(0.05 * reach),
                Partner::Shape(..) => 0.4 * (reach - closest.overlap).max(0.2 * reach),
            };
            if toward * share > room {
                share = room / toward;
            }
        }
        share
    }

    fn advance(&mut self, memory: &mut Memory, motion: &[Quad], energy: f64, slope: f64) {
        let mut share = self.step_share(memory, motion);
        for attempt in 0..8 {
            let (places, spin) = self.moved(motion, share);
            let reached = self.energy(memory, &places, &spin);
            if reached <= energy + 1e-4 * share * slope || attempt == 7 {
                memory.candidates.moved(share * largest(motion));
                self.places = places;
                self.spin = spin;
                return;
            }
            share *= 0.5;
        }
    }

    fn residual(&self, equations: &Equations) -> f64 {
        let mut most: f64 = 0.0;
        for (i, g) in equations.gradient.iter().enumerate() {
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
            self.around.tools[i - self.nodes].hand.is_some()
        } else {
            true
        }
    }

    fn active_pairs(&self, memory: &Memory) -> Vec<(usize, Partner, Closest)> {
        memory
            .candidates
            .pairs()
            .iter()
            .filter(|&&(i, partner)| !self.ignored(i, partner))
            .filter_map(|&(i, partner)| {
                let closest = self.closest(i, partner, &self.places, &self.cones);
                (closest.overlap > 0.0).then_some((i, partner, closest))
            })
            .collect()
    }

    fn pair_blocks(&self, i: usize, partner: Partner) -> ([usize; 4], usize) {
        match partner {
            Partner::Edge(j) => ([i, i + 1, j, j + 1], 4),
            Partner::Shape(t, _) => ([i, i + 1, self.nodes + t, 0], 3),
        }
    }

    fn ensure_pattern(&self, memory: &mut Memory, active: &[(usize, Partner, Closest)]) {
        let couples = |system: &BlockSystem, blocks: &[usize]| {
            blocks.iter().enumerate().all(|(k, &a)| blocks[k + 1..].iter().all(|&b| system.couples(a, b)))
        };
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for &(i, partner, _) in active {
            let (blocks, count) = self.pair_blocks(i, partner);
            groups.push(blocks[..count].to_vec());
        }
        for &(i, partner) in self.frictions.keys() {
            let (blocks, count) = self.pair_blocks(i, partner);
            groups.push(blocks[..count].to_vec());
        }
        for grip in &self.around.grips {
            groups.push(vec![grip.node, self.nodes + grip.tool]);
        }
        let bites = self.nodes + self.around.tools.len();
        for (sleeve, edges) in self.around.sleeves.iter().zip(&self.sleeve_edges) {
            for i in edges.clone() {
                groups.push(vec![i, i + 1, self.host_block(sleeve.host)]);
            }
        }
        for meeting in self.tissue.meet(&self.places[bites..]) {
            groups.push(meeting.bites.iter().map(|b| bites + b).collect());
        }
        let system = &mut memory.equations.matrix;
        if memory.pattern_blocks == self.blocks && groups.iter().all(|g| couples(system, g)) {
            return;
        }
        let mut pairs = Vec::new();
        for i in 0..self.nodes - 1 {
            pairs.push((i, i + 1));
            if i + 2 < self.nodes {
                pairs.push((i, i + 2));
            }
        }
        for group in &groups {
            for (k, &a) in group.iter().enumerate() {
                pairs.extend(group[k + 1..].iter().filter(|&&b| b != a).map(|&b| (a, b)));
            }
        }
        system.set_pattern(self.blocks, &pairs);
        memory.pattern_blocks = self.blocks;
    }

    /// Energy of everything at trial places [mN mm].
    fn energy(&self, memory: &Memory, places: &[DVec3], spin: &[f64]) -> f64 {
        let nodes = &places[..self.nodes];
        let mut sum = stretch::energy(self.rod, nodes) + bend::energy(self.rod, nodes);
        sum += twist::energy(self.rod, &self.gradients, nodes, spin);
        let cones = self.placed(places);
        for &(i, partner) in memory.candidates.pairs() {
            if !self.ignored(i, partner) {
                let closest = self.closest(i, partner, places, &cones);
                if closest.overlap > 0.0 {
                    sum += self.pressing(partner).at(closest.overlap).energy;
                }
            }
        }
        let moved = |b: usize| (places[b] - self.start[b], spin[b] - self.start_spin[b]);
        for friction in self.all_frictions() {
            sum += friction.energy(friction.stretch(moved));
        }
        self.add_simple(places, spin, None, sum)
    }

    fn all_frictions(&self) -> impl Iterator<Item = &Friction> {
        self.frictions.values().chain(self.floor_frictions.iter().map(|(_, f)| f)).chain(&self.sleeve_frictions)
    }

    fn assemble(&mut self, active: &[(usize, Partner, Closest)], equations: &mut Equations) -> f64 {
        equations.clear(self.blocks);
        let nodes = &self.places[..self.nodes];
        stretch::assemble(self.rod, nodes, equations);
        bend::assemble(self.rod, nodes, equations);
        twist::assemble(self.rod, &self.gradients, nodes, &self.spin, equations);
        let mut sum = stretch::energy(self.rod, nodes)
            + bend::energy(self.rod, nodes)
            + twist::energy(self.rod, &self.gradients, nodes, &self.spin);
        for (i, partner, closest) in active {
            sum += self.assemble_pressing(*i, *partner, closest, equations);
        }
        let moved = |b: usize| (self.places[b] - self.start[b], self.spin[b] - self.start_spin[b]);
        for friction in self.all_frictions() {
            let stretch = friction.stretch(moved);
            sum += friction.energy(stretch);
            assemble_friction(friction, stretch, equations);
        }
        let energy = self.add_simple(&self.places, &self.spin, Some(equations), sum);
        for i in 0..self.blocks {
            if !self.solid(i) {
                self.fix(i, equations);
            }
        }
        energy
    }

    /// Takes a block that is not solved for out of the equations: its rows stay coupled in the pattern, so its own
    /// stiffness is made so large that it does not move.
    fn fix(&self, i: usize, equations: &mut Equations) {
        equations.gradient[i] = [0.0; 4];
        let mut block = [0.0; 16];
        for k in 0..4 {
            block[k * 5] = 1e14;
        }
        equations.matrix.add_diagonal(i, &block);
    }

    fn assemble_pressing(&self, i: usize, partner: Partner, closest: &Closest, equations: &mut Equations) -> f64 {
        let pressed = self.pressing(partner).at(closest.overlap);
        let (blocks, count) = self.pair_blocks(i, partner);
        let weights = match partner {
            Partner::Edge(_) => {
                [1.0 - closest.along, closest.along, -(1.0 - closest.along_partner), -closest.along_partner]
            }
            Partner::Shape(..) => [1.0 - closest.along, closest.along, -1.0, 0.0],
        };
        let square = outer(closest.normal, closest.normal) * pressed.tangent;
        for a in 0..count {
            equations.add_force(blocks[a], closest.normal * (pressed.force * weights[a]));
            for b in a..count {
                equations.add_stiffness(blocks[a], blocks[b], square * (weights[a] * weights[b]));
            }
        }
        pressed.energy
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
    fn commits(&self, memory: &Memory) -> Commits {
        let moved = |b: usize| (self.places[b] - self.start[b], self.spin[b] - self.start_spin[b]);
        let cones = self.placed(&self.places);
        let mut commits = Commits {
            anchors: BTreeMap::new(),
            floor_anchors: BTreeMap::new(),
            touches: Vec::new(),
            sleeves: Vec::new(),
            grips: Vec::new(),
            overlap_self: 0.0,
            overlap_tool: 0.0,
        };
        for (&(i, partner), friction) in &self.frictions {
            let closest = self.closest(i, partner, &self.places, &cones);
            let force = self.pressing(partner).at(closest.overlap).force;
            let coefficient = match partner {
                Partner::Edge(_) => self.rod.section.friction_thread,
                Partner::Shape(..) => self.rod.section.friction_steel,
            };
            let stretch = tangential(friction.stretch(moved), friction.normal);
            let kept = clipped(stretch, coefficient * force / friction.stiffness);
            if force > 0.0 {
                commits.anchors.insert((i, partner), kept);
            }
        }
        for &(i, partner) in memory.candidates.pairs() {
            if self.ignored(i, partner) {
                continue;
            }
            let closest = self.closest(i, partner, &self.places, &cones);
            if closest.overlap > 0.0 {
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
        }
        for (i, friction) in &self.floor_frictions {
            let kept = clipped(friction.stretch(moved), friction.limit / friction.stiffness);
            commits.floor_anchors.insert(*i, kept);
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

fn assemble_friction(friction: &Friction, stretch: DVec3, equations: &mut Equations) {
    let (force, tangent) = friction.force(stretch);
    for (a, lever) in friction.levers.iter().enumerate() {
        let pull = lever.by_position.transpose() * force;
        equations.add_gradient(lever.block, [pull.x, pull.y, pull.z, lever.by_spin.dot(force)]);
        let left = lever.by_position.transpose() * tangent;
        let left_spin = tangent * lever.by_spin;
        for other in &friction.levers[a..] {
            let square = left * other.by_position;
            let right_spin = left * other.by_spin;
            let corner = left_spin.dot(other.by_spin);
            let bottom = other.by_position.transpose() * left_spin;
            let m = square.to_cols_array_2d();
            let block = [
                m[0][0],
                m[1][0],
                m[2][0],
                right_spin.x, //
                m[0][1],
                m[1][1],
                m[2][1],
                right_spin.y, //
                m[0][2],
                m[1][2],
                m[2][2],
                right_spin.z, //
                bottom.x,
                bottom.y,
                bottom.z,
                corner,
            ];
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

fn largest(motion: &[Quad]) -> f64 {
    motion.iter().map(|m| (m[0] * m[0] + m[1] * m[1] + m[2] * m[2]).sqrt()).fold(0.0, f64::max)
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
    report.passed_through = crossed(memory.candidates.pairs(), rod, &places);
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
