//! The picture in the README: the first scenario's demonstration at its finished knot, as the renderer draws it.
//!
//! `KNOTWRIGHT_KEEP_PICTURE=assets/window.png` keeps it; with `KNOTWRIGHT_PICTURE_MARKS=1` the debrief lies over it,
//! with `KNOTWRIGHT_PICTURE_MEASURED=1` beside that its page of what was measured,
//! with `KNOTWRIGHT_PICTURE_PULL=0.8` the knot pulled, at that share of its frames;
//! `KNOTWRIGHT_PICTURE_REPLAY=1` draws the bar of a replay below it, `KNOTWRIGHT_PICTURE_LESSON=3` a task of the tutorial,
//! `KNOTWRIGHT_PICTURE_BENCH=1` the stitch alone on a bench; `KNOTWRIGHT_PICTURE_CASE=three_stitches` draws
//! another shipped scenario.

use std::sync::Arc;

use knotwright::analysis::view::View;
use knotwright::app::ui::{KnotView, Player, PullState, PullView, ReplayView, Tab};
use knotwright::app::{Measured, Picture, Scene, screenshot};
use knotwright::input::script;
use knotwright::math::DVec3;
use knotwright::performer::{Performer, Unsteadiness};
use knotwright::pull::of_stitch_watched;
use knotwright::report::ReadStitch;
use knotwright::scenario;
use knotwright::score::{Rubric, TaskOrder, score};
use knotwright::simulation::attempt::Attempt;

use super::child::drawn_and_kept;

const DRAW_TO: &str = "KNOTWRIGHT_TEST_DRAW_KNOT_TO";
const KEEP: &str = "KNOTWRIGHT_KEEP_PICTURE";
const MARKS: &str = "KNOTWRIGHT_PICTURE_MARKS";
const MEASURED: &str = "KNOTWRIGHT_PICTURE_MEASURED";
const CASE: &str = "KNOTWRIGHT_PICTURE_CASE";
const PULL: &str = "KNOTWRIGHT_PICTURE_PULL";
const REPLAY: &str = "KNOTWRIGHT_PICTURE_REPLAY";
const LESSON: &str = "KNOTWRIGHT_PICTURE_LESSON";
const BENCH: &str = "KNOTWRIGHT_PICTURE_BENCH";

fn draw(path: &str) {
    let case = std::env::var(CASE).unwrap_or("first_stitch".to_owned());
    let shipped = |file: &str| std::fs::read_to_string(format!("scenarios/{file}")).expect("the file is shipped");
    let scenario = scenario::parse(&case, &shipped(&format!("{case}.ron"))).expect("the shipped scenario is in order");
    let hands = &scenario.demonstration;
    let hands = script::parse(hands, &shipped(hands)).expect("the shipped script is in order");
    let mut attempt = Attempt::begin(&scenario).expect("the shipped scenario can begin");
    let mut performer = Performer::new(hands, &attempt.world, Unsteadiness::default());
    let mut course = Vec::new();
    while let Some(command) = performer.command(&attempt.world) {
        attempt.tick(&command);
        course.push(attempt.moment());
    }
    let marks = std::env::var_os(MARKS).map(|_| {
        let rubric = Rubric::try_from(&scenario.rubric).expect("the shipped rubric is in order");
        score(&attempt.findings_with_pull(), &TaskOrder::from(&scenario), &rubric)
    });
    let mut picture = Picture::of(&attempt.snapshot("Both ends cut"), &scenario, marks.as_ref(), (1280, 800));
    if std::env::var_os(MEASURED).is_some() {
        let curves = (0..attempt.world.stitch_count()).filter_map(|stitch| attempt.world.stitch_curve(stitch));
        let view = View { course, site: attempt.site_plan(), stitches: curves.collect() };
        let found = Measured::of(attempt.findings(), view, TaskOrder::from(&scenario), Vec::new());
        (picture.panels.measured, picture.panels.tab) = (Some(Arc::new(found)), Tab::Measured);
    }
    if let Some(at) = std::env::var_os(PULL) {
        picture.panels.tab = Tab::Pull;
        picture.panels.pull = pull(&attempt, &at.to_string_lossy());
    }
    if std::env::var_os(REPLAY).is_some() {
        picture.panels.replay = replay(attempt.world.tick.0);
    }
    if let Ok(task) = std::env::var(LESSON) {
        picture.panels.lesson = Some(task.parse().ok());
        picture.panels.player = Player::Right;
    }
    if std::env::var_os(BENCH).is_some() {
        on_bench(&attempt, &mut picture);
    }
    screenshot(&picture, path.as_ref()).expect("the picture is drawn");
}

/// The first stitch alone on a bench.
fn on_bench(attempt: &Attempt, picture: &mut Picture) {
    let curve = attempt.world.stitch_curve(0).expect("there is a stitch");
    let lowest = curve.points.iter().map(|point| point.z).fold(f64::INFINITY, f64::min);
    picture.snapshot.strands = vec![curve.points.iter().map(|point| *point - DVec3::Z * lowest).collect()];
    picture.panels.knot = Some(KnotView::of(&ReadStitch::of("1".to_owned(), curve)));
    picture.scene = Scene::Bench { title: "knot.csv".to_owned(), thread: "chromic gut".to_owned() };
}

/// The first stitch's pull, at a share of its frames.
fn pull(attempt: &Attempt, share: &str) -> Option<PullView> {
    let stitch = attempt.tied_stitch(0)?;
    let mut frames = Vec::new();
    let pull = of_stitch_watched(&stitch, &mut |frame| frames.push(frame)).expect("it is done soundly")?;
    let share: f64 = share.parse().expect("a share of the frames");
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of some hundred frames")]
    let at = (share * frames.len() as f64) as u32;
    Some(PullView {
        count: 1,
        state: PullState::Done(Arc::new(pull)),
        frames: Arc::new(frames),
        radius: stitch.section.radius,
        at,
        ..PullView::default()
    })
}

/// A recording at its end, not all of it carried out yet.
fn replay(end: u32) -> ReplayView {
    let note = "Recording: verified; whole".to_owned();
    ReplayView { open: true, end: end + end / 3, have: end, at: end, note: Some(note.into()), ..ReplayView::default() }
}

#[test]
fn the_finished_knot_can_be_seen() {
    if let Ok(path) = std::env::var(DRAW_TO) {
        draw(&path);
        return;
    }
    let Some(bytes) = drawn_and_kept("ui::finished_knot::the_finished_knot_can_be_seen", DRAW_TO, KEEP) else { return };
    // A picture of one colour packs to a few kilobytes; a lit scene of this size needs far more.
    assert!(bytes.len() > 100_000, "the picture holds only {} bytes: nothing is drawn in it", bytes.len());
}
