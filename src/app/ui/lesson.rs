//! The card of the tutorial's task.

use bevy_egui::egui::{self, RichText, Sense, Stroke, Vec2};

use super::{Action, GOOD, MUTED, Model, Player};
use crate::app::tutorial::TASKS;
use crate::app::words::Language;
use crate::input::bindings::Act;

/// The task to do now, from 0, or that all are done; and the way out.
pub fn show(ui: &mut egui::Ui, model: &Model, task: Option<usize>, out: &mut Vec<Action>) {
    ui.set_max_width(430.0_f32.min(ui.ctx().content_rect().width() - 60.0));
    let (language, keys) = (Language::of(ui), &model.keys);
    progress(ui, task);
    match task {
        None => ui.label(RichText::new(language.say("lesson-done")).color(GOOD).strong()),
        Some(task) if model.player == Player::Script => {
            ui.label(RichText::new(language.say("lesson-take-over")).strong().size(17.0));
            ui.label(language.tell("lesson-take-over-how", &language.acts(keys)));
            let then = language.tell("lesson-then", &[("task", language.say(TASKS[task].what))]);
            ui.label(RichText::new(then).color(MUTED))
        }
        Some(task) => {
            ui.label(RichText::new(language.say(TASKS[task].what)).strong().size(17.0));
            ui.label(language.tell(TASKS[task].how, &language.acts(keys)))
        }
    };
    let words = if task.is_some() { "lesson-skip" } else { "button-close" };
    if ui.button(language.button(words, keys, Act::EndTutorial)).clicked() {
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
            let number = [("number", (task + 1).to_string()), ("count", count.to_string())];
            ui.label(RichText::new(Language::of(ui).tell("lesson-number", &number)).color(MUTED));
        }
    });
}
