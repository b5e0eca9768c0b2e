//! Where the picture goes: straight to the window, or through an image that is smaller where a processor draws, and is
//! shown mirrored for the left hand.

use bevy::camera::{RenderTarget, ShadowLodOrigin};
use bevy::prelude::*;
use bevy::render::render_resource::TextureFormat;
use bevy::window::PrimaryWindow;
use bevy_egui::egui::{self, Color32, LayerId, Rect};
use bevy_egui::{EguiContexts, EguiPrimaryContextPass, EguiTextureHandle, PrimaryEguiContext};

use super::acts::Bound;
use super::camera::{Eye, Orbit};
use super::view::{self, Detail};

/// The image, where there is one.
#[derive(Resource)]
struct Small(Handle<Image>);

/// What is drawn into where there is no window.
#[derive(Resource, Clone)]
pub(super) struct Canvas {
    pub(super) image: Handle<Image>,
    /// Whether the field has an image of its own in any case, which stays while the panels change.
    pub(super) field_apart: bool,
}

/// Adds the camera of the window, or of the canvas.
pub(super) fn plugin(app: &mut App) {
    app.add_systems(Startup, spawn_camera)
        .add_systems(PreUpdate, fit.run_if(resource_exists::<Small>))
        .add_systems(EguiPrimaryContextPass, paint.run_if(resource_exists::<Small>).before(super::panels::show_panels));
}

fn spawn_camera(
    mut commands: Commands,
    mut images: ResMut<Assets<Image>>,
    detail: Res<Detail>,
    orbit: Res<Orbit>,
    bound: Res<Bound>,
    window: Query<&Window, With<PrimaryWindow>>,
    canvas: Option<Res<Canvas>>,
) {
    let eye = (Eye, view::camera(detail.0, &mut images, view::NEAR), orbit.transform(), ShadowLodOrigin);
    let target = canvas.as_ref().map_or_else(RenderTarget::default, |canvas| canvas.image.clone().into());
    let size = match &canvas {
        Some(canvas) => images.get(&canvas.image).map(Image::size),
        None => window.single().ok().map(Window::physical_size),
    };
    let shrink = detail.0.shrink();
    let apart = shrink > 1 || bound.mirrored() || canvas.is_some_and(|canvas| canvas.field_apart);
    let Some(size) = size.filter(|_| apart) else {
        commands.spawn((eye, target, PrimaryEguiContext));
        return;
    };
    let size = small(size, shrink);
    let image = images.add(Image::new_target_texture(size.x, size.y, TextureFormat::Rgba8UnormSrgb, None));
    commands.spawn((eye, RenderTarget::Image(image.clone().into())));
    // The window itself holds nothing but panels, and the image behind them.
    commands.spawn((Camera2d, Camera { order: 1, ..default() }, Msaa::Off, target, PrimaryEguiContext));
    commands.insert_resource(Small(image));
}

/// Size of the image for a window of some size.
fn small(window: UVec2, shrink: u32) -> UVec2 {
    (window / shrink).max(UVec2::ONE)
}

/// Keeps the image's size to the window's.
fn fit(
    small_image: Res<Small>,
    detail: Res<Detail>,
    mut images: ResMut<Assets<Image>>,
    window: Query<&Window, (With<PrimaryWindow>, Changed<Window>)>,
) {
    let Ok(window) = window.single() else { return };
    let size = small(window.physical_size(), detail.0.shrink());
    let fits = images.get(&small_image.0).is_none_or(|image| image.size() == size);
    if let (false, Some(mut image)) = (fits, images.get_mut(&small_image.0)) {
        image.resize(bevy::render::render_resource::Extent3d {
            width: size.x,
            height: size.y,
            depth_or_array_layers: 1,
        });
    }
}

/// Paints the image over the whole window, behind all panels.
fn paint(mut contexts: EguiContexts, small_image: Res<Small>, bound: Res<Bound>) -> Result {
    let texture = contexts.add_image(EguiTextureHandle::Strong(small_image.0.clone()));
    let ctx = contexts.ctx_mut()?;
    let [left, right] = if bound.mirrored() { [1.0, 0.0] } else { [0.0, 1.0] };
    let whole = Rect::from_min_max(egui::pos2(left, 0.0), egui::pos2(right, 1.0));
    ctx.layer_painter(LayerId::background()).image(texture, ctx.content_rect(), whole, Color32::WHITE);
    Ok(())
}
