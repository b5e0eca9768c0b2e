//! `pull`: ties a knot on the bench, pulls its loop open and says what came of it, once or for many threads.

use super::arguments::{PullArguments, TiedArguments};
use super::output::{json, say};
use super::runs::in_order;
use super::{Failure, Status, progress};
use crate::material::{self, Material};
use crate::pull::{self, End, Line, Place, Pull, Sample, Test, notation, sample, thread, wilson};
use crate::quantity::MN_PER_N;
use serde_json::{Value, json as object};
use std::fs;
use std::path::Path;

pub(super) fn pull(arguments: &PullArguments) -> Result<Status, Failure> {
    let (test, material) = asked(&arguments.tied)?;
    // What cannot be written is better known before the pulls than after them; what is there stays until then.
    for path in [&arguments.csv, &arguments.plot].into_iter().flatten() {
        fs::File::options().append(true).create(true).open(path).map_err(|error| unwritable(path, &error))?;
    }
    match arguments.samples {
        None => once(arguments, &test, material),
        Some(count) => samples(arguments, &test, count),
    }
}

/// The knot and the thread that the arguments ask for, or what they may ask for.
pub(super) fn asked(arguments: &TiedArguments) -> Result<(Test, Material), Failure> {
    let TiedArguments { knot, material: name, size, dry, pretension_n, tail_mm } = arguments;
    let material = material::find(name, size, !dry).ok_or_else(|| {
        let sizes = material::sizes(name);
        let message = if sizes.is_empty() {
            format!("--material is {name:?}, allowed {}", material::names().join(", "))
        } else {
            format!("--size is {size:?}, allowed {} for {name}", sizes.join(", "))
        };
        Failure::new(Status::Usage, message)
    })?;
    let pretension = pretension_n * MN_PER_N;
    Ok((Test { throws: knot.0.clone(), section: material.section, pretension, tail: *tail_mm }, material))
}

fn once(arguments: &PullArguments, test: &Test, material: Material) -> Result<Status, Failure> {
    let sample = sample(test, material).map_err(|fault| Failure::new(Status::Internal, fault))?;
    write(arguments.csv.as_deref(), &curve_csv(&sample.pull))?;
    plot(arguments, &sample.pull)?;
    let text = if arguments.json {
        let mut found = asked_json(arguments);
        merge(&mut found, outcome_json(&sample, arguments.load_n));
        found["tails_mm"] = object!(sample.pull.tails);
        found["curve"] = curve_json(&sample.pull);
        json(&found)?
    } else {
        once_text(arguments, &sample)
    };
    say(&text)?;
    Ok(Status::Done)
}

fn plot(arguments: &PullArguments, pulled: &Pull) -> Result<(), Failure> {
    let Some(path) = &arguments.plot else { return Ok(()) };
    let (title, name) = (heading(&arguments.tied), notation(&arguments.tied.knot.0));
    let line = Line { name: &name, pull: pulled };
    let load = arguments.load_n.map(|load| load * MN_PER_N);
    let drawn = pull::figure(title.trim_end(), &[line], load);
    write(Some(path), &drawn.map_err(|error| Failure::new(Status::Internal, format!("--plot: {error}")))?)
}

fn samples(arguments: &PullArguments, test: &Test, count: u32) -> Result<Status, Failure> {
    let bar = progress::runs(count);
    let mut found = Vec::new();
    let draw = |index| {
        let TiedArguments { material: name, size, dry, .. } = &arguments.tied;
        thread(name, size, !dry, arguments.seed, index)
            .ok_or_else(|| Failure::new(Status::Internal, "a thread got lost"))
    };
    in_order(
        count,
        arguments.jobs.get(),
        |index| {
            sample(test, draw(index)?)
                .map_err(|fault| Failure::new(Status::Internal, format!("sample {index}: {fault}")))
        },
        |sample| {
            found.push(sample?);
            bar.inc(1);
            Ok(())
        },
    )?;
    bar.finish_and_clear();
    write(arguments.csv.as_deref(), &samples_csv(&found, arguments.load_n))?;
    let load = arguments.load_n.unwrap_or_default() * MN_PER_N;
    let holding = found.iter().filter(|sample| sample.pull.holds(load)).count();
    let share = wilson(holding, found.len()).ok_or_else(|| Failure::new(Status::Internal, "no samples"))?;
    let text = if arguments.json {
        let mut all = asked_json(arguments);
        let rows: Vec<Value> = found.iter().map(|sample| outcome_json(sample, arguments.load_n)).collect();
        merge(
            &mut all,
            object!({
                "seed": arguments.seed, "count": found.len(), "holding": holding,
                "share_holding": share.share, "interval": share.interval, "samples": rows,
            }),
        );
        json(&all)?
    } else {
        let [low, high] = share.interval.map(|end| 100.0 * end);
        format!(
            "{}of {} threads {holding} hold {} N: {:.0} %, 95 % interval {low:.0} to {high:.0} %\n",
            heading(&arguments.tied),
            found.len(),
            load / MN_PER_N,
            100.0 * share.share
        )
    };
    say(&text)?;
    Ok(Status::Done)
}

fn heading(arguments: &TiedArguments) -> String {
    let TiedArguments { knot, material, size, pretension_n, tail_mm, dry } = arguments;
    let (knot, wetness) = (notation(&knot.0), if *dry { "dry" } else { "wet" });
    format!("{knot} in {material} {size}, {wetness}, drawn tight with {pretension_n} N, tails of {tail_mm} mm\n")
}

fn once_text(arguments: &PullArguments, sample: &Sample) -> String {
    let pull = &sample.pull;
    let force = pull.holding_force / MN_PER_N;
    let mut text = heading(&arguments.tied) + &format!("{}; it held {force:.2} N\n", words(pull.end));
    if let Some(load) = arguments.load_n {
        text += &match pull.slip_at(load * MN_PER_N) {
            Some(slip) => format!("at {load} N it had slipped by {slip:.2} mm\n"),
            None => format!("it did not hold {load} N\n"),
        };
    }
    text
}

fn words(end: End) -> &'static str {
    match end {
        End::BrokeTying => "the thread breaks while the knot is drawn tight",
        End::Broke(Place::Knot) => "the thread breaks at the knot",
        End::Broke(Place::Limb) => "the thread breaks away from the knot",
        End::Slipped => "the knot slips",
        End::Opened => "the knot slips and comes open",
    }
}

/// What was asked for.
fn asked_json(arguments: &PullArguments) -> Value {
    let tied = &arguments.tied;
    object!({
        "knot": notation(&tied.knot.0),
        "material": tied.material,
        "size": tied.size,
        "wet": !tied.dry,
        "pretension_n": tied.pretension_n,
        "tail_mm": tied.tail_mm,
        "load_n": arguments.load_n,
    })
}

/// What came of it. Slip is that at the load, or without one at the greatest force that was held.
fn outcome_json(sample: &Sample, load_n: Option<f64>) -> Value {
    let pull = &sample.pull;
    let load = load_n.map_or(pull.holding_force, |load| load * MN_PER_N);
    let (outcome, place) = outcome(pull.end);
    object!({
        "outcome": outcome,
        "place": place,
        "opened": pull.end == End::Opened,
        "holding_force_n": pull.holding_force / MN_PER_N,
        "holds": load_n.map(|_| pull.holds(load)),
        "slip_mm": pull.slip_at(load),
        "friction": sample.thread.section.friction_thread,
        "diameter_mm": sample.thread.diameter(),
    })
}

fn outcome(end: End) -> (&'static str, Option<&'static str>) {
    match end {
        End::BrokeTying => ("break", Some("tying")),
        End::Broke(Place::Knot) => ("break", Some("knot")),
        End::Broke(Place::Limb) => ("break", Some("limb")),
        End::Slipped | End::Opened => ("slip", None),
    }
}

fn curve_json(pull: &Pull) -> Value {
    let point = |point: &pull::Point| {
        object!({
            "extension_mm": point.extension,
            "force_n": point.force / MN_PER_N,
            "slip_mm": point.slip,
            "given_mm": point.given,
        })
    };
    pull.curve.iter().map(point).collect()
}

fn curve_csv(pull: &Pull) -> String {
    let line = |point: &pull::Point| {
        format!("{},{},{},{}\n", point.extension, point.force / MN_PER_N, point.slip, point.given)
    };
    "extension_mm,force_n,slip_mm,given_mm\n".to_owned() + &pull.curve.iter().map(line).collect::<String>()
}

fn samples_csv(samples: &[Sample], load_n: Option<f64>) -> String {
    let line = |sample: &Sample| {
        let (outcome, place) = outcome(sample.pull.end);
        let slip = load_n.and_then(|load| sample.pull.slip_at(load * MN_PER_N));
        format!(
            "{},{},{outcome},{},{},{}\n",
            sample.thread.section.friction_thread,
            sample.thread.diameter(),
            place.unwrap_or_default(),
            sample.pull.holding_force / MN_PER_N,
            slip.map_or_else(String::new, |slip| slip.to_string()),
        )
    };
    let head = "friction,diameter_mm,outcome,place,holding_force_n,slip_mm\n";
    head.to_owned() + &samples.iter().map(line).collect::<String>()
}

/// Adds the fields of one object to another.
fn merge(into: &mut Value, from: Value) {
    if let (Value::Object(into), Value::Object(from)) = (into, from) {
        into.extend(from);
    }
}

fn write(path: Option<&Path>, text: &str) -> Result<(), Failure> {
    path.map_or(Ok(()), |path| fs::write(path, text).map_err(|error| unwritable(path, &error)))
}

fn unwritable(path: &Path, error: &std::io::Error) -> Failure {
    Failure::new(Status::Usage, format!("{}: {error}", path.display()))
}
