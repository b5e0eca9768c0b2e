//! Amounts that vary from case to case: a number, or a range from which one is drawn.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};
use serde::{Deserialize, Serialize};

/// A number of a scenario that may be drawn; unit and limits are those of the field that holds it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Amount {
    /// This number.
    Fixed(f64),
    /// A number drawn evenly from the first (least) to the second (greatest).
    Range(f64, f64),
}

impl Amount {
    /// Least number it can be.
    #[must_use]
    pub fn min(self) -> f64 {
        match self {
            Amount::Fixed(value) => value,
            Amount::Range(min, _) => min,
        }
    }

    /// Greatest number it can be.
    #[must_use]
    pub fn max(self) -> f64 {
        match self {
            Amount::Fixed(value) => value,
            Amount::Range(_, max) => max,
        }
    }

    pub(super) fn draw(self, dice: &mut Dice) -> f64 {
        let share = dice.share();
        match self {
            Amount::Fixed(value) => value,
            // Written so that rounding cannot leave the range.
            Amount::Range(min, max) => (min * (1.0 - share) + max * share).clamp(min, max),
        }
    }
}

/// The amounts of a scenario as numbers, see [`super::Scenario::draw`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Drawn {
    /// Gap between the flap edges [mm].
    pub edge_gap_mm: f64,
    /// Thickness of both flaps [mm].
    pub flap_thickness_mm: f64,
}

/// A stream of random numbers that is fixed by its seed for good: ChaCha with 8 rounds (Bernstein 2008), keyed by the
/// seed itself, so that no library's way of stretching a seed or of making a float can change it.
pub(super) struct Dice(ChaCha8Rng);

impl Dice {
    pub(super) fn new(seed: u64) -> Dice {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        Dice(ChaCha8Rng::from_seed(key))
    }

    /// The next number, 0..1, one of 2^53 evenly spaced ones.
    fn share(&mut self) -> f64 {
        const STEP: f64 = 1.0 / (1_u64 << 53) as f64;
        (self.0.next_u64() >> 11) as f64 * STEP
    }
}
