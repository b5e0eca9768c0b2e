//! Gum that gives way takes its holes along.

use super::{NEEDLE, begin, hold, perform};
use knotwright::math::DVec3;
use knotwright::rod::surroundings::Host;
use knotwright::simulation::attempt::Attempt;
use knotwright::tissue::{HoleLoad, TickLoads};

/// The place at rest of the cheek's outer hole [mm], while there is one.
fn outer_hole(attempt: &Attempt) -> Option<DVec3> {
    attempt.world.around.sleeves.iter().rfind(|s| s.host == Host::Bite(0)).map(|s| s.rest)
}

#[test]
fn a_hole_moves_with_the_slit_until_it_is_torn_through() {
    let mut attempt = begin();
    perform(&mut attempt, NEEDLE, |_| {});
    let before = outer_hole(&attempt).expect("the thread runs through the cheek's flap");
    let bite = attempt.world.gum.bites[0];
    // Drawing the thread may already have lengthened the hole a little.
    let before = before + DVec3::Y * attempt.world.gum.flaps.tear(bite).advance();
    let force = DVec3::new(0.0, -3.0 * attempt.world.gum.flaps.tear_force(bite), 0.0);
    let still = hold(&attempt, DVec3::ZERO, 0.0);
    let mut moved: f64 = 0.0;
    for _ in 0..600 {
        let load = HoleLoad { bite, force, pressing_mn: 0.0 };
        attempt.world.gum.flaps.update(&TickLoads { holes: &[load], presses: &[] }, 1000.0 / 60.0);
        attempt.tick(&still);
        let Some(hole) = outer_hole(&attempt) else { break };
        let advance = attempt.world.gum.flaps.tear(bite).advance();
        assert!((before.y - hole.y - advance).abs() < 1e-9, "slit by {advance}, moved by {}", before.y - hole.y);
        moved = moved.max(advance);
    }
    assert!(moved > 1.0, "it moved by {moved} mm before it tore through");
    assert_eq!(outer_hole(&attempt), None, "a hole that is torn through holds nothing");
    let tears = attempt.findings().tissue.tears;
    assert_eq!(tears.len(), 1);
    assert!(tears[0].through && tears[0].bite == 0 && tears[0].slit_mm > 1.0, "{tears:?}");
}
