//! `pull ATTEMPT`: the knot at the end of a recording, pulled as it was tied.

use super::again::{Done, verified};
use super::arguments::PullArguments;
use super::output::{json, say};
use super::pull::usage;
use super::pulled::{Pulled, curve_csv, lines, may_write, plot, write};
use super::{Failure, Status};
use crate::analysis::reading::{StitchCurve, read};
use crate::material;
use crate::pull::{Sample, TiedStitch, of_stitch, of_stitch_refined};
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
    let stitch = chosen(arguments, &done)?;
    let found = pulled(&done, stitch, arguments)?;
    if let Some(Pulled { sample: Sample { pull, .. }, fine, .. }) = &found {
        let title = heading(path, &done.case.scenario.thread);
        write(arguments.csv.as_deref(), &curve_csv(pull))?;
        plot(arguments.plot.as_deref(), &title, &lines("as it was tied", pull, fine.as_ref()), arguments.load_n)?;
    }
    let read = done.outcome.view.stitches.get(stitch).map(|curve| reading(stitch, curve));
    let text = if arguments.json {
        json(&as_json(arguments, &done, read.as_ref(), found.as_ref()))?
    } else {
        let reading = stitches_text(&read.into_iter().collect::<Vec<_>>());
        let text = |found: Pulled| found.text_with_tails(&arguments.loads_n());
        let result = found.map_or("there is no knot to pull\n".to_owned(), text);
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

/// Place of the stitch that is asked for; of the first one if there is none at all.
fn chosen(arguments: &PullArguments, done: &Done) -> Result<usize, Failure> {
    let number = arguments.stitch.unwrap_or(1) as usize;
    let count = done.tied.len();
    if arguments.stitch.is_some() && number > count {
        return Err(usage(&[format!("--stitch is {number}, but the attempt has {count}")]));
    }
    Ok(number - 1)
}

/// The knot's pull; `None` if there is no knot.
fn pulled(done: &Done, stitch: usize, arguments: &PullArguments) -> Result<Option<Pulled>, Failure> {
    let Some(tied) = done.tied.get(stitch) else { return Ok(None) };
    let tied = &TiedStitch { slip_limit: arguments.bench.slip_limit_mm, ..tied.clone() };
    let scenario::Thread { material, size, wet, .. } = &done.case.scenario.thread;
    let unsound = |fault| Failure::new(Status::Internal, fault);
    let (thread, pull) = (material::find(material, size, *wet), of_stitch(tied).map_err(unsound)?);
    let Some((pull, thread)) = pull.zip(thread) else { return Ok(None) };
    let fine = if arguments.refine { of_stitch_refined(tied).map_err(unsound)? } else { None };
    Ok(Some(Pulled { sample: Sample { thread, pull }, fine, edge_mm: tied.edge_length() }))
}

fn reading(stitch: usize, curve: &StitchCurve) -> ReadStitch {
    ReadStitch { name: (stitch + 1).to_string(), reading: read(curve), curve: curve.clone() }
}

fn heading(path: &Path, thread: &scenario::Thread) -> String {
    let scenario::Thread { material, size, wet, .. } = thread;
    format!("{}: {material} {size}, {}, as it was tied", path.display(), if *wet { "wet" } else { "dry" })
}

/// As of a pull of a notation, with the reading beside it.
fn as_json(arguments: &PullArguments, done: &Done, stitch: Option<&ReadStitch>, found: Option<&Pulled>) -> Value {
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
    if let Some(found) = found {
        found.add_to(&mut all, arguments.load_n, &arguments.loads_n());
    }
    all
}
