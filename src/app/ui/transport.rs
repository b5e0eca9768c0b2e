//! What is going on, and the buttons that stop it, slow it and take it over.

use bevy_egui::egui::{self, RichText};

use super::{Action, BAD, MUTED, Model, Player, Speed};

/// The caption and the buttons.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    if !model.refusal.is_empty() {
        ui.label(RichText::new(format!("✖ {}", model.refusal)).color(BAD).strong());
    }
    ui.vertical_centered(|ui| {
        ui.label(RichText::new(caption(model)).size(17.0).strong());
    });
    ui.horizontal(|ui| {
        if model.score.is_some() {
            button(ui, "Marks (M)", Action::ToggleDebrief, out);
            button(ui, "Replay (R)", Action::ReplayOpen(true), out);
            return;
        }
        if !model.busy.is_empty() {
            ui.spinner();
            return;
        }
        let pause = if model.paused { "▶ Play (P)" } else { "⏸ Pause (P)" };
        button(ui, pause, Action::TogglePause, out);
        button(ui, "⏭ Step (.)", Action::Step, out);
        ui.separator();
        for speed in Speed::ALL {
            if ui.selectable_label(model.speed == speed, speed.name()).clicked() {
                out.push(Action::SetSpeed(speed));
            }
        }
        ui.separator();
        let take = if model.player == Player::Script { "Take over (T)" } else { "Give back (T)" };
        button(ui, take, Action::TogglePlayer, out);
        if model.player != Player::Script {
            button(ui, "Hand in (F)", Action::Finish, out);
        } else if model.can_begin_anew && !model.waits {
            button(ui, "Begin yourself (B)", Action::BeginAnew, out);
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
        Player::Right => "Your hands: needle holder active, forceps parked".to_owned(),
        Player::Left => "Your hands: forceps active, needle holder parked".to_owned(),
    };
    if model.paused { format!("{doing} (paused)") } else { doing }
}

fn button(ui: &mut egui::Ui, text: &str, action: Action, out: &mut Vec<Action>) {
    if ui.button(text).clicked() {
        out.push(action);
    }
}
