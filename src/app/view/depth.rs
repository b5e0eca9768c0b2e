//! How deep things lie, for an eye that has one picture and not two: a line from each tip straight down to the gum, a ring where
//! it would meet it, and a ring about jaws that would close on thread or needle. All is worked out from what is seen.

use bevy::prelude::*;

use super::ground::settled;
use super::{Shown, Site, fold};
use crate::app::frame::{to_scene, to_scene_rotation};
use crate::app::ticking::Live;
use crate::math::{DVec2, DVec3};
use crate::simulation::snapshot::{FlapView, Snapshot, ToolView};

/// Height below which a tip counts as on the gum [mm]: about half a jaw's thickness; estimate.
const TOUCH: f64 = 0.3;

/// Distance of the strokes on a line down, by which its length can be read [mm].
const STROKES: f64 = 5.0;

/// Jaws hold what is thicker than this share of their gap: pads dent thread a little; estimate.
const HELD: f64 = 0.8;

/// Colours that colour-blind people can tell apart (Okabe & Ito 2008): bluish green is what is held, yellow what could be.
/// Dashes say the same.
const COULD_HOLD: Color = Color::srgb(0.94, 0.89, 0.26);
const HOLDS: Color = Color::srgb(0.0, 0.72, 0.53);
const ACTIVE: Color = Color::srgba(0.34, 0.71, 0.91, 0.9);
const PARKED: Color = Color::srgba(0.85, 0.88, 0.90, 0.45);

/// Lines that lie in the field, and are hidden by what is before them.
#[derive(Default, Reflect, GizmoConfigGroup)]
struct InField;

/// Lines that nothing hides.
#[derive(Default, Reflect, GizmoConfigGroup)]
struct InFront;

/// What there is between a tool's jaws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between {
    /// Where [mm].
    pub place: DVec3,
    /// Whether the jaws are closed on it; else they would be if they closed.
    pub held: bool,
}

/// Adds the cues; they are drawn while somebody's hands are at work.
pub(super) fn plugin(app: &mut App) {
    app.init_gizmo_group::<InField>().init_gizmo_group::<InFront>().add_systems(Startup, set_up).add_systems(
        Update,
        (draw_drops, draw_grips).in_set(super::ViewSystems).run_if(hands_are_at_work).run_if(resource_exists::<Site>),
    );
}

fn hands_are_at_work(live: Option<Res<Live>>) -> bool {
    live.is_some_and(|live| live.0.is_some())
}

fn set_up(mut store: ResMut<GizmoConfigStore>) {
    let (field, _) = store.config_mut::<InField>();
    // Enough to keep a ring on the gum from sinking into it.
    (field.line.width, field.depth_bias) = (1.8, -0.001);
    let (front, _) = store.config_mut::<InFront>();
    (front.line.width, front.depth_bias) = (2.5, -1.0);
}

fn draw_drops(shown: Res<Shown>, site: Res<Site>, live: Res<Live>, mut lines: Gizmos<InField>) {
    let active = live.0.as_ref().map(|hands| hands.active);
    let fold = fold(&site.0);
    let bed = -site.0.thickness;
    for (hand, tool) in shown.0.tools.iter().enumerate() {
        let colour = if active == Some(hand) { ACTIVE } else { PARKED };
        let tip = tool.pose.position;
        let foot = DVec3::new(tip.x, tip.y, level(&shown.0, bed, f64::from(fold), tip.truncate()));
        drop_line(&mut lines, tip, foot, fold, colour);
    }
}

#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn drop_line(lines: &mut Gizmos<InField>, tip: DVec3, foot: DVec3, fold: f32, colour: Color) {
    let height = tip.z - foot.z;
    let on_gum = settled(foot, fold);
    let flat = Quat::from_rotation_x(std::f32::consts::FRAC_PI_2);
    let mut ring = |radius: f32| {
        lines.circle(Isometry3d::new(on_gum + 0.05 * Vec3::Y, flat), radius, colour);
    };
    if height <= TOUCH {
        [0.35, 0.6, 0.85].into_iter().for_each(&mut ring);
        return;
    }
    // The ring is the wider the higher the tip.
    ring(0.5 + 0.06 * height as f32);
    lines.line(to_scene(tip), on_gum, colour);
    for stroke in (1..40).map(|number| STROKES * f64::from(number)).take_while(|stroke| *stroke < height) {
        let at = to_scene(foot + DVec3::Z * stroke);
        lines.line(at - 0.4 * Vec3::X, at + 0.4 * Vec3::X, colour);
    }
}

fn draw_grips(shown: Res<Shown>, mut rings: Gizmos<InFront>) {
    let snapshot = &shown.0;
    for tool in &snapshot.tools {
        let thread = snapshot.strands.iter().find_map(|strand| between(tool, strand, snapshot.thread_radius));
        let found = between(tool, &snapshot.needle, snapshot.needle_radius).or(thread);
        if let Some(found) = found {
            ring_about(&mut rings, tool, found);
        }
    }
}

#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn ring_about(rings: &mut Gizmos<InFront>, tool: &ToolView, found: Between) {
    let radius = 1.3 + 0.5 * tool.gap as f32;
    let colour = if found.held { HOLDS } else { COULD_HOLD };
    // Across the jaws: a circle lies across its own z, the jaws along the tool's x.
    let across = to_scene_rotation(tool.pose.rotation) * Quat::from_rotation_y(std::f32::consts::FRAC_PI_2);
    let middle = to_scene(found.place);
    if found.held {
        rings.circle(Isometry3d::new(middle, across), radius, colour);
        return;
    }
    let dashes = 8;
    let angle = |step: f32| std::f32::consts::TAU * step / dashes as f32;
    for dash in 0..dashes {
        let points = (0..=4).map(|part| {
            let (sin, cos) = angle(dash as f32 + 0.125 * part as f32).sin_cos();
            middle + across * (radius * Vec3::new(cos, sin, 0.0))
        });
        rings.linestrip(points, colour);
    }
}

/// Height of the gum [mm] at a place: of a flap where there is one, of the bed between and under them, of the lining beyond.
#[must_use]
pub fn level(snapshot: &Snapshot, bed: f64, fold: f64, place: DVec2) -> f64 {
    let on_flap = snapshot.flaps.iter().find_map(|flap| height_on(flap, place));
    on_flap.unwrap_or(if place.y.abs() < fold { bed } else { 0.0 })
}

/// Height of a flap's upper surface at a place [mm]; `None` beside it.
fn height_on(flap: &FlapView, place: DVec2) -> Option<f64> {
    let at = |column: usize, row: usize| flap.points[column * flap.rows + row];
    let cells = (1..flap.columns).flat_map(|column| (1..flap.rows).map(move |row| (column, row)));
    let mut halves = cells.flat_map(|(column, row)| {
        let corners = [at(column - 1, row - 1), at(column, row - 1), at(column, row), at(column - 1, row)];
        [[corners[0], corners[1], corners[2]], [corners[0], corners[2], corners[3]]]
    });
    halves.find_map(|triangle| height_in(triangle, place))
}

/// Height of a triangle at a place; `None` if it does not lie over or under it.
fn height_in([a, b, c]: [DVec3; 3], place: DVec2) -> Option<f64> {
    let (ab, ac, ap) = ((b - a).truncate(), (c - a).truncate(), place - a.truncate());
    let area = ab.perp_dot(ac);
    if area == 0.0 {
        return None;
    }
    let (v, w) = (ap.perp_dot(ac) / area, ab.perp_dot(ap) / area);
    let inside = v >= 0.0 && w >= 0.0 && v + w <= 1.0;
    inside.then_some(a.z + v * (b.z - a.z) + w * (c.z - a.z))
}

/// What of a line as thick as this lies between a tool's pads.
#[must_use]
pub fn between(tool: &ToolView, line: &[DVec3], radius: f64) -> Option<Between> {
    let (design, back) = (tool.kind.design(), tool.pose.rotation.inverse());
    let place = line.iter().copied().find(|point| {
        let at = back * (*point - tool.pose.position);
        let along = (0.0..=design.pad_length).contains(&at.x);
        along && at.y.abs() <= design.pad_half_width && at.z.abs() <= 0.5 * tool.gap + radius
    })?;
    Some(Between { place, held: 2.0 * radius >= HELD * tool.gap })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instruments::Kind;
    use crate::math::{DQuat, Pose};

    /// A flap of 3 by 3 points 1 mm apart from a corner, rising by 0.5 mm along x.
    fn slope(corner: DVec2) -> FlapView {
        let point = |n: usize| {
            let (x, y) = (n / 3, n % 3);
            DVec3::new(corner.x + x as f64, corner.y + y as f64, 0.5 * x as f64)
        };
        let points: Vec<DVec3> = (0..9).map(point).collect();
        let calm = vec![0.0; 9];
        FlapView { columns: 3, rows: 3, points, blanch: calm.clone(), redness: calm, thickness: 1.4 }
    }

    #[test]
    fn the_gum_below_a_tip_is_the_flaps_or_the_bed_or_the_lining() {
        for (place, height) in [
            ((0.0, 0.0), Some(0.0)),
            ((0.5, 0.2), Some(0.25)),
            ((1.7, 1.9), Some(0.85)),
            ((2.0, 2.0), Some(1.0)),
            ((2.1, 1.0), None),
            ((1.0, -0.1), None),
        ] {
            let found = height_on(&slope(DVec2::ZERO), DVec2::from(place));
            assert_eq!(found.is_some(), height.is_some(), "{place:?}");
            assert!((found.unwrap_or(0.0) - height.unwrap_or(0.0)).abs() < 1e-12, "{place:?} {found:?}");
        }
    }

    fn tool(gap: f64) -> ToolView {
        let pose = Pose { position: DVec3::new(1.0, 2.0, 3.0), rotation: DQuat::IDENTITY };
        ToolView { kind: Kind::NeedleHolder, pose, gap, cones: Vec::new() }
    }

    #[test]
    fn jaws_hold_what_fills_their_gap_and_could_hold_what_lies_in_it() {
        let design = Kind::NeedleHolder.design();
        let across = |x: f64, z: f64| [DVec3::new(1.0 + x, 1.9, 3.0 + z), DVec3::new(1.0 + x, 2.2, 3.0 + z)];
        let found = |gap: f64, x: f64, z: f64| between(&tool(gap), &across(x, z), 0.1).map(|found| found.held);
        assert_eq!(found(0.2, 2.0, 0.0), Some(true));
        assert_eq!(found(2.0, 2.0, 0.9), Some(false));
        assert_eq!(found(2.0, 2.0, 1.2), None, "beside the jaws");
        assert_eq!(found(2.0, design.pad_length + 0.1, 0.0), None, "behind the pads");
        assert_eq!(found(2.0, -0.1, 0.0), None, "before the tip");
        let far = [DVec3::new(3.0, 2.0 + design.pad_half_width + 0.1, 3.0)];
        assert_eq!(between(&tool(2.0), &far, 0.1), None, "past the side of the pads");
    }
}
