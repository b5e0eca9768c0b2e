//! Mouse, keyboard, gamepad, fingers and tracked hands, read each frame into what the hands and the window understand.

use bevy::ecs::system::SystemParam;
use bevy::input::mouse::AccumulatedMouseScroll;
use bevy::input::touch::Touches;
use bevy::prelude::*;
use bevy::window::PrimaryWindow;
use bevy_egui::input::EguiWantsInput;

use super::acts::{ActSystems, Acts, Bound};
use super::camera::Eye;
use super::film;
use super::frame::from_scene;
use super::hands::{Hands, Input, TrackedMotion, WorkPlane};
use super::pad::{PadState, read_pad};
use super::panels::Asked;
use super::replay::{Reel, Replay};
use super::ticking::{Devices, Live, OnStage, Pace};
use super::touch::{Felt, FingerWay, Fingers, PanelPlaces};
use super::ui::Action;
use super::ui::replay::KEY_STEP;
use crate::input::bindings::Act;
use crate::math::{DVec2, DVec3};

/// Rise of the tip for one notch of the wheel [mm], and with Shift.
const NOTCH: [f64; 2] = [0.5, 0.1];

/// Turn for one pixel of a right drag [rad].
const TURN_PER_PIXEL: f64 = 0.01;

/// A plane seen nearer than this is not followed [mm]: in a hand that is drawn up past the eye, pixels would become nothing.
const NEAREST: f64 = 30.0;

/// Way for one pixel where the plane is seen edge-on or from too near [mm].
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
        (slope.abs() > 0.25 && distance > NEAREST).then(|| sight.origin + sight.direction * distance)
    };
    match (hit(before), hit(now)) {
        (Some(from), Some(to)) => DVec2::new((to - from).dot(plane.right), (to - from).dot(plane.forward)),
        _ => pixels * WAY_PER_PIXEL,
    }
}

/// What tracked hands asked of needle holder and forceps in this picture.
#[derive(Resource, Debug, Clone, Copy, Default)]
pub struct TrackedMotions(pub [TrackedMotion; 2]);

/// What the devices are doing now.
#[derive(SystemParam)]
struct Now<'w> {
    acts: Res<'w, Acts>,
    bound: Res<'w, Bound>,
    pad: Res<'w, PadState>,
    tracked: Res<'w, TrackedMotions>,
    pace: Res<'w, Pace>,
    scroll: Res<'w, AccumulatedMouseScroll>,
    wants: Res<'w, EguiWantsInput>,
    touches: Res<'w, Touches>,
    fingers: ResMut<'w, Fingers>,
    panels: Res<'w, PanelPlaces>,
    time: Res<'w, Time<Real>>,
}

/// Adds the reading of all devices.
pub(super) fn plugin(app: &mut App) {
    app.add_plugins(super::acts::plugin);
    #[cfg(feature = "gamepad")]
    app.add_plugins(super::pad::plugin);
    #[cfg(feature = "tracked-hands")]
    app.add_plugins(super::tracked_port::plugin);
    app.init_resource::<TrackedMotions>().init_resource::<Fingers>().init_resource::<PanelPlaces>();
    app.add_systems(Update, (press_buttons, read_hands).after(ActSystems));
}

/// Acts that do what a button of the panels does.
fn press_buttons(
    acts: Res<Acts>,
    pace: Res<Pace>,
    live: Res<Live>,
    replay: Res<Replay>,
    reel: Res<Reel>,
    stage: Res<OnStage>,
    mut asked: ResMut<Asked>,
) {
    let mut ask = |act: Act, action: Action| {
        if acts.began(act) {
            asked.0.push(action);
        }
    };
    if stage.0.offer().is_some() {
        ask(Act::Accept, Action::Answer(true));
        ask(Act::Decline, Action::Answer(false));
        return;
    }
    ask(Act::Help, Action::ToggleHelp);
    ask(Act::EndTutorial, Action::EndTutorial);
    if replay.open {
        let view = replay.view(&reel.0);
        let step = if acts.down(Act::SeekFinely) { film::EVERY } else { KEY_STEP };
        ask(Act::Play, Action::ReplayPlay);
        ask(Act::Slower, Action::ReplaySpeed(view.speed.next(false)));
        ask(Act::Faster, Action::ReplaySpeed(view.speed.next(true)));
        ask(Act::SeekBack, Action::Seek(view.at.saturating_sub(step)));
        ask(Act::SeekOn, Action::Seek(view.at.saturating_add(step)));
        ask(Act::SeekStart, Action::Seek(0));
        ask(Act::SeekEnd, Action::Seek(view.have));
        ask(Act::CloseReplay, Action::ReplayOpen(false));
        return;
    }
    ask(Act::Pause, Action::TogglePause);
    ask(Act::Step, Action::Step);
    ask(Act::Slower, Action::SetSpeed(pace.speed.next(false)));
    ask(Act::Faster, Action::SetSpeed(pace.speed.next(true)));
    ask(Act::TakeOver, Action::TogglePlayer);
    if live.0.is_some() {
        ask(Act::Finish, Action::Finish);
    }
    ask(Act::SiteCheck, Action::ShowSiteCheck(true));
    ask(Act::Marks, Action::ToggleDebrief);
    ask(Act::OpenReplay, Action::ReplayOpen(true));
    ask(Act::BeginAnew, Action::BeginAnew);
}

/// Motions and buttons of the hands, added up until a tick takes them.
fn read_hands(
    mut now: Now,
    live: Res<Live>,
    window: Query<&Window, With<PrimaryWindow>>,
    camera: Query<(&Camera, &GlobalTransform), With<Eye>>,
    mut devices: ResMut<Devices>,
    mut pointer_before: Local<Option<Vec2>>,
    mut pressed_at: Local<f32>,
) {
    let pointer = window.single().ok().and_then(Window::cursor_position);
    let before = std::mem::replace(&mut *pointer_before, pointer);
    let mirrored = now.bound.mirrored();
    let ways = now.fingers.look(&felt(&now.touches), &now.panels, mirrored);
    let Some(hands) = live.0.as_ref() else {
        devices.0 = Input::default();
        return;
    };
    let mut input = read_acts(&now.acts, mirrored);
    read_pad(&now.pad, &now.acts, mirrored, &mut input);
    // While time stands still, whose hands are tracked may go away from the desk: no way of that is stored up.
    input.tracked = if now.pace.paused { now.tracked.0.map(|motion| motion.spent()) } else { now.tracked.0 };
    input.ratchet ^= pressed_twice(&now, &mut pressed_at);
    // The picture may be drawn smaller than the window.
    let place = |camera: &Camera, at: Vec2| {
        let width = camera.logical_viewport_size().filter(|_| mirrored).map(|size| size.x);
        unmirrored(at * shrunk(camera, window.single().ok()), width)
    };
    if let Ok(camera) = camera.single() {
        for FingerWay { hand, from, to } in ways {
            let places = [from, to].map(|at| place(camera.0, at));
            match hand {
                None => read_motion(&now, hands, camera, places, &mut input),
                Some(hand) => read_finger(hands, camera, places, hand, &mut input),
            }
        }
    }
    // Some systems have the pointer follow the first finger, which would move the hand twice.
    let by_finger = now.touches.iter().next().is_some() || now.touches.any_just_released();
    if !now.wants.wants_any_pointer_input() {
        if !now.acts.down(Act::Zoom) {
            let notch = NOTCH[usize::from(input.stand)];
            input.raise = f64::from(now.scroll.delta.y.clamp(-3.0, 3.0)) * notch;
        }
        if let (Some(before), Some(pointer), Ok(camera), false) = (before, pointer, camera.single(), by_finger) {
            let pointers = [before, pointer].map(|at| place(camera.0, at));
            read_motion(&now, hands, camera, pointers, &mut input);
        }
    }
    devices.0.add(&input);
}

/// The fingers that the screen feels, always in the same order.
fn felt(touches: &Touches) -> Vec<Felt> {
    let felt = touches.iter().map(|touch| Felt { id: touch.id(), start: touch.start_position(), at: touch.position() });
    let mut felt: Vec<Felt> = felt.collect();
    felt.sort_by_key(|felt| felt.id);
    felt
}

/// Size of the picture as a share of the window's.
fn shrunk(camera: &Camera, window: Option<&Window>) -> Vec2 {
    match (camera.logical_viewport_size(), window) {
        (Some(picture), Some(window)) => picture / window.size(),
        _ => Vec2::ONE,
    }
}

/// A place of a picture that is shown mirrored, by its width, where the picture itself has it.
fn unmirrored(at: Vec2, width: Option<f32>) -> Vec2 {
    width.map_or(at, |width| Vec2::new(width - at.x, at.y))
}

/// What the acts ask of the hands. A mirror changes right and left, and the sense of a roll.
#[must_use]
pub fn read_acts(acts: &Acts, mirrored: bool) -> Input {
    let way = |plus, minus| f64::from(acts.down(plus)) - f64::from(acts.down(minus));
    let aside = if mirrored { -1.0 } else { 1.0 };
    Input {
        close: acts.down(Act::Close),
        ratchet: acts.began(Act::Ratchet),
        ease: acts.began(Act::Ease),
        stand: acts.down(Act::Stand),
        ring: acts.down(Act::Ring),
        both: acts.down(Act::Both),
        lift: way(Act::Raise, Act::Lower),
        parked: DVec2::new(aside * way(Act::ParkedRight, Act::ParkedLeft), way(Act::ParkedAway, Act::ParkedToward)),
        parked_roll: aside * way(Act::RollRight, Act::RollLeft),
        switch: acts.began(Act::Switch),
        cut: acts.began(Act::Cut),
        arm: acts.began(Act::Arm),
        ..Input::default()
    }
}

/// Whether the jaws' button was pressed twice quickly. As a toggle it is pressed to open, too, and says nothing.
fn pressed_twice(now: &Now, pressed_at: &mut f32) -> bool {
    if !now.acts.began(Act::Close) || now.bound.bindings.toggles(Act::Close) {
        return false;
    }
    let at = now.time.elapsed_secs();
    at - std::mem::replace(pressed_at, at) < DOUBLE_CLICK_S
}

/// A finger beside another one slides its own hand over the table.
fn read_finger(hands: &Hands, camera: (&Camera, &GlobalTransform), places: [Vec2; 2], hand: usize, input: &mut Input) {
    let moved = places[1] - places[0];
    let pixels = DVec2::new(f64::from(moved.x), f64::from(-moved.y));
    if let [Some(before), Some(after)] = places.map(|at| sight(camera, at)) {
        let way = drag(&hands.table(hand), before, after, pixels);
        let motion = &mut input.tracked[hand];
        motion.way += DVec3::new(way.x, way.y, 0.0);
        motion.parked = false;
    }
}

/// The ray of sight through a place of the picture.
fn sight(camera: (&Camera, &GlobalTransform), at: Vec2) -> Option<Sight> {
    let ray = camera.0.viewport_to_world(camera.1, at).ok()?;
    Some(Sight { origin: from_scene(ray.origin), direction: from_scene(*ray.direction) })
}

fn read_motion(now: &Now, hands: &Hands, camera: (&Camera, &GlobalTransform), pointer: [Vec2; 2], input: &mut Input) {
    let moved = pointer[1] - pointer[0];
    let pixels = DVec2::new(f64::from(moved.x), f64::from(-moved.y));
    if now.acts.down(Act::Rest) {
        return;
    }
    if now.acts.down(Act::Turn) {
        input.turn = pixels * TURN_PER_PIXEL;
    } else if !now.acts.down(Act::Look)
        && moved != Vec2::ZERO
        && let [Some(before), Some(after)] = pointer.map(|at| sight(camera, at))
    {
        input.drag = drag(&hands.plane(input), before, after, pixels);
    }
}
