//! The numbers by which knots are told apart here.

use super::alexander;
use super::diagram::Diagram;
use super::signature::{GoeritzReading, signature};

/// Invariants of one closed curve. Equal knots have equal invariants; the reverse holds among stacks of throws except
/// for their order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invariants {
    /// |Alexander polynomial at -1|, odd and positive; 1 for the unknot.
    pub determinant: i64,
    /// Alexander polynomial, constant term first, the first coefficient positive; `[1]` for the unknot.
    pub alexander: Vec<i64>,
    /// Signature; -2 for the right-handed trefoil, 0 for the unknot.
    pub signature: i32,
}

impl Invariants {
    /// The invariants of a diagram's knot.
    ///
    /// `None` if the diagram is too large for exact arithmetic, cannot be drawn in the plane, or its two determinants
    /// (from the polynomial and from the Goeritz form) disagree: then a crossing was missed.
    #[must_use]
    pub fn of(diagram: &Diagram) -> Option<Self> {
        Self::with(signature(diagram)?, diagram)
    }

    /// The invariants of a diagram's knot whose [`signature`] is known already.
    pub(crate) fn with(goeritz: GoeritzReading, diagram: &Diagram) -> Option<Self> {
        let alexander = alexander::polynomial(diagram)?;
        let determinant = alexander.iter().rev().fold(0, |sum, c| c - sum).abs();
        (determinant == goeritz.determinant).then_some(Self { determinant, alexander, signature: goeritz.signature })
    }
}
