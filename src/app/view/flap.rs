//! A flap: its simulated upper surface, made smooth, and the cut face at its free edge.

use bevy::math::Vec3;

use super::ground::{gum_at, ramp, settled};
use super::palette::WOUND;
use super::surface::Surface;
use super::tube::spline;
use crate::app::frame::from_scene;
use crate::simulation::snapshot::FlapView;

/// Rows of points on the cut face.
const FACE_ROWS: usize = 6;

/// How far the cut face bulges [mm].
const BULGE: f32 = 0.3;

/// A field over the flap's points, finer.
struct Fine {
    columns: usize,
    rows: usize,
    values: Vec<Vec3>,
}

/// The flap's surface in the scene, `finer` drawn points for each simulated one each way. Its triangles depend only on
/// the number of its points.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
pub fn surface(flap: &FlapView, fold: f32, finer: usize) -> Surface {
    let points: Vec<Vec3> = flap.points.iter().map(|point| settled(*point, fold)).collect();
    let blood: Vec<Vec3> =
        flap.blanch.iter().zip(&flap.redness).map(|(b, r)| Vec3::new(*b as f32, *r as f32, 0.0)).collect();
    let places = refine(flap.columns, flap.rows, &points, finer);
    let blood = refine(flap.columns, flap.rows, &blood, finer);
    let thickness = flap.thickness as f32;
    let mut surface = Surface::default();
    for column in 0..places.columns {
        let at = |row: usize| column * places.rows + row;
        let (edge, behind) = (places.values[at(0)], places.values[at(1)]);
        let out = Vec3::new(edge.x - behind.x, 0.0, edge.z - behind.z).normalize_or(Vec3::Z);
        for row in 0..FACE_ROWS {
            let angle = std::f32::consts::PI * (1.0 - row as f32 / FACE_ROWS as f32);
            let down = 0.5 * thickness * (1.0 - angle.cos());
            let colour = colour_at(edge, blood.values[at(0)], fold);
            let raw = ramp(0.1, 0.6, down / thickness);
            surface.point(edge + out * (BULGE * angle.sin()) - Vec3::Y * down, colour.lerp(WOUND, raw));
        }
        for row in 0..places.rows {
            let point = places.values[at(row)];
            surface.point(point, colour_at(point, blood.values[at(row)], fold));
        }
    }
    let count = u32::try_from(places.rows + FACE_ROWS).expect("few rows");
    let columns = u32::try_from(places.columns).expect("few columns");
    // The cheek's rows run away from the operator, the tongue's toward: the upper side must face up in both.
    let away = places.values[1].z < places.values[0].z;
    for column in 1..columns {
        let (here, before) = (column * count, (column - 1) * count);
        let (low, high) = if away { (here, before) } else { (before, here) };
        surface.join(low, high, count, false);
    }
    surface
}

fn colour_at(point: Vec3, blood: Vec3, fold: f32) -> Vec3 {
    let core = from_scene(point).as_vec3();
    gum_at(core.x, core.y, fold, blood.x.clamp(0.0, 1.0), blood.y.clamp(0.0, 1.0))
}

/// Splines along both ways through a grid of values, rows fastest.
fn refine(columns: usize, rows: usize, values: &[Vec3], finer: usize) -> Fine {
    let fine_rows = (rows - 1) * finer + 1;
    let fine_columns = (columns - 1) * finer + 1;
    let along_rows: Vec<Vec3> =
        values.chunks_exact(rows).flat_map(|column| between(rows, finer, |row| column[row])).collect();
    let mut fine = vec![Vec3::ZERO; fine_columns * fine_rows];
    for row in 0..fine_rows {
        for (column, value) in
            between(columns, finer, |column| along_rows[column * fine_rows + row]).into_iter().enumerate()
        {
            fine[column * fine_rows + row] = value;
        }
    }
    Fine { columns: fine_columns, rows: fine_rows, values: fine }
}

fn between(count: usize, finer: usize, value: impl Fn(usize) -> Vec3) -> Vec<Vec3> {
    let mut line = Vec::with_capacity((count - 1) * finer + 1);
    for i in 0..count - 1 {
        let [p, q, r, s] = [value(i.saturating_sub(1)), value(i), value(i + 1), value((i + 2).min(count - 1))];
        line.extend((0..finer).map(|piece| spline(p, q, r, s, piece as f32 / finer as f32)));
    }
    line.push(value(count - 1));
    line
}
