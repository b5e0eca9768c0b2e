//! Force over extension of a pull, with its slips and its break.

use bevy_egui::egui::{self, Align2, Color32, FontId, Pos2, Rect, Shape, Stroke, Vec2};

use super::MUTED;
use crate::app::words::Language;
use crate::pull::{End, Point, Pull, SLIP_MAX};
use crate::quantity::MN_PER_N;

/// Slip from one dot on the curve to the next [mm].
pub const DOTS_EVERY: f64 = 0.5;
/// Radius of a dot and of the ring where the knot has slipped [point].
const DOT: f32 = 3.5;
const RING: f32 = 7.0;
/// Room for the numbers and names of the axes [point].
const LEFT: f32 = 44.0;
const BOTTOM: f32 = 42.0;
const TOP: f32 = 26.0;
const LINE: Color32 = Color32::from_rgb(240, 244, 246);

/// What is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curve<'a> {
    /// Points so far.
    pub points: &'a [Point],
    /// What came of it, once that is known.
    pub pull: Option<&'a Pull>,
    /// The point that belongs to the frame which is shown.
    pub now: Option<Point>,
}

/// Where numbers lie on the screen.
struct Axes {
    plot: Rect,
    right: f64,
    top: f64,
}

impl Axes {
    fn of(curve: &Curve, rect: Rect) -> Axes {
        let most = |number: fn(&Point) -> f64, least: f64| curve.points.iter().map(number).fold(least, f64::max);
        let plot = Rect::from_min_max(rect.min + Vec2::new(LEFT, TOP), rect.max - Vec2::new(12.0, BOTTOM));
        Axes { plot, right: 1.08 * most(|p| p.extension, 0.5), top: 1.12 * most(|p| p.force, 200.0) / MN_PER_N }
    }

    #[expect(clippy::cast_possible_truncation, reason = "for the eye")]
    fn at(&self, extension: f64, newton: f64) -> Pos2 {
        let across = self.plot.width() * (extension / self.right) as f32;
        Pos2::new(self.plot.left() + across, self.plot.bottom() - self.plot.height() * (newton / self.top) as f32)
    }

    fn place(&self, point: &Point) -> Pos2 {
        self.at(point.extension, point.force / MN_PER_N)
    }
}

/// Draws the curve into a rectangle.
pub fn paint(ui: &egui::Ui, curve: &Curve, rect: Rect) {
    let (painter, language) = (ui.painter(), Language::of(ui));
    let axes = Axes::of(curve, rect);
    let font = FontId::proportional(14.0);
    let say = |at: Pos2, align: Align2, text: String| painter.text(at, align, text, font.clone(), MUTED);
    let thin = Stroke::new(1.0, Color32::from_gray(74));
    for newton in ticks(axes.top) {
        let at = axes.at(0.0, newton);
        painter.line_segment([at, Pos2::new(axes.plot.right(), at.y)], thin);
        say(at - Vec2::new(6.0, 0.0), Align2::RIGHT_CENTER, number(newton));
    }
    for extension in ticks(axes.right) {
        let at = axes.at(extension, 0.0);
        painter.line_segment([at, at + Vec2::new(0.0, 4.0)], thin);
        say(at + Vec2::new(0.0, 6.0), Align2::CENTER_TOP, number(extension));
    }
    let below = Pos2::new(axes.plot.right(), rect.bottom());
    say(below, Align2::RIGHT_BOTTOM, language.say("pull-extension"));
    say(rect.left_top() + Vec2::new(LEFT - 20.0, 0.0), Align2::LEFT_TOP, language.say("pull-force"));
    let places: Vec<Pos2> = curve.points.iter().map(|point| axes.place(point)).collect();
    painter.add(Shape::line(places, Stroke::new(2.0, LINE)));
    for point in slips(curve.points) {
        dot(painter, axes.place(point));
    }
    if let Some(point) = curve.points.iter().find(|point| point.slip > SLIP_MAX) {
        ring(painter, axes.place(point));
    }
    let broke = curve.pull.is_some_and(|pull| matches!(pull.end, End::Broke(_)));
    if let Some(point) = curve.points.last().filter(|_| broke) {
        cross(painter, axes.place(point));
    }
    if let Some(now) = curve.now {
        let at = axes.place(&now);
        let up = [Pos2::new(at.x, axes.plot.top()), Pos2::new(at.x, axes.plot.bottom())];
        painter.line_segment(up, Stroke::new(1.5, Color32::from_rgb(86, 180, 233)));
        painter.circle_filled(at, 5.0, Color32::from_rgb(86, 180, 233));
    }
}

/// What the signs on the curve mean, in a row.
pub fn legend(ui: &mut egui::Ui) {
    type Sign = fn(&egui::Painter, Pos2);
    let language = Language::of(ui);
    let signs: [(Sign, String); 3] = [
        (dot, language.tell("pull-sign-slip", &[("mm", language.number(DOTS_EVERY, 1))])),
        (ring, language.tell("pull-sign-slipped", &[("mm", language.number(SLIP_MAX, 1))])),
        (cross, language.say("pull-sign-broke")),
    ];
    ui.horizontal_wrapped(|ui| {
        for (sign, words) in signs {
            let (rect, _) = ui.allocate_exact_size(Vec2::splat(18.0), egui::Sense::hover());
            sign(ui.painter(), rect.center());
            ui.label(egui::RichText::new(words).color(MUTED));
            ui.add_space(8.0);
        }
    });
}

fn dot(painter: &egui::Painter, at: Pos2) {
    painter.circle_filled(at, DOT, LINE);
}

fn ring(painter: &egui::Painter, at: Pos2) {
    painter.circle_stroke(at, RING, Stroke::new(2.0, LINE));
}

/// The sign of what gave way.
pub(super) fn cross(painter: &egui::Painter, at: Pos2) {
    let arm = 0.8 * RING;
    for half in [Vec2::splat(arm), Vec2::new(arm, -arm)] {
        painter.line_segment([at - half, at + half], Stroke::new(2.5, LINE));
    }
}

/// Where a pull first had slipped by each whole number of [`DOTS_EVERY`], up to [`SLIP_MAX`].
fn slips(points: &[Point]) -> impl Iterator<Item = &Point> {
    let wanted = (1_u32..).map(|k| f64::from(k) * DOTS_EVERY).take_while(|slip| *slip < SLIP_MAX);
    wanted.filter_map(|slip| points.iter().find(|point| point.slip >= slip))
}

/// Round numbers from 0 up to `end`, four to eight of them.
#[must_use]
pub fn ticks(end: f64) -> Vec<f64> {
    let steps = [0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
    let step = steps.into_iter().find(|step| end / step <= 7.0).unwrap_or(100.0);
    (0_u32..).map(|k| f64::from(k) * step).take_while(|tick| *tick <= end).collect()
}

/// A round number without zeros that say nothing.
pub(super) fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
