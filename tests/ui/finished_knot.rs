//! The picture in the README: the first scenario's demonstration at its finished knot, as the renderer draws it.
//!
//! `KNOTWRIGHT_KEEP_PICTURE=assets/window.png` keeps it; with `KNOTWRIGHT_PICTURE_MARKS=1` the debrief lies over it;
//! `KNOTWRIGHT_PICTURE_CASE=three_stitches` draws another shipped scenario.

use std::path::PathBuf;

use knotwright::app::screenshot;
use knotwright::input::script;
use knotwright::performer::{Performer, Unsteadiness};
use knotwright::scenario;
use knotwright::score::{Rubric, TaskOrder, score};
use knotwright::simulation::attempt::Attempt;

use super::child::drawn;

const DRAW_TO: &str = "KNOTWRIGHT_TEST_DRAW_KNOT_TO";
const KEEP: &str = "KNOTWRIGHT_KEEP_PICTURE";
const MARKS: &str = "KNOTWRIGHT_PICTURE_MARKS";
const CASE: &str = "KNOTWRIGHT_PICTURE_CASE";

fn draw(path: &str) {
    let case = std::env::var(CASE).unwrap_or("first_stitch".to_owned());
    let shipped = |file: &str| std::fs::read_to_string(format!("scenarios/{file}")).expect("the file is shipped");
    let scenario = scenario::parse(&case, &shipped(&format!("{case}.ron"))).expect("the shipped scenario is in order");
    let hands = &scenario.demonstration;
    let hands = script::parse(hands, &shipped(hands)).expect("the shipped script is in order");
    let mut attempt = Attempt::begin(&scenario).expect("the shipped scenario can begin");
    let mut performer = Performer::new(hands, &attempt.world, Unsteadiness::default());
    while let Some(command) = performer.command(&attempt.world) {
        attempt.tick(&command);
    }
    let marks = std::env::var_os(MARKS).map(|_| {
        let rubric = Rubric::try_from(&scenario.rubric).expect("the shipped rubric is in order");
        score(&attempt.findings_with_pull(), &TaskOrder::from(&scenario.task), &rubric)
    });
    screenshot(&attempt.snapshot("Both ends cut"), &scenario, marks.as_ref(), 1280, 800, path.as_ref())
        .expect("the picture is drawn");
}

#[test]
fn the_finished_knot_can_be_seen() {
    if let Ok(path) = std::env::var(DRAW_TO) {
        draw(&path);
        return;
    }
    let kept = std::env::var_os(KEEP).map(PathBuf::from);
    let own = std::env::temp_dir().join(format!("knotwright-knot-{}.png", std::process::id()));
    let path = kept.as_ref().unwrap_or(&own);
    let Some(bytes) = drawn("ui::finished_knot::the_finished_knot_can_be_seen", DRAW_TO, path) else { return };
    if kept.is_none() {
        std::fs::remove_file(&own).expect("the picture can be removed");
    }
    // A picture of one colour packs to a few kilobytes; a lit scene of this size needs far more.
    assert!(bytes.len() > 100_000, "the picture holds only {} bytes: nothing is drawn in it", bytes.len());
}
