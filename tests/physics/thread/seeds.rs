//! Seeded variations of one run, and what knot came of each.

use super::several::spread;
use knotwright::math::DVec3;
use knotwright::rod::Rod;
use knotwright::topology::closure::identify_closed;

/// Determinant and signature of the thread led on straight from both ends to where `far` says, told an end and the other
/// one, and closed far above. A right or left trefoil has (3, -2) or (3, 2).
pub(super) fn led_out_knot(rod: &Rod, far: impl Fn(DVec3, DVec3) -> DVec3) -> Option<(i64, i32)> {
    let points = &rod.positions;
    let (first, last) = (points[0], points[points.len() - 1]);
    let mut closed = points.clone();
    closed.extend([far(last, first), DVec3::new(0.0, 0.0, 400.0), far(first, last)]);
    identify_closed(&closed).map(|knot| (knot.determinant, knot.signature))
}

/// Runs `one` for every seed below `count` and fails with the first few that went wrong.
pub(super) fn all_go_right(count: u64, one: fn(u64) -> Result<(), String>) {
    let wrong: Vec<String> = spread(count, one).into_iter().filter_map(Result::err).collect();
    let first = wrong[..wrong.len().min(5)].join("\n");
    assert!(wrong.is_empty(), "{} of {count} went wrong, first:\n{first}", wrong.len());
}
