//! What 1/60 s of thread costs on one core, in milliseconds, beside what it gets right; and a baseline in the same run:
//! a position-based chain of the same nodes, the usual way to do a thread in real time.

#![expect(clippy::print_stdout, clippy::disallowed_methods, reason = "a timing reads the clock and prints")]

#[expect(dead_code, reason = "shared with the tests, which use the rest")]
#[path = "../tests/physics/thread/lay.rs"]
mod lay;

use knotwright::math::DVec3;
use knotwright::rod::Rod;
use knotwright::rod::step::{Memory, Settings, step};
use knotwright::rod::surroundings::{NoTissue, Surroundings};
use lay::{GUT, Knot, MESH, SURGEONS};
use std::time::Instant;

/// Sub-steps in 1/60 s.
const SUBSTEPS: usize = 8;
const DT_MS: f64 = 1000.0 / 60.0 / SUBSTEPS as f64;
const TAIL_MM: f64 = 34.0;

/// Runs `frames` frames and prints their mean and worst cost.
fn timed(what: &str, knot: &mut Knot, frames: usize, mut set: impl FnMut(&mut Knot, f64)) {
    let (steps, iterations) = knot.work;
    let (converged, solves) = (knot.converged, knot.solves);
    let (mut total, mut worst) = (0.0_f64, 0.0_f64);
    for frame in 0..frames {
        set(knot, (frame + 1) as f64 / frames as f64);
        let started = Instant::now();
        knot.run(SUBSTEPS, DT_MS);
        let cost = started.elapsed().as_secs_f64() * 1e3;
        total += cost;
        worst = worst.max(cost);
    }
    let steps = (knot.work.0 - steps) as f64;
    println!(
        "{what:32} mean {:6.2} ms, worst {worst:6.2} ms, {:.2} iterations and {:.2} solves a sub-step, {:.1} % converged",
        total / frames as f64,
        (knot.work.1 - iterations) as f64 / steps,
        (knot.solves - solves) as f64 / steps,
        100.0 * (knot.converged - converged) as f64 / steps,
    );
}

fn knot() {
    let mut knot = Knot::laid(SURGEONS, GUT, MESH, 6.0, TAIL_MM);
    println!("2=1=1, {} nodes, {SUBSTEPS} sub-steps a frame", knot.rod.node_count());
    knot.rod.free[knot.limbs[0]] = false;
    timed("settling, laid loose", &mut knot, 30, |_, _| {});
    timed("pulling tight, 0 to 2 N", &mut knot, 60, |knot, share| knot.pull_ends(2000.0 * share));
    timed("held tight at 2 N", &mut knot, 60, |_, _| {});
    timed("let go", &mut knot, 30, |knot, share| knot.pull_ends(2000.0 * (1.0 - share)));
    knot.load_limb(0.0);
    timed("loop loaded, 0 to 0.5 N", &mut knot, 30, |knot, share| knot.load_limb(500.0 * share));
    let before = knot.separation();
    timed("tight knot held at 0.5 N", &mut knot, 120, |_, _| {});
    println!("    opened by {:.4} um in those 2 s", 1e3 * (knot.separation() - before));
}

/// A straight thread of the same number of nodes under an end load: cost, and the strain it comes to.
fn stretched(nodes: usize, load: f64) {
    let positions = |k: usize| DVec3::new(MESH * k as f64, 0.0, 0.0);
    let exact = load / GUT.axial_stiffness;
    let length = MESH * (nodes - 1) as f64;
    let mut rod = Rod::at_rest(GUT, (0..nodes).map(positions).collect());
    rod.free[0] = false;
    let mut around = Surroundings { loads: vec![(nodes - 1, DVec3::X * load)], ..Surroundings::default() };
    let (mut memory, settings) = (Memory::default(), Settings::default());
    let frames = 30;
    let started = Instant::now();
    for _ in 0..frames * SUBSTEPS {
        step(&mut rod, &mut around, &NoTissue, &mut memory, &settings, DT_MS);
    }
    let cost = started.elapsed().as_secs_f64() * 1e3 / frames as f64;
    let strain = rod.positions[nodes - 1].x / length - 1.0;
    println!(
        "{nodes} nodes under {} N: this rod {cost:.3} ms, strain {:.1} % off",
        load / 1e3,
        100.0 * (strain / exact - 1.0)
    );
    for sweeps in [20, 100] {
        let started = Instant::now();
        let strain = position_based_strain(nodes, load, frames, sweeps);
        let cost = started.elapsed().as_secs_f64() * 1e3 / frames as f64;
        println!(
            "    position-based chain, {sweeps:3} sub-steps a frame: {cost:.3} ms, strain {:.0} % off",
            100.0 * (strain / exact - 1.0)
        );
    }
}

/// Strain of a compliant position-based chain with the thread's own mass after `frames` frames of one sweep a sub-step.
///
/// Source: Macklin, Storey, Lu, Terdiman, Chentanez, Jeschke, Mueller 2019, Small steps in physics simulation, SCA.
fn position_based_strain(nodes: usize, load: f64, frames: usize, substeps: usize) -> f64 {
    let dt = 1000.0 / 60.0 / substeps as f64;
    let mass = 0.052 * MESH;
    let compliance = MESH / GUT.axial_stiffness / (dt * dt);
    let mut x: Vec<DVec3> = (0..nodes).map(|k| DVec3::new(MESH * k as f64, 0.0, 0.0)).collect();
    let mut v = vec![DVec3::ZERO; nodes];
    for _ in 0..frames * substeps {
        let before = x.clone();
        // mN per mg is mm per ms^2 times 1e-3 (1 mN = 1e3 mg mm / ms^2 x 1e-3).
        v[nodes - 1] += DVec3::X * (load / mass * dt);
        for k in 1..nodes {
            v[k] *= 1.0 - 0.02 * dt;
            x[k] += v[k] * dt;
        }
        for k in 0..nodes - 1 {
            let inverse = [if k == 0 { 0.0 } else { 1.0 / mass }, 1.0 / mass];
            let along = x[k + 1] - x[k];
            let length = along.length();
            let push = (length - MESH) / (inverse[0] + inverse[1] + compliance);
            x[k] += along * (push * inverse[0] / length);
            x[k + 1] -= along * (push * inverse[1] / length);
        }
        for k in 1..nodes {
            v[k] = (x[k] - before[k]) / dt;
        }
    }
    x[nodes - 1].x / (MESH * (nodes - 1) as f64) - 1.0
}

fn main() {
    knot();
    stretched(250, 1000.0);
}
