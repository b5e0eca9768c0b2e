//! What the window can be opened on: an attempt at a case, a recording, a knot from a table.

mod bench;
#[cfg(test)]
mod by_mouse;
mod desk;
mod projector;
mod resumed;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod user;

pub(super) use bench::Bench;
pub(super) use desk::Desk;
pub(super) use projector::Projector;
