//! What the panels say and ask for, drawn without a window.
#![expect(clippy::float_cmp, reason = "eighths are exact")]

use std::sync::Arc;

use bevy_egui::egui;

use knotwright::app::ui::{
    self, Action, KnotView, Model, Player, PullState, PullView, ReplaySpeed, ReplayView, Speed, Tab, TouchView,
    debrief, help, lesson, offer, readout, replay, touch, transport,
};
use knotwright::app::words::Language::English;
use knotwright::app::{Measured, Stage, ui::readout::band_words};
use knotwright::input::bindings::{ACTS, Act, Bindings, Hand, Key, When};
use knotwright::math::DVec3;
use knotwright::pull::{End, Frame, Point, Pull, SLIP_MAX};
use knotwright::score::Past;
use knotwright::simulation::snapshot::Readout;

use super::fake::{Fake, score};
use crate::scoring::{faultless, order, pages};

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
        let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(1200.0, 1400.0));
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
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(1200.0, 1400.0));
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
fn a_case_without_aids_shows_neither_gauges_nor_throws_until_there_are_marks() {
    let bare = Model { no_gauges: true, no_throws: true, ..model() };
    let tying = words(readout::show, &bare);
    for part in ["tension", "Pale", "Throws", "from the gum up"] {
        assert!(!tying.contains(part), "`{part}` is shown in\n{tying}");
    }
    assert!(tying.contains("First stitch"));
    let marked = words(readout::show, &Model { score: Some(score()), ..bare.clone() });
    assert!(marked.contains("Loop tension") && marked.contains("Throws"), "{marked}");
    let throws_only = words(readout::show, &Model { no_throws: false, ..bare });
    assert!(throws_only.contains("Throws") && !throws_only.contains("Loop tension"), "{throws_only}");
}

#[test]
fn the_readout_grows_with_what_there_is_to_show() {
    let full = model();
    let bare = Model { no_gauges: true, no_throws: true, ..full.clone() };
    let ctx = egui::Context::default();
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(960.0, 600.0));
    let mut seen = Vec::new();
    for model in [&bare, &bare, &bare, &full, &full, &full] {
        let input = egui::RawInput { screen_rect: Some(screen), ..egui::RawInput::default() };
        let mut output = ctx.run_ui(input, |ui| ui::show(ui.ctx(), model, &mut Vec::new()));
        output.textures_delta.clear();
        seen.clear();
        for clipped in &output.shapes {
            let mut texts = Vec::new();
            gather(&clipped.shape, &mut texts);
            seen.extend(
                texts.into_iter().filter(|(_, rect)| clipped.clip_rect.contains_rect(*rect)).map(|(text, _)| text),
            );
        }
    }
    assert!(seen.iter().any(|text| text.starts_with("from the gum up")), "{seen:?}");
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
        let words = band_words(English, loop_n);
        assert!(words.starts_with(word), "{loop_n} N: {words}");
    }
}

/// A debrief that shows what was measured.
fn measured() -> Model {
    let found = Measured::of(faultless(), pages::view(), order(), Vec::new());
    let measured = Some(Arc::new(found));
    Model { score: Some(score()), show_debrief: true, measured, tab: Tab::Measured, ..model() }
}

#[test]
fn what_was_measured_is_shown_with_its_numbers_and_each_event_leads_to_its_moment() {
    let model = measured();
    let told = words(debrief::show, &model);
    // The bites and the ends of the example, the knot of the example's view, and its largest values.
    for part in ["2.4 mm", "2.6 mm", "2=1=1", "from the gum up", "largest 0.64 at 71.0 s", "largest 11.50 at 71.0 s"] {
        assert!(told.contains(part), "no `{part}` in\n{told}");
    }
    let found = model.measured.as_ref().expect("it is there");
    let bite = &found.findings.stitches[0].bites[1];
    let (texts, _) = draw(debrief::show, &model, None);
    let event = texts.iter().find(|(text, _)| text == "Bite 2, through the tongue’s flap").expect("it is told");
    let button =
        texts.iter().filter(|(text, rect)| text.starts_with('▶') && rect.y_range().contains(event.1.center().y));
    let button = button.map(|(_, rect)| rect.center()).next().expect("it has a button");
    assert_eq!(draw(debrief::show, &model, Some(button)).1, [Action::Seek(bite.tick.0)]);
    let marks = words(debrief::show, &Model { tab: Tab::Marks, ..model });
    assert!(!marks.contains("largest 0.64"), "{marks}");
}

#[test]
fn ones_own_attempts_are_shown_criterion_by_criterion_once_there_are_two() {
    let attempt = |day: &str, total: f64, throws: f64| Past {
        day: day.to_owned(),
        total,
        passed: total >= 70.0,
        marks: vec![("blanching".to_owned(), 0.35), ("throws".to_owned(), throws)],
    };
    let shown = |past: Vec<Past>| {
        let found = Measured::of(faultless(), pages::view(), order(), past);
        words(debrief::show, &Model { measured: Some(Arc::new(found)), tab: Tab::Progress, ..measured() })
    };
    let (first, last) = (attempt("2026-05-03", 61.0, 0.4), attempt("2026-05-17", 77.4, 1.0));
    let two = shown(vec![first.clone(), last]);
    let span = "2 attempts at this case, the first on 2026-05-03, the last on 2026-05-17.";
    for part in [span, "Total", "77.4", "⬆", "0.35", "=", "Blanching", "Your attempts"] {
        assert!(two.contains(part), "no `{part}` in\n{two}");
    }
    assert!(!two.contains("⬇"), "nothing became worse:\n{two}");
    assert!(shown(vec![attempt("2026-05-02", 80.0, 1.0), first]).contains("⬇"));
    assert!(!words(debrief::show, &measured()).contains("Your attempts"), "without others there is nothing to compare");
}

#[test]
fn a_click_into_a_chart_goes_to_the_moment() {
    let model = measured();
    let (texts, _) = draw(debrief::show, &model, None);
    let at = |text: &str| texts.iter().find(|(found, _)| found == text).map(|(_, rect)| *rect).expect("it is there");
    let title = at("Tension of the loop [N]");
    // Straight below the number 40 of the axis of time, in the middle of the chart.
    let forty = texts.iter().find(|(text, rect)| text == "40" && rect.top() > title.bottom()).expect("it is marked");
    let asked = draw(debrief::show, &model, Some(egui::pos2(forty.1.center().x, title.bottom() + 40.0))).1;
    let [Action::Seek(tick)] = asked[..] else { panic!("{asked:?}") };
    // A point of the screen is an eighth of a second here.
    assert!(tick.abs_diff(40 * 60) <= 10, "{tick}");
}

#[test]
fn every_button_asks_for_its_action() {
    let live = Model { player: Player::Right, paused: true, ..model() };
    let marked = Model { score: Some(score()), show_debrief: true, ..model() };
    let pulled = Model { pull: Some(PullView::default()), ..marked.clone() };
    let offered = Model { offer: "An attempt was broken off.".to_owned(), ..model() };
    let played = Model { can_begin_anew: true, ..model() };
    let again = Model { can_begin_anew: true, ..marked.clone() };
    let replayed = Model { replay: ReplayView { open: true, ..ReplayView::default() }, ..marked.clone() };
    let cases: &[(Panel, &Model, &str, Action)] = &[
        (transport::show, &live, "▶ Play (P)", Action::TogglePause),
        (transport::show, &model(), "⏸ Pause (P)", Action::TogglePause),
        (transport::show, &live, "⏭ Step (.)", Action::Step),
        (transport::show, &live, "1/8", Action::SetSpeed(Speed::Eighth)),
        (transport::show, &live, "Give back (T)", Action::TogglePlayer),
        (transport::show, &model(), "Take over (T)", Action::TogglePlayer),
        (transport::show, &live, "Hand in (F)", Action::Finish),
        (transport::show, &played, "Begin yourself (B)", Action::BeginAnew),
        (transport::show, &marked, "Marks (M)", Action::ToggleDebrief),
        (help::show, &model(), "Keys (H)", Action::ToggleHelp),
        (debrief::show, &marked, "Close (M)", Action::ToggleDebrief),
        (debrief::show, &marked, "Replay (R)", Action::ReplayOpen(true)),
        (debrief::show, &again, "New attempt (B)", Action::BeginAnew),
        (debrief::show, &marked, "▶ 21.2 s", Action::Seek(1272)),
        (debrief::show, &pulled, "The knot, pulled open", Action::ShowTab(Tab::Pull)),
        (transport::show, &marked, "Replay (R)", Action::ReplayOpen(true)),
        (offer::show, &offered, "Go on with it (Y)", Action::Answer(true)),
        (offer::show, &offered, "Begin anew (N)", Action::Answer(false)),
        (task_card, &model(), "Skip the tutorial (Esc)", Action::EndTutorial),
        (replay_bar, &replayed, "▶ Play (P)", Action::ReplayPlay),
        (replay_bar, &replayed, "1/4", Action::ReplaySpeed(ReplaySpeed::Quarter)),
        (replay_bar, &replayed, "4", Action::ReplaySpeed(ReplaySpeed::Fourfold)),
        (replay_bar, &replayed, "Marks (M)", Action::ReplayOpen(false)),
    ];
    for (panel, model, label, action) in cases {
        assert_eq!(click(*panel, model, label), [*action], "{label}");
    }
}

fn task_card(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    lesson::show(ui, model, Some(3), out);
}

#[test]
fn the_tutorial_says_first_how_to_get_the_hands_then_what_to_do_and_how() {
    let script = words(task_card, &model());
    assert!(script.contains("Press T") && script.contains("task 4 of 6"), "{script}");
    let live = words(task_card, &Model { player: Player::Right, ..model() });
    let task = knotwright::app::tutorial::TASKS[3];
    let how = English.tell(task.how, &English.acts(&Bindings::default()));
    assert!(live.contains(&English.say(task.what)) && live.contains(&how) && !live.contains("Press T"), "{live}");
}

fn replay_bar(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    replay::show(ui, model, &model.replay, out);
}

#[test]
fn the_bar_of_a_replay_goes_where_it_is_clicked_and_no_further_than_the_film() {
    let view = ReplayView { open: true, end: 600, have: 300, at: 0, ..ReplayView::default() };
    let model = Model { replay: view, ..model() };
    // The bar is as wide as the panel, below the line of the caption.
    let (texts, _) = draw(replay_bar, &model, None);
    let below =
        texts.iter().find(|(text, _)| text.starts_with("Replay")).expect("there is a caption").1.bottom() + 14.0;
    let at = |x: f32| draw(replay_bar, &model, Some(egui::pos2(x, below))).1;
    let [Action::Seek(quarter)] = at(8.0 + 155.0)[..] else { panic!("{:?}", at(163.0)) };
    assert!((140..=170).contains(&quarter), "a quarter of 600 ticks, not {quarter}");
    assert_eq!(at(8.0 + 500.0), [Action::Seek(300)]);
}

#[test]
fn faults_are_notched_on_the_bar_and_what_is_right_is_not() {
    assert_eq!(replay::faults(&Model { score: Some(score()), ..model() }), [1272]);
    assert_eq!(replay::faults(&model()), [0_u32; 0]);
}

#[test]
fn what_a_hand_did_not_get_is_said_with_its_reason() {
    let refusal = "The needle is not set: the needle holder's jaws are open: shut them first".to_owned();
    let refused = words(transport::show, &Model { refusal: refusal.clone(), player: Player::Right, ..model() });
    assert!(refused.contains(&format!("✖ {refusal}")), "{refused}");
    assert!(!words(transport::show, &model()).contains('✖'));
}

#[test]
fn while_an_attempt_is_marked_the_bar_says_so_and_offers_nothing() {
    let busy = words(transport::show, &Model { busy: "The attempt is being marked …".to_owned(), ..model() });
    assert!(busy.contains("The attempt is being marked …"), "{busy}");
    assert!(!busy.contains("Pause") && !busy.contains("Take over"), "{busy}");
}

#[test]
fn the_caption_says_whose_hands_move() {
    let with = |player, paused| transport::caption(English, &Model { player, paused, ..model() });
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
        reasons: vec![knotwright::said::Said::plain("total 41.0 is below the pass mark 70.0")],
        ..score()
    };
    let words_failed = words(debrief::show, &Model { score: Some(failed), ..model() });
    assert!(words_failed.contains("✖ NOT PASSED"), "{words_failed}");
    assert!(words_failed.contains("total 41.0 is below the pass mark 70.0"), "{words_failed}");
}

#[test]
fn the_help_card_names_every_act_of_an_attempt_and_follows_the_keys() {
    let card =
        |keys: Bindings| words(help::show, &Model { show_help: true, gamepad: true, keys: Arc::new(keys), ..model() });
    let common = card(Bindings::default());
    assert!(!common.contains('{'), "an act is not known:\n{common}");
    for entry in ACTS.iter().filter(|entry| entry.when.contains(&When::Attempt)) {
        let moved = Key::named("F12").expect("there is one");
        let mut keys = Bindings::default();
        assert!(common.contains(&English.pressed(&keys, entry.act)), "{}", entry.name);
        keys.set_keys(entry.act, vec![moved]);
        assert!(entry.keys[0].starts_with("Pad") || card(keys).contains("F12"), "{} is not on the card", entry.name);
    }
    let bare = words(help::show, &Model { show_help: true, ..model() });
    for (_, effect) in help::KEYS {
        let words = English.tell(effect, &English.acts(&Bindings::default()));
        assert_eq!(bare.matches(&words).count(), 1, "{effect}");
    }
    assert!(common.contains("bumper") && !bare.contains("bumper"), "only a gamepad has some");
    assert!(card(Bindings::of(Hand::Left)).contains("the field is mirrored") && !common.contains("mirrored"));
}

#[test]
fn buttons_and_tasks_name_the_keys_that_are_bound() {
    let text = "(format: 1, keys: {\"pause\": [\"F1\"], \"take_over\": [\"F2\"], \"play\": [\"F3\"], \"ratchet\": [\"F4\"],\
                \"end_tutorial\": [\"F5\"], \"accept\": [\"F6\"], \"begin_anew\": [\"F7\"], \"seek_on\": [\"F8\"]})";
    let keys = Arc::new(knotwright::input::bindings::parse("keys.ron", text).expect("it is in order"));
    let model = Model { keys, ..model() };
    let live = Model { player: Player::Right, ..model.clone() };
    let again = Model { score: Some(score()), can_begin_anew: true, ..model.clone() };
    let cases: &[(Panel, &Model, &str)] = &[
        (transport::show, &model, "⏸ Pause (F1)"),
        (transport::show, &model, "Take over (F2)"),
        (replay_bar, &model, "▶ Play (F3)"),
        (task_card, &live, "locked by F4"),
        (task_card, &model, "Press F2"),
        (task_card, &model, "Skip the tutorial (F5)"),
        (offer::show, &model, "Go on with it (F6)"),
        (debrief::show, &again, "New attempt (F7)"),
        (replay_bar, &model, "F8 a second"),
    ];
    for (panel, model, part) in cases {
        let words = words(*panel, model);
        assert!(words.contains(part), "no `{part}` in\n{words}");
    }
}

#[test]
fn what_goes_on_without_a_key_and_a_left_handed_field_are_said() {
    let going = Model { going_on: "ring plane (C)".to_owned(), ..model() };
    assert!(words(transport::show, &going).contains("On until pressed again: ring plane (C)"));
    assert!(!words(transport::show, &model()).contains("until pressed"));
    let left = Model { keys: Arc::new(Bindings::of(Hand::Left)), player: Player::Right, ..model() };
    assert_eq!(transport::caption(English, &left), "Your hands, left-handed: needle holder active, forceps parked");
}

fn finger_buttons(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    touch::show(ui, model.touch.as_ref().expect("there are some"), out);
}

#[test]
fn every_button_for_fingers_asks_for_its_act_and_is_large_enough_for_one() {
    let model = Model { touch: Some(TouchView::default()), ..model() };
    for (key, act) in touch::BUTTONS {
        assert_eq!(click(finger_buttons, &model, &English.say(key)), [Action::Give(*act)], "{key}");
    }
    let (texts, _) = draw(finger_buttons, &model, None);
    let place = |key: &str| texts.iter().find(|(text, _)| *text == English.say(key)).expect("it is there").1.center();
    let apart = [place("touch-switch") - place("touch-jaws"), place("touch-turn") - place("touch-jaws")];
    assert!(apart[0].x >= 84.0 && apart[1].y >= 36.0, "{apart:?}");
}

#[test]
fn the_slider_for_fingers_asks_for_a_height_that_is_greater_further_up() {
    let model = Model { touch: Some(TouchView { height: 9.0, ..TouchView::default() }), ..model() };
    let (texts, _) = draw(finger_buttons, &model, None);
    let name = texts.iter().find(|(text, _)| text == "Height").expect("it is there").1;
    let asked = |down: f32| match draw(finger_buttons, &model, Some(name.left_bottom() + egui::vec2(8.0, down))).1[..] {
        [Action::RaiseTo(height), ..] => height,
        ref other => panic!("{down}: {other:?}"),
    };
    let [high, middle, low] = [20.0, 50.0, 80.0].map(asked);
    assert!(high <= 40_000 && high > middle && middle > low && low >= -5_000, "{high}, {middle}, {low} µm");
}

#[test]
fn buttons_for_fingers_are_there_once_one_was_felt_and_give_way_to_the_card_and_to_the_arches() {
    let screen: Panel = |ui, model, out| ui::show(&ui.ctx().clone(), model, out);
    let felt = Model { touch: Some(TouchView { on: vec![Act::Ring], ..TouchView::default() }), ..model() };
    assert!(words(screen, &felt).contains("Ring plane") && !words(screen, &model()).contains("Ring plane"));
    assert!(!words(screen, &Model { show_help: true, ..felt }).contains("Other hand"));
}

#[test]
fn speeds_step_up_and_down_and_stop_at_the_ends() {
    assert_eq!(Speed::Whole.next(true), Speed::Whole);
    assert_eq!(Speed::Whole.next(false), Speed::Half);
    assert_eq!(Speed::Eighth.next(false), Speed::Eighth);
    assert_eq!(Speed::ALL.map(Speed::factor), [0.125, 0.25, 0.5, 1.0]);
}

/// A pull with a frame and a curve.
pub(super) fn pulled_view() -> PullView {
    let point = Point { extension: 0.4, force: 1500.0, slip: 0.25, given: 0.3 };
    let strands = [-1.0, 1.0].map(|side| vec![DVec3::Z, DVec3::ZERO, DVec3::X * side]);
    let pull =
        Pull { end: End::Slipped, slip_limit: SLIP_MAX, holding_force: 1500.0, tails: [3.0; 2], curve: vec![point] };
    PullView {
        count: 3,
        state: PullState::Done(Arc::new(pull)),
        frames: Arc::new(vec![Frame { strands, point: Some(point), broke: None }]),
        radius: 0.1,
        ..PullView::default()
    }
}

#[test]
fn all_panels_fit_on_a_small_screen() {
    let tying = Model { show_help: true, player: Player::Right, notice: "Software rendering".to_owned(), ..model() };
    let marked = Model { score: Some(score()), show_debrief: true, ..model() };
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(800.0, 500.0));
    let refused = Model {
        refusal: "The needle is not set: its thread still runs through the gum: tie and cut it first".to_owned(),
        ..tying.clone()
    };
    let pulled = Model { pull: Some(pulled_view()), tab: Tab::Pull, ..marked.clone() };
    let replayed = Model {
        replay: ReplayView {
            open: true,
            end: 9,
            have: 5,
            note: Some("Recording: verified; whole".to_owned().into()),
            ..ReplayView::default()
        },
        ..marked.clone()
    };
    let bench =
        Model { knot: Some(KnotView { lines: vec!["Stitch 1: 2=1=1, flat, clear".to_owned(); 6] }), ..pulled.clone() };
    let taught = Model { lesson: Some(Some(3)), ..tying.clone() };
    let offered = Model { offer: "An attempt was broken off.".to_owned(), ..tying.clone() };
    let fingers = Model { touch: Some(TouchView::default()), show_help: false, ..taught.clone() };
    let cases: [(Model, &[&str]); 9] = [
        (fingers, &["readout", "touch", "transport", "lesson"]),
        (tying, &["readout", "help", "transport"]),
        (refused, &["readout", "transport"]),
        (taught, &["readout", "help", "transport", "lesson"]),
        (offered, &["offer"]),
        (marked, &["transport", "debrief"]),
        (pulled, &["transport", "debrief"]),
        (replayed, &["replay", "readout"]),
        (bench, &["knot", "pull"]),
    ];
    for (model, names) in cases {
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

#[test]
fn a_file_that_is_not_in_order_is_said_with_all_its_problems_beside_the_rest() {
    let problems = "mine.ron:3:1: seed is -1, allowed 0 to 9\n  3 | seed: -1,\n    | ^\nmine.ron:9:1: site.tooth is 95";
    let screen: Panel = |ui, model, out| ui::show(&ui.ctx().clone(), model, out);
    let broken = Model { file_problems: Some(("mine.ron".to_owned(), problems.to_owned())), ..model() };
    let said = words(screen, &broken);
    for line in ["✖ mine.ron is not in order"].into_iter().chain(problems.lines()) {
        assert!(said.contains(line), "no `{line}` in\n{said}");
    }
    assert!(!words(screen, &model()).contains("not in order"));
}

#[test]
fn what_is_told_to_the_ear_stands_in_a_line_as_well_and_goes_on_in_the_next() {
    let cue: Panel = |ui, model, _| ui::cue(ui, &model.cue);
    let told = Model { cue: "The loop is above 0.20 N".to_owned(), ..model() };
    let (texts, _) = draw(cue, &told, None);
    let [(text, place)] = &texts[..] else { panic!("{texts:?}") };
    assert_eq!(text, "♪ The loop is above 0.20 N");
    assert!(place.width() <= 130.0 && place.height() > 25.0, "two lines beside the bar: {place}");
}
