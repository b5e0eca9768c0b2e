//! One's own attempts at the same case, criterion by criterion, from the first to this one.

use bevy_egui::egui::{self, Pos2, Rect, RichText, Sense, Shape, Stroke, Vec2, WidgetInfo, WidgetType};

use super::{BAD, GOOD, MUTED, debrief, scrolled};
use crate::app::words::Language;
use crate::score::{Past, Score};

/// Size of a row's line [point].
const LINE: Vec2 = Vec2::new(260.0, 30.0);

/// Attempts that a line shows at most: the last ones.
const SHOWN: usize = 20;

/// The total and each criterion of `score` over the attempts of `past`, of which the last is the one that was just marked.
pub fn show(ui: &mut egui::Ui, past: &[Past], score: &Score) {
    let language = Language::of(ui);
    let past = &past[past.len().saturating_sub(SHOWN)..];
    let (Some(first), Some(last)) = (past.first(), past.last()) else { return };
    let span =
        [("count", language.number(past.len() as f64, 0)), ("first", first.day.clone()), ("last", last.day.clone())];
    ui.label(RichText::new(language.tell("progress-span", &span)).color(MUTED));
    scrolled(ui, debrief::BELOW_PAGE).id_salt("progress").show(ui, |ui| {
        let totals: Vec<Option<f64>> = past.iter().map(|attempt| Some(attempt.total / 100.0)).collect();
        row(ui, &language.say("progress-total"), &totals, score.pass_mark / 100.0, 100.0);
        for criterion in &score.criteria {
            let title = language.name_of("criterion", &criterion.id, &criterion.title);
            let marks: Vec<Option<f64>> = past.iter().map(|attempt| attempt.mark(&criterion.id)).collect();
            row(ui, &title, &marks, criterion.fails_below, 1.0);
        }
    });
}

/// Shares of the full mark over the attempts, with the line that they should stay above; the full mark is `whole`.
fn row(ui: &mut egui::Ui, name: &str, shares: &[Option<f64>], bar: f64, whole: f64) {
    let language = Language::of(ui);
    let decimals = if whole > 1.0 { 1 } else { 2 };
    let said =
        |share: Option<f64>| share.map_or_else(|| "–".to_owned(), |share| language.number(whole * share, decimals));
    let now = shares.last().copied().flatten();
    let before = shares.iter().rev().skip(1).find_map(|share| *share);
    ui.horizontal(|ui| {
        let (rect, response) = ui.allocate_exact_size(LINE, Sense::hover());
        let all: Vec<String> = shares.iter().map(|share| said(*share)).collect();
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, format!("{name}: {}", all.join(", "))));
        paint(ui, rect, shares, bar);
        ui.label(RichText::new(said(now)).monospace().strong());
        if let (Some(now), Some(before)) = (now, before) {
            // Signs beside the colours, for who cannot tell these apart.
            let (sign, colour) = match now.total_cmp(&before) {
                std::cmp::Ordering::Greater => ("⬆", GOOD),
                std::cmp::Ordering::Less => ("⬇", BAD),
                std::cmp::Ordering::Equal => ("=", MUTED),
            };
            ui.label(RichText::new(sign).color(colour));
        }
        ui.label(name);
    });
}

#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn paint(ui: &egui::Ui, rect: Rect, shares: &[Option<f64>], bar: f64) {
    let painter = ui.painter();
    let inner = rect.shrink2(Vec2::new(6.0, 5.0));
    let at = |index: usize, share: f64| {
        let along = if shares.len() > 1 { index as f32 / (shares.len() - 1) as f32 } else { 1.0 };
        Pos2::new(inner.left() + along * inner.width(), inner.bottom() - share.clamp(0.0, 1.0) as f32 * inner.height())
    };
    let thin = Stroke::new(1.0, MUTED.gamma_multiply(0.5));
    let ends = [0, shares.len().saturating_sub(1)].map(|index| at(index, bar));
    painter.extend(Shape::dashed_line(&[Pos2::new(inner.left(), ends[0].y), ends[1]], thin, 4.0, 4.0));
    let line: Vec<Pos2> = shares.iter().enumerate().filter_map(|(index, share)| Some(at(index, (*share)?))).collect();
    painter.add(Shape::line(line.clone(), Stroke::new(2.0, MUTED)));
    for (place, share) in line.iter().zip(shares.iter().flatten()) {
        let colour = if *share < bar { BAD } else { GOOD };
        // What is not good enough is an open ring.
        if *share < bar {
            painter.circle_stroke(*place, 3.0, Stroke::new(2.0, colour));
        } else {
            painter.circle_filled(*place, 3.5, colour);
        }
    }
}
