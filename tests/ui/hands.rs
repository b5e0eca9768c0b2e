//! From what devices did to a command.
#![expect(clippy::float_cmp, reason = "these numbers come out exactly or the code is wrong")]

use knotwright::app::Stage;
use knotwright::app::devices::{Sight, drag};
use knotwright::app::hands::{Hands, Input, RING, eased_opening};
use knotwright::input::{HandEvent, TickCommand};
use knotwright::math::{DVec2, DVec3, Pose, rotation};

use super::fake::Fake;

const RIGHT: usize = 0;
const LEFT: usize = 1;

/// Micrometres: half a step of a command's quantisation.
const STEP: f64 = 0.5e-3;

fn hands() -> Hands {
    Hands::take_over(&Fake::new().current_command(), 200.0)
}

fn moved(input: Input) -> [DVec3; 2] {
    let mut hands = hands();
    let before = hands.hands.map(|hand| hand.pose.position);
    hands.advance(&input);
    [0, 1].map(|hand| hands.hands[hand].pose.position - before[hand])
}

fn dragged(x: f64, y: f64) -> Input {
    Input { drag: DVec2::new(x, y), ..Input::default() }
}

/// Asserts that under an input no hand is faster than a `cap` [mm/s], and the needle holder as fast as that.
#[track_caller]
pub(super) fn goes_as_fast_as_it_may_and_no_faster(name: &str, mut hands: Hands, input: &Input, cap: f64) {
    let step = cap / 60.0;
    for tick in 0..5 {
        let before = hands.hands.map(|hand| hand.pose.position);
        hands.advance(input);
        for hand in [RIGHT, LEFT] {
            let way = hands.hands[hand].pose.position.distance(before[hand]);
            assert!(way <= step + 1e-12, "{name}, tick {tick}, hand {hand}: {way} mm, allowed {step}");
        }
        let way = hands.hands[RIGHT].pose.position.distance(before[RIGHT]);
        assert!(way > 0.99 * step, "{name}: the needle holder goes as fast as it may, not {way}");
    }
}

#[test]
fn taking_over_changes_nothing() {
    let before = Fake::new().current_command();
    let mut hands = hands();
    hands.advance(&Input::default());
    let after = hands.command();
    assert_eq!((after.right.tip, after.left.tip), (before.right.tip, before.left.tip));
    assert_eq!((after.right.jaw, after.left.jaw), (before.right.jaw, before.left.jaw), "nothing is dropped");
    assert_eq!(after.events, []);
}

#[test]
fn each_mode_moves_the_tip_in_its_plane() {
    let cases: &[(&str, Input, DVec3, DVec3)] = &[
        ("the mouse slides on the table", dragged(1.0, 2.0), DVec3::new(1.0, 2.0, 0.0), DVec3::ZERO),
        ("the wheel raises", Input { raise: 0.5, ..Input::default() }, DVec3::Z * 0.5, DVec3::ZERO),
        (
            "Shift stands the plane up",
            Input { stand: true, ..dragged(1.0, 2.0) },
            DVec3::new(1.0, 0.0, 2.0),
            DVec3::ZERO,
        ),
        (
            "Space mirrors the other hand",
            Input { both: true, ..dragged(-1.0, 2.0) },
            DVec3::new(-1.0, 2.0, 0.0),
            DVec3::new(1.0, -2.0, 0.0),
        ),
        ("Tab changes the hand", Input { switch: true, ..dragged(0.0, 2.0) }, DVec3::ZERO, DVec3::Y * 2.0),
        (
            "keys move the parked hand, 20 mm in a second",
            Input { parked: DVec2::new(0.0, -1.0), ..Input::default() },
            DVec3::ZERO,
            DVec3::Y * (-20.0 / 60.0),
        ),
    ];
    for (name, input, right, left) in cases {
        let [got_right, got_left] = moved(*input);
        assert!((got_right - *right).length() < 1e-12, "{name}: right {got_right}");
        assert!((got_left - *left).length() < 1e-12, "{name}: left {got_left}");
    }
}

#[test]
fn the_ring_plane_is_square_to_the_parked_shaft() {
    let hands = hands();
    let plane = hands.plane(&Input { ring: true, ..Input::default() });
    let shaft = hands.hands[LEFT].pose.direction(DVec3::X);
    for (name, axis) in [("right", plane.right), ("forward", plane.forward)] {
        // The shaft comes from a quaternion of 15 bits: an error of 1e-4 is its rounding.
        assert!(axis.dot(shaft).abs() < 1e-4 && (axis.length() - 1.0).abs() < 1e-4, "{name}: {axis}");
    }
    assert!(plane.right.x >= 0.0 && plane.forward.z > 0.0, "right is right and forward is up");
}

#[test]
fn the_ring_keeps_the_tip_near_the_shaft() {
    let mut hands = hands();
    let distance = |hands: &Hands| {
        let parked = hands.hands[LEFT].pose;
        let away = hands.hands[RIGHT].pose.position - parked.position;
        (away - parked.direction(DVec3::X) * away.dot(parked.direction(DVec3::X))).length()
    };
    for drag in [DVec2::new(3.0, 0.0), DVec2::new(-3.0, 0.0)] {
        for _ in 0..30 {
            hands.advance(&Input { ring: true, drag, ..Input::default() });
            let away = distance(&hands);
            assert!((RING[0] - 1e-9..=RING[1] + 1e-9).contains(&away), "{away}");
        }
    }
}

/// The point of the ring plane: circling the mouse carries the tip round the shaft.
#[test]
fn circling_the_mouse_in_the_ring_plane_goes_round_the_shaft() {
    let mut hands = hands();
    let input = Input { ring: true, ..Input::default() };
    let parked = hands.hands[LEFT].pose;
    let plane = hands.plane(&input);
    hands.hands[RIGHT].pose.position = parked.position + parked.direction(DVec3::X) * 8.0 + plane.right * 8.0;
    let angle = |hands: &Hands| {
        let away = hands.hands[RIGHT].pose.position - parked.position;
        knotwright::math::atan2(away.dot(plane.forward), away.dot(plane.right))
    };
    let (mut turned, mut before) = (0.0, angle(&hands));
    for i in 0..120 {
        let phase = f64::from(i) / 120.0 * std::f64::consts::TAU;
        let way = DVec2::new(-knotwright::math::sin(phase), knotwright::math::cos(phase));
        hands.advance(&Input { drag: way * (8.0 * std::f64::consts::TAU / 120.0), ..input });
        let now = angle(&hands);
        let step = now - before;
        turned += step - std::f64::consts::TAU * (step / std::f64::consts::TAU).round();
        before = now;
    }
    assert!((turned - std::f64::consts::TAU).abs() < 0.1, "went round by {turned} rad");
}

#[test]
fn no_hand_is_faster_than_the_case_allows_and_no_motion_is_lost() {
    let mut hands = hands();
    let start = hands.hands[RIGHT].pose.position;
    hands.advance(&dragged(10.0, 0.0));
    let first = hands.hands[RIGHT].pose.position - start;
    assert!((first.x - 200.0 / 60.0).abs() < 1e-12, "{first}");
    for _ in 0..5 {
        hands.advance(&Input::default());
    }
    assert!((hands.hands[RIGHT].pose.position - start - DVec3::X * 10.0).length() < 1e-12);
}

#[test]
fn the_active_tip_goes_to_a_height_as_fast_as_it_may_and_no_further_however_often_it_is_asked() {
    let mut hands = hands();
    let before = hands.hands[RIGHT].pose.position;
    for tick in 0..8 {
        hands.raise_to(before.z + 10.0);
        hands.advance(&Input::default());
        let way = hands.hands[RIGHT].pose.position - before;
        let wanted = (200.0 / 60.0 * f64::from(tick + 1)).min(10.0);
        assert!((way - DVec3::Z * wanted).length() < 1e-9, "tick {tick}: {way}");
    }
}

#[test]
fn jaws_close_at_once_open_in_time_and_stay_under_the_ratchet() {
    let mut hands = hands();
    let held = Input { close: true, ..Input::default() };
    let thrown = Input { ratchet: true, ..Input::default() };
    let opening = |hands: &mut Hands, input: &Input| {
        hands.advance(input);
        hands.command().right.jaw_opening()
    };
    assert_eq!(opening(&mut hands, &held), 0.0);
    assert!(opening(&mut hands, &Input::default()) < 0.35, "taken over shut: the ratchet is on");
    hands.advance(&thrown);
    let released: Vec<f64> = (0..12).map(|_| opening(&mut hands, &held)).collect();
    assert_eq!(released, [0.0; 12], "the button holds them shut");
    let open: Vec<f64> = (0..12).map(|_| opening(&mut hands, &Input::default())).collect();
    assert!(open[0] > 0.0 && open[0] < 0.2 && open[11] == 1.0, "{open:?}");
    assert_eq!(opening(&mut hands, &thrown), 0.0, "the ratchet shuts them");
    assert_eq!(opening(&mut hands, &Input::default()), 0.0);
}

#[test]
fn eased_jaws_let_a_thread_run_until_they_hold_it_firmly_again_in_whichever_hand() {
    let mut hands = hands();
    let press = |hands: &mut Hands, input: Input| {
        hands.advance(&input);
        hands.advance(&Input::default());
        let command = hands.command();
        [command.right.jaw_opening(), command.left.jaw_opening()]
    };
    let ease = Input { ease: true, ..Input::default() };
    let switch = Input { switch: true, ..Input::default() };
    assert!(hands.hands[LEFT].locked == Some(0.0), "they are shut");
    press(&mut hands, switch);
    let eased = press(&mut hands, ease)[LEFT];
    // A command has the opening in 32767 steps.
    assert!(eased > 0.0 && (eased - eased_opening()).abs() < 1.0 / 32_767.0, "{eased}");
    assert_eq!(press(&mut hands, switch)[LEFT], eased, "a parked hand goes on as it was");
    press(&mut hands, switch);
    assert_eq!(press(&mut hands, ease)[LEFT], 0.0, "firm");
    let open = press(&mut hands, Input { ratchet: true, ..Input::default() })[LEFT];
    assert!(open > 0.0, "the ratchet still lets them open");
    assert_eq!(press(&mut hands, ease)[LEFT], eased, "open jaws close as far as that");
}

#[test]
fn a_right_drag_turns_about_the_tip() {
    let mut hands = hands();
    let before = hands.hands[RIGHT].pose;
    hands.advance(&Input { turn: DVec2::new(0.3, 0.0), ..Input::default() });
    let after = hands.hands[RIGHT].pose;
    assert_eq!(after.position, before.position);
    assert!((after.direction(DVec3::X) - before.direction(DVec3::X)).length() < 1e-9, "roll keeps the shaft");
    let rolled = (before.rotation * rotation(DVec3::X, 0.3)).dot(after.rotation).abs();
    assert!((rolled - 1.0).abs() < 1e-12);
}

#[test]
fn events_are_commanded_once() {
    let mut hands = hands();
    hands.advance(&Input { cut: true, arm: true, finish: true, ..Input::default() });
    let TickCommand { right, events, .. } = hands.command();
    assert_eq!(events, [HandEvent::Cut { at: right.tip }, HandEvent::Arm, HandEvent::Finish]);
    hands.advance(&Input { cut: true, ..Input::default() }.spent());
    assert_eq!(hands.command().events, []);
}

#[test]
fn motions_of_one_tick_add_up_and_buttons_are_as_they_are_last() {
    let mut input = Input { close: true, switch: true, ..dragged(1.0, 0.0) };
    input.add(&Input { switch: true, ..dragged(0.5, 2.0) });
    assert_eq!(input, dragged(1.5, 2.0), "two changes of the hand are none");
}

fn plane(hands: &Hands, input: &Input) -> knotwright::app::hands::WorkPlane {
    hands.plane(input)
}

#[test]
fn the_tip_stays_under_the_pointer() {
    let hands = hands();
    let plane = plane(&hands, &Input::default());
    let eye = DVec3::new(0.0, -80.0, 100.0);
    let toward = |x: f64, y: f64| {
        let target = DVec3::new(x, y, plane.origin.z);
        Sight { origin: eye, direction: (target - eye).normalize() }
    };
    let way = drag(&plane, toward(1.0, 2.0), toward(4.0, -3.0), DVec2::ZERO);
    assert!((way - DVec2::new(3.0, -5.0)).length() < 1e-9, "{way}");
}

#[test]
fn a_plane_seen_edge_on_takes_the_pixels() {
    let hands = hands();
    let plane = plane(&hands, &Input { stand: true, ..Input::default() });
    let above = Sight { origin: DVec3::new(0.0, 0.0, 100.0), direction: -DVec3::Z };
    let way = drag(&plane, above, above, DVec2::new(10.0, -20.0));
    assert!(way.x > 0.0 && (way.y + 2.0 * way.x).abs() < 1e-12, "{way}");
}

/// A hand that is drawn up past the eye must not stand still under the mouse.
#[test]
fn a_plane_seen_from_too_near_takes_the_pixels() {
    let hands = hands();
    let plane = plane(&hands, &Input::default());
    let sight = |from: f64, x: f64| {
        let eye = plane.origin + DVec3::Z * from;
        Sight { origin: eye, direction: (plane.origin + DVec3::X * x - eye).normalize() }
    };
    let near = drag(&plane, sight(1.0, 0.0), sight(1.0, 0.1), DVec2::new(50.0, 0.0));
    assert!(near.x > 1.0, "{near}");
    let far = drag(&plane, sight(60.0, 0.0), sight(60.0, 6.0), DVec2::new(50.0, 0.0));
    assert!((far.x - 6.0).abs() < 1e-9, "{far}");
}

#[test]
fn a_command_is_the_wanted_pose_to_a_micrometre() {
    let mut hands = hands();
    let wanted = Pose { position: DVec3::new(1.2343, -6.789, 3.2101), ..hands.hands[RIGHT].pose };
    hands.hands[RIGHT].pose = wanted;
    assert!((hands.command().right.pose().position - wanted.position).abs().max_element() <= STEP);
}
