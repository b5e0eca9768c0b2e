//! The words of the window: the same texts in every language, none beside the files, none in a file that nobody asks for.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use bevy::prelude::{App, MinimalPlugins, TransformPlugin};
use bevy_egui::egui::{self, accesskit};

use knotwright::app::acts::Bound;
use knotwright::app::beside::Beside;
use knotwright::app::cues::Cue;
use knotwright::app::form::Form;
use knotwright::app::panels::{self, Asked, Desk};
use knotwright::app::pulling::Pulls;
use knotwright::app::ticking::{self, OnStage};
use knotwright::app::ui::{
    self, Action, KnotView, Model, Player, PullState, PullView, ReplayView, SiteView, Tab, TouchView,
};
use knotwright::app::view::Shown;
use knotwright::app::words::Language;
use knotwright::app::{FormSource, Measured, Scene, Stage, lesson};
use knotwright::input::bindings::{ACTS, Act, Bindings, KEYS};
use knotwright::pull::Frame;
use knotwright::quantity::Tick;
use knotwright::report::CAUTIONS;
use knotwright::said::{Said, Speaks};
use knotwright::scenario::CRITERION_IDS;
use knotwright::score::{Bands, CRITERIA, CheckedSite, CriticalMark, Past};
use knotwright::simulation::arming::NotArmed;
use knotwright::simulation::attempt::Refusal;
use knotwright::tooth::Tooth;

use super::fake::{Fake, scenario, score};
use crate::scoring::words::{between, texts_of};
use crate::scoring::{faultless, order, pages};
use crate::tidy::code_in;

/// The texts of a language that are the window's own.
fn texts(language: Language) -> BTreeMap<&'static str, &'static str> {
    texts_of(language.file())
}

/// Names of what is put into a text.
fn put_in(text: &str) -> BTreeSet<&str> {
    between(text, "{ $", " }")
}

/// A file of the window and the text literals in it, those of its own tests left out.
fn literals() -> Vec<(String, Vec<String>)> {
    let code = ["src/app/", "src/cli/stage/"].into_iter().flat_map(code_in);
    let found: Vec<_> = code.map(|(path, code)| (path, quoted(&code))).collect();
    assert!(found.len() > 40, "the search must find at least what is known");
    found
}

/// What stands between quotation marks in code, comments, attributes and what only a programmer reads left out.
fn quoted(code: &str) -> Vec<String> {
    let for_programmers = ["//", "#[", "expect(", "panic!(", "unreachable!(", "assert!("];
    let lines = code.lines().filter(|line| !for_programmers.iter().any(|part| line.contains(part)));
    lines.flat_map(|line| line.split('"').skip(1).step_by(2).map(str::to_owned)).collect()
}

/// Whether something is a key and no word, as every key has to: small letters and figures in parts, `-` between them.
fn looks_like_a_key(text: &str) -> bool {
    let small = |part: &str| !part.is_empty() && part.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit());
    text.contains('-') && text.starts_with(char::is_alphabetic) && text.split('-').all(small)
}

/// Keys that are put together from what core calls things by.
fn put_together() -> BTreeSet<String> {
    let toggles = ACTS.iter().filter(|entry| entry.held).map(|entry| format!("act-{}", entry.name));
    let criteria = CRITERION_IDS.iter().map(|id| format!("criterion-{id}"));
    let teeth = (1..=4).map(|n| format!("tooth-quadrant-{n}")).chain((1..=8).map(|n| format!("tooth-place-{n}")));
    toggles.chain(criteria).chain(teeth).collect()
}

#[test]
fn every_language_has_the_same_texts_with_the_same_things_put_in() {
    let english = texts(Language::English);
    for language in Language::ALL {
        let other = texts(language);
        assert_eq!(other.keys().collect::<Vec<_>>(), english.keys().collect::<Vec<_>>(), "{}", language.code());
        for (key, words) in &other {
            assert_eq!(put_in(words), put_in(english[key]), "{} {key}", language.code());
        }
        assert_eq!(Language::coded(language.code()), Some(language));
    }
}

#[test]
fn every_text_that_is_asked_for_is_there_and_every_text_that_is_there_is_asked_for() {
    let there: BTreeSet<String> = texts(Language::English).into_keys().map(str::to_owned).collect();
    let literals: BTreeSet<String> = literals().into_iter().flat_map(|(_, literals)| literals).collect();
    let asked: Vec<&String> = literals.iter().filter(|text| looks_like_a_key(text)).collect();
    assert!(there.iter().all(|key| key.contains('-')), "a key without `-` is not told from a word");
    let missing: Vec<_> = asked.iter().filter(|key| !there.contains(**key)).collect();
    assert!(missing.is_empty(), "asked for and not there: {missing:?}");
    let together = put_together();
    let missing: Vec<_> = together.difference(&there).collect();
    assert!(missing.is_empty(), "not there: {missing:?}");
    let of_key = |key: &String| KEYS.iter().any(|name| *key == format!("key-{name}"));
    let idle = |key: &&String| !literals.contains(*key) && !together.contains(*key) && !of_key(key);
    let idle: Vec<_> = there.iter().filter(idle).collect();
    assert!(idle.is_empty(), "nobody asks for {idle:?}");
}

/// What is no text of the window's own.
const NO_WORDS: &[&str] = &[
    // The same in every language.
    "1 mm",
    // Names of places in memory.
    "new name",
    "keys of the site check",
    // Where the part of a reading that is shown ends.
    "knot at",
];

#[test]
fn no_words_stand_in_the_panels_themselves() {
    for (path, literals) in literals().iter().filter(|(path, _)| path.starts_with("src/app/ui/")) {
        for text in literals.iter().filter(|text| !NO_WORDS.contains(&text.as_str())) {
            // What format! puts in is no word. One word in small letters may be the name of an area: that is not found.
            let text: String =
                text.split('{').map(|part| part.split_once('}').map_or(part, |(_, after)| after)).collect();
            let words = text.split(' ').filter(|word| word.chars().filter(|c| c.is_alphabetic()).count() > 1).count();
            let capital = text.chars().next().is_some_and(char::is_uppercase) && text.len() > 2;
            assert!(words < 2 && !capital, "{path}: {text:?} is to stand in assets/words");
        }
    }
}

#[test]
fn in_english_the_window_calls_things_as_core_does() {
    let english = Language::English;
    for tooth in Tooth::arches().into_iter().flatten() {
        assert_eq!((english.tooth(tooth), english.tooth_described(tooth)), (tooth.name(), tooth.described()));
    }
    for criterion in CRITERIA {
        assert_eq!(english.say(&format!("criterion-{}", criterion.id())), criterion.title());
    }
    for entry in ACTS.iter().filter(|entry| entry.held) {
        assert_eq!(english.say(&format!("act-{}", entry.name)), entry.does);
    }
    let arm = [
        NotArmed::NoNeedle,
        NotArmed::Sticks,
        NotArmed::ThreadInGum,
        NotArmed::HoldsThread,
        NotArmed::JawsOpen,
        NotArmed::InTheWay,
    ];
    for refusal in arm.map(Refusal::Arm).into_iter().chain([Refusal::Cut, Refusal::Mark]) {
        assert_eq!(english.word(&refusal.into()), refusal.to_string());
    }
    for (caution, number) in CAUTIONS.iter().zip(1..) {
        assert_eq!(english.say(&format!("debrief-caution-{number}")), *caution);
    }
    assert_eq!(CAUTIONS.len(), 3);
}

#[test]
fn a_mark_is_said_in_the_language_that_is_spoken() {
    let bite = CRITERIA.iter().find(|criterion| criterion.id() == "bite").expect("it is listed");
    let evidence = bite.assess(&faultless(), &order(), &Bands::default()).evidence;
    assert_eq!(evidence, Language::English.told(&evidence));
    assert_eq!(
        Language::German.told(&evidence),
        "Stiche: Wangenseite 2,4 mm vom Rand, 1,5 mm tief, unter 84 Grad eingestochen (12,0 s); \
         Zungenseite 2,6 mm vom Rand, 1,4 mm tief, unter 88 Grad eingestochen (20,0 s)."
    );
    let tooth = Tooth::try_from(45).expect("it exists");
    let site = CheckedSite { ordered: tooth, marked: Some((tooth, Tick(90))), first_bite: None };
    let in_full = "45 (zweiter Prämolar unten rechts; Universal 29, Palmer LR5)";
    let german = format!("Eingriffsort: beauftragt {in_full}, markiert {in_full} bei 1,5 s.");
    assert_eq!(Language::German.told(&site.sentence()), german);
}

#[test]
fn every_sentence_of_the_marks_is_one_that_the_window_can_read() {
    let texts = texts_of(Language::German.marks());
    assert!(texts.len() > 150, "only {} are found", texts.len());
    for (key, text) in texts {
        let parts: Vec<(&str, String)> = put_in(text).into_iter().map(|name| (name, "…".to_owned())).collect();
        let said = Language::German.sentence(key, &parts).unwrap_or_else(|| panic!("{key} is not read"));
        assert!(!said.contains(['{', '}', '$']), "{key}: {said}");
    }
}

#[test]
fn words_name_the_keys_that_are_bound() {
    let mut keys = Bindings::default();
    let named = |name| knotwright::input::bindings::Key::named(name).expect("there is one");
    keys.set_keys(Act::Switch, vec![named("F"), named("MouseBack"), named("PadEast")]);
    let said = |language: Language| {
        let how = language.tell("lesson-switch-how", &language.acts(&keys));
        [how, language.button("button-pause", &keys, Act::Switch), language.pressed_on_pad(&keys, Act::Switch)]
    };
    assert_eq!(
        said(Language::English),
        ["F or back button changes which hand the mouse moves.", "⏸ Pause (F)", "right-hand button"]
    );
    assert_eq!(
        said(Language::German),
        ["F oder Maustaste zurück wechselt, welche Hand die Maus bewegt.", "⏸ Pause (F)", "rechte Taste"]
    );
}

/// A screen in some language on which panels are drawn again and again.
struct Screen {
    ctx: egui::Context,
    size: egui::Vec2,
}

impl Screen {
    fn new(language: Language, size: [f32; 2]) -> Screen {
        let ctx = egui::Context::default();
        ctx.enable_accesskit();
        ui::set_style(&ctx);
        language.speak(&ctx);
        Screen { ctx, size: size.into() }
    }

    /// Draws a frame: what was asked for, and what a reader of the screen is told.
    fn frame(
        &mut self,
        model: &Model,
        form: Option<&Form>,
        events: Vec<egui::Event>,
    ) -> (Vec<Action>, Vec<accesskit::Node>) {
        let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, self.size);
        let input = egui::RawInput { screen_rect: Some(screen), events, ..egui::RawInput::default() };
        let mut asked = Vec::new();
        let mut output = self.ctx.run_ui(input, |ui| {
            ui::show(ui.ctx(), model, &mut asked);
            if let Some(form) = form {
                ui::form::show(ui.ctx(), form.view(), "", &mut Vec::new());
            }
        });
        output.textures_delta.clear();
        let nodes = output.platform_output.accesskit_update.map(|update| update.nodes).unwrap_or_default();
        (asked, nodes.into_iter().map(|(_, node)| node).collect())
    }

    /// Place and size of what is drawn for a letter.
    fn drawn(&self, letter: char) -> [egui::Vec2; 2] {
        let (letter, font) = (letter.to_string(), egui::FontId::proportional(14.0));
        let galley = self.ctx.fonts_mut(|fonts| fonts.layout_no_wrap(letter, font, egui::Color32::WHITE));
        let place = galley.rows[0].glyphs.first().map(|glyph| glyph.uv_rect);
        place.map_or([egui::Vec2::ZERO; 2], |place| [place.offset, place.size])
    }

    /// What a reader of the screen is told, once sizes are known.
    fn told(&mut self, model: &Model, form: Option<&Form>) -> Vec<String> {
        (0..2).for_each(|_| drop(self.frame(model, form, Vec::new())));
        let (_, nodes) = self.frame(model, form, Vec::new());
        nodes.iter().filter_map(|node| node.label().or(node.value())).map(str::to_owned).collect()
    }
}

/// Models that between them show every panel, each with the names of its areas and a text of each.
fn screens() -> Vec<(Model, &'static [&'static str], &'static [&'static str])> {
    let tooth = Tooth::try_from(45).expect("it exists");
    let site = |open| Some(SiteView { ordered: tooth, chosen: Some(tooth), open });
    let plain = Model {
        show_help: true,
        gamepad: true,
        can_edit: true,
        can_begin_anew: true,
        case_text: "…".to_owned(),
        readout: Fake::new().snapshot().readout,
        ..Model::default()
    };
    let live = Model { player: Player::Right, site: site(false), ..plain.clone() };
    let mut marks = score();
    marks.critical.push(CriticalMark {
        id: String::new(),
        evidence: Said::default(),
        advice: Said::plain("…"),
        tick: Tick(60),
        seconds: 1.0,
    });
    marks.site = Some(CheckedSite { ordered: tooth, marked: None, first_bite: None });
    let marked = Model { score: Some(marks), show_debrief: true, ..plain.clone() };
    let frames = Arc::new(vec![Frame { strands: [Vec::new(), Vec::new()], point: None, broke: None }]);
    let pull =
        PullView { count: 3, state: PullState::NoKnot, frames, radius: 0.1, from_shape: true, ..PullView::default() };
    let pulled = Model { pull: Some(pull), tab: Tab::Pull, ..marked.clone() };
    let replay = ReplayView { open: true, end: 9, have: 5, ..ReplayView::default() };
    let cue = Cue::Pale.words(Language::German);
    let found = Measured::of(faultless(), pages::view(), order(), Vec::new());
    let past = [61.0, 77.4].map(|total| Past { day: "…".to_owned(), total, passed: true, marks: Vec::new() });
    let twice = Measured { past: past.to_vec(), ..found.clone() };
    vec![
        (
            plain.clone(),
            &["readout", "help", "transport"],
            &["Fall bearbeiten", "Ringebene: ruhenden Schaft umkreisen", "Selbst beginnen (B)"],
        ),
        (
            Model { cue, ..live.clone() },
            &["cue", "readout", "help", "transport"],
            &["♪ Das Zahnfleisch wird blass", "Eingriffsort prüfen (K)", "Abgeben (F)"],
        ),
        (
            Model { cue: Cue::Pale.words(Language::German), ..plain.clone() },
            &["cue", "transport"],
            &["♪ Das Zahnfleisch wird blass", "Übernehmen (T)"],
        ),
        (
            Model { site: site(true), ..live.clone() },
            &["site"],
            &["45 zweiter Prämolar unten rechts", "Diesen Ort markieren"],
        ),
        (
            Model { lesson: Some(Some(0)), ..live.clone() },
            &["lesson"],
            &["Das Zahnfleisch mit der Spitze des Nadelhalters berühren"],
        ),
        (Model { offer: "…".to_owned(), ..plain.clone() }, &["offer"], &["Fortsetzen (Y)"]),
        (
            Model { file_problems: Some(("mine.ron".to_owned(), String::new())), ..plain.clone() },
            &["file"],
            &["✖ mine.ron ist nicht in Ordnung"],
        ),
        (
            marked.clone(),
            &["debrief"],
            &["✔ BESTANDEN", "77,4 von 100", "Zahnfleisch ohne Blässe", "Maßstab: …", "Neuer Versuch (B)"],
        ),
        (
            Model { measured: Some(Arc::new(found)), tab: Tab::Measured, mirrored: true, ..marked.clone() },
            &["debrief", "transport"],
            &[
                "Das Gemessene",
                "Zug in der Schlinge [N]: größter Wert 0,64 bei 71,0 s",
                "Die Stelle von oben. Stiche vom Rand: 2,4 mm, 2,6 mm",
            ],
        ),
        (
            Model { measured: Some(Arc::new(twice)), tab: Tab::Progress, ..marked.clone() },
            &["debrief", "transport"],
            &["Die eigenen Versuche", "Gesamt", "77,4", "Gesamt: 61,0, 77,4"],
        ),
        (
            Model { aside: Some(egui::TextureId::default()), show_help: false, ..live.clone() },
            &["aside", "readout", "help", "transport"],
            &["Von rechts, an der aktiven Spitze aufgeschnitten"],
        ),
        (
            Model { touch: Some(TouchView::default()), show_help: false, ..live.clone() },
            &["touch", "readout", "help", "transport"],
            &["Maul zu", "Andere Hand", "Ringebene", "Schneiden", "Höhe"],
        ),
        (
            Model { touch: Some(TouchView::default()), lesson: Some(Some(0)), ..live.clone() },
            &["touch", "readout", "help", "lesson"],
            &["Andere Hand"],
        ),
        (pulled.clone(), &["debrief", "transport"], &["Naht 1", "um 1,8 mm gerutscht"]),
        (
            Model { replay, ..marked },
            &["replay"],
            &["▶ Abspielen (P)", "Wiedergabe: Third throw: draw the tail through, away from you"],
        ),
        (
            Model { knot: Some(KnotView::default()), ..pulled },
            &["knot", "pull"],
            &[
                "Nur nach seiner Form gezogen: wie fest er angezogen war, ist nicht bekannt, und ein Knoten, der rutscht, tut es früher.",
            ],
        ),
    ]
}

pub(super) fn form() -> Form {
    let text = include_str!("../../scenarios/first_stitch.ron").to_owned();
    let source = FormSource { file: "mine.ron".to_owned(), on_disk: text.clone(), text, ..FormSource::default() };
    Form::of(Some(source), true)
}

/// Drawn where the fonts lack a letter.
const BOX: char = '◻';

#[test]
fn every_letter_and_sign_that_the_panels_draw_is_in_their_fonts() {
    for language in Language::ALL {
        let mut screen = Screen::new(language, [1600.0, 1400.0]);
        let form = form();
        for (number, (model, _, _)) in screens().iter().enumerate() {
            for told in screen.told(model, (number == 0).then_some(&form)) {
                let box_is_drawn = |letter: char| letter != BOX && screen.drawn(letter) == screen.drawn(BOX);
                let lacking: String = told.chars().filter(|letter| box_is_drawn(*letter)).collect();
                assert!(lacking.is_empty(), "boxes are drawn for `{lacking}` in `{told}`");
            }
        }
    }
}

#[test]
fn in_german_every_panel_speaks_german_and_nothing_of_it_english() {
    let (english, german) = (texts(Language::English), texts(Language::German));
    let differ = |key: &&str| !english[key].contains('{') && english[key] != german[key];
    let left_over: BTreeSet<&str> = english.keys().copied().filter(|key| differ(key)).map(|key| english[key]).collect();
    let form = form();
    let mut screens = screens();
    screens.push((screens[0].0.clone(), &[], &["In Ordnung, so wie in der Datei", "Datei", "Was der Fall besagt"]));
    for (number, (model, _, expected)) in screens.iter().enumerate() {
        let with_form = (number + 1 == screens.len()).then_some(&form);
        // High enough for all of the card of the keys.
        let told = Screen::new(Language::German, [1600.0, 1400.0]).told(model, with_form);
        for text in *expected {
            assert!(told.iter().any(|told| told == text), "no `{text}` in {told:#?}");
        }
        for text in &told {
            assert!(!left_over.contains(text.as_str()), "`{text}` is English");
            assert!(!english.contains_key(text.as_str()), "`{text}` is a key");
        }
    }
}

#[test]
fn the_slider_for_fingers_is_told_by_its_name_to_who_cannot_see_it() {
    let model = Model { touch: Some(TouchView::default()), ..Model::default() };
    let mut screen = Screen::new(Language::English, [960.0, 600.0]);
    screen.told(&model, None);
    let (_, nodes) = screen.frame(&model, None, Vec::new());
    let slider = nodes.iter().find(|node| node.role() == accesskit::Role::Slider).expect("there is one");
    assert_eq!(slider.labelled_by().len(), 1);
}

#[test]
fn in_every_language_all_panels_fit_on_a_small_screen() {
    let size = [960.0, 600.0];
    let whole = egui::Rect::from_min_size(egui::Pos2::ZERO, size.into());
    for language in Language::ALL {
        for (model, names, _) in screens() {
            let mut screen = Screen::new(language, size);
            screen.told(&model, None);
            let place = |name: &str| {
                let place = screen.ctx.memory(|memory| memory.area_rect(egui::Id::new(name)));
                place.unwrap_or_else(|| panic!("{name} was not drawn"))
            };
            for &name in names {
                assert!(whole.contains_rect(place(name)), "{}: {name} at {:?}", language.code(), place(name));
            }
            if names.contains(&"touch") {
                let buttons = place("touch");
                for other in names.iter().filter(|name| **name != "touch") {
                    let at = place(other);
                    assert!(
                        !buttons.intersects(at),
                        "{}: fingers' buttons at {buttons:?}, {other} at {at:?}",
                        language.code()
                    );
                }
            }
            if names.contains(&"cue") {
                let (line, bar) = (place("cue"), place("transport"));
                assert!(!line.intersects(bar), "{}: a cue at {line:?}, the bar at {bar:?}", language.code());
            }
        }
    }
}

#[test]
fn the_language_is_chosen_by_its_own_name_by_pointer_and_by_keys() {
    let model = screens().swap_remove(0).0;
    let mut screen = Screen::new(Language::English, [960.0, 600.0]);
    screen.told(&model, None);
    let (_, nodes) = screen.frame(&model, None, Vec::new());
    let node = nodes.iter().find(|node| node.label() == Some("Deutsch")).expect("it is told to who cannot see it");
    let bounds = node.bounds().expect("it has a place");
    #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
    let pos = egui::pos2((0.5 * (bounds.x0 + bounds.x1)) as f32, (0.5 * (bounds.y0 + bounds.y1)) as f32);
    let modifiers = egui::Modifiers::NONE;
    let button = |pressed| egui::Event::PointerButton { pos, button: egui::PointerButton::Primary, pressed, modifiers };
    screen.frame(&model, None, vec![egui::Event::PointerMoved(pos)]);
    screen.frame(&model, None, vec![button(true)]);
    let german = [Action::Speak(Language::German)];
    assert_eq!(screen.frame(&model, None, vec![button(false)]).0, german);
    let mut screen = Screen::new(Language::English, [960.0, 600.0]);
    let key = |key| egui::Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers };
    let by_keys = (0..40).any(|_| {
        screen.frame(&model, None, vec![key(egui::Key::Tab)]);
        screen.frame(&model, None, vec![key(egui::Key::Enter)]).0 == german
    });
    assert!(by_keys, "Tab reaches it and Enter chooses it");
}

#[test]
fn a_language_that_is_asked_for_is_spoken_from_then_on_and_remembered() {
    let stage = Fake::new();
    let remembered = Arc::clone(&stage.languages);
    let scene = Scene::Mouth(Box::new(scenario()));
    let mut app = App::new();
    app.add_plugins((MinimalPlugins, TransformPlugin))
        .insert_resource(Shown(stage.snapshot()))
        .insert_resource(Desk::new(&scene, String::new(), false))
        .insert_resource(OnStage(Box::new(Beside::of(Box::new(stage)))))
        .init_resource::<Bound>()
        .init_resource::<Pulls>()
        .add_plugins((ticking::plugin, lesson::plugin, panels::plugin));
    app.update();
    assert_eq!(*app.world().resource::<Language>(), Language::English);
    app.world_mut().resource_mut::<Asked>().0.push(Action::Speak(Language::German));
    app.update();
    assert_eq!(*app.world().resource::<Language>(), Language::German);
    assert_eq!(*remembered.lock().expect("one at a time"), ["de"]);
}
