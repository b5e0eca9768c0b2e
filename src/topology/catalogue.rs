//! What the invariants of a stack of throws must be, and which throws a polynomial can come from.
//!
//! Two limbs that rise from the tissue, twist about each other by 2n + 1 half turns a throw, and are joined far above
//! make the connected sum of the torus knots T(2, 2n + 1) (n wraps): the plane between two throws cuts the thread
//! twice. Determinant and Alexander polynomial multiply, signatures add (e.g. Lickorish 1997, An Introduction to Knot
//! Theory, chapters 6 and 8).

use super::invariants::Invariants;

/// One throw as a piece of knot: the limbs wrap `wraps` times and tuck once, 2 * `wraps` + 1 crossings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct HalfKnot {
    /// Wraps n, at least 1.
    pub wraps: u32,
    /// +1 if the limbs, both followed from the tissue to their ends, cross right-handed; -1 if left-handed.
    pub handedness: i8,
}

impl HalfKnot {
    /// Signature of the throw's closed curve. The curve runs against one of its limbs, so a right-handed throw makes a
    /// left-handed torus knot: positive.
    #[must_use]
    pub fn signature(&self) -> i32 {
        2 * i32::from(self.handedness) * i32::try_from(self.wraps).expect("few wraps")
    }

    /// Gauss integral between the limbs of one flat throw whose ends run on straight [turns].
    #[must_use]
    pub fn gauss(&self) -> f64 {
        f64::from(self.handedness) * (f64::from(self.wraps) + 0.5)
    }
}

/// Alexander polynomial of T(2, 2n + 1): 1 - t + t^2 - ... + t^(2n) (Rolfsen 1976, Knots and Links, appendix C).
#[must_use]
pub fn throw_alexander(wraps: u32) -> Vec<i64> {
    (0..=2 * wraps).map(|power| if power % 2 == 0 { 1 } else { -1 }).collect()
}

/// Invariants of a stack of throws; of the unknot if there is none.
#[must_use]
pub fn expected(throws: &[HalfKnot]) -> Invariants {
    Invariants {
        determinant: throws.iter().map(|throw| i64::from(2 * throw.wraps + 1)).product(),
        alexander: alexander_of(throws.iter().map(|throw| throw.wraps)),
        signature: throws.iter().map(HalfKnot::signature).sum(),
    }
}

/// Alexander polynomial of a stack of throws with these wraps, in any order.
#[must_use]
pub fn alexander_of(wraps: impl IntoIterator<Item = u32>) -> Vec<i64> {
    wraps.into_iter().fold(vec![1], |product, n| multiply(&product, &throw_alexander(n)))
}

/// The wraps of the only stack of throws that has this Alexander polynomial, most first; `None` if there is none.
///
/// Trying the largest throw first is safe: the polynomial of n wraps has a root of order 4n + 2, which no throw with
/// fewer wraps has.
#[must_use]
pub fn wraps_of(alexander: &[i64]) -> Option<Vec<u32>> {
    let mut rest = alexander.to_vec();
    let mut wraps = Vec::new();
    let mut most = u32::try_from(rest.len() / 2).ok()?;
    while most > 0 {
        match divide(&rest, &throw_alexander(most)) {
            Some(quotient) => {
                rest = quotient;
                wraps.push(most);
            }
            None => most -= 1,
        }
    }
    (rest == [1]).then_some(wraps)
}

fn multiply(a: &[i64], b: &[i64]) -> Vec<i64> {
    let mut product = vec![0; a.len() + b.len() - 1];
    for (i, x) in a.iter().enumerate() {
        for (j, y) in b.iter().enumerate() {
            product[i + j] += x * y;
        }
    }
    product
}

/// The quotient if the division leaves nothing; the divisor starts with 1.
fn divide(dividend: &[i64], divisor: &[i64]) -> Option<Vec<i64>> {
    let quotient_length = (dividend.len() + 1).checked_sub(divisor.len()).filter(|&length| length > 0)?;
    let mut rest = dividend.to_vec();
    let mut quotient = Vec::with_capacity(quotient_length);
    for i in 0..quotient_length {
        let factor = rest[i];
        for (j, d) in divisor.iter().enumerate() {
            rest[i + j] -= factor * d;
        }
        quotient.push(factor);
    }
    rest.iter().all(|&r| r == 0).then_some(quotient)
}
