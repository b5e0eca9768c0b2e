//! The verbs before the first throw and after the last: needle through, thread drawn, strand taken, ends cut.

use super::eyes::Eyes;
use super::{Performer, number};
use crate::input::script::Value;
use crate::input::{HandEvent, STEPS_PER_MM};
use crate::math::{DVec3, Pose, atan2, cos, rotation, sin};
use crate::quantity::TICK_MS;
use crate::simulation::arming::{Armed, NEEDLE_IN_PADS, way_through};
use crate::simulation::needle::{Needle, State};
use crate::simulation::{LEFT, RIGHT, World};
use crate::tissue::Side;
use std::collections::BTreeMap;

/// A wrist turns the needle no faster than this [rad/ms]; the hand's own limit is a little above.
const WRIST: f64 = 0.003;
/// The point begins its way this far before the gum [rad along the arc].
const RUN_UP: f64 = 0.2;
/// The swage is drawn this far past the last hole before the hand pulls straight [rad along the arc].
const RUN_OUT: f64 = 0.12;
/// The holder takes the needle again this far behind its point [mm].
const REGRIP_BEHIND: f64 = 1.3;
/// Acts of taking the needle again: open, go back, come beside it, come to it, close.
const REGRIP_STAGES: u32 = 5;
/// It is tried so often.
const REGRIP_TRIES: u32 = 4;
/// Jaws that have not got the needle after so many ticks have missed it.
const MISSED: u32 = 60;
/// Height from which the point is lowered on what it pricks [mm]: above every crown.
const PRICKS_FROM: f64 = 16.0;
/// Way down on which the point must have met something hard [mm]: below every bone.
const PRICKS_DOWN: f64 = 20.0;
/// Speed at which the needle is carried to where it pricks and back [mm/ms].
const CARRY: f64 = 0.04;
/// Way aside on which the holder comes to the needle and goes from it [mm].
const ASIDE: f64 = 10.0;
/// Way on which open forceps come to the strand [mm].
const APPROACH: f64 = 9.0;
/// Where the left hand waits while the needle is set in the holder [mm].
const LEFT_WAITS: DVec3 = DVec3::new(-22.0, -26.0, 26.0);
/// Where the strand lies in the forceps, from their tip [mm].
const STRAND_IN_PADS: f64 = 1.5;
/// Share of what the needle is off its way that a tick takes back.
const STEER: f64 = 0.3;
/// A hand corrects by no more than this [mm].
const STEER_MAX: f64 = 0.8;
/// Tension below which a strand is slack enough to cut [mN].
const SLACK_TO_CUT: f64 = 60.0;

/// The unit vector from the middle of the needle's arc to what stands at `angle` [rad] from straight down.
fn radial(angle: f64) -> DVec3 {
    DVec3::new(0.0, sin(angle), -cos(angle))
}

/// Whether a needle is at a place [mm], turned by so much [rad].
fn is_at(pose: &Pose, place: DVec3, turn: f64) -> bool {
    pose.position.distance(place) < 0.05 && (turn_of(pose) - turn).abs() < 0.01
}

/// How far a needle is turned about the wound's direction [rad]: where its point stands, from straight down.
fn turn_of(pose: &Pose) -> f64 {
    let down = pose.direction(-DVec3::Z);
    atan2(down.y, -down.z)
}

impl Performer {
    /// Leads the holder so that the needle it holds comes to `pose`.
    ///
    /// The hand lags its target and the gum pushes back; eyes see by how much the needle is off its way, and the hand
    /// is led that much further.
    fn lead_needle(&mut self, needle: &Needle, now: &Pose, pose: &Pose) {
        let State::Held { local, .. } = needle.state else { return };
        let turn = pose.rotation * local.rotation.conjugate();
        self.steer = (self.steer + (pose.position - now.position) * STEER).clamp_length_max(STEER_MAX);
        self.hands.tip[RIGHT] = pose.position + self.steer - turn * local.position;
        self.hands.turn[RIGHT] = (turn * DVec3::X, turn * DVec3::Z);
    }

    /// Where the needle is led this tick on its way `to` a place [mm] at `speed` [mm/ms]: a few ticks ahead, since it lags its hand.
    fn nearer(&self, now: &Pose, to: DVec3, speed: f64) -> DVec3 {
        now.position + (to - now.position).clamp_length_max(speed * self.pace * TICK_MS * 4.0)
    }

    /// The turn of the needle for this tick, no faster than `speed` [mm/ms] along its arc.
    fn turn_on(&mut self, radius: f64, speed: f64) {
        self.angle -= (speed * self.pace / radius).min(WRIST) * TICK_MS;
    }

    pub(super) fn drive(&mut self, values: &BTreeMap<String, Value>, world: &World) -> bool {
        let (Some(needle), Some(pose)) = (&world.needle, world.needle_pose()) else { return true };
        let edge = |side| world.gum.flaps.flap(side).edge_y(pose.position.x);
        let (cheek, tongue) = (edge(Side::Cheek), edge(Side::Tongue));
        if self.begins() {
            // Eyes fix where it goes in and comes out before gum begins to move.
            let bite = number(values, "bite");
            let (entry, height) = way_through(needle.radius, 0.5 * (cheek - tongue) + bite);
            self.memo = DVec3::new(pose.position.x, 0.5 * (cheek + tongue) + number(values, "aside"), height);
            self.aim = entry;
            self.angle = entry + RUN_UP;
        }
        let target = |angle: f64, at: DVec3| Pose { position: at, rotation: rotation(DVec3::X, angle) };
        if self.stage == 0 {
            let next = self.nearer(&pose, self.memo, number(values, "speed"));
            self.lead_needle(needle, &pose, &target(self.angle, next));
            if is_at(&pose, self.memo, self.angle) {
                self.stage = 1;
            }
            return false;
        }
        let last = -self.aim - number(values, "out") / needle.radius;
        self.turn_on(needle.radius, number(values, "speed"));
        self.angle = self.angle.max(last);
        self.lead_needle(needle, &pose, &target(self.angle, self.memo));
        (turn_of(&pose) - last).abs() < 0.02
    }

    /// The point is pushed down on something hard, and the needle brought back.
    pub(super) fn prick(&mut self, values: &BTreeMap<String, Value>, world: &World) -> bool {
        let (Some(needle), Some(pose)) = (&world.needle, world.needle_pose()) else { return true };
        if self.begins() {
            self.memo = pose.position;
            self.aim = turn_of(&pose);
        }
        let above = DVec3::new(number(values, "at"), number(values, "across"), PRICKS_FROM);
        let straight = std::f64::consts::FRAC_PI_2;
        let over = above - radial(straight) * needle.radius;
        let lowered = number(values, "speed") * self.pace * TICK_MS * f64::from(self.clock);
        let (at, turn) = match self.stage {
            0 | 2 => (self.nearer(&pose, over, CARRY), straight),
            1 => (over - DVec3::Z * lowered, straight),
            _ => (self.nearer(&pose, self.memo, CARRY), self.aim),
        };
        self.lead_needle(needle, &pose, &Pose { position: at, rotation: rotation(DVec3::X, turn) });
        let on = match self.stage {
            0 | 2 => is_at(&pose, over, turn),
            1 => {
                let held = needle.meeting.is_some_and(|meeting| meeting.push >= number(values, "force"));
                held || lowered > PRICKS_DOWN
            }
            _ => return is_at(&pose, self.memo, turn),
        };
        if on {
            self.stage += 1;
            self.clock = 0;
        }
        false
    }

    /// Both hands go to where they begin a stitch, and fingers give the needle to the holder.
    pub(super) fn arm(&mut self, values: &BTreeMap<String, Value>, world: &World) -> bool {
        let Some(needle) = &world.needle else { return true };
        let speed = number(values, "speed");
        match self.stage {
            0 => {
                let (x, bite) = (number(values, "at"), number(values, "bite"));
                let edge = |side| world.gum.flaps.flap(side).edge_y(x);
                let half_span = 0.5 * (edge(Side::Cheek) - edge(Side::Tongue)) + bite;
                let Armed { holder, .. } = Armed::above(needle.radius, needle.arc, x, half_span);
                self.hands.jaw[RIGHT] = 0.0;
                self.hands.turn[RIGHT] = (holder.direction(DVec3::X), holder.direction(DVec3::Z));
                let right = self.go(RIGHT, holder.position, speed);
                let left = self.go(LEFT, LEFT_WAITS, speed);
                let still = world.pose(RIGHT).position.distance(holder.position) < 0.05;
                self.stage = u32::from(right && left && still);
            }
            1 => {
                self.events.push(HandEvent::Arm);
                self.throws = 0;
                self.plan = None;
                self.stage = 2;
            }
            _ => {
                self.stage = u32::from(!world.holds_needle(RIGHT));
                return world.holds_needle(RIGHT);
            }
        }
        false
    }

    pub(super) fn regrip(&mut self, values: &BTreeMap<String, Value>, world: &World) -> bool {
        let (Some(needle), Some(pose)) = (&world.needle, world.needle_pose()) else { return true };
        let speed = number(values, "speed");
        let near_point = radial(turn_of(&pose) + REGRIP_BEHIND / needle.radius);
        let grip = pose.position + near_point * needle.radius - DVec3::X * NEEDLE_IN_PADS;
        match self.stage % REGRIP_STAGES {
            0 => {
                self.hands.jaw[RIGHT] = 0.75;
                self.memo = self.hands.tip[RIGHT] + DVec3::X * ASIDE;
                self.stage += u32::from(!world.holds_needle(RIGHT) && world.instruments[RIGHT].gap > 1.8);
            }
            1 => self.stage += u32::from(self.go(RIGHT, self.memo, speed)),
            2 => {
                self.hands.turn[RIGHT] = (DVec3::X, near_point);
                let there = self.go(RIGHT, grip + DVec3::X * ASIDE, speed);
                let turned = world.pose(RIGHT).direction(DVec3::Z).dot(near_point) > 0.999;
                self.stage += u32::from(there && turned);
            }
            3 => {
                self.stage += u32::from(self.go(RIGHT, grip, speed));
                self.clock = 0;
            }
            _ => {
                // The jaws close once the hand, which lags, is there too.
                if self.clock > 10 {
                    self.hands.jaw[RIGHT] = 0.0;
                }
                let closed = world.instruments[RIGHT].gap < 0.1;
                if closed && self.clock > MISSED {
                    self.stage += 1;
                }
                return closed && world.holds_needle(RIGHT);
            }
        }
        self.stage >= REGRIP_STAGES * REGRIP_TRIES
    }

    pub(super) fn draw(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes, world: &World) -> bool {
        let (Some(needle), Some(pose)) = (&world.needle, world.needle_pose()) else { return true };
        let speed = number(values, "speed");
        if self.begins() {
            self.memo = pose.position;
            self.angle = turn_of(&pose);
            self.aim = self.angle;
        }
        if self.stage == 0 {
            self.turn_on(needle.radius, speed);
            // The way so far, not the turn itself: it goes past straight up, where the turn jumps.
            let wanted = Pose { position: self.memo, rotation: rotation(DVec3::X, self.angle) };
            self.lead_needle(needle, &pose, &wanted);
            let swage = needle.point(&pose, needle.arc);
            let out = needle.filled == 0 && swage.distance(eyes.strand_hole()) > RUN_OUT * needle.radius;
            // Nothing comes out of a needle that went through nothing.
            if out || self.aim - self.angle > 2.0 * needle.arc {
                self.stage = 1;
                self.memo = self.hands.tip[RIGHT];
            }
            return false;
        }
        let left = eyes.tail_length() - number(values, "tail");
        if left < 0.3 {
            return true;
        }
        let away = DVec3::new(-0.1, -0.75, 0.65).normalize();
        let reach = self.memo + away * 400.0;
        self.go(RIGHT, reach, speed.min(0.01 + 0.006 * left));
        false
    }

    pub(super) fn take_strand(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes, world: &World) -> bool {
        let Some((strand, _)) = eyes.loop_ends() else { return true };
        let speed = number(values, "speed");
        let node = world.rod.node_at((strand - number(values, "free")).max(0.0)).clamp(1, world.rod.node_count() - 2);
        let (place, along) = (world.rod.positions[node], world.rod.positions[node + 1] - world.rod.positions[node - 1]);
        let axis = DVec3::new(-1.0, 0.0, 0.3).normalize();
        match self.stage {
            0 => {
                self.hands.jaw[LEFT] = 0.7;
                self.hands.turn[LEFT] = (axis, axis.cross(along.normalize()));
                let there = self.go(LEFT, place + axis * APPROACH, speed);
                self.stage = u32::from(there && world.instruments[LEFT].gap > 2.0 && self.clock > 20);
            }
            1 => {
                let there = self.go(LEFT, place - axis * STRAND_IN_PADS, speed);
                self.stage += u32::from(there);
                self.clock = 0;
            }
            2 => {
                if self.clock > 8 {
                    self.hands.jaw[LEFT] = 0.0;
                }
                self.memo = self.hands.tip[RIGHT] + DVec3::X * ASIDE;
                self.stage += u32::from(world.strand_hold(LEFT).is_some() && world.instruments[LEFT].gap < 0.1);
            }
            3 => {
                self.hands.jaw[RIGHT] = 0.7;
                self.stage += u32::from(world.instruments[RIGHT].gap > 1.5 && self.go(RIGHT, self.memo, speed));
            }
            _ => {
                self.hands.turn[RIGHT] = (DVec3::new(0.97, 0.0, 0.2), DVec3::Z);
                let there = self.go(RIGHT, DVec3::new(30.0, 0.0, 30.0), speed);
                self.hands.jaw[RIGHT] = if there { 0.0 } else { 0.7 };
                // The strand, still as taut as it was drawn, goes slack beside the way of the holder.
                let aside = DVec3::new(-0.29, -0.7, 0.66).normalize() * (0.97 * number(values, "free"));
                let slack = self.go(LEFT, eyes.strand_hole() + aside, 0.5 * speed);
                return there && slack;
            }
        }
        false
    }

    pub(super) fn cut(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes, world: &World) -> bool {
        // Without a knot there are still holes to leave the ends of.
        let Some((strand, tail)) = world.knot_span(world.current_stitch()).or(eyes.loop_ends()) else { return true };
        let (speed, leaving) = (number(values, "speed"), number(values, "leaving"));
        match self.stage {
            0 => {
                let knot = eyes.knot().unwrap_or(eyes.strand_hole());
                for (hand, tension) in [(RIGHT, eyes.tail_tension()), (LEFT, eyes.strand_tension())] {
                    if tension > SLACK_TO_CUT {
                        self.go(hand, knot, 0.5 * speed);
                    }
                }
                let slack = eyes.tail_tension().max(eyes.strand_tension()) < SLACK_TO_CUT;
                self.stage = u32::from((slack && self.clock > 10) || self.clock > 90);
            }
            1 => self.cut_at(tail + leaving, world),
            2 => self.cut_at(strand - leaving, world),
            3 => {
                self.memo = self.hands.tip[LEFT] + DVec3::new(-10.0, -4.0, 6.0);
                self.stage = 4;
            }
            _ => return self.go(LEFT, self.memo, speed),
        }
        false
    }

    /// Cuts the thread where its material coordinate is this [mm].
    fn cut_at(&mut self, material: f64, world: &World) {
        self.stage += 1;
        let rod = &world.rod;
        let edge = rod.node_at(material).max(1) - 1;
        let middle = 0.5 * (rod.positions[edge] + rod.positions[edge + 1]);
        #[expect(clippy::cast_possible_truncation, reason = "rounded and far inside the range: the site is small")]
        let at = middle.to_array().map(|mm| (mm * STEPS_PER_MM).round() as i32);
        self.events.push(HandEvent::Cut { at });
    }
}
