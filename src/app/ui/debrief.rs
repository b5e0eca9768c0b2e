//! What the attempt is worth, and why; and what the knot bears.

use bevy_egui::egui::{self, Color32, ProgressBar, RichText};

use super::{Action, BAD, GOOD, MUTED, Model, Tab, pulled};
use crate::app::words::Language;
use crate::input::bindings::Act;
use crate::quantity::Tick;
use crate::score::{CheckedSite, CriterionMark, Score};
use crate::tooth::Tooth;

/// The marks; nothing while there are none.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    let Some(score) = &model.score else { return };
    let language = Language::of(ui);
    ui.set_width(640.0_f32.min(ui.ctx().content_rect().width() - 60.0));
    verdict(ui, score);
    tabs(ui, model, out);
    match (&model.pull, model.tab) {
        (Some(pull), Tab::Pull) => pulled::show(ui, pull, out),
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

fn tabs(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    if model.pull.is_none() {
        return;
    }
    ui.horizontal(|ui| {
        for (tab, key) in [(Tab::Marks, "debrief-marks"), (Tab::Pull, "debrief-pull")] {
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
    let height = (ui.ctx().content_rect().height() - 370.0).max(100.0);
    egui::ScrollArea::vertical().max_height(height).show(ui, |ui| {
        for fault in &score.critical {
            ui.horizontal_wrapped(|ui| {
                let words = language.tell("debrief-critical", &[("fault", fault.evidence.to_string())]);
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
    let advice = language.tell("debrief-one-thing", &[("advice", score.one_thing_to_change.to_string())]);
    ui.label(RichText::new(advice).strong());
    for caution in ["debrief-caution-1", "debrief-caution-2", "debrief-caution-3"] {
        ui.label(RichText::new(language.say(caution)).color(MUTED));
    }
}

/// The button to the moment at which something was found.
fn moment(ui: &mut egui::Ui, tick: Option<Tick>, out: &mut Vec<Action>) {
    let Some(tick) = tick else { return };
    let language = Language::of(ui);
    let words = language.tell("debrief-moment", &[("seconds", format!("{:.1}", tick.seconds()))]);
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
    let total = language.tell("debrief-total", &[("total", format!("{:.1}", score.total))]);
    let pass_mark = language.tell("debrief-pass-mark", &[("mark", format!("{:.0}", score.pass_mark))]);
    ui.horizontal(|ui| {
        ui.label(RichText::new(words).color(colour).strong().size(22.0));
        ui.label(RichText::new(total).strong().size(22.0));
        ui.label(RichText::new(pass_mark).color(MUTED));
    });
    if let Some(site) = &score.site {
        ui.label(site_words(language, site));
    }
    for reason in &score.reasons {
        ui.label(RichText::new(reason.to_string()).color(MUTED));
    }
    ui.separator();
}

/// What was ordered and what was marked, in a sentence.
#[must_use]
pub fn site_words(language: Language, site: &CheckedSite) -> String {
    let in_full = |tooth: Tooth| {
        let described = language.tooth_described(tooth);
        language.tell("site-in-full", &[("tooth", tooth.to_string()), ("described", described)])
    };
    let marked = match site.marked {
        None => language.say("site-checked-none"),
        Some((tooth, tick)) => {
            let seconds = format!("{:.1}", tick.seconds());
            language.tell("site-checked-at", &[("tooth", in_full(tooth)), ("seconds", seconds)])
        }
    };
    language.tell("site-checked", &[("ordered", in_full(site.ordered)), ("marked", marked)])
}

#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn row(ui: &mut egui::Ui, criterion: &CriterionMark, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    let title = language.name_of("criterion", &criterion.id, &criterion.title);
    let weight = language.tell("debrief-weight", &[("weight", format!("{:.0}", criterion.weight))]);
    let (sign, colour) = if criterion.fault { ("✖", BAD) } else { ("✔", GOOD) };
    ui.horizontal(|ui| {
        ui.label(RichText::new(sign).color(colour).strong());
        let mark = criterion.mark as f32;
        ui.add(ProgressBar::new(mark).desired_width(90.0).desired_height(14.0).corner_radius(3).fill(colour));
        ui.label(RichText::new(format!("{:.2}", criterion.mark)).monospace());
        ui.label(RichText::new(title).strong());
        ui.label(RichText::new(weight).color(MUTED));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| moment(ui, criterion.tick, out));
    });
    ui.indent(&criterion.id, |ui| {
        ui.label(criterion.evidence.to_string());
        advice(ui, &criterion.advice);
    });
    ui.add_space(4.0);
}

fn advice(ui: &mut egui::Ui, advice: &str) {
    if !advice.is_empty() {
        let words = Language::of(ui).tell("debrief-next-time", &[("advice", advice.to_owned())]);
        ui.label(RichText::new(words).color(MUTED));
    }
}
