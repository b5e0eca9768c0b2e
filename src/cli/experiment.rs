//! `experiment`: carries out an experiment that a file describes, writes what came of it and judges it.

use super::arguments::{ExperimentArguments, ExperimentCommand};
use super::output::{complain, say};
use super::progress::ShareProgress;
use super::{Failure, Status, files};
use crate::experiment::schema::Lie;
use crate::experiment::{Experiment, Outcome, PointFiles, parse, parse_points, run, schema, svg};
use std::fs;
use std::path::Path;

pub(super) fn experiment(arguments: &ExperimentArguments) -> Result<Status, Failure> {
    let Some(file) = &arguments.file else {
        return match arguments.command {
            Some(ExperimentCommand::Schema) | None => say(&schema()).map(|()| Status::Done),
        };
    };
    let found = files::need(file)?;
    let invalid = |message: String| Failure::new(Status::ScenarioInvalid, message);
    let experiment = parse(&found.name, &found.text).map_err(|problems| invalid(problems.to_string()))?;
    let points = read_points(&experiment, &found.place)?;
    // What cannot be written is better known before the hours than after them; what is there stays until then.
    for output in [&arguments.csv, &arguments.plot].into_iter().flatten() {
        fs::File::options().append(true).create(true).open(output).map_err(|error| unwritable(output, &error))?;
    }
    let bar = ShareProgress::new();
    let outcome = run(&experiment, &points, |share| bar.show(share));
    drop(bar);
    let outcome = outcome.map_err(|message| invalid(format!("{}: {message}", found.name)))?;
    put_out(arguments, &outcome)?;
    Ok(if outcome.met() { Status::Done } else { Status::ExpectationNotMet })
}

fn put_out(arguments: &ExperimentArguments, outcome: &Outcome) -> Result<(), Failure> {
    if let Some(csv) = &arguments.csv {
        write(csv, &outcome.csv())?;
    }
    if let Some(plot) = &arguments.plot {
        let figure = svg(outcome).map_err(|error| Failure::new(Status::Internal, format!("--plot: {error}")))?;
        write(plot, &figure)?;
    }
    if arguments.json {
        say(&outcome.json())
    } else if arguments.quiet {
        let text = outcome.text();
        text.lines().filter(|line| line.contains("NOT MET")).for_each(complain);
        Ok(())
    } else {
        say(&outcome.text())
    }
}

/// The points of all files that an experiment names, which lie beside it.
fn read_points(experiment: &Experiment, place: &Path) -> Result<PointFiles, Failure> {
    let (mut points, mut wrong) = (PointFiles::new(), Vec::new());
    for thread in &experiment.threads {
        if let Lie::Points { file } = &thread.shape {
            let found = files::need(&place.with_file_name(file))?;
            match parse_points(&found.name, &found.text) {
                Ok(read) => drop(points.insert(file.clone(), read)),
                Err(message) => wrong.push(message),
            }
        }
    }
    if wrong.is_empty() { Ok(points) } else { Err(Failure::new(Status::ScenarioInvalid, wrong.join("\n"))) }
}

fn write(path: &Path, text: &str) -> Result<(), Failure> {
    fs::write(path, text).map_err(|error| unwritable(path, &error))
}

fn unwritable(path: &Path, error: &std::io::Error) -> Failure {
    Failure::new(Status::Usage, format!("{}: {error}", path.display()))
}
