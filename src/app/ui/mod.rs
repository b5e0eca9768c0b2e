//! The panels: plain functions of a [`Model`] that draw with egui and say what was asked for as [`Action`]s.
//!
//! They know nothing of the engine, so that a test can draw them in a microsecond.

pub mod arches;
pub mod chart;
pub mod curve;
pub mod debrief;
pub mod file;
pub mod form;
pub mod help;
pub mod knot;
pub mod lesson;
pub mod measured;
pub mod offer;
pub mod plan;
pub mod progress;
pub mod pulled;
pub mod readout;
pub mod replay;
pub mod scrub;
pub mod site_check;
pub mod strands;
pub mod touch;
pub mod transport;

use std::sync::Arc;

use bevy_egui::egui::{self, Align2, Color32, Frame, Id, Margin, Stroke, Vec2};

pub use self::form::{FormAction, FormView};
pub use self::knot::KnotView;
pub use self::pulled::{PullState, PullView};
pub use self::replay::{ReplaySpeed, ReplayView};
pub use self::site_check::SiteView;
pub use self::touch::TouchView;

use crate::app::stage::Measured;
use crate::app::words::Language;
use crate::input::bindings::{Act, Bindings};
use crate::score::Score;
use crate::simulation::snapshot::Readout;
use crate::tooth::Tooth;

/// How fast time passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Speed {
    /// An eighth of real time.
    Eighth,
    /// A quarter.
    Quarter,
    /// Half.
    Half,
    /// Real time.
    #[default]
    Whole,
}

impl Speed {
    /// All of them, slowest first.
    pub const ALL: [Speed; 4] = [Speed::Eighth, Speed::Quarter, Speed::Half, Speed::Whole];

    /// Share of real time.
    #[must_use]
    pub fn factor(self) -> f32 {
        match self {
            Speed::Eighth => 0.125,
            Speed::Quarter => 0.25,
            Speed::Half => 0.5,
            Speed::Whole => 1.0,
        }
    }

    /// Its name on a button.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Speed::Eighth => "1/8",
            Speed::Quarter => "1/4",
            Speed::Half => "1/2",
            Speed::Whole => "1",
        }
    }

    /// The next faster (`true`) or slower one, as far as there is one.
    #[must_use]
    pub fn next(self, faster: bool) -> Speed {
        let at = Speed::ALL.iter().position(|speed| *speed == self).expect("all are listed");
        Speed::ALL[if faster { (at + 1).min(3) } else { at.saturating_sub(1) }]
    }
}

/// Whose hands move.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Player {
    /// The script plays.
    #[default]
    Script,
    /// The user's hands, the needle holder active: the right one, unless the field is mirrored.
    Right,
    /// The user's hands, the forceps active.
    Left,
}

/// What the debrief shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tab {
    /// The marks and why.
    #[default]
    Marks,
    /// What was measured: the site from above, the throws, and the attempt over time.
    Measured,
    /// The knot pulled open.
    Pull,
    /// This attempt and those before it.
    Progress,
}

/// Everything the panels show.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Model {
    /// Title of the case.
    pub title: String,
    /// What the student is told.
    pub case_text: String,
    /// The check of the site; `None` where the case has none.
    pub site: Option<SiteView>,
    /// Numbers of the moment.
    pub readout: Readout,
    /// Whether the case is tied without gauges.
    pub no_gauges: bool,
    /// Whether it is tied without the throws as they are read.
    pub no_throws: bool,
    /// Time in the attempt [s].
    pub seconds: f64,
    /// Whose hands move.
    pub player: Player,
    /// Whether time stands still.
    pub paused: bool,
    /// How fast it passes otherwise.
    pub speed: Speed,
    /// Whether the keys are shown.
    pub show_help: bool,
    /// What to know about the drawing, such as that a processor draws; empty if nothing.
    pub notice: String,
    /// Whether the case can be edited in a form.
    pub can_edit: bool,
    /// The form, while it is to be seen instead of what stands beside the field.
    pub form: Option<FormView>,
    /// What the case's file is called, and everything that is wrong with it; `None` if it is in order.
    pub file_problems: Option<(String, String)>,
    /// The marks, once there are some.
    pub score: Option<Score>,
    /// What they rest on.
    pub measured: Option<Arc<Measured>>,
    /// Whether the field is shown mirrored.
    pub mirrored: bool,
    /// Whether they are shown.
    pub show_debrief: bool,
    /// What of the debrief.
    pub tab: Tab,
    /// The knot's pull, once the attempt is over.
    pub pull: Option<PullView>,
    /// The attempt to go through again, as far as there is one.
    pub replay: ReplayView,
    /// What is being worked out and has to be waited for; empty if nothing.
    pub busy: String,
    /// What a hand asked for last and did not get, and why; empty if nothing.
    pub refusal: String,
    /// What happened just now, for who does not look at the numbers or does not hear its tone; empty if nothing.
    pub cue: String,
    /// What there is to choose before anything goes on; empty if nothing.
    pub offer: String,
    /// The tutorial's task, from 0, or `Some(None)` once all are done; `None` without a tutorial.
    pub lesson: Option<Option<usize>>,
    /// Whether the case can be begun anew.
    pub can_begin_anew: bool,
    /// Whether only the user's hands can go on.
    pub waits: bool,
    /// The knot on the bench, where there is no mouth.
    pub knot: Option<KnotView>,
    /// What every act is given by.
    pub keys: Arc<Bindings>,
    /// What goes on without a key being held; empty if nothing does.
    pub going_on: String,
    /// The picture from the side while it is to be seen.
    pub aside: Option<egui::TextureId>,
    /// Whether there is a gamepad.
    pub gamepad: bool,
    /// What buttons for fingers show, once a finger was felt and while hands are at work.
    pub touch: Option<TouchView>,
}

/// What was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Stop or go on.
    TogglePause,
    /// One tick, then stop.
    Step,
    /// Another pace.
    SetSpeed(Speed),
    /// Take over from the script, or give back to it.
    TogglePlayer,
    /// Hand in.
    Finish,
    /// Choose a tooth on the arch.
    ChooseTooth(Tooth),
    /// Mark a tooth as the site.
    MarkSite(Tooth),
    /// Open or close the site check.
    ShowSiteCheck(bool),
    /// Show or hide the keys.
    ToggleHelp,
    /// Show or hide the marks.
    ToggleDebrief,
    /// Show the form of the case.
    ShowForm,
    /// Another part of the debrief.
    ShowTab(Tab),
    /// The pull of another stitch, from 0.
    PullStitch(usize),
    /// Play the pull, or stop it.
    PullPlay,
    /// Another frame of the pull.
    PullTo(u32),
    /// Go through the attempt, or back to its debrief.
    ReplayOpen(bool),
    /// Play the attempt, or stop it.
    ReplayPlay,
    /// Go through it at another speed.
    ReplaySpeed(ReplaySpeed),
    /// Another tick of it.
    Seek(u32),
    /// The offer is taken, or declined.
    Answer(bool),
    /// The same case from its beginning.
    BeginAnew,
    /// Another language.
    Speak(Language),
    /// No more of the tutorial, now or later.
    EndTutorial,
    /// An act by its button on the screen; what is held as a key goes on until it is asked for again.
    Give(Act),
    /// The active tip to this height [µm].
    RaiseTo(i32),
}

/// Blue-green and vermilion of the palette that colour-blind people can tell apart (Okabe & Ito 2008); never used
/// without a sign and a word.
pub(super) const GOOD: Color32 = Color32::from_rgb(0, 158, 115);
pub(super) const BAD: Color32 = Color32::from_rgb(213, 94, 0);
const MUTED: Color32 = Color32::from_rgb(176, 184, 188);

/// Height that the bar below takes with all its lines [point].
const TRANSPORT: f32 = 100.0;

/// Height that the button of the card takes with the languages beside it [point].
const HELP: f32 = 52.0;

/// Width of the line of a cue: what is left beside that bar in the smallest window, in any language [point].
const CUE: f32 = 130.0;

/// All panels, each in its corner; the middle stays free for the field, until the marks are shown there instead.
pub fn show(ctx: &egui::Context, model: &Model, out: &mut Vec<Action>) {
    let margin = 12.0;
    let below = Vec2::new(0.0, -margin);
    if let Some(knot) = &model.knot {
        corner(ctx, "knot", Align2::LEFT_TOP, Vec2::splat(margin), |ui| knot::show(ui, model, knot));
        corner(ctx, "pull", Align2::RIGHT_BOTTOM, Vec2::splat(-margin), |ui| knot::pull(ui, model, out));
        return;
    }
    if !model.offer.is_empty() {
        corner(ctx, "offer", Align2::CENTER_CENTER, Vec2::ZERO, |ui| offer::show(ui, model, out));
        return;
    }
    if let Some((name, problems)) = model.file_problems.as_ref().filter(|_| model.form.is_none()) {
        let above = Vec2::new(margin, -margin - TRANSPORT);
        corner(ctx, "file", Align2::LEFT_BOTTOM, above, |ui| file::show(ui, name, problems));
    }
    if !model.cue.is_empty() {
        corner(ctx, "cue", Align2::LEFT_BOTTOM, Vec2::new(margin, -margin), |ui| cue(ui, &model.cue));
    }
    if model.replay.open {
        corner(ctx, "replay", Align2::CENTER_BOTTOM, below, |ui| replay::show(ui, model, &model.replay, out));
    } else {
        corner(ctx, "transport", Align2::CENTER_BOTTOM, below, |ui| transport::show(ui, model, out));
    }
    if model.form.is_some() {
        return;
    }
    if model.show_debrief && model.score.is_some() && !model.replay.open {
        corner(ctx, "debrief", Align2::CENTER_TOP, Vec2::new(0.0, margin), |ui| debrief::show(ui, model, out));
    } else {
        corner(ctx, "readout", Align2::LEFT_TOP, Vec2::new(margin, margin), |ui| readout::show(ui, model, out));
        site_check::keys(ctx, model, out);
        match model.site.filter(|site| site.open && site_check::can_mark(model)) {
            Some(site) => corner(ctx, "site", Align2::RIGHT_TOP, Vec2::new(-margin, margin), |ui| {
                site_check::show(ui, model, &site, out);
            }),
            None => {
                corner(ctx, "help", Align2::RIGHT_TOP, Vec2::new(-margin, margin), |ui| help::show(ui, model, out));
                // The card of the keys needs the whole side.
                let room = !model.show_help || model.lesson.is_some();
                if let Some(view) = model.touch.as_ref().filter(|_| room) {
                    let below = Vec2::new(-margin, margin + HELP);
                    corner(ctx, "touch", Align2::RIGHT_TOP, below, |ui| touch::show(ui, view, out));
                }
            }
        }
        let above = Vec2::new(-margin, -margin - TRANSPORT);
        if let Some(texture) = model.aside {
            corner(ctx, "aside", Align2::RIGHT_BOTTOM, above, |ui| aside(ui, texture, model.mirrored));
        }
        if let Some(task) = model.lesson {
            corner(ctx, "lesson", Align2::RIGHT_BOTTOM, above, |ui| lesson::show(ui, model, task, out));
        }
    }
}

/// What happened just now, as a line.
pub fn cue(ui: &mut egui::Ui, words: &str) {
    ui.set_width(CUE);
    ui.label(egui::RichText::new(format!("♪ {words}")).strong());
}

/// Width of the picture from the side as a share of the window's, and its height as a share of that.
const ASIDE: [f32; 2] = [0.24, 0.75];

/// The picture from the side; left and right are changed over in a mirrored field.
fn aside(ui: &mut egui::Ui, texture: egui::TextureId, mirrored: bool) {
    let width = ASIDE[0] * ui.ctx().content_rect().width();
    ui.set_max_width(width);
    let [left, right] = if mirrored { [1.0, 0.0] } else { [0.0, 1.0] };
    let whole = egui::Rect::from_min_max(egui::pos2(left, 0.0), egui::pos2(right, 1.0));
    let picture = egui::load::SizedTexture::new(texture, Vec2::new(width, ASIDE[1] * width));
    ui.add(egui::Image::new(picture).uv(whole).corner_radius(4).alt_text(Language::of(ui).say("aside-told")));
    ui.label(egui::RichText::new(Language::of(ui).say("aside-name")).size(14.0).color(MUTED));
}

/// What scrolls, in the height that is left over what stands below it. Without the least height it would stay as low as what was
/// shown before.
fn scrolled(ui: &egui::Ui, below: f32) -> egui::ScrollArea {
    let room = (ui.ctx().content_rect().bottom() - ui.cursor().top() - below).max(100.0);
    egui::ScrollArea::vertical().max_height(room).min_scrolled_height(room)
}

/// Where panels lie [point].
#[must_use]
pub fn places(ctx: &egui::Context) -> Vec<egui::Rect> {
    ctx.memory(|memory| {
        let shown = memory.areas().visible_layer_ids();
        shown.into_iter().filter_map(|layer| memory.area_rect(layer.id)).collect()
    })
}

fn corner(ctx: &egui::Context, name: &str, align: Align2, offset: Vec2, show: impl FnOnce(&mut egui::Ui)) {
    let frame = Frame::new()
        .fill(Color32::from_rgba_unmultiplied(16, 22, 25, 252))
        .stroke(Stroke::new(1.0, Color32::from_rgba_unmultiplied(255, 255, 255, 26)))
        .corner_radius(8)
        .inner_margin(Margin::symmetric(12, 10));
    egui::Area::new(Id::new(name)).anchor(align, offset).show(ctx, |ui| frame.show(ui, show));
}

/// A press that is let go of within this time is a click [s]; estimate: a driver without a card draws a picture or two a second,
/// and what is pressed and let go of is then seen a picture or two apart.
const CLICK_S: f64 = 5.0;

/// Letters of at least 14 points, a dark ground, and clicks that slow pictures do not swallow.
pub fn set_style(ctx: &egui::Context) {
    ctx.set_visuals(egui::Visuals::dark());
    ctx.options_mut(|options| options.input_options.max_click_duration = CLICK_S);
    ctx.all_styles_mut(|style| {
        for font in style.text_styles.values_mut() {
            font.size = font.size.max(14.0);
        }
        style.visuals.override_text_color = Some(Color32::from_rgb(232, 236, 238));
    });
}
