//! From an attempt to what was measured in it.

pub mod centrelines;
pub mod evident_loop;
pub mod findings;
pub mod kept;
pub mod reading;
pub mod view;
