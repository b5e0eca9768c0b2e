//! The gamepad: two sticks are two hands, its triggers their jaws.
//!
//! What it does goes the same way as the mouse's, through [`Input`] to [`Hands`](super::hands::Hands), which knows one
//! greatest speed for all devices.

use bevy::prelude::*;

use super::acts::{Acts, Press};
use super::hands::{Input, Stick};
use crate::input::bindings::{Act, Key};
use crate::math::DVec2;
use crate::simulation::{LEFT, RIGHT};

/// Share of a stick's way in which it counts as still; common practice, no source.
pub const DEAD_ZONE: f64 = 0.08;

/// Share of a trigger's way in which it counts as free; our own choice.
const FREE: f64 = 0.05;

/// What a gamepad does now, whichever it is.
#[derive(Resource, Debug, Clone, PartialEq, Default)]
pub struct PadState {
    /// There is one.
    pub connected: bool,
    /// Left and right stick, each -1..=1: right, away.
    pub sticks: [DVec2; 2],
    /// Left and right trigger, each 0..=1.
    pub triggers: [f64; 2],
    /// Buttons that are down.
    pub down: Vec<Key>,
    /// Buttons that went down since it was last looked at.
    pub began: Vec<Key>,
}

impl PadState {
    /// Whether a button is down.
    #[must_use]
    pub fn press(&self, key: Key) -> Press {
        Press { down: self.down.contains(&key), began: self.began.contains(&key) }
    }
}

/// A stick's way after its dead zone, by the cube of its share: fine near the middle, fast at the rim.
#[must_use]
pub fn curved(stick: DVec2) -> DVec2 {
    let length = stick.length();
    if length <= DEAD_ZONE {
        return DVec2::ZERO;
    }
    let share = ((length - DEAD_ZONE) / (1.0 - DEAD_ZONE)).min(1.0);
    stick * (share * share * share / length)
}

/// What a gamepad's sticks and triggers ask of the hands; its buttons are acts like any key.
///
/// The left stick is the hand that is seen on the left: the forceps', or in a mirrored field the needle holder's.
pub fn read_pad(pad: &PadState, acts: &Acts, mirrored: bool, input: &mut Input) {
    let (left, right) = if mirrored { (RIGHT, LEFT) } else { (LEFT, RIGHT) };
    let sides = [(left, Act::LeftStickUp, Act::LeftStickTurn), (right, Act::RightStickUp, Act::RightStickTurn)];
    for (side, (hand, up, turn)) in sides.into_iter().enumerate() {
        let way = curved(pad.sticks[side]);
        let way = if mirrored { DVec2::new(-way.x, way.y) } else { way };
        input.sticks[hand] = if acts.down(turn) {
            Stick::Turn(way)
        } else if acts.down(up) {
            Stick::Upright(way)
        } else {
            Stick::Table(way)
        };
        input.squeeze[hand] = ((pad.triggers[side] - FREE) / (1.0 - FREE)).clamp(0.0, 1.0);
    }
}

/// Adds the gamepad of the engine.
#[cfg(feature = "gamepad")]
pub(super) fn plugin(app: &mut App) {
    app.add_systems(Update, look_at_pad.before(super::acts::ActSystems));
}

/// Takes over what the first gamepad does.
#[cfg(feature = "gamepad")]
pub fn look_at_pad(pads: Query<&Gamepad>, mut state: ResMut<PadState>) {
    let Some(pad) = pads.iter().next() else {
        state.set_if_neq(PadState::default());
        return;
    };
    let buttons = |pressed: &dyn Fn(GamepadButton) -> bool| {
        let down = PAD_BUTTONS.iter().filter(|(_, button)| pressed(*button));
        down.filter_map(|(name, _)| Key::named(name)).collect()
    };
    let wide = |stick: Vec2| DVec2::new(f64::from(stick.x), f64::from(stick.y));
    let trigger = |button: GamepadButton| f64::from(pad.get(button).unwrap_or_default());
    *state = PadState {
        connected: true,
        sticks: [wide(pad.left_stick()), wide(pad.right_stick())],
        triggers: [trigger(GamepadButton::LeftTrigger2), trigger(GamepadButton::RightTrigger2)],
        down: buttons(&|button| pad.pressed(button)),
        began: buttons(&|button| pad.just_pressed(button)),
    };
}

/// The engine's buttons by their names.
#[cfg(feature = "gamepad")]
const PAD_BUTTONS: &[(&str, GamepadButton)] = &[
    ("PadSouth", GamepadButton::South),
    ("PadEast", GamepadButton::East),
    ("PadWest", GamepadButton::West),
    ("PadNorth", GamepadButton::North),
    ("PadLeftBumper", GamepadButton::LeftTrigger),
    ("PadRightBumper", GamepadButton::RightTrigger),
    ("PadLeftStick", GamepadButton::LeftThumb),
    ("PadRightStick", GamepadButton::RightThumb),
    ("PadSelect", GamepadButton::Select),
    ("PadStart", GamepadButton::Start),
    ("PadUp", GamepadButton::DPadUp),
    ("PadDown", GamepadButton::DPadDown),
    ("PadLeft", GamepadButton::DPadLeft),
    ("PadRight", GamepadButton::DPadRight),
];

#[cfg(all(test, feature = "gamepad"))]
mod tests {
    use super::*;
    use bevy::ecs::system::RunSystemOnce;
    use bevy::input::gamepad::GamepadInput;

    #[test]
    fn the_engine_s_gamepad_is_taken_over_and_gone_when_it_is_gone() {
        let mut world = World::new();
        world.init_resource::<PadState>();
        let mut pad = Gamepad::default();
        pad.analog_mut().set(GamepadInput::Axis(GamepadAxis::LeftStickX), -0.5);
        pad.analog_mut().set(GamepadInput::Axis(GamepadAxis::RightStickY), 1.0);
        pad.analog_mut().set(GamepadInput::Button(GamepadButton::RightTrigger2), 0.25);
        pad.digital_mut().press(GamepadButton::South);
        let entity = world.spawn(pad).id();
        world.run_system_once(look_at_pad).expect("it runs");
        let south = Key::named("PadSouth").expect("it is a button");
        let expected = PadState {
            connected: true,
            sticks: [DVec2::new(-0.5, 0.0), DVec2::new(0.0, 1.0)],
            triggers: [0.0, 0.25],
            down: vec![south],
            began: vec![south],
        };
        assert_eq!(*world.resource::<PadState>(), expected);
        world.despawn(entity);
        world.run_system_once(look_at_pad).expect("it runs");
        assert_eq!(*world.resource::<PadState>(), PadState::default());
    }

    #[test]
    fn every_button_that_a_file_may_name_is_one_of_the_engine_s() {
        let named = crate::input::bindings::KEYS.iter().filter(|name| name.starts_with("Pad"));
        assert!(named.eq(PAD_BUTTONS.iter().map(|(name, _)| name)));
    }
}
