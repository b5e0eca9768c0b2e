//! A knot's two strands drawn flat, seen from the side: what is nearer lies over what is farther, with a dark rim.

use bevy_egui::egui::{Color32, Pos2, Rect, Shape, Stroke, Vec2};

use super::readout::STRANDS;
use crate::math::DVec3;
use crate::pull::Frame;

/// Width of what is seen, in radii of the thread: some three times a tight knot of three throws.
const WINDOW_RADII: f64 = 76.0;
/// Two strands nearer than this, in radii, are in the knot.
const NEAR_RADII: f64 = 4.0;
/// Drawn pieces of an edge.
const PIECES: usize = 4;
/// The rim of a strand on either side, as a share of its width.
const RIM: f32 = 0.16;
/// How much further than its piece a gloss reaches, so that the soft end of the next piece leaves no line in it [point].
const GLOSS_BEYOND: f32 = 1.5;

/// From where a knot is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// Unit vector to the right: the way the loop is drawn open.
    pub right: DVec3,
    /// Unit vector up: where the tails are.
    pub up: DVec3,
}

impl Side {
    /// The side from which a knot is seen best as its pull begins; `None` if a strand has no points.
    #[must_use]
    pub fn of(frame: &Frame, radius: f64) -> Option<Side> {
        let [a, b] = &frame.strands;
        let right = (*b.last()? - *a.last()?).try_normalize().unwrap_or(DVec3::X);
        let tails = 0.5 * (*a.first()? + *b.first()?) - middle(frame, radius)?;
        let across = tails - right * tails.dot(right);
        let any = if right.z.abs() < 0.9 { DVec3::Z } else { DVec3::Y };
        let up = across.try_normalize().unwrap_or_else(|| (any - right * any.dot(right)).normalize());
        Some(Side { right, up })
    }

    fn toward_eye(&self) -> DVec3 {
        self.right.cross(self.up)
    }
}

/// The middle of a knot [mm]: of what of one strand lies on the other, or of all if nothing does.
#[must_use]
pub fn middle(frame: &Frame, radius: f64) -> Option<DVec3> {
    let [a, b] = &frame.strands;
    let reach = NEAR_RADII * radius;
    let (mut sum, mut weights) = (DVec3::ZERO, 0.0);
    for point in a {
        let nearest = b.iter().map(|other| other.distance(*point)).fold(f64::INFINITY, f64::min);
        let weight = (1.0 - nearest / reach).max(0.0);
        sum += *point * weight;
        weights += weight;
    }
    if weights > 0.0 {
        return Some(sum / weights);
    }
    let all = a.len() + b.len();
    (all > 0).then(|| a.iter().chain(b).copied().sum::<DVec3>() / all as f64)
}

/// One short piece of a strand on the screen.
struct Piece {
    ends: [Pos2; 2],
    depth: f64,
    strand: usize,
}

/// The knot in a rectangle, the farthest first.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
pub fn knot(frame: &Frame, side: Side, radius: f64, rect: Rect) -> Vec<Shape> {
    let Some(middle) = middle(frame, radius) else { return Vec::new() };
    let scale = f64::from(rect.width()) / (WINDOW_RADII * radius);
    let flat = |point: DVec3| {
        let from = point - middle;
        let (x, y) = (from.dot(side.right) * scale, from.dot(side.up) * scale);
        rect.center() + Vec2::new(x as f32, -y as f32)
    };
    let mut pieces = Vec::new();
    for (strand, points) in frame.strands.iter().enumerate() {
        let curve = smooth(points);
        for pair in curve.windows(2) {
            let depth = (0.5 * (pair[0] + pair[1]) - middle).dot(side.toward_eye());
            pieces.push(Piece { ends: [flat(pair[0]), flat(pair[1])], depth, strand });
        }
    }
    pieces.sort_by(|a, b| a.depth.total_cmp(&b.depth));
    let width = (2.0 * radius * scale) as f32;
    let mut shapes = Vec::new();
    for piece in &pieces {
        let [from, to] = piece.ends;
        let along = (to - from).normalized();
        // Reaching further than its rim, a piece covers the rim's ends of its neighbours.
        let longer = |by: f32| [from - along * by, to + along * by];
        let (ends, gloss) = (longer(0.3 * width), longer(0.3 * width + GLOSS_BEYOND));
        let near = (0.5 + piece.depth / (8.0 * radius)).clamp(0.0, 1.0) as f32;
        let colour = STRANDS[piece.strand];
        shapes.push(Shape::line_segment(piece.ends, Stroke::new(width * (1.0 + 2.0 * RIM), Color32::from_gray(10))));
        shapes.push(Shape::line_segment(ends, Stroke::new(width, shade(colour, 0.55 + 0.3 * near))));
        shapes.push(Shape::line_segment(gloss, Stroke::new(0.4 * width, shade(colour, 0.75 + 0.3 * near))));
    }
    if let Some(at) = frame.broke.map(flat) {
        let arm = Vec2::splat(0.9 * width.max(8.0));
        let back = Vec2::new(arm.x, -arm.y);
        for half in [arm, back] {
            shapes.push(Shape::line_segment([at - half, at + half], Stroke::new(5.0, Color32::BLACK)));
            shapes.push(Shape::line_segment([at - half, at + half], Stroke::new(2.5, Color32::WHITE)));
        }
    }
    shapes
}

/// Length on the screen of a millimetre [point].
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
pub fn millimetre(radius: f64, rect: Rect) -> f32 {
    (f64::from(rect.width()) / (WINDOW_RADII * radius)) as f32
}

/// Points of a Catmull-Rom spline through the nodes.
fn smooth(nodes: &[DVec3]) -> Vec<DVec3> {
    let Some(last) = nodes.len().checked_sub(1) else { return Vec::new() };
    let mut curve = Vec::with_capacity(last * PIECES + 1);
    for i in 0..last {
        let [p, q, r, s] = [nodes[i.saturating_sub(1)], nodes[i], nodes[i + 1], nodes[(i + 2).min(last)]];
        for piece in 0..PIECES {
            let t = piece as f64 / PIECES as f64;
            let (start, end) = (0.5 * (r - p), 0.5 * (s - q));
            let (t2, t3) = (t * t, t * t * t);
            curve.push(
                q * (2.0 * t3 - 3.0 * t2 + 1.0)
                    + start * (t3 - 2.0 * t2 + t)
                    + r * (3.0 * t2 - 2.0 * t3)
                    + end * (t3 - t2),
            );
        }
    }
    curve.push(nodes[last]);
    curve
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a byte")]
fn shade(colour: Color32, share: f32) -> Color32 {
    let [r, g, b, _] = colour.to_array().map(|part| (f32::from(part) * share).clamp(0.0, 255.0) as u8);
    Color32::from_rgb(r, g, b)
}
