//! One tick of a recording.

use super::StateDigest;
use crate::input::TickCommand;
use crate::math::DVec3;

/// Steps of a sampled position, per mm: 1 micrometre.
const STEPS_PER_MM: f64 = 1000.0;

/// What one tick holds. Ticks are numbered from 0 by their place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordedTick<E> {
    /// What both hands did.
    pub command: TickCommand,
    /// Digest of the run up to the state after this command; see [`digest_due`](super::digest_due).
    pub digest: Option<StateDigest>,
    /// What happened to thread, tissue and instruments during this tick, in order.
    pub events: Vec<E>,
    /// Where the thread was after this command: for looking at without carrying the commands out again. It takes ten times
    /// the room of the commands that lead to it, so the program's own recordings leave it out.
    pub sample: Option<Sample>,
}

/// The thread's centrelines at one instant, quantised.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sample {
    /// Node positions of every piece of thread [micrometre], operator's frame, shape [piece_count, node_count].
    pub pieces: Vec<Vec<[i32; 3]>>,
}

impl Sample {
    /// Quantises node positions [mm] of every piece of thread.
    #[must_use]
    pub fn new(pieces: &[&[DVec3]]) -> Sample {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "rounded; a float cast saturates, and the site is centimetres wide"
        )]
        let step = |mm: f64| (mm * STEPS_PER_MM).round() as i32;
        let quantise = |node: &DVec3| [step(node.x), step(node.y), step(node.z)];
        Sample { pieces: pieces.iter().map(|nodes| nodes.iter().map(quantise).collect()).collect() }
    }
}
