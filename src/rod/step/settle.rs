//! Balance after a change of nodes, with friction as it is.
//!
//! Edges that have become shorter turn as they find their places, by parts of the corners that they had, and what touches
//! rolls on them and slides by the overlap of corners: motions of the mesh and not of the thread, but far beyond what
//! friction springs bear. So here the forces of friction stay, as dead loads, and their springs are stretched by them again
//! wherever they then are.

use super::end::finish;
use super::{Memory, Report, Settings, SlipLimit, Solve};
use crate::math::DVec3;
use crate::rod::Rod;
use crate::rod::contact::friction::clipped;
use crate::rod::surroundings::{Surroundings, Tissue};

/// Length of the step by which drag is measured [ms]: so short that drag keeps a thread in place that nothing else does, and
/// hands where they are.
const SETTLE_MS: f64 = 0.1;

/// Stiffness of a friction spring that hardly minds how far it goes [mN/mm]: micrometres change it by a hundredth of a
/// millinewton.
const SOFT: f64 = 1.0;

/// Brings a thread whose nodes have changed into balance, without time passing: forces of friction stay what they are, but no
/// greater than what then presses allows.
pub fn settle(
    rod: &mut Rod,
    around: &mut Surroundings,
    tissue: &dyn Tissue,
    memory: &mut Memory,
    settings: &Settings,
) -> Report {
    let motion = (memory.velocity.clone(), memory.spin_velocity.clone());
    memory.velocity.clear();
    let settings = &Settings { slip_limit: SlipLimit::StepStart, ..*settings };
    let mut solve = Solve::new(rod, around, tissue, memory, settings, SETTLE_MS);
    let springs: Vec<(DVec3, f64, f64)> = solve.all_frictions().map(|f| (f.anchor, f.limit, f.stiffness)).collect();
    for friction in solve.all_frictions_mut() {
        let force = clipped(friction.anchor * friction.stiffness, friction.limit);
        (friction.anchor, friction.limit, friction.stiffness) = (force / SOFT, f64::INFINITY, SOFT);
    }
    let report = solve.run(memory);
    for (friction, (anchor, limit, stiffness)) in solve.all_frictions_mut().zip(springs) {
        (friction.anchor, friction.limit, friction.stiffness) = (anchor, limit, stiffness);
        friction.levers.clear();
    }
    let (places, spin) = (solve.places.clone(), solve.spin.clone());
    let commits = solve.commits(memory);
    let report = finish(rod, around, memory, settings, places, spin, commits, SETTLE_MS, report);
    (memory.velocity, memory.spin_velocity) = motion;
    report
}
