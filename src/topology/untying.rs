//! Takes the throws off a stack one by one, the outermost first, by cutting the limbs back.
//!
//! Called with one view of the thread and a list of ever shorter stretches of it. Each stretch is closed toward the
//! viewer. When the Alexander polynomial loses the factor of n wraps and the signature changes by 2n, a throw of n
//! wraps has come undone; the change's sign is its handedness.

use super::diagram::Diagram;
use super::projection::Shadow;
use super::{HalfKnot, alexander, catalogue, signature};

/// A throw that came undone, and the last cut before it did: it needs all that lies within these places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// The throw.
    pub half_knot: HalfKnot,
    /// Start of the stretch, a fractional point index.
    pub from: f64,
    /// End of the stretch, a fractional point index.
    pub to: f64,
}

/// The throws in the order they were tied.
///
/// `cuts`: stretches (from, to) of the thread, the first one whole, each within the one before. `wraps`: of all throws,
/// in any order. `signature`: of the whole closed thread.
///
/// `None` if the last throw is not seen to go, or two go at once.
#[must_use]
pub fn untie(shadow: &Shadow, cuts: &[(f64, f64)], wraps: &[u32], signature: i32) -> Option<Vec<Loss>> {
    let mut left = Left::new(wraps.to_vec(), signature);
    let mut losses = Vec::new();
    let mut whole = last_whole(shadow, cuts, 0, left.fingerprint);
    let mut cut = whole + 1;
    while !left.wraps.is_empty() {
        let &(from, to) = cuts.get(cut)?;
        let diagram = shadow.close_over(from, to).simplified();
        let fingerprint = alexander::fingerprint(&diagram);
        if fingerprint == left.fingerprint {
            whole = cut;
        } else if let Some((half_knot, next)) = left.without_one(fingerprint, &diagram) {
            losses.push(Loss { half_knot, from: cuts[whole].0, to: cuts[whole].1 });
            left = next;
            whole = last_whole(shadow, cuts, cut, left.fingerprint);
            cut = whole;
        }
        cut += 1;
    }
    losses.reverse();
    Some(losses)
}

/// A cut from `cut` on up to which the thread stays as it is, found in strides: many crossings do not matter.
fn last_whole(shadow: &Shadow, cuts: &[(f64, f64)], mut cut: usize, fingerprint: u64) -> usize {
    const STRIDE: usize = 4;
    while let Some(&(from, to)) = cuts.get(cut + STRIDE) {
        if alexander::fingerprint(&shadow.close_over(from, to).simplified()) != fingerprint {
            break;
        }
        cut += STRIDE;
    }
    cut
}

/// The throws that are still tied.
struct Left {
    wraps: Vec<u32>,
    signature: i32,
    fingerprint: u64,
}

impl Left {
    fn new(wraps: Vec<u32>, signature: i32) -> Self {
        let fingerprint = alexander::fingerprint_of(&catalogue::alexander_of(wraps.iter().copied()));
        Self { wraps, signature, fingerprint }
    }

    /// The throw that went, and what is left, if fingerprint and signature are those of one throw fewer.
    fn without_one(&self, fingerprint: u64, diagram: &Diagram) -> Option<(HalfKnot, Self)> {
        for (place, &gone) in self.wraps.iter().enumerate() {
            let mut wraps = self.wraps.clone();
            wraps.remove(place);
            let next = Self::new(wraps, 0);
            if next.fingerprint != fingerprint {
                continue;
            }
            let goeritz = signature::signature(diagram)?;
            let determinant: i64 = next.wraps.iter().map(|&wraps| i64::from(2 * wraps + 1)).product();
            if goeritz.determinant != determinant {
                return None;
            }
            let signature = goeritz.signature;
            let fits = |half_knot: &HalfKnot| self.signature - signature == half_knot.signature();
            let either = [1, -1].map(|handedness| HalfKnot { wraps: gone, handedness });
            return either.into_iter().find(fits).map(|half_knot| (half_knot, Self { signature, ..next }));
        }
        None
    }
}
