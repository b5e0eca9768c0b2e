//! The form of a case: what is changed in it is in the file that it writes, and what is not in order is said and not written.

use std::collections::BTreeMap;

use bevy_egui::egui::{self, Event, Key, Modifiers, accesskit};
use knotwright::app::form::{FORM_MARK, Form};
use knotwright::app::ui::{self, FormAction};
use knotwright::app::{FormSource, Picture, Stage, screenshot};
use knotwright::input::TickCommand;
use knotwright::scenario::{self, Amount, Level, NeedlePoint, Scenario, Start};
use knotwright::score::Score;
use knotwright::simulation::snapshot::Snapshot;

use super::child::drawn_and_kept;
use super::fake::{Fake, scenario};

/// Tells the child where to draw to; where to keep the picture, to be looked at.
const DRAW_TO: &str = "KNOTWRIGHT_TEST_DRAW_FORM_TO";
const KEEP: &str = "KNOTWRIGHT_KEEP_FORM_PICTURE";

const FIRST: &str = include_str!("../../scenarios/first_stitch.ron");

type Nodes = Vec<(accesskit::NodeId, accesskit::Node)>;

/// A stage whose disk is a map.
#[derive(Default)]
struct Disk(BTreeMap<String, String>);

impl Stage for Disk {
    fn tick(&mut self, _hands: Option<&TickCommand>) {}
    fn snapshot(&self) -> Snapshot {
        Fake::new().snapshot()
    }
    fn current_command(&self) -> TickCommand {
        Fake::new().current_command()
    }
    fn finished(&self) -> Option<Score> {
        None
    }
    fn write_form(&mut self, file: &str, text: &str, before: Option<&str>) -> Result<(), String> {
        if before.is_none() && self.0.contains_key(file) {
            return Err(format!("{file}: it is there already"));
        }
        self.0.insert(file.to_owned(), text.to_owned());
        Ok(())
    }
    fn keep_unsaved(&mut self, file: &str, changes: Option<&str>) -> Result<(), String> {
        let kept = format!("{file}.unsaved");
        match changes {
            Some(changes) => drop(self.0.insert(kept, changes.to_owned())),
            None => drop(self.0.remove(&kept)),
        }
        Ok(())
    }
}

/// A screen with the form alone on it, high enough for all of it.
struct Screen {
    ctx: egui::Context,
    form: Form,
    disk: Disk,
    /// What is said of the file on the disk.
    on_disk: String,
}

impl Screen {
    fn on(text: &str, own: bool) -> Screen {
        let ctx = egui::Context::default();
        ctx.enable_accesskit();
        ui::set_style(&ctx);
        ctx.all_styles_mut(|style| style.animation_time = 0.0);
        let mut screen = Screen { ctx, form: form(text, own), disk: Disk::default(), on_disk: String::new() };
        (0..3).for_each(|_| drop(screen.frame(Vec::new())));
        screen
    }

    /// Draws one frame and does what was asked in it: what a reader of the screen is told.
    fn frame(&mut self, events: Vec<Event>) -> Nodes {
        let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(2400.0, 4000.0));
        let input = egui::RawInput { screen_rect: Some(screen), events, ..egui::RawInput::default() };
        let mut asked = Vec::new();
        let mut output =
            self.ctx.run_ui(input, |ui| ui::form::show(ui.ctx(), self.form.view(), &self.on_disk, &mut asked));
        output.textures_delta.clear();
        asked.into_iter().for_each(|action| self.form.take(action, &mut self.disk));
        output.platform_output.accesskit_update.map(|update| update.nodes).unwrap_or_default()
    }

    fn nodes(&mut self) -> Nodes {
        self.frame(Vec::new());
        self.frame(Vec::new())
    }

    fn click_on(&mut self, node: &accesskit::Node) {
        let bounds = node.bounds().expect("it has a place");
        #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let at = egui::pos2((0.5 * (bounds.x0 + bounds.x1)) as f32, (0.5 * (bounds.y0 + bounds.y1)) as f32);
        let button = |pressed| Event::PointerButton {
            pos: at,
            button: egui::PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        self.frame(vec![Event::PointerMoved(at)]);
        self.frame(vec![button(true)]);
        self.frame(vec![button(false)]);
        self.frame(Vec::new());
    }

    /// Clicks on what is called so itself.
    fn click(&mut self, name: &str) {
        let nodes = self.nodes();
        let found = nodes.iter().map(|(_, node)| node).find(|node| is_control(node) && label(node) == name);
        let node = found.unwrap_or_else(|| panic!("no `{name}` in\n{}", words(&nodes))).clone();
        self.click_on(&node);
    }

    /// The control beside this label.
    fn field(&mut self, name: &str) -> accesskit::Node {
        let nodes = self.nodes();
        let labels: Vec<_> = nodes.iter().filter(|(_, node)| label(node) == name).map(|(id, _)| *id).collect();
        let found = nodes.iter().map(|(_, node)| node);
        let mut found = found.filter(|node| node.labelled_by().iter().any(|id| labels.contains(id)));
        found.next().unwrap_or_else(|| panic!("nothing is labelled `{name}` in\n{}", words(&nodes))).clone()
    }

    fn press(&mut self, key: Key, modifiers: Modifiers) {
        let event = |pressed| Event::Key { key, physical_key: None, pressed, repeat: false, modifiers };
        self.frame(vec![event(true)]);
        self.frame(vec![event(false)]);
    }

    /// Writes something into the field beside this label, instead of what is there.
    fn write(&mut self, name: &str, text: &str) {
        let field = self.field(name);
        self.click_on(&field);
        self.press(Key::A, Modifiers::COMMAND);
        self.frame(vec![Event::Text(text.to_owned())]);
    }

    /// Opens sections, one in another.
    fn open(&mut self, names: &[&str]) {
        names.iter().for_each(|name| self.click(name));
    }

    /// What is in the file after saving.
    fn saved(&mut self) -> Scenario {
        self.click("Save");
        let text = self.disk.0.get("mine.ron").unwrap_or_else(|| panic!("not saved: {:?}", self.form.view().problems));
        assert!(text.starts_with(&format!("// {FORM_MARK}\n")), "{text}");
        scenario::parse("mine.ron", text).unwrap_or_else(|problems| panic!("{problems}\n{text}"))
    }
}

fn form(text: &str, own: bool) -> Form {
    let mut comment = scenario::opening_comment(text);
    if own {
        comment.insert(0, FORM_MARK.to_owned());
    }
    let (file, text, on_disk) = ("mine.ron".to_owned(), text.to_owned(), text.to_owned());
    Form::of(Some(FormSource { file, text, comment, own, on_disk, unsaved: None }), true)
}

/// What a reader of the screen says of a part: its label, or its words.
fn label(node: &accesskit::Node) -> &str {
    node.label().or(node.value()).unwrap_or_default()
}

fn is_control(node: &accesskit::Node) -> bool {
    !matches!(node.role(), accesskit::Role::Label | accesskit::Role::TextRun)
}

fn words(nodes: &Nodes) -> String {
    nodes.iter().map(|(_, node)| label(node)).collect::<Vec<_>>().join("\n")
}

#[test]
fn a_number_that_is_changed_is_in_the_file_and_nothing_else_is() {
    let mut screen = Screen::on(FIRST, true);
    screen.open(&["thread"]);
    screen.write("length_mm", "120.5");
    assert!(screen.form.view().changed && words(&screen.nodes()).contains("In order, and not saved yet"));
    let mut expected = scenario();
    expected.thread.length_mm = 120.5;
    assert_eq!(screen.saved(), expected);
    assert!(!screen.form.view().changed && screen.form.view().said.as_ref().is_some_and(|(written, _)| *written));
}

#[test]
fn a_choice_a_switch_and_words_are_in_the_file() {
    let mut screen = Screen::on(FIRST, true);
    screen.write("title", "A \"second\" stitch");
    screen.open(&["needle"]);
    let combo = screen.field("point");
    screen.click_on(&combo);
    screen.click("Taper");
    screen.open(&["thread"]);
    let switch = screen.field("wet");
    screen.click_on(&switch);
    let saved = screen.saved();
    assert_eq!((saved.needle.point, saved.thread.wet), (NeedlePoint::Taper, !scenario().thread.wet));
    assert_eq!(saved.title, "A \"second\" stitch");
}

#[test]
fn a_throw_is_added_as_the_last_one_is_and_removed_again() {
    let mut screen = Screen::on(FIRST, true);
    screen.open(&["task", "throws"]);
    screen.click("Add to throws");
    let (saved, before) = (screen.saved().task.throws, scenario().task.throws);
    assert_eq!((saved.len(), saved.last()), (before.len() + 1, before.last()));
    screen.click("Remove throws 1");
    assert_eq!(screen.saved().task.throws, saved[1..]);
}

#[test]
fn what_may_be_left_out_can_be_given_and_left_out_again() {
    assert_eq!(scenario().start, Start::Armed);
    let mut screen = Screen::on(FIRST, true);
    screen.click("course is given");
    assert_eq!(screen.saved().course, None);
    screen.click("course: left out");
    screen.open(&["course"]);
    let level = screen.field("level");
    screen.click_on(&level);
    screen.click("Drill");
    assert_eq!(screen.saved().course.map(|course| (course.level, course.number)), Some((Level::Drill, 1)));
}

#[test]
fn an_amount_can_be_drawn_from_a_range() {
    let mut screen = Screen::on(FIRST, true);
    screen.open(&["site"]);
    screen.click("edge_gap_mm drawn from a range");
    screen.write("edge_gap_mm", "2.5");
    assert_eq!(screen.saved().site.edge_gap_mm, Amount::Range(2.5, 3.0));
}

#[test]
fn what_is_out_of_its_limits_is_said_at_its_field_and_in_the_words_of_the_check_and_is_not_saved() {
    let mut screen = Screen::on(FIRST, true);
    screen.open(&["thread"]);
    for (typed, found) in [("9999", "9999"), ("long", "\"long\""), ("", "\"\""), ("1) x", "\"1) x\"")] {
        screen.write("length_mm", if typed.is_empty() { " " } else { typed });
        let said = words(&screen.nodes());
        assert!(said.contains(&format!("✖ length_mm is {found}, allowed 80 to 750 mm")), "{said}");
        assert!(said.contains(&format!("thread.length_mm is {found}, allowed 80 to 750 mm")), "{said}");
        assert!(said.contains("✖ 1 not in order"), "{said}");
        screen.click("Save");
        assert!(screen.disk.0.keys().eq(["mine.ron.unsaved"]), "it was saved");
    }
    screen.write("length_mm", "200");
    assert_eq!(screen.saved().thread.length_mm.to_string(), "200");
}

#[test]
fn what_does_not_fit_together_is_said_too() {
    let mut screen = Screen::on(FIRST, true);
    screen.open(&["task", "bite_mm"]);
    screen.write("min", "5.5");
    let errors = screen.form.view().problems.join("\n");
    assert!(errors.contains("task.bite_mm"), "{errors}");
    assert!(words(&screen.nodes()).contains("bite_mm, 1 not in order"), "it stands at its section");
}

#[test]
fn a_file_written_by_hand_is_not_changed_but_copied() {
    let mut screen = Screen::on(FIRST, false);
    screen.open(&["thread"]);
    let field = screen.field("length_mm");
    assert!(field.is_disabled(), "{field:?}");
    screen.write("length_mm", "120");
    assert!(!screen.form.view().changed && screen.disk.0.is_empty());
    assert!(!words(&screen.nodes()).contains("\nSave\n"), "there is nothing to save");
    screen.write("New file", "other.ron");
    screen.click("Copy");
    let copy = screen.disk.0.get("other.ron").expect("it was written").clone();
    assert_eq!(scenario::parse("other.ron", &copy).expect("it is in order"), scenario());
    assert!(copy.contains("// Made from mine.ron;") && copy.contains("// Aim: a first single stitch"), "{copy}");
    screen.write("length_mm", "120");
    screen.click("Save");
    let saved = &screen.disk.0["other.ron"];
    assert_ne!(*saved, copy);
    for text in [&copy, saved] {
        assert!(text.contains("\n        // The operator sits at the patient's right"), "within it: {text}");
    }
    assert!(!screen.disk.0.contains_key("mine.ron"));
    screen.write("New file", "other.ron");
    screen.click("Save as");
    assert!(words(&screen.nodes()).contains("✖ other.ron: it is there already"));
}

#[test]
fn all_fields_can_be_reached_and_changed_by_keys() {
    let mut screen = Screen::on(FIRST, true);
    let focused = |screen: &mut Screen| screen.ctx.memory(egui::Memory::focused);
    let mut reached = Vec::new();
    for _ in 0..80 {
        screen.press(Key::Tab, Modifiers::NONE);
        let Some(id) = focused(&mut screen) else { continue };
        let nodes = screen.nodes();
        let (_, node) = nodes.iter().find(|(node, _)| *node == id.accesskit_id()).expect("it is told");
        let labels = node.labelled_by();
        let by = nodes.iter().filter(|(id, _)| labels.contains(id)).map(|(_, label)| label);
        let name = by.map(label).next().unwrap_or(label(node)).to_owned();
        if name == "thread" && !reached.contains(&name) {
            screen.press(Key::Enter, Modifiers::NONE);
        }
        if name == "length_mm" && !reached.contains(&name) {
            screen.press(Key::A, Modifiers::COMMAND);
            screen.frame(vec![Event::Text("120".to_owned())]);
        }
        reached.push(name);
    }
    for name in ["Close the form", "New file", "title", "seed", "site", "thread", "length_mm", "wet", "rubric"] {
        assert!(reached.iter().any(|reached| reached == name), "`{name}` is not among {reached:?}");
    }
    assert_eq!(screen.saved().thread.length_mm.to_string(), "120");
}

#[test]
fn what_the_case_says_stands_beside_it_and_follows() {
    let mut screen = Screen::on(FIRST, true);
    let before = screen.form.view().sentences.clone();
    assert!(before.contains("First stitch over a grafted socket") && before.contains("Marks"), "{before}");
    screen.open(&["needle"]);
    screen.write("length_mm", "17");
    let after = words(&screen.nodes());
    assert!(!after.contains(&before) && after.contains("17 mm"), "{after}");
}

#[test]
fn what_is_wrong_with_the_file_itself_is_said_as_well() {
    let mut screen = Screen::on(FIRST, true);
    assert!(!words(&screen.nodes()).contains("on the disk"));
    "mine.ron: its demonstration is not there".clone_into(&mut screen.on_disk);
    let said = words(&screen.nodes());
    assert!(said.contains("file on the disk is not in order") && said.contains(&screen.on_disk), "{said}");
}

#[test]
fn what_is_not_saved_stays_when_the_file_becomes_another_one() {
    let other = FIRST.replacen("First stitch over a grafted socket", "Another", 1);
    let source = |text: &str| {
        let (file, text, on_disk) = ("mine.ron".to_owned(), text.to_owned(), text.to_owned());
        let comment = vec![FORM_MARK.to_owned()];
        Some(FormSource { file, text, comment, own: true, on_disk, unsaved: None })
    };
    let title = |form: &Form| form.view().sentences.lines().next().unwrap_or_default().to_owned();
    let mut form = Form::of(source(FIRST), true);
    form.follow(source(&other));
    assert_eq!(title(&form), "Another");
    let change = scenario::Change::Text("Mine".to_owned());
    form.take(FormAction::Edit(scenario::Edit { path: "title".to_owned(), change }), &mut Disk::default());
    form.follow(source(FIRST));
    assert_eq!(title(&form), "Mine");
}

#[test]
fn what_was_not_saved_is_in_the_form_again_when_the_window_opens_anew() {
    let mut screen = Screen::on(FIRST, true);
    screen.open(&["thread"]);
    screen.write("length_mm", "12");
    screen.write("title", "Mine");
    let unsaved = screen.disk.0.get("mine.ron.unsaved").cloned();
    assert!(unsaved.is_some() && !screen.disk.0.contains_key("mine.ron"), "it is kept and not saved");
    let source = FormSource {
        file: "mine.ron".to_owned(),
        text: FIRST.to_owned(),
        comment: vec![FORM_MARK.to_owned()],
        own: true,
        on_disk: FIRST.to_owned(),
        unsaved,
    };
    screen.form = Form::of(Some(source.clone()), true);
    let said = words(&screen.nodes());
    assert!(said.contains("✔ What was not saved") && said.contains("thread.length_mm is 12, allowed 80"), "{said}");
    screen.write("length_mm", "120");
    let saved = screen.saved();
    assert_eq!((&*saved.title, saved.thread.length_mm.to_string()), ("Mine", "120".to_owned()));
    assert!(!screen.disk.0.contains_key("mine.ron.unsaved"), "what is saved is not kept as unsaved");
    // What cannot be read is no change, and is said.
    let strange = FormSource { unsaved: Some("[(".to_owned()), ..source };
    screen.form = Form::of(Some(strange), true);
    assert!(words(&screen.nodes()).contains("✖ What was not saved cannot be read") && !screen.form.view().changed);
}

#[test]
fn changes_that_are_given_up_leave_the_form_as_the_file_is() {
    let mut screen = Screen::on(FIRST, true);
    screen.write("title", "Mine");
    screen.click("Give up changes");
    assert!(!screen.form.view().changed && screen.disk.0.is_empty(), "{:?}", screen.disk.0.keys());
    assert!(screen.form.view().sentences.starts_with("First stitch over a grafted socket"));
}

#[test]
fn the_form_is_drawn_beside_the_field() {
    if let Ok(path) = std::env::var(DRAW_TO) {
        let mut picture = Picture::of(&Fake::new().snapshot(), &scenario(), None, (1280, 800));
        let mut form = form(FIRST, true);
        let change = scenario::Change::Number("9999".to_owned());
        let edit = scenario::Edit { path: "thread.length_mm".to_owned(), change };
        form.take(FormAction::Edit(edit), &mut Disk::default());
        picture.panels.form = Some(form.view().clone());
        screenshot(&picture, path.as_ref()).expect("the picture is drawn");
        return;
    }
    let Some(bytes) = drawn_and_kept("ui::form::the_form_is_drawn_beside_the_field", DRAW_TO, KEEP) else { return };
    assert!(bytes.len() > 100_000, "the picture holds only {} bytes: nothing is drawn in it", bytes.len());
}
