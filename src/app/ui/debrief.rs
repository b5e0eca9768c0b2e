//! What the attempt is worth, and why; and what the knot bears.

use bevy_egui::egui::{self, Color32, ProgressBar, RichText};

use super::{Action, BAD, GOOD, MUTED, Model, Tab, measured, progress, pulled, scrolled};
use crate::app::words::Language;
use crate::input::bindings::Act;
use crate::quantity::Tick;
use crate::said::Said;
use crate::score::{CriterionMark, Past, Score};

/// The marks; nothing while there are none.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    let Some(score) = &model.score else { return };
    let language = Language::of(ui);
    ui.set_width(640.0_f32.min(ui.ctx().content_rect().width() - 60.0));
    verdict(ui, score);
    tabs(ui, model, out);
    match (&model.pull, &model.measured, model.tab) {
        (Some(pull), _, Tab::Pull) => pulled::show(ui, pull, out),
        (_, _, Tab::Progress) => progress::show(ui, past(model), score),
        (_, Some(found), Tab::Measured) => measured::show(ui, found, model.mirrored, out),
        _ => marks(ui, score, out),
    }
    ui.separator();
    ui.horizontal(|ui| {
        if ui.button(language.button("button-close", &model.keys, Act::Marks)).clicked() {
            out.push(Action::ToggleDebrief);
        }
        if ui.button(language.button("button-replay", &model.keys, Act::OpenReplay)).clicked() {
            out.push(Action::ReplayOpen(true));
        }
        if model.can_begin_anew
            && ui.button(language.button("debrief-new-attempt", &model.keys, Act::BeginAnew)).clicked()
        {
            out.push(Action::BeginAnew);
        }
    });
}

/// One's own attempts at the case.
fn past(model: &Model) -> &[Past] {
    model.measured.as_ref().map_or(&[], |found| &found.past)
}

fn tabs(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    let tabs = [
        (true, Tab::Marks, "debrief-marks"),
        (model.measured.is_some(), Tab::Measured, "debrief-measured"),
        (model.pull.is_some(), Tab::Pull, "debrief-pull"),
        (past(model).len() > 1, Tab::Progress, "debrief-progress"),
    ];
    if tabs.iter().filter(|(there, ..)| *there).count() < 2 {
        return;
    }
    ui.horizontal(|ui| {
        for (_, tab, key) in tabs.into_iter().filter(|(there, ..)| *there) {
            let name = Language::of(ui).say(key);
            if ui.selectable_label(model.tab == tab, RichText::new(name).size(16.0)).clicked() {
                out.push(Action::ShowTab(tab));
            }
        }
    });
    ui.add_space(4.0);
}

fn marks(ui: &mut egui::Ui, score: &Score, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    scrolled(ui, BELOW_MARKS).id_salt("marks").show(ui, |ui| {
        for fault in &score.critical {
            ui.horizontal_wrapped(|ui| {
                let words = language.tell("debrief-critical", &[("fault", language.told(&fault.evidence))]);
                ui.label(RichText::new(words).color(BAD).strong());
                moment(ui, Some(fault.tick), out);
            });
            advice(ui, &fault.advice);
        }
        for criterion in &score.criteria {
            row(ui, criterion, out);
        }
    });
    ui.separator();
    let advice = language.tell("debrief-one-thing", &[("advice", language.told(&score.one_thing_to_change))]);
    ui.label(RichText::new(advice).strong());
    for caution in ["debrief-caution-1", "debrief-caution-2", "debrief-caution-3"] {
        ui.label(RichText::new(language.say(caution)).color(MUTED));
    }
}

/// Height of what stands below the marks [point]: advice, cautions, buttons, and the bar under the debrief.
const BELOW_MARKS: f32 = 268.0;

/// Height of what stands below another page [point]: buttons, and that bar.
pub(super) const BELOW_PAGE: f32 = 168.0;

/// The button to the moment at which something was found.
pub(super) fn moment(ui: &mut egui::Ui, tick: Option<Tick>, out: &mut Vec<Action>) {
    let Some(tick) = tick else { return };
    let language = Language::of(ui);
    let words = language.tell("debrief-moment", &[("seconds", language.number(tick.seconds(), 1))]);
    if ui.small_button(words).on_hover_text(language.say("debrief-moment-does")).clicked() {
        out.push(Action::Seek(tick.0));
    }
}

/// Pass or fail as sign and word, and its colour.
#[must_use]
pub fn verdict_words(language: Language, score: &Score) -> (String, Color32) {
    if score.passed { (language.say("debrief-passed"), GOOD) } else { (language.say("debrief-not-passed"), BAD) }
}

fn verdict(ui: &mut egui::Ui, score: &Score) {
    let language = Language::of(ui);
    let (words, colour) = verdict_words(language, score);
    let total = language.tell("debrief-total", &[("total", language.number(score.total, 1))]);
    let pass_mark = language.tell("debrief-pass-mark", &[("mark", language.number(score.pass_mark, 0))]);
    ui.horizontal(|ui| {
        ui.label(RichText::new(words).color(colour).strong().size(22.0));
        ui.label(RichText::new(total).strong().size(22.0));
        ui.label(RichText::new(pass_mark).color(MUTED));
    });
    if let Some(site) = &score.site {
        ui.label(language.told(&site.sentence()));
    }
    for reason in &score.reasons {
        ui.label(RichText::new(language.told(reason)).color(MUTED));
    }
    ui.separator();
}

#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn row(ui: &mut egui::Ui, criterion: &CriterionMark, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    let title = language.name_of("criterion", &criterion.id, &criterion.title);
    let weight = language.tell("debrief-weight", &[("weight", language.number(criterion.weight, 0))]);
    let (sign, colour) = if criterion.fault { ("✖", BAD) } else { ("✔", GOOD) };
    ui.horizontal(|ui| {
        ui.label(RichText::new(sign).color(colour).strong());
        let mark = criterion.mark as f32;
        ui.add(ProgressBar::new(mark).desired_width(90.0).desired_height(14.0).corner_radius(3).fill(colour));
        ui.label(RichText::new(language.number(criterion.mark, 2)).monospace());
        ui.label(RichText::new(title).strong());
        ui.label(RichText::new(weight).color(MUTED));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| moment(ui, criterion.tick, out));
    });
    ui.indent(&criterion.id, |ui| {
        ui.label(language.told(&criterion.evidence));
        if !criterion.band.is_empty() {
            let band = language.tell("debrief-band", &[("band", language.told(&criterion.band))]);
            ui.label(RichText::new(band).color(MUTED)).on_hover_text(&criterion.source);
        }
        advice(ui, &criterion.advice);
    });
    ui.add_space(4.0);
}

fn advice(ui: &mut egui::Ui, advice: &Said) {
    if !advice.is_empty() {
        let language = Language::of(ui);
        let words = language.tell("debrief-next-time", &[("advice", language.told(advice))]);
        ui.label(RichText::new(words).color(MUTED));
    }
}
