//! What was measured of an attempt: the site from above, the throws of each knot, and how it went.

use bevy_egui::egui::{self, RichText, Vec2};

use super::chart::{self, Chart};
use super::{Action, MUTED, debrief, plan, readout, scrolled};
use crate::app::stage::Measured;
use crate::app::words::Language;
use crate::report::Event;

/// Width of the picture from above, as a share of the panel's.
const PLAN: f32 = 0.62;

/// Height of a chart [point].
const CHART: f32 = 128.0;

/// The pictures, and what happened when, each with a button to its moment.
pub fn show(ui: &mut egui::Ui, found: &Measured, mirrored: bool, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    scrolled(ui, debrief::BELOW_PAGE).id_salt("measured").show(ui, |ui| {
        let width = ui.available_width();
        ui.horizontal_top(|ui| {
            ui.vertical(|ui| {
                ui.set_width(PLAN * width);
                plan::show(ui, found, mirrored);
            });
            ui.vertical(|ui| {
                for reading in
                    found.stitches.iter().map(|stitch| &stitch.reading).filter(|reading| !reading.throws.is_empty())
                {
                    ui.label(RichText::new(&reading.notation).monospace().strong());
                    readout::diagram(ui, &reading.half_knots().collect::<Vec<_>>());
                }
            });
        });
        ui.label(RichText::new(language.say("measured-signs")).size(14.0).color(MUTED));
        ui.separator();
        over_time(ui, found, out);
    });
}

fn over_time(ui: &mut egui::Ui, found: &Measured, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    let times: Vec<f64> = found.events.iter().map(|event| event.tick.seconds()).collect();
    let end = found.findings.duration.seconds();
    for (title, points) in [("measured-tension", &found.tension), ("measured-pale", &found.pale)] {
        let title = &language.say(title);
        let chart = Chart { title, points, events: &times, end };
        if let Some(tick) = chart::show(ui, &chart, Vec2::new(ui.available_width(), CHART)) {
            out.push(Action::Seek(tick.0));
        }
    }
    ui.label(RichText::new(language.say("measured-events")).size(14.0).color(MUTED));
    for (number, event) in (1..).zip(&found.events) {
        row(ui, number, event, out);
    }
}

/// What happened, with a button to its moment.
fn row(ui: &mut egui::Ui, number: usize, event: &Event, out: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        debrief::moment(ui, Some(event.tick), out);
        ui.label(RichText::new(number.to_string()).monospace().color(MUTED));
        ui.label(Language::of(ui).told(&event.words));
    });
}
