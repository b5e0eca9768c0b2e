//! What a knot looks like while it is pulled, for whoever draws it.

use super::knot::Knot;
use super::outcome::Point;
use crate::math::DVec3;
use crate::rod::breaking::Break;

/// Steps of a pull from one frame to the next: the limbs go apart by a twentieth of a millimetre in them.
pub(super) const STEPS_A_FRAME: usize = 4;

/// A knot at one moment of its pull.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Centrelines [mm] of both strands, that of the rod's start first, each from its tail's end through the knot to where
    /// its limb is held.
    pub strands: [Vec<DVec3>; 2],
    /// The point of the curve; `None` while the slack is still drawn out.
    pub point: Option<Point>,
    /// Where the thread has broken [mm].
    pub broke: Option<DVec3>,
}

impl Frame {
    /// The knot as it is now.
    pub(super) fn of(knot: &Knot, point: Option<Point>) -> Frame {
        let [from, to] = knot.limbs;
        let hanging = |node: &usize| !knot.rod.carried[*node];
        let place = |node: usize| knot.rod.positions[node];
        let middle = |found: Break| 0.5 * (place(found.edge) + place(found.edge + 1));
        Frame {
            strands: [
                (0..=from).filter(hanging).map(place).collect(),
                (to..knot.rod.node_count()).rev().filter(hanging).map(place).collect(),
            ],
            point,
            broke: knot.thread_break.map(middle),
        }
    }
}

/// Takes the frames of a pull as they come.
pub type Look<'a> = &'a mut dyn FnMut(Frame);
