//! Takes the throws off a stack one by one, the outermost first, by cutting the limbs back.
//!
//! Called with one view of the thread and a list of ever shorter stretches of it. Each stretch is closed toward the
//! viewer. When the Alexander polynomial loses the factor of n wraps and the signature changes by 2n, a throw of n
//! wraps has come undone; the change's sign is its handedness.

use core::ops::Range;

use super::diagram::Diagram;
use super::projection::Shadow;
use super::{HalfKnot, Known, alexander, catalogue};

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
/// in any order. `signature`: of the whole closed thread. `known`: from any views, of this thread or another.
///
/// `None` if the last throw is not seen to go, or two go at once.
#[must_use]
pub fn untie(
    shadow: &Shadow,
    cuts: &[(f64, f64)],
    wraps: &[u32],
    signature: i32,
    known: &mut Known,
) -> Option<Vec<Loss>> {
    let mut left = Left::new(wraps.to_vec(), signature);
    let mut losses = Vec::new();
    let mut closed = Closed { shadow, cuts, diagrams: Vec::new() };
    let mut whole = closed.last_whole(0, left.fingerprint, known);
    let mut cut = whole + 1;
    while !left.wraps.is_empty() {
        let diagram = closed.at(cut)?;
        let fingerprint = known.fingerprint(diagram);
        if fingerprint == left.fingerprint {
            whole = cut;
        } else if let Some((half_knot, next)) = left.without_one(fingerprint, diagram, known) {
            losses.push(Loss { half_knot, from: cuts[whole].0, to: cuts[whole].1 });
            left = next;
            whole = closed.last_whole(cut, left.fingerprint, known);
            cut = whole;
        }
        cut += 1;
    }
    losses.reverse();
    Some(losses)
}

/// The stretches that are left by the cuts, closed as they are looked at.
struct Closed<'cuts> {
    shadow: &'cuts Shadow,
    cuts: &'cuts [(f64, f64)],
    /// By the passages that are held: where these are the same, so is the knot.
    diagrams: Vec<(Range<usize>, Diagram)>,
}

impl Closed<'_> {
    /// What is left by a cut; `None` if there is no such cut.
    fn at(&mut self, cut: usize) -> Option<&Diagram> {
        let &(from, to) = self.cuts.get(cut)?;
        let held = self.shadow.held(from, to);
        let place = self.diagrams.iter().position(|(known, _)| *known == held).unwrap_or_else(|| {
            self.diagrams.push((held.clone(), self.shadow.close_held(held).simplified()));
            self.diagrams.len() - 1
        });
        Some(&self.diagrams[place].1)
    }

    /// A cut from `cut` on up to which the thread stays as it is, found in strides: many crossings do not matter.
    fn last_whole(&mut self, mut cut: usize, fingerprint: u64, known: &mut Known) -> usize {
        const STRIDE: usize = 4;
        while self.at(cut + STRIDE).is_some_and(|diagram| known.fingerprint(diagram) == fingerprint) {
            cut += STRIDE;
        }
        cut
    }
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
    fn without_one(&self, fingerprint: u64, diagram: &Diagram, known: &mut Known) -> Option<(HalfKnot, Self)> {
        for (place, &gone) in self.wraps.iter().enumerate() {
            // Throws of as many wraps leave the same behind.
            if self.wraps[..place].contains(&gone) {
                continue;
            }
            let mut wraps = self.wraps.clone();
            wraps.remove(place);
            let next = Self::new(wraps, 0);
            if next.fingerprint != fingerprint {
                continue;
            }
            let goeritz = known.signature(diagram)?;
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
