//! Symmetric band matrices and their Cholesky factors, in plain scalar code.
//!
//! Every sum runs in one fixed order, so the same matrix gives the same bits on every machine;
//! libraries that choose their instructions at run time do not promise that.

/// Symmetric matrix whose entries lie within `half_band` of the diagonal; the lower half is stored by rows.
#[derive(Debug, Clone)]
pub struct BandMatrix {
    order: usize,
    half_band: usize,
    entries: Vec<f64>,
}

impl BandMatrix {
    /// The zero matrix with `order` rows.
    #[must_use]
    pub fn zero(order: usize, half_band: usize) -> Self {
        Self { order, half_band, entries: vec![0.0; order * (half_band + 1)] }
    }

    /// Adds `value` to the entry at `row`, `column` and to its mirror image; call it for one of the two only.
    ///
    /// # Panics
    /// If `column > row` or the entry lies outside the band.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        assert!(column <= row && row - column <= self.half_band, "entry {row}, {column} is outside the lower band");
        let at = self.at(row, column);
        self.entries[at] += value;
    }

    /// Cholesky factor of this matrix, or the row at which it turned out not to be positive definite.
    pub fn factor(mut self) -> Result<BandCholesky, NotPositive> {
        for row in 0..self.order {
            let first = row.saturating_sub(self.half_band);
            for column in first..=row {
                let from = first.max(column.saturating_sub(self.half_band));
                let sum = dot(self.span(row, from, column), self.span(column, from, column));
                let rest = self.entries[self.at(row, column)] - sum;
                let value = if column < row {
                    rest / self.entries[self.at(column, column)]
                } else if rest > 0.0 {
                    rest.sqrt()
                } else {
                    return Err(NotPositive { row, pivot: rest });
                };
                let at = self.at(row, column);
                self.entries[at] = value;
            }
        }
        Ok(BandCholesky { lower: self })
    }

    fn at(&self, row: usize, column: usize) -> usize {
        row * (self.half_band + 1) + self.half_band + column - row
    }

    /// Entries of `row` in the columns `from..to`.
    fn span(&self, row: usize, from: usize, to: usize) -> &[f64] {
        &self.entries[self.at(row, from)..self.at(row, to)]
    }
}

/// A matrix that should be positive definite is not: something in it is held by nothing.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("the matrix is not positive definite: pivot {pivot} in row {row}, but must be above 0")]
pub struct NotPositive {
    /// First row with a pivot that is not positive.
    pub row: usize,
    /// The pivot found there.
    pub pivot: f64,
}

/// Lower triangular factor L of a band matrix L L'.
#[derive(Debug, Clone)]
pub struct BandCholesky {
    lower: BandMatrix,
}

impl BandCholesky {
    /// Turns the right side into the solution, in place.
    ///
    /// # Panics
    /// If the length is not the matrix's order.
    pub fn solve(&self, right_side: &mut [f64]) {
        let lower = &self.lower;
        assert!(right_side.len() == lower.order, "right side of {} for {} rows", right_side.len(), lower.order);
        for row in 0..lower.order {
            let first = row.saturating_sub(lower.half_band);
            let sum = dot(lower.span(row, first, row), &right_side[first..row]);
            right_side[row] = (right_side[row] - sum) / lower.entries[lower.at(row, row)];
        }
        for row in (0..lower.order).rev() {
            let first = row.saturating_sub(lower.half_band);
            let value = right_side[row] / lower.entries[lower.at(row, row)];
            right_side[row] = value;
            for (entry, above) in lower.span(row, first, row).iter().zip(&mut right_side[first..row]) {
                *above -= entry * value;
            }
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sum = 0.0;
    for (x, y) in a.iter().zip(b) {
        sum += x * y;
    }
    sum
}
