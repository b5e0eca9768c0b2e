//! A gamepad's sticks, triggers and buttons, down to the commands.
#![expect(clippy::float_cmp, reason = "these numbers come out exactly or the code is wrong")]

use knotwright::app::Stage;
use knotwright::app::acts::{Acts, Bound, Code, Press};
use knotwright::app::devices::read_acts;
use knotwright::app::hands::{Hands, Input, Stick};
use knotwright::app::pad::{DEAD_ZONE, PadState, curved, read_pad};
use knotwright::app::touch::OnScreen;
use knotwright::input::bindings::{Act, Bindings, Hand, Key};
use knotwright::input::{HandEvent, TickCommand};
use knotwright::math::{DVec2, DVec3};
use knotwright::simulation::{LEFT, RIGHT};

use super::fake::Fake;
use super::hands::goes_as_fast_as_it_may_and_no_faster;

const CAP: f64 = 30.0;

/// A gamepad with its acts and hands.
struct Rig {
    bound: Bound,
    acts: Acts,
    pad: PadState,
    hands: Hands,
}

impl Rig {
    fn new(hand: Hand, speed_cap: f64) -> Rig {
        Rig {
            bound: Bound::new(Bindings::of(hand)),
            acts: Acts::default(),
            pad: PadState { connected: true, ..PadState::default() },
            hands: Hands::take_over(&Fake::new().current_command(), speed_cap),
        }
    }

    /// Presses these buttons and no other.
    fn press(&mut self, names: &[&str]) {
        let down: Vec<Key> = names.iter().map(|name| Key::named(name).expect("it is a button")).collect();
        self.pad.began = down.iter().filter(|key| !self.pad.down.contains(key)).copied().collect();
        self.pad.down = down;
    }

    fn input(&mut self) -> Input {
        let pad = &self.pad;
        self.acts.look(&self.bound, true, &OnScreen::default(), |code| match code {
            Code::Pad(key) => pad.press(key),
            Code::Key(_) | Code::Button(_) => Press::default(),
        });
        self.pad.began.clear();
        let mirrored = self.bound.mirrored();
        let mut input = read_acts(&self.acts, mirrored);
        read_pad(&self.pad, &self.acts, mirrored, &mut input);
        input
    }

    fn tick(&mut self) -> TickCommand {
        let input = self.input();
        self.hands.advance(&input);
        self.hands.command()
    }

    fn ways(&mut self) -> [DVec3; 2] {
        let before = self.hands.hands.map(|hand| hand.pose.position);
        self.tick();
        [0, 1].map(|hand| self.hands.hands[hand].pose.position - before[hand])
    }
}

#[test]
fn a_stick_is_still_in_its_dead_zone_fine_near_it_and_whole_at_its_rim() {
    for share in [0.0, 0.5, 1.0] {
        assert_eq!(curved(DVec2::new(0.0, share * DEAD_ZONE)), DVec2::ZERO, "{share}");
    }
    assert!(curved(DVec2::new(0.3, 0.0)).x < 0.02);
    assert!((curved(DVec2::new(0.6, -0.8)) - DVec2::new(0.6, -0.8)).length() < 1e-12);
    // A stick whose corners are square reaches beyond 1.
    assert!((curved(DVec2::new(1.0, 1.0)).length() - 1.0).abs() < 1e-12);
}

#[test]
fn each_stick_is_the_hand_on_its_side() {
    let mut rig = Rig::new(Hand::Right, 1000.0);
    rig.pad.sticks = [DVec2::new(-1.0, 0.0), DVec2::new(0.0, 1.0)];
    let [right, left] = rig.ways();
    assert!(right.y > 1.0 && right.x == 0.0 && right.z == 0.0, "{right}");
    assert!((left + DVec3::X * right.y).length() < 1e-12, "as fast, to the left: {left}");
}

#[test]
fn bumpers_stand_a_stick_up_and_a_pressed_stick_turns() {
    let mut rig = Rig::new(Hand::Right, 1000.0);
    rig.pad.sticks = [DVec2::new(0.0, 1.0); 2];
    rig.press(&["PadRightBumper", "PadLeftStick"]);
    let before = rig.hands.hands[LEFT].pose.rotation;
    let [right, left] = rig.ways();
    assert!(right.z > 1.0 && right.y == 0.0, "{right}");
    assert_eq!(left, DVec3::ZERO);
    assert!(before.dot(rig.hands.hands[LEFT].pose.rotation).abs() < 1.0 - 1e-6, "it pitches");
}

/// The cap is the case's and the same for the mouse.
#[test]
fn no_stick_nor_stick_and_mouse_together_is_faster_than_the_case_allows() {
    let over = DVec2::new(1.0, 1.0);
    let sticks = Input { sticks: [Stick::Table(over); 2], ..Input::default() };
    let pulled = Input { both: true, drag: DVec2::new(9.0, 9.0), ..sticks };
    let parked = Input { parked: over, lift: 1.0, ..pulled };
    for (name, input) in [("sticks", sticks), ("with a two-hand pull", pulled), ("with keys", parked)] {
        let hands = Hands::take_over(&Fake::new().current_command(), CAP);
        goes_as_fast_as_it_may_and_no_faster(name, hands, &input, CAP);
    }
}

#[test]
fn triggers_shut_the_jaws_as_far_as_they_are_pulled_in_either_hand() {
    let mut rig = Rig::new(Hand::Right, CAP);
    // Both were taken over shut: their ratchets are on.
    rig.press(&["PadSouth"]);
    rig.tick();
    rig.press(&["PadNorth"]);
    rig.tick();
    rig.press(&["PadSouth"]);
    rig.tick();
    rig.press(&[]);
    (0..20).for_each(|_| drop(rig.tick()));
    assert_eq!(rig.hands.hands[LEFT].opening, 1.0);
    let parked = rig.hands.hands[RIGHT].opening;
    rig.pad.triggers = [0.525, 1.0];
    (0..20).for_each(|_| drop(rig.tick()));
    assert!((rig.hands.hands[LEFT].opening - 0.5).abs() < 1e-9, "half of what is left after the trigger's free way");
    assert_eq!(rig.hands.hands[RIGHT].opening, 0.0, "the parked jaws as well, from {parked}");
    rig.pad.triggers = [0.0, 0.0];
    let opened: Vec<f64> = (0..20).map(|_| rig.tick().right.jaw_opening()).collect();
    assert!(opened[0] > 0.0 && opened[0] < 0.2 && opened[19] == 1.0, "they open in time: {opened:?}");
}

#[test]
fn in_a_mirrored_field_the_left_stick_is_the_needle_holder() {
    let mut plain = Rig::new(Hand::Right, 1000.0);
    plain.pad.sticks = [DVec2::new(0.3, 0.9), DVec2::new(0.7, -0.2)];
    plain.pad.triggers = [1.0, 0.3];
    let mut mirrored = Rig::new(Hand::Left, 1000.0);
    mirrored.pad.sticks = [DVec2::new(-0.7, -0.2), DVec2::new(-0.3, 0.9)];
    mirrored.pad.triggers = [0.3, 1.0];
    assert_eq!(plain.input(), mirrored.input());
    assert_ne!(plain.input(), Input::default());
}

/// A short sequence, from the gamepad to what the simulation is told.
#[test]
fn a_gamepad_takes_a_thread_round_the_holder_pulls_and_cuts() {
    let mut rig = Rig::new(Hand::Right, 200.0);
    rig.press(&["PadNorth"]);
    rig.tick();
    assert_eq!(rig.hands.active, LEFT);
    // The forceps beside the holder's shaft, then round it in the ring plane.
    let holder = rig.hands.hands[RIGHT].pose;
    rig.press(&["PadUp"]);
    let plane = {
        let input = rig.input();
        assert!(input.ring);
        rig.hands.plane(&input)
    };
    let at = |hands: &Hands| {
        let away = hands.hands[LEFT].pose.position - holder.position;
        knotwright::math::atan2(away.dot(plane.forward), away.dot(plane.right))
    };
    rig.hands.hands[LEFT].pose.position = holder.position + holder.direction(DVec3::X) * 8.0 + plane.right * 8.0;
    let (mut turned, mut before) = (0.0, at(&rig.hands));
    for _ in 0..90 {
        let angle = before + std::f64::consts::FRAC_PI_2;
        rig.pad.sticks = [DVec2::new(knotwright::math::cos(angle), knotwright::math::sin(angle)), DVec2::ZERO];
        rig.tick();
        let now = at(&rig.hands);
        let step = now - before;
        turned += step - std::f64::consts::TAU * (step / std::f64::consts::TAU).round();
        before = now;
    }
    assert!(turned > std::f64::consts::TAU, "round once at least, not {turned} rad");
    // Opposite sticks pull apart.
    rig.press(&[]);
    rig.pad.sticks = [DVec2::new(-1.0, 0.0), DVec2::new(1.0, 0.0)];
    let apart = |hands: &Hands| hands.hands[RIGHT].pose.position.x - hands.hands[LEFT].pose.position.x;
    let near = apart(&rig.hands);
    (0..30).for_each(|_| drop(rig.tick()));
    assert!(apart(&rig.hands) > near + 60.0, "80 mm/s each for half a second");
    rig.pad.sticks = [DVec2::ZERO; 2];
    rig.press(&["PadWest"]);
    let command = rig.tick();
    assert_eq!(command.events, [HandEvent::Cut { at: command.left.tip }]);
    assert_eq!(rig.tick().events, [], "once for a press");
    assert!(!rig.acts.began(Act::Cut));
}
