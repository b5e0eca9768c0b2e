//! Placeholder.

pub mod material;
