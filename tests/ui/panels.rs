//! What the panels say and ask for, drawn without a window.
#![expect(clippy::float_cmp, reason = "eighths are exact")]

use bevy_egui::egui;

use knotwright::app::ui::{self, Action, Model, Player, Speed, debrief, help, readout, transport};
use knotwright::app::{Stage, ui::readout::band_words};
use knotwright::simulation::snapshot::Readout;

use super::fake::{Fake, score};

type Panel = fn(&mut egui::Ui, &Model, &mut Vec<Action>);

fn model() -> Model {
    Model { title: "First stitch".to_owned(), readout: Fake::new().snapshot().readout, ..Model::default() }
}

/// Draws a panel, with a click at `click` if there is one, and gives its text with places, and what it asked for.
fn draw(panel: Panel, model: &Model, click: Option<egui::Pos2>) -> (Vec<(String, egui::Rect)>, Vec<Action>) {
    let ctx = egui::Context::default();
    let mut asked = Vec::new();
    let mut output = egui::FullOutput::default();
    let button = |pos, pressed| egui::Event::PointerButton {
        pos,
        button: egui::PointerButton::Primary,
        pressed,
        modifiers: egui::Modifiers::NONE,
    };
    for frame in 0..4 {
        let events = match (click, frame) {
            (Some(at), 1) => vec![egui::Event::PointerMoved(at)],
            (Some(at), 2) => vec![button(at, true)],
            (Some(at), 3) => vec![button(at, false)],
            _ => Vec::new(),
        };
        let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(1200.0, 900.0));
        let input = egui::RawInput { screen_rect: Some(screen), events, ..egui::RawInput::default() };
        output = ctx.run_ui(input, |ui| panel(ui, model, &mut asked));
        output.textures_delta.clear();
    }
    let mut texts = Vec::new();
    for clipped in &output.shapes {
        gather(&clipped.shape, &mut texts);
    }
    (texts, asked)
}

/// The shapes of a panel.
fn shapes(panel: Panel, model: &Model) -> Vec<egui::Shape> {
    let ctx = egui::Context::default();
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(1200.0, 900.0));
    let input = egui::RawInput { screen_rect: Some(screen), ..egui::RawInput::default() };
    let mut output = ctx.run_ui(input, |ui| panel(ui, model, &mut Vec::new()));
    output.textures_delta.clear();
    output.shapes.into_iter().map(|clipped| clipped.shape).collect()
}

fn gather(shape: &egui::Shape, texts: &mut Vec<(String, egui::Rect)>) {
    match shape {
        egui::Shape::Text(text) => {
            texts.push((text.galley.text().to_owned(), text.galley.rect.translate(text.pos.to_vec2())));
        }
        egui::Shape::Vec(shapes) => shapes.iter().for_each(|shape| gather(shape, texts)),
        _ => {}
    }
}

fn words(panel: Panel, model: &Model) -> String {
    draw(panel, model, None).0.into_iter().map(|(text, _)| text).collect::<Vec<_>>().join("\n")
}

/// What a click on the text `label` asks for.
fn click(panel: Panel, model: &Model, label: &str) -> Vec<Action> {
    let (texts, _) = draw(panel, model, None);
    let (_, rect) = texts.iter().find(|(text, _)| text == label).unwrap_or_else(|| panic!("no `{label}` in {texts:?}"));
    draw(panel, model, Some(rect.center())).1
}

#[test]
fn the_readout_gives_each_number_its_unit() {
    let words = words(readout::show, &model());
    for part in ["First stitch", "0.12 N", "0.84 N", "0.61 N", "3.4 mm²", "2=1"] {
        assert!(words.contains(part), "no `{part}` in\n{words}");
    }
}

#[test]
fn the_throws_are_drawn_with_a_strand_broken_at_every_crossing_once_there_are_some() {
    let drawn = model();
    let none = Model { readout: Readout { half_knots: Vec::new(), ..drawn.readout.clone() }, ..drawn.clone() };
    let breaks =
        |model: &Model| shapes(readout::show, model).iter().filter(|s| matches!(s, egui::Shape::Path(_))).count();
    // Two wraps cross five times, one wrap three: each crossing adds a line to the first one.
    assert!(breaks(&drawn) >= breaks(&none) + 9, "{} and {}", breaks(&drawn), breaks(&none));
    assert!(words(readout::show, &drawn).contains("from the gum up: left, right"));
    assert!(!words(readout::show, &none).contains("from the gum up"));
}

#[test]
fn the_band_is_told_in_words() {
    let cases = [(0.01, "below"), (0.05, "within"), (0.20, "within"), (0.21, "above")];
    for (loop_n, word) in cases {
        assert!(band_words(loop_n).starts_with(word), "{loop_n} N: {}", band_words(loop_n));
    }
}

#[test]
fn every_button_asks_for_its_action() {
    let live = Model { player: Player::Right, paused: true, ..model() };
    let marked = Model { score: Some(score()), show_debrief: true, ..model() };
    let cases: &[(Panel, &Model, &str, Action)] = &[
        (transport::show, &live, "▶ Play (P)", Action::TogglePause),
        (transport::show, &model(), "⏸ Pause (P)", Action::TogglePause),
        (transport::show, &live, "⏭ Step (.)", Action::Step),
        (transport::show, &live, "1/8", Action::SetSpeed(Speed::Eighth)),
        (transport::show, &live, "Give back (T)", Action::TogglePlayer),
        (transport::show, &model(), "Take over (T)", Action::TogglePlayer),
        (transport::show, &live, "Hand in (F)", Action::Finish),
        (transport::show, &marked, "Marks (M)", Action::ToggleDebrief),
        (help::show, &model(), "Keys (H)", Action::ToggleHelp),
        (debrief::show, &marked, "Close (M)", Action::ToggleDebrief),
    ];
    for (panel, model, label, action) in cases {
        assert_eq!(click(*panel, model, label), [*action], "{label}");
    }
}

#[test]
fn the_caption_says_whose_hands_move() {
    let with = |player, paused| transport::caption(&Model { player, paused, ..model() });
    assert_eq!(with(Player::Script, false), "Third throw: draw the tail through, away from you");
    assert_eq!(with(Player::Left, true), "Your hands: forceps active, needle holder parked (paused)");
    assert_ne!(with(Player::Right, false), with(Player::Left, false));
}

#[test]
fn the_debrief_says_verdict_reasons_advice_and_cautions() {
    let passed = Model { score: Some(score()), ..model() };
    let words_passed = words(debrief::show, &passed);
    let mut parts = vec!["✔ PASSED", "77.4 of 100", "pass mark 70", "Blanching", "0.35", "weight 20"];
    parts.extend([
        "6.1 mm2 of gum stayed pale 5 s after the last throw.",
        "Next time: Stop pulling when the edges meet.",
    ]);
    parts.push("One thing to change: Stop pulling when the edges meet.");
    for part in parts.into_iter().chain(knotwright::report::CAUTIONS.iter().copied()) {
        assert!(words_passed.contains(part), "no `{part}` in\n{words_passed}");
    }
    let failed = knotwright::score::Score {
        passed: false,
        reasons: vec!["total 41.0 is below the pass mark 70.0".to_owned()],
        ..score()
    };
    let words_failed = words(debrief::show, &Model { score: Some(failed), ..model() });
    assert!(words_failed.contains("✖ NOT PASSED"), "{words_failed}");
    assert!(words_failed.contains("total 41.0 is below the pass mark 70.0"), "{words_failed}");
}

#[test]
fn the_help_card_lists_every_key_once() {
    let words = words(help::show, &Model { show_help: true, ..model() });
    for (keys, effect) in help::KEYS {
        assert!(words.contains(keys) && words.contains(effect), "{keys}: {effect}");
        assert_eq!(help::KEYS.iter().filter(|(other, _)| other == keys).count(), 1, "{keys}");
    }
}

#[test]
fn speeds_step_up_and_down_and_stop_at_the_ends() {
    assert_eq!(Speed::Whole.next(true), Speed::Whole);
    assert_eq!(Speed::Whole.next(false), Speed::Half);
    assert_eq!(Speed::Eighth.next(false), Speed::Eighth);
    assert_eq!(Speed::ALL.map(Speed::factor), [0.125, 0.25, 0.5, 1.0]);
}

#[test]
fn all_panels_fit_on_a_small_screen() {
    let tying = Model { show_help: true, player: Player::Right, notice: "Software rendering".to_owned(), ..model() };
    let marked = Model { score: Some(score()), show_debrief: true, ..model() };
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(800.0, 500.0));
    for (model, names) in [(tying, &["readout", "help", "transport"][..]), (marked, &["transport", "debrief"])] {
        let ctx = egui::Context::default();
        for _ in 0..3 {
            let input = egui::RawInput { screen_rect: Some(screen), ..egui::RawInput::default() };
            ctx.run_ui(input, |ui| {
                ui::set_style(ui.ctx());
                ui::show(ui.ctx(), &model, &mut Vec::new());
            })
            .textures_delta
            .clear();
        }
        for name in names {
            let id = egui::Id::new(*name);
            let rect = ctx.memory(|memory| memory.area_rect(id)).unwrap_or_else(|| panic!("{name} was not drawn"));
            assert!(screen.contains_rect(rect), "{name} at {rect:?} leaves {screen:?}");
        }
    }
}
