//! Both dental arches as one sees them who faces the patient: 32 teeth to choose from, each with its number.

use bevy_egui::egui::{self, Align2, Color32, FontId, Pos2, Rect, Response, Sense, Shape, Stroke, Vec2, WidgetInfo};

use super::MUTED;
use crate::app::words::Language;
use crate::math::{cos, sin};
use crate::tooth::Tooth;
use std::f64::consts::PI;

/// Size of the picture, and the half axes of each arch through the middles of its teeth [point].
const SIZE: Vec2 = Vec2::new(348.0, 344.0);
const HALF_AXES: Vec2 = Vec2::new(152.0, 132.0);

/// Distance between the ends of the two arches [point].
const APART: f32 = 32.0;

/// Widths of the teeth along the arch relative to each other, from the midline: nearer to each other than in a mouth, so
/// that each has room for its number.
const WIDTHS: [f64; 8] = [0.92, 0.86, 0.92, 0.94, 0.94, 1.2, 1.17, 1.05];

/// Half of the teeth's depth from cheek to tongue, and how round their corners are, as a share, from the midline.
const DEPTHS: [(f32, f32); 8] =
    [(10.0, 0.75), (10.0, 0.75), (11.5, 0.95), (12.5, 0.95), (12.5, 0.95), (14.5, 0.55), (14.5, 0.55), (13.5, 0.65)];

const ENAMEL: Color32 = Color32::from_rgb(232, 228, 214);
const GUM: Color32 = Color32::from_rgb(112, 62, 64);
const DARK: Color32 = Color32::from_rgb(28, 26, 24);
/// Orange and sky blue of Okabe & Ito 2008, never used without a sign.
const CHOSEN: Color32 = Color32::from_rgb(230, 159, 0);
const INK: Color32 = Color32::from_rgb(86, 180, 233);

/// Where a tooth stands.
struct Seat {
    tooth: Tooth,
    middle: Pos2,
    /// Unit vector along the arch.
    along: Vec2,
    /// Unit vector out of the arch, to lip or cheek.
    out: Vec2,
    /// Half of its width and of its depth.
    half: Vec2,
}

/// Draws the arches, with the chosen tooth and the marked one told by sign and shape; gives what was done with each tooth.
pub fn show(ui: &mut egui::Ui, chosen: Option<Tooth>, marked: Option<Tooth>) -> Vec<(Tooth, Response)> {
    let language = Language::of(ui);
    let scale = (ui.available_width() / SIZE.x).min(1.0);
    let (rect, _) = ui.allocate_exact_size(SIZE * scale, Sense::hover());
    let painter = ui.painter().clone();
    let seats: Vec<Seat> = [true, false].into_iter().flat_map(|upper| seats(rect, scale, upper)).collect();
    for arch in seats.chunks(16) {
        painter.add(Shape::line(arch.iter().map(|seat| seat.middle).collect(), Stroke::new(36.0 * scale, GUM)));
    }
    captions(&painter, language, rect, scale);
    let shown = seats.iter().map(|seat| {
        let response = ui.interact(seat.room(), ui.id().with(("tooth", seat.tooth.number())), Sense::click());
        let name = format!("{} {}", seat.tooth, language.tooth(seat.tooth));
        let is_chosen = chosen == Some(seat.tooth);
        response.widget_info(|| WidgetInfo::selected(egui::WidgetType::RadioButton, true, is_chosen, &name));
        seat.draw(&painter, scale, [is_chosen, marked == Some(seat.tooth)], [response.hovered(), response.has_focus()]);
        (seat.tooth, response.on_hover_text(format!("{} {}", seat.tooth, language.tooth_described(seat.tooth))))
    });
    shown.collect()
}

fn captions(painter: &egui::Painter, language: Language, rect: Rect, scale: f32) {
    let font = FontId::proportional(14.0 * scale.max(0.9));
    let at = |x: f32, y: f32| rect.center() + Vec2::new(x, y) * scale;
    for (place, align, key) in [
        (at(-SIZE.x * 0.5 + 44.0, 0.0), Align2::LEFT_CENTER, "site-right"),
        (at(SIZE.x * 0.5 - 44.0, 0.0), Align2::RIGHT_CENTER, "site-left"),
        (at(0.0, -96.0), Align2::CENTER_CENTER, "site-upper"),
        (at(0.0, 96.0), Align2::CENTER_CENTER, "site-lower"),
    ] {
        painter.text(place, align, language.say(key), font.clone(), MUTED);
    }
    let half = 52.0 * scale;
    for side in [-1.0, 1.0] {
        let from = rect.center() + Vec2::new(0.0, side * 14.0 * scale);
        painter.line_segment([from, from + Vec2::new(0.0, side * half)], Stroke::new(1.0, Color32::from_gray(70)));
    }
}

/// The seats of an arch, from the patient's right to the left, on half an ellipse.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn seats(rect: Rect, scale: f32, upper: bool) -> Vec<Seat> {
    const STEPS: u32 = 400;
    let way = if upper { -1.0 } else { 1.0 };
    let middle = rect.center() + Vec2::new(0.0, way * 0.5 * APART * scale);
    let axes = HALF_AXES * scale;
    let point = |step: f64| {
        let angle = PI * (1.0 - step / f64::from(STEPS));
        middle + Vec2::new(axes.x * cos(angle) as f32, way * axes.y * sin(angle) as f32)
    };
    let mut lengths = vec![0.0];
    for step in 1..=STEPS {
        let edge = point(f64::from(step)) - point(f64::from(step) - 1.0);
        lengths.push(lengths.last().copied().unwrap_or(0.0) + edge.length());
    }
    let teeth = &Tooth::arches()[usize::from(!upper)];
    let width = |tooth: &Tooth| WIDTHS[usize::from(tooth.place() - 1)];
    let share = f64::from(lengths[lengths.len() - 1]) / teeth.iter().map(width).sum::<f64>();
    let mut gone = 0.0;
    let seats = teeth.iter().map(|tooth| {
        let wide = share * width(tooth);
        let at = gone + 0.5 * wide;
        gone += wide;
        let step = lengths.partition_point(|&length| f64::from(length) < at) as f64;
        let along = (point(step + 0.5) - point(step - 0.5)).normalized();
        let out = Vec2::new(along.y, -along.x) * -way;
        let (depth, _) = DEPTHS[usize::from(tooth.place() - 1)];
        Seat { tooth: *tooth, middle: point(step), along, out, half: Vec2::new(0.5 * wide as f32 - 1.2, depth * scale) }
    });
    seats.collect()
}

impl Seat {
    /// What can be clicked on.
    fn room(&self) -> Rect {
        Rect::from_points(&self.outline(0.0))
    }

    /// A rectangle with round corners that stands across the arch, grown by so much on every side.
    #[expect(clippy::cast_possible_truncation, reason = "for the eye")]
    fn outline(&self, grown: f32) -> Vec<Pos2> {
        let (_, roundness) = DEPTHS[usize::from(self.tooth.place() - 1)];
        let half = self.half + Vec2::splat(grown);
        let radius = roundness * half.x.min(half.y);
        let corners = [(1.0, 1.0, 0.0), (-1.0, 1.0, 0.5), (-1.0, -1.0, 1.0), (1.0, -1.0, 1.5)];
        let at = |(x, y, quarter): (f32, f32, f64), part: u32| {
            let angle = PI * (quarter + f64::from(part) / 12.0);
            let from = Vec2::new(x * (half.x - radius), y * (half.y - radius));
            let place = from + radius * Vec2::new(cos(angle) as f32, sin(angle) as f32);
            self.middle + self.along * place.x + self.out * place.y
        };
        corners.into_iter().flat_map(|corner| (0..=6).map(move |part| at(corner, part))).collect()
    }

    fn draw(&self, painter: &egui::Painter, scale: f32, [chosen, marked]: [bool; 2], [hovered, focused]: [bool; 2]) {
        let fill = if chosen { CHOSEN } else { ENAMEL };
        let edge = if hovered { Stroke::new(2.0, Color32::WHITE) } else { Stroke::new(1.0, DARK) };
        painter.add(Shape::convex_polygon(self.outline(0.0), fill, edge));
        if chosen {
            painter.add(Shape::closed_line(self.outline(1.5), Stroke::new(3.0, Color32::WHITE)));
            self.pointer(painter, scale);
        }
        if marked {
            let place = self.middle + self.out * (self.half.y + 9.0 * scale);
            painter.circle_filled(place, 5.0 * scale, INK);
            painter.add(Shape::closed_line(self.outline(3.5), Stroke::new(2.0, INK)));
        }
        if focused {
            painter.extend(Shape::dashed_line(&closed(self.outline(5.0)), Stroke::new(2.0, Color32::WHITE), 5.0, 3.0));
        }
        let font = FontId::proportional(14.0 * scale.max(0.9));
        painter.text(self.middle, Align2::CENTER_CENTER, self.tooth.to_string(), font, DARK);
    }

    /// A triangle within the arch that points at the tooth.
    fn pointer(&self, painter: &egui::Painter, scale: f32) {
        let tip = self.middle - self.out * (self.half.y + 5.0 * scale);
        let base = tip - self.out * (11.0 * scale);
        let wide = self.along * (7.0 * scale);
        painter.add(Shape::convex_polygon(vec![tip, base + wide, base - wide], CHOSEN, Stroke::NONE));
    }
}

fn closed(mut outline: Vec<Pos2>) -> Vec<Pos2> {
    outline.extend(outline.first().copied());
    outline
}
