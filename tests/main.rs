//! The integration tests, in one binary so that they link once.

mod cli;
mod physics;
mod replay;
mod scenario;
mod scoring;
mod simulation;
mod slow;
mod tidy;
mod topology;
#[cfg(feature = "window")]
mod ui;
mod xapi;
