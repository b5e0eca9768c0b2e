//! An attempt that was broken off: to go on with it, or not.

use bevy_egui::egui::{self, RichText};

use super::{Action, MUTED, Model};
use crate::input::bindings::Act;

/// What was found, and the two ways on.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    ui.set_max_width(460.0_f32.min(ui.ctx().content_rect().width() - 60.0));
    ui.label(RichText::new(&model.title).strong().size(17.0));
    ui.label(&model.offer);
    ui.label(RichText::new("Declined, it stays in the folder of attempts, to be looked at or graded.").color(MUTED));
    ui.add_space(6.0);
    ui.horizontal_wrapped(|ui| {
        if ui.button(model.keys.with_key("Go on with it", Act::Accept)).clicked() {
            out.push(Action::Answer(true));
        }
        if ui.button(model.keys.with_key("Begin anew", Act::Decline)).clicked() {
            out.push(Action::Answer(false));
        }
    });
}
