//! What the attempt is worth, and why.

use bevy_egui::egui::{self, Color32, ProgressBar, RichText};

use super::{Action, BAD, GOOD, MUTED, Model};
use crate::report::CAUTIONS;
use crate::score::{CriterionMark, Score};

/// The marks; nothing while there are none.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    let Some(score) = &model.score else { return };
    ui.set_width(640.0_f32.min(ui.ctx().content_rect().width() - 60.0));
    verdict(ui, score);
    let height = (ui.ctx().content_rect().height() - 260.0).max(160.0);
    egui::ScrollArea::vertical().max_height(height).show(ui, |ui| {
        for fault in &score.critical {
            ui.label(RichText::new(format!("✖ Critical fault: {}", fault.evidence)).color(BAD).strong());
            advice(ui, &fault.advice);
        }
        for criterion in &score.criteria {
            row(ui, criterion);
        }
    });
    ui.separator();
    ui.label(RichText::new(format!("One thing to change: {}", score.one_thing_to_change)).strong());
    for caution in CAUTIONS {
        ui.label(RichText::new(*caution).color(MUTED));
    }
    if ui.button("Close (M)").clicked() {
        out.push(Action::ToggleDebrief);
    }
}

/// Pass or fail as sign and word, and its colour.
#[must_use]
pub fn verdict_words(score: &Score) -> (&'static str, Color32) {
    if score.passed { ("✔ PASSED", GOOD) } else { ("✖ NOT PASSED", BAD) }
}

fn verdict(ui: &mut egui::Ui, score: &Score) {
    let (words, colour) = verdict_words(score);
    ui.horizontal(|ui| {
        ui.label(RichText::new(words).color(colour).strong().size(22.0));
        ui.label(RichText::new(format!("{:.1} of 100", score.total)).strong().size(22.0));
        ui.label(RichText::new(format!("pass mark {:.0}", score.pass_mark)).color(MUTED));
    });
    for reason in &score.reasons {
        ui.label(RichText::new(reason).color(MUTED));
    }
    ui.separator();
}

#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn row(ui: &mut egui::Ui, criterion: &CriterionMark) {
    let (sign, colour) = if criterion.fault { ("✖", BAD) } else { ("✔", GOOD) };
    ui.horizontal(|ui| {
        ui.label(RichText::new(sign).color(colour).strong());
        let mark = criterion.mark as f32;
        ui.add(ProgressBar::new(mark).desired_width(90.0).desired_height(14.0).corner_radius(3).fill(colour));
        ui.label(RichText::new(format!("{:.2}", criterion.mark)).monospace());
        ui.label(RichText::new(&criterion.title).strong());
        ui.label(RichText::new(format!("weight {:.0}", criterion.weight)).color(MUTED));
    });
    ui.indent(&criterion.id, |ui| {
        ui.label(&criterion.evidence);
        advice(ui, &criterion.advice);
    });
    ui.add_space(4.0);
}

fn advice(ui: &mut egui::Ui, advice: &str) {
    if !advice.is_empty() {
        ui.label(RichText::new(format!("Next time: {advice}")).color(MUTED));
    }
}
