//! Tracked hands: packets that are really sent, to a port that is really open, move the hands of the window.

use super::own_hands::{case, window};
use crate::app::tracked_port::TrackedPort;
use crate::app::unseen::{Doing, Unseen};
use crate::cli::keep::Folder;
use crate::math::DVec3;
use crate::record::read;
use crate::simulation::{LEFT, RIGHT};
use rosc::{OscMessage, OscPacket, OscType, encoder::encode};
use std::net::{SocketAddr, UdpSocket};

/// Greatest way of a hand in a tick of the first case [mm]: 200 mm/s.
const STEP: f64 = 200.0 / 60.0;

/// A window with own hands, and somebody who tracks them.
struct Rig {
    window: Unseen,
    to: SocketAddr,
    sender: UdpSocket,
}

impl Rig {
    fn new() -> Rig {
        let mut window = window();
        let port = TrackedPort::open("127.0.0.1:0".parse().expect("it is an address"));
        let to = port.address();
        window.hear(port);
        Rig { window, to, sender: UdpSocket::bind("127.0.0.1:0").expect("there is a free port") }
    }

    fn send(&self, address: &str, numbers: &[f32]) {
        let args = numbers.iter().map(|number| OscType::Float(*number)).collect();
        let packet = OscPacket::Message(OscMessage { addr: address.to_owned(), args });
        let bytes = encode(&packet).expect("it can be sent");
        // On this machine a packet is there once it is sent.
        assert_eq!(self.sender.send_to(&bytes, self.to).expect("the port is open"), bytes.len());
    }

    /// A hand at a place [m], not turned.
    fn pose(&self, hand: &str, place: [f32; 3]) {
        self.send(&format!("/hand/{hand}/pose"), &[place[0], place[1], place[2], 0.0, 0.0, 0.0, 1.0]);
    }

    fn tick(&mut self) {
        self.window.tick(&Doing::default());
    }

    fn tips(&self) -> [DVec3; 2] {
        self.window.hands().expect("they are there").hands.map(|hand| hand.pose.position)
    }
}

#[test]
fn what_is_sent_to_the_port_moves_the_hands_of_the_window_and_the_window_says_so() {
    let mut rig = Rig::new();
    let [_, told] = rig.window.told_of_tracked_hands();
    assert_eq!(told, format!("Tracked hands at {}: left waited for, right waited for.", rig.to));
    rig.pose("left", [0.3, 0.1, 0.2]);
    rig.pose("right", [0.5, 0.1, 0.2]);
    let before = rig.tips();
    rig.tick();
    assert_eq!(rig.tips(), before, "the first pose moves nothing");
    rig.pose("left", [0.299, 0.1, 0.202]);
    rig.pose("right", [0.502, 0.1, 0.203]);
    rig.tick();
    let [right, left] = [RIGHT, LEFT].map(|hand| rig.tips()[hand] - before[hand]);
    // A metre in 32 bits is known to 0.06 micrometres.
    assert!(left.distance(DVec3::new(-1.0, 0.0, 2.0)) < 1e-4, "millimetre for millimetre: {left}");
    assert!(right.distance(DVec3::new(2.0, 0.0, 3.0).clamp_length_max(STEP)) < 1e-4, "{right}");
    let [_, told] = rig.window.told_of_tracked_hands();
    assert_eq!(told, format!("Tracked hands at {}: left followed, right followed.", rig.to));
}

#[test]
fn a_hand_that_is_thrown_goes_no_faster_than_the_case_allows_and_stays_where_it_is_lost() {
    let mut rig = Rig::new();
    rig.pose("right", [0.0, 0.0, 0.0]);
    rig.tick();
    // Ticks in which it is heard, in which it is not, and after 200 ms, when it counts as lost.
    let mut last = rig.tips()[RIGHT];
    for tick in 0..30 {
        if tick == 0 {
            rig.pose("right", [0.0, 0.0, 2.0]);
        }
        rig.tick();
        let now = rig.tips()[RIGHT];
        let way = now.distance(last);
        assert!(way <= STEP + 1e-9, "tick {tick}: {way} mm");
        // 20 mm are owed at most: six of the greatest ways.
        assert_eq!(way > 1e-9, tick < 6, "tick {tick}: {way} mm");
        last = now;
    }
    let [_, told] = rig.window.told_of_tracked_hands();
    assert!(told.ends_with("right waited for."), "{told}");
    rig.pose("right", [0.0, 0.0, 1.0]);
    rig.tick();
    assert_eq!(rig.tips()[RIGHT], last, "and does not jump when it is found again");
}

#[test]
fn tracked_jaws_hold_the_needle_until_they_are_squeezed_and_opened() {
    let mut rig = Rig::new();
    let opening = |rig: &Rig| rig.window.hands().expect("they are there").hands[RIGHT].opening;
    let held = opening(&rig);
    for (jaw, wanted) in [(1.0, held), (0.0, 0.0), (0.5, 0.5)] {
        for _ in 0..20 {
            rig.pose("right", [0.0, 0.0, 0.0]);
            rig.send("/hand/right/jaw", &[jaw]);
            rig.tick();
        }
        assert!((opening(&rig) - wanted).abs() < 1e-9, "{jaw}: {}, not {wanted}", opening(&rig));
    }
}

#[test]
fn while_time_stands_still_and_while_the_clutch_is_held_no_way_is_stored_up() {
    for (name, begins, ends) in [("pause", vec!["P"], vec!["P"]), ("clutch", vec![], vec![])] {
        let mut rig = Rig::new();
        rig.pose("right", [0.0, 0.0, 0.0]);
        rig.tick();
        let before = rig.tips()[RIGHT];
        let clutch = |rig: &Rig, held: f32| {
            if name == "clutch" {
                rig.send("/clutch", &[held]);
            }
        };
        clutch(&rig, 1.0);
        rig.window.tick(&Doing { struck: begins, ..Doing::default() });
        for step in 0..5 {
            rig.pose("right", [0.0, 0.01 * step as f32, 0.0]);
            rig.tick();
        }
        clutch(&rig, 0.0);
        rig.pose("right", [0.0, 0.04, 0.0]);
        rig.window.tick(&Doing { struck: ends, ..Doing::default() });
        rig.tick();
        assert_eq!(rig.tips()[RIGHT], before, "{name}");
        rig.pose("right", [0.0, 0.041, 0.0]);
        rig.tick();
        rig.tick();
        assert!((rig.tips()[RIGHT] - before).distance(DVec3::Y) < 1e-4, "{name}: {}", rig.tips()[RIGHT] - before);
    }
}

#[test]
fn what_cannot_be_taken_is_told_in_the_window_and_counted_there() {
    let mut rig = Rig::new();
    rig.send("/hand/left/pose", &[0.0; 6]);
    rig.tick();
    let [refused, told] = rig.window.told_of_tracked_hands();
    assert_eq!(refused, "Ignored: /hand/left/pose with 6 numbers; allowed are 7");
    assert!(told.ends_with(" Ignored so far: 1."), "{told}");
}

#[test]
fn a_recording_says_that_hands_may_have_been_tracked_where_a_port_was_asked_for() {
    let case = case();
    for asked in [false, true] {
        let place = std::env::temp_dir().join(format!("knotwright-tracked-{asked}-{}", std::process::id()));
        drop(std::fs::remove_dir_all(&place));
        let folder = Folder::of(Some(&place), |_| None).expect("it can be made").with_tracked_hands(asked);
        drop(super::desk::begin(&case, Some(&folder)).expect("it can begin"));
        let file = std::fs::read_dir(&place).expect("it is there").flatten().next().expect("there is one");
        let bytes = std::fs::read(file.path()).expect("it can be read");
        let (recording, _) = read::<crate::cli::session::Event>(&bytes).expect("its header is there");
        assert_eq!(recording.header.device.ends_with("tracked hands"), asked, "{}", recording.header.device);
        drop(std::fs::remove_dir_all(place));
    }
}
