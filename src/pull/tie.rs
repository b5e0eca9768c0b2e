//! A tied knot as the centreline of a stitch, for whoever reads shapes.

use super::kept::Kept;
use super::knot::{Fault, Knot};
use super::running::Running;
use super::test::{STEP_MS, Test, edge_length, tight_and_cut};
use super::thrown::{Untied, in_words, said, thrown};
use crate::analysis::reading::{Form, StitchCurve, read};
use crate::math::{DVec3, cos, sin};
use core::f64::consts::PI;

/// Points on the way round that stands for the loop.
const LOOP_POINTS: u32 = 32;
/// Steps after which ends that were let go of have come to rest; a throw of silk that opens takes half of them.
const REST_STEPS: usize = 100;

/// Lays a knot loosely, draws it tight, cuts its tails and lets go of them. What it reads then is not looked at.
///
/// # Errors
/// Where a step cannot be done soundly, see [`Fault`]; `Ok(None)` if the thread breaks, or the knot comes open.
pub fn tie(test: &Test) -> Result<Option<Tied>, Fault> {
    let (knot, cut) = tight_and_cut(test);
    if let Some(fault) = knot.fault {
        return Err(fault);
    }
    let tight = cut.filter(|_| knot.thread_break.is_none()).map(|cut| cut.tight);
    Ok(tight.map(|tight| Tied {
        curve: centreline(&knot),
        kept: Some(kept(&knot, tight)),
        comes_loose: None,
        stands_open: false,
    }))
}

fn kept(knot: &Knot, tight: [Running; 2]) -> Kept {
    Kept::of(knot, LOOP_POINTS as usize - 1, tight)
}

/// A knot that was tied on the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Tied {
    /// The knot with its tails cut and let go, or still in hand if it comes loose without. The loop, which is cut on the
    /// bench, is led from limb to limb in a half circle below the knot.
    pub curve: StitchCurve,
    /// The thread's state there; `None` of a knot in hand.
    pub kept: Option<Kept>,
    /// What the thread reads once its ends are let go, if that is not the knot.
    pub comes_loose: Option<String>,
    /// Whether a sliding knot has a hitch that in no way was run down to what is below it.
    pub stands_open: bool,
}

/// Throws a knot by moving the ends of its strands, draws it tight and cuts its tails.
///
/// # Errors
/// Where the thread does not become that knot, see [`Untied`].
pub fn throw(test: &Test, form: Form) -> Result<Tied, Untied> {
    let thrown = thrown(test, edge_length(test.section), form)?;
    let wanted = in_words(&test.throws, form);
    let in_hand = centreline(thrown.knot());
    let (tight, stands_open) = (thrown.tight, thrown.stands_open());
    let mut knot = thrown.released();
    knot.run(REST_STEPS, STEP_MS);
    if let Some(fault) = knot.fault {
        return Err(Untied::Unsound { throw: test.throws.len(), fault });
    }
    let let_go = centreline(&knot);
    let found = said(&read(&let_go));
    Ok(if found == wanted {
        Tied { curve: let_go, kept: Some(kept(&knot, tight)), comes_loose: None, stands_open }
    } else {
        Tied { curve: in_hand, kept: None, comes_loose: Some(found), stands_open }
    })
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
