//! What one reading of a stitch's throws costs on one core.
//!
//! `cargo bench --no-default-features --bench reading`. The core has no clock; this one is here. Beside every reading a fixed
//! piece of arithmetic is timed: what this swings by is the machine's doing, not the reader's.

#![expect(clippy::print_stdout, clippy::disallowed_methods, reason = "a timing reads the clock and prints")]

#[expect(dead_code, reason = "shared with the tests, which use the rest")]
#[path = "../tests/topology/stacks.rs"]
mod stacks;

mod costs;
#[path = "costs/demonstration.rs"]
mod demonstration;

use costs::{Costs, fixed_arithmetic, timed};
use knotwright::analysis::reading::{StitchCurve, read};
use stacks::{Layout, disturbed, flat_stack, throws_of};
use std::hint::black_box;
use std::path::Path;

/// Nodes of the thread that is read.
const NODES: usize = 400;
/// Distance between nodes [mm], two diameters as in an attempt.
const SPACING: f64 = 0.45;
/// Ways in which each stitch is turned and shaken [mm], and readings of each.
const TURNED: u64 = 20;
const NOISE: f64 = 0.04;
const TIMES: usize = 10;
/// Ticks from one reading to the next through an attempt.
const EVERY: usize = 15;

fn main() {
    drawn();
    attempted();
}

/// Stitches as they are drawn for tests: loose, with tails that cross nothing.
fn drawn() {
    println!("One reading of {NODES} nodes, {TURNED} stitches turned at random, {TIMES} times each");
    for notation in ["", "1", "1=1", "2=1", "2=1=1", "1=1=1=1", "3=1=1=1", "2=1=1=1=1=1"] {
        let short = flat_stack(&throws_of(notation), Layout { tails: [10.0, 10.0], spacing: SPACING, ..Layout::LOOSE });
        let missing = NODES.saturating_sub(short.points.len()) as f64;
        let layout = Layout { tails: [10.0, 10.0 + SPACING * missing], spacing: SPACING, ..Layout::LOOSE };
        let stitch = flat_stack(&throws_of(notation), layout);
        let (mut readings, mut beside) = (Vec::new(), Vec::new());
        for seed in 0..TURNED {
            let curve = disturbed(&stitch, seed, NOISE);
            assert_eq!(read(&curve).notation, notation, "seed {seed}");
            for _ in 0..TIMES {
                readings.push(timed(|| drop(black_box(read(black_box(&curve))))));
                beside.push(timed(fixed_arithmetic));
            }
        }
        println!("    {notation:12} {}; fixed arithmetic {}", Costs::of(readings).text(), Costs::of(beside).text());
    }
}

/// What the thread is like through the first scenario's demonstration, its strand made longer until it has as many nodes.
fn attempted() {
    let (mut attempt, mut performer) = demonstration::begin(Path::new("scenarios/first_stitch.ron"));
    let mut by_throws: Vec<(Vec<f64>, Vec<f64>)> = vec![Default::default(); 4];
    let mut frames = 0;
    while let Some(command) = performer.command(&attempt.world) {
        attempt.tick(&command);
        frames += 1;
        let Some(curve) = attempt.world.stitch_curve(0).filter(|_| frames % EVERY == 0) else { continue };
        let curve = longer(curve);
        let (readings, beside) = &mut by_throws[read(&curve).throws.len()];
        readings.push(timed(|| drop(black_box(read(black_box(&curve))))));
        beside.push(timed(fixed_arithmetic));
    }
    println!("One reading of {NODES} nodes every {EVERY} ticks of the first scenario's demonstration");
    let all: Vec<f64> = by_throws.iter().flat_map(|(readings, _)| readings.clone()).collect();
    println!("    {:3} frames, all: {}", all.len(), Costs::of(all).text());
    for (throws, (readings, beside)) in
        by_throws.into_iter().enumerate().filter(|(_, (readings, _))| !readings.is_empty())
    {
        let count = readings.len();
        let (readings, beside) = (Costs::of(readings).text(), Costs::of(beside).text());
        println!("    {count:3} frames with {throws} throws: {readings}; fixed arithmetic {beside}");
    }
}

/// The stitch with its strand led straight on.
fn longer(mut curve: StitchCurve) -> StitchCurve {
    while let ([.., before, last], true) = (&curve.points[..], curve.points.len() < NODES) {
        curve.points.push(2.0 * *last - *before);
    }
    curve
}
