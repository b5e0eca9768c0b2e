//! `compare`: pulls of several knots, in one thread or in several, side by side, each once or in many threads.

use super::arguments::{BenchArguments, CompareArguments, PRETENSION_N, TAIL_MM};
use super::compared::{Asked, Kind, What, all};
use super::output::{json, say};
use super::pulled::{
    CURVE_COLUMNS, Held, SAMPLE_COLUMNS, all_pulled, asked_json, curve_json, curve_rows, drawn, may_write, merge,
    outcome_json, plot, sample_rows, samples_json, words, write,
};
use super::{Failure, Status};
use crate::pull::{Line, Pull, Sample, ShareRow, shares_figure};
use crate::quantity::MN_PER_N;
use serde_json::{Value, json as object};

pub(super) fn compare(arguments: &CompareArguments) -> Result<Status, Failure> {
    let usage = |problems: Vec<String>| Failure::new(Status::Usage, problems.join("\n"));
    let specs = all(&arguments.specs, &arguments.bench).map_err(usage)?;
    may_write(&[&arguments.csv, &arguments.plot])?;
    let asked = specs.into_iter().map(Asked::opened).collect::<Result<Vec<_>, _>>()?;
    let text = match arguments.samples {
        None => once(arguments, &asked)?,
        Some(count) => samples(arguments, &asked, count)?,
    };
    say(&text)?;
    Ok(Status::Done)
}

/// Each pulled once, in the thread that its table names.
fn once(arguments: &CompareArguments, asked: &[Asked]) -> Result<String, Failure> {
    let found = all_pulled(count(asked.len())?, arguments.jobs.get(), |index| {
        let asked = &asked[index as usize];
        asked.pulled(asked.material.clone())
    })?;
    let both = || asked.iter().zip(&found);
    let pulls = || both().filter_map(|(asked, sample)| sample.as_ref().map(|sample| (asked, sample)));
    let rows = pulls().map(|(asked, sample)| curve_rows(&sample.pull, &csv_start(asked))).collect::<String>();
    write(arguments.csv.as_deref(), &format!("knot,material,size,{CURVE_COLUMNS}{rows}"))?;
    let names: Vec<String> = pulls().map(|(asked, _)| asked.name()).collect();
    let lines = names.iter().zip(pulls()).map(|(name, (_, sample))| Line { name, pull: &sample.pull });
    plot(arguments.plot.as_deref(), &heading(arguments), &lines.collect::<Vec<_>>(), arguments.load_n)?;
    if arguments.json {
        let pulls: Vec<Value> =
            both().map(|(asked, sample)| as_json(asked, sample.as_ref(), arguments.load_n)).collect();
        return json(&object!({ "load_n": arguments.load_n, "pulls": pulls }));
    }
    let rows = both().map(|(asked, sample)| row(asked, sample.as_ref(), arguments.load_n)).collect::<Vec<_>>();
    Ok(heading(arguments) + "\n" + &table(&rows))
}

/// Each pulled in `count` threads of the published ranges; all draw the same ones where they are of one material.
fn samples(arguments: &CompareArguments, asked: &[Asked], per_knot: u32) -> Result<String, Failure> {
    let load_n = arguments.load_n.unwrap_or_default();
    let found = all_pulled(count(asked.len())?.saturating_mul(per_knot), arguments.jobs.get(), |index| {
        let asked = &asked[(index / per_knot) as usize];
        asked.pulled(asked.drawn_thread(arguments.seed, index % per_knot)?)
    })?;
    let mut columns = Vec::new();
    for (asked, samples) in asked.iter().zip(found.chunks(per_knot as usize)) {
        // A file without a knot holds nothing in any thread.
        let samples: Vec<Sample> = samples.iter().flatten().cloned().collect();
        let held = Held::of(&samples, load_n);
        columns.push((asked, samples, held));
    }
    let rows = columns.iter().map(|(asked, samples, _)| sample_rows(samples, arguments.load_n, &csv_start(asked)));
    write(arguments.csv.as_deref(), &format!("knot,material,size,{SAMPLE_COLUMNS}{}", rows.collect::<String>()))?;
    let title = format!("{}: threads of the published ranges that hold {load_n} N", heading(arguments));
    drawn(arguments.plot.as_deref(), || {
        let names: Vec<String> = columns.iter().map(|(asked, ..)| asked.name()).collect();
        let held = columns.iter().zip(&names).filter_map(|((_, _, held), name)| {
            held.as_ref().map(|Held { counts, share }| ShareRow { name, counts: *counts, share: *share })
        });
        shares_figure(&title, &held.collect::<Vec<_>>())
    })?;
    if arguments.json {
        let pulls = columns.iter().map(|(asked, samples, held)| {
            let mut all = what_json(asked, arguments.load_n);
            if let Some(held) = held {
                merge(&mut all, samples_json(samples, held, arguments.load_n, arguments.seed));
            }
            all
        });
        return json(&object!({ "load_n": arguments.load_n, "pulls": pulls.collect::<Vec<_>>() }));
    }
    let rows: Vec<Vec<String>> = columns
        .iter()
        .map(|(asked, samples, held)| match held {
            None => vec![asked.knot(), asked.thread(), NO_KNOT.to_owned()],
            Some(held) => {
                let ([share, interval], [holding, all]) = (held.words(), held.counts);
                let holding = format!("{holding} of {all} hold {load_n} N: {share}");
                vec![asked.knot(), asked.thread(), holding, interval, median(samples)]
            }
        })
        .collect();
    Ok(title + "\n" + &table(&rows))
}

const NO_KNOT: &str = "there is no knot to pull";

fn count(knots: usize) -> Result<u32, Failure> {
    u32::try_from(knots).map_err(|error| Failure::new(Status::Usage, error))
}

/// The middle of what was held, in words.
fn median(samples: &[Sample]) -> String {
    let mut forces: Vec<f64> = samples.iter().map(|sample| sample.pull.holding_force / MN_PER_N).collect();
    forces.sort_unstable_by(f64::total_cmp);
    let middle = forces.get(forces.len() / 2).copied().unwrap_or(0.0);
    format!("held {middle:.2} N in the middle")
}

fn heading(arguments: &CompareArguments) -> String {
    let BenchArguments { pretension_n, tail_mm, slip_limit_mm, .. } = &arguments.bench;
    let (pretension, tail) = (pretension_n.unwrap_or(PRETENSION_N), tail_mm.unwrap_or(TAIL_MM));
    format!("drawn tight with {pretension} N, tails of {tail} mm, slipped from {slip_limit_mm} mm")
}

/// What was asked for; of a file it is what that says.
fn what_json(asked: &Asked, load_n: Option<f64>) -> Value {
    match &asked.what {
        What::Knot { tied, .. } => asked_json(tied, load_n),
        What::Filed { kind, path, stitch, notation, .. } => object!({
            (match kind { Kind::Attempt => "attempt", Kind::Table => "table" }): path.display().to_string(),
            "stitch": stitch,
            "knot": notation,
            "material": asked.material.name,
            "size": asked.material.size,
            "wet": asked.material.wet,
            "load_n": load_n,
        }),
    }
}

fn as_json(asked: &Asked, sample: Option<&Sample>, load_n: Option<f64>) -> Value {
    let mut all = what_json(asked, load_n);
    match sample {
        Some(sample) => {
            merge(&mut all, outcome_json(sample, load_n));
            all["curve"] = curve_json(&sample.pull);
        }
        None => merge(&mut all, object!({ "outcome": "none", "holding_force_n": null, "slip_mm": null })),
    }
    all
}

fn csv_start(asked: &Asked) -> String {
    format!("{},{},{},", asked.knot().replace(',', "_"), asked.material.name, asked.material.size)
}

/// Knot, thread, force, slip at the load if one was asked for, and end.
fn row(asked: &Asked, sample: Option<&Sample>, load_n: Option<f64>) -> Vec<String> {
    let Some(Sample { pull, .. }) = sample else {
        return vec![asked.knot(), asked.thread(), NO_KNOT.to_owned()];
    };
    let mut cells = vec![asked.knot(), asked.thread(), format!("held {:.2} N", pull.holding_force / MN_PER_N)];
    cells.extend(load_n.map(|load| at_load(pull, load)));
    cells.push(words(pull.end).to_owned());
    cells
}

fn at_load(pull: &Pull, load_n: f64) -> String {
    match pull.slip_at(load_n * MN_PER_N) {
        Some(slip) => format!("at {load_n} N slipped by {slip:.2} mm"),
        None => format!("did not hold {load_n} N"),
    }
}

/// Rows with their columns one below the other.
fn table(rows: &[Vec<String>]) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max();
    let widths: Vec<usize> = (0..columns).map(|column| width(column).unwrap_or(0)).collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().zip(&widths).map(|(cell, &width)| format!("{cell:<width$}"));
        cells.collect::<Vec<_>>().join("  ").trim_end().to_owned() + "\n"
    };
    rows.iter().map(line).collect()
}
