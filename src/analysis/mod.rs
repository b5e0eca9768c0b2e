//! From an attempt to what was measured in it.

pub mod findings;
pub mod reading;
