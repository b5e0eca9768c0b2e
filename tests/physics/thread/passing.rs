//! No strand passes through another, however it is yanked: overhand knots pulled shut at 50 to 500 mm/s, each judged
//! by what knot its centreline is.

use super::SUB_STEP_MS;
use super::lay::{GUT, single};
use super::seeds::{all_go_right, led_out_knot};
use crate::slow::runs;
use knotwright::math::DVec3;
use knotwright::pull::{looped, pieces, resampled};
use knotwright::rod::step::{Memory, Settings, step};
use knotwright::rod::surroundings::{Grip, Hand, NoTissue, Surroundings, Tool};
use knotwright::rod::{Rod, Section};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Pulled so far [mm], or until the hand's force is spent.
const PULL: f64 = 7.0;

/// Determinant and signature of the thread led on straight from both ends and closed far away; a right or left trefoil
/// has (3, -2) or (3, 2).
fn knot_of(rod: &Rod) -> Option<(i64, i32)> {
    led_out_knot(rod, |end, _| DVec3::new(end.x.signum() * 200.0, end.y, end.z))
}

/// One thread, pulled: what knot it was and is, whether the solver saw a passing, and what was drawn.
fn pulled(seed: u64) -> Result<(), String> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut between = |low: f64, high: f64| low + (high - low) * random.random::<f64>();
    let section = Section { friction_thread: between(0.1, 0.4), bending_stiffness: between(30.0, 300.0), ..GUT };
    let mesh = between(0.35, 0.6);
    let speed = between(0.05, 0.5);
    let hand = if between(0.0, 1.0) < 0.5 { 1.0 } else { -1.0 };
    let mut rod = Rod::at_rest(section, resampled(&looped(&[single(hand)], 0.5, 2.5), mesh));
    let drawn = format!("seed {seed}: mesh {mesh}, speed {speed} mm/ms, {section:?}");
    let last = rod.node_count() - 1;
    rod.free[last] = false;
    let before = knot_of(&rod);
    let outward = rod.positions[0].x.signum();
    let way = DVec3::new(outward * between(0.4, 1.0), between(-0.8, 0.8), between(-0.6, 0.8)).normalize();
    let start = rod.positions[0];
    let target = Hand { target: start, stiffness: 2000.0, force_max: 5000.0, damping: 200.0 };
    let mut around = Surroundings {
        tools: vec![Tool::new(start, Vec::new(), Some(target))],
        grips: vec![Grip { node: 0, tool: 0, place: DVec3::ZERO, stiffness: 1e5, limit: 1e5, spin: 0.0 }],
        ..Surroundings::default()
    };
    let (mut memory, settings) = (Memory::default(), Settings::default());
    let dt = SUB_STEP_MS;
    let steps = pieces(PULL, speed * dt);
    for k in 0..steps {
        if let Some(hand) = &mut around.tools[0].hand {
            hand.target = start + way * (speed * dt * (k + 1) as f64);
        }
        let report = step(&mut rod, &mut around, &NoTissue, &mut memory, &settings, dt);
        if report.broken || report.passed_through {
            return Err(format!("{drawn}: step {k} says {report:?}"));
        }
    }
    let after = knot_of(&rod);
    if before != Some((3, if hand > 0.0 { -2 } else { 2 })) || after != before {
        return Err(format!("{drawn}: was {before:?}, is {after:?}"));
    }
    Ok(())
}

#[test]
fn no_strand_passes_through_another_however_it_is_yanked() {
    all_go_right(runs([200, 1000, 100_000]), pulled);
}
