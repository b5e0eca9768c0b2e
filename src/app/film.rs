//! What was seen of an attempt, kept so that any moment can be seen again.
//!
//! An attempt tied in this window is kept as it is simulated: nothing needs to be carried out again. A recording keeps
//! commands, and of the states only centrelines ten times a second: it is carried out again in the background, and the film
//! grows as that goes on. What is seen is then what follows from the commands, which is also what is marked.

use crate::simulation::snapshot::Snapshot;

/// Frames kept at most. One takes some 20 kB, so all take less than a tenth of a gigabyte.
pub const FRAMES_MAX: usize = 4000;

/// Ticks between two frames at first.
pub const EVERY: u32 = 2;

/// Frames of an attempt, evenly spread over it.
#[derive(Debug, Clone, PartialEq)]
pub struct Film {
    frames: Vec<Snapshot>,
    /// Ticks between two frames.
    every: u32,
    /// The last one that came, whether it is one of them or not.
    last: Option<Snapshot>,
}

impl Default for Film {
    fn default() -> Film {
        Film { frames: Vec::new(), every: EVERY, last: None }
    }
}

impl Film {
    /// Takes what is to be seen at a tick. Ticks come in order; one that was there already is left out.
    ///
    /// When there are too many frames, every other one goes: what is kept stays evenly spread.
    pub fn take(&mut self, snapshot: Snapshot) {
        let tick = snapshot.tick.0;
        if self.last.as_ref().is_some_and(|last| tick <= last.tick.0) {
            return;
        }
        if self.frames.is_empty() || tick.is_multiple_of(self.every) {
            self.frames.push(snapshot.clone());
        }
        self.last = Some(snapshot);
        if self.frames.len() > FRAMES_MAX {
            self.every *= 2;
            let (every, first) = (self.every, self.frames[0].tick);
            self.frames.retain(|frame| frame.tick == first || frame.tick.0.is_multiple_of(every));
        }
    }

    /// The last frame that is not after a tick; the first if all are. `None` while there is none.
    #[must_use]
    pub fn at(&self, tick: u32) -> Option<&Snapshot> {
        if let Some(last) = self.last.as_ref().filter(|last| last.tick.0 <= tick) {
            return Some(last);
        }
        let after = self.frames.partition_point(|frame| frame.tick.0 <= tick);
        self.frames.get(after.saturating_sub(1))
    }

    /// The frames up to a tick, in order.
    pub fn up_to(&self, tick: u32) -> impl Iterator<Item = &Snapshot> {
        self.frames.iter().take_while(move |frame| frame.tick.0 <= tick)
    }

    /// The first and the last tick there are frames of; `None` while there is none.
    #[must_use]
    pub fn span(&self) -> Option<[u32; 2]> {
        Some([self.frames.first()?.tick.0, self.last.as_ref()?.tick.0])
    }

    /// How many frames there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.frames.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.frames.is_empty()
    }
}
