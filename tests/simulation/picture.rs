//! What there is to see.

use super::{NEEDLE, begin, perform};
use knotwright::math::DVec3;

#[test]
fn the_picture_shows_needle_thread_and_gum_and_leaves_out_what_is_in_the_palm() {
    let mut attempt = begin();
    let before = attempt.snapshot("ready");
    assert_eq!(before.readout.phase, "ready");
    let needle = attempt.world.needle.as_ref().expect("there is a needle");
    let (swage, point) = (before.needle[0], before.needle[before.needle.len() - 1]);
    assert!(swage.distance(attempt.world.rod.positions[0]) < 1e-9, "the thread begins at the swage");
    assert!(point.distance(needle.tip_before) < 1e-9);
    assert_eq!(before.strands.iter().map(Vec::len).sum::<usize>(), attempt.world.rod.node_count());
    for flap in &before.flaps {
        assert_eq!(flap.points.len(), flap.columns * flap.rows);
        assert_eq!(flap.blanch.len(), flap.points.len());
        assert!(flap.points.iter().all(|p| p.is_finite()));
    }
    perform(&mut attempt, NEEDLE, |_| {});
    let after = attempt.snapshot("");
    assert_eq!(after.needle, Vec::<DVec3>::new());
    let shown: usize = after.strands.iter().map(Vec::len).sum();
    let carried = attempt.world.rod.carried.iter().filter(|&&c| c).count();
    assert!(carried > 0 && shown + carried == attempt.world.rod.node_count());
    assert!(after.readout.loop_tension_mn >= 0.0);
}
