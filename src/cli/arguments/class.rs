//! What may be said of a class: how it is graded and handed over, and what is kept of it.

use clap::{Args, Subcommand};
use std::num::NonZero;
use std::path::PathBuf;

#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct GradeArguments {
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
pub(in crate::cli) struct ClassArguments {
    /// Write a page for the class, index.html, and one for each attempt
    #[arg(long, value_name = "DIR")]
    pub html: Option<PathBuf>,
    /// Write a row for each attempt as comma-separated values
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
}

#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct RegradeArguments {
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
pub(in crate::cli) struct HandedArguments {
    /// Files of `grade --findings` or `--resume`, or folders in which every file that ends in .findings is one
    #[arg(long, required = true, num_args = 1.., value_name = "PATH")]
    pub findings: Vec<PathBuf>,
    /// The scenario whose rubric marks, instead of each attempt's own
    #[arg(long, value_name = "SCENARIO")]
    pub rubric: Option<PathBuf>,
}

#[derive(Debug, Clone, Args)]
pub(in crate::cli) struct GradebookArguments {
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
pub(in crate::cli) struct ResultsArguments {
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
pub(in crate::cli) struct StatementsArguments {
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
pub(in crate::cli) struct HistoryArguments {
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
pub(in crate::cli) enum HistoryCommand {
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

/// An address to which more can be added, without the slashes at its end: an IRI without query and fragment.
///
/// Source: RFC 3987, section 2.2; a host that is a number of IPv6, in brackets, is left out.
fn home(text: &str) -> Result<String, String> {
    let text = text.trim_end_matches('/');
    let rest = text.strip_prefix("https://").or_else(|| text.strip_prefix("http://")).unwrap_or("");
    let (authority, path) = rest.split_once('/').unwrap_or((rest, ""));
    let (user, host) = authority.rsplit_once('@').unwrap_or(("", authority));
    let (host, port) = host.split_once(':').unwrap_or((host, ""));
    let port_is_number = port.chars().all(|c| c.is_ascii_digit());
    if !host.is_empty() && is_of_iri(host, "") && is_of_iri(user, ":") && port_is_number && is_of_iri(path, ":@/") {
        Ok(text.to_owned())
    } else {
        Err("allowed an address that begins with https:// or http://, without ? and #".to_owned())
    }
}

/// Whether all of it may stand in an IRI, `also` where it stands.
fn is_of_iri(text: &str, also: &str) -> bool {
    let mut parts = text.split('%');
    let plain = |part: &str| {
        part.chars().all(|c| match c {
            '\0'..='\u{7f}' => c.is_ascii_alphanumeric() || "-._~!$&'()*+,;=".contains(c) || also.contains(c),
            '\u{e000}'..='\u{f8ff}' => false,
            _ => !c.is_whitespace() && !c.is_control(),
        })
    };
    let coded = |part: &str| part.get(..2).is_some_and(|code| code.chars().all(|c| c.is_ascii_hexdigit()));
    parts.next().is_some_and(plain) && parts.all(|part| coded(part) && plain(part))
}
