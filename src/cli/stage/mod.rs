//! What the window can be opened on: an attempt at a case, a recording, a knot from a table.

mod bench;
#[cfg(test)]
mod by_fingers;
#[cfg(test)]
mod by_mouse;
#[cfg(all(test, feature = "tracked-hands"))]
mod by_tracked_hands;
mod demonstrated;
mod desk;
mod form;
#[cfg(test)]
mod own_hands;
mod projector;
#[cfg(test)]
mod reload_tests;
mod resumed;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod user;
#[cfg(test)]
mod user_of_pad;
mod watch;

pub(super) use bench::Bench;
pub(super) use desk::Desk;
pub(super) use projector::Projector;
pub(super) use watch::Watch;
