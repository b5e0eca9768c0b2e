//! The linear system of one Newton iteration: one 4x4 block (place and spin) for each unknown.

use super::sparse::{Block, BlockSystem, Quad};
use crate::math::{DMat3, DVec3};

/// The linear system of one Newton iteration.
#[derive(Debug, Clone, Default)]
pub struct Equations {
    pub(super) matrix: BlockSystem,
    pub(super) gradient: Vec<Quad>,
    pub(super) kept_gradient: Vec<Quad>,
    /// Whether only the gradient is wanted.
    pub(super) gradient_only: bool,
    /// Whether the tangent is the true one, which need not be positive; else what could make it negative is left out.
    pub(super) exact: bool,
}

impl Equations {
    /// Remembers the gradient for [`Equations::load`].
    pub(super) fn keep(&mut self) {
        self.kept_gradient.clone_from(&self.gradient);
    }

    /// Lays the matrix out for a factorisation, beside the gradient that was kept. What is added from here on lasts for
    /// that one only.
    pub(super) fn load(&mut self) {
        self.matrix.load();
        self.gradient.clone_from(&self.kept_gradient);
    }

    pub(super) fn clear(&mut self, blocks: usize) {
        if !self.gradient_only {
            self.matrix.clear();
        }
        self.gradient.clear();
        self.gradient.resize(blocks, [0.0; 4]);
    }

    pub(crate) fn gradient_only(&self) -> bool {
        self.gradient_only
    }

    pub(crate) fn exact(&self) -> bool {
        self.exact
    }

    #[inline(always)]
    pub(crate) fn add_force(&mut self, block: usize, force: DVec3) {
        let g = &mut self.gradient[block];
        g[0] -= force.x;
        g[1] -= force.y;
        g[2] -= force.z;
    }

    #[inline(always)]
    pub(crate) fn add_gradient(&mut self, block: usize, gradient: Quad) {
        for (a, b) in self.gradient[block].iter_mut().zip(gradient) {
            *a += b;
        }
    }

    #[inline(always)]
    pub(crate) fn add_stiffness(&mut self, i: usize, j: usize, stiffness: DMat3) {
        if self.gradient_only {
            return;
        }
        if i == j { self.matrix.add_own_square(i, &stiffness) } else { self.matrix.add_pair_square(i, j, &stiffness) }
    }

    /// The same alike in all directions.
    #[inline(always)]
    pub(crate) fn add_even_stiffness(&mut self, i: usize, j: usize, stiffness: f64) {
        if self.gradient_only {
            return;
        }
        let by = [stiffness, stiffness, stiffness, 0.0];
        if i == j { self.matrix.add_trace(i, by) } else { self.matrix.add_pair_trace(i, j, by) }
    }

    /// Adds `scale * a b^T` at (i, j) and its mirror.
    #[inline(always)]
    pub(crate) fn add_outer(&mut self, i: usize, j: usize, a: Quad, b: Quad, scale: f64) {
        let mut block = [0.0; 16];
        for r in 0..4 {
            for c in 0..4 {
                block[r * 4 + c] = scale * a[r] * b[c];
            }
        }
        self.add_block(i, j, &block);
    }

    /// Adds the energy `stiffness / 2 |value|^2` of a vector that three blocks from `first` on change linearly.
    #[inline(always)]
    pub(crate) fn add_squared(&mut self, first: usize, by: &[Rows; 3], value: DVec3, stiffness: f64) {
        for (a, rows) in by.iter().enumerate() {
            self.add_gradient(first + a, scaled(weighted(rows, value.to_array()), stiffness));
        }
        if self.gradient_only {
            return;
        }
        for (a, left) in by.iter().enumerate() {
            for (b, right) in by.iter().enumerate().skip(a) {
                let mut block = [[0.0; 4]; 4];
                for (r, row) in block.iter_mut().take(3).enumerate() {
                    *row = weighted(right, [left[0][r] * stiffness, left[1][r] * stiffness, left[2][r] * stiffness]);
                }
                block[3] = scaled(weighted(right, [left[0][3], left[1][3], left[2][3]]), stiffness);
                self.add_block(first + a, first + b, &flat(&block));
            }
        }
    }

    /// Adds the symmetric tangent `stiffness` of a turn of edge `e`'s material, which its two ends' motions (`by_motion`
    /// of the second against the first) and its spin (about `tangent`) bring about.
    #[inline(always)]
    pub(crate) fn add_turning(&mut self, e: usize, by_motion: &DMat3, tangent: DVec3, stiffness: DMat3) {
        let left = by_motion.transpose() * stiffness;
        let square = left * *by_motion;
        let spun = stiffness * tangent;
        let by_spin = left * tangent;
        let bottom = by_motion.transpose() * spun;
        self.add_block(e, e, &joined(square, -by_spin, -bottom, spun.dot(tangent)));
        self.add_block(e, e + 1, &joined(-square, DVec3::ZERO, bottom, 0.0));
        self.add_stiffness(e + 1, e + 1, square);
    }

    /// Adds to the diagonal of a block's own tangent.
    #[inline(always)]
    pub(super) fn add_trace(&mut self, i: usize, by: Quad) {
        if !self.gradient_only {
            self.matrix.add_trace(i, by);
        }
    }

    pub(super) fn add_spin_stiffness(&mut self, i: usize, stiffness: f64) {
        self.add_trace(i, [0.0, 0.0, 0.0, stiffness]);
    }

    #[inline(always)]
    pub(super) fn add_block(&mut self, i: usize, j: usize, block: &Block) {
        if self.gradient_only {
            return;
        }
        if i == j { self.matrix.add_diagonal(i, block) } else { self.matrix.add_pair(i, j, block) }
    }
}

/// A 4x4 block from its position square, the column and row that couple position and spin, and its corner.
#[inline(always)]
pub(super) fn joined(square: DMat3, right: DVec3, bottom: DVec3, corner: f64) -> Block {
    let m = square.to_cols_array_2d();
    [
        m[0][0], m[1][0], m[2][0], right.x, //
        m[0][1], m[1][1], m[2][1], right.y, //
        m[0][2], m[1][2], m[2][2], right.z, //
        bottom.x, bottom.y, bottom.z, corner,
    ]
}

/// How the three components of a vector change with one block of unknowns.
pub(crate) type Rows = [Quad; 3];

/// The rows of a matrix by position, each with its entry by spin behind.
#[inline(always)]
pub(crate) fn rows(by_position: &DMat3, by_spin: DVec3) -> Rows {
    let m = by_position.to_cols_array_2d();
    let spin = by_spin.to_array();
    std::array::from_fn(|r| [m[0][r], m[1][r], m[2][r], spin[r]])
}

/// The sum of the rows, each times its weight.
#[inline(always)]
fn weighted(rows: &Rows, weights: [f64; 3]) -> Quad {
    let mut sum = [0.0; 4];
    for (c, sum) in sum.iter_mut().enumerate() {
        *sum = rows[0][c] * weights[0] + rows[1][c] * weights[1] + rows[2][c] * weights[2];
    }
    sum
}

#[inline(always)]
fn scaled(mut quad: Quad, by: f64) -> Quad {
    for value in &mut quad {
        *value *= by;
    }
    quad
}

#[inline(always)]
fn flat(block: &[Quad; 4]) -> Block {
    block.as_flattened().try_into().expect("sixteen numbers")
}
