//! What 1/60 s costs on one core through a whole scripted tie, with instruments and gum, and in which phase of it.
//!
//! `cargo bench --no-default-features --bench tie [-- SCENARIO.ron ...]`; without one, the first scenario. Beside every
//! frame a fixed piece of arithmetic is timed: what this swings by is the machine's doing, not the solver's.

#![expect(clippy::print_stdout, clippy::disallowed_methods, reason = "a timing reads the clock and prints")]

mod costs;
#[path = "costs/demonstration.rs"]
mod demonstration;

use costs::{Costs, fixed_arithmetic, timed};
use knotwright::simulation::attempt::Attempt;
use std::path::Path;

/// What the sub-steps of some frames did, and what the frames cost.
#[derive(Default)]
struct Work {
    frames: Vec<f64>,
    substeps: usize,
    iterations: usize,
    solves: usize,
    above_tolerance: usize,
}

impl Work {
    fn add(&mut self, attempt: &Attempt, cost_ms: f64) {
        let world = &attempt.world;
        self.frames.push(cost_ms);
        self.substeps += world.reports.len();
        self.iterations += world.reports.iter().map(|report| report.iterations).sum::<usize>();
        self.solves += world.reports.iter().map(|report| report.solves).sum::<usize>();
        self.above_tolerance +=
            world.reports.iter().filter(|report| report.residual >= world.settings.tolerance).count();
    }

    fn text(&self) -> String {
        let a_step = |count: usize| count as f64 / self.substeps.max(1) as f64;
        let costs = Costs::of(self.frames.clone());
        format!(
            "{}; {:5.2} iterations, {:5.2} solves a sub-step; {:5.2} % above tolerance",
            costs.text(),
            a_step(self.iterations),
            a_step(self.solves),
            100.0 * a_step(self.above_tolerance)
        )
    }
}

fn tie(file: &Path) {
    let (mut attempt, mut performer) = demonstration::begin(file);
    let (mut all, mut beside) = (Work::default(), Vec::new());
    let mut phases: Vec<(String, Work)> = Vec::new();
    loop {
        let mut command = None;
        let cost = timed(|| {
            command = performer.command(&attempt.world);
            if let Some(command) = &command {
                attempt.tick(command);
            }
        });
        if command.is_none() {
            break;
        }
        beside.push(timed(fixed_arithmetic));
        all.add(&attempt, cost);
        if phases.last().is_none_or(|(name, _)| name != performer.phase()) {
            phases.push((performer.phase().to_owned(), Work::default()));
        }
        phases.last_mut().expect("one was pushed").1.add(&attempt, cost);
    }
    println!("\n{}: {} frames of 1/60 s, {} sub-steps", file.display(), all.frames.len(), all.substeps);
    println!("all: {}", all.text());
    println!("fixed arithmetic beside it: {}", Costs::of(beside).text());
    for (name, work) in &phases {
        println!("    {name:44} {:5} frames: {}", work.frames.len(), work.text());
    }
}

fn main() {
    let asked: Vec<String> = std::env::args().skip(1).filter(|argument| argument != "--bench").collect();
    let scenarios = if asked.is_empty() { vec!["scenarios/first_stitch.ron".to_owned()] } else { asked };
    scenarios.iter().for_each(|file| tie(Path::new(file)));
}
