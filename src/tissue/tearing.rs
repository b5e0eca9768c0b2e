//! How a hole gives way: it lengthens, then slits toward the edge, then is torn through. Nothing heals.

use serde::{Deserialize, Serialize};

/// Sustained force a hole stands: `quality * lining * thickness * (G + S * thread diameter) * min(1, distance / 3 mm)`.
///
/// Force hardly grows with the thread (Burkhardt, Preiss, Joss & Lang 2008, Clin Oral Implants Res 19:314: 13.4 N with
/// 3-0 and 14.6 N with 5-0 in pig gum), so a strength per bearing area does not fit; G and S are an estimate through
/// these and the about 10 N they give for 5-0 and 6-0. Past 3 mm from the edge pig gum did not tear
/// (Jeong et al. 2024, Clin Oral Implants Res 35:739), so the distance counts up to there; that it counts linearly is
/// an estimate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TearSettings {
    /// Tissue quality, 1 for the sound pig gum of the 2008 tests.
    ///
    /// A later series of 288 pig pieces has a mean of only 5.03 N, standard deviation 3.00 N (J Clin Periodontol 2026,
    /// doi 10.1111/jcpe.70127), which is about 0.4 here.
    pub quality: f64,
    /// 1 for gingiva, less for lining mucosa: 0.65 is an estimate, the 2026 series only says that gingiva holds more.
    pub lining: f64,
}

impl Default for TearSettings {
    /// Gingiva of a quality half way between the two series (estimate).
    fn default() -> Self {
        Self { quality: 0.7, lining: 1.0 }
    }
}

/// G, tear force per thickness of an endlessly thin thread [mN/mm] (estimate, see [`TearSettings`]).
const FORCE_PER_THICKNESS: f64 = 5300.0;
/// S, what the thread's own diameter adds [kPa] (estimate, see [`TearSettings`]).
const BEARING_STRENGTH: f64 = 10_600.0;
/// Distance from the edge beyond which it no longer matters [mm] (Jeong et al. 2024).
const SAFE_DISTANCE: f64 = 3.0;
/// Rate at which a slit grows under twice the force it stands [mm/ms]: 2 mm/s (estimate).
const SLIT_RATE: f64 = 0.002;
/// Share of the tear force above which a hole stays longer (estimate).
const YIELD_SHARE: f64 = 0.5;
/// A bridge of tissue narrower than this is taken as torn through [mm] (estimate: one thread's width).
const LEAST_BRIDGE: f64 = 0.2;
/// Longest step of the growth law [ms]; ticks are divided so that their length does not matter.
const LONGEST_STEP: f64 = 1.0;

/// What limits one hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TearLimit {
    /// Thickness of the flap [mm].
    pub thickness: f64,
    /// Diameter of the thread [mm].
    pub thread_diameter: f64,
    /// Tissue quality and kind.
    pub settings: TearSettings,
}

impl TearLimit {
    /// Force at which a hole at `edge_distance` [mm] begins to slit [mN].
    #[must_use]
    pub fn force(&self, edge_distance: f64) -> f64 {
        let full = self.thickness * (FORCE_PER_THICKNESS + BEARING_STRENGTH * self.thread_diameter);
        self.settings.quality * self.settings.lining * full * (edge_distance / SAFE_DISTANCE).clamp(0.0, 1.0)
    }
}

/// How far one hole has given way.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Tear {
    /// Lasting lengthening of the hole without a slit [mm], at most one thread diameter.
    pub elongation_mm: f64,
    /// Slit beyond the hole, toward the edge [mm].
    pub slit_mm: f64,
    /// Whether the edge has been reached.
    pub torn_through: bool,
}

impl Tear {
    /// How far the thread's seat has moved toward the edge [mm].
    #[must_use]
    pub fn advance(&self) -> f64 {
        self.elongation_mm + self.slit_mm
    }

    /// Lets `pull` [mN] act for `tick_ms` on a hole made `edge_distance` [mm] from the edge.
    pub fn step(&mut self, pull: f64, edge_distance: f64, limit: &TearLimit, tick_ms: f64) {
        if pull <= YIELD_SHARE * limit.force(edge_distance - self.advance()) {
            return;
        }
        let mut left = tick_ms;
        while left > 0.0 && !self.torn_through {
            let step = left.min(LONGEST_STEP);
            self.grow(pull / limit.force(edge_distance - self.advance()), limit.thread_diameter, step);
            self.torn_through = edge_distance - self.advance() < LEAST_BRIDGE;
            left -= step;
        }
    }

    fn grow(&mut self, share: f64, thread_diameter: f64, step_ms: f64) {
        let yielded = ((share - YIELD_SHARE) / (1.0 - YIELD_SHARE)).clamp(0.0, 1.0);
        let missing = (yielded * thread_diameter - self.elongation_mm).max(0.0);
        self.elongation_mm += missing.min(SLIT_RATE * step_ms);
        self.slit_mm += SLIT_RATE * (share - 1.0).max(0.0) * step_ms;
    }
}
