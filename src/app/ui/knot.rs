//! A knot on the bench: what was read of it, and its pull.

use bevy_egui::egui::{self, RichText};

use super::{Action, MUTED, Model, pulled, readout};
use crate::app::words::Language;
use crate::report::{ReadStitch, stitches_text};

/// Width of what was read [point].
const WIDTH: f32 = 290.0;

/// What was read of a knot, as it is shown.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct KnotView {
    /// Lines of what was read: notation, form, each throw, and doubts.
    pub lines: Vec<String>,
}

impl KnotView {
    /// What was read of a stitch.
    #[must_use]
    pub fn of(stitch: &ReadStitch) -> KnotView {
        let text = stitches_text(std::slice::from_ref(stitch));
        // What follows is for who checks the reading: `read` prints it.
        let told = text.lines().map(str::trim).take_while(|line| !line.starts_with("knot at"));
        KnotView { lines: told.map(str::to_owned).collect() }
    }
}

/// The reading, with the crossing diagram.
pub fn show(ui: &mut egui::Ui, model: &Model, knot: &KnotView) {
    let language = Language::of(ui);
    ui.set_max_width(WIDTH);
    ui.label(RichText::new(&model.title).strong().size(16.0));
    for (number, line) in knot.lines.iter().enumerate() {
        let words = RichText::new(line);
        ui.label(if number == 0 { words.strong() } else { words.color(MUTED) });
    }
    if !model.readout.half_knots.is_empty() {
        readout::diagram(ui, &model.readout.half_knots);
    }
    ui.label(RichText::new(language.tell("knot-views", &language.acts(&model.keys))).color(MUTED));
    if !model.notice.is_empty() {
        ui.label(RichText::new(&model.notice).color(MUTED));
    }
}

/// The pull, beside the knot.
pub fn pull(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    ui.set_width(620.0_f32.min(ui.ctx().content_rect().width() - WIDTH - 100.0));
    match &model.pull {
        Some(pull) => pulled::show(ui, pull, out),
        None => drop(ui.label(RichText::new(Language::of(ui).say("knot-being-laid")).color(MUTED))),
    }
}
