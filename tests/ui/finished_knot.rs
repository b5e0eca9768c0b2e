//! The picture in the README: the first scenario's demonstration at its finished knot, as the renderer draws it.
//!
//! `KNOTWRIGHT_KEEP_PICTURE=assets/window.png` keeps it; with `KNOTWRIGHT_PICTURE_MARKS=1` the debrief lies over it.

use std::io::Write;
use std::process::Command;

use knotwright::app::{adapters, screenshot};
use knotwright::input::script;
use knotwright::performer::{Performer, Unsteadiness};
use knotwright::scenario;
use knotwright::score::{Rubric, TaskOrder, score};
use knotwright::simulation::attempt::Attempt;

const DRAW_TO: &str = "KNOTWRIGHT_TEST_DRAW_KNOT_TO";
const KEEP: &str = "KNOTWRIGHT_KEEP_PICTURE";
const MARKS: &str = "KNOTWRIGHT_PICTURE_MARKS";
const REQUIRED: &str = "KNOTWRIGHT_ADAPTER_TESTS";
const SCENARIO: &str = include_str!("../../scenarios/first_stitch.ron");
const HANDS: &str = include_str!("../../scenarios/hands/first_stitch.hands");

fn draw(path: &str) {
    let scenario = scenario::parse("first_stitch.ron", SCENARIO).expect("the shipped scenario is in order");
    let hands = script::parse("first_stitch.hands", HANDS).expect("the shipped script is in order");
    let mut attempt = Attempt::begin(&scenario).expect("the shipped scenario can begin");
    let mut performer = Performer::new(hands, &attempt.world, Unsteadiness::default());
    while let Some(command) = performer.command(&attempt.world) {
        attempt.tick(&command);
    }
    let rubric = Rubric::try_from(&scenario.rubric).expect("the shipped rubric is in order");
    let marks = score(&attempt.findings(), &TaskOrder::from(&scenario.task), &rubric);
    let marks = std::env::var_os(MARKS).map(|_| marks);
    screenshot(&attempt.snapshot("Both ends cut"), &scenario, marks.as_ref(), 1280, 800, path.as_ref())
        .expect("the picture is drawn");
}

#[test]
fn the_finished_knot_can_be_seen() {
    if let Ok(path) = std::env::var(DRAW_TO) {
        draw(&path);
        return;
    }
    if adapters().is_empty() {
        let required = std::env::var(REQUIRED).is_ok_and(|value| value == "required");
        assert!(!required, "{REQUIRED}=required, but no adapter answers here");
        // Straight to the terminal: what a passing test prints is swallowed.
        let said = "NOT RUN: no adapter answers here, so the finished knot was not drawn";
        writeln!(std::io::stderr(), "{said}").expect("the terminal is there");
        return;
    }
    let own = std::env::temp_dir().join(format!("knotwright-knot-{}.png", std::process::id()));
    let path = std::env::var(KEEP).map_or(own, Into::into);
    let child = Command::new(std::env::current_exe().expect("the test knows its own program"))
        .args(["--exact", "ui::finished_knot::the_finished_knot_can_be_seen"])
        .env(DRAW_TO, &path)
        .output()
        .expect("the child starts");
    let bytes = std::fs::read(&path).unwrap_or_else(|error| {
        panic!("no picture: {error}\n{}", String::from_utf8_lossy(&child.stderr));
    });
    // A picture of one colour packs to a few kilobytes; a lit scene of this size needs far more.
    assert!(bytes.len() > 100_000, "the picture holds only {} bytes: nothing is drawn in it", bytes.len());
}
