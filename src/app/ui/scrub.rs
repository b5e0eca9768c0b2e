//! A bar to go to any moment: what there is so far, where one is, and moments worth looking at.

use bevy_egui::egui::{self, Color32, CornerRadius, Key, Pos2, Rect, Sense, Stroke, Vec2, WidgetInfo};

use super::BAD;

/// Height of the bar with room for the handle and the marks [point].
const HEIGHT: f32 = 22.0;
/// Height of the track [point].
const TRACK: f32 = 6.0;
/// Width of the handle [point].
const HANDLE: f32 = 8.0;

/// A row of moments, numbered from 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scrub<'a> {
    /// What it goes through, for who cannot see it.
    pub name: &'a str,
    /// The last moment there will be.
    pub end: u32,
    /// The last moment there is so far.
    pub have: u32,
    /// The moment that is shown.
    pub at: u32,
    /// Moments worth looking at.
    pub marks: &'a [u32],
    /// Moments that an arrow key goes.
    pub key_step: u32,
}

/// Draws the bar as wide as there is room; gives the moment that was asked for by pointer or arrow keys.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the bar first")]
pub fn show(ui: &mut egui::Ui, bar: &Scrub) -> Option<u32> {
    let size = Vec2::new(ui.available_width(), HEIGHT);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::slider(true, f64::from(bar.at), bar.name));
    let end = bar.end.max(1) as f32;
    let inner = rect.shrink2(Vec2::new(0.5 * HANDLE, 0.0));
    let x = |moment: u32| inner.left() + inner.width() * (moment as f32 / end).min(1.0);
    let mut wanted = None;
    if let Some(pointer) = response.interact_pointer_pos().filter(|_| response.dragged() || response.clicked()) {
        let share = ((pointer.x - inner.left()) / inner.width()).clamp(0.0, 1.0);
        wanted = Some((share * end).round() as u32);
    }
    if response.clicked() {
        response.request_focus();
    }
    if response.has_focus() {
        wanted = wanted.or_else(|| by_key(ui, bar));
    }
    paint(ui, rect, &x, bar, response.has_focus());
    wanted.map(|moment| moment.min(bar.have)).filter(|moment| *moment != bar.at)
}

fn by_key(ui: &egui::Ui, bar: &Scrub) -> Option<u32> {
    let pressed = |key| ui.input(|input| input.key_pressed(key));
    if pressed(Key::ArrowLeft) {
        return Some(bar.at.saturating_sub(bar.key_step));
    }
    if pressed(Key::ArrowRight) {
        return Some(bar.at.saturating_add(bar.key_step));
    }
    None
}

fn paint(ui: &egui::Ui, rect: Rect, x: &dyn Fn(u32) -> f32, bar: &Scrub, focused: bool) {
    let middle = rect.center().y;
    let track = |from: f32, to: f32| {
        Rect::from_min_max(Pos2::new(from, middle - 0.5 * TRACK), Pos2::new(to, middle + 0.5 * TRACK))
    };
    let painter = ui.painter();
    painter.rect_filled(track(rect.left(), rect.right()), 3.0, Color32::from_gray(52));
    painter.rect_filled(track(rect.left(), x(bar.have)), 3.0, Color32::from_gray(96));
    painter.rect_filled(track(rect.left(), x(bar.at)), 3.0, Color32::from_rgb(86, 180, 233));
    for mark in bar.marks.iter().filter(|mark| **mark <= bar.end) {
        // A notch from above to below, told from the track without colour.
        let at = x(*mark);
        painter.line_segment([Pos2::new(at, rect.top()), Pos2::new(at, rect.bottom())], Stroke::new(2.0, BAD));
    }
    let handle = Rect::from_center_size(Pos2::new(x(bar.at), middle), Vec2::new(HANDLE, HEIGHT - 4.0));
    painter.rect_filled(handle, 3.0, Color32::from_gray(240));
    if focused {
        let ring = Stroke::new(2.0, Color32::from_rgb(86, 180, 233));
        painter.rect_stroke(rect.expand(2.0), CornerRadius::same(4), ring, egui::StrokeKind::Outside);
    }
}
