//! `pull TABLE`: the knot of a table of points, pulled as `tie` left it if its state is kept there, else by its shape.

use super::arguments::PullArguments;
use super::output::{json, say};
use super::pull::{thread_of, usage};
use super::pulled::{Pulled, curve_csv, lines, may_write, plot, thread_words, write};
use super::{Failure, Status, tabled};
use crate::material::Material;
use crate::pull::{Sample, TiedStitch, of_stitch, of_stitch_refined};
use crate::report::{ReadStitch, stitches_json, stitches_text};
use serde_json::{Value, json as object};
use std::path::Path;

/// A knot of a table, and what came of it.
struct Found {
    stitch: ReadStitch,
    /// Whether the table keeps the thread's state.
    kept: bool,
    /// The pull; `None` if there is no knot.
    pulled: Option<Pulled>,
}

pub(super) fn pull_table(arguments: &PullArguments, path: &Path, bytes: Vec<u8>) -> Result<Status, Failure> {
    let material = thread(arguments)?;
    may_write(&[&arguments.csv, &arguments.plot])?;
    let found = found(arguments, &path.display().to_string(), bytes, &material)?;
    let title = heading(path, &material, found.kept);
    if let Some(Pulled { sample, fine, .. }) = &found.pulled {
        let lines = lines(if found.kept { "as it was tied" } else { "by its shape" }, &sample.pull, fine.as_ref());
        write(arguments.csv.as_deref(), &curve_csv(&sample.pull))?;
        plot(arguments.plot.as_deref(), &title, &lines, arguments.load_n)?;
    }
    let text = if arguments.json {
        json(&as_json(arguments, &material, &found))?
    } else {
        let text = |pulled: &Pulled| pulled.text_with_tails(&arguments.loads_n());
        let result = found.pulled.as_ref().map_or("there is no knot to pull\n".to_owned(), text);
        let unknown = "how hard it was drawn tight, its set and its twist are not known: it may hold more, or less\n";
        let warning = if found.kept { "" } else { unknown };
        format!("{title}\n{result}{warning}{}", stitches_text(std::slice::from_ref(&found.stitch)))
    };
    say(&text)?;
    Ok(Status::Done)
}

/// The thread that the arguments name, or all that is wrong with them.
fn thread(arguments: &PullArguments) -> Result<Material, Failure> {
    let bench = &arguments.bench;
    let no_use = [
        ("--pretension-n", bench.pretension_n.is_some()),
        ("--tail-mm", bench.tail_mm.is_some()),
        ("--samples", arguments.samples.is_some()),
    ];
    let wrong = no_use.iter().filter(|(_, given)| *given);
    let mut wrong: Vec<String> =
        wrong.map(|(flag, _)| format!("{flag} is for a NOTATION: a table is pulled as it was tied")).collect();
    let lacks = [("--material", &bench.material), ("--size", &bench.size)];
    wrong.extend(lacks.iter().filter(|(_, value)| value.is_none()).map(|(flag, _)| format!("a table needs {flag}")));
    match (&bench.material, &bench.size) {
        (Some(material), Some(size)) if wrong.is_empty() => {
            thread_of(material, size, bench.dry).map_err(|problem| usage(&[format!("--{problem}")]))
        }
        _ => Err(usage(&wrong)),
    }
}

fn found(arguments: &PullArguments, name: &str, bytes: Vec<u8>, material: &Material) -> Result<Found, Failure> {
    let (stitch, knot) = tabled::open(name, bytes, arguments.stitch.unwrap_or(1) as usize)?;
    let tied = tabled::at_rest(name, &knot, material.section)?;
    let tied = TiedStitch { slip_limit: arguments.bench.slip_limit_mm, ..tied };
    let unsound = |fault| Failure::new(Status::Internal, fault);
    let pull = of_stitch(&tied).map_err(unsound)?;
    let fine = if arguments.refine { of_stitch_refined(&tied).map_err(unsound)? } else { None };
    let of = |pull| Pulled { sample: Sample { thread: material.clone(), pull }, fine, edge_mm: tied.edge_length() };
    let pulled = pull.map(of);
    Ok(Found { stitch, kept: knot.kept.is_some(), pulled })
}

fn heading(path: &Path, material: &Material, kept: bool) -> String {
    let how = if kept { "as it was tied" } else { "by its shape alone" };
    format!("{}: {}, {how}", path.display(), thread_words(material.name, material.size, !material.wet))
}

/// As of a pull of a notation, with the reading beside it.
fn as_json(arguments: &PullArguments, material: &Material, found: &Found) -> Value {
    let stitch = std::slice::from_ref(&found.stitch);
    let mut all = object!({
        "knot": found.stitch.reading.notation,
        "material": material.name,
        "size": material.size,
        "wet": material.wet,
        "state": if found.kept { "kept" } else { "shape alone" },
        "load_n": arguments.load_n,
        "outcome": "none",
        "holding_force_n": null,
        "slip_mm": null,
        "reading": stitches_json(stitch)["stitches"][0].clone(),
    });
    if let Some(pulled) = &found.pulled {
        pulled.add_to(&mut all, arguments.load_n, &arguments.loads_n());
    }
    all
}
