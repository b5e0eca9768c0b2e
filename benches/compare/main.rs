//! Our rod beside others on the same tasks in the same run: one command, one table.
//!
//! `cargo bench --no-default-features --bench compare`; `-- --json` for the numbers, `-- --only SOLVER` and `-- --task WORDS`
//! for some of them, `-- --all` for every choice of settings that was tried, `-- --tasks` for the tasks as JSON.
//! Each solver runs in a process of its own, one after the other, each on one core. See `benches/README.md`.

#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a comparison prints a table")]
#![expect(clippy::disallowed_methods, reason = "a timing reads the clock")]

mod law;
#[expect(dead_code, reason = "shared with the tests, which use the rest")]
#[path = "../../tests/physics/thread/lay.rs"]
mod lay;
mod others;
#[expect(clippy::cast_possible_truncation, reason = "the engine computes in f32")]
mod rapier;
mod rod;
mod run;
mod table;
mod task;

use run::Run;
use std::io::Read;
use std::process::ExitCode;
use table::Row;
use task::Task;

/// Solvers in the order of the table.
const SOLVERS: &[&str] = &["knotwright", "rapier", "pyelastica", "mujoco"];

/// All runs of one solver through one task, in a process of its own.
fn runs(solver: &str, task: &Task) -> Result<Vec<Run>, String> {
    let text = serde_json::to_string(task).map_err(|e| e.to_string())?;
    let answer = match solver {
        "knotwright" | "rapier" => others::answer(std::env::current_exe().ok().as_deref(), &["--child", solver], &text),
        _ => others::answer(others::python().as_deref(), &[others::SCRIPT, solver], &text),
    }?;
    serde_json::from_str(&answer).map_err(|e| format!("{solver} answered with something else: {e}"))
}

/// What a process of its own does: a task in, runs out.
fn child(solver: &str) -> Result<(), String> {
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text).map_err(|e| e.to_string())?;
    let task: Task = serde_json::from_str(&text).map_err(|e| e.to_string())?;
    let runs = if solver == "rapier" { rapier::runs(&task) } else { rod::runs(&task) };
    println!("{}", serde_json::to_string(&runs).map_err(|e| e.to_string())?);
    Ok(())
}

/// The rows of one task; our own rod comes first, since its cost is what the others are given.
fn rows(task: &Task, only: Option<&str>, all_runs: bool) -> Vec<Row> {
    let (mut rows, mut core_s) = (Vec::new(), f64::INFINITY);
    for solver in SOLVERS.iter().filter(|solver| only.is_none_or(|only| only == **solver)) {
        match runs(solver, task) {
            Ok(runs) => {
                let of_all = runs.iter().map(|run| Row::new(task, run, law::judge(task, run))).collect();
                let chosen = if all_runs { of_all } else { table::chosen(of_all, core_s) };
                if *solver == "knotwright" {
                    core_s = chosen.iter().map(|row| row.core_s).sum();
                }
                rows.extend(chosen);
            }
            Err(message) => {
                eprintln!("DID NOT RUN: {solver}, {}: {message}", task.kind.title());
                rows.push(Row::missing(solver, task, message));
            }
        }
    }
    rows
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    let flag = |flag: &str| arguments.iter().any(|a| a == flag);
    let after = |flag: &str| arguments.iter().position(|a| a == flag).and_then(|at| arguments.get(at + 1));
    if let Some(solver) = after("--child") {
        return match child(solver) {
            Ok(()) => ExitCode::SUCCESS,
            Err(message) => {
                eprintln!("{message}");
                ExitCode::FAILURE
            }
        };
    }
    if flag("--tasks") {
        println!("{}", serde_json::json!(task::all()));
        return ExitCode::SUCCESS;
    }
    let noise = table::noise();
    let tasks = task::all();
    let wanted = |task: &&Task| after("--task").is_none_or(|only| task.kind.title().contains(only.as_str()));
    let all_runs = flag("--all");
    let only = after("--only").map(String::as_str);
    let rows: Vec<Row> = tasks.iter().filter(wanted).flat_map(|task| rows(task, only, all_runs)).collect();
    let whole = after("--task").or(after("--only")).is_none();
    let knots = if whole { rod::slender_knots() } else { Vec::new() };
    if flag("--json") {
        println!("{}", serde_json::json!({ "noise": noise, "rows": rows, "knots": knots }));
    } else {
        table::print(&noise, &rows);
        if !all_runs {
            table::print_promises(&rows);
        }
        if whole {
            table::print_knots(&knots);
        }
    }
    ExitCode::SUCCESS
}
