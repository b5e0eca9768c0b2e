//! What the attempt is worth, and why; and what the knot bears.

use bevy_egui::egui::{self, Color32, ProgressBar, RichText};

use super::{Action, BAD, GOOD, MUTED, Model, Tab, pulled};
use crate::input::bindings::Act;
use crate::quantity::Tick;
use crate::report::CAUTIONS;
use crate::score::{CriterionMark, Score};

/// The marks; nothing while there are none.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    let Some(score) = &model.score else { return };
    ui.set_width(640.0_f32.min(ui.ctx().content_rect().width() - 60.0));
    verdict(ui, score);
    tabs(ui, model, out);
    match (&model.pull, model.tab) {
        (Some(pull), Tab::Pull) => pulled::show(ui, pull, out),
        _ => marks(ui, score, out),
    }
    ui.separator();
    ui.horizontal(|ui| {
        if ui.button(model.keys.with_key("Close", Act::Marks)).clicked() {
            out.push(Action::ToggleDebrief);
        }
        if ui.button(model.keys.with_key("Replay", Act::OpenReplay)).clicked() {
            out.push(Action::ReplayOpen(true));
        }
        if model.can_begin_anew && ui.button(model.keys.with_key("New attempt", Act::BeginAnew)).clicked() {
            out.push(Action::BeginAnew);
        }
    });
}

fn tabs(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    if model.pull.is_none() {
        return;
    }
    ui.horizontal(|ui| {
        for (tab, name) in [(Tab::Marks, "The marks"), (Tab::Pull, "The knot, pulled open")] {
            if ui.selectable_label(model.tab == tab, RichText::new(name).size(16.0)).clicked() {
                out.push(Action::ShowTab(tab));
            }
        }
    });
    ui.add_space(4.0);
}

fn marks(ui: &mut egui::Ui, score: &Score, out: &mut Vec<Action>) {
    let height = (ui.ctx().content_rect().height() - 370.0).max(100.0);
    egui::ScrollArea::vertical().max_height(height).show(ui, |ui| {
        for fault in &score.critical {
            ui.horizontal_wrapped(|ui| {
                ui.label(RichText::new(format!("✖ Critical fault: {}", fault.evidence)).color(BAD).strong());
                moment(ui, Some(fault.tick), out);
            });
            advice(ui, &fault.advice);
        }
        for criterion in &score.criteria {
            row(ui, criterion, out);
        }
    });
    ui.separator();
    ui.label(RichText::new(format!("One thing to change: {}", score.one_thing_to_change)).strong());
    for caution in CAUTIONS {
        ui.label(RichText::new(*caution).color(MUTED));
    }
}

/// The button to the moment at which something was found.
fn moment(ui: &mut egui::Ui, tick: Option<Tick>, out: &mut Vec<Action>) {
    let Some(tick) = tick else { return };
    let button = ui.small_button(format!("▶ {:.1} s", tick.seconds())).on_hover_text("See the moment in the replay");
    if button.clicked() {
        out.push(Action::Seek(tick.0));
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
    if let Some(site) = &score.site {
        ui.label(site.sentence());
    }
    for reason in &score.reasons {
        ui.label(RichText::new(reason).color(MUTED));
    }
    ui.separator();
}

#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn row(ui: &mut egui::Ui, criterion: &CriterionMark, out: &mut Vec<Action>) {
    let (sign, colour) = if criterion.fault { ("✖", BAD) } else { ("✔", GOOD) };
    ui.horizontal(|ui| {
        ui.label(RichText::new(sign).color(colour).strong());
        let mark = criterion.mark as f32;
        ui.add(ProgressBar::new(mark).desired_width(90.0).desired_height(14.0).corner_radius(3).fill(colour));
        ui.label(RichText::new(format!("{:.2}", criterion.mark)).monospace());
        ui.label(RichText::new(&criterion.title).strong());
        ui.label(RichText::new(format!("weight {:.0}", criterion.weight)).color(MUTED));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| moment(ui, criterion.tick, out));
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
