//! What steel does to the membrane.

use super::{begin, perform};
use knotwright::math::{DVec2, DVec3};
use knotwright::simulation::attempt::Attempt;

fn centre(attempt: &Attempt) -> DVec2 {
    attempt.world.gum.membrane.centre()
}

#[test]
fn a_tip_drawn_across_the_membrane_takes_it_along_and_the_findings_say_how_far_and_until_when() {
    let mut attempt = begin();
    let before = attempt.findings().tissue.membrane.expect("it is measured");
    assert_eq!(before.dragged_mm, None);
    let mut moved = Vec::new();
    perform(&mut attempt, "sweep by -2.4 mm speed 30 mm/s\n", |attempt| moved.push(centre(attempt)));
    // The tip comes down and goes up straight, and in between goes all of its way; a hand comes within 0.1 mm.
    assert!((centre(&attempt) - DVec2::new(0.0, -2.4)).length() < 0.1, "{}", centre(&attempt));
    let after = attempt.findings().tissue.membrane.expect("it is measured");
    assert!((before.under_cheek_mm.value - after.under_cheek_mm.value - 2.4).abs() < 0.1, "{after:?}");
    assert!((after.under_tongue_mm.value - before.under_tongue_mm.value - 2.4).abs() < 0.1, "{after:?}");
    let dragged = after.dragged_mm.expect("it was dragged");
    let last = moved.windows(2).rposition(|pair| pair[0] != pair[1]).expect("it moved") + 2;
    assert!((dragged.value - 2.4).abs() < 0.1, "{dragged:?}");
    assert_eq!(dragged.tick.0 as usize, last, "the tick after which it lay still");
}

#[test]
fn a_tip_that_comes_down_on_a_flap_catches_the_membrane_at_its_edge() {
    // Edges lie 1.5 mm from the middle: a sweep of 6 mm begins 1.5 mm inside of one flap and goes on under the other.
    let mut attempt = begin();
    perform(&mut attempt, "sweep by 6 mm speed 30 mm/s\n", |_| {});
    let way = centre(&attempt).y;
    assert!((way - 4.5).abs() < 0.6, "a tick's way of 0.5 mm may be lost at the edge: {way}");
}

#[test]
fn hands_that_do_not_come_near_the_membrane_leave_it_where_it_is() {
    let mut attempt = begin();
    perform(&mut attempt, "drive bite 2.5 mm out 2.4 mm speed 12 mm/s\nregrip\n", |_| {});
    assert_eq!(centre(&attempt), DVec2::ZERO);
}

#[test]
fn a_needle_through_the_membrane_takes_it_along_when_it_goes_aside_and_not_along_its_own_arc() {
    let mut attempt = begin();
    let hold = |attempt: &Attempt, shift| super::hold(attempt, shift, 0.0);
    // Down between the edges, through the membrane, as the test of its piercing does.
    for shift in [DVec3::new(0.0, -6.5, 0.0), DVec3::new(0.0, 0.0, -13.0)] {
        let command = hold(&attempt, shift);
        (0..90).for_each(|_| attempt.tick(&command));
    }
    assert!(attempt.world.gum.membrane.is_pierced());
    let before = centre(&attempt);
    // The socket ends 2.75 mm from its middle.
    let command = hold(&attempt, DVec3::new(2.0, 0.0, 0.0));
    (0..60).for_each(|_| attempt.tick(&command));
    let way = centre(&attempt) - before;
    assert!((way - DVec2::new(2.0, 0.0)).length() < 0.1, "{way}");
}
