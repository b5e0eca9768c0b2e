//! From keys to acts, and from acts to what the hands are asked for.

use bevy::prelude::{KeyCode, MouseButton};

use knotwright::app::acts::{Acts, Bound, Code, Press};
use knotwright::app::camera::View;
use knotwright::app::devices::read_acts;
use knotwright::app::hands::Input;
use knotwright::app::plan::SitePlan;
use knotwright::app::touch::OnScreen;
use knotwright::app::words::Language::English;
use knotwright::input::bindings::{ACTS, Act, Bindings, Hand, Key, parse};
use knotwright::math::DVec2;

use super::fake::scenario;

const DOWN: Press = Press { down: true, began: true };
const KEPT: Press = Press { down: true, began: false };

/// One look, with these down or gone down.
fn look(acts: &mut Acts, bound: &Bound, pressed: &[(Code, Press)]) {
    let screen = OnScreen::default();
    acts.look(bound, true, &screen, |code| {
        pressed.iter().find(|(other, _)| *other == code).map_or(Press::default(), |p| p.1)
    });
}

fn asked(bound: &Bound, codes: &[Code]) -> Input {
    let mut acts = Acts::default();
    look(&mut acts, bound, &codes.iter().map(|code| (*code, DOWN)).collect::<Vec<_>>());
    read_acts(&acts, bound.mirrored())
}

#[test]
fn each_key_asks_for_its_act_and_for_nothing_else() {
    let parked = |x, y| Input { parked: DVec2::new(x, y), ..Input::default() };
    let cases = [
        (KeyCode::ShiftRight, Input { stand: true, ..Input::default() }),
        (KeyCode::KeyC, Input { ring: true, ..Input::default() }),
        (KeyCode::Space, Input { both: true, ..Input::default() }),
        (KeyCode::KeyV, Input { ratchet: true, ..Input::default() }),
        (KeyCode::Tab, Input { switch: true, ..Input::default() }),
        (KeyCode::KeyX, Input { cut: true, ..Input::default() }),
        (KeyCode::KeyN, Input { arm: true, ..Input::default() }),
        (KeyCode::PageUp, Input { lift: 1.0, ..Input::default() }),
        (KeyCode::PageDown, Input { lift: -1.0, ..Input::default() }),
        (KeyCode::KeyD, parked(1.0, 0.0)),
        (KeyCode::KeyA, parked(-1.0, 0.0)),
        (KeyCode::KeyW, parked(0.0, 1.0)),
        (KeyCode::KeyS, parked(0.0, -1.0)),
        (KeyCode::KeyE, Input { parked_roll: 1.0, ..Input::default() }),
        (KeyCode::KeyQ, Input { parked_roll: -1.0, ..Input::default() }),
        (KeyCode::KeyP, Input::default()),
    ];
    for (key, expected) in cases {
        assert_eq!(asked(&Bound::default(), &[Code::Key(key)]), expected, "{key:?}");
    }
    let button = asked(&Bound::default(), &[Code::Button(MouseButton::Left)]);
    assert_eq!(button, Input { close: true, ..Input::default() });
}

#[test]
fn a_file_moves_an_act_to_another_key() {
    let bindings = parse("keys.ron", "(format: 1, keys: {\"ring\": [\"MouseBack\", \"F5\"]})").expect("it is in order");
    let bound = Bound::new(bindings);
    for code in [Code::Button(MouseButton::Back), Code::Key(KeyCode::F5)] {
        assert!(asked(&bound, &[code]).ring, "{code:?}");
    }
    assert!(!asked(&bound, &[Code::Key(KeyCode::KeyC)]).ring);
}

#[test]
fn every_held_act_can_be_pressed_once_to_begin_and_once_more_to_end() {
    for entry in ACTS.iter().filter(|entry| entry.held) {
        let mut bindings = Bindings::default();
        bindings.set_keys(entry.act, vec![Key::named("F9").expect("there is one")]);
        for toggles in [false, true] {
            bindings.set_toggle(entry.act, toggles);
            let (bound, mut acts) = (Bound::new(bindings.clone()), Acts::default());
            let code = Code::Key(KeyCode::F9);
            let presses: [&[(Code, Press)]; 5] = [&[(code, DOWN)], &[(code, KEPT)], &[], &[(code, DOWN)], &[]];
            let seen: Vec<bool> = presses
                .iter()
                .map(|presses| {
                    look(&mut acts, &bound, presses);
                    acts.down(entry.act)
                })
                .collect();
            let expected = if toggles { [true, true, true, false, false] } else { [true, true, false, true, false] };
            assert_eq!(seen, expected, "{}, toggle: {toggles}", entry.name);
        }
    }
}

#[test]
fn a_button_on_the_screen_gives_its_act_once_or_until_it_is_pressed_again() {
    for entry in ACTS {
        for toggles in [false, true].into_iter().filter(|toggles| entry.held || !toggles) {
            let mut bindings = Bindings::default();
            bindings.set_toggle(entry.act, toggles);
            let (bound, mut acts, mut screen) = (Bound::new(bindings), Acts::default(), OnScreen::default());
            let mut seen = Vec::new();
            for pressed in [true, false, false, true, false] {
                if pressed {
                    screen.press(entry.act, entry.held && !toggles);
                }
                acts.look(&bound, true, &screen, |_| Press::default());
                screen.struck.clear();
                seen.push((acts.down(entry.act), acts.began(entry.act)));
            }
            let wanted = if entry.held {
                [(true, true), (true, false), (true, false), (false, false), (false, false)]
            } else {
                [(true, true), (false, false), (false, false), (true, true), (false, false)]
            };
            assert_eq!(seen, wanted, "{}, toggle: {toggles}", entry.name);
        }
    }
}

#[test]
fn a_toggle_says_that_it_is_on_and_ends_with_the_hands() {
    let mut bindings = Bindings::default();
    bindings.set_toggle(Act::Ring, true);
    bindings.set_toggle(Act::Look, true);
    let (bound, mut acts) = (Bound::new(bindings), Acts::default());
    look(&mut acts, &bound, &[(Code::Key(KeyCode::KeyC), DOWN), (Code::Button(MouseButton::Middle), DOWN)]);
    assert!(
        acts.began(Act::Ring)
            && acts.going_on(English, &bound.bindings).starts_with("ring plane: circle the parked shaft (C)")
    );
    acts.look(&bound, false, &OnScreen::default(), |_| Press::default());
    assert!(!acts.down(Act::Ring), "there are no hands");
    assert!(acts.down(Act::Look), "the eye is there still");
    look(&mut acts, &bound, &[]);
    assert!(!acts.down(Act::Ring), "it does not come back by itself");
}

/// What a press asks of the hands under a mirror is what the mirrored press asks without one.
#[test]
fn for_the_left_hand_right_is_left_and_the_other_side_of_the_keyboard_is_used() {
    let (right, left) = (Bound::default(), Bound::new(Bindings::of(Hand::Left)));
    assert!(left.mirrored() && !right.mirrored());
    // A key of the right hand, and the one that does its mirror image for the left hand.
    let mirrored = [
        (KeyCode::KeyA, KeyCode::KeyL),
        (KeyCode::KeyD, KeyCode::KeyJ),
        (KeyCode::KeyW, KeyCode::KeyI),
        (KeyCode::KeyS, KeyCode::KeyK),
        (KeyCode::KeyQ, KeyCode::KeyO),
        (KeyCode::KeyE, KeyCode::KeyU),
        (KeyCode::KeyC, KeyCode::Comma),
        (KeyCode::Tab, KeyCode::Enter),
        (KeyCode::KeyX, KeyCode::Slash),
        (KeyCode::KeyV, KeyCode::Semicolon),
    ];
    for (of_right, of_left) in mirrored {
        let expected = asked(&right, &[Code::Key(of_right)]);
        assert_ne!(expected, Input::default(), "{of_right:?}");
        assert_eq!(asked(&left, &[Code::Key(of_left)]), expected, "{of_right:?} and {of_left:?}");
        assert_eq!(asked(&left, &[Code::Key(of_right)]), Input::default(), "{of_right:?}");
    }
    assert!(asked(&left, &[Code::Button(MouseButton::Right)]).close);
    assert!(!asked(&left, &[Code::Button(MouseButton::Left)]).close);
}

#[test]
fn a_mirrored_field_has_its_views_and_its_teeth_changed_over() {
    assert_eq!(View::ALL.map(View::mirrored), [View::Operator, View::Right, View::Left, View::Top]);
    let [plain, mirrored] = [false, true].map(|mirrored| SitePlan::new(&scenario(), mirrored));
    for (before, after) in plain.crowns.iter().zip(mirrored.crowns) {
        assert!(
            (before.middle.x + after.middle.x).abs() < 1e-12 && before.middle.x.abs() > 1.0,
            "{before:?} {after:?}"
        );
        assert_eq!((before.middle.y, before.half, before.molar), (after.middle.y, after.half, after.molar));
    }
}
