//! What may be said of one attempt: how it is tied, shown, carried out again and read.

use super::number;
#[cfg(feature = "tracked-hands")]
use crate::app::tracked_port::{ADDRESS, loopback};
use crate::cli::files::FIRST_SCENARIO;
use clap::Args;
#[cfg(feature = "tracked-hands")]
use std::net::SocketAddr;
use std::num::NonZero;
use std::path::PathBuf;

/// Greatest amplitude of a tremor [mm]: beyond it no one would hold a needle.
const TREMOR_MAX_MM: f64 = 5.0;

/// Greatest spread of pace, as a share: at 1 a hand could stand still.
const TIMING_MAX: f64 = 0.9;

/// How the window opens.
#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct WindowArguments {
    /// Which driver draws: vulkan, dx12, metal or gl
    #[arg(long, value_name = "NAME")]
    pub backend: Option<String>,
    /// Part of the name of the graphics adapter that draws
    #[arg(long, value_name = "NAME")]
    pub adapter: Option<String>,
    /// Folder in which attempts are kept, instead of the user's own for this program
    #[arg(long, value_name = "DIR")]
    pub data_dir: Option<PathBuf>,
    /// File of keys, instead of the `keys.ron` in that folder
    #[arg(long, value_name = "FILE")]
    pub keys: Option<PathBuf>,
    /// Language of the window, instead of the one that was chosen in it last
    #[arg(long, value_name = "CODE", value_parser = ["en", "de"])]
    pub language: Option<String>,
    /// Close the window by itself after so many frames
    #[arg(long, value_name = "N")]
    pub frames: Option<u32>,
    /// Hear over OSC, at this address of this machine, where hands are that something else tracks
    #[cfg(feature = "tracked-hands")]
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, default_missing_value = ADDRESS, value_parser = loopback)]
    pub tracked_hands: Option<SocketAddr>,
}

/// What the window opens on.
#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct WindowFileArguments {
    /// A scenario, a recording, or a table of points as `tie` writes it
    #[arg(default_value = FIRST_SCENARIO)]
    pub file: PathBuf,
    /// Show the form that writes the scenario
    #[arg(long)]
    pub edit: bool,
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
pub(in crate::cli) struct DemoArguments {
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
pub(in crate::cli) struct UnsteadyArguments {
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
pub(in crate::cli) struct ReplayArguments {
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
pub(in crate::cli) struct ReadArguments {
    /// A table of points (columns x_mm, y_mm, z_mm, and strand and hole if there are any), or a recording
    pub file: PathBuf,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
    /// Draw the crossing diagram; several stitches go to files with their numbers added
    #[arg(long, value_name = "FILE.svg")]
    pub picture: Option<PathBuf>,
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
