//! A bench for experiments on threads that are written as text: any threads, solids, holds and loads of the solver, what
//! is measured on them, and what has to come out.
//!
//! ```text
//! text -> schema (checked against its table and rules) -> build -> run (drive, step, measure) -> outcome -> CSV, JSON, SVG
//! ```
//!
//! Beside the way from scenario to report: nothing of that knows this, and this knows the thread's solver and the gum only. No file
//! is opened here: the caller brings the text, and the points that it names.

mod build;
mod check;
mod curve;
mod describe;
mod drive;
mod measure;
mod mesh;
mod outcome;
mod plot;
mod run;
pub mod schema;
mod shape;
mod tissue;
mod tissue_check;
pub mod tissue_schema;

pub use build::{Bench, build};
pub use check::{Reading, parse, read};
pub use curve::{PointFiles, parse_points};
pub use describe::schema;
pub use outcome::{Column, Outcome, Row, Verdict};
pub use plot::svg;
pub use run::run;
pub use schema::Experiment;
