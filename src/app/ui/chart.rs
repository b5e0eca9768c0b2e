//! A number over the time of an attempt, with what happened in it; a click goes to the moment.

use bevy_egui::egui::{self, Align2, Color32, FontId, Pos2, Rect, Sense, Shape, Stroke, Vec2, WidgetInfo, WidgetType};

use super::curve::{number, ticks};
use super::{BAD, MUTED};
use crate::app::words::Language;
use crate::quantity::{TICKS_PER_SECOND, Tick};
use crate::report::peak;

/// Room for the numbers left of the plot and below it, and for title and events above it [point].
const LEFT: f32 = 44.0;
const BOTTOM: f32 = 20.0;
const TOP: f32 = 36.0;
/// Events nearer than this would write their numbers over each other [point].
const APART: f32 = 16.0;
const LINE: Color32 = Color32::from_rgb(86, 180, 233);

/// What is drawn over time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chart<'a> {
    /// What it is of, with its unit.
    pub title: &'a str,
    /// Time [s] and value, in order of time.
    pub points: &'a [(f64, f64)],
    /// Times [s] of the events that are numbered 1, 2, ... in order of time.
    pub events: &'a [f64],
    /// End of the attempt [s].
    pub end: f64,
}

/// Draws it; the moment that was clicked.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "for the eye; clamped to the attempt")]
pub fn show(ui: &mut egui::Ui, chart: &Chart, size: Vec2) -> Option<Tick> {
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let language = Language::of(ui);
    let peak = peak(chart.points)?;
    let largest = [("value", language.number(peak.1, 2)), ("seconds", language.number(peak.0, 1))];
    let largest = language.tell("measured-largest", &largest);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, format!("{}: {largest}", chart.title)));
    let plot = Rect::from_min_max(rect.min + Vec2::new(LEFT, TOP), rect.max - Vec2::new(12.0, BOTTOM));
    let end = chart.end.max(f64::EPSILON);
    let top = 1.1 * peak.1.max(0.01);
    let at = |(time, value): (f64, f64)| {
        let share = Vec2::new((time / end) as f32, (value / top) as f32);
        Pos2::new(plot.left() + share.x * plot.width(), plot.bottom() - share.y * plot.height())
    };
    let (painter, font) = (ui.painter(), FontId::proportional(13.0));
    let say = |place: Pos2, align: Align2, text: String| painter.text(place, align, text, font.clone(), MUTED);
    let thin = Stroke::new(1.0, Color32::from_gray(74));
    for value in ticks(top).into_iter().step_by(2) {
        let left = at((0.0, value));
        painter.line_segment([left, Pos2::new(plot.right(), left.y)], thin);
        say(left - Vec2::new(6.0, 0.0), Align2::RIGHT_CENTER, number(value));
    }
    for time in ticks(chart.end) {
        let foot = at((time, 0.0));
        painter.line_segment([foot, foot + Vec2::new(0.0, 4.0)], thin);
        say(foot + Vec2::new(0.0, 5.0), Align2::CENTER_TOP, number(time));
    }
    say(rect.left_top(), Align2::LEFT_TOP, chart.title.to_owned());
    say(rect.right_top() - Vec2::new(12.0, 0.0), Align2::RIGHT_TOP, largest);
    let mut last = f32::NEG_INFINITY;
    for (index, &time) in chart.events.iter().enumerate() {
        let foot = at((time, 0.0));
        painter.extend(Shape::dashed_line(&[Pos2::new(foot.x, plot.top()), foot], thin, 3.0, 3.0));
        // Of events side by side only the first has its number: the list below has them all.
        if foot.x - last >= APART {
            say(Pos2::new(foot.x, plot.top() - 1.0), Align2::CENTER_BOTTOM, (index + 1).to_string());
            last = foot.x;
        }
    }
    let line: Vec<Pos2> = chart.points.iter().map(|&point| at(point)).collect();
    painter.add(Shape::line(line, Stroke::new(2.0, LINE)));
    painter.circle_stroke(at(peak), 4.0, Stroke::new(2.0, BAD));
    let pointer = response.interact_pointer_pos().filter(|_| response.clicked())?;
    let share = f64::from((pointer.x - plot.left()) / plot.width()).clamp(0.0, 1.0);
    Some(Tick((share * chart.end * f64::from(TICKS_PER_SECOND)).round() as u32))
}
