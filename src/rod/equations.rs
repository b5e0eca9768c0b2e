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
    /// Remembers what is here for [`Equations::restore`].
    pub(super) fn keep(&mut self) {
        self.matrix.keep();
        self.kept_gradient.clone_from(&self.gradient);
    }

    pub(super) fn restore(&mut self) {
        self.matrix.restore();
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

    pub(crate) fn add_force(&mut self, block: usize, force: DVec3) {
        let g = &mut self.gradient[block];
        g[0] -= force.x;
        g[1] -= force.y;
        g[2] -= force.z;
    }

    pub(crate) fn add_gradient(&mut self, block: usize, gradient: Quad) {
        for (a, b) in self.gradient[block].iter_mut().zip(gradient) {
            *a += b;
        }
    }

    pub(crate) fn add_stiffness(&mut self, i: usize, j: usize, stiffness: DMat3) {
        let m = stiffness.to_cols_array_2d();
        let mut block = [0.0; 16];
        for (c, column) in m.iter().enumerate() {
            for (r, &value) in column.iter().enumerate() {
                block[r * 4 + c] = value;
            }
        }
        self.add_block(i, j, &block);
    }

    /// Adds `scale * a b^T` at (i, j) and its mirror.
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
    pub(crate) fn add_squared(
        &mut self,
        first: usize,
        by_position: &[DMat3; 3],
        by_spin: &[DVec3; 3],
        value: DVec3,
        stiffness: f64,
    ) {
        for a in 0..3 {
            let pull = by_position[a].transpose() * value * stiffness;
            self.add_gradient(first + a, [pull.x, pull.y, pull.z, by_spin[a].dot(value) * stiffness]);
            if self.gradient_only {
                continue;
            }
            let left = by_position[a].transpose() * stiffness;
            for b in a..3 {
                let square = left * by_position[b];
                let right = left * by_spin[b];
                let bottom = by_position[b].transpose() * by_spin[a] * stiffness;
                self.add_block(
                    first + a,
                    first + b,
                    &joined(square, right, bottom, stiffness * by_spin[a].dot(by_spin[b])),
                );
            }
        }
    }

    /// Adds the tangent `stiffness` of a turn of edge `e`'s material, which its two ends' motions (`by_motion`) and its
    /// spin (about `tangent`) bring about.
    pub(crate) fn add_turning(&mut self, e: usize, by_motion: &[DMat3; 2], tangent: DVec3, stiffness: DMat3) {
        let spins = [tangent, DVec3::ZERO];
        for a in 0..2 {
            let left = by_motion[a].transpose() * stiffness;
            let left_spin = stiffness.transpose() * spins[a];
            for b in a..2 {
                let bottom = by_motion[b].transpose() * left_spin;
                let corner = left_spin.dot(spins[b]);
                self.add_block(e + a, e + b, &joined(left * by_motion[b], left * spins[b], bottom, corner));
            }
        }
    }

    pub(super) fn add_spin_stiffness(&mut self, i: usize, stiffness: f64) {
        let mut block = [0.0; 16];
        block[15] = stiffness;
        self.add_block(i, i, &block);
    }

    pub(super) fn add_block(&mut self, i: usize, j: usize, block: &Block) {
        if self.gradient_only {
            return;
        }
        if i == j { self.matrix.add_diagonal(i, block) } else { self.matrix.add_pair(i, j, block) }
    }
}

/// A 4x4 block from its position square, the column and row that couple position and spin, and its corner.
pub(super) fn joined(square: DMat3, right: DVec3, bottom: DVec3, corner: f64) -> Block {
    let m = square.to_cols_array_2d();
    [
        [m[0][0], m[1][0], m[2][0], right.x],
        [m[0][1], m[1][1], m[2][1], right.y],
        [m[0][2], m[1][2], m[2][2], right.z],
        [bottom.x, bottom.y, bottom.z, corner],
    ]
    .as_flattened()
    .try_into()
    .expect("sixteen numbers")
}
