//! Amounts at nodes, when a node comes between two others or goes.

use std::ops::{Add, Mul, Sub};

/// An edge in two parts, and how much of what the nodes at its ends have belongs to the node between.
#[derive(Debug, Clone, Copy)]
pub(super) struct Parting {
    /// Length of the first part over the edge's.
    pub(super) share: f64,
    /// What of each end's amount belongs to the node between.
    pub(super) of_ends: [f64; 2],
    /// Whether each end has such amounts at all.
    has: [bool; 2],
}

impl Parting {
    /// An edge of `length` parted at `share` of it; `beyond` are the lengths of the edges past its ends, zero for none. Half of
    /// each edge's length belongs to each of its nodes.
    pub(super) fn new(length: f64, share: f64, beyond: [f64; 2], has: [bool; 2]) -> Parting {
        let near = [1.0 - share, share];
        let of_ends = [0, 1].map(|k| if has[k] { near[k] * length / (beyond[k] + length) } else { 0.0 });
        Parting { share, of_ends, has }
    }

    /// Amounts before, between and after, when a node comes between two that have these.
    pub(super) fn shared<T>(&self, [before, after]: [T; 2]) -> [T; 3]
    where
        T: Copy + Add<Output = T> + Sub<Output = T> + Mul<f64, Output = T>,
    {
        let given = [before * self.of_ends[0], after * self.of_ends[1]];
        [before - given[0], given[0] + given[1], after - given[1]]
    }

    /// The inverse of [`Parting::shared`]. What the node between has beyond what its neighbours had given it goes to them by
    /// its distance from them.
    pub(super) fn gathered<T>(&self, [before, between, after]: [T; 3]) -> [T; 2]
    where
        T: Copy + Add<Output = T> + Sub<Output = T> + Mul<f64, Output = T>,
    {
        let whole = [before * (1.0 / (1.0 - self.of_ends[0])), after * (1.0 / (1.0 - self.of_ends[1]))];
        let beyond = between - whole[0] * self.of_ends[0] - whole[1] * self.of_ends[1];
        let to_after = match self.has {
            [true, false] => 0.0,
            [false, true] => 1.0,
            _ => self.share,
        };
        [whole[0] + beyond * (1.0 - to_after), whole[1] + beyond * to_after]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_keep_their_sum_and_their_densities_and_come_back() {
        for (share, beyond, has) in
            [(0.5, [0.4, 0.4], [true, true]), (0.3, [0.2, 0.7], [true, true]), (0.6, [0.0, 0.3], [false, true])]
        {
            let parting = Parting::new(0.5, share, beyond, has);
            // One density all along: half the lengths at each node times it.
            let at = |k: usize, beyond: f64, part: f64| if has[k] { 3.0 * 0.5 * (beyond + part) } else { 0.0 };
            let ends = [at(0, beyond[0], 0.5), at(1, beyond[1], 0.5)];
            let parted = parting.shared(ends);
            let expected = [at(0, beyond[0], 0.5 * share), at(1, beyond[1], 0.5 * (1.0 - share))];
            assert!((parted[0] - expected[0]).abs() < 1e-12 && (parted[2] - expected[1]).abs() < 1e-12, "{parted:?}");
            assert!((parted.iter().sum::<f64>() - ends[0] - ends[1]).abs() < 1e-12, "{parted:?} of {ends:?}");
            let back = parting.gathered(parted);
            assert!((0..2).all(|k| (back[k] - ends[k]).abs() < 1e-12), "{back:?}, not {ends:?}");
            let other = [0.3, -0.8, 0.1];
            let sum: f64 = parting.gathered(other).iter().sum();
            assert!((sum - other.iter().sum::<f64>()).abs() < 1e-12, "{sum}");
        }
    }
}
