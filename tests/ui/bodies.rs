//! Teeth and bone stop live tips, time passes in whole ticks, and the script is stopped by nothing.

use std::sync::{Arc, Mutex};
use std::time::Duration;

use bevy::prelude::*;
use bevy::time::TimeUpdateStrategy;

use knotwright::app::hands::{Hands, Input};
use knotwright::app::plan::SitePlan;
use knotwright::app::stage::CATCH_UP;
use knotwright::app::ticking::{self, Devices, Live, OnStage, Pace};
use knotwright::app::view::{Shown, Site};
use knotwright::app::{Stage, bodies};
use knotwright::input::TickCommand;
use knotwright::math::{DVec2, DVec3};
use knotwright::score::Score;
use knotwright::simulation::snapshot::Snapshot;

use super::fake::{Fake, scenario};

/// What a stage was told.
type Told = Arc<Mutex<Vec<Option<TickCommand>>>>;

/// A stage that writes down what it is told.
struct Scribe(Fake, Told);

impl Stage for Scribe {
    fn tick(&mut self, hands: Option<&TickCommand>) {
        self.1.lock().expect("one thread writes").push(hands.cloned());
        self.0.tick(hands);
    }
    fn snapshot(&self) -> Snapshot {
        self.0.snapshot()
    }
    fn current_command(&self) -> TickCommand {
        self.0.current_command()
    }
    fn finished(&self) -> Option<Score> {
        self.0.finished()
    }
}

/// An app without a picture whose clock advances by `frame` at each update.
fn app(frame: Duration) -> (App, Told) {
    let told = Told::default();
    let stage = Scribe(Fake::new(), Arc::clone(&told));
    let mut app = App::new();
    app.add_plugins((MinimalPlugins, TransformPlugin))
        .insert_resource(TimeUpdateStrategy::ManualDuration(frame))
        .insert_resource(Shown(stage.snapshot()))
        .insert_resource(Site(SitePlan::new(&scenario(), false)))
        .insert_resource(OnStage(Box::new(stage)))
        .add_plugins((ticking::plugin, bodies::plugin));
    app.finish();
    app.cleanup();
    // The first update only starts the clock; the second builds the bodies.
    app.update();
    app.update();
    (app, told)
}

fn tick() -> Duration {
    Duration::from_nanos(16_666_667)
}

fn take_over(app: &mut App, right_tip: DVec3) {
    let command = app.world().resource::<OnStage>().0.current_command();
    let mut hands = Hands::take_over(&command, 200.0);
    hands.hands[0].pose.position = right_tip;
    hands.hands[1].pose.position = DVec3::new(-20.0, -20.0, 25.0);
    app.world_mut().resource_mut::<Live>().0 = Some(hands);
}

fn drag(app: &mut App, input: Input, ticks: u32) -> DVec3 {
    for _ in 0..ticks {
        app.world_mut().resource_mut::<Devices>().0.add(&input);
        app.update();
    }
    let live = &app.world().resource::<Live>().0;
    live.as_ref().expect("hands are live").hands[0].pose.position
}

#[test]
fn a_tip_driven_into_a_tooth_stops_at_its_side() {
    let (mut app, told) = app(tick());
    let plan = SitePlan::new(&scenario(), false);
    let crown = plan.crowns.iter().find(|crown| crown.middle.x > 0.0).expect("there is a tooth on the right");
    let level = 0.25 * crown.height;
    let side = crown.middle.x - crown.half[0];
    // From over the socket to the right, below the bulge, with the shaft upright: a jaw of 0.9 mm meets the bulge.
    take_over(&mut app, DVec3::new(0.0, 0.0, level));
    app.world_mut().resource_mut::<Live>().0.as_mut().expect("live").hands[0].pose.rotation =
        knotwright::math::rotation_between(DVec3::X, DVec3::Z);
    // A longer push would slide round the tooth.
    let tip = drag(&mut app, Input { drag: DVec2::new(0.5, 0.0), ..Input::default() }, 8);
    // The hull has 16 sides, which lie up to 2 % of its half width of 3.5 mm inside the bulge, a slide along one of
    // them adds as much, and the cast keeps 0.02 mm of room.
    let stop = side - 0.9;
    assert!(tip.x < stop + 0.15, "the tip is inside the tooth at {tip}: it should stop at {stop}");
    assert!(tip.x > stop - 0.15, "the tip stopped too early at {tip}: it should stop at {stop}");
    let last = told.lock().expect("written").last().cloned().flatten().expect("hands were live");
    assert!((last.right.pose().position - tip).length() < 1e-3, "the stopped pose is what is commanded");
}

#[test]
fn a_tip_slides_along_what_stops_it() {
    let (mut app, _) = app(tick());
    take_over(&mut app, DVec3::new(0.0, 0.0, 3.0));
    let input = Input { drag: DVec2::new(0.3, 0.0), raise: -0.3, ..Input::default() };
    let tip = drag(&mut app, input, 30);
    let bed = -SitePlan::new(&scenario(), false).thickness;
    assert!(tip.z > bed, "the tip went into the bone, to {tip}");
    assert!(tip.x > 1.0, "the tip stuck at {tip}");
}

#[test]
fn a_free_tip_goes_where_it_is_sent() {
    let (mut app, _) = app(tick());
    take_over(&mut app, DVec3::new(0.0, 0.0, 25.0));
    let tip = drag(&mut app, Input { drag: DVec2::new(0.25, -0.5), ..Input::default() }, 20);
    assert!((tip - DVec3::new(5.0, -10.0, 25.0)).length() < 1e-9, "{tip}");
}

#[test]
fn the_script_plays_while_no_hand_is_live() {
    let (mut app, told) = app(tick());
    told.lock().expect("written").clear();
    for _ in 0..5 {
        app.update();
    }
    assert_eq!(*told.lock().expect("written"), vec![None; 5]);
}

#[test]
fn a_slow_frame_slows_the_simulation_and_does_not_pile_up() {
    let (mut app, told) = app(Duration::from_millis(400));
    told.lock().expect("written").clear();
    for _ in 0..4 {
        app.update();
    }
    assert_eq!(told.lock().expect("written").len(), 4 * CATCH_UP as usize);
}

#[test]
fn an_eighth_of_the_speed_is_an_eighth_of_the_ticks() {
    let (mut app, told) = app(tick());
    app.world_mut().resource_mut::<Pace>().speed = knotwright::app::ui::Speed::Eighth;
    app.update();
    told.lock().expect("written").clear();
    for _ in 0..80 {
        app.update();
    }
    let ticks = told.lock().expect("written").len();
    // 80 frames are 10 ticks; where in a tick the count begins decides whether it is one less or more.
    assert!((9..=11).contains(&ticks), "{ticks} ticks");
}

#[test]
fn a_pause_stops_all_but_single_steps() {
    let (mut app, told) = app(tick());
    app.world_mut().resource_mut::<Pace>().paused = true;
    app.update();
    told.lock().expect("written").clear();
    for _ in 0..5 {
        app.update();
    }
    assert!(told.lock().expect("written").is_empty());
    app.world_mut().resource_mut::<Pace>().steps = 1;
    app.update();
    app.update();
    assert_eq!(told.lock().expect("written").len(), 1);
}
