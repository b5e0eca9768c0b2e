//! The documented schema, printed from the table that checks experiments.

use super::shape::EXPERIMENT;
use crate::scenario::describe::describe;

const HEAD: &str = "\
An experiment is one RON file: groups (name: value, ..), lists [ ], words that may carry a group. A field with `?` may
be left out. Units stand in the names; x, y, z are right-handed and z is up. A place along a thread is Start, End or
At(along_mm: 12.0), counted along the unstretched thread: the nearest node or edge is meant. Rows are taken at time 0, at
the end, at the samples and at events; then every expectation is judged.

";

/// The schema as text, each field with what is allowed and why.
#[must_use]
pub fn schema() -> String {
    format!("{HEAD}{}", describe(&EXPERIMENT))
}
