//! The verb that draws a closed tip across the membrane.

use super::{Performer, number};
use crate::input::script::Value;
use crate::math::DVec3;
use crate::simulation::{LEFT, World};
use crate::tissue::Side;
use std::collections::BTreeMap;

/// How far into the membrane's face the tip is pressed [mm].
const PRESSED: f64 = 0.2;
/// How far above the gum the tip comes and goes [mm].
const CLEAR: f64 = 8.0;
/// A hand is there when its instrument is this near [mm].
const THERE: f64 = 0.1;
/// The shaft's direction, tip to handle: steeply in from the near side, clear of the neighbour teeth.
const SHAFT: DVec3 = DVec3::new(-0.5, -0.55, 0.67);

impl Performer {
    pub(super) fn sweep(&mut self, values: &BTreeMap<String, Value>, world: &World) -> bool {
        if world.membrane_face.is_infinite() {
            return true;
        }
        let (x, by) = (number(values, "at"), number(values, "by"));
        if self.begins() {
            let edge = |side| world.gum.flaps.flap(side).edge_y(x);
            self.angle = 0.5 * (edge(Side::Cheek) + edge(Side::Tongue));
            self.memo = self.hands.tip[LEFT];
        }
        let place = |y: f64, z: f64| DVec3::new(x, y, z);
        let (from, to, down) = (self.angle - 0.5 * by, self.angle + 0.5 * by, -world.membrane_face - PRESSED);
        let way = [place(from, CLEAR), place(from, down), place(to, down), place(to, CLEAR), self.memo];
        self.hands.jaw[LEFT] = 0.0;
        self.hands.turn[LEFT] = (SHAFT.normalize(), DVec3::Z);
        let wanted = way[self.stage as usize];
        let led = self.go(LEFT, wanted, number(values, "speed"));
        if led && world.pose(LEFT).position.distance(wanted) < THERE {
            self.stage += 1;
        }
        self.stage as usize >= way.len()
    }
}
