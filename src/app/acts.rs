//! Which acts are being done now: keys and buttons, looked up in the bindings. Nothing else asks which key is down.

use std::sync::Arc;

use bevy::ecs::system::SystemParam;
use bevy::prelude::*;
use bevy_egui::input::EguiWantsInput;

use super::key_codes::KEY_CODES;
use super::pad::PadState;
use super::ticking::Live;
use super::touch::OnScreen;
use super::words::Language;
use crate::input::bindings::{ACTS, Act, Bindings, Hand, Key, Kind, When};

/// What every act is given by, and with which codes of the engine.
#[derive(Resource, Debug, Clone)]
pub struct Bound {
    /// By names.
    pub bindings: Arc<Bindings>,
    codes: Vec<Vec<Code>>,
}

impl Default for Bound {
    fn default() -> Bound {
        Bound::new(Bindings::default())
    }
}

impl Bound {
    /// Codes for bindings.
    #[must_use]
    pub fn new(bindings: Bindings) -> Bound {
        let codes = ACTS.iter().map(|entry| bindings.keys(entry.act).iter().flat_map(|key| codes(*key)).collect());
        Bound { codes: codes.collect(), bindings: Arc::new(bindings) }
    }

    /// Whether the field is shown mirrored, for the left hand.
    #[must_use]
    pub fn mirrored(&self) -> bool {
        self.bindings.hand == Hand::Left
    }
}

/// A key or button as the engine has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Code {
    /// A key, by its place.
    Key(KeyCode),
    /// A button of the mouse.
    Button(MouseButton),
    /// A button of the gamepad.
    Pad(Key),
}

/// Whether something is down, and whether it went down since it was last looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Press {
    /// It is down.
    pub down: bool,
    /// It went down.
    pub began: bool,
}

/// The acts that are being done.
#[derive(Resource, Debug, Clone)]
pub struct Acts(Vec<Press>);

impl Default for Acts {
    fn default() -> Acts {
        Acts(vec![Press::default(); ACTS.len()])
    }
}

impl Acts {
    /// Whether an act goes on.
    #[must_use]
    pub fn down(&self, act: Act) -> bool {
        self.0[act as usize].down
    }

    /// Whether an act has just begun.
    #[must_use]
    pub fn began(&self, act: Act) -> bool {
        self.0[act as usize].began
    }

    /// Looks at all keys and buttons. Toggles of the hands end with the hands: `live` says whether there are any.
    /// `screen` has what buttons on the screen give.
    pub fn look(&mut self, bound: &Bound, live: bool, screen: &OnScreen, press: impl Fn(Code) -> Press) {
        for entry in ACTS {
            let began = screen.struck.contains(&entry.act);
            let on_screen = Press { down: began || screen.on.contains(&entry.act), began };
            let keys = bound.codes[entry.act as usize].iter().map(|code| press(*code));
            let presses = keys.chain([on_screen]);
            let now = presses
                .fold(Press::default(), |all, one| Press { down: all.down || one.down, began: all.began || one.began });
            let act = &mut self.0[entry.act as usize];
            *act = if entry.held && bound.bindings.toggles(entry.act) {
                let of_hands = entry.when == [When::Attempt];
                let on = (act.down != now.began) && (live || !of_hands);
                Press { down: on, began: now.began && on }
            } else {
                now
            };
        }
    }

    /// What goes on without a key being held, in words; empty if nothing does.
    #[must_use]
    pub fn going_on(&self, language: Language, bindings: &Bindings) -> String {
        let on = ACTS.iter().filter(|entry| bindings.toggles(entry.act) && self.down(entry.act));
        let words = on.map(|entry| {
            let does = language.name_of("act", entry.name, entry.does);
            format!("{does} ({})", language.pressed(bindings, entry.act))
        });
        words.collect::<Vec<_>>().join("; ")
    }
}

/// Those that read acts run after this.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct ActSystems;

/// The devices that have buttons.
#[derive(SystemParam)]
struct Buttons<'w> {
    keys: Res<'w, ButtonInput<KeyCode>>,
    mouse: Res<'w, ButtonInput<MouseButton>>,
    pad: Res<'w, PadState>,
    wants: Res<'w, EguiWantsInput>,
}

/// Adds the reading of acts.
pub(super) fn plugin(app: &mut App) {
    app.init_resource::<OnScreen>().add_systems(Update, look_at_buttons.in_set(ActSystems));
}

fn look_at_buttons(
    mut acts: ResMut<Acts>,
    mut screen: ResMut<OnScreen>,
    bound: Res<Bound>,
    live: Res<Live>,
    buttons: Buttons,
) {
    let Buttons { keys, mouse, pad, wants } = buttons;
    let (typing, pointing) = (wants.wants_any_keyboard_input(), wants.wants_any_pointer_input());
    if live.0.is_none() {
        *screen = OnScreen::default();
    }
    acts.look(&bound, live.0.is_some(), &screen, |code| match code {
        Code::Key(key) if !typing => Press { down: keys.pressed(key), began: keys.just_pressed(key) },
        Code::Button(button) if !pointing => Press { down: mouse.pressed(button), began: mouse.just_pressed(button) },
        Code::Pad(key) => pad.press(key),
        // The panels have it.
        Code::Key(_) | Code::Button(_) => Press::default(),
    });
    screen.struck.clear();
}

/// The engine's codes of a key: two, where either side counts.
pub(super) fn codes(key: Key) -> Vec<Code> {
    if key.kind() == Kind::Pad {
        return vec![Code::Pad(key)];
    }
    let button = BUTTONS.iter().filter(|(name, _)| *name == key.name()).map(|(_, button)| Code::Button(*button));
    let keys = KEY_CODES.iter().filter(|(name, _)| *name == key.name()).map(|(_, code)| Code::Key(*code));
    button.chain(keys).collect()
}

const BUTTONS: &[(&str, MouseButton)] = &[
    ("MouseLeft", MouseButton::Left),
    ("MouseRight", MouseButton::Right),
    ("MouseMiddle", MouseButton::Middle),
    ("MouseBack", MouseButton::Back),
    ("MouseForward", MouseButton::Forward),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::bindings::KEYS;

    #[test]
    fn every_key_that_a_file_may_name_has_a_code_of_its_own() {
        let mut seen: Vec<Code> = Vec::new();
        for name in KEYS {
            let codes = codes(Key::named(name).expect("it is listed"));
            assert!(!codes.is_empty(), "{name} has none");
            for code in codes {
                assert!(!seen.contains(&code), "{name}: {code:?} again");
                seen.push(code);
            }
        }
    }
}
