//! Throws as they are read, once they have been read the same for a while: while a strand is drawn they come and go.

use crate::quantity::TICKS_PER_SECOND;

/// Throws that have read the same for so long count; estimate.
pub(super) const STEADY_TICKS: u32 = TICKS_PER_SECOND / 2;

/// What is read, and since which tick.
#[derive(Debug, Clone, Default)]
pub(super) struct Steady<T> {
    read: T,
    since: u32,
}

impl<T: PartialEq + Clone> Steady<T> {
    /// Takes what is read at a tick; whether it has been the same for long enough. Ticks that go back begin anew.
    pub(super) fn is(&mut self, tick: u32, read: &T) -> bool {
        if self.read != *read || tick < self.since {
            (self.read, self.since) = (read.clone(), tick);
        }
        tick - self.since >= STEADY_TICKS
    }
}
