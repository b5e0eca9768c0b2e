//! A fingerprint of the simulation's state, so that two runs of one attempt can be compared without storing either.

use crate::quantity::{TICKS_PER_SECOND, Tick};
use serde::{Deserialize, Serialize};
use std::fmt;
use thiserror::Error;

/// Whether a recording has to hold a digest of the state after this tick: the first tick, and the last one of every second.
///
/// A digest is of all states up to its tick, so one for each block vouches for every tick of a recording that a crash
/// cut off.
#[must_use]
pub fn digest_due(tick: Tick) -> bool {
    tick.0 == 0 || (tick.0 + 1).is_multiple_of(TICKS_PER_SECOND)
}

/// The first 64 bits of the hash over all states up to one tick. Two runs that differ agree by chance once in 2^64.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct StateDigest([u8; 8]);

impl fmt::Display for StateDigest {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

/// A state holds something that is not a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("state after tick {}: value {index} of part {part} is not a number", tick.0)]
pub struct NotANumber {
    /// The state's tick.
    pub tick: Tick,
    /// Place of the part among the parts given.
    pub part: usize,
    /// Place of the value in its part.
    pub index: usize,
}

/// A hash over the states of one run, from the first tick on: once two runs differ, they never agree again.
///
/// What counts is bits. 0.0 and -0.0 differ, because a quotient or an `atan2` downstream can tell them apart; an
/// infinity is a value like any other. NaN is an error: IEEE 754 leaves its bits to the processor, and a state that
/// holds one has diverged.
#[derive(Debug, Clone, Default)]
pub struct Digest {
    hasher: blake3::Hasher,
}

impl Digest {
    /// The digest of no state at all.
    #[must_use]
    pub fn new() -> Digest {
        Digest::default()
    }

    /// Adds the state after `tick`, given as its parts in an order that never changes (positions, velocities, anchors ...).
    ///
    /// # Errors
    /// If any value is NaN; the digest is then as it was.
    pub fn add(&mut self, tick: Tick, parts: &[&[f64]]) -> Result<(), NotANumber> {
        for (part, values) in parts.iter().enumerate() {
            if let Some(index) = values.iter().position(|value| value.is_nan()) {
                return Err(NotANumber { tick, part, index });
            }
        }
        self.hasher.update(&tick.0.to_le_bytes());
        for values in parts {
            // The length goes in as well: a value that moves from one part to the next must not go unseen.
            self.hasher.update(&(values.len() as u64).to_le_bytes());
            let bytes: Vec<u8> = values.iter().flat_map(|value| value.to_bits().to_le_bytes()).collect();
            self.hasher.update(&bytes);
        }
        Ok(())
    }

    /// The digest of all states added so far, in the short form that recordings hold.
    #[must_use]
    pub fn value(&self) -> StateDigest {
        let [a, b, c, d, e, f, g, h, ..] = *self.hasher.finalize().as_bytes();
        StateDigest([a, b, c, d, e, f, g, h])
    }

    /// The digest of all states added so far, whole: 64 hexadecimal digits.
    #[must_use]
    pub fn digest_hex(&self) -> String {
        self.hasher.finalize().to_hex().to_string()
    }
}
