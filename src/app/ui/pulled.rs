//! The knot pulled open: how it looks, and the force it takes.

use std::sync::Arc;

use bevy_egui::egui::{self, Align2, Color32, FontId, Rect, RichText, Sense, Stroke, Vec2};

use super::curve::{self, Curve};
use super::scrub::{self, Scrub};
use super::strands::{self, Side};
use super::{Action, MUTED};
use crate::pull::{End, Frame, Place, Point, Pull, SLIP_MAX};
use crate::quantity::MN_PER_N;

/// Least and greatest height of the two pictures [point].
const HEIGHT: [f32; 2] = [120.0, 260.0];

/// Height of what stands above and below them [point].
const AROUND: f32 = 370.0;

/// How far a pull has come.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum PullState {
    /// It is being carried out.
    #[default]
    Running,
    /// It is over.
    Done(Arc<Pull>),
    /// The thread's limbs do not press on each other: there is no knot to pull.
    NoKnot,
    /// It could not be carried out soundly, for this reason.
    Unsound(String),
    /// It cannot be carried out, for this reason.
    Impossible(String),
}

/// A knot's pull as it is shown.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PullView {
    /// Which stitch it is, from 0.
    pub stitch: usize,
    /// How many there are.
    pub count: usize,
    /// How far it has come.
    pub state: PullState,
    /// Frames so far.
    pub frames: Arc<Vec<Frame>>,
    /// Radius of the thread [mm].
    pub radius: f64,
    /// The frame that is shown.
    pub at: u32,
    /// Whether the frames play.
    pub playing: bool,
    /// Whether the knot is known by its shape alone.
    pub from_shape: bool,
}

/// What to think of a pull of a knot that is known by its shape alone.
const FROM_SHAPE: &str =
    "Pulled from its shape alone: how hard it was drawn tight is not known, and a knot that slips does so earlier.";

impl PullView {
    /// The frame that is shown.
    #[must_use]
    pub fn frame(&self) -> Option<&Frame> {
        self.frames.get(self.at as usize).or_else(|| self.frames.last())
    }
}

/// The knot, the curve, and how to go through them.
pub fn show(ui: &mut egui::Ui, view: &PullView, out: &mut Vec<Action>) {
    if view.count > 1 {
        choose(ui, view, out);
    }
    ui.label(RichText::new(result(view)).strong().size(16.0));
    if view.frames.is_empty() {
        return;
    }
    let points: Vec<Point> = match &view.state {
        PullState::Done(pull) => pull.curve.clone(),
        _ => view.frames.iter().filter_map(|frame| frame.point).collect(),
    };
    let pull = if let PullState::Done(pull) = &view.state { Some(&**pull) } else { None };
    let width = ui.available_width();
    let height = (ui.ctx().content_rect().height() - AROUND).clamp(HEIGHT[0], HEIGHT[1]);
    ui.horizontal(|ui| {
        let half = Vec2::new(0.5 * (width - ui.spacing().item_spacing.x), height);
        let (rect, _) = ui.allocate_exact_size(half, Sense::hover());
        paint_knot(ui, view, rect);
        let (rect, _) = ui.allocate_exact_size(half, Sense::hover());
        let now = view.frame().and_then(|frame| frame.point);
        curve::paint(ui.painter(), &Curve { points: &points, pull, now }, rect);
    });
    ui.label(RichText::new(moment(view)).monospace());
    controls(ui, view, out);
    curve::legend(ui);
    if view.from_shape {
        ui.label(RichText::new(FROM_SHAPE).color(MUTED));
    }
}

fn choose(ui: &mut egui::Ui, view: &PullView, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        for stitch in 0..view.count {
            if ui.selectable_label(stitch == view.stitch, format!("Stitch {}", stitch + 1)).clicked() {
                out.push(Action::PullStitch(stitch));
            }
        }
    });
}

fn controls(ui: &mut egui::Ui, view: &PullView, out: &mut Vec<Action>) {
    let count = u32::try_from(view.frames.len()).unwrap_or(u32::MAX);
    ui.horizontal(|ui| {
        if ui.button(if view.playing { "⏸ Pause" } else { "▶ Play" }).clicked() {
            out.push(Action::PullPlay);
        }
        let last = count.saturating_sub(1);
        let bar = Scrub { name: "The pull", end: last, have: last, at: view.at.min(last), marks: &[], key_step: 1 };
        if let Some(frame) = scrub::show(ui, &bar) {
            out.push(Action::PullTo(frame));
        }
    });
}

fn paint_knot(ui: &egui::Ui, view: &PullView, rect: Rect) {
    let painter = ui.painter().with_clip_rect(rect.intersect(ui.clip_rect()));
    painter.rect_filled(rect, 6.0, Color32::from_rgb(28, 36, 40));
    let side = view.frames.first().and_then(|frame| Side::of(frame, view.radius));
    let Some((frame, side)) = view.frame().zip(side) else { return };
    painter.extend(strands::knot(frame, side, view.radius, rect));
    let font = FontId::proportional(14.0);
    let say = |at, align, text: &str| painter.text(at, align, text, font.clone(), MUTED);
    let inner = rect.shrink(8.0);
    say(inner.left_top(), Align2::LEFT_TOP, "limb held");
    say(inner.right_top(), Align2::RIGHT_TOP, "limb drawn ➡");
    let bar = strands::millimetre(view.radius, rect);
    let end = inner.left_bottom() + Vec2::new(bar, -2.0);
    painter.line_segment([inner.left_bottom() - Vec2::new(0.0, 2.0), end], Stroke::new(2.0, MUTED));
    say(end + Vec2::new(6.0, 2.0), Align2::LEFT_BOTTOM, "1 mm");
}

/// What came of it, or how far it is, in a line.
#[must_use]
pub fn result(view: &PullView) -> String {
    match &view.state {
        PullState::Running => match view.frames.iter().rev().find_map(|frame| frame.point) {
            None => "The knot is pulled: the slack is drawn out …".to_owned(),
            Some(point) => format!("The knot is pulled: {:.2} N so far …", point.force / MN_PER_N),
        },
        PullState::Done(pull) => outcome(pull),
        PullState::NoKnot => "There is no knot to pull: the thread's limbs do not press on each other".to_owned(),
        PullState::Unsound(why) => format!("The pull could not be carried out soundly: {why}"),
        PullState::Impossible(why) => why.clone(),
    }
}

/// How a pull ended, in a line.
#[must_use]
pub fn outcome(pull: &Pull) -> String {
    let held = pull.holding_force / MN_PER_N;
    match pull.end {
        End::BrokeTying => "The thread broke while the knot was drawn tight".to_owned(),
        End::Broke(Place::Knot) => format!("The knot held {held:.1} N, then the thread broke at the knot"),
        End::Broke(Place::Limb) => format!("The knot held {held:.1} N, then the thread broke away from the knot"),
        End::Slipped => format!("The knot held {held:.1} N, then slipped by more than {SLIP_MAX} mm"),
        End::Opened => format!("The knot held {held:.1} N, then slipped open"),
    }
}

/// The numbers of the frame that is shown.
#[must_use]
pub fn moment(view: &PullView) -> String {
    let Some(point) = view.frame().and_then(|frame| frame.point) else {
        return "slack".to_owned();
    };
    let newton = point.force / MN_PER_N;
    format!("{newton:5.2} N at {:4.2} mm   slipped {:4.2} mm", point.extension, point.slip)
}
