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

/// `a` to the power of `exponent`.
pub(super) fn power(a: u64, exponent: u64) -> u64 {
    let (mut result, mut square, mut left) = (1, a, exponent);
    while left > 0 {
        if left % 2 == 1 {
            result = multiply(result, square);
        }
        square = multiply(square, square);
        left /= 2;
    }
    result
}

/// The inverse of `a`, which must not be 0, by Euclid's algorithm.
pub(super) fn invert(a: u64) -> u64 {
    assert!(a != 0, "0 has no inverse");
    let prime = PRIME.cast_signed();
    let (mut remainder, mut next) = (prime, a.cast_signed());
    // No larger in size than the modulus at any step.
    let (mut inverse, mut inverse_next) = (0, 1);
    while next != 0 {
        let quotient = remainder / next;
        (remainder, next) = (next, remainder - quotient * next);
        (inverse, inverse_next) = (inverse_next, inverse - quotient * inverse_next);
    }
    inverse.rem_euclid(prime).cast_unsigned()
}

/// The integer of smallest size with this residue.
pub(super) fn centred(a: u64) -> i64 {
    let value = i64::try_from(a).expect("a residue is below 2^61");
    if a > PRIME / 2 { value - i64::try_from(PRIME).expect("below 2^61") } else { value }
}

/// Determinant of the `size` x `size` matrix held by rows; the matrix is used up.
pub(super) fn determinant(matrix: &mut [u64], size: usize) -> u64 {
    let mut result = 1;
    let mut above = Vec::with_capacity(size);
    for column in 0..size {
        let entry = |row: &usize| matrix[row * size + column];
        // The inverses of 1 and -1 cost nothing.
        let unit = (column..size).find(|row| entry(row) == 1 || entry(row) == PRIME - 1);
        let Some(pivot) = unit.or_else(|| (column..size).find(|row| entry(row) != 0)) else { return 0 };
        if pivot != column {
            for k in column..size {
                matrix.swap(pivot * size + k, column * size + k);
            }
            result = negate(result);
        }
        let head = matrix[column * size + column];
        result = multiply(result, head);
        let inverse = invert(head);
        above.clear();
        above.extend((column..size).map(|k| (k, matrix[column * size + k])).filter(|&(_, entry)| entry != 0));
        for row in column + 1..size {
            if matrix[row * size + column] == 0 {
                continue;
            }
            let factor = negate(multiply(matrix[row * size + column], inverse));
            for &(k, entry) in &above {
                matrix[row * size + k] = add(matrix[row * size + k], multiply(factor, entry));
            }
        }
    }
    result
}
