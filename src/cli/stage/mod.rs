//! What the window can be opened on: an attempt at a case, a recording, a knot from a table.

mod bench;
mod desk;
mod projector;
mod resumed;
#[cfg(test)]
mod tests;

pub(super) use bench::Bench;
pub(super) use desk::Desk;
pub(super) use projector::Projector;
