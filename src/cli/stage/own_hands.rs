//! The first case in a window that nobody sees, as soon as own hands are live in it.

use super::Desk;
use crate::app::unseen::{Doing, Unseen};
use crate::cli::Case;
use crate::input::script::parse;

const DEMONSTRATION: &str = include_str!("../../../scenarios/hands/first_stitch.hands");

/// The first case.
pub(super) fn case() -> Case {
    Case::read("first_stitch.ron", include_str!("../../../scenarios/first_stitch.ron")).expect("it is shipped")
}

/// A window with own hands.
pub(super) fn window() -> Unseen {
    let case = case();
    let scenario = case.scenario.clone();
    let script = parse("first_stitch.hands", DEMONSTRATION).expect("it is shipped");
    let desk = Desk::new(case, script, Err("nothing is kept".to_owned()), None).expect("it can begin");
    let mut window = Unseen::open(Box::new(desk), &scenario);
    window.tick(&Doing { struck: vec!["B"], ..Doing::default() });
    window.tick(&Doing::default());
    assert!(window.hands().is_some(), "the key gives the hands");
    window
}
