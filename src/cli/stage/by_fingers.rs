//! Fingers on the window, by the messages that a screen sends.

use super::own_hands::window;
use crate::app::ui::Action;
use crate::app::unseen::TouchPhase::{Ended, Moved, Started};
use crate::app::unseen::{Doing, SIZE, Unseen};
use crate::input::bindings::Act;
use crate::math::DVec3;
use crate::simulation::{LEFT, RIGHT};
use glam::Vec2;

fn tips(window: &Unseen) -> [DVec3; 2] {
    window.hands().expect("they are there").hands.map(|hand| hand.pose.position)
}

/// Ways of both tips while something is done and for two ticks more [mm].
fn ways(window: &mut Unseen, does: impl FnOnce(&mut Unseen)) -> [DVec3; 2] {
    let before = tips(window);
    does(window);
    (0..2).for_each(|_| window.tick(&Doing::default()));
    let after = tips(window);
    [RIGHT, LEFT].map(|hand| after[hand] - before[hand])
}

#[test]
fn one_finger_moves_the_active_tip_as_the_pointer_does() {
    let (from, to) = (SIZE / 2.0, SIZE / 2.0 + Vec2::new(20.0, -12.0));
    let mut by_pointer = window();
    by_pointer.tick(&Doing { pointer: Some(from), ..Doing::default() });
    let pointed = ways(&mut by_pointer, |window| window.tick(&Doing { pointer: Some(to), ..Doing::default() }));
    let mut by_finger = window();
    // Some systems have the pointer jump to the first finger and follow it.
    by_finger.tick(&Doing { pointer: Some(from + 90.0), ..Doing::default() });
    let came_down = ways(&mut by_finger, |window| {
        window.touch(0, Started, from);
        window.tick(&Doing { pointer: Some(from), ..Doing::default() });
    });
    assert_eq!(came_down, [DVec3::ZERO; 2]);
    let touched = ways(&mut by_finger, |window| {
        window.touch(0, Moved, to);
        window.tick(&Doing { pointer: Some(to), ..Doing::default() });
    });
    assert!(pointed[RIGHT].length() > 1.0 && pointed[LEFT] == DVec3::ZERO, "{pointed:?}");
    for hand in [RIGHT, LEFT] {
        assert!(touched[hand].distance(pointed[hand]) < 1e-9, "{touched:?}, not {pointed:?}");
    }
    let lifted = ways(&mut by_finger, |window| window.touch(0, Ended, to));
    assert_eq!(lifted, [DVec3::ZERO; 2]);
}

#[test]
fn two_fingers_slide_both_hands_over_the_table_and_no_faster_than_the_case_allows() {
    let mut window = window();
    let (left, right) = (SIZE / 2.0 - Vec2::new(150.0, 0.0), SIZE / 2.0 + Vec2::new(150.0, 0.0));
    window.touch(4, Started, right);
    window.touch(9, Started, left);
    window.tick(&Doing::default());
    let [holder, forceps] = ways(&mut window, |window| {
        window.touch(9, Moved, left - Vec2::new(15.0, 0.0));
        window.touch(4, Moved, right - Vec2::new(0.0, 15.0));
    });
    assert!(forceps.x < -0.5 && forceps.z.abs() < 1e-9, "the left finger goes to the left: {forceps}");
    assert!(holder.y > 0.5 && holder.z.abs() < 1e-9, "the right one away: {holder}");
    let before = tips(&window);
    window.touch(9, Moved, left + Vec2::new(0.0, 300.0));
    window.tick(&Doing::default());
    let way = tips(&window)[LEFT].distance(before[LEFT]);
    assert!((way - 200.0 / 60.0).abs() < 1e-9, "{way} mm in a tick");
}

#[test]
fn a_finger_on_a_panel_moves_no_hand_wherever_it_goes() {
    let mut window = window();
    window.lay_panel(Vec2::ZERO, Vec2::splat(300.0));
    let moved = ways(&mut window, |window| {
        window.touch(1, Started, Vec2::splat(100.0));
        window.tick(&Doing::default());
        window.touch(1, Moved, SIZE / 2.0);
    });
    assert_eq!(moved, [DVec3::ZERO; 2]);
}

#[test]
fn buttons_change_hand_plane_and_jaws_and_the_slider_raises_the_active_tip() {
    let mut window = window();
    let (from, to) = (SIZE / 2.0, SIZE / 2.0 - Vec2::new(0.0, 10.0));
    window.press(Action::Give(Act::Switch));
    (0..2).for_each(|_| window.tick(&Doing::default()));
    assert_eq!(window.hands().expect("they are there").active, LEFT);
    window.press(Action::Give(Act::Stand));
    window.tick(&Doing::default());
    window.touch(1, Started, from);
    window.tick(&Doing::default());
    let [right, left] = ways(&mut window, |window| window.touch(1, Moved, to));
    assert!(left.z > 0.3 && left.y.abs() < 1e-9 && right == DVec3::ZERO, "upright, the forceps: {left}");
    window.press(Action::Give(Act::Stand));
    window.tick(&Doing::default());
    let [_, left] = ways(&mut window, |window| window.touch(1, Moved, from));
    assert!(left.y < -0.3 && left.z.abs() < 1e-9, "over the table again: {left}");
    let locked = |window: &Unseen| window.hands().expect("they are there").hands[LEFT].locked.is_some();
    let shut = locked(&window);
    window.press(Action::Give(Act::Ratchet));
    (0..2).for_each(|_| window.tick(&Doing::default()));
    assert_ne!(locked(&window), shut);
    #[expect(clippy::cast_possible_truncation, reason = "a few centimetres")]
    let micrometres = ((tips(&window)[LEFT].z + 2.0) * 1000.0).round() as i32;
    let [_, left] = ways(&mut window, |window| window.press(Action::RaiseTo(micrometres)));
    assert!((left - DVec3::Z * 2.0).length() < 1e-3, "{left}");
}
