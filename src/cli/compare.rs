//! `compare`: pulls of several knots, in one thread or in several, side by side.

use super::arguments::{BenchArguments, CompareArguments, Knot, PRETENSION_N, TAIL_MM, TiedArguments, knot};
use super::output::{json, say};
use super::pull::{test_of, tied};
use super::pulled::{
    CURVE_COLUMNS, all_pulled, asked_json, curve_json, curve_rows, may_write, merge, outcome_json, plot, thread, words,
    write,
};
use super::{Failure, Status};
use crate::material::Material;
use crate::pull::{Line, Sample, Test, notation, sample};
use crate::quantity::MN_PER_N;
use serde_json::{Value, json as object};

/// One of the pulls.
struct Asked {
    tied: TiedArguments,
    test: Test,
    material: Material,
}

pub(super) fn compare(arguments: &CompareArguments) -> Result<Status, Failure> {
    let asked =
        all(&arguments.specs, &arguments.bench).map_err(|problems| Failure::new(Status::Usage, problems.join("\n")))?;
    may_write(&[&arguments.csv, &arguments.plot])?;
    let found = pulled(&asked, arguments.jobs.get())?;
    let both = || asked.iter().zip(&found);
    let rows = both().map(|(asked, sample)| curve_rows(&sample.pull, &csv_start(&asked.tied))).collect::<String>();
    write(arguments.csv.as_deref(), &format!("knot,material,size,{CURVE_COLUMNS}{rows}"))?;
    draw(arguments, &asked, &found)?;
    let text = if arguments.json {
        let pulls: Vec<Value> = both().map(|(asked, sample)| as_json(asked, sample, arguments.load_n)).collect();
        json(&object!({ "load_n": arguments.load_n, "pulls": pulls }))?
    } else {
        let title = heading(arguments) + "\n";
        title + &table(&both().map(|(asked, sample)| row(asked, sample, arguments.load_n)).collect::<Vec<_>>())
    };
    say(&text)?;
    Ok(Status::Done)
}

/// What the specs ask for, or all that is wrong with them, a line each.
fn all(specs: &[String], bench: &BenchArguments) -> Result<Vec<Asked>, Vec<String>> {
    let (mut found, mut problems) = (Vec::new(), Vec::new());
    for (number, spec) in specs.iter().enumerate() {
        match one(spec, bench) {
            Ok(asked) => found.push(asked),
            Err(wrong) => problems.extend(wrong.iter().map(|wrong| format!("SPEC {} {spec:?}: {wrong}", number + 1))),
        }
    }
    if problems.is_empty() { Ok(found) } else { Err(problems) }
}

/// What one spec asks for: `NOTATION`, in the thread that the flags name, or `NOTATION@MATERIAL:SIZE`.
fn one(spec: &str, bench: &BenchArguments) -> Result<Asked, Vec<String>> {
    let (throws, own) = spec.split_once('@').map_or((spec, None), |(throws, thread)| (throws, Some(thread)));
    let own = own.map(|thread| thread.rsplit_once(':').ok_or(thread)).transpose();
    let mut problems = Vec::new();
    let throws = knot(throws).map_err(|wrong| problems.push(wrong)).ok();
    let thread = match (own, &bench.material, &bench.size) {
        (Err(thread), ..) => Err(format!("after @ found {thread:?}, allowed MATERIAL:SIZE")),
        (Ok(Some((material, size))), ..) => Ok((material, size)),
        (Ok(None), Some(material), Some(size)) => Ok((material.as_str(), size.as_str())),
        (Ok(None), ..) => Err("names no thread: add @MATERIAL:SIZE, or give --material and --size".to_owned()),
    };
    // Threads are looked up even for a knot that is not in order, so that all problems come at once.
    let tied = |(material, size)| tied(throws.unwrap_or(Knot(Vec::new())), material, size, bench);
    match thread.map(tied).and_then(|tied| test_of(&tied).map(|(test, material)| Asked { tied, test, material })) {
        Ok(asked) if problems.is_empty() => Ok(asked),
        Ok(_) => Err(problems),
        Err(wrong) => {
            problems.push(wrong);
            Err(problems)
        }
    }
}

fn pulled(asked: &[Asked], jobs: usize) -> Result<Vec<Sample>, Failure> {
    let count = u32::try_from(asked.len()).map_err(|error| Failure::new(Status::Usage, error))?;
    all_pulled(count, jobs, |index| {
        let Asked { tied, test, material } = &asked[index as usize];
        sample(test, material.clone())
            .map_err(|fault| Failure::new(Status::Internal, format!("{}: {fault}", notation(&tied.knot.0))))
    })
}

fn draw(arguments: &CompareArguments, asked: &[Asked], found: &[Sample]) -> Result<(), Failure> {
    let name = |asked: &Asked| format!("{} in {}", notation(&asked.tied.knot.0), thread(&asked.tied));
    let names: Vec<String> = asked.iter().map(name).collect();
    let lines = names.iter().zip(found).map(|(name, sample)| Line { name, pull: &sample.pull });
    plot(arguments.plot.as_deref(), &heading(arguments), &lines.collect::<Vec<_>>(), arguments.load_n)
}

fn heading(arguments: &CompareArguments) -> String {
    let BenchArguments { pretension_n, tail_mm, .. } = &arguments.bench;
    let (pretension, tail) = (pretension_n.unwrap_or(PRETENSION_N), tail_mm.unwrap_or(TAIL_MM));
    format!("drawn tight with {pretension} N, tails of {tail} mm")
}

fn as_json(asked: &Asked, sample: &Sample, load_n: Option<f64>) -> Value {
    let mut all = asked_json(&asked.tied, load_n);
    merge(&mut all, outcome_json(sample, load_n));
    all["curve"] = curve_json(&sample.pull);
    all
}

fn csv_start(tied: &TiedArguments) -> String {
    format!("{},{},{},", notation(&tied.knot.0), tied.material, tied.size)
}

/// Knot, thread, force, slip at the load if one was asked for, and end.
fn row(asked: &Asked, sample: &Sample, load_n: Option<f64>) -> Vec<String> {
    let pull = &sample.pull;
    let mut cells =
        vec![notation(&asked.tied.knot.0), thread(&asked.tied), format!("held {:.2} N", pull.holding_force / MN_PER_N)];
    cells.extend(load_n.map(|load| match pull.slip_at(load * MN_PER_N) {
        Some(slip) => format!("at {load} N slipped by {slip:.2} mm"),
        None => format!("did not hold {load} N"),
    }));
    cells.push(words(pull.end).to_owned());
    cells
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
