//! The integration tests, in one binary so that they link once.

mod scenario;
mod physics;
mod scoring;
mod replay;
mod tidy;
