//! An attempt that was broken off: to go on with it, or not.

use bevy_egui::egui::{self, RichText};

use super::{Action, MUTED, Model};
use crate::app::words::Language;
use crate::input::bindings::Act;

/// What was found, and the two ways on.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    ui.set_max_width(460.0_f32.min(ui.ctx().content_rect().width() - 60.0));
    ui.label(RichText::new(&model.title).strong().size(17.0));
    ui.label(&model.offer);
    ui.label(RichText::new(language.say("offer-declined")).color(MUTED));
    ui.add_space(6.0);
    ui.horizontal_wrapped(|ui| {
        if ui.button(language.button("offer-go-on", &model.keys, Act::Accept)).clicked() {
            out.push(Action::Answer(true));
        }
        if ui.button(language.button("offer-begin-anew", &model.keys, Act::Decline)).clicked() {
            out.push(Action::Answer(false));
        }
    });
}
