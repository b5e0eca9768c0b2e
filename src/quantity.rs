//! Units where the program meets people: one place where a named unit becomes core's mm, mN, ms, mg.

/// Ticks of the simulation in one second: one tick is one drawn frame's worth of hand motion.
pub const TICKS_PER_SECOND: u32 = 60;

/// Length of one tick [ms].
pub const TICK_MS: f64 = 1000.0 / TICKS_PER_SECOND as f64;

/// The count of ticks since an attempt began.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, serde::Serialize, serde::Deserialize)]
pub struct Tick(pub u32);

impl Tick {
    /// Seconds since the attempt began.
    #[must_use]
    pub fn seconds(self) -> f64 {
        f64::from(self.0) / f64::from(TICKS_PER_SECOND)
    }
}

/// Millinewtons in one newton.
pub const MN_PER_N: f64 = 1000.0;

/// Milliseconds in one second.
pub const MS_PER_S: f64 = 1000.0;

/// Millimetres of mercury in kilopascals (ISO 80000-4: 1 mmHg = 133.322 Pa).
pub const KPA_PER_MMHG: f64 = 0.133_322;
