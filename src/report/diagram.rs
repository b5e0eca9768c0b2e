//! A knot as a crossing diagram: on the left as it was read, on the right as it lies.

use super::stitches::ReadStitch;
use crate::analysis::reading::{Reading, StitchCurve};
use crate::math::{DVec2, DVec3, across, cos, sin};
use crate::topology::closure::Directions;
use crate::topology::{HalfKnot, Shadow};
use core::f64::consts::PI;
use svg::node::Value;
use svg::node::element::path::Data;
use svg::node::element::{Path, Rectangle, Text};
use svg::{Document, Node};

pub(super) const SIZE: DVec2 = DVec2::new(1000.0, 560.0);
const AS_READ: Panel =
    Panel { corner: DVec2::new(20.0, 70.0), size: DVec2::new(330.0, 440.0), around: 0.1, gap: 6.5, title: "as read" };
const AS_IT_LIES: Panel = Panel {
    corner: DVec2::new(590.0, 70.0),
    size: DVec2::new(390.0, 440.0),
    // Enough to see where the limbs come from.
    around: 0.3,
    gap: 6.5,
    title: "as it lies, seen from where it crosses itself least",
};
/// Directions from which the thread is looked at to find the one with fewest crossings.
const VIEWS: usize = 200;
/// How far from straight across the stitch these may lie, as the cosine of the angle to its outward direction: from
/// above, throws hide each other.
const LEAN_MAX: f64 = 0.7;
const WIDTH: f64 = 4.0;
/// Gaps grow where strands cross at a small angle, as far as this sine says.
const SINE_MIN: f64 = 0.5;
/// Steps in which an edge of the thread is drawn, small beside a gap.
const FINE: u32 = 16;

/// Limb A, limb B, and the loop between them: blue, orange and grey of a palette that is told apart with any colour
/// vision (Okabe & Ito 2008, from memory).
const STRANDS: [(&str, &str); 3] =
    [("limb A", "#0072b2"), ("limb B", "#d55e00"), ("loop through the tissue", "#6e6e6e")];

/// A line of a diagram.
#[derive(Debug, Clone, PartialEq)]
pub struct DiagramLine {
    /// Points [px], x to the right and y down.
    pub points: Vec<DVec2>,
    /// 0 for limb A, 1 for limb B, 2 for the loop between them.
    pub strand: usize,
}

/// Throws as a crossing diagram of the given size [px], broken where a strand runs under another; at least one throw.
#[must_use]
pub fn throws_as_lines(throws: &[HalfKnot], size: DVec2) -> Vec<DiagramLine> {
    let ideal = ideal_curve(throws);
    Picture::of_ideal(Panel { corner: DVec2::ZERO, size, around: 0.06, gap: 4.0, title: "" }, &ideal).pieces(&ideal)
}

/// What a crossing diagram consists of; [`SIZE`] holds all of it.
#[derive(Debug, Default)]
pub(super) struct Diagram {
    pub(super) lines: Vec<DiagramLine>,
    pub(super) words: Vec<Words>,
}

/// Words of a diagram, beginning at a place.
#[derive(Debug)]
pub(super) struct Words {
    /// Start of their line [px].
    pub(super) at: DVec2,
    /// Height of their letters [px].
    pub(super) size: u32,
    pub(super) text: String,
}

impl Diagram {
    /// The throws as they were read on the left, with their words, and on the right the thread as it lies.
    pub(super) fn of(stitch: &ReadStitch) -> Diagram {
        let mut diagram = Diagram::default();
        if !stitch.reading.throws.is_empty() {
            diagram.add_throws(stitch);
        }
        let (toward, up) = best_view(&stitch.curve, &stitch.reading);
        let shown = knotted(&stitch.curve, &stitch.reading);
        diagram.draw(&Picture::of(AS_IT_LIES, &stitch.curve, shown, toward, up), &stitch.curve);
        for (strand, (name, _)) in STRANDS.iter().enumerate() {
            let at = DVec2::new(20.0 + 110.0 * strand as f64, SIZE.y - 18.0);
            diagram.lines.push(DiagramLine { points: vec![at, at + DVec2::new(24.0, 0.0)], strand });
            diagram.say(at + DVec2::new(30.0, 5.0), 13, name);
        }
        diagram
    }

    fn add_throws(&mut self, stitch: &ReadStitch) {
        let throws: Vec<HalfKnot> = stitch.reading.half_knots().collect();
        let ideal = ideal_curve(&throws);
        let picture = Picture::of_ideal(AS_READ, &ideal);
        self.draw(&picture, &ideal);
        for (number, height) in throw_heights(&throws).into_iter().enumerate() {
            let at = DVec2::new(AS_READ.corner.x + AS_READ.size.x + 15.0, picture.seen(DVec3::Z * height).y);
            self.say(at, 15, &format!("throw {}: {}", number + 1, stitch.throw_words(number)));
            if let Some(relation) = stitch.relation(number) {
                self.say(at + DVec2::new(0.0, 19.0), 13, &format!("{relation} to the one below"));
            }
        }
    }

    fn draw(&mut self, picture: &Picture, curve: &StitchCurve) {
        let Panel { corner, title, .. } = picture.panel;
        self.say(corner - DVec2::new(0.0, 26.0), 13, title);
        let pieces = picture.pieces(curve);
        // A colour alone would not say which limb is which.
        let end_a = pieces.iter().find(|piece| piece.strand == 0).map(|piece| [piece.points[0], piece.points[1]]);
        let end_b = pieces.iter().rfind(|piece| piece.strand == 1).map(|piece| {
            let last = piece.points.len() - 1;
            [piece.points[last], piece.points[last - 1]]
        });
        for (limb, end) in [("A", end_a), ("B", end_b)] {
            if let Some([end, before]) = end {
                let outward = (end - before).normalize_or_zero();
                // The letter's middle is not where its line begins.
                self.say(end + 13.0 * outward + DVec2::new(-5.0, 5.0), 15, limb);
            }
        }
        self.lines.extend(pieces);
    }

    fn say(&mut self, at: DVec2, size: u32, text: &str) {
        self.words.push(Words { at, size, text: text.to_owned() });
    }
}

/// The diagram as SVG text.
#[must_use]
pub fn crossing_diagram(stitch: &ReadStitch) -> String {
    let (width, height) = (SIZE.x, SIZE.y);
    let page = Rectangle::new().set("width", width).set("height", height).set("fill", "white");
    let mut document = Document::new()
        .set("viewBox", (0.0, 0.0, width, height))
        .set("role", "img")
        .set("aria-label", stitch.headline())
        .set("font-family", "sans-serif")
        .add(page)
        .add(words(DVec2::new(20.0, 32.0), 20, &stitch.headline()));
    let diagram = Diagram::of(stitch);
    for DiagramLine { points, strand } in &diagram.lines {
        document.append(line(points, STRANDS[*strand].1));
    }
    for Words { at, size, text } in &diagram.words {
        document.append(words(*at, *size, text));
    }
    document.to_string()
}

fn words(at: DVec2, size: u32, text: &str) -> Text {
    Text::new(text).set("x", at.x).set("y", at.y).set("font-size", size)
}

/// The points of a line as the `d` of a path.
pub(super) fn path_data(points: &[DVec2]) -> String {
    // Hundredths of a pixel: more makes the file longer and nothing else.
    let rounded = |at: DVec2| ((100.0 * at.x).round() / 100.0, (100.0 * at.y).round() / 100.0);
    let start = Data::new().move_to(rounded(points[0]));
    Value::from(points[1..].iter().fold(start, |data, &point| data.line_to(rounded(point)))).to_string()
}

fn line(points: &[DVec2], color: &str) -> Path {
    Path::new()
        .set("d", path_data(points))
        .set("fill", "none")
        .set("stroke", color)
        .set("stroke-width", WIDTH)
        .set("stroke-linejoin", "round")
        .set("stroke-linecap", "round")
}

/// A part of the page.
#[derive(Debug, Clone, Copy)]
struct Panel {
    corner: DVec2,
    size: DVec2,
    /// How much around what is shown stays free, as a share of its extent.
    around: f64,
    /// Half of the gap in an under-strand where strands cross at a right angle [px].
    gap: f64,
    title: &'static str,
}

/// How a thread is looked at and laid out in a panel.
struct Picture {
    panel: Panel,
    shadow: Shadow,
    right: DVec3,
    up: DVec3,
    /// Middle of what is shown, in the plane of the picture [mm].
    middle: DVec2,
    /// Scale [px/mm].
    scale: f64,
}

impl Picture {
    /// The thread for a viewer in the direction `toward`, the points `shown` filling the panel.
    fn of(panel: Panel, curve: &StitchCurve, shown: impl Iterator<Item = usize>, toward: DVec3, up: DVec3) -> Picture {
        let up = (up - up.dot(toward) * toward).normalize();
        let right = up.cross(toward);
        let flat = |point: DVec3| DVec2::new(point.dot(right), point.dot(up));
        let (low, high) = shown
            .map(|index| flat(curve.points[index]))
            .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
        let extent = (high - low).max(DVec2::splat(1e-6));
        let scale = (panel.size / extent).min_element() / (1.0 + panel.around);
        let shadow = Shadow::cast(&curve.points, toward);
        Picture { panel, shadow, right, up, middle: 0.5 * (low + high), scale }
    }

    /// An ideal curve, whole, as the operator sees it.
    fn of_ideal(panel: Panel, ideal: &StitchCurve) -> Picture {
        Picture::of(panel, ideal, 0..ideal.points.len(), -DVec3::Y, DVec3::Z)
    }

    /// Where a point is seen [px].
    fn seen(&self, point: DVec3) -> DVec2 {
        let off = DVec2::new(point.dot(self.right), point.dot(self.up)) - self.middle;
        self.panel.corner + 0.5 * self.panel.size + self.scale * DVec2::new(off.x, -off.y)
    }

    fn inside(&self, at: DVec2) -> bool {
        let part = (at - self.panel.corner) / self.panel.size;
        part.min_element() >= 0.0 && part.max_element() <= 1.0
    }

    /// The thread, broken where it runs under itself or leaves the panel.
    fn pieces(&self, curve: &StitchCurve) -> Vec<DiagramLine> {
        let gaps = self.gaps(curve);
        let mut pieces: Vec<DiagramLine> = Vec::new();
        let mut joint = None;
        for step in 0..=(curve.points.len() - 1) * FINE as usize {
            let place = step as f64 / f64::from(FINE);
            let at = self.seen(curve.at(place));
            if !self.inside(at) || gaps.iter().any(|&(middle, half)| (place - middle).abs() < half) {
                joint = None;
                continue;
            }
            let strand = strand_of(curve, place);
            match pieces.last_mut() {
                Some(piece) if joint.is_some() && piece.strand == strand => piece.points.push(at),
                _ => pieces.push(DiagramLine { points: joint.into_iter().chain([at]).collect(), strand }),
            }
            joint = Some(at);
        }
        pieces.retain(|piece| piece.points.len() > 1);
        pieces
    }

    /// Where under-strands are broken: the middle of each gap and half its width, as fractional point indices.
    fn gaps(&self, curve: &StitchCurve) -> Vec<(f64, f64)> {
        let along = |place: f64| {
            let edge = place.floor().min(curve.points.len() as f64 - 2.0);
            self.seen(curve.at(edge + 1.0)) - self.seen(curve.at(edge))
        };
        let half_width = |over: DVec2, under: DVec2| {
            let length = under.length().max(1e-6);
            let sine = under.perp_dot(over).abs() / (length * over.length().max(1e-6));
            self.panel.gap / sine.max(SINE_MIN) / length
        };
        let crossings = self.shadow.crossings().iter();
        crossings.map(|crossing| (crossing.under, half_width(along(crossing.over), along(crossing.under)))).collect()
    }
}

/// Index into [`STRANDS`].
fn strand_of(curve: &StitchCurve, place: f64) -> usize {
    if place < curve.loop_start as f64 {
        0
    } else if place > curve.loop_end as f64 {
        1
    } else {
        2
    }
}

/// The points inside the throws, or all of a thread without any.
fn knotted(curve: &StitchCurve, reading: &Reading) -> impl Iterator<Item = usize> + Clone {
    let ends = reading.throws.first().zip(reading.throws.last());
    let whole = (0.0, curve.points.len() as f64);
    let (on_a, on_b) =
        ends.map_or((whole, whole), |(first, last)| ((last.limb_a.1, first.limb_a.0), (first.limb_b.0, last.limb_b.1)));
    let within = |(from, to): (f64, f64), index: f64| from.floor() <= index && index <= to.ceil();
    (0..curve.points.len()).filter(move |&index| within(on_a, index as f64) || within(on_b, index as f64))
}

/// From where the knot crosses itself least, and which way is up.
fn best_view(curve: &StitchCurve, reading: &Reading) -> (DVec3, DVec3) {
    let outward = curve.outward();
    let knot: Vec<bool> = knotted(curve, reading).fold(vec![false; curve.points.len()], |mut inside, index| {
        inside[index] = true;
        inside
    });
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "places are small and not negative")]
    let in_knot = |place: f64| knot[place as usize];
    let crossings = |toward: DVec3| {
        let shadow = Shadow::cast(&curve.points, toward);
        shadow.crossings().iter().filter(|crossing| in_knot(crossing.over) && in_knot(crossing.under)).count()
    };
    let toward = Directions::seeded(3)
        .take(VIEWS)
        .filter(|toward| outward.is_none_or(|outward| toward.dot(outward).abs() < LEAN_MAX))
        .min_by_key(|&toward| crossings(toward))
        .unwrap_or(-DVec3::Y);
    (toward, outward.unwrap_or_else(|| across(toward)))
}

/// Half the extent of a half turn, the radius of a twist, and the height of a throw, as drawn [mm].
const HALF_TURN: f64 = 0.5;
const TWIST: f64 = 0.32;
const PITCH: f64 = 1.7;

/// Heights of the throws of [`ideal_curve`] [mm].
fn throw_heights(throws: &[HalfKnot]) -> Vec<f64> {
    (0..throws.len()).map(|number| PITCH * number as f64).collect()
}

/// Throws laid out for the eye in the plane y = 0, limb A coming from the left: each throw a twist of 2n + 1
/// half turns, one above the other.
fn ideal_curve(throws: &[HalfKnot]) -> StitchCurve {
    let limbs = [-1.0, 1.0].map(|side| ideal_limb(throws, side));
    let [a, b] = &limbs;
    let mut points: Vec<DVec3> = a.iter().rev().copied().collect();
    let loop_start = points.len() - 1;
    let (from, to) = (a[0], b[0]);
    let (middle, radius) = (0.5 * (from + to), 0.5 * from.distance(to));
    points.extend((1..24).map(|step| {
        let angle = PI * f64::from(step) / 24.0;
        middle - radius * cos(angle) * DVec3::X - radius.min(1.6) * sin(angle) * DVec3::Z
    }));
    let loop_end = points.len();
    points.extend(b);
    StitchCurve { points, loop_start, loop_end }
}

/// One limb of it from the tissue to its end; `side` is -1 for the one that comes from the left.
fn ideal_limb(throws: &[HalfKnot], side: f64) -> Vec<DVec3> {
    let half_width = |wraps: u32| HALF_TURN * f64::from(2 * wraps + 1);
    let heights = throw_heights(throws);
    let first = half_width(throws[0].wraps);
    let mut side = side;
    let mut points = vec![DVec3::new(side * (first + 0.6), 0.0, -1.0)];
    for (number, throw) in throws.iter().enumerate() {
        let (half_turns, half) = (2 * throw.wraps + 1, half_width(throw.wraps));
        for step in 0..=16 * half_turns {
            let along = f64::from(step) / f64::from(16 * half_turns);
            let from_left = if side < 0.0 { along } else { 1.0 - along };
            // Limbs that run against each other on a right-handed helix cross left-handed; they are half a turn apart.
            let turned = -f64::from(throw.handedness) * PI * f64::from(half_turns) * from_left;
            let angle = turned + if side < 0.0 { -0.5 * PI } else { 0.5 * PI };
            let height = heights[number] + TWIST * sin(angle);
            points.push(DVec3::new(half * (2.0 * from_left - 1.0), TWIST * cos(angle), height));
        }
        side = -side;
        let leaves = heights[number] + TWIST;
        match throws.get(number + 1) {
            Some(next) => points.extend((1..16).map(|step| {
                let along = f64::from(step) / 16.0;
                let out = half + along * (half_width(next.wraps) - half) + 0.5 * sin(PI * along);
                let risen = (PITCH - 2.0 * TWIST) * 0.5 * (1.0 - cos(PI * along));
                DVec3::new(side * out, 0.0, leaves + risen)
            })),
            None => points.push(DVec3::new(side * (half + 1.2), 0.0, leaves + 1.0)),
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::reading::read;

    #[test]
    fn what_is_drawn_as_read_reads_so() {
        let table: [(&[(u32, i8)], &str); 5] = [
            (&[(1, -1)], "1"),
            (&[(2, -1), (1, 1), (1, -1)], "2=1=1"),
            (&[(1, 1), (1, 1)], "1x1"),
            (&[(3, 1), (2, -1)], "3=2"),
            (&[(1, -1), (3, 1), (1, 1)], "1=3x1"),
        ];
        for (throws, notation) in table {
            let meant: Vec<HalfKnot> =
                throws.iter().map(|&(wraps, handedness)| HalfKnot { wraps, handedness }).collect();
            let drawn = read(&ideal_curve(&meant));
            assert_eq!((drawn.notation.as_str(), drawn.clear), (notation, true), "{:?}", drawn.reason);
            assert_eq!(drawn.half_knots().collect::<Vec<_>>(), meant);
        }
    }
}
