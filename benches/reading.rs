//! What one reading of a stitch's throws costs on one core.
//!
//! `cargo bench --no-default-features --bench reading`. The core has no clock; this one is here. Beside every reading a fixed
//! piece of arithmetic is timed: what this swings by is the machine's doing, not the reader's.

#![expect(clippy::print_stdout, clippy::disallowed_methods, reason = "a timing reads the clock and prints")]

#[expect(dead_code, reason = "shared with the tests, which use the rest")]
#[path = "../tests/topology/stacks.rs"]
mod stacks;

mod costs;

use costs::{Costs, fixed_arithmetic, timed};
use knotwright::analysis::reading::read;
use stacks::{Layout, disturbed, flat_stack, throws_of};
use std::hint::black_box;

/// Nodes of the thread that is read.
const NODES: usize = 400;
/// Distance between nodes [mm], two diameters as in an attempt.
const SPACING: f64 = 0.45;
/// Ways in which each stitch is turned and shaken [mm], and readings of each.
const TURNED: u64 = 20;
const NOISE: f64 = 0.04;
const TIMES: usize = 10;

fn main() {
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
