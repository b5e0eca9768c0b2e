//! A scenario: one case to practise, written by an instructor as a RON file.
//!
//! ```text
//! text -> scan (values with places) -> check against the shape -> serde -> rules between fields -> Scenario
//! ```
//!
//! [`read`] finds every problem at once, each with its place in the text; [`parse`] is [`read`] for those who only
//! want a scenario that is in order. [`read_extending`] reads one that takes all of another and changes a part. Nothing
//! here opens a file: the caller brings the texts.
//!
//! The stages after this one take a [`Scenario`] and its [`Drawn`] amounts, and may trust every limit that is
//! documented in [`schema`].

mod amount;
pub(crate) mod check;
pub(crate) mod describe;
mod draft;
mod edits;
mod extend;
mod form;
mod head;
pub(crate) mod nearest;
pub(crate) mod parse;
mod problem;
mod rewrite;
mod rubric;
pub(crate) mod rules;
pub(crate) mod scan;
pub mod schema;
pub(crate) mod shape;
mod template;
pub(crate) mod translate;

pub use amount::{Amount, Drawn};
pub use describe::schema as describe_schema;
pub use draft::{Change, Draft, Edit};
pub use edits::Edits;
pub use extend::{Others, Source};
pub use form::{Control, Row};
pub use head::{aim, opening_comment};
pub use parse::{Reading, parse, read, read_extending};
pub use problem::{Problem, Problems, Severity};
pub use rubric::{BAND_RULES, BandRule, Better, CRITERION_IDS, CRITICAL_FAULT_IDS, WRONG_SITE};
pub use schema::{
    Aids, Band, Closure, Course, Direction, Fault, Flap, Hands, Interval, KnotSide, Level, Membrane, Needle,
    NeedlePoint, Neighbour, OperatorSide, Rubric, RubricItem, Scenario, Site, Socket, Start, Task, Thread, Throw,
};
pub use template::template;
