//! Going through an attempt again: any moment, forward at any speed, from any side.

use bevy_egui::egui::{self, RichText};

use super::scrub::{self, Scrub};
use super::{Action, MUTED, Model};
use crate::app::words::{Language, Text};
use crate::input::bindings::Act;
use crate::quantity::TICKS_PER_SECOND;
use crate::simulation::snapshot::OWN_HANDS;

/// Ticks that an arrow key goes: a second.
pub const KEY_STEP: u32 = TICKS_PER_SECOND;

/// How fast an attempt is gone through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ReplaySpeed {
    /// A quarter of the attempt's own.
    Quarter,
    /// Half.
    Half,
    /// As it was.
    #[default]
    Whole,
    /// Twice.
    Double,
    /// Four times.
    Fourfold,
}

impl ReplaySpeed {
    /// All of them, slowest first.
    pub const ALL: [ReplaySpeed; 5] =
        [ReplaySpeed::Quarter, ReplaySpeed::Half, ReplaySpeed::Whole, ReplaySpeed::Double, ReplaySpeed::Fourfold];

    /// Seconds of the attempt in a second.
    #[must_use]
    pub fn factor(self) -> f64 {
        match self {
            ReplaySpeed::Quarter => 0.25,
            ReplaySpeed::Half => 0.5,
            ReplaySpeed::Whole => 1.0,
            ReplaySpeed::Double => 2.0,
            ReplaySpeed::Fourfold => 4.0,
        }
    }

    /// Its name on a button.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            ReplaySpeed::Quarter => "1/4",
            ReplaySpeed::Half => "1/2",
            ReplaySpeed::Whole => "1",
            ReplaySpeed::Double => "2",
            ReplaySpeed::Fourfold => "4",
        }
    }

    /// The next faster (`true`) or slower one, as far as there is one.
    #[must_use]
    pub fn next(self, faster: bool) -> ReplaySpeed {
        let last = ReplaySpeed::ALL.len() - 1;
        let at = ReplaySpeed::ALL.iter().position(|speed| *speed == self).expect("all are listed");
        ReplaySpeed::ALL[if faster { (at + 1).min(last) } else { at.saturating_sub(1) }]
    }
}

/// A replay as it is shown.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReplayView {
    /// Whether it is what is looked at.
    pub open: bool,
    /// The attempt's last tick.
    pub end: u32,
    /// The last tick that can be shown so far.
    pub have: u32,
    /// The tick that is shown.
    pub at: u32,
    /// Whether it plays.
    pub playing: bool,
    /// How fast.
    pub speed: ReplaySpeed,
    /// What to know about the recording, such as whether it is verified; `None` if nothing.
    pub note: Option<Text>,
}

/// The bar and its buttons.
pub fn show(ui: &mut egui::Ui, model: &Model, view: &ReplayView, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    ui.set_width(620.0_f32.min(ui.ctx().content_rect().width() - 60.0));
    ui.horizontal(|ui| {
        ui.label(RichText::new(caption(language, model)).size(17.0).strong());
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            ui.label(RichText::new(times(language, view)).monospace());
        });
    });
    let marks = faults(model);
    let name = &language.say("replay-bar");
    let bar = Scrub { name, end: view.end, have: view.have, at: view.at, marks: &marks, key_step: KEY_STEP };
    if let Some(tick) = scrub::show(ui, &bar) {
        out.push(Action::Seek(tick));
    }
    ui.horizontal_wrapped(|ui| {
        if ui
            .button(language.button(if view.playing { "button-pause" } else { "button-play" }, &model.keys, Act::Play))
            .clicked()
        {
            out.push(Action::ReplayPlay);
        }
        ui.separator();
        for speed in ReplaySpeed::ALL {
            if ui.selectable_label(view.speed == speed, speed.name()).clicked() {
                out.push(Action::ReplaySpeed(speed));
            }
        }
        ui.separator();
        ui.label(RichText::new(language.tell("replay-second", &language.acts(&model.keys))).color(MUTED));
        if model.score.is_some() {
            ui.separator();
            if ui.button(language.button("button-marks", &model.keys, Act::CloseReplay)).clicked() {
                out.push(Action::ReplayOpen(false));
            }
        }
    });
    if let Some(note) = &view.note {
        ui.label(RichText::new(language.word(note)).color(MUTED));
    }
}

/// What is shown, in a line.
#[must_use]
pub fn caption(language: Language, model: &Model) -> String {
    match model.readout.phase.as_str() {
        "" => language.say("button-replay"),
        OWN_HANDS => language.tell("replay-phase", &[("phase", language.say("replay-own-hands"))]),
        phase => language.tell("replay-phase", &[("phase", phase.to_owned())]),
    }
}

/// Where it is and how long it is.
#[must_use]
pub fn times(language: Language, view: &ReplayView) -> String {
    let seconds = |tick: u32| language.number(f64::from(tick) / f64::from(TICKS_PER_SECOND), 1);
    language.tell("replay-times", &[("at", seconds(view.at)), ("end", seconds(view.end))])
}

/// The ticks of what was found wrong.
#[must_use]
pub fn faults(model: &Model) -> Vec<u32> {
    let Some(score) = &model.score else { return Vec::new() };
    let marked = score.criteria.iter().filter(|mark| mark.fault).filter_map(|mark| mark.tick);
    marked.chain(score.critical.iter().map(|fault| fault.tick)).map(|tick| tick.0).collect()
}
