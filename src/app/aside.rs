//! A second, smaller picture from the side: how high tips stand and how far away, which one picture does not tell.
//!
//! It is a section: what lies on the eye's side of the active tip is cut away, or a tooth would stand before it.

use bevy::camera::RenderTarget;
use bevy::prelude::*;
use bevy::render::render_resource::TextureFormat;
use bevy_egui::egui::TextureId;
use bevy_egui::{EguiTextureHandle, EguiUserTextures};

use super::acts::{ActSystems, Acts, Bound};
use super::camera::Orbit;
use super::frame::to_scene;
use super::lesson::Lesson;
use super::panels::Desk;
use super::ticking::Live;
use super::view::{self, Detail, Shown, ViewSystems};
use crate::input::bindings::Act;

/// Width and height of the picture [pixel].
const SIZE: UVec2 = UVec2::new(400, 300);

/// The eye beside the tip, a little above it: turn and height [rad] and distance [mm].
const SIDE: Orbit = Orbit { yaw: std::f32::consts::FRAC_PI_2, pitch: 0.12, distance: 90.0 };

/// What is shown on the eye's side of the tip [mm].
const BEFORE: f32 = 5.0;

/// Height of the picture's middle over the gum [mm].
const MIDDLE: f32 = 5.0;

/// The picture from the side.
#[derive(Resource, Debug, Clone, Default)]
pub(super) struct Aside {
    wanted: bool,
    /// Whether it is to be seen now.
    seen: bool,
    /// What it is painted from, once it was to be seen.
    texture: Option<TextureId>,
}

impl Aside {
    /// What it is painted from while it is to be seen.
    pub(super) fn shown(&self) -> Option<TextureId> {
        self.texture.filter(|_| self.seen)
    }
}

/// The eye at the side.
#[derive(Component)]
struct SideEye;

/// Adds the picture; where a processor draws, it has to be asked for. Needs [`Aside`] to be there.
pub(super) fn plugin(app: &mut App) {
    let to_be_spawned = |aside: Res<Aside>| aside.seen && aside.texture.is_none();
    app.add_systems(Startup, |mut aside: ResMut<Aside>, detail: Res<Detail>| aside.wanted = detail.0.side_view())
        .add_systems(Update, (decide, spawn.run_if(to_be_spawned), look).chain().after(ActSystems).after(ViewSystems));
}

/// It is seen while hands are at work and nothing else is where it goes.
fn decide(mut aside: ResMut<Aside>, acts: Res<Acts>, live: Res<Live>, lesson: Res<Lesson>, desk: Res<Desk>) {
    aside.wanted ^= acts.began(Act::SideView);
    aside.seen = aside.wanted && live.0.is_some() && lesson.0.is_none() && desk.leaves_room();
}

fn spawn(
    mut commands: Commands,
    mut images: ResMut<Assets<Image>>,
    mut textures: ResMut<EguiUserTextures>,
    mut aside: ResMut<Aside>,
    detail: Res<Detail>,
) {
    let image = images.add(Image::new_target_texture(SIZE.x, SIZE.y, TextureFormat::Rgba8UnormSrgb, None));
    aside.texture = Some(textures.add_image(EguiTextureHandle::Strong(image.clone())));
    commands.spawn((
        SideEye,
        view::camera(detail.0, &mut images, SIDE.distance - BEFORE),
        Camera { order: -1, ..default() },
        RenderTarget::Image(image.into()),
    ));
}

/// Looks at the active tip, from the right; in a mirrored field from where the right is seen.
fn look(
    aside: Res<Aside>,
    shown: Res<Shown>,
    live: Res<Live>,
    bound: Res<Bound>,
    mut eye: Query<(&mut Camera, &mut Transform), With<SideEye>>,
) {
    let Ok((mut camera, mut place)) = eye.single_mut() else { return };
    if camera.is_active != aside.seen {
        camera.is_active = aside.seen;
    }
    let Some(hands) = live.0.as_ref().filter(|_| aside.seen) else { return };
    let tip = to_scene(shown.0.tools[hands.active].pose.position);
    let yaw = if bound.mirrored() { -SIDE.yaw } else { SIDE.yaw };
    *place = Orbit { yaw, ..SIDE }.about(Vec3::new(tip.x, MIDDLE, 0.0));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::Scene;
    use crate::app::hands::Hands;
    use crate::app::tutorial::Tutorial;
    use crate::input::{HandCommand, TickCommand};
    use crate::math::{DQuat, DVec3, Pose};

    /// Whether the picture is to be seen: beside hands, with the card of the keys, with the site to be marked, in a tutorial.
    fn seen(hands: bool, card: bool, arches: bool, tutorial: bool) -> bool {
        let still = HandCommand::new(Pose { position: DVec3::ZERO, rotation: DQuat::IDENTITY }, 0.0);
        let command = TickCommand { right: still, left: still, events: Vec::new() };
        let mut scenario =
            crate::scenario::parse("x", include_str!("../../scenarios/first_stitch.ron")).expect("shipped");
        if !arches {
            scenario.rubric.critical.clear();
        }
        let mut app = App::new();
        app.insert_resource(Aside { wanted: true, ..Aside::default() })
            .init_resource::<Acts>()
            .insert_resource(Live(hands.then(|| Hands::take_over(&command, 100.0))))
            .insert_resource(Lesson(tutorial.then(Tutorial::default)))
            .insert_resource(Desk::new(&Scene::Mouth(Box::new(scenario)), String::new(), card))
            .add_systems(Update, decide);
        app.update();
        app.world().resource::<Aside>().seen
    }

    #[test]
    fn the_picture_is_seen_beside_hands_where_nothing_else_takes_its_room() {
        assert!(seen(true, false, false, false));
        assert!(!seen(false, false, false, false), "the script plays");
        assert!(!seen(true, true, false, false), "the card of the keys is there");
        assert!(!seen(true, false, true, false), "the site is to be marked");
        assert!(!seen(true, false, false, true), "a task of the tutorial is there");
    }
}
