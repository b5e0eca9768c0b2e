//! The Alexander polynomial, exactly: determinants modulo a prime, put together by interpolation.

use super::diagram::Diagram;
use super::modular::{add, centred, determinant, invert, multiply, negate, power, subtract};

/// Diagrams above this size are refused.
///
/// The coefficients' sizes add up to at most the number of the diagram's states, each a choice at every crossing
/// (Kauffman 1983, Formal Knot Theory), hence 2^58; below half the modulus the lift to integers is exact.
pub const CROSSINGS_MAX: usize = 58;

/// Order of [`FINGERPRINT_AT`]: a prime factor of the modulus less 1, above the degree of any diagram read here.
const FINGERPRINT_ORDER: u64 = 1321;
/// Where the fingerprint is evaluated: 3 to the power of (modulus - 1) / order.
const FINGERPRINT_AT: u64 = 0x033F_8C6A_99C9_5FA6;

/// A minor of the Alexander matrix at `t`: the polynomial's value up to sign and a power of `t`.
///
/// Row of a crossing with strand i over, coming in under as j and going out as k: (1 - t) x_i + t x_j - x_k if the
/// crossing is positive, (1 - t) x_i - x_j + t x_k if negative (Fox's free derivative of Wirtinger's relation).
fn minor(diagram: &Diagram, t: u64) -> u64 {
    let crossing_count = diagram.crossing_count();
    if crossing_count < 2 {
        return 1;
    }
    let size = crossing_count - 1;
    let mut matrix = vec![0; size * size];
    let mut enter = |row: usize, column: usize, value: u64| {
        if row < size && column < size {
            matrix[row * size + column] = add(matrix[row * size + column], value);
        }
    };
    // The strand is numbered anew after each passage below.
    let mut strand = 0;
    for visit in diagram.visits() {
        let positive = diagram.signs()[visit.crossing] > 0;
        if visit.over {
            enter(visit.crossing, strand, subtract(1, t));
            continue;
        }
        let (incoming, outgoing) = if positive { (t, negate(1)) } else { (negate(1), t) };
        enter(visit.crossing, strand, incoming);
        strand = (strand + 1) % crossing_count;
        enter(visit.crossing, strand, outgoing);
    }
    determinant(&mut matrix, size)
}

/// One residue that depends on the Alexander polynomial alone: its value at a `t` of known order, to the power of twice
/// that order, which takes away the sign and the power of `t`.
///
/// Much cheaper than [`polynomial`]; two different polynomials agree by accident about once in 10^15.
#[must_use]
pub fn fingerprint(diagram: &Diagram) -> u64 {
    power(minor(diagram, FINGERPRINT_AT), 2 * FINGERPRINT_ORDER)
}

/// The [`fingerprint`] of a knot whose Alexander polynomial has these coefficients.
#[must_use]
pub fn fingerprint_of(coefficients: &[i64]) -> u64 {
    let value = coefficients.iter().rev().fold(0, |sum, &c| add(multiply(sum, FINGERPRINT_AT), residue(c)));
    power(value, 2 * FINGERPRINT_ORDER)
}

fn residue(value: i64) -> u64 {
    let size = value.unsigned_abs();
    if value < 0 { negate(size) } else { size }
}

/// Coefficients of the Alexander polynomial, constant term first, neither end 0, the first positive.
///
/// `None` if the diagram has more than [`CROSSINGS_MAX`] crossings or cannot be a knot's (the value at 1 is not +-1).
#[must_use]
pub fn polynomial(diagram: &Diagram) -> Option<Vec<i64>> {
    if diagram.crossing_count() > CROSSINGS_MAX {
        return None;
    }
    let values: Vec<u64> = (1..=diagram.crossing_count().max(1)).map(|t| minor(diagram, t as u64)).collect();
    let mut coefficients: Vec<i64> = interpolate(&values).into_iter().map(centred).collect();
    while coefficients.last() == Some(&0) {
        coefficients.pop();
    }
    let zeros = coefficients.iter().take_while(|&&c| c == 0).count();
    coefficients.drain(..zeros);
    if coefficients.iter().sum::<i64>().abs() != 1 {
        return None;
    }
    if coefficients[0] < 0 {
        coefficients.iter_mut().for_each(|c| *c = -*c);
    }
    Some(coefficients)
}

/// The polynomial of least degree that has these values at 1, 2, 3 and so on, by Newton's divided differences.
fn interpolate(values: &[u64]) -> Vec<u64> {
    let mut differences = values.to_vec();
    for order in 1..values.len() {
        let run = invert(order as u64);
        for i in (order..values.len()).rev() {
            differences[i] = multiply(subtract(differences[i], differences[i - 1]), run);
        }
    }
    let mut coefficients = vec![0; values.len()];
    for (index, difference) in differences.iter().enumerate().rev() {
        let point = index as u64 + 1;
        // coefficients * (t - point) + difference
        for i in (0..coefficients.len()).rev() {
            let below = if i == 0 { *difference } else { coefficients[i - 1] };
            coefficients[i] = subtract(below, multiply(coefficients[i], point));
        }
    }
    coefficients
}
