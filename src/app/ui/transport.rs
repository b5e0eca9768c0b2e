//! What is going on, and the buttons that stop it, slow it and take it over.

use bevy_egui::egui::{self, RichText};

use super::{Action, BAD, GOOD, MUTED, Model, Player, Speed};
use crate::app::words::Language;
use crate::input::bindings::{Act, Hand};

/// The caption and the buttons.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    if !model.refusal.is_empty() {
        ui.label(RichText::new(format!("✖ {}", model.refusal)).color(BAD).strong());
    }
    ui.vertical_centered(|ui| {
        ui.label(RichText::new(caption(language, model)).size(17.0).strong());
    });
    if !model.going_on.is_empty() {
        let acts = language.tell("transport-going-on", &[("acts", model.going_on.clone())]);
        ui.label(RichText::new(acts).color(GOOD));
    }
    let with_key = |key: &str, act: Act| language.button(key, &model.keys, act);
    ui.horizontal(|ui| {
        if model.score.is_some() {
            button(ui, &with_key("button-marks", Act::Marks), Action::ToggleDebrief, out);
            button(ui, &with_key("button-replay", Act::OpenReplay), Action::ReplayOpen(true), out);
            return;
        }
        if !model.busy.is_empty() {
            ui.spinner();
            return;
        }
        let pause = if model.paused { "button-play" } else { "button-pause" };
        button(ui, &with_key(pause, Act::Pause), Action::TogglePause, out);
        button(ui, &with_key("transport-step", Act::Step), Action::Step, out);
        ui.separator();
        for speed in Speed::ALL {
            if ui.selectable_label(model.speed == speed, speed.name()).clicked() {
                out.push(Action::SetSpeed(speed));
            }
        }
        ui.separator();
        let take = if model.player == Player::Script { "transport-take-over" } else { "transport-give-back" };
        button(ui, &with_key(take, Act::TakeOver), Action::TogglePlayer, out);
        if model.player != Player::Script {
            button(ui, &with_key("transport-hand-in", Act::Finish), Action::Finish, out);
        } else if model.can_begin_anew && !model.waits {
            button(ui, &with_key("transport-begin-yourself", Act::BeginAnew), Action::BeginAnew, out);
        }
    });
    if !model.notice.is_empty() {
        ui.label(RichText::new(&model.notice).color(MUTED));
    }
}

/// What is going on, in a line.
#[must_use]
pub fn caption(language: Language, model: &Model) -> String {
    if model.score.is_some() {
        return language.say("transport-handed-in");
    }
    if !model.busy.is_empty() {
        return model.busy.clone();
    }
    let whose = || match model.keys.hand {
        Hand::Right => language.say("transport-your-hands"),
        Hand::Left => language.say("transport-your-left-hands"),
    };
    let doing = match model.player {
        Player::Script if model.waits => language.say("transport-waits"),
        Player::Script if model.readout.phase.is_empty() => language.say("transport-script-plays"),
        Player::Script => model.readout.phase.clone(),
        Player::Right => language.tell("transport-holder-active", &[("whose", whose())]),
        Player::Left => language.tell("transport-forceps-active", &[("whose", whose())]),
    };
    if model.paused { language.tell("transport-paused", &[("doing", doing)]) } else { doing }
}

fn button(ui: &mut egui::Ui, text: &str, action: Action, out: &mut Vec<Action>) {
    if ui.button(text).clicked() {
        out.push(action);
    }
}
