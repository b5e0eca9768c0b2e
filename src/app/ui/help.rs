//! The card of the keys.

use bevy_egui::egui::{self, RichText};

use super::{Action, MUTED, Model};

/// What you do, and what happens.
pub const KEYS: &[(&str, &str)] = &[
    ("T  B", "take over (or give back), begin yourself"),
    ("mouse", "slide the active tip over the table"),
    ("wheel", "raise or lower it (Shift: finely)"),
    ("Shift", "stand the plane up: forward is up"),
    ("left button", "close the jaws; twice: ratchet"),
    ("right drag", "roll and pitch the instrument"),
    ("Tab", "change the active hand"),
    ("C", "ring plane: circle the parked shaft"),
    ("Space + drag", "pull both hands apart"),
    ("W A S D, Q E", "move and roll the parked hand"),
    ("X", "cut at the active tip"),
    ("N", "have the needle set in the shut holder again"),
    ("K", "site check, by keys, before the first bite"),
    ("F", "finish and hand in"),
    ("P  .  -  =", "pause, step, slower, faster"),
    ("M  R  B", "marks, replay, new attempt, once it is over"),
    ("1 2 3 4", "operator, left, right, top view"),
    ("middle drag", "look around (Ctrl + wheel: nearer)"),
    ("H", "show or hide this card"),
];

/// The card, or the button that brings it back.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    // The tutorial says what there is to know.
    if !model.show_help || model.lesson.is_some() {
        if ui.button("Keys (H)").clicked() {
            out.push(Action::ToggleHelp);
        }
        return;
    }
    ui.label(RichText::new("Keys").strong().size(16.0));
    egui::Grid::new("keys").num_columns(2).spacing([14.0, 3.0]).show(ui, |ui| {
        for (keys, effect) in KEYS {
            ui.label(RichText::new(*keys).monospace().strong());
            ui.label(RichText::new(*effect).color(MUTED));
            ui.end_row();
        }
    });
    if ui.button("Hide (H)").clicked() {
        out.push(Action::ToggleHelp);
    }
}
