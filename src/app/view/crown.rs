//! A tooth's crown from a few numbers: a bulging side, cusps and a groove.

use bevy::math::{Vec2, Vec3};

use super::palette::{ENAMEL, mottle};
use super::surface::Surface;
use crate::app::frame::to_scene;
use crate::app::plan::Crown;
use crate::math::DVec3;
use crate::site::neighbours;

/// Points around the crown.
const AROUND: u32 = 56;

/// Depth to which the root is drawn below the gum [mm].
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
const ROOT: f32 = neighbours::NECK_DEPTH as f32;

/// Width of the neck, as a share of the crown's.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
const NECK: f32 = neighbours::NECK_SHARE as f32;

/// Height of the greatest bulge, as a share of the crown's height.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
const BULGE: f32 = neighbours::BULGE as f32;

/// The crown in scene coordinates.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
pub(super) fn surface(crown: &Crown, coarseness: u8) -> Surface {
    let around = AROUND / u32::from(coarseness);
    let mut surface = Surface::default();
    let half = Vec2::new(crown.half[0] as f32, crown.half[1] as f32);
    let height = crown.height as f32;
    let mut previous = None;
    for (share, z) in rings(height) {
        let first = surface.next_number();
        for i in 0..around {
            let angle = i as f32 / around as f32 * std::f32::consts::TAU;
            let place = outline(angle) * share;
            let level = z.unwrap_or_else(|| top(crown.molar, place, height));
            let local = place * half;
            let colour = enamel(level / height, place);
            let core = DVec3::new(f64::from(local.x), f64::from(local.y), f64::from(level));
            surface.point(to_scene(crown.middle + core), colour);
        }
        if let Some(low) = previous {
            surface.join(low, first, around, true);
        }
        previous = Some(first);
    }
    let centre = top(crown.molar, Vec2::ZERO, height);
    let core = DVec3::new(0.0, 0.0, f64::from(centre));
    let middle = surface.point(to_scene(crown.middle + core), enamel(centre / height, Vec2::ZERO));
    surface.fan(previous.expect("a crown has rings"), around, middle, true);
    surface
}

/// Rings from the root up: share of the outline, and the level where the side has one; the top takes it from its cusps.
fn rings(height: f32) -> Vec<(f32, Option<f32>)> {
    let mut rings = Vec::new();
    for step in 0..=8 {
        let t = step as f32 / 8.0;
        let z = -ROOT + t * (BULGE * height + ROOT);
        let ease = t * t * (3.0 - 2.0 * t);
        rings.push((NECK + (1.0 - NECK) * ease, Some(z)));
    }
    for step in 1..=18 {
        // Dense at the rim, where the top falls steeply.
        let t = step as f32 / 18.0;
        rings.push((((1.0 - t) * std::f32::consts::FRAC_PI_2).sin().powf(0.6).max(0.03), None));
    }
    rings
}

/// A rounded square of half width 1.
fn outline(angle: f32) -> Vec2 {
    let (s, c) = angle.sin_cos();
    let squareness = 2.7;
    let length = (c.abs().powf(squareness) + s.abs().powf(squareness)).powf(-1.0 / squareness);
    Vec2::new(c, s) * length
}

/// Level of the top [mm] over a place whose coordinates are shares of the half widths.
fn top(molar: bool, place: Vec2, height: f32) -> f32 {
    let cusps: &[(f32, f32, f32)] = if molar {
        &[(-0.45, 0.45, 0.20), (0.42, 0.45, 0.19), (-0.42, -0.45, 0.23), (0.42, -0.43, 0.21)]
    } else {
        &[(0.0, 0.40, 0.21), (0.05, -0.42, 0.14)]
    };
    let bump = |&(x, y, rise): &(f32, f32, f32)| {
        let away = place - Vec2::new(x, y);
        rise * (-away.length_squared() / if molar { 0.10 } else { 0.17 }).exp()
    };
    let groove = 0.07 * (-(place.y / 0.10).powi(2)).exp() * (1.0 - place.x * place.x).max(0.0);
    let across = if molar { 0.05 * (-(place.x / 0.09).powi(2)).exp() } else { 0.0 };
    let occlusal = 0.78 + cusps.iter().map(bump).sum::<f32>() - groove - across;
    let angle = place.y.atan2(place.x);
    let share = (place.length() / outline(angle).length()).min(1.0);
    let fall = (1.0 - share.powi(5)).max(0.0).sqrt();
    height * (BULGE + (occlusal - BULGE) * fall)
}

fn enamel(level: f32, place: Vec2) -> Vec3 {
    let [cusp, neck] = ENAMEL;
    let high = ((level + 0.05) / 0.6).clamp(0.0, 1.0);
    let stain = (-(place.y / 0.09).powi(2)).exp() * (1.0 - place.length()).clamp(0.0, 1.0) * f32::from(level > 0.5);
    neck.lerp(cusp, high) * (1.0 - 0.22 * stain) * (0.96 + 0.08 * mottle(place * 4.0 + level * 3.0))
}
