//! What does not move: the ridge of gum, the membrane over the graft, the mouth's lining, lips and drape.

use bevy::math::{Vec2, Vec3};

use super::palette::{self, rough};
use super::surface::Surface;
use super::tube::spline;
use crate::app::frame::to_scene;
use crate::app::plan::SitePlan;
use crate::math::DVec3;

/// Half the drawn ridge's length and width [mm], and its spacing [mm].
const RIDGE: [f32; 3] = [58.0, 19.0, 0.5];

/// Half the bench's width, and its spacing [mm].
const BENCH: [f32; 2] = [140.0, 1.5];

/// Membrane's spacing [mm].
const SHEET_SPACING: f32 = 0.3;

/// A core point in the scene.
pub(super) fn place(x: f32, y: f32, z: f32) -> Vec3 {
    to_scene(DVec3::new(f64::from(x), f64::from(y), f64::from(z)))
}

/// How far the gum is drawn below the simulated table [mm] at a place `y` of a ridge with this fold.
///
/// The table is flat, and a jaw is not: only what lies on the outer gum is drawn lower, and by less the higher it is.
pub(super) fn droop(y: f32, z: f32, fold: f32) -> f32 {
    let out = ((y.abs() - (fold - 6.0)) / 6.0).max(0.0);
    let slope = if out < 1.0 { out * out } else { 2.0 * out - 1.0 };
    1.7 * slope.min(4.0) * (1.0 - ramp(0.5, 7.0, z))
}

/// A point [mm] of something that may lie on the gum, where it is drawn.
pub(super) fn settled(point: DVec3, fold: f32) -> Vec3 {
    let scene = to_scene(point);
    scene - Vec3::Y * droop(scene.z, scene.y, fold)
}

/// 0 below `low`, 1 above `high`, smooth between.
pub(super) fn ramp(low: f32, high: f32, value: f32) -> f32 {
    let t = ((value - low) / (high - low)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// Colour of sound gum at a place [mm] of a ridge whose fold lies `fold` [mm] from its middle.
pub(super) fn gum_at(x: f32, y: f32, fold: f32, blanch: f32, redness: f32) -> Vec3 {
    let colour = palette::gum(blanch, redness);
    let lining = ramp(fold - 4.5, fold + 1.5, y.abs()) * (1.0 - blanch);
    let mottled = 0.86 + 0.28 * rough(Vec2::new(x, y) * 0.7);
    colour.lerp(palette::LINING, lining * 0.85) * mottled
}

/// A rectangle of points `spacing` apart, `point` giving level and colour at each.
fn field(half: Vec2, spacing: f32, point: impl Fn(f32, f32) -> (f32, Vec3)) -> Surface {
    let count = (half * 2.0 / spacing).round().as_uvec2() + 1;
    let mut surface = Surface::default();
    for column in 0..count.x {
        for row in 0..count.y {
            let at = Vec2::new(column as f32, row as f32) * spacing - half;
            let (z, colour) = point(at.x, at.y);
            surface.point(place(at.x, at.y, z), colour);
        }
    }
    for column in 1..count.x {
        surface.join(column * count.y, (column - 1) * count.y, count.y, false);
    }
    surface
}

/// The ridge, with the bed under the flaps as deep as they are thick.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
pub(super) fn ridge(plan: &SitePlan, coarseness: u8) -> Surface {
    let fold = (plan.half_gap + plan.height) as f32;
    let (length, thickness) = (plan.half_length as f32, plan.thickness as f32);
    field(Vec2::new(RIDGE[0], RIDGE[1].max(fold + 7.0)), RIDGE[2] * f32::from(coarseness), |x, y| {
        let bed = ramp(0.0, 0.7, length - x.abs()) * ramp(0.4, 1.4, fold - y.abs());
        let down = (y.abs() - fold).max(0.0);
        let slope = droop(y, 0.0, fold) + 4.5 * (1.0 - (-down * down / 9.0).exp());
        let end = 6.0 * ramp(RIDGE[0] - 9.0, RIDGE[0], x.abs());
        let collar: f32 = plan.crowns.iter().map(|crown| collar(crown, x, y)).fold(0.0, f32::max) * (1.0 - bed);
        let bumps = 0.12 * (rough(Vec2::new(x, y) * 1.6) - 1.0);
        let z = -0.02 + bumps - bed * thickness - slope - end + collar;
        let colour = gum_at(x, y, fold, 0.0, 0.12 * collar).lerp(palette::WOUND, bed);
        (z, colour)
    })
}

/// A bench covered with a cloth, level with the table.
pub(super) fn bench(coarseness: u8) -> Surface {
    field(Vec2::splat(BENCH[0]), BENCH[1] * f32::from(coarseness), |x, y| {
        let weave = 0.9 + 0.2 * rough(Vec2::new(x, y) * 0.9);
        (-0.02, palette::DRAPE * weave)
    })
}

/// How far the gum climbs a tooth's neck [mm].
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn collar(crown: &crate::app::plan::Crown, x: f32, y: f32) -> f32 {
    let half = Vec2::new(crown.half[0] as f32, crown.half[1] as f32) * 0.86;
    let from = Vec2::new(x - crown.middle.x as f32, y - crown.middle.y as f32);
    let out = ((from / half).length() - 1.0) * half.min_element();
    1.1 * (-(out / 1.3).powi(2)).exp()
}

/// The membrane, tucked under both flaps and slightly raised by the graft.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
pub(super) fn membrane(plan: &SitePlan, coarseness: u8) -> Surface {
    let socket = Vec2::new(plan.socket[0] as f32, plan.socket[1] as f32);
    let half = socket + plan.overlap as f32;
    let bed = -plan.thickness as f32;
    field(half, SHEET_SPACING * f32::from(coarseness), |x, y| {
        let out = (Vec2::new(x, y) / socket).length();
        let dome = 0.55 * (1.0 - ramp(0.0, 1.5, out));
        let wrinkle = 0.12 * (rough(Vec2::new(x * 0.5, y * 1.4)) - 0.5);
        let over_graft = 1.0 - ramp(0.72, 1.05, out);
        let grain = 0.82 + 0.30 * palette::mottle(Vec2::new(x, y) * 2.4);
        let soaked = ramp(0.55, 1.0, rough(Vec2::new(x, y) * 0.6 + 11.0)) * 0.5;
        let colour = palette::MEMBRANE.lerp(palette::MEMBRANE_OVER_GRAFT * grain, over_graft);
        (bed + 0.25 + dome + wrinkle, colour.lerp(palette::WOUND * 1.4, soaked * 0.55))
    })
}

/// A ring of the mouth's opening: half width along x, half width across, level far and near [mm], and colour.
struct Rim(f32, f32, [f32; 2], Vec3);

/// Lining, lips, drape: rings around the ridge, from the fold out to the edge of what can be seen.
pub(super) fn mouth(coarseness: u8) -> Surface {
    let dark = palette::LINING * 0.42;
    let rims = [
        Rim(54.0, 15.0, [-11.0, -11.0], dark),
        Rim(60.0, 19.5, [-9.5, -9.5], palette::LINING * 0.75),
        Rim(64.0, 23.5, [-3.0, -6.0], palette::LINING),
        Rim(67.0, 28.0, [5.0, -3.0], palette::LINING),
        Rim(70.0, 32.0, [10.0, -1.5], palette::LINING.lerp(palette::LIP, 0.5)),
        Rim(74.0, 36.5, [12.5, 0.5], palette::LIP),
        Rim(78.0, 41.0, [11.0, 0.0], palette::LIP * 1.08),
        Rim(81.0, 44.0, [9.5, -0.8], palette::LIP.lerp(palette::DRAPE, 0.1)),
        Rim(82.0, 45.0, [10.3, 0.2], palette::DRAPE),
        Rim(96.0, 58.0, [9.0, -2.0], palette::DRAPE),
        Rim(130.0, 95.0, [6.0, -6.0], palette::DRAPE),
        Rim(200.0, 180.0, [0.0, -12.0], palette::DRAPE),
        Rim(420.0, 400.0, [-10.0, -20.0], palette::DRAPE * 0.8),
    ];
    let (around, pieces) = (96 / u32::from(coarseness), 4 / usize::from(coarseness));
    let last = rims.len() - 1;
    let mut surface = Surface::default();
    for step in 0..=last * pieces {
        let (i, t) = ((step / pieces).min(last - 1), step as f32 / pieces as f32);
        let t = t - i as f32;
        let pick = |f: &dyn Fn(&Rim) -> Vec3| {
            let at = |k: usize| f(&rims[k.min(last)]);
            spline(at(i.saturating_sub(1)), at(i), at(i + 1), at(i + 2), t)
        };
        let sizes = pick(&|rim| Vec3::new(rim.0, rim.1, 0.0));
        let levels = pick(&|rim| Vec3::new(rim.2[0], rim.2[1], 0.0));
        let colour = rims[i].3.lerp(rims[i + 1].3, t);
        let cloth = ramp(8.0, 9.0, i as f32 + t);
        for k in 0..around {
            let angle = k as f32 / around as f32 * std::f32::consts::TAU;
            let at = oval(angle) * Vec2::new(sizes.x, sizes.y);
            let far = ramp(-0.9, 0.9, angle.sin());
            let fold = rough(at * 0.045) - 0.5;
            let z = levels.y + (levels.x - levels.y) * far + fold * (1.4 + 9.0 * cloth);
            let weave = 0.85 + 0.3 * rough(at * (0.5 - 0.2 * cloth));
            surface.point(place(at.x, at.y, z), colour * weave);
        }
        if step > 0 {
            let row = u32::try_from(step).expect("few rings");
            surface.join(row * around, (row - 1) * around, around, true);
        }
    }
    surface
}

/// A squarish oval of half width 1: lips held open by retractors.
fn oval(angle: f32) -> Vec2 {
    let (s, c) = angle.sin_cos();
    Vec2::new(c, s) * (c.abs().powf(2.4) + s.abs().powf(2.4)).powf(-1.0 / 2.4)
}
