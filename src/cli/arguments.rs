//! What may stand on the command line.

use super::files::FIRST_SCENARIO;
use super::status::EXIT_CODES;
use crate::pull::{self, LINES_MAX, NotationProblem, Throw};
use clap::{Args, Parser, Subcommand};
use std::num::NonZero;
use std::path::{Path, PathBuf};

/// Greatest amplitude of a tremor [mm]: beyond it no one would hold a needle.
const TREMOR_MAX_MM: f64 = 5.0;

/// Greatest spread of pace, as a share: at 1 a hand could stand still.
const TIMING_MAX: f64 = 0.9;

/// Pull on each end while a knot is drawn tight, if nothing else is asked for [N].
pub(super) const PRETENSION_N: f64 = 2.0;

/// Length of the cut tails, if nothing else is asked for [mm].
pub(super) const TAIL_MM: f64 = 3.0;

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
    /// Says what this program is, and what it finds on this machine
    Doctor,
}

/// How the window opens.
#[derive(Debug, Clone, Args)]
pub(super) struct WindowArguments {
    /// Which driver draws: vulkan, dx12, metal or gl
    #[arg(long, value_name = "NAME")]
    pub backend: Option<String>,
    /// Part of the name of the graphics adapter that draws
    #[arg(long, value_name = "NAME")]
    pub adapter: Option<String>,
    /// Folder in which attempts are kept, instead of the user's own for this program
    #[arg(long, value_name = "DIR")]
    pub data_dir: Option<PathBuf>,
    /// Close the window by itself after so many frames
    #[arg(long, value_name = "N")]
    pub frames: Option<u32>,
}

/// What the window opens on.
#[derive(Debug, Clone, Args)]
pub(super) struct WindowFileArguments {
    /// A scenario, a recording, or a table of points as `tie` writes it
    #[arg(default_value = FIRST_SCENARIO)]
    pub file: PathBuf,
    /// Material of the thread of a table, by its generic name, so that its knot can be pulled
    #[arg(long, value_name = "NAME", requires = "size")]
    pub material: Option<String>,
    /// Its pharmacopoeia size, such as 4-0
    #[arg(long, value_name = "SIZE", requires = "material")]
    pub size: Option<String>,
    /// The thread is dry, not soaked
    #[arg(long, requires = "material")]
    pub dry: bool,
    #[command(flatten)]
    pub window: WindowArguments,
}

#[derive(Debug, Clone, Args)]
pub(super) struct DemoArguments {
    /// The scenario
    #[arg(default_value = FIRST_SCENARIO)]
    pub scenario: PathBuf,
    /// The hand script, instead of the scenario's own demonstration
    #[arg(long, value_name = "FILE")]
    pub hands: Option<PathBuf>,
    /// The script of the scenario's fault, instead of its demonstration
    #[arg(long, conflicts_with = "hands")]
    pub fault: bool,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
    /// Keep a recording of the attempt
    #[arg(long, value_name = "FILE", conflicts_with = "runs")]
    pub record: Option<PathBuf>,
    /// Key of the student whose attempt it is, for the recording: a pseudonym, never a name
    #[arg(long, value_name = "KEY", requires = "record", value_parser = student_key)]
    pub student: Option<String>,
    /// Write the report as a page for a browser or a printer
    #[arg(long, value_name = "FILE", conflicts_with = "runs")]
    pub html: Option<PathBuf>,
    #[command(flatten)]
    pub unsteady: UnsteadyArguments,
    /// Repeat with as many seeds, one after the other, and print a line for each and the counts
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub runs: Option<u32>,
    /// Attempts that run at the same time
    #[arg(long, value_name = "N", default_value_t = NonZero::<usize>::MIN, requires = "runs")]
    pub jobs: NonZero<usize>,
}

/// How unsteady the scripted hands are.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct UnsteadyArguments {
    /// Amplitude of the hands' tremor [mm]
    #[arg(long, value_name = "X", default_value_t = 0.0, value_parser = tremor, allow_negative_numbers = true)]
    pub tremor_mm: f64,
    /// Spread of the pace of each act, as a share: 0.1 is plus or minus 10 %
    #[arg(long, value_name = "X", default_value_t = 0.0, value_parser = share, allow_negative_numbers = true)]
    pub timing: f64,
    /// Seed of tremor and pace; with --runs that of the first one
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub seed: u64,
}

#[derive(Debug, Clone, Args)]
pub(super) struct ReplayArguments {
    /// The recording
    pub file: PathBuf,
    /// The scenario it is graded by, instead of the one it holds
    #[arg(long, value_name = "FILE")]
    pub scenario: Option<PathBuf>,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
    /// Write the report as a page for a browser or a printer
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
}

#[derive(Debug, Clone, Args)]
pub(super) struct GradeArguments {
    /// Recordings, or folders in which every file that ends in .attempt is one
    #[arg(required = true, value_name = "PATH")]
    pub paths: Vec<PathBuf>,
    /// The scenario they are graded by, instead of the one each holds
    #[arg(long, value_name = "FILE")]
    pub scenario: Option<PathBuf>,
    /// Print one JSON list
    #[arg(long)]
    pub json: bool,
    /// Recordings that are carried out at the same time
    #[arg(long, value_name = "N", default_value_t = NonZero::<usize>::MIN)]
    pub jobs: NonZero<usize>,
    #[command(flatten)]
    pub class: ClassArguments,
    /// Name the files in pages and table, instead of going by the recordings' hashes
    #[arg(long)]
    pub names: bool,
    /// Keep what was measured of each attempt there, for `regrade`
    #[arg(long, value_name = "DIR")]
    pub findings: Option<PathBuf>,
    /// Keep what was measured in this file as it is measured, and carry out nothing again that is in it
    #[arg(long, value_name = "FILE")]
    pub resume: Option<PathBuf>,
    /// Carry each out in so many more threads, drawn from the material's ranges, and say how far the mark moves
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub sensitivity: Option<u32>,
    /// Seed of the threads that are drawn
    #[arg(long, value_name = "N", default_value_t = 0, requires = "sensitivity")]
    pub seed: u64,
}

/// A class as files.
#[derive(Debug, Clone, Args)]
pub(super) struct ClassArguments {
    /// Write a page for the class, index.html, and one for each attempt
    #[arg(long, value_name = "DIR")]
    pub html: Option<PathBuf>,
    /// Write a row for each attempt as comma-separated values
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
}

#[derive(Debug, Clone, Args)]
pub(super) struct RegradeArguments {
    /// Files of `grade --findings` or `--resume`, or folders in which every file that ends in .findings is one
    #[arg(required = true, value_name = "PATH")]
    pub paths: Vec<PathBuf>,
    /// The scenario whose rubric marks; what each attempt was asked for stays its own
    #[arg(long, value_name = "SCENARIO")]
    pub rubric: PathBuf,
    /// Print one JSON list
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub class: ClassArguments,
}

/// Which marks are handed over: the best attempt of each student.
#[derive(Debug, Clone, Args)]
pub(super) struct HandedArguments {
    /// Files of `grade --findings` or `--resume`, or folders in which every file that ends in .findings is one
    #[arg(long, required = true, num_args = 1.., value_name = "PATH")]
    pub findings: Vec<PathBuf>,
    /// The scenario whose rubric marks, instead of each attempt's own
    #[arg(long, value_name = "SCENARIO")]
    pub rubric: Option<PathBuf>,
}

#[derive(Debug, Clone, Args)]
pub(super) struct GradebookArguments {
    /// The gradebook as the school's system exported it
    pub file: PathBuf,
    #[command(flatten)]
    pub handed: HandedArguments,
    /// The column to fill
    #[arg(long, value_name = "NAME")]
    pub column: String,
    /// The column that holds the students' keys
    #[arg(long, value_name = "NAME")]
    pub student: String,
    /// Write a comma for the decimal point
    #[arg(long)]
    pub decimal_comma: bool,
    /// Where the filled gradebook goes; never over another file
    #[arg(long, short, value_name = "FILE")]
    pub output: PathBuf,
}

#[derive(Debug, Clone, Args)]
pub(super) struct ResultsArguments {
    #[command(flatten)]
    pub handed: HandedArguments,
    /// Id of the line item in the school's system
    #[arg(long, value_name = "ID")]
    pub line_item: String,
    /// Id of the class in the school's system
    #[arg(long, value_name = "ID", default_value = "")]
    pub class: String,
    /// The day of the marks, YYYY-MM-DD
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub date: String,
    /// Where the file goes, which is called results.csv in a OneRoster package; never over another file
    #[arg(long, short, value_name = "FILE")]
    pub output: PathBuf,
}

#[derive(Debug, Clone, Args)]
pub(super) struct StatementsArguments {
    #[command(flatten)]
    pub handed: HandedArguments,
    /// Address of the system whose keys the students have, such as `https://school.example`
    #[arg(long, value_name = "IRI", value_parser = home)]
    pub home: String,
    /// Write them there, instead of printing them; never over another file
    #[arg(long, short, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

#[derive(Debug, Clone, Args)]
pub(super) struct HistoryArguments {
    #[command(subcommand)]
    pub command: Option<HistoryCommand>,
    /// The folder with recordings, and with what `grade --findings` kept of them
    #[arg(long, global = true, value_name = "DIR", default_value = "attempts")]
    pub folder: PathBuf,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Clone, Subcommand)]
pub(super) enum HistoryCommand {
    /// Copies everything that is kept of a student into a new folder
    Export {
        /// The student's key
        key: String,
        /// The folder
        #[arg(long, short, value_name = "DIR")]
        output: PathBuf,
    },
    /// Deletes everything that is kept of a student, for good
    Forget {
        /// The student's key
        key: String,
    },
}

#[derive(Debug, Clone, Args)]
pub(super) struct ReadArguments {
    /// A table of points (columns x_mm, y_mm, z_mm, and strand and hole if there are any), or a recording
    pub file: PathBuf,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
    /// Draw the crossing diagram; several stitches go to files with their numbers added
    #[arg(long, value_name = "FILE.svg")]
    pub picture: Option<PathBuf>,
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

/// A knot on the bench.
#[derive(Debug, Clone, Args)]
pub(super) struct TiedArguments {
    /// The knot: wraps of each throw, with = where neighbours lie square and x where they are crossed, such as 2=1=1
    #[arg(value_name = "NOTATION", value_parser = knot)]
    pub knot: Knot,
    /// The material's generic name, such as chromic gut
    #[arg(long, value_name = "NAME")]
    pub material: String,
    /// The pharmacopoeia size, such as 4-0
    #[arg(long, value_name = "SIZE")]
    pub size: String,
    /// Dry, not soaked
    #[arg(long)]
    pub dry: bool,
    /// Pull on each end while the knot is drawn tight [N]
    #[arg(long, value_name = "N", default_value_t = PRETENSION_N, value_parser = pretension, allow_negative_numbers = true)]
    pub pretension_n: f64,
    /// Length of the cut tails [mm]
    #[arg(long, value_name = "MM", default_value_t = TAIL_MM, value_parser = tail, allow_negative_numbers = true)]
    pub tail_mm: f64,
}

#[derive(Debug, Clone, Args)]
pub(super) struct TieArguments {
    #[command(flatten)]
    pub tied: TiedArguments,
    /// Keep one strand straight and hitch the other round it, so that the knot slides
    #[arg(long, conflicts_with = "laid")]
    pub sliding: bool,
    /// Put loose turns in place and only draw them tight in the simulation, as `pull NOTATION` does: some seconds instead
    /// of half a minute, but no hand could have tied it so
    #[arg(long)]
    pub laid: bool,
    /// Write the table there, instead of printing it
    #[arg(long, short, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

/// The thread of a knot on the bench, and how it is tied there.
#[derive(Debug, Clone, Args)]
pub(super) struct BenchArguments {
    /// The material's generic name, such as chromic gut
    #[arg(long, value_name = "NAME")]
    pub material: Option<String>,
    /// The pharmacopoeia size, such as 4-0
    #[arg(long, value_name = "SIZE")]
    pub size: Option<String>,
    /// Dry, not soaked
    #[arg(long)]
    pub dry: bool,
    /// Pull on each end while the knot is drawn tight [N] [default: 2]
    #[arg(long, value_name = "N", value_parser = pretension, allow_negative_numbers = true)]
    pub pretension_n: Option<f64>,
    /// Length of the cut tails [mm] [default: 3]
    #[arg(long, value_name = "MM", value_parser = tail, allow_negative_numbers = true)]
    pub tail_mm: Option<f64>,
}

#[derive(Debug, Clone, Args)]
pub(super) struct PullArguments {
    /// The knot: wraps of each throw, with = where neighbours lie square and x where they are crossed, such as 2=1=1;
    /// or a recording or a table that `tie` wrote, whose knot is pulled as it was tied; any other table of points by its
    /// shape alone. A NOTATION is laid loosely and drawn tight, which takes a second
    #[arg(value_name = "NOTATION|FILE", value_parser = subject)]
    pub subject: Subject,
    #[command(flatten)]
    pub bench: BenchArguments,
    /// Which stitch of a FILE, in a recording by the order in which they were begun; the first one if nothing is said
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub stitch: Option<u32>,
    /// Load on the loop at which slip is asked for [N]
    #[arg(long, value_name = "N", value_parser = load, allow_negative_numbers = true)]
    pub load_n: Option<f64>,
    /// More loads at which slip is asked for [N], such as 1,2,5
    #[arg(long, value_name = "N,N", value_parser = load, value_delimiter = ',', conflicts_with = "samples")]
    pub slip_at_n: Vec<f64>,
    /// Repeat with edges half as long, and say how far the force may be off by the mesh; takes some times as long
    #[arg(long, conflicts_with = "samples")]
    pub refine: bool,
    /// Repeat with friction and diameter drawn from the material's ranges, and say how many hold the load
    #[arg(long, value_name = "N", requires = "load_n", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub samples: Option<u32>,
    /// Seed of what is drawn
    #[arg(long, value_name = "N", default_value_t = 0, requires = "samples")]
    pub seed: u64,
    /// Pulls that run at the same time
    #[arg(long, value_name = "N", default_value_t = NonZero::<usize>::MIN, requires = "samples")]
    pub jobs: NonZero<usize>,
    /// Write the curve, or the samples, as comma-separated values
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Draw force over extension, with the slips and the load
    #[arg(long, value_name = "FILE.svg", conflicts_with = "samples")]
    pub plot: Option<PathBuf>,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

impl PullArguments {
    /// All loads at which slip is asked for [N], the one that is to be held first.
    pub(super) fn loads_n(&self) -> Vec<f64> {
        self.load_n.iter().chain(&self.slip_at_n).copied().collect()
    }
}

#[derive(Debug, Clone, Args)]
pub(super) struct CompareArguments {
    /// What is pulled, 2 to 8 of them: NOTATION, or NOTATION@MATERIAL:SIZE, such as 1x1 or "2=1=1@chromic gut:4-0"; or a
    /// recording, whose knot is pulled as it was tied in its own thread, FILE#2 for its second stitch
    #[arg(required = true, value_name = "SPEC", num_args = 2..=LINES_MAX)]
    pub specs: Vec<String>,
    #[command(flatten)]
    pub bench: BenchArguments,
    /// Load on the loop at which slip is asked for [N]
    #[arg(long, value_name = "N", value_parser = load, allow_negative_numbers = true)]
    pub load_n: Option<f64>,
    /// Pull each with friction and diameter drawn so often from its material's ranges, and say how many hold the load; a
    /// recording's knot keeps its diameter
    #[arg(long, value_name = "N", requires = "load_n", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub samples: Option<u32>,
    /// Seed of what is drawn
    #[arg(long, value_name = "N", default_value_t = 0, requires = "samples")]
    pub seed: u64,
    /// Pulls that run at the same time
    #[arg(long, value_name = "N", default_value_t = NonZero::<usize>::MIN)]
    pub jobs: NonZero<usize>,
    /// Write all curves, or the samples, as comma-separated values
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Draw all curves in one figure, or the shares that hold with their intervals
    #[arg(long, value_name = "FILE.svg")]
    pub plot: Option<PathBuf>,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
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

/// A day of the calendar: ISO 8601.
fn day(text: &str) -> Result<String, String> {
    let numbers: Vec<u32> = text.split('-').filter_map(|part| part.parse().ok()).collect();
    let written = matches!(text.split('-').map(str::len).collect::<Vec<_>>()[..], [4, 2, 2]);
    let leap = |year: u32| year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let exists = match numbers[..] {
        [year, 2, day] => (1..=28 + u32::from(leap(year))).contains(&day),
        [_, 4 | 6 | 9 | 11, day] => (1..=30).contains(&day),
        [_, 1..=12, day] => (1..=31).contains(&day),
        _ => false,
    };
    if written && exists { Ok(text.to_owned()) } else { Err("allowed a day such as 2026-03-31".to_owned()) }
}

/// An address to which more can be added.
fn home(text: &str) -> Result<String, String> {
    let rest =
        text.strip_prefix("https://").or_else(|| text.strip_prefix("http://")).unwrap_or("").trim_end_matches('/');
    let plain = rest.chars().all(|c| !c.is_whitespace() && !c.is_control() && !"<>\"{}|\\^`?#".contains(c));
    if plain && !rest.is_empty() && !rest.starts_with('/') {
        Ok(text.trim_end_matches('/').to_owned())
    } else {
        Err("allowed an address that begins with https:// or http://, without ? and #".to_owned())
    }
}

/// A key that files and tables can carry.
fn student_key(text: &str) -> Result<String, String> {
    let plain = text.chars().all(|c| !c.is_control()) && text.trim() == text;
    if plain && (1..=64).contains(&text.chars().count()) {
        Ok(text.to_owned())
    } else {
        Err("allowed 1 to 64 characters in one line, without spaces around them".to_owned())
    }
}

fn tremor(text: &str) -> Result<f64, String> {
    number(text, TREMOR_MAX_MM)
}

fn share(text: &str) -> Result<f64, String> {
    number(text, TIMING_MAX)
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

/// Throws of a knot, and how they were written.
#[derive(Debug, Clone)]
pub(super) struct Knot(pub Vec<Throw>);

pub(super) fn knot(text: &str) -> Result<Knot, String> {
    let all = |problems: Vec<NotationProblem>| problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
    pull::parse(text).map(Knot).map_err(all)
}

/// What is pulled.
#[derive(Debug, Clone)]
pub(super) enum Subject {
    /// A knot tied on the bench.
    Knot(Knot),
    /// The knot at the end of a recording, or of a table of points.
    File(PathBuf),
}

/// No file's name is a notation, unless somebody wants it so.
fn subject(text: &str) -> Result<Subject, String> {
    let path = Path::new(text);
    match knot(text) {
        Ok(knot) => Ok(Subject::Knot(knot)),
        Err(_) if path.is_file() || path.extension().is_some() => Ok(Subject::File(path.to_owned())),
        Err(problems) => Err(problems),
    }
}

/// Less draws no throw down; more breaks most threads of these sizes.
fn pretension(text: &str) -> Result<f64, String> {
    within(text, 0.1, 20.0)
}

fn load(text: &str) -> Result<f64, String> {
    within(text, 0.05, 200.0)
}

fn tail(text: &str) -> Result<f64, String> {
    within(text, 1.0, 15.0)
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
            include_str!("../../README.md").lines().filter(|line| line.starts_with("knotwright")).collect();
        for line in &shown {
            let words = line.split(['#', '>']).next().unwrap_or("").split_whitespace();
            assert!(Arguments::try_parse_from(words).is_ok(), "{line}");
        }
        for command in Arguments::command().get_subcommands() {
            let name = format!("knotwright {}", command.get_name());
            assert!(shown.iter().any(|line| line.starts_with(&name)), "README.md does not show `{name}`");
        }
    }
}
