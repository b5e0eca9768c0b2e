//! The site check: the order, both arches to mark a tooth on, and what the chosen one is called.
//!
//! It says nothing of whether the choice is right, and hinders no hand.

use bevy_egui::egui::{self, Id, Key, RichText};

use super::arches;
use super::{Action, BAD, MUTED, Model, Player, TRANSPORT};
use crate::app::words::Language;
use crate::input::bindings::Act;
use crate::tooth::Tooth;

/// Width of the screen from which the words stand beside the arches and not below [point].
const WIDE: f32 = 700.0;

/// The check of a case that has one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SiteView {
    /// The tooth that the order names.
    pub ordered: Tooth,
    /// The tooth that was chosen and is not yet marked, or was marked last.
    pub chosen: Option<Tooth>,
    /// Whether the panel is open.
    pub open: bool,
}

/// Whether the site can be marked now: live hands have not begun the first bite, and no tutorial is in the way.
#[must_use]
pub fn can_mark(model: &Model) -> bool {
    let live = model.player != Player::Script && model.score.is_none() && !model.replay.open;
    model.site.is_some() && live && !model.readout.bitten && model.lesson.is_none()
}

/// A key of [`Act::SiteCheck`] opens the panel and gives it the keys, until Escape or a click in the field takes them from it.
pub fn keys(ctx: &egui::Context, model: &Model, out: &mut Vec<Action>) {
    let free = ctx.memory(|memory| memory.focused().is_none());
    let mut bound = model.keys.keys(Act::SiteCheck).iter().filter_map(|key| Key::from_name(key.name()));
    if can_mark(model) && free && ctx.input(|input| bound.any(|key| input.key_pressed(key))) {
        ctx.data_mut(|data| data.insert_temp(id(), Keys::Asked));
        out.push(Action::ShowSiteCheck(true));
    }
}

/// Whether keys are the panel's, and not the hands'.
#[must_use]
pub fn holds_keys(ctx: &egui::Context) -> bool {
    match ctx.data(|data| data.get_temp(id())) {
        Some(Keys::Asked) => true,
        Some(Keys::Held) => ctx.memory(|memory| memory.focused().is_some()),
        None => false,
    }
}

/// How far the panel has the keys.
#[derive(Debug, Clone, Copy)]
enum Keys {
    /// They were asked for.
    Asked,
    /// They are its own as long as something in it has the focus.
    Held,
}

fn id() -> Id {
    Id::new("keys of the site check")
}

/// The panel.
pub fn show(ui: &mut egui::Ui, model: &Model, site: &SiteView, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    let room = ui.ctx().content_rect().size();
    ui.set_max_width(620.0_f32.min(room.x - 60.0));
    let height = (room.y - TRANSPORT - 70.0).max(100.0);
    egui::ScrollArea::vertical().max_height(height).show(ui, |ui| {
        ui.label(RichText::new(language.say("site-title")).strong().size(17.0));
        let described = language.tooth_described(site.ordered);
        let order = [("tooth", site.ordered.to_string()), ("described", described)];
        ui.label(language.tell("site-order", &order));
        if room.x >= WIDE {
            ui.horizontal_top(|ui| {
                teeth(ui, model, site, out);
                ui.vertical(|ui| choice(ui, model, site, out));
            });
        } else {
            teeth(ui, model, site, out);
            choice(ui, model, site, out);
        }
    });
}

fn teeth(ui: &mut egui::Ui, model: &Model, site: &SiteView, out: &mut Vec<Action>) {
    let asked = matches!(ui.data(|data| data.get_temp(id())), Some(Keys::Asked));
    let first = site.chosen.unwrap_or(Tooth::arches()[0][0]);
    for (tooth, response) in arches::show(ui, site.chosen, model.readout.marked) {
        if response.clicked() {
            out.push(Action::ChooseTooth(tooth));
        }
        if response.gained_focus() {
            response.scroll_to_me(None);
        }
        if asked && tooth == first {
            response.request_focus();
            ui.data_mut(|data| data.insert_temp(id(), Keys::Held));
        }
    }
}

/// The chosen tooth in words, what is marked, and the buttons.
fn choice(ui: &mut egui::Ui, model: &Model, site: &SiteView, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    ui.set_max_width(230.0);
    ui.add_space(8.0);
    match site.chosen {
        Some(tooth) => chosen(ui, tooth),
        None => {
            ui.label(RichText::new(language.say("site-none-chosen")).size(17.0).strong());
            ui.label(language.say("site-choose"));
        }
    }
    ui.add_space(8.0);
    let mark = egui::Button::new(RichText::new(language.say("site-mark")).size(16.0));
    let marked = ui.add_enabled(site.chosen.is_some(), mark).clicked();
    let closed = ui.button(language.say("button-close")).clicked();
    if let Some(tooth) = site.chosen.filter(|_| marked) {
        out.push(Action::MarkSite(tooth));
    } else if closed {
        out.push(Action::ShowSiteCheck(false));
    }
    if marked || closed {
        // The hands have their keys again.
        ui.memory_mut(|memory| memory.focused().into_iter().for_each(|id| memory.surrender_focus(id)));
    }
    ui.add_space(8.0);
    state(ui, model);
    let hint = language.tell("site-hint", &language.acts(&model.keys));
    ui.label(RichText::new(hint).color(MUTED));
}

fn chosen(ui: &mut egui::Ui, tooth: Tooth) {
    let language = Language::of(ui);
    let words = language.tell("site-chosen", &[("tooth", tooth.to_string())]);
    ui.label(RichText::new(words).size(22.0).strong());
    ui.label(RichText::new(language.tooth(tooth)).size(17.0));
    egui::Grid::new("notations").num_columns(2).spacing([14.0, 3.0]).show(ui, |ui| {
        let rows = [
            ("site-iso", tooth.to_string()),
            ("site-universal", tooth.universal().to_string()),
            ("site-palmer", tooth.palmer()),
            ("site-jaw", language.say(if tooth.is_upper() { "site-upper" } else { "site-lower" })),
            ("site-side", language.say(if tooth.is_right() { "site-right" } else { "site-left" })),
        ];
        for (key, value) in rows {
            ui.label(RichText::new(language.say(key)).color(MUTED));
            ui.label(RichText::new(value).strong());
            ui.end_row();
        }
    });
}

/// What is marked, or the caution that nothing is.
pub(super) fn state(ui: &mut egui::Ui, model: &Model) {
    let language = Language::of(ui);
    match (model.readout.marked, &model.site) {
        (Some(tooth), _) => {
            ui.label(RichText::new(language.say("site-marked")).color(MUTED));
            ui.label(RichText::new(format!("• {tooth} {}", language.tooth(tooth))).strong());
        }
        (None, Some(_)) => {
            ui.label(RichText::new(language.say("site-unmarked")).color(BAD).strong());
        }
        (None, None) => {}
    }
}
