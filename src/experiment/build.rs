//! From an experiment's text to thread, solids and solver.

use super::curve::{self, PointFiles, vector};
use super::drive::{Drive, Holder, Mover, Moves};
use super::schema::{
    Experiment, ForcePoint, FrictionLoad, Hold, HoldKind, Obstacle, Place, SectionSpec, SlipLimitSpec, Solid,
    StressFree,
};
use super::tissue::Bed;
use crate::material;
use crate::math::{DVec3, across, rotation};
use crate::quantity::{MN_PER_N, MS_PER_S};
use crate::rod::contact::friction::LoadLaw;
use crate::rod::remesh::EdgeLengths;
use crate::rod::step::{Memory, Reach, Report, Settings, SlipLimit};
use crate::rod::stretch::ForceStrain;
use crate::rod::surroundings::{Plane, RoundCone, Surroundings, Tool};
use crate::rod::{Rod, Section, bend};
use std::f64::consts::PI;
use std::ops::Range;

/// Of how many straight cylinders a torus is made.
const TORUS_PARTS: usize = 96;

/// Unstretched length of the edge that is no edge, between one thread and the next [mm].
const GAP_LENGTH: f64 = 1e-12;

/// Everything of an experiment that moves.
#[derive(Debug, Clone)]
pub struct Bench {
    /// All threads, one after the other.
    pub rod: Rod,
    /// Solids and loads.
    pub around: Surroundings,
    /// The solver's memory.
    pub memory: Memory,
    /// How a step is solved.
    pub settings: Settings,
    /// What the last step did.
    pub report: Report,
    /// What the thread bore where it first broke [mN]; 0 while it is whole.
    pub break_load: f64,
    pub(super) spans: Vec<Span>,
    /// Gum, if there is any.
    pub(super) bed: Option<Bed>,
    pub(super) drive: Drive,
    /// Nodes at time 0 [mm].
    pub(super) origin: Vec<DVec3>,
}

/// One thread's part of the nodes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Span {
    pub(super) name: String,
    pub(super) nodes: Range<usize>,
    /// Whether it is a ring, whose last edge lies on its first.
    pub(super) ring: bool,
    /// The lengths its edges are to have as it moves, if any.
    pub(super) edge_lengths: Option<EdgeLengths>,
}

impl Span {
    /// The node nearest a place.
    pub(super) fn node(&self, rod: &Rod, place: Place) -> usize {
        match place {
            Place::Start => self.nodes.start,
            Place::End => self.nodes.end - 1,
            Place::At { along_mm } => {
                let wanted = rod.material[self.nodes.start] + along_mm;
                let off = |i: &usize| (rod.material[*i] - wanted).abs();
                self.nodes.clone().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(self.nodes.start)
            }
        }
    }

    /// The interior node nearest a place, where the thread bends.
    pub(super) fn corner(&self, rod: &Rod, place: Place) -> usize {
        let last = (self.nodes.end - 2).max(self.nodes.start + 1);
        self.node(rod, place).clamp(self.nodes.start + 1, last)
    }

    /// The edge at a place.
    pub(super) fn edge(&self, rod: &Rod, place: Place) -> usize {
        match place {
            Place::At { along_mm } => {
                let wanted = rod.material[self.nodes.start] + along_mm;
                let after = rod.material[self.nodes.clone()].partition_point(|&s| s <= wanted).max(1);
                (self.nodes.start + after - 1).min(self.nodes.end - 2)
            }
            Place::Start => self.nodes.start,
            Place::End => self.nodes.end - 2,
        }
    }

    /// The edge nearest a place that carries force: none between held nodes does.
    pub(super) fn live_edge(&self, rod: &Rod, place: Place) -> usize {
        let edge = self.edge(rod, place);
        let live = (self.nodes.start..self.nodes.end - 1).filter(|&i| rod.live(i));
        live.min_by_key(|&i| i.abs_diff(edge)).unwrap_or(edge)
    }
}

/// What the table of materials knows, for a message.
pub(super) fn known_threads() -> String {
    let each = |name: &&str| format!("{name} of size {}", material::sizes(name).join(", "));
    material::names().iter().map(each).collect::<Vec<_>>().join("; ")
}

/// The thread's radius [mm]; `None` for an unknown material.
pub(super) fn radius_mm(spec: &SectionSpec) -> Option<f64> {
    match spec {
        SectionSpec::Numbers { radius_mm, .. } => Some(*radius_mm),
        SectionSpec::Material { name, size, wet, .. } => Some(material::find(name, size, *wet)?.section.radius),
    }
}

/// The curve of force over strain; `None` if it does not rise, or begins too steep.
pub(super) fn force_strain(axial_stiffness_n: f64, points: &[ForcePoint]) -> Option<ForceStrain> {
    let points: Vec<[f64; 2]> = points.iter().map(|point| [point.strain, point.force_n * MN_PER_N]).collect();
    ForceStrain::through(axial_stiffness_n * MN_PER_N, &points)
}

fn load_law(spec: FrictionLoad) -> LoadLaw {
    let shares = [spec.share_min.unwrap_or(0.0), spec.share_max.unwrap_or(f64::INFINITY)];
    LoadLaw { exponent: spec.exponent, load: spec.at_n * MN_PER_N, shares }
}

fn section(spec: &SectionSpec) -> Option<Section> {
    Some(match spec {
        SectionSpec::Numbers {
            radius_mm,
            axial_stiffness_n,
            force_strain,
            strength_n,
            bending_stiffness_n_mm2,
            twist_stiffness_n_mm2,
            yield_curvature_per_mm,
            set_relaxation_s,
            weight_n_per_m,
            friction,
            friction_load,
            contact_stiffness_n_per_mm,
        } => Section {
            radius: *radius_mm,
            axial_stiffness: axial_stiffness_n * MN_PER_N,
            force_strain: self::force_strain(*axial_stiffness_n, force_strain)?,
            strength: strength_n.map_or(f64::INFINITY, |force| force * MN_PER_N),
            set_relaxation: set_relaxation_s.map_or(f64::INFINITY, |time| time * MS_PER_S),
            friction_load: friction_load.map_or(LoadLaw::COULOMB, load_law),
            bending_stiffness: bending_stiffness_n_mm2 * MN_PER_N,
            twist_stiffness: twist_stiffness_n_mm2 * MN_PER_N,
            yield_curvature: yield_curvature_per_mm.unwrap_or(f64::INFINITY),
            friction_thread: *friction,
            friction_steel: 0.0,
            friction_tissue: 0.0,
            // 1 N/m is 1 mN/mm.
            weight: *weight_n_per_m,
            contact_stiffness: contact_stiffness_n_per_mm.unwrap_or(200.0) * MN_PER_N,
        },
        SectionSpec::Material { name, size, wet, weightless } => {
            let mut section = material::find(name, size, *wet)?.section;
            if *weightless == Some(true) {
                section.weight = 0.0;
            }
            section
        }
    })
}

/// The nodes of its thread that a hold holds, counted from the thread's start; none if its lie is not known yet.
pub(super) fn held_nodes(experiment: &Experiment, hold: &Hold) -> Vec<usize> {
    let thread = experiment.threads.iter().find(|thread| thread.name == hold.thread);
    let Some(points) = thread.and_then(|thread| curve::nodes(thread, &PointFiles::new())) else { return Vec::new() };
    if points.len() < 2 || points.iter().any(|p| !p.is_finite()) {
        return Vec::new();
    }
    let Some(section) = experiment.section.as_ref().and_then(section) else { return Vec::new() };
    let span = Span { name: String::new(), nodes: 0..points.len(), ring: false, edge_lengths: None };
    held(&span, &Rod::at_rest(section, points), hold)
}

fn held(span: &Span, rod: &Rod, hold: &Hold) -> Vec<usize> {
    let node = span.node(rod, hold.place);
    match hold.kind {
        HoldKind::Pin => vec![node],
        HoldKind::Clamp => {
            let first = node.min(span.nodes.end - 2);
            vec![first, first + 1]
        }
    }
}

/// Lays everything as the experiment says.
///
/// # Errors
/// What cannot be laid, which no check of the text alone can see.
pub fn build(experiment: &Experiment, files: &PointFiles) -> Result<Bench, String> {
    let (rod, spans) = match &experiment.section {
        Some(spec) if !experiment.threads.is_empty() => {
            threads(experiment, section(spec).ok_or("section is no known material")?, files)?
        }
        _ => (unused_thread(), Vec::new()),
    };
    let mut bench = Bench {
        origin: rod.positions.clone(),
        rod,
        around: Surroundings::default(),
        memory: Memory::default(),
        settings: settings(experiment),
        report: Report::default(),
        break_load: 0.0,
        spans,
        bed: None,
        drive: Drive { loads: experiment.loads.clone(), ..Drive::default() },
    };
    if let Some(spec) = &experiment.tissue {
        let Bench { rod, around, spans, .. } = &mut bench;
        let node =
            |thread: &str, place| spans.iter().find(|span| span.name == thread).map(|span| span.node(rod, place));
        bench.bed = Some(Bed::lay(experiment, spec, rod, around, node)?);
    }
    for hold in &experiment.holds {
        let span = bench.spans.iter().find(|span| span.name == hold.thread).ok_or("a hold without thread")?;
        let nodes = held(span, &bench.rod, hold);
        for &node in &nodes {
            bench.rod.free[node] = false;
        }
        bench.drive.holders.push(Holder::new(hold.clone(), nodes, &bench.rod));
    }
    for obstacle in &experiment.obstacles {
        bench.add(obstacle);
    }
    Ok(bench)
}

fn settings(experiment: &Experiment) -> Settings {
    let spec = experiment.solver;
    let sets = match &experiment.section {
        Some(SectionSpec::Numbers { yield_curvature_per_mm, set_relaxation_s, .. }) => {
            yield_curvature_per_mm.is_some() || set_relaxation_s.is_some()
        }
        Some(SectionSpec::Material { .. }) => true,
        None => false,
    };
    Settings {
        iterations_max: spec.iterations_max.map_or(40, |count| count as usize),
        tolerance: spec.tolerance_n.map_or(1e-4, |force| force * MN_PER_N),
        // 1 N s/m^2 is 1 mN ms/mm^2.
        drag: spec.drag_n_s_per_m2.unwrap_or(3.0),
        yields: sets,
        sleeps: false,
        slip_limit: match spec.slip_limit {
            None | Some(SlipLimitSpec::StepStart) => SlipLimit::StepStart,
            Some(SlipLimitSpec::StepEnd { within_percent }) => SlipLimit::StepEnd { within: within_percent * 0.01 },
        },
        reach: Reach::Whole,
    }
}

/// An edge that nobody knows: an experiment on gum alone has no thread, and the solver wants one.
fn unused_thread() -> Rod {
    let section = material::find("chromic gut", "4-0", true).expect("the table has it").section;
    Rod::at_rest(section, vec![DVec3::ZERO, DVec3::X])
}

fn threads(experiment: &Experiment, section: Section, files: &PointFiles) -> Result<(Rod, Vec<Span>), String> {
    let (mut points, mut spans): (Vec<DVec3>, Vec<Span>) = (Vec::new(), Vec::new());
    for thread in &experiment.threads {
        let name = thread.name.clone();
        let nodes = curve::nodes(thread, files).ok_or(format!("thread {name} has no length"))?;
        if points.last() == nodes.first() {
            return Err(format!("thread {name} begins in the very place where the thread before it ends"));
        }
        let ring = matches!(thread.shape, super::schema::Lie::Ring { .. });
        let lengths = |in_contact: f64| EdgeLengths { in_contact, free: thread.segment_mm };
        let edge_lengths = thread.contact_segment_mm.map(lengths);
        spans.push(Span { name, nodes: points.len()..points.len() + nodes.len(), ring, edge_lengths });
        points.extend(nodes);
    }
    let mut rod = Rod::at_rest(section, points);
    for span in &spans[1..] {
        rod.whole[span.nodes.start - 1] = false;
        rod.rest_lengths[span.nodes.start - 1] = GAP_LENGTH;
    }
    for i in 0..rod.rest_lengths.len() {
        rod.material[i + 1] = rod.material[i] + rod.rest_lengths[i];
    }
    for (thread, span) in experiment.threads.iter().zip(&spans) {
        if thread.stress_free == StressFree::AsLaid {
            for i in span.nodes.start + 1..span.nodes.end - 1 {
                rod.set[i] = bend::tangent_change(&rod, i);
            }
        }
    }
    Ok((rod, spans))
}

impl Bench {
    fn add(&mut self, obstacle: &Obstacle) {
        let (centre, shapes) = match &obstacle.shape {
            Solid::Plane { point_mm, normal } => {
                self.drive.movers.push(Mover::new(obstacle.clone(), Moves::Plane(self.around.planes.len())));
                self.around.planes.push(Plane {
                    point: vector(*point_mm),
                    normal: vector(*normal).normalize(),
                    shift: DVec3::ZERO,
                    stiffness: self.rod.section.contact_stiffness,
                    friction: obstacle.friction,
                });
                return;
            }
            Solid::Cylinder { from_mm, to_mm, radius_mm } => {
                let centre = (vector(*from_mm) + vector(*to_mm)) * 0.5;
                (centre, vec![RoundCone::capsule(vector(*from_mm) - centre, vector(*to_mm) - centre, *radius_mm)])
            }
            Solid::Sphere { centre_mm, radius_mm } => {
                (vector(*centre_mm), vec![RoundCone::capsule(DVec3::ZERO, DVec3::ZERO, *radius_mm)])
            }
            Solid::Torus { centre_mm, axis, ring_radius_mm, tube_radius_mm } => {
                (vector(*centre_mm), torus(vector(*axis).normalize(), *ring_radius_mm, *tube_radius_mm))
            }
        };
        let moves = Moves::Tool { tool: self.around.tools.len(), shapes: shapes.clone() };
        self.drive.movers.push(Mover::new(obstacle.clone(), moves));
        self.around.tools.push(Tool { friction: Some(obstacle.friction), ..Tool::new(centre, shapes, None) });
    }
}

/// A torus about the origin. The corners lie as far outside the ring as the middles of the parts lie inside.
fn torus(axis: DVec3, ring: f64, tube: f64) -> Vec<RoundCone> {
    let step = 2.0 * PI / TORUS_PARTS as f64;
    let corner_radius = 2.0 * ring / (1.0 + crate::math::cos(0.5 * step));
    let side = across(axis);
    let corner = |k: usize| rotation(axis, step * k as f64) * side * corner_radius;
    (0..TORUS_PARTS).map(|k| RoundCone::capsule(corner(k), corner((k + 1) % TORUS_PARTS), tube)).collect()
}
