//! Knots and throws: known values, generated stacks, and the reading of stitches.

mod gauss;
mod invariants;
mod knotinfo;
mod many;
mod random;
mod reading;
pub(crate) mod stacks;
mod ties;
mod tighten;
