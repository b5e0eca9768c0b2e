//! Cutting the thread, and what then goes away with the hands.

use super::World;
use super::needle::State;
use crate::math::DVec3;
use crate::rod::contact::Partner;
use crate::rod::surroundings::Host;
use std::ops::Range;

/// Touches further than this from the middle of the knot are limbs lying on each other beside it [mm].
const KNOT_REACH: f64 = 3.0;

/// The blades reach no further than this [mm].
const BLADES: f64 = 3.0;

impl World {
    /// Cuts the strand nearest to a place [mm] and takes away what then hangs from no tissue. False if no thread is
    /// in reach of the blades.
    pub fn cut(&mut self, at: DVec3) -> bool {
        let middle = |i: usize| 0.5 * (self.rod.positions[i] + self.rod.positions[i + 1]);
        let edge = (0..self.rod.rest_lengths.len())
            .filter(|&i| self.rod.live(i) && middle(i).distance(at) < BLADES)
            .min_by(|&a, &b| middle(a).distance_squared(at).total_cmp(&middle(b).distance_squared(at)));
        let Some(edge) = edge else { return false };
        self.rod.whole[edge] = false;
        self.take_away_loose();
        self.memory.topology_changed();
        true
    }

    /// The pieces of the thread, as runs of nodes.
    #[must_use]
    pub fn pieces(&self) -> Vec<Range<usize>> {
        let mut pieces = Vec::new();
        let mut start = 0;
        for (edge, whole) in self.rod.whole.iter().enumerate() {
            if !whole {
                pieces.push(start..edge + 1);
                start = edge + 1;
            }
        }
        pieces.push(start..self.rod.node_count());
        pieces
    }

    /// Whether a piece runs through the gum.
    fn is_in_tissue(&self, piece: &Range<usize>) -> bool {
        self.around.sleeves.iter().any(|s| matches!(s.host, Host::Bite(_)) && self.is_at(s.material, piece))
    }

    fn is_at(&self, material: f64, piece: &Range<usize>) -> bool {
        let node = self.rod.material.partition_point(|&s| s < material).min(self.rod.node_count() - 1);
        piece.contains(&node)
    }

    /// Takes away with the hands what hangs from no tissue.
    pub(super) fn take_away_loose(&mut self) {
        let pieces = self.pieces();
        if pieces.len() < 2 {
            return;
        }
        for piece in pieces {
            if self.removed[piece.start] || self.is_in_tissue(&piece) {
                continue;
            }
            self.around.grips.retain(|g| !piece.contains(&g.node));
            let materials: Vec<bool> = self.around.sleeves.iter().map(|s| self.is_at(s.material, &piece)).collect();
            let mut keep = materials.iter().map(|inside| !inside);
            self.around.sleeves.retain(|_| keep.next().unwrap_or(true));
            for node in piece.clone() {
                self.removed[node] = true;
                self.rod.free[node] = false;
                self.rod.carried[node] = true;
            }
            if let Some(needle) = self.needle.as_mut().filter(|_| piece.start == 0) {
                needle.state = State::Gone;
            }
        }
    }

    /// The piece that runs through the gum; the first one if none does.
    #[must_use]
    pub fn stitch_piece(&self) -> Range<usize> {
        let pieces = self.pieces();
        pieces.iter().find(|p| self.is_in_tissue(p)).unwrap_or(&pieces[0]).clone()
    }

    /// Length [mm] left beyond the knot on the strand and on the tail, along the thread; `None` where it is not cut or
    /// there is no knot to measure from.
    #[must_use]
    pub fn cut_ends(&self) -> [Option<f64>; 2] {
        let Some((strand, tail)) = self.knot_span() else { return [None; 2] };
        let (piece, material) = (self.stitch_piece(), &self.rod.material);
        let is_cut = [piece.start > 0, piece.end < self.rod.node_count()];
        let lengths = [strand - material[piece.start], material[piece.end - 1] - tail];
        [0, 1].map(|end| is_cut[end].then_some(lengths[end].max(0.0)))
    }

    /// Material coordinates [mm] of the outermost places, on the strand and on the tail, where the two press on each
    /// other in the knot; `None` if they do not.
    #[must_use]
    pub fn knot_span(&self) -> Option<(f64, f64)> {
        let holes = || self.around.sleeves.iter().filter(|s| matches!(s.host, Host::Bite(_))).map(|s| s.material);
        let (strand, tail) = (holes().reduce(f64::min)?, holes().reduce(f64::max)?);
        let material = &self.rod.material;
        let pairs: Vec<(f64, f64, DVec3)> = self
            .memory
            .touches
            .iter()
            .filter_map(|touch| match touch.partner {
                Partner::Edge(other) if touch.force > 0.0 => Some((material[touch.edge], material[other], touch.place)),
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
}
