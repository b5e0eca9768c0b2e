//! The card of the keys: what is bound now, whatever that is.

use bevy_egui::egui::{self, RichText};

use super::{Action, MUTED, Model};
use crate::app::words::Language;
use crate::input::bindings::{Act, Hand};

/// What you do, and what happens: the keys of the texts.
pub const KEYS: &[(&str, &str)] = &[
    ("help-take-over", "help-take-over-does"),
    ("help-mouse", "help-mouse-does"),
    ("help-wheel", "help-wheel-does"),
    ("help-stand", "help-stand-does"),
    ("help-close", "help-close-does"),
    ("help-ratchet", "help-ratchet-does"),
    ("help-ease", "help-ease-does"),
    ("help-turn", "help-turn-does"),
    ("help-rest", "help-rest-does"),
    ("help-switch", "help-switch-does"),
    ("help-ring", "help-ring-does"),
    ("help-both", "help-both-does"),
    ("help-parked", "help-parked-does"),
    ("help-roll", "help-roll-does"),
    ("help-cut", "help-cut-does"),
    ("help-arm", "help-arm-does"),
    ("help-site-check", "help-site-check-does"),
    ("help-finish", "help-finish-does"),
    ("help-time", "help-time-does"),
    ("help-over", "help-over-does"),
    ("help-views", "help-views-does"),
    ("help-side", "help-side-does"),
    ("help-ghost", "help-ghost-does"),
    ("help-look", "help-look-does"),
    ("help-card", "help-card-does"),
];

/// The same on a gamepad: the key of what is moved there, or the acts that have a button there, and the key of what happens.
pub const PAD: &[(Option<&str>, &[Act], &str)] = &[
    (Some("pad-sticks"), &[], "pad-sticks-does"),
    (Some("pad-triggers"), &[], "pad-triggers-does"),
    (None, &[Act::LeftStickUp, Act::RightStickUp], "pad-up-does"),
    (None, &[Act::LeftStickTurn, Act::RightStickTurn], "pad-turn-does"),
    (None, &[Act::Ring], "pad-ring-does"),
    (None, &[Act::Ratchet], "pad-ratchet-does"),
    (None, &[Act::Switch], "pad-switch-does"),
    (None, &[Act::Cut], "pad-cut-does"),
    (None, &[Act::Arm], "pad-arm-does"),
    (None, &[Act::TakeOver], "pad-take-over-does"),
    (None, &[Act::Pause], "pad-pause-does"),
];

/// Height of the screen that the card leaves to others [point].
const LEFT_FREE: f32 = 200.0;

/// The card, or the button that brings it back.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    let (language, keys) = (Language::of(ui), &model.keys);
    // The tutorial says what there is to know.
    if !model.show_help || model.lesson.is_some() {
        buttons(ui, model, "help-keys", out);
        return;
    }
    ui.label(RichText::new(language.say("help-title")).strong().size(16.0));
    if keys.hand == Hand::Left {
        ui.label(RichText::new(language.say("help-left-handed")).color(MUTED));
    }
    let acts = language.acts(keys);
    let height = (ui.ctx().content_rect().height() - LEFT_FREE).max(100.0);
    egui::ScrollArea::vertical().max_height(height).min_scrolled_height(height).show(ui, |ui| {
        egui::Grid::new("keys").num_columns(2).spacing([14.0, 3.0]).show(ui, |ui| {
            for (pressed, effect) in KEYS {
                line(ui, &language.tell(pressed, &acts), &language.tell(effect, &acts));
            }
            for (pressed, acts, effect) in PAD.iter().filter(|_| model.gamepad) {
                let buttons = acts.iter().map(|act| language.pressed_on_pad(keys, *act)).collect::<Vec<_>>().join(", ");
                let pressed = pressed.map_or(buttons, |key| language.say(key));
                if !pressed.is_empty() {
                    line(ui, &pressed, &language.say(effect));
                }
            }
        });
    });
    buttons(ui, model, "help-hide", out);
}

/// The button that shows or hides the card, and the languages to choose from.
fn buttons(ui: &mut egui::Ui, model: &Model, key: &str, out: &mut Vec<Action>) {
    let spoken = Language::of(ui);
    ui.horizontal(|ui| {
        if ui.button(spoken.button(key, &model.keys, Act::Help)).clicked() {
            out.push(Action::ToggleHelp);
        }
        ui.separator();
        for language in Language::ALL {
            let choice = ui.selectable_label(language == spoken, language.name());
            if choice.on_hover_text(spoken.say("help-language")).clicked() {
                out.push(Action::Speak(language));
            }
        }
    });
}

fn line(ui: &mut egui::Ui, pressed: &str, effect: &str) {
    ui.label(RichText::new(pressed).monospace().strong());
    ui.label(RichText::new(effect).color(MUTED));
    ui.end_row();
}
