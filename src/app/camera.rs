//! Where the eye is: four set views and a small orbit about each.
//!
//! The operator's frame stays where it is whatever the camera does, so that the hand always moves as the mouse does.

use bevy::input::mouse::{AccumulatedMouseMotion, AccumulatedMouseScroll};
use bevy::prelude::*;
use bevy_egui::input::egui_wants_any_pointer_input;

use super::Scene;
use super::acts::{ActSystems, Acts, Bound};
use super::ticking::Live;
use crate::input::bindings::Act;

/// What the eye looks at: the middle of the wound, a little above the gum [mm].
const TARGET: Vec3 = Vec3::new(0.0, 2.5, 0.5);

/// Distance of the eye from a knot on the bench at first [mm].
const BENCH_DISTANCE: f32 = 60.0;

/// The eye that the pictures of the window are seen with, and that the pointer points from.
#[derive(Component, Debug, Clone, Copy)]
pub struct Eye;

/// A set view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// From the operator's chair.
    Operator,
    /// From the operator's left.
    Left,
    /// From the operator's right.
    Right,
    /// From above.
    Top,
}

impl View {
    /// All of them, in the order of their keys.
    pub const ALL: [View; 4] = [View::Operator, View::Left, View::Right, View::Top];

    /// The view from where a mirror shows this one.
    #[must_use]
    pub fn mirrored(self) -> View {
        match self {
            View::Left => View::Right,
            View::Right => View::Left,
            View::Operator | View::Top => self,
        }
    }
}

/// Places of the eye about the target.
#[derive(Resource, Debug, Clone, Copy, PartialEq)]
pub struct Orbit {
    /// Turn about the vertical, positive to the right [rad].
    pub yaw: f32,
    /// Height over the table [rad].
    pub pitch: f32,
    /// Distance [mm].
    pub distance: f32,
}

impl Orbit {
    /// Farthest turn to either side [rad]: beyond it the hand no longer seems to move as the mouse does.
    pub const YAW_MAX: f32 = 0.61;
    /// Farthest turn while no hand is moved: as far as there is something to see [rad].
    pub const YAW_MAX_FREE: f32 = 1.4;
    /// Lowest and highest eye [rad].
    pub const PITCH: [f32; 2] = [0.35, 1.54];
    /// Lowest eye while no hand is moved [rad].
    pub const PITCH_MIN_FREE: f32 = 0.12;
    /// Nearest and farthest eye [mm].
    pub const DISTANCE: [f32; 2] = [55.0, 260.0];
    /// Nearest eye while no hand is moved [mm]: a knot fills the picture.
    pub const DISTANCE_MIN_FREE: f32 = 16.0;

    /// The orbit of a set view.
    #[must_use]
    pub fn of(view: View) -> Orbit {
        let (yaw, pitch) = match view {
            View::Operator => (0.0, 0.87),
            View::Left => (-Orbit::YAW_MAX, 0.66),
            View::Right => (Orbit::YAW_MAX, 0.66),
            View::Top => (0.0, Orbit::PITCH[1]),
        };
        Orbit { yaw, pitch, distance: 96.0 }
    }

    /// The orbit from which a scene is seen at first.
    #[must_use]
    pub fn at_first(scene: &Scene) -> Orbit {
        let orbit = Orbit::of(View::Operator);
        match scene {
            Scene::Mouth(_) => orbit,
            Scene::Bench { .. } => Orbit { pitch: 0.45, distance: BENCH_DISTANCE, ..orbit },
        }
    }

    /// Turned by a drag [rad] and drawn near by a factor, within limits: wider ones if no hand is moved meanwhile.
    #[must_use]
    pub fn moved(self, drag: Vec2, nearer: f32, free: bool) -> Orbit {
        let [mut low, high] = Orbit::PITCH;
        let [mut near, far] = Orbit::DISTANCE;
        let mut aside = Orbit::YAW_MAX;
        if free {
            (low, near, aside) = (Orbit::PITCH_MIN_FREE, Orbit::DISTANCE_MIN_FREE, Orbit::YAW_MAX_FREE);
        }
        Orbit {
            yaw: (self.yaw - drag.x).clamp(-aside, aside),
            pitch: (self.pitch + drag.y).clamp(low, high),
            distance: (self.distance * nearer).clamp(near, far),
        }
    }

    /// The camera's place.
    #[must_use]
    pub fn transform(self) -> Transform {
        self.about(TARGET)
    }

    /// The place of a camera that goes round something else.
    pub(super) fn about(self, target: Vec3) -> Transform {
        let (sin_yaw, cos_yaw) = self.yaw.sin_cos();
        let (sin_pitch, cos_pitch) = self.pitch.sin_cos();
        let out = Vec3::new(sin_yaw * cos_pitch, sin_pitch, cos_yaw * cos_pitch);
        Transform::from_translation(target + out * self.distance).looking_at(target, Vec3::Y)
    }
}

/// Adds the set views, looking around and coming nearer.
pub(super) fn plugin(app: &mut App) {
    app.add_systems(
        Update,
        (
            keep_limits.run_if(resource_changed::<Live>),
            choose_view,
            orbit.run_if(not(egui_wants_any_pointer_input)),
            place_camera.run_if(resource_changed::<Orbit>),
        )
            .chain()
            .after(ActSystems),
    );
}

/// Hands that are taken over bring the narrower limits with them.
fn keep_limits(live: Res<Live>, mut orbit: ResMut<Orbit>) {
    let within = orbit.moved(Vec2::ZERO, 1.0, live.0.is_none());
    orbit.set_if_neq(within);
}

fn choose_view(acts: Res<Acts>, bound: Res<Bound>, mut orbit: ResMut<Orbit>) {
    let views = [Act::OperatorView, Act::LeftView, Act::RightView, Act::TopView].into_iter().zip(View::ALL);
    for (_, view) in views.filter(|(act, _)| acts.began(*act)) {
        *orbit = Orbit::of(if bound.mirrored() { view.mirrored() } else { view });
    }
}

fn orbit(
    acts: Res<Acts>,
    bound: Res<Bound>,
    motion: Res<AccumulatedMouseMotion>,
    scroll: Res<AccumulatedMouseScroll>,
    live: Res<Live>,
    mut orbit: ResMut<Orbit>,
) {
    let mut drag = if acts.down(Act::Look) { motion.delta * 0.006 } else { Vec2::ZERO };
    if bound.mirrored() {
        drag.x = -drag.x;
    }
    let zooming = acts.down(Act::Zoom);
    let nearer = if zooming { 0.9_f32.powf(scroll.delta.y.clamp(-3.0, 3.0)) } else { 1.0 };
    if drag != Vec2::ZERO || zooming && scroll.delta.y != 0.0 {
        *orbit = orbit.moved(drag, nearer, live.0.is_none());
    }
}

fn place_camera(orbit: Res<Orbit>, mut eye: Query<&mut Transform, With<Eye>>) {
    for mut transform in &mut eye {
        *transform = orbit.transform();
    }
}
