//! A direct solver for symmetric positive definite systems of 4x4 blocks: block L D L^T in minimum-degree order.
//!
//! The thread's tangent is a narrow band plus a few far couplings where strands touch, hang in a jaw or pass a hole.
//! One factorisation of it is exact and costs less than a single sweep of an iterative method would gain.
//!
//! Source for the ordering and the right-looking scheme: George & Liu 1981, Computer Solution of Large Sparse
//! Positive Definite Systems, chapters 5 and 6.

/// One 4x4 block, row by row.
pub type Block = [f64; 16];
/// One block of unknowns: x, y, z [mm] and spin [rad].
pub type Quad = [f64; 4];

/// A matrix with a fixed pattern, its factors and the room to solve with it.
#[derive(Debug, Clone, Default)]
pub struct BlockSystem {
    size: usize,
    /// Elimination position of each unknown.
    position: Vec<usize>,
    /// Unknown at each elimination position.
    order: Vec<usize>,
    /// Neighbours of each unknown, ascending, with the slot of the block that couples them.
    neighbours: Vec<Vec<(usize, usize)>>,
    /// First factor block of each eliminated column.
    column_start: Vec<usize>,
    /// Elimination position of each factor block's row.
    row: Vec<usize>,
    /// Target slot of every update, in the order the factorisation meets them; diagonal targets are `usize::MAX - row`.
    targets: Vec<usize>,
    diagonal: Vec<Block>,
    off_diagonal: Vec<Block>,
    kept: (Vec<Block>, Vec<Block>),
    inverse: Vec<Block>,
    scaled: Vec<Block>,
}

const ZERO: Block = [0.0; 16];

impl BlockSystem {
    /// Prepares a system of `size` unknown blocks coupled by `pairs` (i, j), i != j, in any order, repeats allowed.
    pub fn set_pattern(&mut self, size: usize, pairs: &[(usize, usize)]) {
        self.size = size;
        let words = size.div_ceil(64);
        let mut adjacency = vec![0u64; size * words];
        for &(i, j) in pairs {
            adjacency[i * words + j / 64] |= 1 << (j % 64);
            adjacency[j * words + i / 64] |= 1 << (i % 64);
        }
        let original = adjacency.clone();
        self.eliminate(&mut adjacency, words);
        self.map_pairs(&original, words);
    }

    /// Minimum-degree elimination on bit sets; leaves the structure of every factor column.
    fn eliminate(&mut self, adjacency: &mut [u64], words: usize) {
        let n = self.size;
        let degree_of = |row: &[u64]| row.iter().map(|w| w.count_ones()).sum::<u32>();
        let mut degree: Vec<u32> = (0..n).map(|i| degree_of(&adjacency[i * words..(i + 1) * words])).collect();
        let mut done = vec![false; n];
        self.order.clear();
        self.position = vec![0; n];
        let mut columns: Vec<Vec<usize>> = Vec::with_capacity(n);
        for step in 0..n {
            let mut pivot = usize::MAX;
            for i in 0..n {
                if !done[i] && (pivot == usize::MAX || degree[i] < degree[pivot]) {
                    pivot = i;
                }
            }
            done[pivot] = true;
            self.order.push(pivot);
            self.position[pivot] = step;
            let clique: Vec<u64> = adjacency[pivot * words..(pivot + 1) * words].to_vec();
            let members: Vec<usize> = bits(&clique).collect();
            for &m in &members {
                let row = &mut adjacency[m * words..(m + 1) * words];
                for (a, c) in row.iter_mut().zip(&clique) {
                    *a |= c;
                }
                row[m / 64] &= !(1 << (m % 64));
                row[pivot / 64] &= !(1 << (pivot % 64));
                degree[m] = degree_of(row);
            }
            columns.push(members);
        }
        self.column_start.clear();
        self.row.clear();
        for members in &columns {
            self.column_start.push(self.row.len());
            let mut rows: Vec<usize> = members.iter().map(|&m| self.position[m]).collect();
            rows.sort_unstable();
            self.row.extend(rows);
        }
        self.column_start.push(self.row.len());
        self.record_targets();
        self.diagonal = vec![ZERO; n];
        self.inverse = vec![ZERO; n];
        self.off_diagonal = vec![ZERO; self.row.len()];
        self.scaled = vec![ZERO; self.row.len()];
    }

    fn record_targets(&mut self) {
        self.targets.clear();
        for k in 0..self.size {
            let rows = self.column_start[k]..self.column_start[k + 1];
            for b in rows.clone() {
                let column = self.row[b];
                self.targets.push(usize::MAX - column);
                let mut at = self.column_start[column];
                for a in b + 1..rows.end {
                    while self.row[at] != self.row[a] {
                        at += 1;
                    }
                    self.targets.push(at);
                }
            }
        }
    }

    fn map_pairs(&mut self, original: &[u64], words: usize) {
        self.neighbours = vec![Vec::new(); self.size];
        for i in 0..self.size {
            for j in bits(&original[i * words..(i + 1) * words]) {
                let (column, row) = ordered(self.position[i], self.position[j]);
                let range = self.column_start[column]..self.column_start[column + 1];
                let slot = range.start + self.row[range].partition_point(|&r| r < row);
                self.neighbours[i].push((j, slot));
            }
        }
    }

    /// Whether the pattern has a block for the pair.
    #[must_use]
    pub fn couples(&self, i: usize, j: usize) -> bool {
        i == j || self.neighbours[i].iter().any(|&(k, _)| k == j)
    }

    /// Remembers the entries for [`BlockSystem::restore`].
    pub fn keep(&mut self) {
        self.kept.0.clone_from(&self.diagonal);
        self.kept.1.clone_from(&self.off_diagonal);
    }

    /// Puts the kept entries back, after a factorisation has used them up. The pattern must not have changed since.
    pub fn restore(&mut self) {
        self.diagonal.clone_from(&self.kept.0);
        self.off_diagonal.clone_from(&self.kept.1);
    }

    /// Sets every entry to zero.
    pub fn clear(&mut self) {
        self.diagonal.fill(ZERO);
        self.off_diagonal.fill(ZERO);
    }

    /// Adds to the diagonal block of unknown `i`.
    pub fn add_diagonal(&mut self, i: usize, block: &Block) {
        for (a, b) in self.diagonal[self.position[i]].iter_mut().zip(block) {
            *a += b;
        }
    }

    /// Adds the block that couples rows of `i` with columns of `j` (and its transpose at (j, i)), i != j.
    ///
    /// # Panics
    /// If the pair is not in the pattern.
    pub fn add_pair(&mut self, i: usize, j: usize, block: &Block) {
        let slot = self.neighbours[i].iter().find(|&&(k, _)| k == j).expect("the pair is in the pattern").1;
        let target = &mut self.off_diagonal[slot];
        if self.position[i] > self.position[j] {
            for (a, b) in target.iter_mut().zip(block) {
                *a += b;
            }
        } else {
            for r in 0..4 {
                for c in 0..4 {
                    target[r * 4 + c] += block[c * 4 + r];
                }
            }
        }
    }

    /// The product with a vector, of a matrix that is not factored yet.
    #[cfg(test)]
    pub(super) fn times(&self, vector: &[Quad]) -> Vec<Quad> {
        let mut product = vec![[0.0; 4]; self.size];
        for i in 0..self.size {
            let mut add = |entry: &dyn Fn(usize, usize) -> f64, by: &Quad| {
                for (r, value) in product[i].iter_mut().enumerate() {
                    *value += by.iter().enumerate().map(|(c, by)| entry(r, c) * by).sum::<f64>();
                }
            };
            add(&|r, c| self.diagonal[self.position[i]][r * 4 + c], &vector[i]);
            for &(j, slot) in &self.neighbours[i] {
                let block = &self.off_diagonal[slot];
                let upright = self.position[i] > self.position[j];
                add(&|r, c| if upright { block[r * 4 + c] } else { block[c * 4 + r] }, &vector[j]);
            }
        }
        product
    }

    /// Factors the matrix in place. False if a pivot is not positive, which means the matrix was not positive definite.
    pub fn factor(&mut self) -> bool {
        let mut next_target = 0;
        for k in 0..self.size {
            let Some(inverse) = invert(&self.diagonal[k]) else { return false };
            self.inverse[k] = inverse;
            let rows = self.column_start[k]..self.column_start[k + 1];
            for a in rows.clone() {
                self.scaled[a] = multiply(&self.off_diagonal[a], &inverse);
            }
            for b in rows.clone() {
                let target = usize::MAX - self.targets[next_target];
                next_target += 1;
                subtract_product(&mut self.diagonal[target], &self.scaled[b], &self.off_diagonal[b]);
                let right = self.off_diagonal[b];
                for a in b + 1..rows.end {
                    let target = self.targets[next_target];
                    next_target += 1;
                    let left = self.scaled[a];
                    subtract_product(&mut self.off_diagonal[target], &left, &right);
                }
            }
        }
        true
    }

    /// Solves with the factors; `right_side` becomes the solution.
    pub fn solve(&self, right_side: &mut [Quad]) {
        let mut y: Vec<Quad> = self.order.iter().map(|&i| right_side[i]).collect();
        for k in 0..self.size {
            let yk = y[k];
            for at in self.column_start[k]..self.column_start[k + 1] {
                let l = &self.scaled[at];
                let target = &mut y[self.row[at]];
                for r in 0..4 {
                    target[r] -= l[r * 4] * yk[0] + l[r * 4 + 1] * yk[1] + l[r * 4 + 2] * yk[2] + l[r * 4 + 3] * yk[3];
                }
            }
        }
        for k in (0..self.size).rev() {
            let d = &self.inverse[k];
            let yk = y[k];
            let mut x = [0.0; 4];
            for r in 0..4 {
                x[r] = d[r * 4] * yk[0] + d[r * 4 + 1] * yk[1] + d[r * 4 + 2] * yk[2] + d[r * 4 + 3] * yk[3];
            }
            for at in self.column_start[k]..self.column_start[k + 1] {
                let l = &self.scaled[at];
                let v = &y[self.row[at]];
                for c in 0..4 {
                    x[c] -= l[c] * v[0] + l[4 + c] * v[1] + l[8 + c] * v[2] + l[12 + c] * v[3];
                }
            }
            y[k] = x;
        }
        for (k, &i) in self.order.iter().enumerate() {
            right_side[i] = y[k];
        }
    }
}

fn bits(words: &[u64]) -> impl Iterator<Item = usize> + '_ {
    words.iter().enumerate().flat_map(|(w, &word)| {
        let mut rest = word;
        std::iter::from_fn(move || {
            if rest == 0 {
                return None;
            }
            let bit = rest.trailing_zeros() as usize;
            rest &= rest - 1;
            Some(w * 64 + bit)
        })
    })
}

fn ordered(a: usize, b: usize) -> (usize, usize) {
    if a < b { (a, b) } else { (b, a) }
}

fn multiply(a: &Block, b: &Block) -> Block {
    let mut c = ZERO;
    for r in 0..4 {
        for k in 0..4 {
            let ark = a[r * 4 + k];
            for j in 0..4 {
                c[r * 4 + j] += ark * b[k * 4 + j];
            }
        }
    }
    c
}

/// target -= left * right^T
fn subtract_product(target: &mut Block, left: &Block, right: &Block) {
    let mut transposed = ZERO;
    for r in 0..4 {
        for c in 0..4 {
            transposed[c * 4 + r] = right[r * 4 + c];
        }
    }
    for r in 0..4 {
        for k in 0..4 {
            let lrk = left[r * 4 + k];
            for j in 0..4 {
                target[r * 4 + j] -= lrk * transposed[k * 4 + j];
            }
        }
    }
}

/// Inverse of a symmetric positive definite block by its L D L^T.
fn invert(a: &Block) -> Option<Block> {
    let mut l = [[0.0; 4]; 4];
    let mut d = [0.0; 4];
    for j in 0..4 {
        let mut pivot = a[j * 4 + j];
        for k in 0..j {
            pivot -= l[j][k] * l[j][k] * d[k];
        }
        if !(pivot > 0.0 && pivot.is_finite()) {
            return None;
        }
        d[j] = pivot;
        for i in j + 1..4 {
            let mut v = a[i * 4 + j];
            for k in 0..j {
                v -= l[i][k] * l[j][k] * d[k];
            }
            l[i][j] = v / pivot;
        }
    }
    let mut m = [[1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [0.0, 0.0, 0.0, 1.0]];
    for (i, factors) in l.iter().enumerate().skip(1) {
        let (above, below) = m.split_at_mut(i);
        for (k, row) in above.iter().enumerate() {
            for (value, v) in below[0].iter_mut().zip(row) {
                *value -= factors[k] * v;
            }
        }
    }
    let mut inverse = ZERO;
    for r in 0..4 {
        for c in 0..4 {
            let first = r.max(c);
            let mut v = 0.0;
            for k in first..4 {
                v += m[k][r] * m[k][c] / d[k];
            }
            inverse[r * 4 + c] = v;
        }
    }
    Some(inverse)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};

    #[test]
    fn the_solution_of_a_random_coupled_chain_satisfies_its_equations() {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(7);
        let n = 60;
        let mut pairs: Vec<(usize, usize)> = (1..n).map(|i| (i, i - 1)).collect();
        pairs.extend([(3, 40), (50, 7), (7, 3), (12, 59), (59, 30)]);
        let mut system = BlockSystem::default();
        system.set_pattern(n, &pairs);
        system.clear();
        let mut dense = vec![vec![0.0; 4 * n]; 4 * n];
        for i in 0..n {
            let mut block = ZERO;
            for r in 0..4 {
                for c in 0..=r {
                    let v = if r == c { 30.0 + random.random::<f64>() } else { random.random::<f64>() };
                    block[r * 4 + c] = v;
                    block[c * 4 + r] = v;
                }
            }
            system.add_diagonal(i, &block);
            for r in 0..4 {
                for c in 0..4 {
                    dense[4 * i + r][4 * i + c] += block[r * 4 + c];
                }
            }
        }
        for &(i, j) in &pairs {
            let block: Block = std::array::from_fn(|_| random.random::<f64>() - 0.5);
            system.add_pair(i, j, &block);
            for r in 0..4 {
                for c in 0..4 {
                    dense[4 * i + r][4 * j + c] += block[r * 4 + c];
                    dense[4 * j + c][4 * i + r] += block[r * 4 + c];
                }
            }
        }
        let wanted: Vec<Quad> = (0..n).map(|_| std::array::from_fn(|_| random.random::<f64>() - 0.5)).collect();
        let flat: Vec<f64> = wanted.iter().flatten().copied().collect();
        let mut right: Vec<Quad> =
            (0..n).map(|i| std::array::from_fn(|r| (0..4 * n).map(|c| dense[4 * i + r][c] * flat[c]).sum())).collect();
        assert!(system.factor());
        system.solve(&mut right);
        for (got, want) in right.iter().flatten().zip(&flat) {
            // The matrix is diagonally dominant (condition below 10), so round-off stays near 1e-15.
            assert!((got - want).abs() < 1e-12, "got {got}, want {want}");
        }
    }
}
