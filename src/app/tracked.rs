//! Hands that something else tracks, such as a camera or an instrument with sensors, as it tells of them over OSC.
//!
//! OSC is Open Sound Control 1.0: messages of an address and numbers. [`Tracked`] takes them with the time at which they came and
//! gives the motion of each hand since it was last looked at; where the hand is does not matter, so that nothing jumps. Knows
//! neither socket nor clock nor engine.

use std::collections::BTreeSet;
use std::time::Duration;

use rosc::{OscMessage, OscPacket, OscType, decoder};

use super::hands::TrackedMotion;
use super::words::Text;
use crate::math::{DQuat, DVec3, Pose};
use crate::simulation::{LEFT, RIGHT};

/// A hand of which nothing is heard for longer than this is parked; common practice, no source.
pub const SILENCE_MAX: Duration = Duration::from_millis(200);

/// Longest packet [byte]; some twenty poses. A decoder goes into bundles of bundles, and this bounds how deep.
pub const PACKET_MAX: usize = 2048;

/// Greatest coordinate of a place [m]: further is no hand but another unit.
const PLACE_MAX_M: f64 = 10.0;

/// Length of a quaternion: rounding is mended, another meaning is not.
const QUATERNION: [f64; 2] = [0.5, 2.0];

/// Opening of jaws that is taken, as sensors waver about their ends; what is beyond 0..=1 is brought back into it.
const OPENING: [f64; 2] = [-0.1, 1.1];

/// Most characters of what was sent that are told; all addresses together have fewer.
const TOLD_MAX: usize = 120;

const MM_PER_M: f64 = 1000.0;

/// What is known of a tracked hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum HandState {
    /// Nothing was heard of it, or too long ago.
    #[default]
    Silent,
    /// Whoever tracks it says that it is not seen.
    NotSeen,
    /// It moves on its own, for the clutch is held.
    Clutched,
    /// Its instrument follows it.
    Followed,
}

/// What became of one hand.
#[derive(Debug, Clone, Copy, Default)]
struct Hand {
    /// The pose that came last, from which the next one is a motion; none before the first, and after any pause.
    last: Option<Pose>,
    /// Way [mm] and turn since it was last looked at.
    moved: TrackedMotion,
    opening: Option<f64>,
    /// Whoever tracks it says that it is not seen.
    lost: bool,
    /// When something was heard of it last.
    heard: Option<Duration>,
}

/// Both hands, and what was sent that could not be taken.
#[derive(Debug, Clone, Default)]
pub struct Tracked {
    /// The operator's own left and right hand.
    hands: [Hand; 2],
    clutched: bool,
    /// When anything was heard last.
    heard: Option<Duration>,
    ignored: u64,
    /// Texts that have been told.
    told: BTreeSet<&'static str>,
    /// What is to be told.
    fault: Option<Text>,
}

/// What a message is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Told {
    Pose(usize),
    Jaw(usize),
    Valid(usize),
    Clutch,
}

/// The operator's own hands, as the states have them.
const OWN_LEFT: usize = 0;
const OWN_RIGHT: usize = 1;

/// What may be sent: the address, what it is about, and how many numbers it has.
const ADDRESSES: [(&str, Told, usize); 7] = [
    ("/hand/left/pose", Told::Pose(OWN_LEFT), 7),
    ("/hand/right/pose", Told::Pose(OWN_RIGHT), 7),
    ("/hand/left/jaw", Told::Jaw(OWN_LEFT), 1),
    ("/hand/right/jaw", Told::Jaw(OWN_RIGHT), 1),
    ("/hand/left/valid", Told::Valid(OWN_LEFT), 1),
    ("/hand/right/valid", Told::Valid(OWN_RIGHT), 1),
    ("/clutch", Told::Clutch, 1),
];

impl Tracked {
    /// Takes a packet that came `at` this time; of what cannot be taken it is counted and noted why.
    pub fn take(&mut self, packet: &[u8], at: Duration) {
        if packet.len() > PACKET_MAX {
            // Its own length is not known: what it had more was cut off where it was received.
            self.ignore("tracked-too-long", vec![("allowed", PACKET_MAX.to_string())]);
            return;
        }
        match decoder::decode_udp(packet) {
            Ok((rest, packet)) => {
                self.open(&packet, at);
                // What stands behind the last message that could be read is no message.
                if !rest.is_empty() {
                    self.ignore("tracked-no-osc", vec![("why", format!("{} B", rest.len()))]);
                }
            }
            Err(error) => self.ignore("tracked-no-osc", vec![("why", error.to_string())]),
        }
    }

    /// Motion of needle holder and forceps since this was last called, in the frame of the field; `mirrored` if that is shown so.
    ///
    /// The left hand has the forceps, the right one the needle holder; in a mirrored field it is the other way round. To be called
    /// in each picture: what came within one long picture is no pause.
    pub fn look(&mut self, now: Duration, mirrored: bool) -> [TrackedMotion; 2] {
        let silent = |heard: Option<Duration>| heard.is_none_or(|heard| now.saturating_sub(heard) > SILENCE_MAX);
        if silent(self.heard) {
            // Whoever held it may be gone.
            self.clutched = false;
        }
        let mut motions = [TrackedMotion::default(); 2];
        for (own, hand) in self.hands.iter_mut().enumerate() {
            if silent(hand.heard) {
                *hand = Hand { moved: hand.moved, ..Hand::default() };
            }
            let moved = std::mem::take(&mut hand.moved);
            let parked = hand.lost || hand.last.is_none();
            let motion = TrackedMotion { opening: hand.opening.filter(|_| !parked), parked, ..moved };
            let instrument = if (own == OWN_LEFT) == mirrored { RIGHT } else { LEFT };
            motions[instrument] = if mirrored { mirror(&motion) } else { motion };
        }
        motions
    }

    /// What is known of the operator's own left and right hand since [`Tracked::look`].
    #[must_use]
    pub fn states(&self) -> [HandState; 2] {
        self.hands.each_ref().map(|hand| match hand {
            Hand { heard: None, .. } => HandState::Silent,
            Hand { lost: true, .. } => HandState::NotSeen,
            _ if self.clutched => HandState::Clutched,
            Hand { last: None, .. } => HandState::Silent,
            _ => HandState::Followed,
        })
    }

    /// How many messages and packets could not be taken.
    #[must_use]
    pub fn ignored(&self) -> u64 {
        self.ignored
    }

    /// Why one could not be taken, once for each reason.
    pub fn fault(&mut self) -> Option<Text> {
        self.fault.take()
    }

    /// Counts what could not be taken, and notes why if that was not told before.
    pub(super) fn ignore(&mut self, reason: &'static str, put_in: Vec<(&'static str, String)>) {
        self.ignored += 1;
        // One after the other, so that none goes by unseen.
        if self.fault.is_none() && self.told.insert(reason) {
            let put_in = put_in.into_iter().map(|(name, words)| (name, short(&words))).collect();
            self.fault = Some(Text::Key(reason, put_in));
        }
    }

    /// Takes what is in a packet, in order. Time tags of bundles are not looked at: a hand is where it is now.
    fn open(&mut self, packet: &OscPacket, at: Duration) {
        match packet {
            OscPacket::Message(message) => {
                if let Err((reason, put_in)) = self.hear(message, at) {
                    self.ignore(reason, put_in);
                }
            }
            OscPacket::Bundle(bundle) => bundle.content.iter().for_each(|packet| self.open(packet, at)),
        }
    }

    fn hear(&mut self, message: &OscMessage, at: Duration) -> Result<(), Reason> {
        let OscMessage { addr, args } = message;
        let known = ADDRESSES.iter().find(|(address, ..)| address == addr);
        let Some((_, told, count)) = known else {
            let allowed = ADDRESSES.map(|(address, ..)| address).join(", ");
            return Err(("tracked-address", vec![("found", addr.clone()), ("allowed", allowed)]));
        };
        if args.len() != *count {
            let (found, allowed) = (args.len().to_string(), count.to_string());
            return Err(("tracked-count", vec![("address", addr.clone()), ("found", found), ("allowed", allowed)]));
        }
        let numbers = args.iter().map(|arg| number(addr, arg)).collect::<Result<Vec<f64>, Reason>>()?;
        match *told {
            Told::Pose(hand) => {
                let pose = pose(addr, &numbers)?;
                self.hands[hand].follow(pose, self.clutched);
            }
            Told::Jaw(hand) => {
                let [least, most] = OPENING;
                let opening = within(addr, numbers[0], least, most)?;
                if !self.hands[hand].lost {
                    self.hands[hand].opening = Some(opening.clamp(0.0, 1.0));
                }
            }
            Told::Valid(hand) => {
                self.hands[hand].lost = !switch(addr, numbers[0])?;
                if self.hands[hand].lost {
                    self.hands[hand].let_go();
                }
            }
            Told::Clutch => {
                self.clutched = switch(addr, numbers[0])?;
                if self.clutched {
                    self.hands.iter_mut().for_each(|hand| hand.last = None);
                }
            }
        }
        self.heard = Some(at);
        if let Told::Pose(hand) | Told::Jaw(hand) | Told::Valid(hand) = *told {
            self.hands[hand].heard = Some(at);
        }
        Ok(())
    }
}

impl Hand {
    /// Goes to another pose; the first one after a pause only says where the next motion begins.
    fn follow(&mut self, pose: Pose, clutched: bool) {
        if self.lost || clutched {
            return;
        }
        if let Some(last) = self.last.replace(pose) {
            let (way, turn) = (pose.position - last.position, pose.rotation * last.rotation.conjugate());
            self.moved = self.moved.then(&TrackedMotion { way, turn, ..TrackedMotion::default() });
        }
    }

    /// Nothing of it is known any more.
    fn let_go(&mut self) {
        (self.last, self.opening) = (None, None);
    }
}

/// Words of a sender that are to be told, cut off where they would fill the screen.
fn short(words: &str) -> String {
    let cut: String = words.chars().take(TOLD_MAX).collect();
    if cut.len() < words.len() { cut + "…" } else { cut }
}

/// Why a message was not taken: the key of a text, and what is put into it.
type Reason = (&'static str, Vec<(&'static str, String)>);

/// A number of any kind that OSC has, or true and false.
fn number(address: &str, arg: &OscType) -> Result<f64, Reason> {
    let number = match arg {
        OscType::Float(number) => f64::from(*number),
        OscType::Double(number) => *number,
        OscType::Int(number) => f64::from(*number),
        OscType::Long(number) => *number as f64,
        OscType::Bool(on) => f64::from(u8::from(*on)),
        _ => f64::NAN,
    };
    if number.is_finite() {
        return Ok(number);
    }
    let found = match arg {
        OscType::Float(_) | OscType::Double(_) => number.to_string(),
        other => format!("{other:?}"),
    };
    Err(("tracked-number", vec![("address", address.to_owned()), ("found", found)]))
}

/// A number within limits, both of which it may be.
fn within(address: &str, number: f64, min: f64, max: f64) -> Result<f64, Reason> {
    if (min..=max).contains(&number) {
        return Ok(number);
    }
    let (found, min, max) = (number.to_string(), min.to_string(), max.to_string());
    Err(("tracked-range", vec![("address", address.to_owned()), ("found", found), ("min", min), ("max", max)]))
}

/// 1 for on, 0 for off.
fn switch(address: &str, number: f64) -> Result<bool, Reason> {
    match number {
        1.0 => Ok(true),
        0.0 => Ok(false),
        _ => Err(("tracked-switch", vec![("address", address.to_owned()), ("found", number.to_string())])),
    }
}

/// A pose [mm] from place [m] and quaternion, x y z w.
fn pose(address: &str, numbers: &[f64]) -> Result<Pose, Reason> {
    for place in &numbers[..3] {
        within(address, *place, -PLACE_MAX_M, PLACE_MAX_M)?;
    }
    let position = DVec3::new(numbers[0], numbers[1], numbers[2]) * MM_PER_M;
    let rotation = DQuat::from_xyzw(numbers[3], numbers[4], numbers[5], numbers[6]);
    let [least, most] = QUATERNION;
    if !(least..=most).contains(&rotation.length()) {
        let (found, min, max) = (rotation.length().to_string(), least.to_string(), most.to_string());
        let put_in = vec![("address", address.to_owned()), ("found", found), ("min", min), ("max", max)];
        return Err(("tracked-quaternion", put_in));
    }
    Ok(Pose { position, rotation: rotation.normalize() })
}

/// The motion that a mirror shows, which changes right and left: an axis of a turn is a way round, so its other parts change.
fn mirror(motion: &TrackedMotion) -> TrackedMotion {
    let DQuat { x, y, z, w } = motion.turn;
    let way = DVec3::new(-motion.way.x, motion.way.y, motion.way.z);
    TrackedMotion { way, turn: DQuat::from_xyzw(x, -y, -z, w), ..*motion }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::words::Language;
    use crate::math::rotation;
    use rosc::{OscBundle, encoder::encode};
    use std::f64::consts::FRAC_PI_2;

    /// Poses come each hundredth of a second.
    const STEP_MS: u64 = 10;

    fn ms(time: u64) -> Duration {
        Duration::from_millis(time)
    }

    fn message(address: &str, args: Vec<OscType>) -> OscPacket {
        OscPacket::Message(OscMessage { addr: address.to_owned(), args })
    }

    fn bytes(packet: &OscPacket) -> Vec<u8> {
        encode(packet).expect("it can be sent")
    }

    /// A pose at a place [mm], turned so.
    fn pose_of(hand: &str, place: DVec3, turn: DQuat) -> Vec<u8> {
        let place = place / MM_PER_M;
        let numbers = [place.x, place.y, place.z, turn.x, turn.y, turn.z, turn.w];
        bytes(&message(&format!("/hand/{hand}/pose"), numbers.map(OscType::Double).to_vec()))
    }

    fn at(x: f64) -> Vec<u8> {
        pose_of("right", DVec3::new(x, 0.0, 0.0), DQuat::IDENTITY)
    }

    fn one(address: &str, value: impl Into<OscType>) -> Vec<u8> {
        bytes(&message(address, vec![value.into()]))
    }

    /// A right hand that is followed, with open jaws, at the origin and time 0.
    fn followed() -> Tracked {
        let mut tracked = Tracked::default();
        tracked.take(&at(0.0), ms(0));
        tracked.take(&one("/hand/right/jaw", 1.0_f32), ms(0));
        let first = tracked.look(ms(0), false)[RIGHT];
        assert_eq!(
            first,
            TrackedMotion { opening: Some(1.0), ..TrackedMotion::default() },
            "the first pose moves nothing"
        );
        tracked
    }

    /// Whether two ways are the same to a thousandth of a micrometre; metres in 64 bits keep more.
    fn near(way: DVec3, wanted: DVec3) -> bool {
        way.distance(wanted) < 1e-6
    }

    #[test]
    fn a_hand_moves_by_as_many_millimetres_as_its_pose_and_once() {
        let mut tracked = followed();
        tracked.take(&pose_of("right", DVec3::new(3.0, -2.0, 1.0), DQuat::IDENTITY), ms(STEP_MS));
        let [right, left] = tracked.look(ms(STEP_MS), false);
        assert!(near(right.way, DVec3::new(3.0, -2.0, 1.0)) && !right.parked, "{right:?}");
        assert_eq!(left, TrackedMotion { parked: true, ..TrackedMotion::default() }, "of the other nothing is known");
        assert_eq!(tracked.look(ms(STEP_MS), false)[RIGHT].way, DVec3::ZERO);
    }

    #[test]
    fn of_what_comes_within_one_picture_only_the_last_counts() {
        let mut tracked = followed();
        for x in [5000.0, -40.0, 2.0] {
            tracked.take(&at(x), ms(STEP_MS));
        }
        [0.2_f32, 0.9, 0.4].iter().for_each(|opening| tracked.take(&one("/hand/right/jaw", *opening), ms(STEP_MS)));
        let motion = tracked.look(ms(STEP_MS), false)[RIGHT];
        assert!(near(motion.way, DVec3::X * 2.0), "{motion:?}");
        assert_eq!(motion.opening, Some(f64::from(0.4_f32)));
    }

    #[test]
    fn a_turn_is_that_from_the_pose_before_about_the_operators_axes() {
        let mut tracked = Tracked::default();
        let (before, turn) = (rotation(DVec3::X, 0.7), rotation(DVec3::Z, 0.3));
        tracked.take(&pose_of("left", DVec3::ZERO, before), ms(0));
        tracked.take(&pose_of("left", DVec3::ZERO, turn * before), ms(0));
        let got = tracked.look(ms(0), false)[LEFT].turn;
        assert!(got.dot(turn).abs() > 1.0 - 1e-12, "{got}");
    }

    #[test]
    fn after_every_pause_the_first_pose_only_says_where_the_next_motion_begins() {
        let off = || vec![one("/hand/right/valid", 0)];
        let clutch = || vec![one("/clutch", 1)];
        type Packets = Vec<Vec<u8>>;
        let cases: [(&str, Packets, HandState, Packets, u64); 4] = [
            ("not seen", off(), HandState::NotSeen, vec![one("/hand/right/valid", 1)], 50),
            ("clutch", clutch(), HandState::Clutched, vec![one("/clutch", 0)], 50),
            (
                "both",
                [off(), clutch()].concat(),
                HandState::NotSeen,
                vec![one("/hand/right/valid", 1), one("/clutch", 0)],
                50,
            ),
            ("silence", vec![], HandState::Silent, vec![], 201),
        ];
        for (name, begins, state, ends, time) in cases {
            let mut tracked = followed();
            begins.iter().for_each(|packet| tracked.take(packet, ms(0)));
            if !begins.is_empty() {
                tracked.take(&at(30.0), ms(time));
            }
            let meanwhile = tracked.look(ms(time), false)[RIGHT];
            let parked = TrackedMotion { parked: true, ..TrackedMotion::default() };
            assert_eq!(meanwhile, parked, "{name}: it keeps its pose, and its jaws are not known");
            assert_eq!(tracked.states()[OWN_RIGHT], state, "{name}");
            for packet in ends.iter().chain([&at(70.0), &at(71.0)]) {
                tracked.take(packet, ms(time));
            }
            let after = tracked.look(ms(time), false)[RIGHT];
            assert!(near(after.way, DVec3::X) && !after.parked, "{name}: {after:?}");
            assert_eq!(tracked.states()[OWN_RIGHT], HandState::Followed, "{name}");
        }
    }

    #[test]
    fn silence_is_told_for_each_hand_by_itself_and_a_long_picture_is_none() {
        let mut tracked = followed();
        for time in (STEP_MS..=300).step_by(10) {
            tracked.take(&pose_of("left", DVec3::Y * time as f64, DQuat::IDENTITY), ms(time));
            let [right, left] = tracked.look(ms(time), false);
            assert_eq!(right.parked, time > 200, "{time} ms");
            assert!(!left.parked, "{time} ms");
        }
        // Half a second for a picture, in which poses came all the time.
        tracked.take(&pose_of("left", DVec3::Y * 301.0, DQuat::IDENTITY), ms(800));
        assert!(near(tracked.look(ms(800), false)[LEFT].way, DVec3::Y), "it goes on");
    }

    #[test]
    fn a_clutch_that_nobody_holds_any_more_is_let_go_and_jaws_follow_again_after_it() {
        let mut tracked = followed();
        tracked.take(&one("/clutch", 1), ms(0));
        tracked.look(ms(150), false);
        tracked.look(ms(201), false);
        tracked.take(&at(0.0), ms(210));
        assert_eq!(tracked.look(ms(210), false)[RIGHT], TrackedMotion::default(), "whoever held it is gone");
        let mut tracked = followed();
        tracked.take(&one("/clutch", 1), ms(0));
        tracked.take(&one("/clutch", 0), ms(0));
        tracked.take(&at(0.0), ms(0));
        assert_eq!(tracked.look(ms(0), false)[RIGHT].opening, Some(1.0), "what was told of the jaws holds on");
    }

    #[test]
    fn in_a_mirrored_field_the_hands_change_places_and_move_as_the_mirror_shows() {
        let way = DVec3::new(1.0, 2.0, 3.0);
        let turn = rotation(DVec3::new(0.6, 0.0, 0.8), 0.5) * rotation(DVec3::Y, 0.2);
        let looked = |mirrored: bool| {
            let mut tracked = Tracked::default();
            tracked.take(&pose_of("left", DVec3::ZERO, DQuat::IDENTITY), ms(0));
            tracked.take(&pose_of("left", way, turn), ms(0));
            tracked.look(ms(0), mirrored)
        };
        assert!(near(looked(false)[LEFT].way, way) && looked(false)[RIGHT].parked);
        let [holder, forceps] = looked(true);
        let mirror = |v: DVec3| DVec3::new(-v.x, v.y, v.z);
        assert!(near(holder.way, mirror(way)) && forceps.parked, "the left hand has the needle holder");
        for v in [DVec3::X, DVec3::Y, DVec3::Z] {
            let (shown, wanted) = (holder.turn * mirror(v), mirror(turn * v));
            assert!((shown - wanted).length() < 1e-9, "{v}: {shown}, not {wanted}");
        }
    }

    #[test]
    fn bundles_in_bundles_and_numbers_of_every_kind_are_taken() {
        let bundle = |content: Vec<OscPacket>| OscPacket::Bundle(OscBundle { timetag: (0, 1).into(), content });
        let begin = message("/hand/right/pose", [0, 0, 0, 0, 0, 0, 1].map(OscType::Int).to_vec());
        let mut go = [0.0, 0.0, 0.25, 0.0, 0.0, 0.0].map(OscType::Float).to_vec();
        go.push(OscType::Long(1));
        let jaw = message("/hand/right/jaw", vec![OscType::Double(0.5)]);
        let seen = message("/hand/right/valid", vec![OscType::Bool(true)]);
        let packet = bundle(vec![begin, bundle(vec![message("/hand/right/pose", go), jaw]), seen]);
        let mut tracked = Tracked::default();
        tracked.take(&bytes(&packet), ms(0));
        let motion = tracked.look(ms(0), false)[RIGHT];
        assert!(near(motion.way, DVec3::Z * 250.0), "{motion:?}");
        assert_eq!((motion.opening, tracked.ignored()), (Some(0.5), 0));
    }

    /// The bytes as the specification has them: text ends in zeros up to a multiple of four, numbers begin with their greatest byte.
    #[test]
    fn a_message_is_read_from_the_bytes_of_the_specification() {
        let mut tracked = followed();
        tracked.take(b"/hand/right/jaw\0,f\0\0\x3e\x80\0\0", ms(0));
        assert_eq!(tracked.look(ms(0), false)[RIGHT].opening, Some(0.25));
    }

    #[test]
    fn what_cannot_be_taken_moves_nothing_is_counted_and_its_reason_is_told_once() {
        let pose = |numbers: [f32; 7]| bytes(&message("/hand/right/pose", numbers.map(OscType::Float).to_vec()));
        let short = bytes(&message("/hand/right/pose", vec![OscType::Float(0.0); 6]));
        let text = one("/hand/right/jaw", "open");
        let cases: [(Vec<u8>, &str); 15] = [
            (vec![], "not as OSC 1.0 has it"),
            (b"hello".to_vec(), "not as OSC 1.0 has it"),
            ([at(9.0), vec![1, 2, 3, 4]].concat(), "not as OSC 1.0 has it: 4 B"),
            (vec![0; PACKET_MAX + 1], "more than 2048 bytes"),
            (
                one("/hand/middle/jaw", 0.5_f32),
                "/hand/middle/jaw is no address of tracked hands; allowed are /hand/left/pose, ",
            ),
            (short, "/hand/right/pose with 6 numbers; allowed are 7"),
            (bytes(&message("/clutch", vec![])), "/clutch with 0 numbers; allowed are 1"),
            (text, "/hand/right/jaw with String(\"open\"); allowed are finite numbers"),
            (pose([f32::NAN, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]), "/hand/right/pose with NaN; allowed are finite"),
            (pose([0.0, 0.0, 0.0, f32::INFINITY, 0.0, 0.0, 1.0]), "/hand/right/pose with inf; allowed are finite"),
            (pose([0.0, 250.0, 0.0, 0.0, 0.0, 0.0, 1.0]), "/hand/right/pose with 250; allowed are -10 to 10"),
            (pose([0.0; 7]), "/hand/right/pose with a quaternion of length 0; allowed are 0.5 to 2"),
            (one("/hand/right/jaw", 50.0_f32), "/hand/right/jaw with 50; allowed are -0.1 to 1.1"),
            (one("/hand/right/valid", 2), "/hand/right/valid with 2; allowed are 0 and 1"),
            (one("/clutch", 0.5_f32), "/clutch with 0.5; allowed are 0 and 1"),
        ];
        for (packet, said) in cases {
            let mut tracked = followed();
            tracked.take(&packet, ms(0));
            let fault = tracked.fault().map(|fault| Language::English.word(&fault)).unwrap_or_default();
            assert!(fault.starts_with("Ignored: ") && fault.contains(said), "no `{said}` in {fault}");
            tracked.take(&packet, ms(0));
            assert_eq!((tracked.fault(), tracked.ignored()), (None, 2), "{said}: told once, counted twice");
            if !said.ends_with("4 B") {
                tracked.take(&at(1.0), ms(0));
                let after = tracked.look(ms(0), false)[RIGHT];
                assert!(near(after.way, DVec3::X) && after.opening == Some(1.0), "{said}: {after:?}");
            }
        }
    }

    #[test]
    fn each_reason_is_told_after_the_other_and_none_fills_the_screen() {
        let mut tracked = Tracked::default();
        let long = format!("/{}", "x".repeat(1000));
        for _ in 0..2 {
            tracked.take(&one(&long, 1), ms(0));
            tracked.take(&one("/clutch", 3), ms(0));
        }
        let told: Vec<String> = std::iter::from_fn(|| {
            let fault = tracked.fault().map(|fault| Language::German.word(&fault));
            tracked.take(&one("/clutch", 3), ms(0));
            fault
        })
        .collect();
        assert_eq!(told.len(), 2, "{told:?}");
        assert!(told[0].contains("xxx… ist keine Adresse") && told[0].len() < 400, "{}", told[0]);
        assert!(told[1].contains("/clutch mit 3"), "{}", told[1]);
    }

    #[test]
    fn jaws_beyond_their_ends_are_at_their_ends_and_places_may_be_10_m_away() {
        let mut tracked = followed();
        for (sent, opening) in [(1.05, 1.0), (-0.05, 0.0)] {
            tracked.take(&one("/hand/right/jaw", sent), ms(0));
            assert_eq!(tracked.look(ms(0), false)[RIGHT].opening, Some(opening));
        }
        tracked.take(&at(-10_000.0), ms(0));
        assert!(near(tracked.look(ms(0), false)[RIGHT].way, DVec3::X * -10_000.0));
    }

    #[test]
    fn a_quaternion_that_is_not_quite_of_length_one_turns_all_the_same() {
        let mut tracked = Tracked::default();
        let turn = rotation(DVec3::Y, FRAC_PI_2);
        tracked.take(&pose_of("right", DVec3::ZERO, DQuat::IDENTITY * 1.5), ms(0));
        tracked.take(&pose_of("right", DVec3::ZERO, turn * 0.6), ms(0));
        let got = tracked.look(ms(0), false)[RIGHT].turn;
        assert!(got.dot(turn).abs() > 1.0 - 1e-12 && got.is_normalized(), "{got}");
    }

    /// Whatever is sent, the window goes on: bytes by chance, good packets with some of them changed, and the deepest bundle.
    #[test]
    fn no_bytes_stop_the_window() {
        use rand::{Rng, SeedableRng};
        let mut chance = rand_chacha::ChaCha8Rng::seed_from_u64(7);
        let mut tracked = Tracked::default();
        for round in 0..20_000_u64 {
            let mut packet = if round % 2 == 0 { at(1.0) } else { vec![0; chance.random_range(0..200)] };
            for _ in 0..chance.random_range(1..20) {
                let place = chance.random_range(0..packet.len().max(1));
                if let Some(byte) = packet.get_mut(place) {
                    *byte = chance.random();
                }
            }
            tracked.take(&packet, ms(round));
            let way = tracked.look(ms(round), false)[RIGHT].way;
            assert!(way.is_finite(), "round {round}: {way}");
        }
        let mut deep: Vec<u8> = at(1.0);
        while deep.len() + 20 <= PACKET_MAX {
            let length = u32::try_from(deep.len()).expect("it is short").to_be_bytes();
            deep = [b"#bundle\0\0\0\0\0\0\0\0\x01".as_slice(), &length, &deep].concat();
        }
        tracked.take(&deep, ms(30_000));
        assert_eq!(tracked.states()[OWN_RIGHT], HandState::Followed);
    }
}
