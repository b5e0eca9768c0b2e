//! A stage that is played beside the window holds no picture up, and is given what it would be given in the window.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use bevy::prelude::*;
use bevy::time::TimeUpdateStrategy;

use knotwright::app::Stage;
use knotwright::app::beside::Beside;
use knotwright::app::hands::Hands;
use knotwright::app::replay::Reel;
use knotwright::app::stage::CATCH_UP;
use knotwright::app::ticking::{self, Devices, Live, Marks, OnStage};
use knotwright::app::view::Shown;
use knotwright::input::TickCommand;
use knotwright::score::Score;
use knotwright::simulation::snapshot::Snapshot;

use super::fake::Fake;

/// What a stage was told.
type Told = Arc<Mutex<Vec<Option<TickCommand>>>>;

/// A stage that begins a tick only when it is let, and writes down what it is told.
struct Slow {
    fake: Fake,
    told: Told,
    go: Mutex<Receiver<()>>,
}

impl Stage for Slow {
    fn tick(&mut self, hands: Option<&TickCommand>) {
        self.go.lock().expect("one thread plays").recv().expect("the test lets it go on");
        self.told.lock().expect("one thread writes").push(hands.cloned());
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
}

/// An app without a picture in which a slow stage is played beside; its clock advances by `frame` at each update.
fn app(frame: Duration) -> (App, Told, Sender<()>) {
    let (told, (let_go, go)) = (Told::default(), channel());
    let slow = Slow { fake: Fake::new(), told: Arc::clone(&told), go: Mutex::new(go) };
    let mut app = App::new();
    app.add_plugins((MinimalPlugins, TransformPlugin))
        .insert_resource(TimeUpdateStrategy::ManualDuration(frame))
        .insert_resource(Shown(slow.snapshot()))
        .insert_resource(OnStage(Box::new(Beside::of(Box::new(slow)))))
        .add_plugins(ticking::plugin);
    app.finish();
    app.cleanup();
    // The first update only starts the clock.
    app.update();
    (app, told, let_go)
}

const TICK: Duration = Duration::from_nanos(16_666_667);

fn waiting(app: &App) -> usize {
    app.world().resource::<OnStage>().0.waiting()
}

/// Updates, without further ticks, until nothing waits that the stage was told.
fn until_done(app: &mut App, ticks: u32) {
    *app.world_mut().resource_mut::<TimeUpdateStrategy>() = TimeUpdateStrategy::ManualDuration(Duration::ZERO);
    #[expect(clippy::disallowed_methods, reason = "a test that hangs is told by the clock")]
    let began = Instant::now();
    while app.world().resource::<Shown>().0.tick.0 < ticks {
        app.update();
        assert!(began.elapsed() < Duration::from_secs(60), "the ticks never came");
    }
}

#[test]
fn a_picture_waits_for_no_tick_and_no_more_ticks_wait_than_may_be_caught_up() {
    let (mut app, told, let_go) = app(TICK);
    // Were a tick waited for, this would never end: nothing lets the stage go on.
    (0..20).for_each(|_| app.update());
    assert_eq!(app.world().resource::<Shown>().0.tick.0, 0, "what is not done is not shown");
    assert!(told.lock().expect("written").is_empty());
    assert_eq!(waiting(&app), CATCH_UP as usize);
    (0..CATCH_UP).for_each(|_| let_go.send(()).expect("it plays"));
    until_done(&mut app, CATCH_UP);
    assert_eq!(*told.lock().expect("written"), vec![None; CATCH_UP as usize]);
    let film = &app.world().resource::<Reel>().0;
    assert_eq!(film.span(), Some([0, CATCH_UP]), "every tick is on the film");
}

#[test]
fn a_long_picture_brings_all_its_ticks() {
    let (mut app, told, let_go) = app(6 * TICK);
    (0..100).for_each(|_| let_go.send(()).expect("it plays"));
    app.update();
    until_done(&mut app, 6);
    assert_eq!(told.lock().expect("written").len(), 6, "simulated time keeps up with the clock");
}

#[test]
fn long_pictures_one_after_the_other_bring_all_their_ticks() {
    let (mut app, told, let_go) = app(6 * TICK);
    let pictures = (1..=40).find(|_| {
        app.update();
        // The stage begins after what this picture looks at, and is done long before the next.
        (0..6).for_each(|_| let_go.send(()).expect("it plays"));
        std::thread::sleep(Duration::from_millis(50));
        told.lock().expect("written").len() >= 60
    });
    // Ten, and some in which a busy machine did not let the stage finish.
    assert!(pictures.is_some_and(|pictures| pictures <= 12), "{pictures:?} pictures for the ticks of ten");
}

#[test]
fn hands_move_once_in_a_tick_and_stand_still_while_none_is_taken() {
    let (mut app, told, let_go) = app(TICK);
    let command = app.world().resource::<OnStage>().0.current_command();
    let from = command.right.pose().position;
    app.world_mut().resource_mut::<Live>().0 = Some(Hands::take_over(&command, 200.0));
    // Ten ticks' way is asked for in ten pictures, of which only three take a tick.
    for _ in 0..10 {
        app.world_mut().resource_mut::<Devices>().0.raise += 0.1;
        app.update();
    }
    (0..CATCH_UP).for_each(|_| let_go.send(()).expect("it plays"));
    until_done(&mut app, CATCH_UP);
    let rises: Vec<f64> = (told.lock().expect("written").iter())
        .map(|command| command.as_ref().expect("hands were live").right.pose().position.z - from.z)
        .collect();
    for (rise, wanted) in rises.iter().zip([0.1, 0.2, 0.3]) {
        // A command is kept in steps of a micrometre.
        assert!((rise - wanted).abs() < 1e-3, "{rises:?}");
    }
    assert_eq!(rises.len(), 3);
    let owed = app.world().resource::<Devices>().0.raise;
    assert!((owed - 0.7).abs() < 1e-9, "what no tick took is kept for the next: {owed} mm");
}

#[test]
fn the_marks_come_from_beside_and_give_the_keys_back() {
    let (mut app, _, let_go) = app(TICK);
    let command = app.world().resource::<OnStage>().0.current_command();
    app.world_mut().resource_mut::<Live>().0 = Some(Hands::take_over(&command, 200.0));
    app.world_mut().resource_mut::<Devices>().0.finish = true;
    app.update();
    let_go.send(()).expect("it plays");
    until_done(&mut app, 1);
    app.update();
    assert!(app.world().resource::<Marks>().0.is_some() && app.world().resource::<Live>().0.is_none());
}

#[test]
fn a_stage_that_panics_takes_the_window_with_it() {
    struct Broken(Fake);
    impl Stage for Broken {
        fn tick(&mut self, _hands: Option<&TickCommand>) {
            panic!("a tick that cannot be");
        }
        fn snapshot(&self) -> Snapshot {
            self.0.snapshot()
        }
        fn current_command(&self) -> TickCommand {
            self.0.current_command()
        }
        fn finished(&self) -> Option<Score> {
            None
        }
    }
    let mut beside = Beside::of(Box::new(Broken(Fake::new())));
    beside.tick(None);
    let panicked = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| beside.settle()));
    let words = panicked.expect_err("it is not passed over").downcast_ref::<&str>().copied();
    assert_eq!(words, Some("a tick that cannot be"));
}
