//! `pull ATTEMPT`: the knot at the end of a recording, pulled as it was tied.

use super::again::{Done, verified};
use super::arguments::PullArguments;
use super::output::{json, say};
use super::pull::usage;
use super::pulled::{curve_csv, curve_json, may_write, merge, outcome_json, plot, result, write};
use super::{Failure, Status};
use crate::analysis::reading::read;
use crate::material;
use crate::pull::{Line, Pull, Sample, of_stitch};
use crate::report::{ReadStitch, stitches_json, stitches_text};
use crate::scenario;
use serde_json::{Value, json as object};
use std::path::Path;

pub(super) fn pull_attempt(arguments: &PullArguments, path: &Path) -> Result<Status, Failure> {
    let wrong = no_use(arguments);
    if !wrong.is_empty() {
        return Err(usage(&wrong));
    }
    may_write(&[&arguments.csv, &arguments.plot])?;
    let done = verified(path)?;
    let found = pulled(&done)?;
    if let Some(Sample { pull, .. }) = &found {
        let title = heading(path, &done.case.scenario.thread);
        write(arguments.csv.as_deref(), &curve_csv(pull))?;
        plot(arguments.plot.as_deref(), &title, &[Line { name: "as it was tied", pull }], arguments.load_n)?;
    }
    let read = stitch(done.stitch.clone());
    let text = if arguments.json {
        json(&as_json(arguments, &done, read.as_ref(), found.as_ref()))?
    } else {
        let reading = stitches_text(&read.into_iter().collect::<Vec<_>>());
        let result = found.map_or("there is no knot to pull\n".to_owned(), |found| {
            tails(&found.pull) + &result(&found.pull, arguments.load_n)
        });
        format!("{}\n{result}{reading}", heading(path, &done.case.scenario.thread))
    };
    say(&text)?;
    Ok(Status::Done)
}

/// What was asked for that a recording decides.
fn no_use(arguments: &PullArguments) -> Vec<String> {
    let bench = &arguments.bench;
    let given = [
        ("--material", bench.material.is_some()),
        ("--size", bench.size.is_some()),
        ("--dry", bench.dry),
        ("--pretension-n", bench.pretension_n.is_some()),
        ("--tail-mm", bench.tail_mm.is_some()),
        ("--samples", arguments.samples.is_some()),
    ];
    let wrong = given.iter().filter(|(_, given)| *given);
    wrong.map(|(flag, _)| format!("{flag} is for a NOTATION: an ATTEMPT is pulled as it was tied")).collect()
}

/// The knot's pull; `None` if there is no knot.
fn pulled(done: &Done) -> Result<Option<Sample>, Failure> {
    let Some(tied) = &done.tied else { return Ok(None) };
    let scenario::Thread { material, size, wet, .. } = &done.case.scenario.thread;
    let thread = material::find(material, size, *wet);
    let pull = of_stitch(tied).map_err(|fault| Failure::new(Status::Internal, fault))?;
    Ok(pull.zip(thread).map(|(pull, thread)| Sample { thread, pull }))
}

fn stitch(curve: Option<crate::analysis::reading::StitchCurve>) -> Option<ReadStitch> {
    curve.map(|curve| ReadStitch { name: "1".to_owned(), reading: read(&curve), curve })
}

fn heading(path: &Path, thread: &scenario::Thread) -> String {
    let scenario::Thread { material, size, wet, .. } = thread;
    format!("{}: {material} {size}, {}, as it was tied", path.display(), if *wet { "wet" } else { "dry" })
}

fn tails(pull: &Pull) -> String {
    let [strand, tail] = pull.tails;
    format!("tails of {strand:.1} mm (strand) and {tail:.1} mm\n")
}

/// As of a pull of a notation, with the reading beside it.
fn as_json(arguments: &PullArguments, done: &Done, stitch: Option<&ReadStitch>, found: Option<&Sample>) -> Value {
    let scenario::Thread { material, size, wet, .. } = &done.case.scenario.thread;
    let mut all = object!({
        "knot": stitch.map(|stitch| &stitch.reading.notation),
        "material": material,
        "size": size,
        "wet": wet,
        "load_n": arguments.load_n,
        "outcome": "none",
        "holding_force_n": null,
        "slip_mm": null,
        "reading": stitch.map(|stitch| stitches_json(std::slice::from_ref(stitch))["stitches"][0].clone()),
    });
    if let Some(sample) = found {
        merge(&mut all, outcome_json(sample, arguments.load_n));
        all["tails_mm"] = object!(sample.pull.tails);
        all["curve"] = curve_json(&sample.pull);
    }
    all
}
