//! A direct solver for symmetric positive definite systems of 4x4 blocks: block L D L^T in minimum-degree order.
//!
//! The thread's tangent is a narrow band plus a few far couplings where strands touch, hang in a jaw or pass a hole.
//! One factorisation of it is exact and costs less than a single sweep of an iterative method would gain.
//!
//! Source for the ordering and the right-looking scheme: George & Liu 1981, Computer Solution of Large Sparse
//! Positive Definite Systems, chapters 5 and 6.

use crate::math::{DMat3, Wide, widest};

/// One 4x4 block, row by row.
pub type Block = [f64; 16];
/// One block of unknowns: x, y, z [mm] and spin [rad].
pub type Quad = [f64; 4];

/// A matrix with a fixed pattern, its factors and the room to solve with it.
///
/// Entries are put together by unknown, apart from the pattern, so that a new pattern costs no new entries. For a
/// factorisation they are laid out in the order of elimination ([`BlockSystem::load`]), where more may be added on top.
///
/// A factorisation takes up from the one before what that made of the same numbers: a column is eliminated anew only if
/// its entries, or those of a column that bears on it, are others. The factors are the same to the last bit either way.
#[derive(Debug, Clone, Default)]
pub struct BlockSystem {
    size: usize,
    /// Elimination position of each unknown.
    position: Vec<usize>,
    /// Unknown at each elimination position.
    order: Vec<usize>,
    /// Blocks of each unknown with itself.
    own: Vec<Block>,
    /// Blocks of each unknown with the next one and the one after that: rows of the lower, columns of the higher.
    chain: Vec<[Coupling; 2]>,
    /// The other couplings, ascending.
    far: Vec<((usize, usize), Coupling)>,
    /// Whether what is added now is only for the next factorisation.
    loaded: bool,
    /// Whether the entries themselves are others than when they were last laid out.
    renewed: bool,
    /// What was added to since it was laid out: diagonal blocks by elimination position, and pairs.
    topped: (Vec<usize>, Vec<Pair>),
    /// First factor block of each eliminated column.
    column_start: Vec<usize>,
    /// Elimination position of each factor block's row.
    row: Vec<usize>,
    /// Slot of every update of a block off the diagonal, in the order in which the factorisation meets them.
    targets: Vec<usize>,
    /// First update of each eliminated column.
    target_start: Vec<usize>,
    /// What is to be factored.
    given: Columns,
    /// Columns that were added to after they were laid out, as they were factored last; of the others, nothing.
    factored: Columns,
    kept: Vec<bool>,
    /// Which columns may differ from what was factored last, beside all where `renewed` was found.
    suspect: Vec<bool>,
    all_suspect: bool,
    /// What the elimination made of it.
    eliminated: Columns,
    inverse: Vec<Block>,
    scaled: Vec<Block>,
}

/// Blocks in the order of elimination: on the diagonal, and below it.
#[derive(Debug, Clone, Default)]
struct Columns {
    diagonal: Vec<Block>,
    below: Vec<Block>,
}

impl Columns {
    fn resize(&mut self, columns: usize, blocks: usize) {
        self.diagonal.resize(columns, ZERO);
        self.below.resize(blocks, ZERO);
    }
}

/// The block that couples a lower unknown (rows) with a higher one (columns).
#[derive(Debug, Clone, Copy)]
struct Coupling {
    block: Block,
    seat: Option<Seat>,
}

/// Two coupled unknowns, and where their coupling is among the far ones, if it is one.
#[derive(Debug, Clone, Copy)]
struct Pair {
    low: usize,
    high: usize,
    far: usize,
}

/// Where a coupling's block is laid out for a factorisation.
#[derive(Debug, Clone, Copy)]
struct Seat {
    slot: usize,
    /// Whether the higher unknown is eliminated later, so that the block lies transposed.
    turned: bool,
}

impl Coupling {
    fn lay_out(&self, below: &mut [Block]) {
        if let Some(seat) = self.seat {
            below[seat.slot] = if seat.turned { transposed(&self.block) } else { self.block };
        }
    }
}

const ZERO: Block = [0.0; 16];
const APART: Coupling = Coupling { block: ZERO, seat: None };

impl BlockSystem {
    /// Prepares a system of `size` unknown blocks coupled by `pairs` (i, j), i != j, in any order, repeats allowed.
    ///
    /// Entries so far are kept, if the size is, where the new pattern has a place for them.
    pub fn set_pattern(&mut self, size: usize, pairs: &[(usize, usize)]) {
        if size != self.size {
            self.own = vec![ZERO; size];
            self.chain = vec![[APART; 2]; size];
            self.far.clear();
        }
        self.size = size;
        let words = size.div_ceil(64);
        let mut adjacency = vec![0u64; size * words];
        for &(i, j) in pairs {
            adjacency[i * words + j / 64] |= 1 << (j % 64);
            adjacency[j * words + i / 64] |= 1 << (i % 64);
        }
        let original = adjacency.clone();
        self.eliminate(&mut adjacency, words);
        self.record_targets();
        self.seat_couplings(&original, words);
        // What is given where the elimination fills in is zero from here on: nothing is laid out there.
        self.given.below.clear();
        for columns in [&mut self.given, &mut self.factored, &mut self.eliminated] {
            columns.resize(size, self.row.len());
        }
        self.inverse.resize(size, ZERO);
        self.scaled.resize(self.row.len(), ZERO);
        self.renewed = true;
        self.forget();
    }

    /// Lets the next factorisation begin from nothing.
    fn forget(&mut self) {
        self.kept.resize(self.size, false);
        self.suspect.resize(self.size, false);
        self.all_suspect = true;
    }

    /// Minimum-degree elimination on bit sets; leaves the structure of every factor column.
    fn eliminate(&mut self, adjacency: &mut [u64], words: usize) {
        const DONE: u32 = u32::MAX;
        let degree_of = |row: &[u64]| row.iter().map(|w| w.count_ones()).sum::<u32>();
        let mut degree: Vec<u32> = (0..self.size).map(|i| degree_of(&adjacency[i * words..(i + 1) * words])).collect();
        let mut clique = vec![0u64; words];
        // No degree is below this: an elimination takes at most one neighbour from any unknown.
        let mut floor = 0;
        self.order.clear();
        self.position.clear();
        self.position.resize(self.size, 0);
        self.column_start.clear();
        self.row.clear();
        for step in 0..self.size {
            let (mut pivot, mut least) = (0, DONE);
            for (i, &d) in degree.iter().enumerate() {
                if d < least {
                    (pivot, least) = (i, d);
                    if d <= floor {
                        break;
                    }
                }
            }
            floor = least.saturating_sub(1);
            degree[pivot] = DONE;
            self.order.push(pivot);
            self.position[pivot] = step;
            self.column_start.push(self.row.len());
            clique.copy_from_slice(&adjacency[pivot * words..(pivot + 1) * words]);
            for m in bits(&clique) {
                let row = &mut adjacency[m * words..(m + 1) * words];
                for (a, c) in row.iter_mut().zip(&clique) {
                    *a |= c;
                }
                row[m / 64] &= !(1 << (m % 64));
                row[pivot / 64] &= !(1 << (pivot % 64));
                degree[m] = degree_of(row);
                self.row.push(m);
            }
        }
        self.column_start.push(self.row.len());
        self.row.iter_mut().for_each(|unknown| *unknown = self.position[*unknown]);
        for column in self.column_start.windows(2) {
            self.row[column[0]..column[1]].sort_unstable();
        }
    }

    fn record_targets(&mut self) {
        self.targets.clear();
        self.target_start.clear();
        for k in 0..self.size {
            self.target_start.push(self.targets.len());
            let rows = self.column_start[k]..self.column_start[k + 1];
            for b in rows.clone() {
                let mut at = self.column_start[self.row[b]];
                for a in b + 1..rows.end {
                    while self.row[at] != self.row[a] {
                        at += 1;
                    }
                    self.targets.push(at);
                }
            }
        }
    }

    /// Gives every coupling of the pattern its place among the factor blocks.
    fn seat_couplings(&mut self, original: &[u64], words: usize) {
        let seat = |i: usize, j: usize| {
            let (column, row) = ordered(self.position[i], self.position[j]);
            let range = self.column_start[column]..self.column_start[column + 1];
            let slot = range.start + self.row[range].partition_point(|&r| r < row);
            Some(Seat { slot, turned: self.position[i] < self.position[j] })
        };
        let before = std::mem::take(&mut self.far);
        for i in 0..self.size {
            self.chain[i].iter_mut().for_each(|coupling| coupling.seat = None);
            for j in bits(&original[i * words..(i + 1) * words]).filter(|&j| j > i) {
                if j - i <= 2 {
                    self.chain[i][j - i - 1].seat = seat(i, j);
                } else {
                    let known = before.binary_search_by_key(&(i, j), |(pair, _)| *pair);
                    let block = known.map_or(ZERO, |at| before[at].1.block);
                    self.far.push(((i, j), Coupling { block, seat: seat(i, j) }));
                }
            }
        }
    }

    /// The coupling of a lower with a higher unknown, if the pattern has it.
    fn coupling(&self, low: usize, high: usize) -> Option<&Coupling> {
        let found = if high - low <= 2 {
            Some(&self.chain[low][high - low - 1])
        } else {
            self.far.binary_search_by_key(&(low, high), |(pair, _)| *pair).ok().map(|at| &self.far[at].1)
        };
        found.filter(|coupling| coupling.seat.is_some())
    }

    /// Whether the pattern has a block for the pair.
    #[must_use]
    pub fn couples(&self, i: usize, j: usize) -> bool {
        let (low, high) = ordered(i, j);
        i == j || self.coupling(low, high).is_some()
    }

    /// Sets every entry to zero.
    pub fn clear(&mut self) {
        self.loaded = false;
        self.renewed = true;
        self.own.fill(ZERO);
        self.chain.iter_mut().flatten().for_each(|coupling| coupling.block = ZERO);
        self.far.iter_mut().for_each(|(_, coupling)| coupling.block = ZERO);
    }

    /// Lays the entries out for a factorisation. What is added from here on lasts for that one only.
    pub fn load(&mut self) {
        self.loaded = true;
        if std::mem::take(&mut self.renewed) {
            self.lay_out_all();
        } else {
            self.lay_out_topped();
        }
        self.topped.0.clear();
        self.topped.1.clear();
    }

    fn lay_out_all(&mut self) {
        for (i, block) in self.own.iter().enumerate() {
            self.given.diagonal[self.position[i]] = *block;
        }
        for coupling in self.chain.iter().flatten().chain(self.far.iter().map(|(_, coupling)| coupling)) {
            coupling.lay_out(&mut self.given.below);
        }
        self.suspect.fill(false);
        self.all_suspect = true;
    }

    /// Takes back what was added on top.
    fn lay_out_topped(&mut self) {
        let topped = std::mem::take(&mut self.topped);
        for &position in &topped.0 {
            self.given.diagonal[position] = self.own[self.order[position]];
            self.suspect[position] = true;
        }
        for &Pair { low, high, far } in &topped.1 {
            let coupling = if high - low <= 2 { &self.chain[low][high - low - 1] } else { &self.far[far].1 };
            coupling.lay_out(&mut self.given.below);
            let column = self.column(low, high);
            self.suspect[column] = true;
        }
        self.topped = topped;
    }

    /// Elimination position of the column in which the block of a pair lies.
    fn column(&self, i: usize, j: usize) -> usize {
        self.position[i].min(self.position[j])
    }

    /// The block of rows of the lower and columns of the higher unknown, and whether it lies transposed.
    ///
    /// # Panics
    /// If the pair is not in the pattern.
    #[inline(always)]
    fn place(&mut self, low: usize, high: usize) -> (&mut Block, bool) {
        let column = self.column(low, high);
        let near = high - low <= 2;
        let at = if near { 0 } else { self.far.partition_point(|(pair, _)| *pair < (low, high)) };
        let coupling = if near {
            Some(&mut self.chain[low][high - low - 1])
        } else {
            self.far.get_mut(at).filter(|(pair, _)| *pair == (low, high)).map(|(_, coupling)| coupling)
        };
        let (coupling, seat) = coupling.and_then(|c| c.seat.map(|seat| (c, seat))).expect("the pair is in the pattern");
        if self.loaded {
            self.topped.1.push(Pair { low, high, far: at });
            self.suspect[column] = true;
            (&mut self.given.below[seat.slot], seat.turned)
        } else {
            self.renewed = true;
            (&mut coupling.block, false)
        }
    }

    #[inline(always)]
    fn own_block(&mut self, i: usize) -> &mut Block {
        if self.loaded {
            let position = self.position[i];
            self.topped.0.push(position);
            self.suspect[position] = true;
            &mut self.given.diagonal[position]
        } else {
            self.renewed = true;
            &mut self.own[i]
        }
    }

    /// Adds to the diagonal block of unknown `i`.
    #[inline(always)]
    pub fn add_diagonal(&mut self, i: usize, block: &Block) {
        add(self.own_block(i), block);
    }

    /// Adds a symmetric square to the places of the diagonal block of unknown `i`.
    #[inline(always)]
    pub fn add_own_square(&mut self, i: usize, square: &DMat3) {
        add_square(self.own_block(i), square);
    }

    /// Adds to the diagonal of the diagonal block of unknown `i`.
    #[inline(always)]
    pub fn add_trace(&mut self, i: usize, by: Quad) {
        add_to_diagonal(self.own_block(i), by);
    }

    /// Adds the block that couples rows of `i` with columns of `j` (and its transpose at (j, i)), i != j.
    ///
    /// # Panics
    /// If the pair is not in the pattern.
    #[inline(always)]
    pub fn add_pair(&mut self, i: usize, j: usize, block: &Block) {
        let (low, high) = ordered(i, j);
        let (target, turned) = self.place(low, high);
        if turned == (i > j) { add(target, block) } else { add(target, &transposed(block)) }
    }

    /// Adds a square of the places to the block that couples rows of `i` with columns of `j`, i != j.
    ///
    /// # Panics
    /// If the pair is not in the pattern.
    #[inline(always)]
    pub fn add_pair_square(&mut self, i: usize, j: usize, square: &DMat3) {
        let (low, high) = ordered(i, j);
        let (target, turned) = self.place(low, high);
        if turned == (i > j) { add_square(target, square) } else { add_square(target, &square.transpose()) }
    }

    /// Adds to the diagonal of the block that couples `i` with `j`, i != j.
    ///
    /// # Panics
    /// If the pair is not in the pattern.
    #[inline(always)]
    pub fn add_pair_trace(&mut self, i: usize, j: usize, by: Quad) {
        let (low, high) = ordered(i, j);
        add_to_diagonal(self.place(low, high).0, by);
    }

    /// The product of the entries, without what was added on top, with a vector.
    #[must_use]
    pub fn times(&self, vector: &[Quad]) -> Vec<Quad> {
        widest(Multiplying { system: self, vector })
    }

    #[inline(always)]
    fn multiplied(&self, vector: &[Quad]) -> Vec<Quad> {
        let mut product = vec![[0.0; 4]; self.size];
        for ((product, block), by) in product.iter_mut().zip(&self.own).zip(vector) {
            *product = applied(block, by);
        }
        for (i, couplings) in self.chain.iter().enumerate() {
            for (j, coupling) in [i + 1, i + 2].into_iter().zip(couplings) {
                couple(&mut product, vector, (i, j), coupling);
            }
        }
        for (pair, coupling) in &self.far {
            couple(&mut product, vector, *pair, coupling);
        }
        product
    }

    /// Factors the matrix that was [loaded](BlockSystem::load). False if a pivot is not positive, which means that the
    /// matrix was not positive definite.
    pub fn factor(&mut self) -> bool {
        let anew = self.columns_anew();
        let done = widest(Factoring { system: self, anew: &anew });
        if !done {
            self.forget();
        }
        done
    }

    #[inline(always)]
    fn factor_columns(&mut self, anew: &[bool]) -> bool {
        for k in 0..self.size {
            let rows = self.column_start[k]..self.column_start[k + 1];
            if anew[k] {
                let Some(inverse) = invert(&self.eliminated.diagonal[k]) else { return false };
                self.inverse[k] = inverse;
                for a in rows.clone() {
                    self.scaled[a] = multiply(&self.eliminated.below[a], &inverse);
                }
            }
            let mut target = self.target_start[k];
            for b in rows.clone() {
                let targets = target..target + (rows.end - b - 1);
                target = targets.end;
                if !anew[self.row[b]] {
                    continue;
                }
                let right = transposed(&self.eliminated.below[b]);
                subtract_product(&mut self.eliminated.diagonal[self.row[b]], &self.scaled[b], &right);
                for (left, &target) in self.scaled[b + 1..rows.end].iter().zip(&self.targets[targets]) {
                    subtract_product(&mut self.eliminated.below[target], left, &right);
                }
            }
        }
        true
    }

    /// Which columns have to be eliminated anew; theirs are begun with what is given.
    fn columns_anew(&mut self) -> Vec<bool> {
        let all = std::mem::take(&mut self.all_suspect);
        if all {
            self.eliminated.diagonal.copy_from_slice(&self.given.diagonal);
            self.eliminated.below.copy_from_slice(&self.given.below);
        }
        let mut anew = vec![all; self.size];
        for k in 0..self.size {
            let blocks = self.column_start[k]..self.column_start[k + 1];
            let suspect = std::mem::take(&mut self.suspect[k]);
            let differs = all || suspect && (!self.kept[k] || self.differs(k));
            if differs {
                self.kept[k] = suspect;
            }
            if differs && suspect {
                self.factored.diagonal[k] = self.given.diagonal[k];
                self.factored.below[blocks.clone()].copy_from_slice(&self.given.below[blocks.clone()]);
            }
            anew[k] |= differs;
            if anew[k] && !all {
                self.eliminated.diagonal[k] = self.given.diagonal[k];
                self.eliminated.below[blocks.clone()].copy_from_slice(&self.given.below[blocks.clone()]);
                self.row[blocks].iter().for_each(|&row| anew[row] = true);
            }
        }
        anew
    }

    /// Whether what is given of a column is other than what was factored of it last.
    fn differs(&self, k: usize) -> bool {
        let blocks = self.column_start[k]..self.column_start[k + 1];
        let differ = |now: &Block, before: &Block| {
            now.iter().zip(before).fold(0, |bits, (a, b)| bits | (a.to_bits() ^ b.to_bits())) != 0
        };
        let below = self.given.below[blocks.clone()].iter().zip(&self.factored.below[blocks]);
        differ(&self.given.diagonal[k], &self.factored.diagonal[k])
            || below.into_iter().any(|(now, before)| differ(now, before))
    }

    /// Solves with the factors; `right_side` becomes the solution.
    pub fn solve(&self, right_side: &mut [Quad]) {
        widest(Substituting { system: self, right_side });
    }

    #[inline(always)]
    fn substitute(&self, right_side: &mut [Quad]) {
        let mut y: Vec<Quad> = self.order.iter().map(|&i| right_side[i]).collect();
        for k in 0..self.size {
            let yk = y[k];
            let column = self.column_start[k]..self.column_start[k + 1];
            for (l, &row) in self.scaled[column.clone()].iter().zip(&self.row[column]) {
                let by = applied(l, &yk);
                for (target, by) in y[row].iter_mut().zip(by) {
                    *target -= by;
                }
            }
        }
        for k in (0..self.size).rev() {
            // An inverse is symmetric to the last bit.
            let mut x = applied_transposed(&self.inverse[k], &y[k]);
            let column = self.column_start[k]..self.column_start[k + 1];
            for (l, &row) in self.scaled[column.clone()].iter().zip(&self.row[column]) {
                let by = applied_transposed(l, &y[row]);
                for (x, by) in x.iter_mut().zip(by) {
                    *x -= by;
                }
            }
            y[k] = x;
        }
        for (k, &i) in self.order.iter().enumerate() {
            right_side[i] = y[k];
        }
    }
}

/// [`BlockSystem::factor_columns`] as wide work.
struct Factoring<'a> {
    system: &'a mut BlockSystem,
    anew: &'a [bool],
}

impl Wide for Factoring<'_> {
    type Output = bool;
    #[inline(always)]
    fn run(self) -> bool {
        self.system.factor_columns(self.anew)
    }
}

/// [`BlockSystem::multiplied`] as wide work.
struct Multiplying<'a> {
    system: &'a BlockSystem,
    vector: &'a [Quad],
}

impl Wide for Multiplying<'_> {
    type Output = Vec<Quad>;
    #[inline(always)]
    fn run(self) -> Vec<Quad> {
        self.system.multiplied(self.vector)
    }
}

/// [`BlockSystem::substitute`] as wide work.
struct Substituting<'a> {
    system: &'a BlockSystem,
    right_side: &'a mut [Quad],
}

impl Wide for Substituting<'_> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        self.system.substitute(self.right_side);
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

#[inline(always)]
fn ordered(a: usize, b: usize) -> (usize, usize) {
    if a < b { (a, b) } else { (b, a) }
}

/// Adds a coupling's share of a product.
#[inline(always)]
fn couple(product: &mut [Quad], vector: &[Quad], (i, j): (usize, usize), coupling: &Coupling) {
    if coupling.seat.is_some() {
        add(&mut product[i], &applied(&coupling.block, &vector[j]));
        add(&mut product[j], &applied_transposed(&coupling.block, &vector[i]));
    }
}

/// A block's product with one block of unknowns.
#[inline(always)]
fn applied(block: &Block, by: &Quad) -> Quad {
    // Turned so that each row of it is multiplied by one number.
    applied_transposed(&transposed(block), by)
}

/// The product of a block's transpose with one block of unknowns.
#[inline(always)]
fn applied_transposed(block: &Block, by: &Quad) -> Quad {
    let mut product = [0.0; 4];
    for (c, product) in product.iter_mut().enumerate() {
        *product = block[c] * by[0] + block[4 + c] * by[1] + block[8 + c] * by[2] + block[12 + c] * by[3];
    }
    product
}

#[inline(always)]
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

#[inline(always)]
fn add<const N: usize>(target: &mut [f64; N], by: &[f64; N]) {
    for (a, b) in target.iter_mut().zip(by) {
        *a += b;
    }
}

#[inline(always)]
fn add_to_diagonal(target: &mut Block, by: Quad) {
    for (k, by) in by.into_iter().enumerate() {
        target[k * 5] += by;
    }
}

/// Adds to rows and columns of the place; those of the spin stay.
#[inline(always)]
fn add_square(target: &mut Block, by: &DMat3) {
    let columns = by.to_cols_array_2d();
    for (r, row) in target.chunks_exact_mut(4).take(3).enumerate() {
        for (entry, column) in row.iter_mut().zip(&columns) {
            *entry += column[r];
        }
    }
}

#[inline(always)]
fn transposed(block: &Block) -> Block {
    let mut turned = ZERO;
    for r in 0..4 {
        for c in 0..4 {
            turned[r * 4 + c] = block[c * 4 + r];
        }
    }
    turned
}

/// target -= left * right
#[inline(always)]
fn subtract_product(target: &mut Block, left: &Block, right: &Block) {
    for r in 0..4 {
        for k in 0..4 {
            let lrk = left[r * 4 + k];
            for j in 0..4 {
                target[r * 4 + j] -= lrk * right[k * 4 + j];
            }
        }
    }
}

/// Inverse of a symmetric positive definite block by its L D L^T.
#[inline(always)]
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
        for c in r..4 {
            let mut v = 0.0;
            for k in c..4 {
                v += m[k][r] * m[k][c] / d[k];
            }
            inverse[r * 4 + c] = v;
            inverse[c * 4 + r] = v;
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
        // The matrix is diagonally dominant (condition below 10), so round-off stays near 1e-15.
        let agree = |what: &str, got: &[Quad], want: &[f64]| {
            for (got, want) in got.iter().flatten().zip(want) {
                assert!((got - want).abs() < 1e-12 * (1.0 + want.abs()), "{what}: got {got}, want {want}");
            }
        };
        let flat_right: Vec<f64> = right.iter().flatten().copied().collect();
        agree("product", &system.times(&wanted), &flat_right);
        let given = right.clone();
        system.load();
        assert!(system.factor());
        system.solve(&mut right);
        agree("solution", &right, &flat);
        // A new pattern keeps the entries.
        pairs.push((2, 33));
        system.set_pattern(n, &pairs);
        let mut right = given;
        system.load();
        assert!(system.factor());
        system.solve(&mut right);
        agree("solution in another pattern", &right, &flat);
    }

    #[test]
    fn factors_taken_up_from_the_last_factorisation_are_those_of_a_new_one_to_the_last_bit() {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(11);
        let n = 40;
        let pairs = chain_with_contacts(n);
        let mut system = BlockSystem::default();
        system.set_pattern(n, &pairs);
        // What was put on top last, if that could be factored.
        let mut last = None;
        for round in 0..60 {
            if round % 10 == 0 {
                last = None;
                fill(&mut system, &pairs, &mut random);
            }
            // On top: at one place always the same, at others something else or nothing, and once in ten more than can be
            // factored.
            let on_top = |system: &mut BlockSystem, by: f64, wrong: bool| {
                system.load();
                system.add_pair(30, 3, &[0.3; 16]);
                if by > 0.0 {
                    system.add_trace(12, [by; 4]);
                    system.add_pair(20, 26, &[by; 16]);
                }
                system.add_trace(25, [if wrong { -1e3 } else { 0.0 }; 4]);
            };
            let (by, wrong) = (f64::from(random.random_range(0..3_u8)), round % 10 == 7);
            on_top(&mut system, by, wrong);
            let mut fresh = system.clone();
            fresh.forget();
            let anew = system.clone().columns_anew().iter().filter(|anew| **anew).count();
            let allowed = match last {
                None => n..=n,
                Some(before) if before == by.to_bits() && !wrong => 0..=0,
                Some(_) => 1..=n - 1,
            };
            assert!(allowed.contains(&anew), "round {round}: {anew} columns anew, allowed {allowed:?}");
            last = (!wrong).then_some(by.to_bits());
            let done = system.factor();
            assert_eq!((done, fresh.factor()), (!wrong, !wrong), "round {round}");
            if !done {
                continue;
            }
            let mut found: Vec<Quad> = (0..n).map(|i| [1.0, -2.0, i as f64, 0.5]).collect();
            let mut wanted = found.clone();
            system.solve(&mut found);
            fresh.solve(&mut wanted);
            assert_eq!(bits_of(&found), bits_of(&wanted), "round {round}");
        }
    }

    #[test]
    fn wide_vectors_give_the_bits_that_narrow_ones_give() {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(23);
        let n = 50;
        let pairs = chain_with_contacts(n);
        let mut system = BlockSystem::default();
        system.set_pattern(n, &pairs);
        fill(&mut system, &pairs, &mut random);
        let vector: Vec<Quad> = (0..n).map(|_| std::array::from_fn(|_| random.random::<f64>() - 0.5)).collect();
        assert_eq!(bits_of(&system.times(&vector)), bits_of(&system.multiplied(&vector)), "product");
        system.load();
        let mut narrow = system.clone();
        let anew = narrow.columns_anew();
        assert!(system.factor() && narrow.factor_columns(&anew));
        let (mut found, mut wanted) = (vector.clone(), vector);
        system.solve(&mut found);
        narrow.substitute(&mut wanted);
        assert_eq!(bits_of(&found), bits_of(&wanted), "solution");
    }

    /// What a thread's nodes couple, and a few that touch each other.
    fn chain_with_contacts(nodes: usize) -> Vec<(usize, usize)> {
        let next = (1..nodes).map(|i| (i - 1, i));
        let after_next = (2..nodes).map(|i| (i - 2, i));
        next.chain(after_next).chain([(3, 30), (4, 31), (12, 39), (20, 26)]).collect()
    }

    /// Random couplings in place of the entries so far, and so much on the diagonal that the matrix is positive.
    fn fill(system: &mut BlockSystem, pairs: &[(usize, usize)], random: &mut rand_chacha::ChaCha8Rng) {
        system.clear();
        (0..system.size).for_each(|i| system.add_trace(i, [30.0; 4]));
        for &(i, j) in pairs {
            system.add_pair(i, j, &std::array::from_fn(|_| random.random::<f64>() - 0.5));
        }
    }

    fn bits_of(quads: &[Quad]) -> Vec<u64> {
        quads.as_flattened().iter().map(|v| v.to_bits()).collect()
    }
}
