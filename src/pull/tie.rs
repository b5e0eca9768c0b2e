//! A tied knot as the centreline of a stitch, for whoever reads shapes.

use super::knot::{Fault, Knot};
use super::test::{Test, thrown_and_cut, tight_and_cut};
use super::thrown::{Untied, in_words, said};
use crate::analysis::reading::{Form, StitchCurve, read};
use crate::math::{DVec3, cos, sin};
use core::f64::consts::PI;

/// Points on the way round that stands for the loop.
const LOOP_POINTS: u32 = 32;

/// Lays a knot, draws it tight, cuts its tails and gives its centreline, the loop led as in [`throw`].
///
/// # Errors
/// Where a step cannot be done soundly, see [`Fault`]; `Ok(None)` if the thread breaks, or the knot comes open.
pub fn tie(test: &Test) -> Result<Option<StitchCurve>, Fault> {
    let (knot, cut) = tight_and_cut(test);
    if let Some(fault) = knot.fault {
        return Err(fault);
    }
    Ok(if knot.thread_break.is_none() && cut.is_some() { Some(centreline(&knot)) } else { None })
}

/// Throws a knot, cuts its tails and gives its centreline. The loop, which is cut on the bench, is led from limb to limb
/// in a half circle below the knot.
///
/// # Errors
/// Where the thread does not become that knot, see [`Untied`].
pub fn throw(test: &Test, form: Form) -> Result<StitchCurve, Untied> {
    let (knot, _) = thrown_and_cut(test, form)?;
    let throw = test.throws.len();
    if let Some(fault) = knot.fault {
        return Err(Untied::Unsound { throw, fault });
    }
    let curve = centreline(&knot);
    let (found, wanted) = (said(&read(&curve)), in_words(&test.throws, form));
    if found == wanted { Ok(curve) } else { Err(Untied::CameLoose { found, wanted }) }
}

/// The thread that is left, from end to end.
pub(super) fn centreline(knot: &Knot) -> StitchCurve {
    let [from, to] = knot.limbs;
    let left = |nodes: std::ops::RangeInclusive<usize>| {
        nodes.filter(|&node| !knot.rod.carried[node]).map(|node| knot.rod.positions[node])
    };
    let mut points: Vec<DVec3> = left(0..=from).collect();
    let loop_start = points.len() - 1;
    let (start, end) = (knot.rod.positions[from], knot.rod.positions[to]);
    let (middle, half) = (0.5 * (start + end), 0.5 * (end - start));
    points.extend((1..LOOP_POINTS).map(|step| {
        let angle = PI * f64::from(step) / f64::from(LOOP_POINTS);
        middle - half * cos(angle) - DVec3::Z * (half.length() * sin(angle))
    }));
    let loop_end = points.len();
    points.extend(left(to..=knot.rod.node_count() - 1));
    StitchCurve { points, loop_start, loop_end }
}
