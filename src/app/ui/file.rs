//! What is wrong with the file of the case on stage.

use bevy_egui::egui::{self, RichText};

use super::BAD;

/// Share of the screen that the list takes at most, each way: the field stays in sight.
const SHARE: egui::Vec2 = egui::vec2(0.45, 0.35);

/// What the file is called, and all its problems as `scenario check` says them.
pub fn show(ui: &mut egui::Ui, name: &str, problems: &str) {
    let room = ui.ctx().content_rect().size() * SHARE;
    ui.set_max_width(room.x);
    let title = RichText::new(format!("✖ {name} is not in order")).color(BAD).strong();
    egui::CollapsingHeader::new(title).id_salt("file").default_open(true).show(ui, |ui| {
        ui.label("The case on stage is the last one that was. It follows as soon as the file is in order again.");
        egui::ScrollArea::both().max_height(room.y).show(ui, |ui| {
            // Its marks point at places of the line above them.
            let text = RichText::new(problems).monospace();
            ui.add(egui::Label::new(text).wrap_mode(egui::TextWrapMode::Extend).selectable(true));
        });
    });
}
