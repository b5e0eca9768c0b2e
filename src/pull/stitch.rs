//! The knot of a stitch as an attempt left it: taken out of the tissue with its bends, twist and friction, and pulled open.

use super::knot::{Fault, Knot};
use super::mesh::FINER;
use super::outcome::{End, Pull};
use super::running::Running;
use super::test::{SETTLE_STEPS, STEP_MS, draw_open};
use crate::rod::contact::Partner;
use crate::rod::remesh::{may_split, split};
use crate::rod::step::Memory;
use crate::rod::{Rod, Section};
use std::ops::Range;

/// Tails are cut to this length beyond the knot [mm]: the longest cut ends that are left in a mouth, and no longer ones
/// hold more before the slip that counts.
const TAIL_MAX: f64 = 10.0;
/// Edges that a limb has at least, so that there is something to pull on.
const LIMB_EDGES_MIN: usize = 3;

/// A stitch in the tissue.
#[derive(Debug, Clone)]
pub struct TiedStitch {
    /// The whole thread as it is.
    pub rod: Rod,
    /// What the solver remembers of it: what presses on what, and how friction is stretched.
    pub memory: Memory,
    /// Nodes of the piece that runs through the tissue.
    pub piece: Range<usize>,
    /// Nodes at the outermost holes with thread in them, that nearer to the rod's start first.
    pub holes: [usize; 2],
    /// The thread as it is pulled: its friction on the bench need not be that in which it was tied.
    pub section: Section,
    /// Most wraps of a throw.
    pub wraps: usize,
}

impl TiedStitch {
    /// Length of the thread's edges in the stitch [mm].
    #[must_use]
    pub fn edge_length(&self) -> f64 {
        self.rod.rest_lengths[self.holes[0]]
    }
}

/// Pulls a stitch's knot open as [`pull`](super::pull()) does one that is laid from its notation.
///
/// The loop is cut opposite the knot and taken out of the tissue, its tails stay as they were cut. Slip counts from the
/// knot as it lay in the tissue. `None` if the limbs do not press on each other: there is no knot to pull.
///
/// # Errors
/// Where a step cannot be done soundly, see [`Fault`].
pub fn of_stitch(stitch: &TiedStitch) -> Result<Option<Pull>, Fault> {
    pull_out(stitch, |_| {})
}

/// The same with edges half as long, split in the state in which the thread was left: what is different comes of the
/// mesh, see [`super::mesh_error`].
///
/// # Errors
/// As of [`of_stitch`].
pub fn of_stitch_refined(stitch: &TiedStitch) -> Result<Option<Pull>, Fault> {
    pull_out(stitch, halve_edges)
}

fn pull_out(stitch: &TiedStitch, remesh: impl Fn(&mut Knot)) -> Result<Option<Pull>, Fault> {
    let Some(mut knot) = taken_out(stitch) else { return Ok(None) };
    let Some(tight) = Running::of(&knot, stitch.wraps) else { return Ok(None) };
    let mut pull = Pull { end: End::Opened, holding_force: 0.0, tails: shortened(&mut knot, tight), curve: Vec::new() };
    knot.run(SETTLE_STEPS, STEP_MS);
    // Only now, when nothing remembers what was around it in the mouth.
    remesh(&mut knot);
    draw_open(&mut knot, stitch.wraps, tight, &mut pull);
    knot.fault.map_or(Ok(Some(pull)), Err)
}

/// The piece of thread in the tissue, with nothing around it and its loop cut; what was elsewhere is held and slack.
fn taken_out(stitch: &TiedStitch) -> Option<Knot> {
    let cut = opposite_knot(stitch)?;
    let mut rod = Rod { section: stitch.section, ..stitch.rod.clone() };
    // What lies in a palm does not hang from the knot.
    let first = stitch.piece.clone().find(|&node| !rod.carried[node])?;
    let last = stitch.piece.clone().rfind(|&node| !rod.carried[node])?;
    for node in 0..rod.node_count() {
        let hangs = (first..=last).contains(&node);
        (rod.free[node], rod.carried[node]) = (hangs, !hangs);
    }
    for (edge, whole) in rod.whole.iter_mut().enumerate() {
        *whole = *whole && edge != cut && edge + 1 != first && edge != last;
    }
    let mut knot = Knot::of(rod, [cut, cut + 1]);
    knot.memory = stitch.memory.without_lists();
    knot.hold_limbs();
    Some(knot)
}

/// Splits every edge of the knot, its limbs and its tails in [`FINER`] parts.
fn halve_edges(knot: &mut Knot) {
    let Knot { rod, memory, around, limbs, .. } = knot;
    // Backward, so that what is still to be split keeps its number.
    for edge in (0..rod.rest_lengths.len()).rev() {
        if may_split(rod, around, edge) {
            for left in (1..FINER).rev() {
                split(rod, memory, around, edge, f64::from(left) / f64::from(left + 1));
                limbs.iter_mut().filter(|node| **node > edge).for_each(|node| *node += 1);
            }
        }
    }
}

/// The edge of the loop as far from the knot along one limb as along the other.
fn opposite_knot(stitch: &TiedStitch) -> Option<usize> {
    let [start, end] = stitch.holes;
    let between = stitch.memory.touches.iter().filter_map(|touch| match touch.partner {
        Partner::Edge(other) if touch.force > 0.0 => Some([touch.edge.min(other), touch.edge.max(other)]),
        _ => None,
    });
    let across =
        between.filter(|&[a, b]| stitch.piece.contains(&a) && a < start && b > end && stitch.piece.contains(&b));
    let [a, b] = across.min_by_key(|[a, b]| b - a)?;
    let material = &stitch.rod.material;
    let middle = 0.5 * (material[a] + material[b + 1]);
    let edge = material.partition_point(|&s| s < middle) - 1;
    (edge > a + LIMB_EDGES_MIN && edge + LIMB_EDGES_MIN < b).then_some(edge)
}

/// Cuts tails that are too long; the lengths of both beyond the knot [mm], that of the rod's start first.
fn shortened(knot: &mut Knot, tight: [Running; 2]) -> [f64; 2] {
    let limbs = knot.limbs.map(|node| knot.rod.material[node]);
    let hanging = || (0..knot.rod.node_count()).filter(|&node| !knot.rod.carried[node]);
    let ends = [hanging().next(), hanging().next_back()];
    let lengths = [0, 1].map(|k| ends[k].map_or(0.0, |end| (knot.rod.material[end] - limbs[k]).abs()));
    [0, 1].map(|k| {
        let length = lengths[k] - tight[k].exit;
        if length <= TAIL_MAX {
            return length;
        }
        let sign = if k == 0 { -1.0 } else { 1.0 };
        (knot.cut_tail(k, limbs[k] + sign * (tight[k].exit + TAIL_MAX)) - limbs[k]).abs() - tight[k].exit
    })
}
