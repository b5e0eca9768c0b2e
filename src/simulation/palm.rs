//! The palm: what lies behind the pads of the hand that has the strand.

use super::{LEFT, PADS, World};
use crate::math::{DVec3, cos, sin};

/// Thread this far behind the pads is in the palm [mm].
const BEHIND: f64 = 4.0;
/// It leaves the palm again this far behind them [mm].
const LEAVES: f64 = 2.8;

/// The place in the hand, from the pads, of thread `behind` mm behind them: straight back, then wound up.
fn coil(behind: f64) -> DVec3 {
    let straight = 6.0;
    let radius = 5.0;
    let along = behind.min(straight);
    let wound = (behind - straight).max(0.0) / radius;
    DVec3::new(along + radius * sin(wound), 0.05 * radius * wound, radius * (cos(wound) - 1.0))
}

impl World {
    /// The palm follows the hand: thread behind the pads lies in it as a coil, in reach of the pads.
    pub(super) fn carry_palm(&mut self) {
        let Some(material) = self.strand_hold(LEFT).map(|s| s.material) else { return };
        if !self.palm_is_free() {
            return;
        }
        let pose = self.pose(LEFT);
        let held = self.rod.node_at(material);
        let piece = self.rod.pieces().into_iter().find(|piece| piece.contains(&held)).unwrap_or_default();
        let (mut changed, mut left) = (false, Vec::new());
        for node in piece.filter(|&n| !self.removed[n]) {
            let behind = material - self.rod.material[node];
            let was_carried = self.rod.carried[node];
            let carried = behind > if was_carried { LEAVES } else { BEHIND };
            if carried {
                self.rod.positions[node] = pose.point(PADS + coil(behind));
            } else if was_carried {
                left.push(node);
            }
            changed |= carried != was_carried;
            self.rod.carried[node] = carried;
            self.rod.free[node] = !carried;
        }
        self.join(&left);
        if changed {
            self.memory.topology_changed();
        }
    }

    /// What is in the palm is free again.
    pub(super) fn open_palm(&mut self) {
        let left: Vec<usize> =
            (0..self.rod.node_count()).filter(|&node| self.rod.carried[node] && !self.removed[node]).collect();
        for node in 0..self.rod.node_count() {
            self.rod.free[node] = !self.removed[node];
            self.rod.carried[node] = self.removed[node];
        }
        self.join(&left);
    }

    /// Joins what has left the palm, ascending, to the thread that it belongs to: until then it was slack.
    fn join(&mut self, left: &[usize]) {
        if let (Some(first), Some(last)) = (left.first(), left.last()) {
            self.rod.join(*first..last + 1);
        }
    }
}
