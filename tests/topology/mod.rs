//! Knots and throws: known values, generated stacks, and the reading of stitches.

mod gauss;
mod invariants;
mod reading;
mod stacks;
mod tighten;
