//! Mouse and keyboard, read each frame into what the hands and the window understand.

use bevy::ecs::system::SystemParam;
use bevy::input::mouse::AccumulatedMouseScroll;
use bevy::prelude::*;
use bevy::window::PrimaryWindow;
use bevy_egui::input::EguiWantsInput;

use super::film;
use super::frame::from_scene;
use super::hands::{Hands, Input, WorkPlane};
use super::panels::Asked;
use super::replay::{Reel, Replay};
use super::ticking::{Devices, Live, OnStage, Pace};
use super::ui::Action;
use super::ui::replay::KEY_STEP;
use crate::math::{DVec2, DVec3};

/// Rise of the tip for one notch of the wheel [mm], and with Shift.
const NOTCH: [f64; 2] = [0.5, 0.1];

/// Turn for one pixel of a right drag [rad].
const TURN_PER_PIXEL: f64 = 0.01;

/// Way for one pixel where the plane is seen edge-on [mm].
const WAY_PER_PIXEL: f64 = 0.08;

/// Two presses within this time throw the ratchet [s].
const DOUBLE_CLICK_S: f32 = 0.3;

/// A ray of sight in core's frame: where it starts [mm], and its unit direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// Start [mm].
    pub origin: DVec3,
    /// Unit vector.
    pub direction: DVec3,
}

/// Motion in a plane [mm] when the pointer goes from one ray to another, `pixels` right and up on the screen.
///
/// The tip stays under the pointer as long as the plane is seen well; a plane seen edge-on takes the pixels.
#[must_use]
pub fn drag(plane: &WorkPlane, before: Sight, now: Sight, pixels: DVec2) -> DVec2 {
    let normal = plane.right.cross(plane.forward);
    let hit = |sight: Sight| {
        let slope = sight.direction.dot(normal);
        let distance = (plane.origin - sight.origin).dot(normal) / slope;
        (slope.abs() > 0.25 && distance > 0.0).then(|| sight.origin + sight.direction * distance)
    };
    match (hit(before), hit(now)) {
        (Some(from), Some(to)) => DVec2::new((to - from).dot(plane.right), (to - from).dot(plane.forward)),
        _ => pixels * WAY_PER_PIXEL,
    }
}

/// What the devices are doing now.
#[derive(SystemParam)]
struct Now<'w> {
    keys: Res<'w, ButtonInput<KeyCode>>,
    buttons: Res<'w, ButtonInput<MouseButton>>,
    scroll: Res<'w, AccumulatedMouseScroll>,
    wants: Res<'w, EguiWantsInput>,
    time: Res<'w, Time<Real>>,
}

/// Adds the reading of keys and mouse.
pub(super) fn plugin(app: &mut App) {
    app.add_systems(Update, (press_buttons, read_hands));
}

/// Keys that do what a button does.
fn press_buttons(
    now: Now,
    pace: Res<Pace>,
    live: Res<Live>,
    replay: Res<Replay>,
    reel: Res<Reel>,
    stage: Res<OnStage>,
    mut asked: ResMut<Asked>,
) {
    if now.wants.wants_any_keyboard_input() {
        return;
    }
    let pressed = |key| now.keys.just_pressed(key);
    let mut ask = |wanted: bool, action: Action| {
        if wanted {
            asked.0.push(action);
        }
    };
    if stage.0.offer().is_some() {
        ask(pressed(KeyCode::KeyY), Action::Answer(true));
        ask(pressed(KeyCode::KeyN), Action::Answer(false));
        return;
    }
    ask(pressed(KeyCode::KeyH), Action::ToggleHelp);
    ask(pressed(KeyCode::Escape), Action::EndTutorial);
    if replay.open {
        let view = replay.view(&reel.0);
        let step = if now.keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]) { film::EVERY } else { KEY_STEP };
        ask(pressed(KeyCode::KeyP) || pressed(KeyCode::Space), Action::ReplayPlay);
        ask(pressed(KeyCode::Minus), Action::ReplaySpeed(view.speed.next(false)));
        ask(pressed(KeyCode::Equal), Action::ReplaySpeed(view.speed.next(true)));
        ask(pressed(KeyCode::ArrowLeft), Action::Seek(view.at.saturating_sub(step)));
        ask(pressed(KeyCode::ArrowRight), Action::Seek(view.at.saturating_add(step)));
        ask(pressed(KeyCode::Home), Action::Seek(0));
        ask(pressed(KeyCode::End), Action::Seek(view.have));
        ask(pressed(KeyCode::KeyR) || pressed(KeyCode::KeyM), Action::ReplayOpen(false));
        return;
    }
    ask(pressed(KeyCode::KeyP), Action::TogglePause);
    ask(pressed(KeyCode::Period), Action::Step);
    ask(pressed(KeyCode::Minus), Action::SetSpeed(pace.speed.next(false)));
    ask(pressed(KeyCode::Equal), Action::SetSpeed(pace.speed.next(true)));
    ask(pressed(KeyCode::KeyT), Action::TogglePlayer);
    ask(pressed(KeyCode::KeyF) && live.0.is_some(), Action::Finish);
    ask(pressed(KeyCode::KeyM), Action::ToggleDebrief);
    ask(pressed(KeyCode::KeyR), Action::ReplayOpen(true));
    ask(pressed(KeyCode::KeyB), Action::BeginAnew);
}

/// Motions and buttons of the hands, added up until a tick takes them.
fn read_hands(
    now: Now,
    live: Res<Live>,
    window: Query<&Window, With<PrimaryWindow>>,
    camera: Query<(&Camera, &GlobalTransform), With<Camera3d>>,
    mut devices: ResMut<Devices>,
    mut pointer_before: Local<Option<Vec2>>,
    mut pressed_at: Local<f32>,
) {
    let pointer = window.single().ok().and_then(Window::cursor_position);
    let before = std::mem::replace(&mut *pointer_before, pointer);
    let Some(hands) = live.0.as_ref() else {
        devices.0 = Input::default();
        return;
    };
    let mut input = if now.wants.wants_any_keyboard_input() { Input::default() } else { read_keys(&now.keys) };
    if !now.wants.wants_any_pointer_input() {
        read_buttons(&now, &mut input, &mut pressed_at);
        if let (Some(before), Some(pointer), Ok(camera)) = (before, pointer, camera.single()) {
            // The picture may be drawn smaller than the window.
            let shrunk = shrunk(camera.0, window.single().ok());
            let [before, pointer] = [before, pointer].map(|at| at * shrunk);
            read_motion(&now, hands, camera, [before, pointer], &mut input);
        }
    }
    devices.0.add(&input);
}

/// Size of the picture as a share of the window's.
fn shrunk(camera: &Camera, window: Option<&Window>) -> Vec2 {
    match (camera.logical_viewport_size(), window) {
        (Some(picture), Some(window)) => picture / window.size(),
        _ => Vec2::ONE,
    }
}

fn read_keys(keys: &ButtonInput<KeyCode>) -> Input {
    let way = |plus, minus| f64::from(keys.pressed(plus)) - f64::from(keys.pressed(minus));
    Input {
        stand: keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]),
        ring: keys.pressed(KeyCode::KeyC),
        both: keys.pressed(KeyCode::Space),
        parked: DVec2::new(way(KeyCode::KeyD, KeyCode::KeyA), way(KeyCode::KeyW, KeyCode::KeyS)),
        parked_roll: way(KeyCode::KeyE, KeyCode::KeyQ),
        switch: keys.just_pressed(KeyCode::Tab),
        cut: keys.just_pressed(KeyCode::KeyX),
        arm: keys.just_pressed(KeyCode::KeyN),
        ..Input::default()
    }
}

fn read_buttons(now: &Now, input: &mut Input, pressed_at: &mut f32) {
    input.close = now.buttons.pressed(MouseButton::Left);
    if now.buttons.just_pressed(MouseButton::Left) {
        let at = now.time.elapsed_secs();
        input.ratchet = at - *pressed_at < DOUBLE_CLICK_S;
        *pressed_at = at;
    }
    if !now.keys.any_pressed([KeyCode::ControlLeft, KeyCode::ControlRight]) {
        let notch = NOTCH[usize::from(input.stand)];
        input.raise = f64::from(now.scroll.delta.y.clamp(-3.0, 3.0)) * notch;
    }
}

fn read_motion(now: &Now, hands: &Hands, camera: (&Camera, &GlobalTransform), pointer: [Vec2; 2], input: &mut Input) {
    let moved = pointer[1] - pointer[0];
    let pixels = DVec2::new(f64::from(moved.x), f64::from(-moved.y));
    if now.buttons.pressed(MouseButton::Right) {
        input.turn = pixels * TURN_PER_PIXEL;
    } else if !now.buttons.pressed(MouseButton::Middle) && moved != Vec2::ZERO {
        let sight = |at: Vec2| {
            let ray = camera.0.viewport_to_world(camera.1, at).ok()?;
            Some(Sight { origin: from_scene(ray.origin), direction: from_scene(*ray.direction) })
        };
        if let (Some(before), Some(after)) = (sight(pointer[0]), sight(pointer[1])) {
            input.drag = drag(&hands.plane(input), before, after, pixels);
        }
    }
}
