//! Another case comes on stage while the window is open: what is around the thread, the panels and the bodies follow.

use std::sync::{Arc, Mutex};
use std::time::Duration;

use bevy::prelude::*;
use bevy::time::TimeUpdateStrategy;

use knotwright::app::acts::Bound;
use knotwright::app::beside::Beside;
use knotwright::app::hands::{Hands, Input};
use knotwright::app::panels::{self, Asked, Desk, file_words};
use knotwright::app::plan::SitePlan;
use knotwright::app::pulling::Pulls;
use knotwright::app::replay::Reel;
use knotwright::app::ticking::{self, Devices, Live, Marks, OnStage};
use knotwright::app::ui::Action;
use knotwright::app::view::{Shown, Site};
use knotwright::app::words::Language::English;
use knotwright::app::{FileNews, Newer, Scene, Stage, bodies, lesson};
use knotwright::input::TickCommand;
use knotwright::input::bindings::Bindings;
use knotwright::math::{DVec2, DVec3, rotation_between};
use knotwright::scenario::Scenario;
use knotwright::score::Score;
use knotwright::simulation::snapshot::Snapshot;

use super::fake::{Fake, scenario};

const TICK: Duration = Duration::from_nanos(16_666_667);

/// A stage with a file, and what the test lets that be.
struct Filed {
    fake: Fake,
    newer: Arc<Mutex<Newer>>,
    scene: Option<Scene>,
}

impl Filed {
    fn begin(&mut self) -> bool {
        self.fake = Fake::new();
        *self.newer.lock().expect("one at a time") = Newer::None;
        self.scene = Some(Scene::Mouth(Box::new(wider())));
        true
    }
}

impl Stage for Filed {
    fn tick(&mut self, hands: Option<&TickCommand>) {
        self.fake.tick(hands);
    }
    fn snapshot(&self) -> Snapshot {
        self.fake.snapshot()
    }
    fn current_command(&self) -> TickCommand {
        self.fake.current_command()
    }
    fn finished(&self) -> Option<Score> {
        self.fake.finished()
    }
    fn file(&self) -> FileNews {
        FileNews { newer: *self.newer.lock().expect("one at a time"), ..FileNews::default() }
    }
    fn take_newer(&mut self) -> bool {
        self.file().newer == Newer::Ready && self.begin()
    }
    fn begin_anew(&mut self) -> bool {
        self.begin()
    }
    fn new_scene(&mut self) -> Option<Scene> {
        self.scene.take()
    }
}

/// A case whose socket is wider, so that its neighbours stand farther apart.
fn wider() -> Scenario {
    let mut wider = scenario();
    "A wider socket".clone_into(&mut wider.title);
    wider.site.socket.mesiodistal_mm = 9.5;
    wider
}

/// An app without a picture, on the first case; its clock advances by a tick at each update.
fn app() -> (App, Arc<Mutex<Newer>>) {
    let newer = Arc::new(Mutex::new(Newer::None));
    let stage = Filed { fake: Fake::new(), newer: Arc::clone(&newer), scene: None };
    let scene = Scene::Mouth(Box::new(scenario()));
    let mut app = App::new();
    app.add_plugins((MinimalPlugins, TransformPlugin))
        .insert_resource(TimeUpdateStrategy::ManualDuration(TICK))
        .insert_resource(Shown(stage.snapshot()))
        .insert_resource(Site(SitePlan::new(&scenario(), false)))
        .insert_resource(Desk::new(&scene, String::new(), false))
        .insert_resource(OnStage(Box::new(Beside::of(Box::new(stage)))))
        .init_resource::<Bound>()
        .init_resource::<Pulls>()
        .add_plugins((ticking::plugin, bodies::plugin, lesson::plugin, panels::plugin));
    app.finish();
    app.cleanup();
    updates(&mut app, 10);
    (app, newer)
}

/// Updates, each with what was asked for before it done.
fn updates(app: &mut App, count: usize) {
    for _ in 0..count {
        app.update();
        app.world_mut().resource_mut::<OnStage>().0.settle();
    }
}

fn site(app: &App) -> SitePlan {
    app.world().resource::<Site>().0.clone()
}

fn title(app: &App) -> String {
    app.world().resource::<Desk>().title().to_owned()
}

fn let_be(newer: &Mutex<Newer>, what: Newer) {
    *newer.lock().expect("one at a time") = what;
}

fn live(app: &mut App, tip: DVec3) {
    let command = app.world().resource::<OnStage>().0.current_command();
    let mut hands = Hands::take_over(&command, 200.0);
    hands.hands[0].pose.position = tip;
    hands.hands[0].pose.rotation = rotation_between(DVec3::X, DVec3::Z);
    hands.hands[1].pose.position = DVec3::new(-20.0, -20.0, 25.0);
    app.world_mut().resource_mut::<Live>().0 = Some(hands);
}

/// How far to the right a tip comes at a quarter of the right crown's height, half a millimetre a tick. A longer push than is
/// needed would slide round the tooth.
fn reach(app: &mut App, ticks: u32) -> f64 {
    let level = 0.25 * right_crown(&site(app)).height;
    live(app, DVec3::new(0.0, 0.0, level));
    for _ in 0..ticks {
        app.world_mut().resource_mut::<Devices>().0.add(&Input { drag: DVec2::new(0.5, 0.0), ..Input::default() });
        app.update();
        app.world_mut().resource_mut::<OnStage>().0.settle();
    }
    let hands = app.world_mut().resource_mut::<Live>().0.take();
    hands.expect("hands are live").hands[0].pose.position.x
}

fn right_crown(plan: &SitePlan) -> knotwright::app::plan::Crown {
    *plan.crowns.iter().find(|crown| crown.middle.x > 0.0).expect("there is a tooth on the right")
}

#[test]
fn another_case_brings_its_site_its_title_and_its_own_beginning() {
    let (mut app, newer) = app();
    assert_eq!((site(&app), title(&app)), (SitePlan::new(&scenario(), false), scenario().title));
    updates(&mut app, 20);
    let before = app.world().resource::<Shown>().0.tick.0;
    assert!(before >= 20, "the script plays: tick {before}");
    let_be(&newer, Newer::Ready);
    updates(&mut app, 5);
    assert_eq!((site(&app), title(&app)), (SitePlan::new(&wider(), false), wider().title));
    let shown = app.world().resource::<Shown>().0.tick.0;
    assert!((1..=6).contains(&shown), "its script plays from its beginning, and is at {shown}");
    let [first, last] = app.world().resource::<Reel>().0.span().expect("something was seen");
    assert!(first == 0 && last < before, "nothing of the case before is on the film: {first} to {last}");
}

#[test]
fn teeth_stop_tips_where_they_stand_in_the_other_case() {
    let (mut app, newer) = app();
    let stop = |plan: &SitePlan| right_crown(plan).middle.x - right_crown(plan).half[0] - 0.9;
    // A hull lies a little inside its bulge, and a cast keeps room, as said where tips are stopped.
    let near = reach(&mut app, 8);
    assert!((near - stop(&site(&app))).abs() < 0.15, "{near}");
    let_be(&newer, Newer::Ready);
    updates(&mut app, 5);
    let far = reach(&mut app, 13);
    assert!((far - stop(&SitePlan::new(&wider(), false))).abs() < 0.15, "{far}");
    assert!(far > near + 2.0, "{near} and {far}");
}

#[test]
fn live_hands_keep_their_case_until_they_are_given_back() {
    let (mut app, newer) = app();
    live(&mut app, DVec3::new(0.0, 0.0, 20.0));
    let_be(&newer, Newer::Ready);
    updates(&mut app, 10);
    assert_eq!(title(&app), scenario().title);
    assert!(app.world().resource::<Live>().0.is_some());
    app.world_mut().resource_mut::<Live>().0 = None;
    updates(&mut app, 3);
    assert_eq!(title(&app), wider().title);
}

#[test]
fn beginning_anew_takes_what_waited_while_an_attempt_was_under_way() {
    let (mut app, newer) = app();
    let_be(&newer, Newer::Waits);
    updates(&mut app, 10);
    assert_eq!(title(&app), scenario().title, "it waits");
    app.world_mut().resource_mut::<Asked>().0.push(Action::BeginAnew);
    updates(&mut app, 3);
    assert_eq!((title(&app), site(&app)), (wider().title, SitePlan::new(&wider(), false)));
    assert!(app.world().resource::<Live>().0.is_some() && app.world().resource::<Marks>().0.is_none());
}

#[test]
fn the_window_says_what_became_of_the_file_and_by_which_keys_it_is_taken() {
    let keys = Bindings::default();
    let file = |newer, taken, warnings: &str| FileNews {
        name: "mine.ron".to_owned(),
        warnings: warnings.to_owned(),
        newer,
        taken,
        ..FileNews::default()
    };
    assert_eq!(file_words(English, &file(Newer::None, 0, ""), false, &keys), "");
    let taken = file_words(English, &file(Newer::None, 1, "mine.ron:1:1: warning"), false, &keys);
    assert_eq!(taken, "mine.ron has changed: its case is on stage as it is now\nmine.ron:1:1: warning");
    let waits = file_words(English, &file(Newer::Waits, 0, ""), false, &keys);
    assert!(waits.starts_with("mine.ron has changed") && waits.ends_with("take the change: begin anew (B)"), "{waits}");
    let broken = FileNews { problems: "mine.ron:1:1: wrong".to_owned(), ..file(Newer::None, 1, "") };
    assert_eq!(file_words(English, &broken, false, &keys), "", "that has a panel of its own");
    let live = file_words(English, &file(Newer::Waits, 0, ""), true, &keys);
    assert!(live.ends_with("hand in or give back (T), then begin anew (B)"), "{live}");
}
