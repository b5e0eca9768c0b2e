//! What is going on, and the buttons that stop it, slow it and take it over.

use bevy_egui::egui::{self, RichText};

use super::{Action, BAD, GOOD, MUTED, Model, Player, Speed};
use crate::input::bindings::{Act, Hand};

/// The caption and the buttons.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    if !model.refusal.is_empty() {
        ui.label(RichText::new(format!("✖ {}", model.refusal)).color(BAD).strong());
    }
    ui.vertical_centered(|ui| {
        ui.label(RichText::new(caption(model)).size(17.0).strong());
    });
    if !model.going_on.is_empty() {
        ui.label(RichText::new(format!("On until pressed again: {}", model.going_on)).color(GOOD));
    }
    let keys = &model.keys;
    ui.horizontal(|ui| {
        if model.score.is_some() {
            button(ui, &keys.with_key("Marks", Act::Marks), Action::ToggleDebrief, out);
            button(ui, &keys.with_key("Replay", Act::OpenReplay), Action::ReplayOpen(true), out);
            return;
        }
        if !model.busy.is_empty() {
            ui.spinner();
            return;
        }
        let pause = if model.paused { "▶ Play" } else { "⏸ Pause" };
        button(ui, &keys.with_key(pause, Act::Pause), Action::TogglePause, out);
        button(ui, &keys.with_key("⏭ Step", Act::Step), Action::Step, out);
        ui.separator();
        for speed in Speed::ALL {
            if ui.selectable_label(model.speed == speed, speed.name()).clicked() {
                out.push(Action::SetSpeed(speed));
            }
        }
        ui.separator();
        let take = if model.player == Player::Script { "Take over" } else { "Give back" };
        button(ui, &keys.with_key(take, Act::TakeOver), Action::TogglePlayer, out);
        if model.player != Player::Script {
            button(ui, &keys.with_key("Hand in", Act::Finish), Action::Finish, out);
        } else if model.can_begin_anew && !model.waits {
            button(ui, &keys.with_key("Begin yourself", Act::BeginAnew), Action::BeginAnew, out);
        }
    });
    if !model.notice.is_empty() {
        ui.label(RichText::new(&model.notice).color(MUTED));
    }
}

/// What is going on, in a line.
#[must_use]
pub fn caption(model: &Model) -> String {
    if model.score.is_some() {
        return "The attempt has been handed in".to_owned();
    }
    if !model.busy.is_empty() {
        return model.busy.clone();
    }
    let doing = match model.player {
        Player::Script if model.waits => "Your attempt waits where it was broken off: take over to go on".to_owned(),
        Player::Script if model.readout.phase.is_empty() => "The script plays".to_owned(),
        Player::Script => model.readout.phase.clone(),
        Player::Right => format!("{}: needle holder active, forceps parked", whose(model.keys.hand)),
        Player::Left => format!("{}: forceps active, needle holder parked", whose(model.keys.hand)),
    };
    if model.paused { format!("{doing} (paused)") } else { doing }
}

fn whose(hand: Hand) -> &'static str {
    match hand {
        Hand::Right => "Your hands",
        Hand::Left => "Your hands, left-handed",
    }
}

fn button(ui: &mut egui::Ui, text: &str, action: Action, out: &mut Vec<Action>) {
    if ui.button(text).clicked() {
        out.push(action);
    }
}
