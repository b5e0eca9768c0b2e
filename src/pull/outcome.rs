//! What came of a pull.

/// Slip at which a knot counts as slipped, if nothing else is asked for [mm]; benches have taken 1.8 to 3.
///
/// Source: Silver, Wu, Grady & Song 2016, J. Oral Maxillofac. Surg.
pub const SLIP_MAX: f64 = 1.8;

/// Where a thread broke.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// In the knot, or where a limb enters it.
    Knot,
    /// In a limb, away from the knot.
    Limb,
}

/// How a pull ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The thread broke while the knot was drawn tight.
    BrokeTying,
    /// The thread broke before the knot had slipped by the limit.
    Broke(Place),
    /// The knot slipped by more than the limit.
    Slipped,
    /// The knot slipped by more than the limit and its tails ran through, so that nothing was left of it.
    Opened,
}

/// A point of the force-extension curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// How far the limbs' ends were drawn apart since the slack was out [mm].
    pub extension: f64,
    /// Pull on the limbs [mN].
    pub force: f64,
    /// Thread that has run through the knot since the pull began, from the tails [mm], both together.
    pub slip: f64,
    /// Thread that has come out of the knot into the limbs [mm]: extension less elastic stretch. What is more than slip
    /// is the knot drawn smaller.
    pub given: f64,
}

/// What came of a pull.
#[derive(Debug, Clone, PartialEq)]
pub struct Pull {
    /// How it ended.
    pub end: End,
    /// Slip at which the knot counts as slipped [mm].
    pub slip_limit: f64,
    /// Greatest force before the thread broke or the knot had slipped by the limit [mN].
    pub holding_force: f64,
    /// Length of each tail beyond the knot as cut [mm], that of the rod's start first.
    pub tails: [f64; 2],
    /// Force over extension, from the slack being out to the end.
    pub curve: Vec<Point>,
}

impl Pull {
    /// A pull that has not begun, of a knot with tails of these lengths [mm].
    pub(super) fn of_tails(tails: [f64; 2], slip_limit: f64) -> Pull {
        Pull { end: End::Opened, slip_limit, holding_force: 0.0, tails, curve: Vec::new() }
    }

    /// Slip [mm] when the pull first was `load` [mN]; `None` if the knot did not hold it.
    #[must_use]
    pub fn slip_at(&self, load: f64) -> Option<f64> {
        let reached = self.curve.iter().find(|point| point.force >= load);
        reached.filter(|_| self.holds(load)).map(|point| point.slip)
    }

    /// Whether the knot bore `load` [mN] before it slipped by the limit or the thread broke.
    #[must_use]
    pub fn holds(&self, load: f64) -> bool {
        self.holding_force >= load
    }
}
