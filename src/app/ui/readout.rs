//! Numbers of the moment.

use bevy_egui::egui::{self, Color32, Rect, RichText, Sense, Stroke, Vec2};

use super::{Action, BAD, GOOD, MUTED, Model, Player, scrolled, site_check};
use crate::app::words::Language;
use crate::input::bindings::Act;
use crate::math::DVec2;
use crate::quantity::MN_PER_N;
use crate::report::throws_as_lines;
use crate::simulation::snapshot::Readout;
use crate::topology::HalfKnot;

/// Loop tension that a snug stitch usually keeps [N]: what friction in the throws leaves of 1 to 3 N at the hands (our
/// own model of the flaps). Above it gum pales.
pub const LOOP_BAND_N: [f64; 2] = [0.05, 0.20];

/// Height of what stands below the read-outs, with the margins [point]: the bar of a replay.
const BELOW: f32 = 138.0;

/// End of the tension gauge [N].
const GAUGE_END_N: f64 = 0.5;

/// The read-outs.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    ui.set_max_width(250.0);
    scrolled(ui, BELOW).show(ui, |ui| contents(ui, model, out));
}

fn contents(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    ui.label(RichText::new(&model.title).strong().size(16.0));
    ui.label(RichText::new(format!("{} s", language.number(model.seconds, 1))).color(MUTED));
    if !model.case_text.is_empty() {
        ui.collapsing(language.say("readout-case"), |ui| ui.label(&model.case_text));
    }
    site_check::state(ui, model);
    let closed = model.site.is_some_and(|site| !site.open);
    if closed
        && site_check::can_mark(model)
        && ui.button(language.button("readout-site-check", &model.keys, Act::SiteCheck)).clicked()
    {
        out.push(Action::ShowSiteCheck(true));
    }
    if model.can_edit && model.player == Player::Script && ui.button(language.say("readout-edit")).clicked() {
        out.push(Action::ShowForm);
    }
    ui.add_space(4.0);
    // Marks lie open once there are some, and so does what they rest on.
    if !model.no_gauges || model.score.is_some() {
        gauges(ui, &model.readout);
    }
    if !model.no_throws || model.score.is_some() {
        let readout = &model.readout;
        let throws = if readout.throws.is_empty() { language.say("readout-no-throws") } else { readout.throws.clone() };
        value(ui, "readout-throws", &throws);
        if !readout.half_knots.is_empty() {
            diagram(ui, &readout.half_knots);
        }
    }
}

fn gauges(ui: &mut egui::Ui, readout: &Readout) {
    let loop_n = readout.loop_tension_mn / MN_PER_N;
    let language = Language::of(ui);
    let newton = |mn: f64| format!("{} N", language.number(mn / MN_PER_N, 2));
    value(ui, "readout-loop", &newton(readout.loop_tension_mn));
    gauge(ui, loop_n);
    ui.label(RichText::new(band_words(language, loop_n)).size(14.0).color(MUTED));
    value(ui, "readout-strand", &newton(readout.strand_tension_mn));
    value(ui, "readout-tail", &newton(readout.tail_tension_mn));
    value(ui, "readout-pale", &format!("{} mm²", language.number(readout.blanched_area_mm2, 1)));
}

/// Limb A, limb B and the loop, told apart by brightness as well: blue, orange and grey (Okabe & Ito 2008, from memory).
pub(super) const STRANDS: [Color32; 3] =
    [Color32::from_rgb(86, 180, 233), Color32::from_rgb(230, 159, 0), Color32::from_rgb(150, 156, 160)];

/// The throws as a crossing diagram, from the tissue up, and their hands in words.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
pub(super) fn diagram(ui: &mut egui::Ui, throws: &[HalfKnot]) {
    // Room for the loop and the tails, and for each throw.
    let size = Vec2::new(226.0, 70.0 + 36.0 * throws.len() as f32);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    for line in throws_as_lines(throws, DVec2::new(f64::from(size.x), f64::from(size.y))) {
        let at = |point: DVec2| rect.min + Vec2::new(point.x as f32, point.y as f32);
        let points = line.points.into_iter().map(at).collect();
        ui.painter().add(egui::Shape::line(points, Stroke::new(2.5, STRANDS[line.strand])));
    }
    let language = Language::of(ui);
    let hand = |throw: &HalfKnot| language.say(if throw.handedness < 0 { "readout-left" } else { "readout-right" });
    let hands = throws.iter().map(hand).collect::<Vec<_>>().join(", ");
    ui.label(RichText::new(language.tell("readout-hands", &[("hands", hands)])).size(14.0).color(MUTED));
}

/// Where a loop tension [N] lies, in words.
#[must_use]
pub fn band_words(language: Language, loop_n: f64) -> String {
    let [low, high] = LOOP_BAND_N;
    let key = if loop_n < low {
        "readout-band-below"
    } else if loop_n > high {
        "readout-band-above"
    } else {
        "readout-band-within"
    };
    language.tell(key, &[("low", language.number(low, 2)), ("high", language.number(high, 2))])
}

/// A number with the key of its name.
fn value(ui: &mut egui::Ui, key: &str, value: &str) {
    ui.horizontal(|ui| {
        ui.label(RichText::new(Language::of(ui).say(key)).color(MUTED));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            ui.label(RichText::new(value).monospace().strong());
        });
    });
}

/// A bar with the band marked on it.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn gauge(ui: &mut egui::Ui, loop_n: f64) {
    let (rect, _) = ui.allocate_exact_size(Vec2::new(226.0, 12.0), Sense::hover());
    let at = |newton: f64| rect.left() + rect.width() * (newton / GAUGE_END_N).clamp(0.0, 1.0) as f32;
    let part =
        |low: f64, high: f64| Rect::from_min_max(egui::pos2(at(low), rect.top()), egui::pos2(at(high), rect.bottom()));
    let painter = ui.painter();
    painter.rect_filled(rect, 3.0, Color32::from_gray(48));
    painter.rect_filled(part(LOOP_BAND_N[0], LOOP_BAND_N[1]), 0.0, GOOD.gamma_multiply(0.45));
    let colour = if loop_n > LOOP_BAND_N[1] { BAD } else { Color32::from_gray(235) };
    painter.rect_filled(part(0.0, loop_n).shrink2(Vec2::new(0.0, 3.0)), 1.0, colour);
}
