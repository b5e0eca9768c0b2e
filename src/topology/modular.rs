//! Arithmetic modulo the Mersenne prime 2^61 - 1, for determinants that must be exact.

/// The modulus.
pub(super) const PRIME: u64 = (1 << 61) - 1;

pub(super) fn add(a: u64, b: u64) -> u64 {
    let sum = a + b;
    if sum >= PRIME { sum - PRIME } else { sum }
}

pub(super) fn negate(a: u64) -> u64 {
    if a == 0 { 0 } else { PRIME - a }
}

pub(super) fn subtract(a: u64, b: u64) -> u64 {
    add(a, negate(b))
}

#[expect(clippy::cast_possible_truncation, reason = "both halves are below 2^61 after the shift and the mask")]
pub(super) fn multiply(a: u64, b: u64) -> u64 {
    let product = u128::from(a) * u128::from(b);
    add((product >> 61) as u64, (product as u64) & PRIME)
}

/// The inverse of `a`, which must not be 0, by Euclid's algorithm.
pub(super) fn invert(a: u64) -> u64 {
    assert!(a != 0, "0 has no inverse");
    let (mut remainder, mut next) = (i128::from(PRIME), i128::from(a));
    let (mut inverse, mut inverse_next) = (0_i128, 1_i128);
    while next != 0 {
        let quotient = remainder / next;
        (remainder, next) = (next, remainder - quotient * next);
        (inverse, inverse_next) = (inverse_next, inverse - quotient * inverse_next);
    }
    u64::try_from(inverse.rem_euclid(i128::from(PRIME))).expect("a residue fits")
}

/// The integer of smallest size with this residue.
pub(super) fn centred(a: u64) -> i64 {
    let value = i64::try_from(a).expect("a residue is below 2^61");
    if a > PRIME / 2 { value - i64::try_from(PRIME).expect("below 2^61") } else { value }
}

/// Determinant of the `size` x `size` matrix held by rows; the matrix is used up.
pub(super) fn determinant(matrix: &mut [u64], size: usize) -> u64 {
    let mut result = 1;
    for column in 0..size {
        let Some(pivot) = (column..size).find(|&row| matrix[row * size + column] != 0) else { return 0 };
        if pivot != column {
            for k in column..size {
                matrix.swap(pivot * size + k, column * size + k);
            }
            result = negate(result);
        }
        let head = matrix[column * size + column];
        result = multiply(result, head);
        let inverse = invert(head);
        for row in column + 1..size {
            if matrix[row * size + column] == 0 {
                continue;
            }
            let factor = negate(multiply(matrix[row * size + column], inverse));
            for k in column..size {
                let above = matrix[column * size + k];
                if above != 0 {
                    matrix[row * size + k] = add(matrix[row * size + k], multiply(factor, above));
                }
            }
        }
    }
    result
}
