//! Somebody at mouse and keyboard, for tests.
//!
//! What is wanted comes from a script, whose eyes look at the world. Nothing of it reaches the world but by keys that are
//! pressed, buttons that are held and a pointer that goes from pixel to pixel; one hand is moved after the other.

use super::Desk;
use super::user_of_pad::Sticks;
use crate::app::Stage;
use crate::app::hands::{Hands, Input, eased_opening};
use crate::app::ui::Action;
use crate::app::unseen::{Doing, SIZE, Unseen};
use crate::app::words::Text;
use crate::input::script::Script;
use crate::input::{HandCommand, HandEvent, STEPS_PER_MM, TickCommand};
use crate::math::{DQuat, DVec2, DVec3, Pose, acos, atan2, rotation};
use crate::performer::{Performer, Unsteadiness};
use crate::score::Score;
use crate::simulation::snapshot::Snapshot;
use crate::simulation::{LEFT, RIGHT};
use glam::Vec2;
use std::collections::VecDeque;
use std::f64::consts::{FRAC_PI_2, PI};
use std::sync::{Arc, Mutex, MutexGuard};
use std::thread::sleep;
use std::time::Duration;

/// A tip is where it is to be within this [mm]: half a point of the screen is an eighteenth of a millimetre.
const NEAR: f64 = 0.06;
/// The same for the shaft's direction and for the roll about it [rad]: half a point turns by 0.005.
const ALONG: f64 = 0.02;
const ROLLED: f64 = 0.003;
/// Farthest that the parked hand may be from where it is to be, before it is taken up again [mm], and by how much turned
/// [rad].
const LAG: f64 = 1.0;
const LAG_TURN: f64 = 0.1;
/// Places within this of one that a hand did not get to are not tried again [mm].
pub(super) const BARRED: f64 = 0.5;
/// A hand has not got to a place when it came no nearer in so many ticks.
pub(super) const TRIES: u32 = 6;
/// Turn for a point [rad], and rise for a notch [mm], as the window has them.
const TURN: f64 = 0.01;
const NOTCH: f64 = 0.5;
/// Way that is asked of a hand in one tick [mm]; a hand may go 200 mm/s.
const STEP: f64 = 3.0;
/// The pointer is put back over the tip when it is farther from it [point], where the tip is as far from the rim.
const ASTRAY: f32 = 60.0;
const RIM: f32 = 100.0;
/// Jaws that a script wants more open than this are to be open.
const HALF_OPEN: f64 = 0.35;
/// Forceps that a script wants to let run below this pull [mN] are eased: twice that of eased ones.
const LIGHTLY: f64 = 105.0;

/// A stage that is looked at while it is played.
struct Watched(Arc<Mutex<Desk>>);

fn look(desk: &Mutex<Desk>) -> MutexGuard<'_, Desk> {
    desk.lock().expect("nobody panics with it")
}

impl Stage for Watched {
    fn tick(&mut self, hands: Option<&TickCommand>) {
        look(&self.0).tick(hands);
    }
    fn snapshot(&self) -> Snapshot {
        look(&self.0).snapshot()
    }
    fn current_command(&self) -> TickCommand {
        look(&self.0).current_command()
    }
    fn finished(&self) -> Option<Score> {
        look(&self.0).finished()
    }
    fn busy(&self) -> Option<Text> {
        look(&self.0).busy()
    }
    fn refused(&mut self) -> Option<Text> {
        look(&self.0).refused()
    }
    fn begin_anew(&mut self) -> bool {
        look(&self.0).begin_anew()
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Jaws {
    Open,
    Eased,
    Shut,
}

impl Jaws {
    /// What comes nearest to an opening that a script wants: a button knows no other.
    fn wanted(hand: usize, opening: f64) -> Jaws {
        let lightly = crate::simulation::opening_that_holds(crate::instruments::Kind::Forceps, LIGHTLY);
        match opening {
            _ if opening > HALF_OPEN => Jaws::Open,
            _ if hand == LEFT && opening >= lightly => Jaws::Eased,
            _ => Jaws::Shut,
        }
    }

    /// What they are under the ratchet.
    fn now(locked: Option<f64>) -> Jaws {
        match locked {
            None => Jaws::Open,
            Some(opening) if (opening - eased_opening()).abs() < 1e-9 => Jaws::Eased,
            Some(_) => Jaws::Shut,
        }
    }
}

/// Where a hand is to be.
#[derive(Debug, Clone, Copy)]
pub(super) struct Aim {
    pub(super) pose: Pose,
    jaws: Jaws,
    /// Their opening, 0..=1, for who can choose it.
    pub(super) opening: f64,
    /// The place nearby that it did not get to [mm].
    pub(super) barred: DVec3,
}

/// Somebody at the mouse.
pub(super) struct User {
    pub(super) window: Unseen,
    desk: Arc<Mutex<Desk>>,
    mind: Performer,
    pub(super) aims: [Aim; 2],
    events: VecDeque<HandEvent>,
    /// What is to be rolled after a pitch [rad].
    roll_left: f64,
    /// How near the active hand came [mm], and for how many ticks it came no nearer.
    nearest: (f64, u32),
    /// The gamepad that is used instead of the mouse.
    pub(super) sticks: Option<Sticks>,
    /// Keys struck, and ticks gone by.
    pub(super) struck: usize,
    pub(super) ticks: u32,
}

impl User {
    /// Sits down before a case whose demonstration plays, and begins it with own hands.
    pub(super) fn begin(desk: Desk, script: Script) -> User {
        let scenario = desk.scenario().clone();
        let desk = Arc::new(Mutex::new(desk));
        let mut window = Unseen::open(Box::new(Watched(Arc::clone(&desk))), &scenario);
        // Two ticks: the key's act is done in the picture after the one that reads it.
        window.tick(&Doing { struck: vec!["B"], ..Doing::default() });
        window.tick(&Doing::default());
        let hands = window.hands().expect("the key gives the hands");
        let aims = hands.hands.map(|hand| Aim {
            pose: hand.pose,
            jaws: Jaws::now(hand.locked),
            opening: hand.opening,
            barred: DVec3::INFINITY,
        });
        let mind = Performer::new(script, look(&desk).world().expect("it has begun"), Unsteadiness::default());
        let nearest = (f64::INFINITY, 0);
        let events = VecDeque::new();
        User { window, desk, mind, aims, events, roll_left: 0.0, nearest, sticks: None, struck: 1, ticks: 0 }
    }

    /// Goes on until something is so, for so many ticks at most; whether it came to be.
    pub(super) fn until(&mut self, ticks: u32, so: impl Fn(&Desk) -> bool) -> bool {
        let end = self.ticks + ticks;
        while !so(&look(&self.desk)) {
            if self.ticks >= end || !self.go_on() {
                return false;
            }
        }
        true
    }

    /// Does all that the script wants and hands in; the marks.
    pub(super) fn finish(mut self, ticks: u32) -> Score {
        self.until(ticks, |_| false);
        loop {
            self.window.tick(&Doing::default());
            if let Some(score) = self.window.marks() {
                return score.clone();
            }
            let log = &self.mind.log;
            assert!(look(&self.desk).busy().is_some(), "it is not handed in after {} ticks: {log:?}", self.ticks);
            sleep(Duration::from_millis(5));
        }
    }

    /// One tick, or several for a cut; false once there is nothing more to do.
    fn go_on(&mut self) -> bool {
        let doing = self.work();
        match (doing, self.events.pop_front()) {
            (Some(doing), event) => {
                self.events.extend(event);
                self.events.rotate_right(usize::from(event.is_some()));
                self.act(&doing);
            }
            (None, Some(event)) => self.ask_for(event),
            (None, None) => {
                let Some(command) = look(&self.desk).world().and_then(|world| self.mind.command(world)) else {
                    return false;
                };
                self.aim(RIGHT, &command.right);
                self.aim(LEFT, &command.left);
                self.events.extend(command.events);
                // What it asks for is begun at the next go; where it asks for nothing, time passes all the same.
                if self.work().is_none() && self.events.is_empty() {
                    self.act(&Doing::default());
                }
            }
        }
        true
    }

    fn aim(&mut self, hand: usize, command: &HandCommand) {
        let aim = &mut self.aims[hand];
        let turned_on = aim.pose.rotation.dot(command.pose().rotation).abs() < 1.0 - 1e-6;
        (aim.pose, aim.opening) = (command.pose(), command.jaw_opening());
        aim.jaws = Jaws::wanted(hand, aim.opening);
        self.nearest = (f64::INFINITY, 0);
        if let Some(sticks) = &mut self.sticks {
            sticks[hand].begin(turned_on);
        }
    }

    pub(super) fn act(&mut self, doing: &Doing) {
        self.ticks += 1;
        self.struck += doing.struck.len();
        if self.sticks.is_some() && doing.pad.is_none() {
            // The triggers are held on.
            self.window.tick(&Doing { pad: Some(self.held(&[])), ..doing.clone() });
        } else {
            self.window.tick(doing);
        }
    }

    fn strike(&mut self, key: &'static str) {
        self.act(&Doing { struck: vec![key], ..Doing::default() });
    }

    /// What a hand has to do next; `None` if both are near enough to where they are to be.
    fn work(&mut self) -> Option<Doing> {
        let hands = self.window.hands()?.clone();
        if self.sticks.is_some() {
            return self.work_of_sticks(&hands);
        }
        if let Some(doing) = self.work_of_active(&hands) {
            return Some(doing);
        }
        let (hand, aim) = (&hands.hands[hands.parked()], self.aims[hands.parked()]);
        let away = hand.pose.position.distance(aim.pose.position);
        let turned = 2.0 * acos(hand.pose.rotation.dot(aim.pose.rotation).abs().min(1.0));
        let lags = away > LAG && aim.barred.distance(aim.pose.position) >= BARRED;
        (lags || turned > LAG_TURN || Jaws::now(hand.locked) != aim.jaws).then(|| {
            self.nearest = (f64::INFINITY, 0);
            Doing { struck: vec!["Tab"], ..Doing::default() }
        })
    }

    fn work_of_active(&mut self, hands: &Hands) -> Option<Doing> {
        let (hand, aim) = (&hands.hands[hands.active], self.aims[hands.active]);
        let now = Jaws::now(hand.locked);
        if now != aim.jaws {
            let eases = aim.jaws == Jaws::Eased || now == Jaws::Eased && aim.jaws == Jaws::Shut;
            let key = if eases { "G" } else { "V" };
            return Some(Doing { struck: vec![key], ..Doing::default() });
        }
        if let Some(angles) = self.turn(hand.pose.rotation, aim.pose.rotation) {
            return Some(self.turned(angles));
        }
        let way = aim.pose.position - hand.pose.position;
        if way.length() < NEAR || aim.barred.distance(aim.pose.position) < BARRED {
            return None;
        }
        let doing = self.slid(hands, way)?;
        if doing.held != ["Z"] {
            let nearer = way.length() < self.nearest.0 - 0.02;
            self.nearest = if nearer { (way.length(), 0) } else { (self.nearest.0, self.nearest.1 + 1) };
        }
        if self.nearest.1 > TRIES {
            // A tooth is in the way.
            self.aims[hands.active].barred = aim.pose.position;
            return None;
        }
        Some(doing)
    }

    /// Roll and pitch that come next [rad], if any: a turn is a roll, a pitch and a roll.
    fn turn(&mut self, now: DQuat, wanted: DQuat) -> Option<DVec2> {
        let left = std::mem::take(&mut self.roll_left);
        if left != 0.0 {
            return Some(DVec2::new(left, 0.0));
        }
        let (first, roll_left) = turn_parts(now, wanted, ROLLED)?;
        self.roll_left = roll_left;
        Some(first)
    }

    /// The right button held, and the pointer moved.
    fn turned(&mut self, angles: DVec2) -> Doing {
        let points = (angles / TURN).as_vec2();
        let to = snapped(self.window.pointer() + Vec2::new(points.x, -points.y));
        if !inside(to) {
            self.roll_left = 0.0;
            return moved_alone(SIZE / 2.0);
        }
        Doing { held: vec!["MouseRight"], pointer: Some(to), ..Doing::default() }
    }

    /// The pointer moved and the wheel turned so that the tip goes this way [mm], as far as it gets in a tick.
    fn slid(&mut self, hands: &Hands, way: DVec3) -> Option<Doing> {
        let way = way.clamp_length_max(STEP);
        let level = DVec2::new(way.x, way.y);
        let notches = (way.z / NOTCH).round().clamp(-3.0, 3.0);
        let stand = notches == 0.0 && way.z.abs() > level.length();
        let along = if stand { DVec2::new(way.x, way.z) } else { level };
        let plane = hands.plane(&Input { stand, ..Input::default() });
        let pointer = self.window.pointer();
        let over_tip = self.window.seen_at(plane.origin).filter(|tip| inside(*tip - RIM) && inside(*tip + RIM));
        if let Some(tip) = over_tip.filter(|tip| tip.distance(pointer) > ASTRAY) {
            return Some(moved_alone(tip));
        }
        let to = snapped(pointer + self.window.points(&plane, along));
        if !inside(to) {
            return Some(moved_alone(SIZE / 2.0));
        }
        let held = if stand { vec!["Shift"] } else { Vec::new() };
        #[expect(clippy::cast_possible_truncation, reason = "a few notches")]
        let notches = notches as f32;
        (to != pointer || notches != 0.0).then(|| Doing { held, pointer: Some(to), notches, ..Doing::default() })
    }

    /// Does by keys what a script asks for with an event.
    fn ask_for(&mut self, event: HandEvent) {
        match event {
            HandEvent::Mark { tooth } => {
                self.window.press(Action::MarkSite(tooth.expect("a site is never wiped off here")));
                self.act(&Doing::default());
            }
            // The window says so itself.
            HandEvent::Mirror => {}
            HandEvent::Arm => self.strike("N"),
            HandEvent::Finish => self.strike("F"),
            HandEvent::Cut { at } => self.cut(DVec3::from_array(at.map(|steps| f64::from(steps) / STEPS_PER_MM))),
        }
    }

    /// Comes to a place from above with the holder and cuts there: blades reach 3 mm.
    fn cut(&mut self, at: DVec3) {
        let kept = self.aims[RIGHT].pose.position;
        for above in [12.0, 2.0] {
            self.aims[RIGHT].pose.position = at + DVec3::Z * above;
            (self.nearest, self.aims[RIGHT].barred) = ((f64::INFINITY, 0), DVec3::INFINITY);
            if self.window.hands().is_some_and(|hands| hands.active != RIGHT) {
                self.strike("Tab");
            }
            for _ in 0..200 {
                let Some(hands) = self.window.hands().cloned() else { return };
                let on_pad = self.sticks.is_some();
                let doing = if on_pad { self.work_of_sticks(&hands) } else { self.work_of_active(&hands) };
                let Some(doing) = doing else { break };
                self.act(&doing);
            }
        }
        self.strike("X");
        self.aims[RIGHT].pose.position = kept;
    }
}

/// A turn as a roll and a pitch, and the roll after them [rad]; no pitch where the shaft lies well enough, and `None` if it is
/// rolled within this as well.
pub(super) fn turn_parts(now: DQuat, wanted: DQuat, within: f64) -> Option<(DVec2, f64)> {
    let rolled = |turn: DQuat| {
        let side = turn * DVec3::Y;
        atan2(side.z, side.y)
    };
    let turn = now.conjugate() * wanted;
    let shaft = turn * DVec3::X;
    if shaft.distance(DVec3::X) < ALONG {
        let roll = rolled(turn);
        return (roll.abs() > within).then_some((DVec2::new(roll, 0.0), 0.0));
    }
    // Of the two ways, that with the smaller roll before the pitch.
    let (mut roll, mut pitch) = (atan2(shaft.y, -shaft.z), acos(shaft.x.clamp(-1.0, 1.0)));
    if roll.abs() > FRAC_PI_2 {
        (roll, pitch) = (roll - PI * roll.signum(), -pitch);
    }
    let done = rotation(DVec3::X, roll) * rotation(DVec3::Y, pitch);
    Some((DVec2::new(roll, pitch), rolled(done.conjugate() * turn)))
}

/// The pointer moved while the hand rests.
fn moved_alone(to: Vec2) -> Doing {
    Doing { held: vec!["Z"], pointer: Some(snapped(to)), ..Doing::default() }
}

/// A place of the pointer on a screen with two pixels to a point.
fn snapped(place: Vec2) -> Vec2 {
    (place * 2.0).round() / 2.0
}

fn inside(place: Vec2) -> bool {
    place.cmpge(Vec2::ONE).all() && place.cmple(SIZE - 1.0).all()
}
