//! The table.

use crate::law::Verdict;
use crate::rod::SlenderKnot;
use crate::run::Run;
use crate::task::{Kind, Task};
use serde::Serialize;
use std::time::Instant;

/// One line.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct Row {
    pub(crate) kind: Kind,
    pub(crate) solver: String,
    pub(crate) settings: String,
    #[serde(flatten)]
    pub(crate) verdict: Verdict,
    pub(crate) real_time_factor: Option<f64>,
    pub(crate) core_s: f64,
    pub(crate) simulated_ms: f64,
    pub(crate) peak_mib: f64,
    pub(crate) start_mib: f64,
    pub(crate) note: String,
}

impl Row {
    pub(crate) fn new(task: &Task, run: &Run, verdict: Verdict) -> Row {
        Row {
            kind: task.kind,
            solver: run.solver.clone(),
            settings: run.settings.clone(),
            verdict,
            real_time_factor: (run.core_s > 0.0).then(|| run.real_time_factor()),
            core_s: run.core_s,
            simulated_ms: run.simulated_ms,
            peak_mib: run.peak_mib,
            start_mib: run.start_mib,
            note: run.note.clone(),
        }
    }

    pub(crate) fn missing(solver: &str, task: &Task, message: String) -> Row {
        Row {
            kind: task.kind,
            solver: solver.to_owned(),
            settings: String::new(),
            verdict: Verdict { failure: Some(message), ..Verdict::default() },
            real_time_factor: None,
            core_s: 0.0,
            simulated_ms: 0.0,
            peak_mib: 0.0,
            start_mib: 0.0,
            note: String::new(),
        }
    }
}

/// What a row is chosen by: how far it is from the law, or how fast what should hold creeps. A run that was stopped comes
/// after all that have a number, one that failed last.
fn fault(row: &Row) -> f64 {
    let value = row.verdict.error_percent.map(f64::abs).or(row.verdict.creep_um_per_s);
    if row.verdict.failure.is_some() { f64::INFINITY } else { value.unwrap_or(f64::MAX) }
}

/// Of the runs of one solver through one task, those worth a line: the best of those that cost no more than `core_s` (the
/// fastest, if none does), and the best of all.
pub(crate) fn chosen(rows: Vec<Row>, core_s: f64) -> Vec<Row> {
    let best = |rows: &[Row]| rows.iter().min_by(|a, b| fault(a).total_cmp(&fault(b))).cloned();
    let quick: Vec<Row> = rows.iter().filter(|row| row.core_s <= core_s).cloned().collect();
    let fastest = || {
        rows.iter()
            .min_by(|a, b| b.real_time_factor.unwrap_or(0.0).total_cmp(&a.real_time_factor.unwrap_or(0.0)))
            .cloned()
    };
    let equal_time = best(&quick).or_else(fastest);
    let best = best(&rows);
    if rows.len() < 2 {
        return rows;
    }
    let same = equal_time.as_ref().map(|r| &r.settings) == best.as_ref().map(|r| &r.settings);
    let mark =
        |row: Option<Row>, what: &str| row.map(|row| Row { settings: format!("{what}: {}", row.settings), ..row });
    if same {
        return mark(best, "best").into_iter().collect();
    }
    mark(equal_time, "equal time").into_iter().chain(mark(best, "best")).collect()
}

/// How much the same arithmetic takes, again and again: what this machine does to every timing [ms].
#[derive(Debug, Clone, Copy, Serialize)]
pub(crate) struct Noise {
    pub(crate) median_ms: f64,
    pub(crate) p99_ms: f64,
    pub(crate) worst_ms: f64,
}

/// Times a fixed loop of about 2 ms, 500 times.
pub(crate) fn noise() -> Noise {
    let mut times: Vec<f64> = (0..500)
        .map(|_| {
            let started = Instant::now();
            let mut x = 1.0_f64;
            for _ in 0..std::hint::black_box(400_000) {
                x = x.sqrt() * 1.5 + 0.1;
            }
            std::hint::black_box(x);
            started.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    times.sort_by(f64::total_cmp);
    Noise { median_ms: times[250], p99_ms: times[495], worst_ms: times[499] }
}

fn number(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "-".to_owned(), |v| format!("{v:.digits$}"))
}

/// A factor with three figures, however small.
fn factor(value: Option<f64>) -> String {
    value.map_or_else(|| "-".to_owned(), |v| if v >= 0.1 { format!("{v:.2}") } else { format!("{v:.1e}") })
}

pub(crate) fn print(noise: &Noise, rows: &[Row]) {
    println!(
        "fixed arithmetic beside it: median {:.2} ms, 99 of 100 within {:.2} ms, worst {:.2} ms\n",
        noise.median_ms, noise.p99_ms, noise.worst_ms
    );
    println!("| task | solver | settings | error [%] | creep [um/s] | real-time factor | memory [MiB] | said |");
    println!("| --- | --- | --- | ---: | ---: | ---: | ---: | --- |");
    for row in rows {
        let failure = row.verdict.failure.as_deref().unwrap_or_default();
        let said = if failure == row.note { row.note.clone() } else { [failure, &row.note].join("; ") };
        println!(
            "| {} | {} | {} | {} | {} | {} | {} | {} |",
            row.kind.title(),
            row.solver,
            row.settings,
            number(row.verdict.error_percent, 2),
            number(row.verdict.creep_um_per_s, 4),
            factor(row.real_time_factor),
            if row.peak_mib > 0.0 {
                format!("{:.0}, {:.0} of it at start", row.peak_mib, row.start_mib)
            } else {
                "-".to_owned()
            },
            said.trim_matches([';', ' ']),
        );
    }
}

/// The knots of `rod::slender_knots`, with the ratio drawn on to slenderness zero in a straight line.
pub(crate) fn print_knots(knots: &[SlenderKnot]) {
    println!("\n| thread's radius [mm] | slenderness | pull over the law's |\n| ---: | ---: | ---: |");
    for knot in knots {
        println!("| {} | {:.4} | {:.3} |", knot.radius_mm, knot.slenderness, knot.ratio);
    }
    if let [.., a, b] = knots {
        let limit = b.ratio - b.slenderness * (a.ratio - b.ratio) / (a.slenderness - b.slenderness);
        println!("| drawn on from the last two | 0 | {limit:.3} |");
    }
}

/// The two promises, in numbers of this run: how many times faster than the explicit rod, and whether more accurate than the
/// chain of capsules for the same time.
pub(crate) fn print_promises(rows: &[Row]) {
    println!();
    let of = |kind: Kind, solver: &str| rows.iter().find(|row| row.kind == kind && row.solver == solver);
    for ours in rows.iter().filter(|row| row.solver == "knotwright") {
        let title = ours.kind.title();
        let speed = |row: &Row| row.real_time_factor;
        if let Some((own, other)) = speed(ours).zip(of(ours.kind, "pyelastica").and_then(speed)) {
            println!("{title}: {:.0} times as fast as the explicit rod", own / other);
        }
        if let Some(chain) = of(ours.kind, "rapier") {
            let fault_text = |row: &Row| {
                if fault(row) < f64::MAX { format!("{:.4}", fault(row)) } else { "nothing (failed)".to_owned() }
            };
            println!(
                "{title}: off by {} against {} of the joint chain at equal time",
                fault_text(ours),
                fault_text(chain)
            );
        }
    }
}
