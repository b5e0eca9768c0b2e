//! What may be said of knots on the bench: how they are tied, pulled and put side by side.

use super::within;
use crate::pull::{self, LINES_MAX, NotationProblem, SLIP_MAX, Throw};
use clap::Args;
use std::num::NonZero;
use std::path::{Path, PathBuf};

/// Pull on each end while a knot is drawn tight, if nothing else is asked for [N].
pub(in crate::cli) const PRETENSION_N: f64 = 2.0;

/// Length of the cut tails, if nothing else is asked for [mm].
pub(in crate::cli) const TAIL_MM: f64 = 3.0;

/// A knot on the bench.
#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct TiedArguments {
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
    #[arg(long, visible_alias = "pretension", value_name = "N", default_value_t = PRETENSION_N, value_parser = pretension, allow_negative_numbers = true)]
    pub pretension_n: f64,
    /// Length of the cut tails [mm]
    #[arg(long, value_name = "MM", default_value_t = TAIL_MM, value_parser = tail, allow_negative_numbers = true)]
    pub tail_mm: f64,
}

#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct TieArguments {
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

/// The thread of a knot on the bench, how it is tied there, and when it counts as slipped.
#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct BenchArguments {
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
    #[arg(long, visible_alias = "pretension", value_name = "N", value_parser = pretension, allow_negative_numbers = true)]
    pub pretension_n: Option<f64>,
    /// Length of the cut tails [mm] [default: 3]
    #[arg(long, value_name = "MM", value_parser = tail, allow_negative_numbers = true)]
    pub tail_mm: Option<f64>,
    /// Slip at which a knot counts as slipped [mm]; published benches took 1.8, 2 or 3
    #[arg(long, value_name = "MM", default_value_t = SLIP_MAX, value_parser = slip, allow_negative_numbers = true)]
    pub slip_limit_mm: f64,
}

#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct PullArguments {
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
    pub(in crate::cli) fn loads_n(&self) -> Vec<f64> {
        self.load_n.iter().chain(&self.slip_at_n).copied().collect()
    }
}

#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct CompareArguments {
    /// What is pulled, 2 to 8 of them: NOTATION, or NOTATION@MATERIAL:SIZE, such as 1x1 or "2=1=1@chromic gut:4-0"; or a
    /// recording, whose knot is pulled as it was tied in its own thread, or a table that `tie` wrote, in the thread that
    /// --material and --size name or in its own, knot.csv@silk:4-0; FILE#2 for a file's second stitch
    #[arg(required = true, value_name = "SPEC", num_args = 2..=LINES_MAX)]
    pub specs: Vec<String>,
    #[command(flatten)]
    pub bench: BenchArguments,
    /// Load on the loop at which slip is asked for [N]
    #[arg(long, value_name = "N", value_parser = load, allow_negative_numbers = true)]
    pub load_n: Option<f64>,
    /// Pull each with friction and diameter drawn so often from its material's ranges, and say how many hold the load; a
    /// file's knot keeps its diameter
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

/// Throws of a knot, and how they were written.
#[derive(Debug, Clone)]
pub(in crate::cli) struct Knot(pub Vec<Throw>);

pub(in crate::cli) fn knot(text: &str) -> Result<Knot, String> {
    let all = |problems: Vec<NotationProblem>| problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
    pull::parse(text).map(Knot).map_err(all)
}

/// What is pulled.
#[derive(Debug, Clone)]
pub(in crate::cli) enum Subject {
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

/// Less is what a knot gives when it settles; more is more than its tails are long.
fn slip(text: &str) -> Result<f64, String> {
    within(text, 0.5, 5.0)
}

fn tail(text: &str) -> Result<f64, String> {
    within(text, 1.0, 15.0)
}
