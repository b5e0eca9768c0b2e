//! Stitches: which holes and which piece of the thread belong together, and what there is to measure of each.
//!
//! A stitch begins with the first bite of thread that runs through no gum yet, and ends when its strand is cut: what
//! then hangs from the needle is free for the next. Stitches are numbered in the order in which they were begun.

use super::World;
use crate::analysis::reading::StitchCurve;
use crate::math::DVec3;
use crate::rod::contact::Partner;
use crate::rod::surroundings::{Host, Sleeve};
use std::ops::Range;

/// Touches further than this from the middle of the knot are limbs lying on each other beside it [mm].
const KNOT_REACH: f64 = 3.0;

impl World {
    /// How many stitches were begun.
    #[must_use]
    pub fn stitch_count(&self) -> usize {
        (0..self.gum.bites.len()).map(|bite| self.stitch_of(bite) + 1).max().unwrap_or(0)
    }

    /// The stitch that is being made, or the last one that was; 0 before the first bite.
    #[must_use]
    pub fn current_stitch(&self) -> usize {
        self.stitch_count().saturating_sub(1)
    }

    /// The stitch that a bite, by its place in [`super::gum::Gum::bites`], belongs to.
    #[must_use]
    pub fn stitch_of(&self, bite: usize) -> usize {
        // A bench's thread is through its holes without a needle: that is one stitch.
        self.taken.get(bite).map_or(0, |(_, taken)| taken.stitch)
    }

    /// The stitch that the next bite belongs to: the one whose thread still hangs from the needle, or a new one.
    pub(super) fn stitch_of_next_bite(&self) -> usize {
        let sewn = self.rod.pieces()[0].clone();
        let running = self.around.sleeves.iter().filter_map(|sleeve| match sleeve.host {
            Host::Bite(bite) if self.is_at(sleeve.material, &sewn) => Some(self.stitch_of(bite)),
            _ => None,
        });
        running.max().unwrap_or_else(|| self.stitch_count())
    }

    /// Holes of a stitch that have its thread, or still the needle, in them.
    fn holes(&self, stitch: usize) -> impl Iterator<Item = (usize, &Sleeve)> {
        let of_stitch = move |host| matches!(host, Host::Bite(bite) if self.stitch_of(bite) == stitch);
        self.around.sleeves.iter().enumerate().filter(move |(_, sleeve)| of_stitch(sleeve.host))
    }

    /// Material coordinates [mm] where a stitch's strand and its tail leave the gum; `None` if no thread of it runs
    /// through any.
    fn loop_ends(&self, stitch: usize) -> Option<(f64, f64)> {
        let filled = self.needle.as_ref().map_or(0, |n| n.filled);
        let ends = || self.holes(stitch).filter(|&(hole, _)| hole >= filled).map(|(_, sleeve)| sleeve.material);
        Some((ends().reduce(f64::min)?, ends().reduce(f64::max)?))
    }

    pub(super) fn is_at(&self, material: f64, piece: &Range<usize>) -> bool {
        piece.contains(&self.rod.node_at(material))
    }

    /// Whether a piece runs through the gum.
    pub(super) fn is_in_tissue(&self, piece: &Range<usize>) -> bool {
        self.around.sleeves.iter().any(|s| matches!(s.host, Host::Bite(_)) && self.is_at(s.material, piece))
    }

    /// The piece of the thread that makes a stitch; the one next to the needle if none runs through its holes.
    #[must_use]
    pub fn stitch_piece(&self, stitch: usize) -> Range<usize> {
        let pieces = self.rod.pieces();
        let runs = |piece: &&Range<usize>| self.holes(stitch).any(|(_, hole)| self.is_at(hole.material, piece));
        pieces.iter().find(runs).unwrap_or(&pieces[0]).clone()
    }

    /// Nodes at the outermost holes of a stitch with thread in them: the strand's and the tail's.
    #[must_use]
    pub fn loop_nodes(&self, stitch: usize) -> Option<(usize, usize)> {
        let (strand, tail) = self.loop_ends(stitch)?;
        Some((self.rod.node_at(strand), self.rod.node_at(tail)))
    }

    /// A stitch's centreline from the tail's end through the gum to the strand's end, or to the hand that holds it;
    /// `None` if the thread runs through no hole of it.
    #[must_use]
    pub fn stitch_curve(&self, stitch: usize) -> Option<StitchCurve> {
        let (strand, tail) = self.loop_nodes(stitch)?;
        let piece = self.stitch_piece(stitch);
        let first = piece.clone().find(|&n| !self.rod.carried[n])?;
        let last = piece.end - 1;
        if !(first <= strand && strand <= tail && tail <= last) {
            return None;
        }
        let points = self.rod.positions[first..=last].iter().rev().copied().collect();
        Some(StitchCurve { points, loop_start: last - tail, loop_end: last - strand })
    }

    /// Tension in a stitch's loop through the gum [mN]: its middle third, away from the holes' friction.
    #[must_use]
    pub fn loop_tension(&self, stitch: usize) -> f64 {
        let Some((a, b)) = self.loop_nodes(stitch) else { return 0.0 };
        let third = (b - a) / 3;
        if third == 0 { 0.0 } else { self.mean_tension(a + third..b - third).max(0.0) }
    }

    /// Material coordinates [mm] of the outermost places, on the strand and on the tail, where the two press on each
    /// other in a stitch's knot; `None` if they do not.
    #[must_use]
    pub fn knot_span(&self, stitch: usize) -> Option<(f64, f64)> {
        let ends = || self.holes(stitch).map(|(_, hole)| hole.material);
        let (strand, tail) = (ends().reduce(f64::min)?, ends().reduce(f64::max)?);
        let (material, piece) = (&self.rod.material, self.stitch_piece(stitch));
        let pairs: Vec<(f64, f64, DVec3)> = self
            .memory
            .touches
            .iter()
            .filter_map(|touch| match touch.partner {
                Partner::Edge(other) if touch.force > 0.0 && piece.contains(&touch.edge) && piece.contains(&other) => {
                    Some((material[touch.edge], material[other], touch.place))
                }
                _ => None,
            })
            .filter(|&(a, b, _)| a < strand && b > tail)
            .collect();
        let innermost = pairs.iter().min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))?;
        let near = || pairs.iter().filter(|p| p.2.distance(innermost.2) < KNOT_REACH);
        let on_strand = near().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let on_tail = near().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
        Some((on_strand, on_tail))
    }

    /// Middle between the outermost touches of a stitch's knot [mm].
    pub(super) fn knot_middle(&self, stitch: usize) -> Option<DVec3> {
        let (strand, tail) = self.knot_span(stitch)?;
        Some(0.5 * (self.rod.positions[self.rod.node_at(strand)] + self.rod.positions[self.rod.node_at(tail)]))
    }

    /// Length [mm] left beyond a stitch's knot on the strand and on the tail, along the thread; `None` where it is not
    /// cut or there is no knot to measure from.
    #[must_use]
    pub fn cut_ends(&self, stitch: usize) -> [Option<f64>; 2] {
        let Some((strand, tail)) = self.knot_span(stitch) else { return [None; 2] };
        let (piece, material) = (self.stitch_piece(stitch), &self.rod.material);
        // A tail may also end where the stitch before was cut off: that is no cut of its own, and its thread lies there.
        let is_cut = [piece.start > 0, self.removed.get(piece.end).copied().unwrap_or(false)];
        let lengths = [strand - material[piece.start], material[piece.end - 1] - tail];
        [0, 1].map(|end| is_cut[end].then_some(lengths[end].max(0.0)))
    }
}
