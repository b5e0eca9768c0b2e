//! What may stand on the command line.

mod attempts;
mod class;
mod knots;

use super::status::EXIT_CODES;
pub(super) use attempts::*;
use clap::{Args, Parser, Subcommand};
pub(super) use class::*;
pub(super) use knots::*;
use std::path::PathBuf;

/// A suture and knot training simulator and scorer.
///
/// Without a command it opens the window on the first scenario and plays its demonstration.
#[derive(Debug, Parser)]
#[command(version, after_help = EXIT_CODES, args_conflicts_with_subcommands = true)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub command: Option<Command>,
    #[command(flatten)]
    pub window: WindowArguments,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Ties by a hand script without a window, marks it and prints the report
    Demo(DemoArguments),
    /// Carries a recording's commands out again, compares the states and prints verdict and report
    Replay(ReplayArguments),
    /// Carries out all recordings again, marks each and prints a line for each
    Grade(GradeArguments),
    /// Marks attempts by another rubric, from findings that `grade` kept, without carrying them out
    Regrade(RegradeArguments),
    /// Fills one column of a school's own gradebook, from findings that `grade` kept
    Gradebook(GradebookArguments),
    /// Writes marks as a OneRoster 1.2 results file
    Results(ResultsArguments),
    /// Writes marks as xAPI statements
    Statements(StatementsArguments),
    /// Shows, exports and forgets the attempts of students
    History(HistoryArguments),
    /// Looks after scenario files
    Scenario {
        #[command(subcommand)]
        command: ScenarioCommand,
    },
    /// Lists the materials of threads, or says of one what every number is and where it is from
    Material(MaterialArguments),
    /// Carries out an experiment on threads that a file describes, and judges what it expects
    Experiment(ExperimentArguments),
    /// Reads the throws of stitches from their centrelines, or from a recording's last moment
    Read(ReadArguments),
    /// Ties a knot on the bench by moving the ends of its strands and gives its centreline as a table for `read`
    Tie(TieArguments),
    /// Ties a knot, pulls its loop open and says whether it holds
    Pull(PullArguments),
    /// Pulls several knots, in the same thread or in others, and puts them side by side
    Compare(CompareArguments),
    /// Opens the window on a scenario, on a recording to go through again, or on a knot of a table
    Window(WindowFileArguments),
    /// Prints which key gives which act in the window, as a file to be changed by hand
    Keys(KeysArguments),
    /// Says what this program is, and what it finds on this machine
    Doctor(DoctorArguments),
}

#[derive(Debug, Clone, Args)]
pub(super) struct DoctorArguments {
    /// Also draw so many frames of the first demonstration, without a window, and say what one costs here
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub frames: Option<u32>,
    /// Width and height of those frames [pixel]
    #[arg(long, value_name = "WIDTHxHEIGHT", default_value = "1920x1080", requires = "frames", value_parser = size)]
    pub size: (u32, u32),
}

/// A size such as `1920x1080`, of 16 to 8192 pixels each way.
fn size(text: &str) -> Result<(u32, u32), String> {
    let allowed = || format!("{text} is no size: allowed are 16x16 to 8192x8192, such as 1920x1080");
    let (width, height) = text.split_once('x').ok_or_else(allowed)?;
    let side = |side: &str| side.parse().ok().filter(|side| (16..=8192).contains(side)).ok_or_else(allowed);
    Ok((side(width)?, side(height)?))
}

#[derive(Debug, Clone, Args)]
pub(super) struct MaterialArguments {
    /// The material's generic name, such as chromic gut; without one all are listed
    #[arg(value_name = "NAME")]
    pub name: Vec<String>,
    /// One pharmacopoeia size only, such as 4-0
    #[arg(long, value_name = "SIZE", requires = "name")]
    pub size: Option<String>,
    /// As it is dry, not soaked
    #[arg(long, requires = "name")]
    pub dry: bool,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Clone, Args)]
pub(super) struct KeysArguments {
    /// A file of keys: names everything that is wrong with it, or prints what it comes to
    pub file: Option<PathBuf>,
    /// The keys for hands of which the left one holds the needle holder
    #[arg(long, conflicts_with = "file")]
    pub left_handed: bool,
}

#[derive(Debug, Clone, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub(super) struct ExperimentArguments {
    #[command(subcommand)]
    pub command: Option<ExperimentCommand>,
    /// The experiment
    #[arg(required = true)]
    pub file: Option<PathBuf>,
    /// Write the rows as comma-separated values
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
    /// Draw the rows
    #[arg(long, value_name = "FILE.svg")]
    pub plot: Option<PathBuf>,
    /// Print nothing but what is not met
    #[arg(long, conflicts_with = "json")]
    pub quiet: bool,
}

#[derive(Debug, Clone, Subcommand)]
pub(super) enum ExperimentCommand {
    /// Prints what an experiment file may say
    Schema,
}

#[derive(Debug, Subcommand)]
pub(super) enum ScenarioCommand {
    /// Writes a scenario with a comment on every field, to be changed by hand; never writes over a file
    New {
        /// The scenario to write
        file: PathBuf,
        /// What it is made from: a scenario, or the name of a shipped one
        #[arg(long, value_name = "NAME")]
        from: Option<PathBuf>,
    },
    /// Says in sentences what a scenario asks for, how it marks and why
    Explain {
        /// The scenario, or the name of a shipped one
        file: PathBuf,
    },
    /// Lists the scenarios of a folder, or the shipped ones
    List {
        /// The folder
        folder: Option<PathBuf>,
    },
    /// Prints what a scenario file may say
    Schema,
    /// Names everything that is wrong in scenarios and in their demonstrations
    Check {
        /// The scenarios
        #[arg(required = true)]
        files: Vec<PathBuf>,
    },
}

fn number(text: &str, max: f64) -> Result<f64, String> {
    within(text, 0.0, max)
}

fn within(text: &str, min: f64, max: f64) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if (min..=max).contains(&value) => Ok(value),
        _ => Err(format!("allowed {min} to {max}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_arguments_contradict_nothing() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn every_command_that_the_readme_shows_is_understood_and_every_command_is_shown() {
        let shown: Vec<&str> =
            include_str!("../../../README.md").lines().filter(|line| line.starts_with("knotwright")).collect();
        // A program without the feature has no such option.
        let has = |line: &&&str| cfg!(feature = "tracked-hands") || !line.contains("--tracked-hands");
        for line in shown.iter().filter(has) {
            let words = line.split(['#', '>']).next().unwrap_or("").split_whitespace();
            assert!(Arguments::try_parse_from(words).is_ok(), "{line}");
        }
        for command in Arguments::command().get_subcommands() {
            let name = format!("knotwright {}", command.get_name());
            assert!(shown.iter().any(|line| line.starts_with(&name)), "README.md does not show `{name}`");
        }
    }
}
