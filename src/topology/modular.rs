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
    let mut rows: Vec<&mut [u64]> = matrix.chunks_exact_mut(size.max(1)).collect();
    let (mut touched, mut above) = (Vec::with_capacity(size), Vec::with_capacity(size));
    // Division is slow: rows are multiplied instead, and all is divided by that once, at the end.
    let (mut result, mut divisor) = (1, 1);
    for column in 0..size {
        touched.clear();
        touched.extend((column..size).filter(|&row| rows[row][column] != 0));
        // Nothing need be multiplied for 1 and -1.
        let is_unit = |&row: &usize| rows[row][column] == 1 || rows[row][column] == PRIME - 1;
        let Some(pivot) = touched.iter().copied().find(is_unit).or(touched.first().copied()) else { return 0 };
        if pivot != column {
            rows.swap(pivot, column);
            result = negate(result);
        }
        let (pivot_rows, below) = rows.split_at_mut(column + 1);
        let pivot_row = &pivot_rows[column];
        let head = pivot_row[column];
        result = multiply(result, head);
        above.clear();
        above.extend((column + 1..size).map(|k| (k, pivot_row[k])).filter(|&(_, entry)| entry != 0));
        for row in touched.iter().filter(|&&row| row > column) {
            let row = &mut below[row - column - 1];
            let mut factor = row[column];
            // The row that made way for the pivot's may have nothing here.
            if factor == 0 {
                continue;
            }
            if head != PRIME - 1 {
                factor = negate(factor);
            }
            if head != 1 && head != PRIME - 1 {
                divisor = multiply(divisor, head);
                for entry in row[column + 1..].iter_mut().filter(|entry| **entry != 0) {
                    *entry = multiply(*entry, head);
                }
            }
            for &(k, entry) in &above {
                row[k] = add(row[k], multiply(factor, entry));
            }
        }
    }
    if divisor == 1 { result } else { multiply(result, invert(divisor)) }
}
