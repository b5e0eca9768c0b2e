//! The knot of a stitch as an attempt left it: taken out of the tissue with its bends, twist and friction, and pulled open.
//! Of a table there is the centreline alone, if the thread's state is not kept there.

use super::frame::Look;
use super::knot::{Fault, Knot};
use super::lay::resampled;
use super::mesh::FINER;
use super::outcome::{Pull, SLIP_MAX};
use super::running::Running;
use super::test::{SETTLE_STEPS, STEP_MS, draw_open, edge_length};
use crate::analysis::reading::StitchCurve;
use crate::math::DVec3;
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
    /// Wraps by which one strand can be further along than the other, see
    /// [`Form::wraps_apart`](crate::analysis::reading::Form::wraps_apart).
    pub wraps: usize,
    /// Where its strands ran when it was drawn tight, from which slip counts, that of the rod's start first; `None` if that
    /// is as they run now.
    pub tight: Option<[Running; 2]>,
    /// Slip at which the knot counts as slipped [mm].
    pub slip_limit: f64,
}

impl TiedStitch {
    /// A stitch of which the centreline alone is known, with `wraps` as [there](TiedStitch::wraps), in a thread of this section.
    ///
    /// The thread was straight, takes the set that the shape gives it and comes to rest with its loop held: of the twist
    /// and the pull with which it was tied nothing is known. `None` if a limb is shorter than an edge.
    #[must_use]
    pub fn of_curve(curve: &StitchCurve, section: Section, wraps: usize) -> Option<TiedStitch> {
        let mesh = edge_length(section);
        let [start, end] = [curve.loop_start, curve.loop_end];
        let parts = [&curve.points[..=start], &curve.points[start..=end], &curve.points[end..]];
        let parts = parts.map(|part| if long_enough(part, mesh) { Some(resampled(part, mesh)) } else { None });
        let [Some(first), Some(middle), Some(last)] = parts else { return None };
        let holes = [first.len() - 1, first.len() + middle.len() - 2];
        let points = [&first[..], &middle[1..], &last[1..]].concat();
        let count = points.len();
        let mut knot = Knot::of(Rod::at_rest(section, points), [0, count - 1]);
        (holes[0]..=holes[1]).for_each(|node| knot.rod.free[node] = false);
        knot.run(SETTLE_STEPS, STEP_MS);
        if knot.fault.is_some() || knot.thread_break.is_some() {
            return None;
        }
        let (piece, slip_limit) = (0..count, SLIP_MAX);
        Some(TiedStitch { rod: knot.rod, memory: knot.memory, piece, holes, section, wraps, tight: None, slip_limit })
    }

    /// Length of the thread's edges in the stitch [mm].
    #[must_use]
    pub fn edge_length(&self) -> f64 {
        self.rod.rest_lengths[self.holes[0] - 1]
    }
}

/// Pulls a stitch's knot open as [`pull`](super::pull()) does one that is laid from its notation.
///
/// The loop is cut opposite the knot, if it is not cut at its holes already, and taken out of the tissue, its tails stay as they were cut. Slip counts from the
/// knot as it lay in the tissue. `None` if the limbs do not press on each other: there is no knot to pull.
///
/// # Errors
/// Where a step cannot be done soundly, see [`Fault`].
pub fn of_stitch(stitch: &TiedStitch) -> Result<Option<Pull>, Fault> {
    pull_out(stitch, |_| {}, None)
}

/// The same, and `look` is given how the knot looks meanwhile.
///
/// # Errors
/// As of [`of_stitch`].
pub fn of_stitch_watched(stitch: &TiedStitch, look: Look) -> Result<Option<Pull>, Fault> {
    pull_out(stitch, |_| {}, Some(look))
}

/// The same with edges half as long, split in the state in which the thread was left: what is different comes of the
/// mesh, see [`super::mesh_error`].
///
/// # Errors
/// As of [`of_stitch`].
pub fn of_stitch_refined(stitch: &TiedStitch) -> Result<Option<Pull>, Fault> {
    pull_out(stitch, halve_edges, None)
}

fn pull_out(stitch: &TiedStitch, remesh: impl Fn(&mut Knot), look: Option<Look>) -> Result<Option<Pull>, Fault> {
    let Some(mut knot) = taken_out(stitch) else { return Ok(None) };
    let Some(now) = Running::of(&knot, stitch.wraps) else { return Ok(None) };
    let tight = stitch.tight.unwrap_or(now);
    let mut pull = Pull::of_tails(shortened(&mut knot, tight), stitch.slip_limit);
    knot.run(SETTLE_STEPS, STEP_MS);
    // Only now, when nothing remembers what was around it in the mouth.
    remesh(&mut knot);
    draw_open(&mut knot, stitch.wraps, tight, &mut pull, look);
    knot.fault.map_or(Ok(Some(pull)), Err)
}

/// Whether a line is long enough to be an edge of `mesh` [mm].
fn long_enough(line: &[DVec3], mesh: f64) -> bool {
    line.windows(2).map(|pair| pair[0].distance(pair[1])).sum::<f64>() >= mesh
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

/// The edge where the loop is cut: as far from the knot along one limb as along the other, or where it is cut already.
fn opposite_knot(stitch: &TiedStitch) -> Option<usize> {
    let [start, end] = stitch.holes;
    if start + 1 == end && !stitch.rod.whole[start] {
        return Some(start);
    }
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
