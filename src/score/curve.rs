//! Named curves from a measurement to a mark between 0 and 1.

use crate::said::{Said, number, said};

/// How a measurement becomes a mark. Linear between the named points.
///
/// If the points are crossed or equal, the curve is a step at its `full` point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Curve {
    /// More is better: 0 up to `none`, 1 from `full` on.
    RampUp {
        /// Largest value that earns nothing.
        none: f64,
        /// Smallest value that earns everything.
        full: f64,
    },
    /// Less is better: 1 up to `full`, 0 from `none` on.
    RampDown {
        /// Largest value that earns everything.
        full: f64,
        /// Smallest value that earns nothing.
        none: f64,
    },
    /// A range is right: a ramp up to it and a ramp down from it.
    Plateau {
        /// Largest value below the range that earns nothing.
        none_below: f64,
        /// Start of the range that earns everything.
        full_from: f64,
        /// End of the range that earns everything.
        full_to: f64,
        /// Smallest value above the range that earns nothing.
        none_above: f64,
    },
}

impl Curve {
    /// Mark for `value`, within 0..=1; a value that is not finite was not measured and earns 0.
    #[must_use]
    pub fn mark(self, value: f64) -> f64 {
        if !value.is_finite() {
            return 0.0;
        }
        match self {
            Self::RampUp { none, full } => ramp_up(value, none, full),
            Self::RampDown { full, none } => ramp_up(-value, -none, -full),
            Self::Plateau { none_below, full_from, full_to, none_above } => {
                ramp_up(value, none_below, full_from).min(ramp_up(-value, -none_above, -full_to))
            }
        }
    }

    /// The curve in words, with its numbers in `unit`, which is the same in every language.
    #[must_use]
    pub fn describe(self, unit: &str) -> Said {
        self.describe_as(&Said::plain(unit))
    }

    /// The curve in words, with `unit` behind its numbers.
    #[must_use]
    pub fn describe_as(self, unit: &Said) -> Said {
        let tenths = |value: f64| number(value, 1);
        match self {
            Self::RampUp { none, full } => said!(
                "mark-curve-up",
                "full from {full} {unit}, none at {none} {unit}",
                full = tenths(full),
                none = tenths(none),
                unit
            ),
            Self::RampDown { full, none } => said!(
                "mark-curve-down",
                "full up to {full} {unit}, none from {none} {unit}",
                full = tenths(full),
                none = tenths(none),
                unit
            ),
            Self::Plateau { none_below, full_from, full_to, none_above } => said!(
                "mark-curve-plateau",
                "full from {full_from} to {full_to} {unit}, none at {none_below} or {none_above} {unit}",
                full_from = tenths(full_from),
                full_to = tenths(full_to),
                none_below = tenths(none_below),
                none_above = tenths(none_above),
                unit
            ),
        }
    }
}

fn ramp_up(value: f64, none: f64, full: f64) -> f64 {
    if value >= full {
        1.0
    } else if value <= none {
        0.0
    } else {
        (value - none) / (full - none)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(curve: Curve, expected: &[(f64, f64)]) {
        for &(value, mark) in expected {
            assert!((curve.mark(value) - mark).abs() < 1e-12, "{curve:?} at {value}: {}", curve.mark(value));
        }
    }

    #[test]
    fn a_curve_is_linear_between_its_points_and_flat_beyond() {
        check(Curve::RampUp { none: 1.0, full: 3.0 }, &[(0.0, 0.0), (1.0, 0.0), (1.5, 0.25), (3.0, 1.0), (9.0, 1.0)]);
        check(Curve::RampDown { full: 1.0, none: 3.0 }, &[(0.0, 1.0), (1.0, 1.0), (1.5, 0.75), (3.0, 0.0), (9.0, 0.0)]);
        let plateau = Curve::Plateau { none_below: 1.0, full_from: 2.0, full_to: 3.0, none_above: 5.0 };
        check(plateau, &[(1.0, 0.0), (1.5, 0.5), (2.0, 1.0), (3.0, 1.0), (4.0, 0.5), (5.0, 0.0)]);
    }

    #[test]
    fn a_curve_with_equal_or_crossed_points_is_a_step() {
        check(Curve::RampUp { none: 2.0, full: 2.0 }, &[(1.9, 0.0), (2.0, 1.0)]);
        check(Curve::RampDown { full: 2.0, none: 2.0 }, &[(2.0, 1.0), (2.1, 0.0)]);
        check(Curve::RampUp { none: 3.0, full: 2.0 }, &[(1.9, 0.0), (2.0, 1.0)]);
    }

    #[test]
    fn a_value_that_is_not_finite_earns_nothing() {
        let unmeasured = [(f64::NAN, 0.0), (f64::INFINITY, 0.0), (f64::NEG_INFINITY, 0.0)];
        check(Curve::RampUp { none: 1.0, full: 3.0 }, &unmeasured);
        check(Curve::RampDown { full: 1.0, none: 3.0 }, &unmeasured);
    }
}
