//! A suture and knot training simulator and scorer.
//!
//! One way through, and each module is one stage of it, in reading order:
//!
//! ```text
//! scenario -> world -> commands -> simulation -> recording -> analysis -> score -> report
//! ```
//!
//! A stage may name the types of the stage before it, never of one after.
//! Everything but `app` and [`cli`] is core: it names no window, no clock, no file and no print.
//!
//! Units inside core are mm, mN, ms and mg, which are consistent (1 mN = 1 mg mm/ms^2; 1 mN/mm^2 = 1 kPa).
//! What people write or read carries its unit in its name (`width_mm`, `tension_n`).

pub mod math;
pub mod quantity;
pub mod said;
pub mod tooth;

pub mod rod;
pub mod tissue;

pub mod material;

pub mod scenario;
pub mod site;

pub mod input;
pub mod instruments;

pub mod simulation;

pub mod performer;

pub mod record;

pub mod topology;

pub mod analysis;
pub mod score;

pub mod report;

pub mod experiment;

pub mod pull;

pub mod cli;

#[cfg(feature = "window")]
pub mod app;
