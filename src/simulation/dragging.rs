//! What steel does to the membrane: a tip that presses on it, or a needle that is through it, takes it along.
//!
//! In its plane the membrane is rigid and only wet films hold it, so what catches it does not slip. Left out: thread that
//! slides over it, and its turning.

use super::needle::State;
use super::{LEFT, RIGHT, World};
use crate::math::{DVec2, DVec3};
use crate::quantity::TICK_MS;
use crate::tissue::Side;

/// Force that slides the membrane between its films [mN]; estimate: films that press with 0.2 kPa on overlaps of 2.5 mm,
/// and friction of 0.3.
const FILM_DRAG: f64 = 11.0;

/// Speed at which that force is fully there [mm/ms]: it must not push steel that stands still.
const DRAG_SPEED: f64 = 0.003;

/// What caught the membrane at the end of a tick, and how it then held back.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Catch {
    /// Where each instrument's tip had it [mm].
    tips: [Option<DVec2>; 2],
    /// Where the needle's point was, through it [mm].
    point: Option<DVec3>,
    /// Force of the membrane on each instrument [mN].
    drags: [DVec2; 2],
}

impl World {
    /// Moves the membrane with what has caught it, at the end of a tick.
    pub(super) fn drag_membrane(&mut self) {
        let before = self.catch;
        let mut now = Catch { tips: [RIGHT, LEFT].map(|hand| self.tip_on_membrane(hand)), ..Catch::default() };
        now.point = self.point_through_membrane();
        for hand in [RIGHT, LEFT] {
            let by_needle = self.holds_needle(hand).then(|| self.needle_drag(before.point, now.point)).flatten();
            let by_tip = before.tips[hand].zip(now.tips[hand]).map(|(before, now)| now - before);
            let Some(way) = by_tip.or(by_needle).filter(|way| *way != DVec2::ZERO) else { continue };
            self.gum.membrane.slide(way);
            let speed = way.length() / TICK_MS;
            now.drags[hand] = way.normalize_or_zero() * (-FILM_DRAG * (speed / DRAG_SPEED).min(1.0));
            // The sheet is rigid: two that pull at it cannot each have their way.
            break;
        }
        self.catch = now;
    }

    /// The membrane's films act on what drags it.
    pub(super) fn resist_dragging(&mut self) {
        for hand in [RIGHT, LEFT] {
            let drag = self.catch.drags[hand];
            if drag != DVec2::ZERO {
                self.around.loads.push((self.rod.node_count() + hand, drag.extend(0.0)));
            }
        }
    }

    /// Where an instrument's tip presses on the membrane, if it does. It comes to it between the edges; once it has it,
    /// it may go on under a flap.
    fn tip_on_membrane(&self, hand: usize) -> Option<DVec2> {
        let (tip, radius) = (self.around.tools[hand].position, self.instruments[hand].kind.design().jaw_radius.0);
        let place = tip.truncate();
        let edge = |side| self.gum.flaps.flap(side).edge_y(tip.x);
        let between = || (edge(Side::Tongue)..edge(Side::Cheek)).contains(&tip.y);
        let pressed = tip.z - radius < -self.membrane_face && self.gum.membrane.is_under(place);
        (pressed && (self.catch.tips[hand].is_some() || between())).then_some(place)
    }

    /// Where the needle's point is, if it is through the membrane.
    fn point_through_membrane(&self) -> Option<DVec3> {
        let (needle, pose) = (self.needle.as_ref()?, self.needle_pose()?);
        let point = needle.point(&pose, 0.0);
        let through = matches!(needle.state, State::Held { .. }) && point.z < -needle.membrane_depth;
        (through && self.gum.membrane.is_under(point.truncate())).then_some(point)
    }

    /// How far a needle that is through the membrane has gone aside: along its own arc it takes nothing along.
    fn needle_drag(&self, before: Option<DVec3>, now: Option<DVec3>) -> Option<DVec2> {
        let (before, now) = before.zip(now)?;
        let forward = self.needle.as_ref()?.forward(&self.needle_pose()?, 0.0);
        let way = now - before;
        Some((way - forward * way.dot(forward)).truncate())
    }
}
