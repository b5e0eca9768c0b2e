//! `demo --runs N`: how reliably a hand script ties with unsteady hands.

use super::arguments::DemoArguments;
use super::demo::{open, perform, unsteadiness};
use super::output::{json, say};
use super::{Case, Failure, Status, progress};
use crate::input::script::Script;
use crate::performer::Unsteadiness;
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc;

/// One attempt of the table.
#[derive(Debug, Serialize)]
struct Run {
    seed: u64,
    /// Whether the hands did all that the script says.
    completed: bool,
    notation: Option<String>,
    clear: bool,
    /// Whether the knot reads clearly, and as ordered.
    read_right: bool,
    total: f64,
    passed: bool,
    duration_s: f64,
    substeps: u32,
    share_above_tolerance: f64,
    digest: String,
    real_time_factor: Option<f64>,
}

/// The whole table.
#[derive(Debug, Serialize)]
struct Table<'a> {
    scenario: &'a str,
    ordered: String,
    tremor_mm: f64,
    timing: f64,
    count: usize,
    completed: usize,
    read_right: usize,
    passed: usize,
    substeps: u32,
    share_above_tolerance: f64,
    runs: &'a [Run],
}

pub(super) fn runs(arguments: &DemoArguments) -> Result<Status, Failure> {
    let (case, script) = open(arguments)?;
    let (count, first) = (arguments.runs.unwrap_or(1), unsteadiness(&arguments.unsteady));
    let bar = progress::runs(count);
    let mut runs = Vec::new();
    if !arguments.json {
        bar.suspend(|| say("      seed  completed  reads right  total  passed  digest            knot\n"))?;
    }
    in_order(
        count,
        arguments.jobs.get(),
        |index| once(&case, script.clone(), first, index),
        |run| {
            let run = run?;
            if !arguments.json {
                bar.suspend(|| say(&line(&run)))?;
            }
            bar.inc(1);
            runs.push(run);
            Ok(())
        },
    )?;
    bar.finish_and_clear();
    let substeps: u32 = runs.iter().map(|run| run.substeps).sum();
    let above: f64 = runs.iter().map(|run| run.share_above_tolerance * f64::from(run.substeps)).sum();
    let of = |holds: fn(&Run) -> bool| runs.iter().filter(|run| holds(run)).count();
    let table = Table {
        scenario: &case.scenario.title,
        ordered: case.order.notation(),
        tremor_mm: first.tremor_mm,
        timing: first.timing,
        count: runs.len(),
        completed: of(|run| run.completed),
        read_right: of(|run| run.read_right),
        passed: of(|run| run.passed),
        substeps,
        share_above_tolerance: above / f64::from(substeps.max(1)),
        runs: &runs,
    };
    if arguments.json {
        say(&json(&table)?)?;
    } else {
        let Table { count, completed, read_right, passed, ordered, share_above_tolerance, .. } = table;
        say(&format!(
            "of {count} attempts {completed} completed, {read_right} read {ordered} clearly, {passed} passed\n\
             of {substeps} steps of the thread {:.2} % ended above the solver's tolerance\n",
            100.0 * share_above_tolerance
        ))?;
    }
    Ok(Status::Done)
}

fn once(case: &Case, script: Script, first: Unsteadiness, index: u32) -> Result<Run, Failure> {
    let seed = first.seed.wrapping_add(u64::from(index));
    let (outcome, gave_up) = perform(case, script, Unsteadiness { seed, ..first }, None, |_, _| {})?;
    let (findings, ordered) = (&outcome.findings, case.order.notation());
    let (notation, count) = (findings.notations(), findings.knots().count());
    let clear = count > 0 && findings.knots().all(|knot| knot.unclear.is_none());
    let as_ordered = findings.knots().all(|knot| knot.notation == ordered);
    Ok(Run {
        seed,
        completed: !gave_up,
        read_right: clear && as_ordered && count == case.order.stitches as usize,
        notation,
        clear,
        total: outcome.score.total,
        passed: outcome.score.passed,
        duration_s: outcome.findings.duration.seconds(),
        substeps: outcome.findings.validity.substeps,
        share_above_tolerance: outcome.findings.validity.share_above_tolerance(),
        real_time_factor: outcome.real_time_factor,
        digest: outcome.digest,
    })
}

fn line(run: &Run) -> String {
    let word = |holds| if holds { "yes" } else { "no" };
    let knot = run.notation.as_deref().unwrap_or("none");
    let unclear = if run.clear || run.notation.is_none() { "" } else { ", not clear" };
    format!(
        "{:>10}  {:<9}  {:<11}  {:>5.1}  {:<6}  {:<16}  {knot}{unclear}\n",
        run.seed,
        word(run.completed),
        word(run.read_right),
        run.total,
        word(run.passed),
        run.digest
    )
}

/// Does `work` for 0 to `count`, up to `jobs` at a time, and hands the results on in their order. Stops at an error.
pub(super) fn in_order<T: Send>(
    count: u32,
    jobs: usize,
    work: impl Fn(u32) -> T + Sync,
    mut take: impl FnMut(T) -> Result<(), Failure>,
) -> Result<(), Failure> {
    let next = AtomicU32::new(0);
    let (sender, receiver) = mpsc::channel();
    std::thread::scope(|scope| {
        for _ in 0..jobs.min(usize::try_from(count).unwrap_or(usize::MAX)) {
            let (sender, next, work) = (sender.clone(), &next, &work);
            scope.spawn(move || {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    // Nobody listens once an error has ended the table.
                    if index >= count || sender.send((index, work(index))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(sender);
        let (mut waiting, mut due) = (BTreeMap::new(), 0);
        for (index, result) in receiver {
            waiting.insert(index, result);
            while let Some(result) = waiting.remove(&due) {
                take(result)?;
                due += 1;
            }
        }
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_come_in_order_however_many_work_at_a_time() {
        for jobs in [1, 3, 40] {
            let mut taken = Vec::new();
            // The first ones take longest.
            let work = |index: u32| {
                std::thread::sleep(std::time::Duration::from_millis(u64::from(20 - index)));
                index
            };
            let take = |index| {
                taken.push(index);
                Ok(())
            };
            assert_eq!(in_order(20, jobs, work, take), Ok(()));
            assert_eq!(taken, (0..20).collect::<Vec<_>>(), "{jobs} jobs");
        }
    }

    #[test]
    fn an_error_ends_the_table() {
        let error = Failure::new(Status::Internal, "no more");
        assert_eq!(
            in_order(50, 2, |index| index, |index| if index == 3 { Err(error.clone()) } else { Ok(()) }),
            Err(error)
        );
    }
}
