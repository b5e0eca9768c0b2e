//! The same somebody with a gamepad: a stick for each hand, and a trigger for its jaws.

use super::Desk;
use super::user::{BARRED, TRIES, User, turn_parts};
use crate::app::hands::Hands;
use crate::app::pad::{DEAD_ZONE, PadState};
use crate::app::unseen::Doing;
use crate::input::bindings::Key;
use crate::input::script::Script;
use crate::math::{DQuat, DVec2, pow};
use crate::simulation::{LEFT, RIGHT};

/// A tip is where it is to be within this [mm].
const NEAR: f64 = 0.05;
/// The same for the roll about the shaft [rad].
const ROLLED: f64 = 0.005;
/// A shaft that is to be pitched is rolled this near to it first [rad].
const ROLLED_TO_PITCH: f64 = 0.02;
/// Way in a tick of a hand whose stick is fully over [mm], and its turn [rad], as the window has them.
const STEP: f64 = 80.0 / 60.0;
const TURN: f64 = 2.0 / 60.0;
/// Share of a trigger's way in which it counts as free, as the window has it.
const FREE: f64 = 0.05;
/// Steps of a stick to one side, and of a trigger: eight bits.
const STICK_STEPS: f64 = 127.0;
const TRIGGER_STEPS: f64 = 255.0;

/// What is known of each hand's way.
pub(super) type Sticks = [Progress; 2];

#[derive(Debug, Clone, Copy)]
pub(super) struct Progress {
    /// How near it came to where it is to be [mm], and for how many ticks it came no nearer.
    nearest: (f64, u32),
    /// How it was turned last, and for how many ticks it was.
    turned: (DQuat, u32),
}

impl Progress {
    /// There is another place to get to, and perhaps another turn.
    pub(super) fn begin(&mut self, turned_on: bool) {
        self.nearest = (f64::INFINITY, 0);
        if turned_on {
            self.turned.1 = 0;
        }
    }
}

impl User {
    /// Sits down before a case with a gamepad.
    pub(super) fn begin_with_pad(desk: Desk, script: Script) -> User {
        let mut user = User::begin(desk, script);
        user.sticks = Some([Progress { nearest: (f64::INFINITY, 0), turned: (DQuat::IDENTITY, 0) }; 2]);
        // Both jaws were taken over with their ratchets on; from here on the triggers hold them.
        for button in ["PadSouth", "PadNorth", "PadSouth", "PadNorth"] {
            let pad = Some(user.held(&[button]));
            user.act(&Doing { pad, ..Doing::default() });
        }
        user
    }

    /// The pad with its sticks in the middle, its triggers pulled and these buttons down.
    pub(super) fn held(&self, down: &[&str]) -> PadState {
        let pulled = |hand: usize| {
            let way = FREE + (1.0 - FREE) * (1.0 - self.aims[hand].opening);
            (way * TRIGGER_STEPS).round() / TRIGGER_STEPS
        };
        let down = down.iter().map(|name| Key::named(name).expect("it is a button")).collect();
        PadState { triggers: [pulled(LEFT), pulled(RIGHT)], down, ..PadState::default() }
    }

    /// What the hands have to do next; `None` if both are where they are to be.
    pub(super) fn work_of_sticks(&mut self, hands: &Hands) -> Option<Doing> {
        let mut pad = self.held(&[]);
        let mut works = false;
        for (side, hand) in [LEFT, RIGHT].into_iter().enumerate() {
            let Some((stick, buttons)) = self.stick(hands, hand) else { continue };
            works = true;
            pad.sticks[side] = stick;
            pad.down.extend(buttons.map(|buttons| Key::named(buttons[side]).expect("it is a button")));
        }
        works.then(|| Doing { pad: Some(pad), ..Doing::default() })
    }

    /// Where a hand's stick goes, and which of its two buttons is held meanwhile.
    fn stick(&mut self, hands: &Hands, hand: usize) -> Option<(DVec2, Option<[&'static str; 2]>)> {
        let (now, aim) = (hands.hands[hand].pose, self.aims[hand]);
        let progress = &mut self.sticks.as_mut()?[hand];
        let still = now.rotation == progress.turned.0;
        progress.turned = (now.rotation, if still { progress.turned.1 + 1 } else { 0 });
        // A tooth may be in the way of a turn, too.
        let turns = turn(now.rotation, aim.pose.rotation).filter(|_| progress.turned.1 <= TRIES);
        if let Some(angles) = turns {
            return Some((pushed(angles, TURN), Some(["PadLeftStick", "PadRightStick"])));
        }
        let way = aim.pose.position - now.position;
        if way.length() < NEAR || aim.barred.distance(aim.pose.position) < BARRED {
            return None;
        }
        let nearest = &mut progress.nearest;
        let nearer = way.length() < nearest.0 - 0.01;
        *nearest = if nearer { (way.length(), 0) } else { (nearest.0.min(way.length()), nearest.1 + 1) };
        if nearest.1 > TRIES {
            // A tooth is in the way.
            *nearest = (f64::INFINITY, 0);
            self.aims[hand].barred = aim.pose.position;
            return None;
        }
        let up = way.z.abs() > way.y.abs();
        let along = DVec2::new(way.x, if up { way.z } else { way.y });
        Some((pushed(along, STEP), up.then_some(["PadLeftBumper", "PadRightBumper"])))
    }
}

/// Roll or pitch that comes next [rad]: a stick does the one before the other.
fn turn(now: DQuat, wanted: DQuat) -> Option<DVec2> {
    let (DVec2 { x: roll, y: pitch }, _) = turn_parts(now, wanted, ROLLED)?;
    let rolls = pitch == 0.0 || roll.abs() > ROLLED_TO_PITCH;
    Some(if rolls { DVec2::new(roll, 0.0) } else { DVec2::new(0.0, pitch) })
}

/// How far a stick goes over for a way of which it does `full` in a tick.
fn pushed(way: DVec2, full: f64) -> DVec2 {
    let share = (way.length() / full).min(1.0);
    let stick = way.normalize_or_zero() * (DEAD_ZONE + (1.0 - DEAD_ZONE) * pow(share, 1.0 / 3.0));
    (stick * STICK_STEPS).round() / STICK_STEPS
}
