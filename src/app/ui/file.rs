//! What is wrong with the file of the case on stage.

use bevy_egui::egui::{self, RichText};

use super::BAD;
use crate::app::words::Language;

/// Share of the screen that the list takes at most, each way: the field stays in sight.
const SHARE: egui::Vec2 = egui::vec2(0.45, 0.35);

/// What the panel's heading and its scroll bar take of the width [point].
const MARGIN: f32 = 40.0;

/// What the file is called, and all its problems as `scenario check` says them.
pub fn show(ui: &mut egui::Ui, name: &str, problems: &str) {
    let room = ui.ctx().content_rect().size() * SHARE;
    ui.set_max_width(room.x);
    let language = Language::of(ui);
    let title = RichText::new(language.tell("file-not-in-order", &[("name", name.to_owned())])).color(BAD).strong();
    egui::CollapsingHeader::new(title).id_salt("file").default_open(true).show(ui, |ui| {
        ui.label(language.say("file-last-one"));
        egui::ScrollArea::both().max_height(room.y).show(ui, |ui| {
            ui.set_max_width(room.x - MARGIN);
            problems.lines().for_each(|line| line_of(ui, line));
        });
    });
}

/// A line of a problem: one that was taken from the file keeps its columns, for a mark points at a place in it.
pub(super) fn line_of(ui: &mut egui::Ui, line: &str) {
    if line.starts_with(' ') {
        ui.add(egui::Label::new(RichText::new(line).monospace()).wrap_mode(egui::TextWrapMode::Extend));
    } else {
        ui.label(line);
    }
}
