//! The card of the tutorial's task.

use bevy_egui::egui::{self, RichText, Sense, Stroke, Vec2};

use super::{Action, GOOD, MUTED, Model, Player};
use crate::app::tutorial::TASKS;
use crate::input::bindings::Act;

/// The task to do now, from 0, or that all are done; and the way out.
pub fn show(ui: &mut egui::Ui, model: &Model, task: Option<usize>, out: &mut Vec<Action>) {
    ui.set_max_width(430.0_f32.min(ui.ctx().content_rect().width() - 60.0));
    progress(ui, task);
    match task {
        None => ui.label(RichText::new("✔ That is all your hands need to know.").color(GOOD).strong()),
        Some(task) if model.player == Player::Script => {
            ui.label(RichText::new("Take over from the script").strong().size(17.0));
            ui.label(model.keys.worded("Press {take_over}. The needle holder then follows the mouse."));
            ui.label(RichText::new(format!("Then: {}", TASKS[task].what)).color(MUTED))
        }
        Some(task) => {
            ui.label(RichText::new(TASKS[task].what).strong().size(17.0));
            ui.label(model.keys.worded(TASKS[task].how))
        }
    };
    let words = if task.is_some() { "Skip the tutorial" } else { "Close" };
    if ui.button(model.keys.with_key(words, Act::EndTutorial)).clicked() {
        out.push(Action::EndTutorial);
    }
}

/// A dot for each task, filled once it is done, and the number of this one.
fn progress(ui: &mut egui::Ui, task: Option<usize>) {
    let count = TASKS.len();
    ui.horizontal(|ui| {
        for number in 0..count {
            let (rect, _) = ui.allocate_exact_size(Vec2::splat(12.0), Sense::hover());
            if number < task.unwrap_or(count) {
                ui.painter().circle_filled(rect.center(), 5.0, GOOD);
            } else {
                ui.painter().circle_stroke(rect.center(), 4.5, Stroke::new(1.5, MUTED));
            }
        }
        if let Some(task) = task {
            ui.label(RichText::new(format!("task {} of {count}", task + 1)).color(MUTED));
        }
    });
}
