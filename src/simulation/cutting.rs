//! Cutting the thread, and what then goes away with the hands. What hangs from the needle stays for the next stitch.

use super::World;
use crate::math::DVec3;

/// The blades reach no further than this [mm].
pub(super) const BLADES: f64 = 3.0;

impl World {
    /// Cuts the strand nearest to a place [mm] and takes away what then hangs from neither gum nor needle. False if no
    /// thread is in reach of the blades.
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

    /// Takes away with the hands what hangs from neither gum nor needle.
    pub(super) fn take_away_loose(&mut self) {
        let pieces = self.rod.pieces();
        if pieces.len() < 2 {
            return;
        }
        for piece in pieces {
            let on_needle = self.needle.is_some() && piece.start == 0;
            if self.removed[piece.start] || on_needle || self.is_in_tissue(&piece) {
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
        }
    }
}
