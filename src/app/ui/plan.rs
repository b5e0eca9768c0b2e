//! The site from above at the end of an attempt, measured.

use bevy_egui::egui::epaint::{Mesh, Vertex, WHITE_UV};
use bevy_egui::egui::{
    self, Align2, Color32, FontId, Painter, Pos2, Rect, Sense, Shape, Stroke, StrokeKind, Vec2, WidgetInfo, WidgetType,
};

use super::curve;
use crate::analysis::findings::{Bite, Side};
use crate::analysis::view::{Hole, SitePlan};
use crate::app::stage::Measured;
use crate::app::words::Language;
use crate::math::{DVec2, DVec3};

/// What is shown to either side of the socket's middle [mm].
const HALF: DVec2 = DVec2::new(10.5, 7.8);

const GROUND: Color32 = Color32::from_rgb(58, 22, 24);
const GUM: Color32 = Color32::from_rgb(150, 74, 70);
const EDGE: Color32 = Color32::from_rgb(214, 140, 132);
const MEMBRANE: Color32 = Color32::from_rgb(196, 176, 140);
const PALE: Color32 = Color32::from_rgb(238, 214, 200);
const THREAD: Color32 = Color32::from_rgb(24, 20, 18);
const RIM: Color32 = Color32::from_rgb(250, 250, 250);
const ORDERED: Color32 = Color32::from_rgb(240, 228, 66);
const INK: Color32 = Color32::from_rgb(252, 252, 252);

/// Where places of the site lie on the screen.
struct View {
    rect: Rect,
    /// Points for a millimetre.
    scale: f32,
    /// -1 if left and right are changed over.
    turn: f32,
}

impl View {
    #[expect(clippy::cast_possible_truncation, reason = "for the eye")]
    fn at(&self, place: DVec2) -> Pos2 {
        self.rect.center() + self.scale * Vec2::new(self.turn * place.x as f32, -place.y as f32)
    }

    fn line(&self, places: &[DVec2]) -> Vec<Pos2> {
        places.iter().map(|place| self.at(*place)).collect()
    }
}

/// Draws it as wide as there is room.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
pub fn show(ui: &mut egui::Ui, found: &Measured, mirrored: bool) {
    let language = Language::of(ui);
    let width = ui.available_width();
    let scale = width / (2.0 * HALF.x) as f32;
    let (rect, response) = ui.allocate_exact_size(Vec2::new(width, 2.0 * scale * HALF.y as f32), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, told(language, found)));
    let view = View { rect, scale, turn: if mirrored { -1.0 } else { 1.0 } };
    let painter = ui.painter().with_clip_rect(rect.intersect(ui.clip_rect()));
    painter.rect_filled(rect, 6.0, GROUND);
    let site = &found.site;
    let [low, high] =
        [-0.5, 0.5].map(|half| view.at(site.membrane_centre + half * site.membrane_size * DVec2::new(1.0, -1.0)));
    let membrane = Rect::from_two_pos(low, high);
    painter.rect_filled(membrane, 0.0, MEMBRANE);
    for (side, edge) in [1.0, -1.0].into_iter().zip(&site.edges) {
        flap(&painter, &view, side, edge);
    }
    for pale in &site.pale {
        painter.circle_filled(view.at(pale.place), 0.45 * scale * pale.paleness.sqrt() as f32, PALE);
    }
    for (side, edge) in [1.0, -1.0].into_iter().zip(&site.edges) {
        for distance in [found.order.bite_mm.min, found.order.bite_mm.max] {
            let line: Vec<DVec2> = edge.iter().map(|place| *place + DVec2::Y * side * distance).collect();
            painter.extend(Shape::dotted_line(&view.line(&line), ORDERED, 6.0, 1.2));
        }
    }
    let corners = [membrane.left_top(), membrane.right_top(), membrane.right_bottom(), membrane.left_bottom()];
    painter.extend(Shape::dashed_line(&closed(&corners), Stroke::new(1.2, INK), 10.0, 5.0));
    painter.extend(Shape::dashed_line(&socket(&view, site.socket), Stroke::new(1.2, INK), 4.0, 4.0));
    for strand in &site.strands {
        let thick = (scale * site.thread_mm as f32).max(1.5);
        painter.add(Shape::line(view.line(strand), Stroke::new(thick + 2.0, RIM)));
        painter.add(Shape::line(view.line(strand), Stroke::new(thick, THREAD)));
    }
    for place in &site.membrane_pierced {
        curve::cross(&painter, view.at(*place));
    }
    let bites = found.findings.stitches.iter().flat_map(|stitch| &stitch.bites);
    for (number, (hole, bite)) in (1..).zip(site.holes.iter().zip(bites)) {
        hole_with_distance(&painter, &view, language, number, hole, bite);
    }
    let alone = found.knots().count() == 1;
    for place in found.knots() {
        knot(&painter, &view, language, site, place, alone);
    }
    names(&painter, &view, language);
}

/// What it shows, for who cannot see it.
fn told(language: Language, found: &Measured) -> String {
    let bites = found.findings.stitches.iter().flat_map(|stitch| &stitch.bites);
    let distances: Vec<String> =
        bites.map(|bite| format!("{} mm", language.number(bite.distance_from_edge_mm, 1))).collect();
    language.tell("plan-told", &[("distances", distances.join(", "))])
}

/// A flap from its free edge outward, filled strip by strip, since its edge is no straight line.
#[expect(clippy::cast_possible_truncation, reason = "a flap's edge has few points")]
fn flap(painter: &Painter, view: &View, side: f64, edge: &[DVec2]) {
    let (Some(&first), Some(&last)) = (edge.first(), edge.last()) else { return };
    let far = side * (HALF.y + 1.0);
    let ends = [DVec2::new(-HALF.x - 1.0, first.y), DVec2::new(HALF.x + 1.0, last.y)];
    let rim: Vec<DVec2> = [ends[0]].into_iter().chain(edge.iter().copied()).chain([ends[1]]).collect();
    let mut mesh = Mesh::default();
    for (index, place) in rim.iter().enumerate() {
        for at in [*place, DVec2::new(place.x, far)] {
            mesh.vertices.push(Vertex { pos: view.at(at), uv: WHITE_UV, color: GUM });
        }
        if index > 0 {
            let next = 2 * index as u32;
            mesh.add_triangle(next - 2, next - 1, next);
            mesh.add_triangle(next - 1, next, next + 1);
        }
    }
    painter.add(mesh);
    painter.add(Shape::line(view.line(&rim), Stroke::new(2.0, EDGE)));
}

/// The mouth of the socket.
fn socket(view: &View, size: DVec2) -> Vec<Pos2> {
    let angles = (0..=64).map(|step| f64::from(step) / 64.0 * std::f64::consts::TAU);
    angles.map(|angle| view.at(0.5 * size * DVec2::new(crate::math::cos(angle), crate::math::sin(angle)))).collect()
}

fn closed(corners: &[Pos2]) -> Vec<Pos2> {
    corners.iter().chain(corners.first()).copied().collect()
}

/// Words on a dark ground.
fn say(painter: &Painter, at: Pos2, align: Align2, words: String) {
    let galley = painter.layout_no_wrap(words, FontId::proportional(13.0), INK);
    let rect = align.anchor_size(at, galley.size());
    painter.rect_filled(rect.expand2(Vec2::new(2.0, 0.0)), 2.0, Color32::from_black_alpha(150));
    painter.galley(rect.min, galley, INK);
}

/// A line between two short strokes across it.
fn dimension(painter: &Painter, from: Pos2, to: Pos2) {
    let stroke = Stroke::new(1.5, INK);
    let across = 4.0 * (to - from).normalized().rot90();
    painter.line_segment([from, to], stroke);
    for end in [from, to] {
        painter.line_segment([end - across, end + across], stroke);
    }
}

/// A length across the wound beside where it was measured, so many millimetres to the right [mm], with words outside it.
fn length_beside(painter: &Painter, view: &View, ends: [DVec2; 2], right: f64, words: String) {
    let ends = ends.map(|end| view.at(end + DVec2::X * right));
    dimension(painter, ends[0], ends[1]);
    let outward = view.turn * if right < 0.0 { -1.0 } else { 1.0 };
    let align = if outward < 0.0 { Align2::RIGHT_CENTER } else { Align2::LEFT_CENTER };
    say(painter, ends[0].lerp(ends[1], 0.5) + Vec2::new(6.0 * outward, 0.0), align, words);
}

/// A hole, with its distance from the edge as it was measured when the bite was taken.
fn hole_with_distance(painter: &Painter, view: &View, language: Language, number: usize, hole: &Hole, bite: &Bite) {
    let words = format!("{} mm", language.number(bite.distance_from_edge_mm, 1));
    length_beside(painter, view, [hole.place, hole.edge], -1.3, words);
    let at = view.at(hole.place);
    painter.circle_stroke(at, 5.0, Stroke::new(3.5, THREAD));
    painter.circle_stroke(at, 5.0, Stroke::new(1.8, RIM));
    // Beyond the hole, away from the wound.
    let out = if hole.flap == Side::Cheek { -14.0 } else { 14.0 };
    say(painter, at + Vec2::new(0.0, out), Align2::CENTER_CENTER, number.to_string());
}

/// A knot; one alone with its distance beyond the edge of the flap it lies on.
fn knot(painter: &Painter, view: &View, language: Language, site: &SitePlan, place: DVec3, alone: bool) {
    let place = place.truncate();
    let at = view.at(place);
    for (width, colour) in [(4.0, THREAD), (2.0, RIM)] {
        let around = Rect::from_center_size(at, Vec2::splat(18.0));
        painter.rect_stroke(around, 0.0, Stroke::new(width, colour), StrokeKind::Middle);
    }
    if !alone {
        return;
    }
    let (foot, outside) = site.beyond_edge(place);
    let key = if outside < 0.0 { "plan-knot-inside" } else { "plan-knot-outside" };
    let words = language.tell(key, &[("mm", language.number(outside.abs(), 1))]);
    length_beside(painter, view, [place, foot], 2.0, words);
}

/// Which flap is which, and a scale.
fn names(painter: &Painter, view: &View, language: Language) {
    let inner = view.rect.shrink(8.0);
    say(painter, inner.right_top(), Align2::RIGHT_TOP, language.say("plan-cheek"));
    say(painter, inner.right_bottom(), Align2::RIGHT_BOTTOM, language.say("plan-tongue"));
    let corner = inner.left_bottom() - Vec2::new(0.0, 4.0);
    dimension(painter, corner, corner + Vec2::new(5.0 * view.scale, 0.0));
    say(painter, corner + Vec2::new(4.0, -6.0), Align2::LEFT_BOTTOM, "5 mm".to_owned());
}
