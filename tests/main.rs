//! The integration tests, one binary.

mod scoring;
