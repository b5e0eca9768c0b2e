//! The knot pulled open: how it looks, and the force it takes.

use std::sync::Arc;

use bevy_egui::egui::{self, Align2, Color32, FontId, Rect, RichText, Sense, Stroke, Vec2};

use super::curve::{self, Curve};
use super::scrub::{self, Scrub};
use super::strands::{self, Side};
use super::{Action, MUTED};
use crate::app::words::{Language, Text};
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
    /// It was broken off.
    BrokenOff,
    /// It cannot be carried out, for this reason.
    Impossible(Text),
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

impl PullView {
    /// The frame that is shown.
    #[must_use]
    pub fn frame(&self) -> Option<&Frame> {
        self.frames.get(self.at as usize).or_else(|| self.frames.last())
    }
}

/// The knot, the curve, and how to go through them.
pub fn show(ui: &mut egui::Ui, view: &PullView, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    if view.count > 1 {
        choose(ui, view, out);
    }
    ui.label(RichText::new(result(language, view)).strong().size(16.0));
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
        curve::paint(ui, &Curve { points: &points, pull, now }, rect);
    });
    ui.label(RichText::new(moment(language, view)).monospace());
    controls(ui, view, out);
    curve::legend(ui);
    if view.from_shape {
        ui.label(RichText::new(language.say("pull-from-shape")).color(MUTED));
    }
}

fn choose(ui: &mut egui::Ui, view: &PullView, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        for stitch in 0..view.count {
            let words = Language::of(ui).tell("pull-stitch", &[("number", (stitch + 1).to_string())]);
            if ui.selectable_label(stitch == view.stitch, words).clicked() {
                out.push(Action::PullStitch(stitch));
            }
        }
    });
}

fn controls(ui: &mut egui::Ui, view: &PullView, out: &mut Vec<Action>) {
    let count = u32::try_from(view.frames.len()).unwrap_or(u32::MAX);
    ui.horizontal(|ui| {
        let language = Language::of(ui);
        if ui.button(language.say(if view.playing { "button-pause" } else { "button-play" })).clicked() {
            out.push(Action::PullPlay);
        }
        let last = count.saturating_sub(1);
        let name = &language.say("pull-bar");
        let bar = Scrub { name, end: last, have: last, at: view.at.min(last), marks: &[], key_step: 1 };
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
    let language = Language::of(ui);
    let say = |at, align, text: String| painter.text(at, align, text, font.clone(), MUTED);
    let inner = rect.shrink(8.0);
    say(inner.left_top(), Align2::LEFT_TOP, language.say("pull-held"));
    say(inner.right_top(), Align2::RIGHT_TOP, language.say("pull-drawn"));
    let bar = strands::millimetre(view.radius, rect);
    let end = inner.left_bottom() + Vec2::new(bar, -2.0);
    painter.line_segment([inner.left_bottom() - Vec2::new(0.0, 2.0), end], Stroke::new(2.0, MUTED));
    say(end + Vec2::new(6.0, 2.0), Align2::LEFT_BOTTOM, "1 mm".to_owned());
}

/// What came of it, or how far it is, in a line.
#[must_use]
pub fn result(language: Language, view: &PullView) -> String {
    match &view.state {
        PullState::Running => match view.frames.iter().rev().find_map(|frame| frame.point) {
            None => language.say("pull-slack-out"),
            Some(point) => language.tell("pull-so-far", &[("newton", language.number(point.force / MN_PER_N, 2))]),
        },
        PullState::Done(pull) => outcome(language, pull),
        PullState::NoKnot => language.say("pull-no-knot"),
        PullState::Unsound(why) => language.tell("pull-unsound", &[("why", why.clone())]),
        PullState::BrokenOff => language.say("pull-broken-off"),
        PullState::Impossible(why) => language.word(why),
    }
}

/// How a pull ended, in a line.
#[must_use]
pub fn outcome(language: Language, pull: &Pull) -> String {
    let key = match pull.end {
        End::BrokeTying => "pull-broke-tying",
        End::Broke(Place::Knot) => "pull-broke-at-knot",
        End::Broke(Place::Limb) => "pull-broke-at-limb",
        End::Slipped => "pull-slipped",
        End::Opened => "pull-opened",
    };
    let held = language.number(pull.holding_force / MN_PER_N, 1);
    language.tell(key, &[("newton", held), ("mm", language.number(SLIP_MAX, 1))])
}

/// The numbers of the frame that is shown.
#[must_use]
pub fn moment(language: Language, view: &PullView) -> String {
    let Some(point) = view.frame().and_then(|frame| frame.point) else {
        return language.say("pull-slack");
    };
    // As wide with one digit before the point as with two, so that the line does not jump.
    let newton = format!("{:>5}", language.number(point.force / MN_PER_N, 2));
    let [extension, slip] = [point.extension, point.slip].map(|mm| language.number(mm, 2));
    language.tell("pull-moment", &[("newton", newton), ("extension", extension), ("slip", slip)])
}
