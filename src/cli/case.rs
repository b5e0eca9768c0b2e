//! A scenario with all that follows from its text: what is asked for and how it is marked.

use super::files::{self, Found};
use super::{Failure, Status};
use crate::input::script::{self, Script};
use crate::material::Material;
use crate::record::{FORMAT, Header, scenario_hash};
use crate::scenario::{self, Reading, Scenario, Source};
use crate::score::{Rubric, TaskOrder};
use crate::simulation::attempt::Attempt;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A scenario that is in order.
#[derive(Debug, Clone)]
pub struct Case {
    /// Its text, as a recording keeps it.
    pub text: String,
    /// What it says.
    pub scenario: Scenario,
    /// What it asks for, as marks depend on it.
    pub order: TaskOrder,
    /// How it is marked.
    pub rubric: Rubric,
}

impl Case {
    /// Reads a scenario's text; `name` is how messages call it.
    ///
    /// # Errors
    /// Everything that is wrong with it, a line each.
    pub fn read(name: &str, text: &str) -> Result<Case, Failure> {
        let scenario = scenario::parse(name, text).map_err(|problems| invalid(&problems))?;
        Case::of(name, scenario, text.to_owned())
    }

    /// The case of a scenario that was read, with the text that says all of it.
    fn of(name: &str, scenario: Scenario, text: String) -> Result<Case, Failure> {
        let rubric = Rubric::try_from(&scenario.rubric).map_err(|problems| {
            let lines: Vec<String> = problems.iter().map(|problem| format!("{name}: {problem}")).collect();
            invalid(&lines.join("\n"))
        })?;
        Ok(Case { text, order: TaskOrder::from(&scenario), scenario, rubric })
    }

    /// The case of a text that was found, with the scenarios that it extends.
    ///
    /// # Errors
    /// Everything that is wrong with it, each with the line it is in.
    pub(super) fn found(found: &Found) -> Result<Case, Failure> {
        Case::of_reading(&found.name, read(found))
    }

    /// The case that was read, which messages call `name`.
    ///
    /// # Errors
    /// Everything that is wrong with it, each with the line it is in.
    pub(super) fn of_reading(name: &str, reading: Reading) -> Result<Case, Failure> {
        let problems = reading.explained();
        reading.scenario.map_or_else(|| Err(invalid(&problems)), |scenario| Case::of(name, scenario, reading.text))
    }

    /// Reads the scenario at a place, as [`files::need`] finds it.
    ///
    /// # Errors
    /// If it is nowhere, or everything that is wrong with it.
    pub(super) fn at(path: &Path) -> Result<Case, Failure> {
        Case::found(&files::need(path)?)
    }

    /// Everything as it is before the first move.
    ///
    /// # Errors
    /// If the scenario asks for what the simulation does not have.
    pub fn begin(&self) -> Result<Attempt, Failure> {
        Attempt::begin(&self.scenario).map_err(|error| invalid(&format!("{}: {error}", self.scenario.title)))
    }

    /// The same in another thread.
    ///
    /// # Errors
    /// If the scenario asks for what the simulation does not have.
    pub(super) fn begin_in(&self, thread: &Material) -> Result<Attempt, Failure> {
        Attempt::begin_in(&self.scenario, thread).map_err(|error| invalid(&format!("{}: {error}", self.scenario.title)))
    }

    /// The header of a recording of an attempt at it, made with `device`.
    #[must_use]
    pub fn header(&self, device: &str) -> Header {
        Header {
            format: FORMAT,
            program_version: env!("CARGO_PKG_VERSION").to_owned(),
            simulation_version: super::session::SIMULATION_VERSION,
            scenario_name: self.scenario.title.clone(),
            scenario_hash: scenario_hash(&self.text),
            scenario_text: self.text.clone(),
            seed: self.scenario.seed,
            ticks_per_second: crate::quantity::TICKS_PER_SECOND,
            device: device.to_owned(),
            aids: Vec::new(),
            student_key: String::new(),
        }
    }
}

/// Finds and reads a scenario; the place is what its demonstration is relative to.
pub(super) fn open(path: &Path) -> Result<(Case, PathBuf), Failure> {
    let found = files::need(path)?;
    Ok((Case::found(&found)?, found.place))
}

/// Reads the scenario of a text that was found; those that it extends are looked for beside it and among the shipped ones.
pub(super) fn read(found: &Found) -> Reading {
    read_with_places(found).0
}

/// The same, and the places of all that it is: the texts that it was read from, and its scripts, whether they are there or not.
pub(super) fn read_with_places(found: &Found) -> (Reading, Vec<PathBuf>) {
    let mut places = BTreeMap::from([(found.name.clone(), found.place.clone())]);
    let source = Source { name: found.name.clone(), text: found.text.clone() };
    let reading = scenario::read_extending(&source, &mut |from, asked| {
        let beside = files::find_beside(&places[&from.name], asked).map_err(|failure| failure.message)?;
        let Found { place, name, text } =
            beside.ok_or_else(|| format!("no such file beside {} or among the shipped ones", from.name))?;
        places.insert(name.clone(), place);
        Ok(Source { name, text })
    });
    let scripts = reading.scenario.iter().flat_map(|scenario| {
        std::iter::once(&scenario.demonstration).chain(scenario.fault.iter().map(|fault| &fault.hands))
    });
    let scripts = scripts.filter_map(|name| script(name, &found.place).ok());
    let places = places.into_values().chain(scripts).collect();
    (reading, places)
}

/// Where a hand script that the scenario at `place` names is: beside it, or else among the shipped ones.
///
/// # Errors
/// If it is there and cannot be read.
pub(super) fn script(name: &str, place: &Path) -> Result<PathBuf, Failure> {
    let found = files::find_beside(place, name)?;
    Ok(found.map_or_else(|| place.with_file_name(name), |found| found.place))
}

fn invalid(why: &dyn std::fmt::Display) -> Failure {
    Failure::new(Status::ScenarioInvalid, why)
}

/// Finds and reads a hand script.
pub(super) fn hands(path: &Path) -> Result<Script, Failure> {
    let Found { name, text, .. } = files::need(path)?;
    script::parse(&name, &text).map_err(|faults| {
        let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
        Failure::new(Status::ScenarioInvalid, lines.join("\n"))
    })
}
