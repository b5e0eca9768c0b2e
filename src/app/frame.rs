//! From core's frame (x right, y away, z up; mm) to the scene's (x right, y up, z toward the viewer; 1 unit = 1 mm).
//!
//! Both are right-handed, so this is a turn about x and nothing is mirrored.

use bevy::math::{Quat, Vec3};

use crate::math::{DQuat, DVec3, Pose};

/// A core point or direction in the scene.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "for the eye: a micrometre is far below a pixel")]
pub fn to_scene(core: DVec3) -> Vec3 {
    Vec3::new(core.x as f32, core.z as f32, -core.y as f32)
}

/// A scene point or direction in core.
#[must_use]
pub fn from_scene(scene: Vec3) -> DVec3 {
    DVec3::new(f64::from(scene.x), f64::from(-scene.z), f64::from(scene.y))
}

/// A core rotation in the scene: the same turn about the mapped axis.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
pub fn to_scene_rotation(core: DQuat) -> Quat {
    let axis = to_scene(DVec3::new(core.x, core.y, core.z));
    Quat::from_xyzw(axis.x, axis.y, axis.z, core.w as f32)
}

/// A core pose as a scene transform.
#[must_use]
pub fn to_scene_transform(pose: &Pose) -> bevy::transform::components::Transform {
    bevy::transform::components::Transform::from_translation(to_scene(pose.position))
        .with_rotation(to_scene_rotation(pose.rotation))
}
