//! Blood in one spot of the gum: how pale a pressure makes it, how fast colour goes and comes back.

use serde::{Deserialize, Serialize};

use crate::quantity::KPA_PER_MMHG;

/// Pressure at which blood begins to be pressed out [kPa]: 32 mmHg, the arteriolar end of the capillary
/// (Landis 1930, Heart 15:209; from memory).
pub const ONSET_PRESSURE: f64 = 32.0 * KPA_PER_MMHG;

/// Pressure at which none is left [kPa]: 125 mmHg, about the systolic pressure in the arteries (common practice, no
/// source); by the same measure palates have lost their flow at 10 gf/mm2 (98 kPa) in published tests.
pub const PALE_PRESSURE: f64 = 125.0 * KPA_PER_MMHG;

/// Blanch above which a spot counts as pale (estimate: half way).
pub const PALE: f64 = 0.5;

/// Time constants of paling, refill and reddening; all estimates but for the refill after a short press.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PerfusionSettings {
    /// Time constant of paling [s].
    pub paling_s: f64,
    /// Time constant of refill after a short press [s]: 0.5 s leaves a tenth after 1.15 s, near the median refill
    /// times of 0.7 to 1.8 s of Schriger & Baraff 1988, Ann Emerg Med 17:932.
    pub refill_s: f64,
    /// What a long press adds to it at most [s]; that refill slows with the length of the press: Akazawa & Sakurai
    /// 2002, J Oral Rehabil (direction only).
    pub refill_slowing_s: f64,
    /// Length of the press that brings the full slowing [s].
    pub long_press_s: f64,
    /// Time constant with which a past press is forgotten [s].
    pub recovery_s: f64,
    /// Length of the press that is followed by full redness [s].
    pub full_redness_s: f64,
}

impl Default for PerfusionSettings {
    fn default() -> Self {
        Self {
            paling_s: 0.5,
            refill_s: 0.5,
            refill_slowing_s: 0.8,
            long_press_s: 60.0,
            recovery_s: 10.0,
            full_redness_s: 120.0,
        }
    }
}

/// Shortest and longest time constant with which redness fades [s] (estimate).
const REDNESS_FADE_RANGE: [f64; 2] = [2.0, 30.0];

/// The state of one spot.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Perfusion {
    /// Blanch, 0 (rosy) to 1 (white).
    pub blanch: f64,
    /// Time spent pale and not yet forgotten [s].
    pub ischaemia_s: f64,
    /// Redness left over from the last paling, 0 to 1.
    pub redness: f64,
    /// Time constant with which that fades [s].
    pub redness_fade_s: f64,
}

/// Blanch that a lasting pressure [kPa] leads to, 0 to 1.
#[must_use]
pub fn lasting_blanch(pressure: f64) -> f64 {
    ((pressure - ONSET_PRESSURE) / (PALE_PRESSURE - ONSET_PRESSURE)).clamp(0.0, 1.0)
}

impl Perfusion {
    /// Lets `pressure` [kPa] act for `tick_s` seconds.
    pub fn step(&mut self, pressure: f64, settings: &PerfusionSettings, tick_s: f64) {
        let target = lasting_blanch(pressure);
        if target <= 0.0 && self.is_rested() {
            return;
        }
        let was_pale = self.blanch > PALE;
        let time_constant = if target > self.blanch { settings.paling_s } else { self.refill_time(settings) };
        self.blanch = (target + (self.blanch - target) * decay(tick_s / time_constant)).clamp(0.0, 1.0);
        if self.blanch > PALE {
            self.ischaemia_s += tick_s;
        } else if was_pale {
            self.redden(settings);
        } else {
            self.ischaemia_s *= decay(tick_s / settings.recovery_s);
        }
        if self.redness > 0.0 {
            self.redness *= decay(tick_s / self.redness_fade_s);
        }
    }

    /// Redness to be seen, 0 to 1: what the blanch does not hide.
    #[must_use]
    pub fn visible_redness(&self) -> f64 {
        self.redness * (1.0 - self.blanch)
    }

    fn refill_time(&self, settings: &PerfusionSettings) -> f64 {
        settings.refill_s + settings.refill_slowing_s * (self.ischaemia_s / settings.long_press_s).min(1.0)
    }

    fn redden(&mut self, settings: &PerfusionSettings) {
        let [shortest, longest] = REDNESS_FADE_RANGE;
        self.redness = self.redness.max((self.ischaemia_s / settings.full_redness_s).min(1.0));
        self.redness_fade_s = (0.5 * self.ischaemia_s).clamp(shortest, longest);
    }

    /// Nothing of a past pressure is left that anyone could see.
    fn is_rested(&self) -> bool {
        const UNSEEN: f64 = 1e-6;
        self.blanch < UNSEEN && self.ischaemia_s < UNSEEN && self.redness < UNSEEN
    }
}

/// exp(-x) for the ratio of a tick to a time constant, x >= 0.
///
/// The quotient of two quadratics that agrees with it to x^5 / 720: it costs no exponential for each spot, and
/// stays between 0 and 1 for every x. At 60 ticks a second x is below 0.04 and the error below 2e-10.
fn decay(x: f64) -> f64 {
    let (odd, even) = (0.5 * x, 1.0 + x * x / 12.0);
    (even - odd) / (even + odd)
}
