//! The lamp over the chair, a weak fill, and what polished steel mirrors.

use bevy::asset::{Assets, RenderAssetUsages};
use bevy::color::Color;
use bevy::ecs::system::Commands;
use bevy::image::Image;
use bevy::light::{DirectionalLight, EnvironmentMapLight, SpotLight};
use bevy::math::{Quat, Vec3};
use bevy::render::render_resource::{
    Extent3d, TextureDimension, TextureFormat, TextureViewDescriptor, TextureViewDimension,
};
use bevy::transform::components::Transform;

use crate::app::preset::Preset;

/// Where the lamp hangs [mm]: above and a little behind the operator's left shoulder.
const LAMP: Vec3 = Vec3::new(-70.0, 290.0, 95.0);

/// Light of the lamp on the field [lx]: operating lamps give 8000 lx and more (ISO 9680; from memory), less here
/// because the picture is made for a screen.
const LAMP_LUX: f32 = 2700.0;

/// Texels along an edge of the mirrored surroundings.
const MIRROR_SIZE: u32 = 32;

/// Lights that stand in the scene.
pub(super) fn spawn(commands: &mut Commands, preset: Preset) {
    let distance = LAMP.length();
    commands.spawn((
        SpotLight {
            color: Color::srgb(1.0, 0.955, 0.87),
            // A source of this power into the full sphere gives the wanted light at this distance.
            intensity: LAMP_LUX * 4.0 * std::f32::consts::PI * distance * distance,
            range: 3.0 * distance,
            radius: 14.0,
            inner_angle: 0.095,
            outer_angle: 0.24,
            shadow_maps_enabled: true,
            shadow_depth_bias: 0.4,
            shadow_normal_bias: if preset == Preset::Low { 2.2 } else { 1.2 },
            shadow_map_near_z: 120.0,
            ..Default::default()
        },
        Transform::from_translation(LAMP).looking_at(Vec3::new(0.0, 0.0, 2.0), Vec3::X),
    ));
    commands.spawn((
        DirectionalLight {
            color: Color::srgb(0.80, 0.88, 1.0),
            illuminance: 350.0,
            shadow_maps_enabled: false,
            ..Default::default()
        },
        Transform::from_xyz(120.0, 90.0, -60.0).looking_at(Vec3::ZERO, Vec3::Y),
    ));
}

/// What is around: the lamp's bright pane, a pale ceiling, dark walls, the dark red of the mouth below.
pub(super) fn surroundings(images: &mut Assets<Image>) -> EnvironmentMapLight {
    let specular = images.add(cube(MIRROR_SIZE, MIRROR_SIZE.ilog2() + 1, 0.02, 1.0));
    let diffuse = images.add(cube(4, 1, 0.9, 0.26));
    EnvironmentMapLight {
        diffuse_map: diffuse,
        specular_map: specular,
        intensity: 1500.0,
        rotation: Quat::IDENTITY,
        affects_lightmapped_mesh_diffuse: true,
    }
}

/// A cube of radiance whose smaller levels are blurrier.
fn cube(size: u32, levels: u32, blur: f32, strength: f32) -> Image {
    let mut texels = Vec::new();
    for face in 0..6 {
        for level in 0..levels {
            let side = size >> level;
            let blur = blur + level as f32 / levels as f32;
            for row in 0..side {
                for column in 0..side {
                    let middle = |i: u32| (i as f32 + 0.5) / side as f32 * 2.0 - 1.0;
                    let colour = radiance(direction(face, middle(column), middle(row)), blur) * strength;
                    texels.extend([colour.x, colour.y, colour.z, 1.0].into_iter().flat_map(|c| half(c).to_le_bytes()));
                }
            }
        }
    }
    let extent = Extent3d { width: size, height: size, depth_or_array_layers: 6 };
    let mut image =
        Image::new_uninit(extent, TextureDimension::D2, TextureFormat::Rgba16Float, RenderAssetUsages::RENDER_WORLD);
    image.texture_descriptor.mip_level_count = levels;
    image.texture_view_descriptor =
        Some(TextureViewDescriptor { dimension: Some(TextureViewDimension::Cube), ..Default::default() });
    image.data = Some(texels);
    image
}

/// Direction of a place on a face (+x, -x, +y, -y, +z, -z) of a cube map; its z is the scene's mirrored.
fn direction(face: usize, u: f32, v: f32) -> Vec3 {
    let at = match face {
        0 => Vec3::new(1.0, -v, -u),
        1 => Vec3::new(-1.0, -v, u),
        2 => Vec3::new(u, 1.0, v),
        3 => Vec3::new(u, -1.0, -v),
        4 => Vec3::new(u, -v, 1.0),
        _ => Vec3::new(-u, -v, -1.0),
    };
    Vec3::new(at.x, at.y, -at.z).normalize()
}

fn radiance(direction: Vec3, blur: f32) -> Vec3 {
    let soft = |value: f32, edge: f32, width: f32| {
        let t = ((value - edge) / width + 0.5).clamp(0.0, 1.0);
        t * t * (3.0 - 2.0 * t)
    };
    let lamp = soft(direction.dot(LAMP.normalize()), 0.90 - 0.3 * blur, 0.06 + 1.1 * blur) / (1.0 + 3.0 * blur);
    let window = soft(direction.dot(Vec3::new(0.75, 0.45, 0.5).normalize()), 0.93 - 0.2 * blur, 0.05 + blur);
    let up = soft(direction.y, 0.18, 0.25 + blur);
    let wall = Vec3::new(0.20, 0.20, 0.21).lerp(Vec3::new(0.95, 0.95, 0.94), up);
    let below = soft(-direction.y, 0.12, 0.3 + blur);
    wall.lerp(Vec3::new(0.20, 0.06, 0.055), below)
        + Vec3::new(5.2, 4.9, 4.3) * lamp
        + Vec3::new(0.9, 1.05, 1.25) * window / (1.0 + 3.0 * blur)
}

/// A positive number as a 16-bit float, rounded down; small ones become 0.
#[expect(clippy::cast_possible_truncation, reason = "the bits are masked to their places")]
fn half(value: f32) -> u16 {
    let bits = value.clamp(0.0, 60_000.0).to_bits();
    let exponent = (bits >> 23) as i32 - 127 + 15;
    if exponent <= 0 { 0 } else { ((exponent as u32) << 10 | (bits >> 13 & 0x3ff)) as u16 }
}
