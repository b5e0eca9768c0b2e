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
#[derive(Resource, Debug, Clone)]
pub(super) struct Aside {
    wanted: bool,
    texture: TextureId,
}

impl Aside {
    /// What it is painted from while it is to be seen.
    pub(super) fn shown(&self, live: &Live) -> Option<TextureId> {
        (self.wanted && live.0.is_some()).then_some(self.texture)
    }
}

/// The eye at the side.
#[derive(Component)]
struct SideEye;

/// Adds the picture; where a processor draws, it has to be asked for.
pub(super) fn plugin(app: &mut App) {
    app.add_systems(Startup, spawn).add_systems(
        Update,
        (toggle, look).chain().after(ActSystems).after(ViewSystems).run_if(resource_exists::<Aside>),
    );
}

fn spawn(
    mut commands: Commands,
    mut images: ResMut<Assets<Image>>,
    mut textures: ResMut<EguiUserTextures>,
    detail: Res<Detail>,
) {
    let image = images.add(Image::new_target_texture(SIZE.x, SIZE.y, TextureFormat::Rgba8UnormSrgb, None));
    let texture = textures.add_image(EguiTextureHandle::Strong(image.clone()));
    commands.spawn((
        SideEye,
        view::camera(detail.0, &mut images),
        Camera { order: -1, is_active: false, ..default() },
        RenderTarget::Image(image.into()),
    ));
    commands.insert_resource(Aside { wanted: detail.0.side_view(), texture });
}

fn toggle(mut aside: ResMut<Aside>, acts: Res<Acts>) {
    if acts.began(Act::SideView) {
        aside.wanted = !aside.wanted;
    }
}

/// Looks at the active tip, from the right; in a mirrored field from where the right is seen.
fn look(
    aside: Res<Aside>,
    shown: Res<Shown>,
    live: Res<Live>,
    bound: Res<Bound>,
    mut eye: Query<(&mut Camera, &mut Transform, &mut Projection), With<SideEye>>,
) {
    let Ok((mut camera, mut place, mut projection)) = eye.single_mut() else { return };
    let hands = live.0.as_ref().filter(|_| aside.wanted);
    if camera.is_active != hands.is_some() {
        camera.is_active = hands.is_some();
    }
    let Some(hands) = hands else { return };
    let tip = to_scene(shown.0.tools[hands.active].pose.position);
    let yaw = if bound.mirrored() { -SIDE.yaw } else { SIDE.yaw };
    *place = Orbit { yaw, ..SIDE }.about(Vec3::new(tip.x, MIDDLE, 0.0));
    if let Projection::Perspective(perspective) = &mut *projection {
        perspective.near = SIDE.distance - BEFORE;
    }
}
