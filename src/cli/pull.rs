//! `pull`: ties a knot on the bench, pulls its loop open and says what came of it, once or for many threads.

use super::again::unreadable;
use super::arguments::{BenchArguments, Knot, PRETENSION_N, PullArguments, Subject, TAIL_MM, TiedArguments};
use super::output::{json, say};
use super::pull_attempt::pull_attempt;
use super::pull_table::pull_table;
use super::pulled::{
    Held, Pulled, SAMPLE_COLUMNS, all_pulled, asked_json, curve_csv, heading, lines, may_write, merge, plot,
    sample_rows, samples_json, write,
};
use super::{Failure, Status};
use crate::material::{self, Material};
use crate::pull::{SLIP_MAX, Sample, Test, edge_length, notation, pull_refined, sample, thread};
use crate::quantity::MN_PER_N;
use crate::record::is_recording;
use std::fs;
use std::path::Path;

pub(super) fn pull(arguments: &PullArguments) -> Result<Status, Failure> {
    let knot = match &arguments.subject {
        Subject::Knot(knot) => knot,
        Subject::File(path) => return pull_file(arguments, path),
    };
    if arguments.stitch.is_some() {
        return Err(usage(&["--stitch is for a file: a NOTATION is one stitch".to_owned()]));
    }
    let tied = on_bench(knot, &arguments.bench).map_err(|problems| usage(&problems))?;
    let (test, material) = asked(&tied)?;
    let test = Test { slip_limit: arguments.bench.slip_limit_mm, ..test };
    may_write(&[&arguments.csv, &arguments.plot])?;
    match arguments.samples {
        None => once(arguments, &tied, &test, material),
        Some(count) => samples(arguments, &tied, &test, count),
    }
}

/// A recording by its first bytes, else a table.
fn pull_file(arguments: &PullArguments, path: &Path) -> Result<Status, Failure> {
    let bytes = fs::read(path).map_err(|error| unreadable(&path.display().to_string(), &error))?;
    if is_recording(&bytes) { pull_attempt(arguments, path) } else { pull_table(arguments, path, bytes) }
}

/// A knot on the bench in the thread that the arguments name, or what they lack.
fn on_bench(knot: &Knot, bench: &BenchArguments) -> Result<TiedArguments, Vec<String>> {
    let lacks = |flag: &str, value: &Option<String>| value.is_none().then(|| format!("a NOTATION needs {flag}"));
    match (&bench.material, &bench.size) {
        (Some(material), Some(size)) => Ok(tied(knot.clone(), material, size, bench)),
        (material, size) => Err(lacks("--material", material).into_iter().chain(lacks("--size", size)).collect()),
    }
}

/// A knot in a thread, tied as the bench's arguments say.
pub(super) fn tied(knot: Knot, material: &str, size: &str, bench: &BenchArguments) -> TiedArguments {
    TiedArguments {
        knot,
        material: material.to_owned(),
        size: size.to_owned(),
        dry: bench.dry,
        pretension_n: bench.pretension_n.unwrap_or(PRETENSION_N),
        tail_mm: bench.tail_mm.unwrap_or(TAIL_MM),
    }
}

pub(super) fn usage(problems: &[String]) -> Failure {
    Failure::new(Status::Usage, problems.join("\n"))
}

/// The knot and the thread that the arguments ask for, or what they may ask for.
pub(super) fn asked(arguments: &TiedArguments) -> Result<(Test, Material), Failure> {
    test_of(arguments).map_err(|problem| Failure::new(Status::Usage, format!("--{problem}")))
}

/// The same; what is not known is named without the flag's dashes.
pub(super) fn test_of(arguments: &TiedArguments) -> Result<(Test, Material), String> {
    let TiedArguments { knot, material: name, size, dry, pretension_n, tail_mm } = arguments;
    let material = thread_of(name, size, *dry)?;
    let pretension = pretension_n * MN_PER_N;
    let section = material.section;
    Ok((Test { throws: knot.0.clone(), section, pretension, tail: *tail_mm, slip_limit: SLIP_MAX }, material))
}

/// The thread of this name and size, or what there is.
pub(super) fn thread_of(name: &str, size: &str, dry: bool) -> Result<Material, String> {
    material::find(name, size, !dry).ok_or_else(|| {
        let sizes = material::sizes(name);
        if sizes.is_empty() {
            format!("material is {name:?}, allowed {}", material::names().join(", "))
        } else {
            format!("size is {size:?}, allowed {} for {name}", sizes.join(", "))
        }
    })
}

fn once(arguments: &PullArguments, tied: &TiedArguments, test: &Test, material: Material) -> Result<Status, Failure> {
    let unsound = |fault| Failure::new(Status::Internal, fault);
    let sample = sample(test, material).map_err(unsound)?;
    let fine = arguments.refine.then(|| pull_refined(test)).transpose().map_err(unsound)?;
    let pulled = Pulled { sample, fine, edge_mm: edge_length(test.section) };
    let Pulled { sample: Sample { pull, .. }, fine, .. } = &pulled;
    write(arguments.csv.as_deref(), &curve_csv(pull))?;
    let (title, name) = (heading(tied), notation(&tied.knot.0));
    plot(arguments.plot.as_deref(), title.trim_end(), &lines(&name, pull, fine.as_ref()), arguments.load_n)?;
    let text = if arguments.json {
        let mut found = asked_json(tied, arguments.load_n);
        pulled.add_to(&mut found, arguments.load_n, &arguments.loads_n());
        json(&found)?
    } else {
        heading(tied) + &pulled.text(&arguments.loads_n())
    };
    say(&text)?;
    Ok(Status::Done)
}

fn samples(arguments: &PullArguments, tied: &TiedArguments, test: &Test, count: u32) -> Result<Status, Failure> {
    let draw = |index| {
        let TiedArguments { material: name, size, dry, .. } = tied;
        thread(name, size, !dry, arguments.seed, index)
            .ok_or_else(|| Failure::new(Status::Internal, "a thread got lost"))
    };
    let found = all_pulled(count, arguments.jobs.get(), |index| {
        sample(test, draw(index)?).map_err(|fault| Failure::new(Status::Internal, format!("sample {index}: {fault}")))
    })?;
    let rows = SAMPLE_COLUMNS.to_owned() + &sample_rows(&found, arguments.load_n, "");
    write(arguments.csv.as_deref(), &rows)?;
    let load_n = arguments.load_n.unwrap_or_default();
    let held = Held::of(&found, load_n).ok_or_else(|| Failure::new(Status::Internal, "no samples"))?;
    let text = if arguments.json {
        let mut all = asked_json(tied, arguments.load_n);
        merge(&mut all, samples_json(&found, &held, arguments.load_n, arguments.seed));
        json(&all)?
    } else {
        let ([holding, all], [share, interval]) = (held.counts, held.words());
        format!("{}of {all} threads {holding} hold {load_n} N: {share}, {interval}\n", heading(tied))
    };
    say(&text)?;
    Ok(Status::Done)
}
