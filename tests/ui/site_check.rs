//! The site check: every tooth is there by its name, choosing and marking ask for it, and nothing says whether it is right.

use bevy_egui::egui::{self, Event, Key, Modifiers, accesskit};
use knotwright::app::hands::Hands;
use knotwright::app::ui::{self, Action, Model, Player, SiteView, debrief, site_check};
use knotwright::app::{Picture, Stage, screenshot};
use knotwright::quantity::Tick;
use knotwright::score::CheckedSite;
use knotwright::tooth::Tooth;

use super::adapter::decode;
use super::child::drawn_and_kept;
use super::fake::{Fake, scenario, score};

/// Tells the child where to draw to; where to keep the picture, to be looked at.
const DRAW_TO: &str = "KNOTWRIGHT_TEST_DRAW_SITE_TO";
const KEEP: &str = "KNOTWRIGHT_KEEP_SITE_PICTURE";
const LARGE: &str = "KNOTWRIGHT_PICTURE_LARGE";

fn tooth(number: u8) -> Tooth {
    Tooth::try_from(number).expect("it exists")
}

fn site(chosen: Option<u8>, open: bool) -> SiteView {
    SiteView { ordered: tooth(35), chosen: chosen.map(tooth), open }
}

/// Live hands at a case with the check.
fn model(site: SiteView) -> Model {
    Model { site: Some(site), player: Player::Right, readout: Fake::new().snapshot().readout, ..Model::default() }
}

/// A screen of some size and scale on which the panels are drawn again and again.
struct Screen {
    ctx: egui::Context,
    size: egui::Vec2,
    scale: f32,
}

impl Screen {
    fn new(size: [f32; 2], scale: f32) -> Screen {
        let ctx = egui::Context::default();
        ctx.enable_accesskit();
        ui::set_style(&ctx);
        let mut screen = Screen { ctx, size: egui::Vec2::from(size) / scale, scale };
        // Sizes are known in the second frame.
        (0..3).for_each(|_| drop(screen.frame(&model(site(None, true)), Vec::new())));
        screen
    }

    /// Draws one frame: what was asked for, and what a reader of the screen is told.
    fn frame(&mut self, model: &Model, events: Vec<Event>) -> (Vec<Action>, Vec<accesskit::Node>) {
        let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, self.size);
        let mut input = egui::RawInput { screen_rect: Some(screen), events, ..egui::RawInput::default() };
        input.viewports.entry(egui::ViewportId::ROOT).or_default().native_pixels_per_point = Some(self.scale);
        let mut asked = Vec::new();
        let mut output = self.ctx.run_ui(input, |ui| ui::show(ui.ctx(), model, &mut asked));
        output.textures_delta.clear();
        let nodes = output.platform_output.accesskit_update.map(|update| update.nodes).unwrap_or_default();
        (asked, nodes.into_iter().map(|(_, node)| node).collect())
    }

    fn nodes(&mut self, model: &Model) -> Vec<accesskit::Node> {
        self.frame(model, Vec::new()).1
    }

    fn click(&mut self, model: &Model, name: &str) -> Vec<Action> {
        let nodes = self.nodes(model);
        let node = nodes.iter().find(|node| label(node) == name);
        let bounds = node.and_then(accesskit::Node::bounds).unwrap_or_else(|| panic!("no `{name}`"));
        #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let at = egui::pos2((0.5 * (bounds.x0 + bounds.x1)) as f32, (0.5 * (bounds.y0 + bounds.y1)) as f32);
        let button = |pressed| Event::PointerButton {
            pos: at,
            button: egui::PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        let mut asked = self.frame(model, vec![Event::PointerMoved(at)]).0;
        asked.extend(self.frame(model, vec![button(true)]).0);
        asked.extend(self.frame(model, vec![button(false)]).0);
        asked
    }

    fn press(&mut self, model: &Model, key: Key) -> Vec<Action> {
        let event =
            |pressed| Event::Key { key, physical_key: None, pressed, repeat: false, modifiers: Modifiers::NONE };
        let mut asked = self.frame(model, vec![event(true)]).0;
        asked.extend(self.frame(model, vec![event(false)]).0);
        asked
    }
}

/// What a reader of the screen says of a part: its label, or its words.
fn label(node: &accesskit::Node) -> &str {
    node.label().or(node.value()).unwrap_or_default()
}

fn words(nodes: &[accesskit::Node]) -> String {
    nodes.iter().map(label).collect::<Vec<_>>().join("\n")
}

#[test]
fn every_tooth_is_there_by_its_name_and_the_chosen_one_says_so() {
    let mut screen = Screen::new([1280.0, 800.0], 1.0);
    let nodes = screen.nodes(&model(site(Some(35), true)));
    let teeth: Vec<&accesskit::Node> =
        nodes.iter().filter(|node| node.role() == accesskit::Role::RadioButton).collect();
    assert_eq!(teeth.len(), 32);
    for tooth in Tooth::arches().into_iter().flatten() {
        let name = format!("{tooth} {}", tooth.name());
        let found: Vec<_> = teeth.iter().filter(|node| label(node) == name).collect();
        assert_eq!(found.len(), 1, "{name}");
        let on = found[0].toggled() == Some(accesskit::Toggled::True);
        assert_eq!(on, tooth.number() == 35, "{name}: {:?}", found[0]);
    }
}

#[test]
fn the_patients_right_is_on_the_left_and_the_upper_arch_above() {
    let mut screen = Screen::new([1280.0, 800.0], 1.0);
    let nodes = screen.nodes(&model(site(None, true)));
    let place = |number: u8| {
        let name = format!("{number} {}", tooth(number).name());
        let bounds = nodes.iter().find(|node| label(node) == name).and_then(accesskit::Node::bounds);
        let bounds = bounds.unwrap_or_else(|| panic!("no `{name}`"));
        [0.5 * (bounds.x0 + bounds.x1), 0.5 * (bounds.y0 + bounds.y1)]
    };
    for (right, left) in [(18, 28), (11, 21), (48, 38), (41, 31)] {
        assert!(
            place(right)[0] < place(left)[0] && (place(right)[1] - place(left)[1]).abs() < 2.0,
            "{right} and {left}"
        );
    }
    for (upper, lower) in [(18, 48), (11, 41), (28, 38)] {
        assert!(place(upper)[1] < place(lower)[1], "{upper} and {lower}");
    }
    assert!(place(11)[1] < place(18)[1] && place(41)[1] > place(48)[1], "front teeth lie at the far ends");
}

#[test]
fn choosing_and_marking_ask_for_it_on_screens_of_every_scale() {
    for (size, scale) in
        [([1280.0, 800.0], 0.8), ([1280.0, 800.0], 1.0), ([960.0, 600.0], 0.8), ([1920.0, 1080.0], 2.0)]
    {
        let mut screen = Screen::new(size, scale);
        let none = model(site(None, true));
        for number in [18, 11, 28, 35, 41, 48] {
            let name = format!("{number} {}", tooth(number).name());
            assert_eq!(screen.click(&none, &name), [Action::ChooseTooth(tooth(number))], "{name} at {scale}");
        }
        assert_eq!(screen.click(&none, "Mark this site"), [], "nothing is chosen");
        let chosen = model(site(Some(45), true));
        assert_eq!(screen.click(&chosen, "Mark this site"), [Action::MarkSite(tooth(45))]);
        assert_eq!(screen.click(&chosen, "Close"), [Action::ShowSiteCheck(false)]);
    }
}

#[test]
fn on_a_small_screen_at_twice_the_scale_the_teeth_can_still_be_reached_by_keys() {
    let mut screen = Screen::new([960.0, 600.0], 2.0);
    let none = model(site(None, true));
    let names = words(&screen.nodes(&none));
    assert!(names.contains("Site check") && names.contains("18 upper right third molar"), "{names}");
    screen.press(&none, Key::K);
    screen.frame(&none, Vec::new());
    (0..17).for_each(|_| drop(screen.press(&none, Key::Tab)));
    assert_eq!(screen.press(&none, Key::Enter), [Action::ChooseTooth(Tooth::arches()[1][1])]);
}

#[test]
fn by_keys_the_panel_is_opened_a_tooth_chosen_and_marked_and_escape_gives_the_keys_back() {
    let mut screen = Screen::new([1280.0, 800.0], 1.0);
    assert!(!site_check::holds_keys(&screen.ctx), "the keys are the hands' until they are asked for");
    assert_eq!(screen.press(&model(site(None, false)), Key::K), [Action::ShowSiteCheck(true)]);
    let none = model(site(None, true));
    screen.frame(&none, Vec::new());
    assert!(site_check::holds_keys(&screen.ctx));
    screen.press(&none, Key::Tab);
    assert_eq!(screen.press(&none, Key::Enter), [Action::ChooseTooth(Tooth::arches()[0][1])]);
    screen.press(&none, Key::Escape);
    assert!(!site_check::holds_keys(&screen.ctx));
    assert_eq!(screen.press(&none, Key::Enter), [], "no tooth has the focus");
}

#[test]
fn the_chosen_tooth_is_told_in_every_notation_and_nothing_tells_whether_it_is_right() {
    let mut screen = Screen::new([1280.0, 800.0], 1.0);
    let [right, wrong] = [35, 45].map(|number| words(&screen.nodes(&model(site(Some(number), true)))));
    for part in ["Chosen: 45", "lower right second premolar", "29", "LR5", "patient's right"] {
        assert!(wrong.contains(part), "no `{part}` in\n{wrong}");
    }
    assert!(wrong.contains("The order: tooth 35, lower left second premolar; universal 20, Palmer LL5."), "{wrong}");
    // Where one names its tooth, the other names its own, and nothing else is different.
    let plain = |words: &str| {
        let mut lines: Vec<String> = words.lines().map(|line| line.replace("Chosen: 45", "Chosen: 35")).collect();
        for line in &mut lines {
            for (of_45, of_35) in [
                ("45", "35"),
                ("29", "20"),
                ("LR5", "LL5"),
                ("patient's right", "patient's left"),
                ("lower right second premolar", "lower left second premolar"),
            ] {
                if line == of_45 {
                    of_35.clone_into(line);
                }
            }
        }
        lines.sort_unstable();
        lines
    };
    assert_eq!(plain(&wrong), plain(&right));
}

#[test]
fn the_panel_is_there_for_live_hands_until_the_first_bite_and_never_in_their_way() {
    let mut screen = Screen::new([1280.0, 800.0], 1.0);
    let open = model(site(None, true));
    let bitten = knotwright::simulation::snapshot::Readout { bitten: true, ..open.readout.clone() };
    let cases = [
        ("live", open.clone(), true),
        ("the script plays", Model { player: Player::Script, ..open.clone() }, false),
        ("the first bite is begun", Model { readout: bitten, ..open.clone() }, false),
        ("a tutorial is on", Model { lesson: Some(Some(2)), ..open.clone() }, false),
        ("closed", model(site(None, false)), false),
        ("no check", Model { site: None, ..open.clone() }, false),
    ];
    for (what, model, there) in cases {
        screen.frame(&model, Vec::new());
        let words = words(&screen.nodes(&model));
        assert_eq!(words.contains("Mark this site"), there, "{what}:\n{words}");
        assert!(model.lesson.is_some() || words.contains("Give back (T)") || words.contains("Take over (T)"), "{what}");
    }
}

#[test]
fn the_readout_says_what_is_marked_or_that_nothing_is() {
    let mut screen = Screen::new([1280.0, 800.0], 1.0);
    let mut closed = model(site(None, false));
    let bare = words(&screen.nodes(&closed));
    assert!(bare.contains("No site is marked"), "{bare}");
    assert_eq!(screen.click(&closed, "Site check (K)"), [Action::ShowSiteCheck(true)]);
    closed.readout.marked = Some(tooth(45));
    // What a script has marked is shown as well.
    for player in [Player::Right, Player::Script] {
        let marked = words(&screen.nodes(&Model { player, ..closed.clone() }));
        assert!(marked.contains("45 lower right second premolar") && !marked.contains("No site"), "{marked}");
    }
}

#[test]
fn a_mark_reaches_the_stage_with_the_next_command_and_no_later_one() {
    let mut fake = Fake::new();
    let mut hands = Hands::take_over(&fake.current_command(), 100.0);
    hands.mark(Some(tooth(45)));
    for _ in 0..2 {
        let command = hands.command();
        fake.tick(Some(&command));
        assert_eq!(fake.snapshot().readout.marked, Some(tooth(45)));
    }
    hands.mark(None);
    fake.tick(Some(&hands.command()));
    assert_eq!((fake.snapshot().readout.marked, hands.command().events.len()), (None, 0));
}

#[test]
fn the_debrief_shows_what_was_marked_beside_the_order() {
    let checked = CheckedSite { ordered: tooth(35), marked: Some((tooth(45), Tick(60))), first_bite: Some(Tick(300)) };
    let mut marked = score();
    marked.site = Some(checked);
    let model = Model { score: Some(marked), ..Model::default() };
    let ctx = egui::Context::default();
    ctx.enable_accesskit();
    let mut output = ctx.run_ui(egui::RawInput::default(), |ui| debrief::show(ui, &model, &mut Vec::new()));
    output.textures_delta.clear();
    let nodes = output.platform_output.accesskit_update.expect("it was asked for").nodes;
    let words = words(&nodes.into_iter().map(|(_, node)| node).collect::<Vec<_>>());
    assert!(
        words.contains("ordered 35 (lower left second premolar; universal 20, Palmer LL5), marked 45 (lower right")
    );
}

#[test]
fn both_arches_are_drawn_over_the_field() {
    if let Ok(path) = std::env::var(DRAW_TO) {
        let size = if std::env::var_os(LARGE).is_some() { (1280, 800) } else { (960, 600) };
        let mut picture = Picture::of(&Fake::new().snapshot(), &scenario(), None, size);
        picture.panels.readout.marked = Some(tooth(36));
        picture.panels.show_help = true;
        picture.panels.player = Player::Right;
        picture.panels.site = Some(site(Some(45), true));
        screenshot(&picture, path.as_ref()).expect("the picture is drawn");
        return;
    }
    let Some(bytes) = drawn_and_kept("ui::site_check::both_arches_are_drawn_over_the_field", DRAW_TO, KEEP) else {
        return;
    };
    // The colours of `arches` on the right two thirds above the bar: 32 teeth of 26 by 25 points, less their numbers, take a
    // twentieth, and one of them is chosen. A large picture is to be looked at.
    if std::env::var_os(LARGE).is_some() {
        return;
    }
    let near = |colour: [u8; 3]| move |found: [u8; 3]| (0..3).all(|part| found[part].abs_diff(colour[part]) < 4);
    let share = |colour| decode(&bytes).share([0.33, 0.0, 1.0, 0.7], near(colour));
    let (enamel, chosen) = (share([232, 228, 214]), share([230, 159, 0]));
    assert!(enamel > 0.03 && chosen > 0.001 && enamel > 10.0 * chosen, "enamel {enamel}, chosen {chosen}");
}
