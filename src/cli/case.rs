//! A scenario with all that follows from its text: what is asked for and how it is marked.

use super::files::{self, Found};
use super::{Failure, Status};
use crate::input::script::{self, Script};
use crate::record::{FORMAT, Header, scenario_hash};
use crate::scenario::{self, Scenario};
use crate::score::{Rubric, TaskOrder};
use crate::simulation::attempt::Attempt;
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
        let invalid = |message| Failure::new(Status::ScenarioInvalid, message);
        let scenario = scenario::parse(name, text).map_err(|problems| invalid(problems.to_string()))?;
        let rubric = Rubric::try_from(&scenario.rubric).map_err(|problems| {
            let lines: Vec<String> = problems.iter().map(|problem| format!("{name}: {problem}")).collect();
            invalid(lines.join("\n"))
        })?;
        Ok(Case { text: text.to_owned(), order: TaskOrder::from(&scenario.task), scenario, rubric })
    }

    /// Reads the scenario at a place, as [`files::need`] finds it.
    ///
    /// # Errors
    /// If it is nowhere, or everything that is wrong with it.
    pub(super) fn at(path: &Path) -> Result<Case, Failure> {
        let found = files::need(path)?;
        Case::read(&found.name, &found.text)
    }

    /// Everything as it is before the first move.
    ///
    /// # Errors
    /// If the scenario asks for what the simulation does not have.
    pub fn begin(&self) -> Result<Attempt, Failure> {
        let invalid = |error| Failure::new(Status::ScenarioInvalid, format!("{}: {error}", self.scenario.title));
        Attempt::begin(&self.scenario).map_err(invalid)
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
    let Found { place, name, text } = files::need(path)?;
    Ok((Case::read(&name, &text)?, place))
}

/// Where the demonstration of the scenario at `place` is.
pub(super) fn demonstration(scenario: &Scenario, place: &Path) -> PathBuf {
    place.with_file_name(&scenario.demonstration)
}

/// Finds and reads a hand script.
pub(super) fn hands(path: &Path) -> Result<Script, Failure> {
    let Found { name, text, .. } = files::need(path)?;
    script::parse(&name, &text).map_err(|faults| {
        let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
        Failure::new(Status::ScenarioInvalid, lines.join("\n"))
    })
}
