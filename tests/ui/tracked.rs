//! What tracked hands ask of needle holder and forceps, down to the commands.
#![expect(clippy::float_cmp, reason = "these numbers come out exactly or the code is wrong")]

use knotwright::app::Stage;
use knotwright::app::hands::{Hands, Input, Stick, TrackedMotion};
use knotwright::math::{DQuat, DVec2, DVec3, rotation};
use knotwright::simulation::{LEFT, RIGHT};

use super::fake::Fake;
use super::hands::goes_as_fast_as_it_may_and_no_faster;

const CAP: f64 = 30.0;

fn hands(speed_cap: f64) -> Hands {
    Hands::take_over(&Fake::new().current_command(), speed_cap)
}

fn going(way: DVec3) -> TrackedMotion {
    TrackedMotion { way, ..TrackedMotion::default() }
}

fn of(right: TrackedMotion, left: TrackedMotion) -> Input {
    Input { tracked: [right, left], ..Input::default() }
}

fn jaws(opening: f64) -> Input {
    let motion = TrackedMotion { opening: Some(opening), ..TrackedMotion::default() };
    of(motion, motion)
}

#[test]
fn both_hands_go_their_own_ways_and_turn_about_the_operators_axes() {
    let mut hands = hands(1000.0);
    let before = hands.hands.map(|hand| hand.pose);
    let turn = rotation(DVec3::Z, 0.4);
    let right = TrackedMotion { turn, ..going(DVec3::new(1.0, 2.0, -3.0)) };
    hands.advance(&of(right, going(DVec3::new(-4.0, 0.0, 0.5))));
    let after = hands.hands.map(|hand| hand.pose);
    for (hand, way) in [(RIGHT, DVec3::new(1.0, 2.0, -3.0)), (LEFT, DVec3::new(-4.0, 0.0, 0.5))] {
        assert!((after[hand].position - before[hand].position - way).length() < 1e-12, "hand {hand}");
    }
    assert!((turn * before[RIGHT].rotation).dot(after[RIGHT].rotation).abs() > 1.0 - 1e-12);
    assert!(before[LEFT].rotation.dot(after[LEFT].rotation).abs() > 1.0 - 1e-12);
}

#[test]
fn motions_of_one_tick_follow_each_other_and_are_spent_while_jaws_stay_as_they_are() {
    let (first, second) = (rotation(DVec3::X, 0.3), rotation(DVec3::Y, 0.5));
    let mut input = of(TrackedMotion { turn: first, parked: true, ..going(DVec3::X) }, TrackedMotion::default());
    let later = TrackedMotion { turn: second, opening: Some(0.5), ..going(DVec3::Y) };
    input.add(&of(later, TrackedMotion::default()));
    let wanted = TrackedMotion { turn: second * first, ..later };
    assert_eq!(input.tracked[RIGHT], TrackedMotion { way: DVec3::X + DVec3::Y, ..wanted });
    let left = TrackedMotion { opening: Some(0.5), ..TrackedMotion::default() };
    assert_eq!(input.spent().tracked[RIGHT], left);
    assert_eq!(left.turn, DQuat::IDENTITY);
}

#[test]
fn no_tracked_hand_alone_or_with_other_devices_is_faster_than_the_case_allows() {
    let over = DVec2::new(1.0, 1.0);
    let tracked = of(going(DVec3::new(9.0, 9.0, 9.0)), going(DVec3::X * 0.1));
    let dragged = Input { drag: DVec2::new(9.0, 9.0), raise: 9.0, ..tracked };
    let all = Input { sticks: [Stick::Table(over); 2], both: true, parked: over, lift: 1.0, ..dragged };
    for (name, input) in [("tracked", tracked), ("with the mouse", dragged), ("with all", all)] {
        goes_as_fast_as_it_may_and_no_faster(name, hands(CAP), &input, CAP);
    }
}

#[test]
fn what_is_too_fast_is_owed_to_its_own_hand_up_to_20_mm_and_given_up_where_the_hand_is_parked() {
    let went = |asked: f64, parked_after: usize| {
        let mut hands = hands(60.0);
        let before = hands.hands.map(|hand| hand.pose.position);
        hands.advance(&of(TrackedMotion::default(), going(DVec3::X * asked)));
        for tick in 1..100 {
            let parked = tick >= parked_after;
            hands.advance(&of(TrackedMotion::default(), TrackedMotion { parked, ..TrackedMotion::default() }));
        }
        [RIGHT, LEFT].map(|hand| (hands.hands[hand].pose.position - before[hand]).length())
    };
    let cases = [("all of it", 15.0, 1000, 15.0), ("20 mm", 500.0, 1000, 20.0), ("until parked", 15.0, 4, 4.0)];
    for (name, asked, parked_after, wanted) in cases {
        let [right, left] = went(asked, parked_after);
        assert!((left - wanted).abs() < 1e-9 && right == 0.0, "{name}: {left} and {right} mm");
    }
}

#[test]
fn jaws_follow_in_either_hand_shut_at_once_open_in_time_and_stay_when_nothing_is_known() {
    let mut hands = hands(CAP);
    // Both were taken over shut: it takes a squeeze to have their ratchets off.
    hands.advance(&jaws(0.0));
    let opened: Vec<f64> = (0..20)
        .map(|_| {
            hands.advance(&jaws(0.6));
            hands.hands[RIGHT].opening
        })
        .collect();
    assert!(opened[0] > 0.0 && opened[0] < 0.2 && opened[19] == 0.6, "{opened:?}");
    assert_eq!(hands.hands[LEFT].opening, 0.6, "the parked jaws as well");
    hands.advance(&jaws(0.1));
    assert_eq!(hands.hands.map(|hand| hand.opening), [0.1; 2]);
    (0..20).for_each(|_| hands.advance(&Input::default()));
    assert_eq!(hands.hands.map(|hand| hand.opening), [0.1; 2], "nothing is dropped when a hand is seen no longer");
    (0..20).for_each(|_| hands.advance(&jaws(0.12)));
    assert_eq!(hands.hands.map(|hand| hand.opening), [0.12; 2], "and they follow again when it is back");
}

#[test]
fn whoever_takes_over_with_open_jaws_drops_nothing_until_they_were_squeezed() {
    let mut hands = hands(CAP);
    let shut = hands.hands.map(|hand| hand.opening);
    (0..20).for_each(|_| hands.advance(&jaws(0.9)));
    assert_eq!(hands.hands.map(|hand| hand.opening), shut);
    hands.advance(&jaws(0.04));
    (0..20).for_each(|_| hands.advance(&jaws(0.9)));
    assert_eq!(hands.hands.map(|hand| hand.opening), [0.9; 2]);
}

#[test]
fn a_ratchet_and_an_eased_hold_outlast_jaws_that_stay_shut_and_end_with_the_next_squeeze() {
    let mut hands = hands(CAP);
    hands.advance(&jaws(0.0));
    hands.advance(&Input { ease: true, ..jaws(0.0) });
    (0..20).for_each(|_| hands.advance(&jaws(0.0)));
    let eased = knotwright::app::hands::eased_opening();
    assert_eq!(hands.hands[RIGHT].opening, eased, "a thread runs through");
    (0..20).for_each(|_| hands.advance(&jaws(0.8)));
    assert_eq!(hands.hands[RIGHT].opening, eased);
    hands.advance(&jaws(0.0));
    (0..20).for_each(|_| hands.advance(&jaws(0.8)));
    assert_eq!(hands.hands[RIGHT].opening, 0.8);
    hands.advance(&Input { ratchet: true, ..jaws(0.8) });
    assert_eq!(hands.hands[RIGHT].opening, 0.0, "the key throws it");
}
