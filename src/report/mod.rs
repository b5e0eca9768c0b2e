//! What people and programs read about an attempt.
//!
//! Nothing is worked out here: every number was measured in [`findings`](crate::analysis::findings) or marked in
//! [`score`](crate::score), and is only laid out.

mod case;
mod class;
mod course;
mod diagram;
mod gradebook;
mod handed;
mod html;
mod json;
mod stitches;
mod table;
mod text;

pub use self::case::{case_schema, explain_case, site_order};
pub use self::class::{Class, MarkedAttempt};
pub use self::course::{Event, events, pale_over_time, peak, tension_over_time};
pub use self::diagram::{DiagramLine, crossing_diagram, throws_as_lines};
pub use self::gradebook::{Filled, fill_gradebook};
pub use self::handed::{HandedMark, RESULTS_COLUMNS, ResultsOf, results_csv, statement};
pub use self::html::{AttemptPage, attempt_page, class_page};
pub use self::json::json;
pub use self::stitches::{ReadStitch, stitches_json, stitches_text};
pub use self::table::class_csv;
pub use self::text::text;
pub(crate) use self::text::wrap;

use crate::analysis::findings::Findings;
use crate::score::Score;

/// One attempt, ready to be laid out.
#[derive(Debug, Clone, Copy)]
pub struct Report<'a> {
    /// Title of the scenario.
    pub scenario: &'a str,
    /// Digest of the attempt's states, by which a repeated simulation is recognised.
    pub digest: &'a str,
    /// How many times faster than real time the attempt was simulated; `None` if that was not timed.
    pub real_time_factor: Option<f64>,
    /// How long each stage took.
    pub timings: &'a [Timing<'a>],
    /// What was measured.
    pub findings: &'a Findings,
    /// What it is worth.
    pub score: &'a Score,
}

/// How long a stage took.
#[derive(Debug, Clone, Copy, serde::Serialize)]
pub struct Timing<'a> {
    /// Name of the stage.
    pub stage: &'a str,
    /// Time on the wall's clock [s].
    pub wall_s: f64,
}

/// What every report says last. The wording is our own.
pub const CAUTIONS: &[&str] = &[
    "This is a training aid. It is not for diagnosis or treatment, and a pass certifies nobody.",
    "Local protocol, supervision and licensed practice decide what is done in a mouth.",
    "Gum and thread are a model with published and estimated numbers; real tissue differs between patients.",
];
