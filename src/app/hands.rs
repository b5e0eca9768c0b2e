//! What devices did to commands: two hands on one mouse with keys, on the two sticks of a gamepad, or tracked themselves.
//!
//! A mode only chooses the plane in which the active tip moves; every displacement is the user's own, and nothing is
//! recognised as a gesture. Knows nothing of windows: a device hands in an [`Input`] and takes a [`TickCommand`].

use crate::input::{HandCommand, HandEvent, STEPS_PER_MM, TickCommand};
use crate::instruments::Kind;
use crate::math::{DQuat, DVec2, DVec3, Pose, rotation};
use crate::quantity::TICKS_PER_SECOND;
use crate::simulation::{LEFT, RIGHT, opening_that_holds};
use crate::tooth::Tooth;

/// Nearest and farthest place of the active tip from the parked shaft in the ring plane [mm]; common practice, no
/// source: far enough to clear the jaws, near enough to lay a wrap.
pub const RING: [f64; 2] = [4.0, 15.0];

/// Speed of the parked hand under the keys [mm/s]; common practice, no source.
const PARKED_SPEED: f64 = 20.0;

/// Roll of the parked hand under the keys [rad/s]; common practice, no source.
const PARKED_ROLL: f64 = 1.2;

/// Speed of a hand under a stick that is fully over [mm/s], and its turn [rad/s]; our own choice, tried by nobody yet.
const STICK_SPEED: f64 = 80.0;
const STICK_TURN: f64 = 2.0;

/// Farthest the active tip may lag behind the mouse [mm]: a slow tick or the speed cap must not lose a motion, nor
/// store up more than the field is wide.
const OWED_MAX: f64 = 20.0;

/// Time the jaws take to open fully [s]; common practice, no source.
const OPENING_S: f64 = 0.15;

/// Opening below which jaws that are taken over count as holding something.
const HOLDING: f64 = 0.35;

/// A tracked hand counts as shut up to so much more than the opening that its ratchet holds; our own choice.
const SQUEEZED: f64 = 0.05;

/// Pull above which a thread runs through forceps that are eased [mN]: what lays wraps snug round a holder and does not
/// draw the throw before them up; estimate, found by trying.
const EASED_MN: f64 = 50.0;

/// How far eased jaws are open, 0..=1.
#[must_use]
pub fn eased_opening() -> f64 {
    opening_that_holds(Kind::Forceps, EASED_MN)
}

/// What a stick asks of its hand: each way -1..=1, right and away.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stick {
    /// To go over the table, or in the ring plane while the ring plane is asked for and the hand is the active one.
    Table(DVec2),
    /// To go right and up.
    Upright(DVec2),
    /// To roll and pitch.
    Turn(DVec2),
}

impl Default for Stick {
    fn default() -> Stick {
        Stick::Table(DVec2::ZERO)
    }
}

/// What a hand that is tracked, or a finger beside another one, asks of its instrument.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TrackedMotion {
    /// Its way [mm]: x right, y away, z up.
    pub way: DVec3,
    /// Its turn, about axes of the same frame.
    pub turn: DQuat,
    /// How far its jaws are open, 0..=1, while that is known.
    pub opening: Option<f64>,
    /// It is tracked no longer, or moves on its own: what it still has to go is given up.
    pub parked: bool,
}

impl TrackedMotion {
    /// This and then a later one: motions follow each other, what is held is as it is last.
    #[must_use]
    pub fn then(&self, later: &TrackedMotion) -> TrackedMotion {
        TrackedMotion { way: self.way + later.way, turn: later.turn * self.turn, ..*later }
    }

    /// What is left of it once its motion is spent.
    #[must_use]
    pub fn spent(&self) -> TrackedMotion {
        TrackedMotion { way: DVec3::ZERO, turn: DQuat::IDENTITY, ..*self }
    }
}

/// What the devices did since the last tick.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Input {
    /// Motion in the active plane [mm], along its two axes.
    pub drag: DVec2,
    /// Motion up [mm].
    pub raise: f64,
    /// Roll about the shaft, and pitch [rad].
    pub turn: DVec2,
    /// The jaws' button is down.
    pub close: bool,
    /// The ratchet was thrown or released.
    pub ratchet: bool,
    /// The active jaws ease their hold on a thread, or take it firmly again.
    pub ease: bool,
    /// The plane stands up.
    pub stand: bool,
    /// The plane is the ring plane about the parked shaft.
    pub ring: bool,
    /// Both hands move, mirrored.
    pub both: bool,
    /// Way of the parked hand, each -1..=1: right, away.
    pub parked: DVec2,
    /// Roll of the parked hand, -1..=1.
    pub parked_roll: f64,
    /// Way of the active tip up, -1..=1.
    pub lift: f64,
    /// What sticks ask of needle holder and forceps.
    pub sticks: [Stick; 2],
    /// How far triggers shut the jaws of needle holder and forceps, 0..=1.
    pub squeeze: [f64; 2],
    /// What tracked hands ask of needle holder and forceps.
    pub tracked: [TrackedMotion; 2],
    /// The other hand becomes active.
    pub switch: bool,
    /// Cut at the active tip.
    pub cut: bool,
    /// Have the needle set in the holder again.
    pub arm: bool,
    /// Hand in.
    pub finish: bool,
}

impl Input {
    /// Adds a later input: motions add up, buttons are as they are now.
    pub fn add(&mut self, later: &Input) {
        *self = Input {
            drag: self.drag + later.drag,
            raise: self.raise + later.raise,
            turn: self.turn + later.turn,
            tracked: [0, 1].map(|hand| self.tracked[hand].then(&later.tracked[hand])),
            ratchet: self.ratchet ^ later.ratchet,
            ease: self.ease ^ later.ease,
            switch: self.switch ^ later.switch,
            cut: self.cut || later.cut,
            arm: self.arm || later.arm,
            finish: self.finish || later.finish,
            ..*later
        };
    }

    /// What is left once a tick has used it: buttons stay down, motions are spent.
    #[must_use]
    pub fn spent(&self) -> Input {
        Input {
            drag: DVec2::ZERO,
            raise: 0.0,
            turn: DVec2::ZERO,
            tracked: self.tracked.map(|motion| motion.spent()),
            ratchet: false,
            ease: false,
            switch: false,
            cut: false,
            arm: false,
            finish: false,
            ..*self
        }
    }
}

/// The plane in which the active tip moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorkPlane {
    /// A point of it [mm].
    pub origin: DVec3,
    /// Unit vector of a motion to the right.
    pub right: DVec3,
    /// Unit vector of a motion forward.
    pub forward: DVec3,
}

/// One hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LiveHand {
    /// Wanted tip pose.
    pub pose: Pose,
    /// Wanted jaw opening, 0..=1.
    pub opening: f64,
    /// The ratchet holds the jaws at this opening or below.
    pub locked: Option<f64>,
    /// A trigger holds the jaws, or has let them go and they still open.
    pub squeezed: bool,
    /// What is known of the jaws of the tracked hand that moves it.
    pub grip: Grip,
}

/// The jaws of a tracked hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Grip {
    /// Nothing is known of them.
    #[default]
    Unknown,
    /// They are further open than the ratchet holds the instrument's.
    Wide,
    /// They are not: the ratchet has been squeezed off, as one does with a needle holder.
    Squeezed,
}

impl LiveHand {
    /// Takes what is known of the tracked hand's jaws, `None` for nothing.
    ///
    /// A ratchet that is on stays on until those jaws have been squeezed as far: whoever takes over with open ones drops no
    /// needle. Jaws of which nothing is known any more stay as they are, under the ratchet.
    fn grip_as(&mut self, opening: Option<f64>) {
        let before = self.grip;
        self.grip = match opening {
            None => Grip::Unknown,
            Some(opening) if opening > self.locked.unwrap_or(0.0) + SQUEEZED => Grip::Wide,
            Some(_) => Grip::Squeezed,
        };
        match (before, self.grip) {
            (Grip::Wide | Grip::Squeezed, Grip::Unknown) if self.locked.is_none() => self.locked = Some(self.opening),
            (Grip::Unknown | Grip::Wide, Grip::Squeezed) => self.locked = None,
            _ => {}
        }
    }
}

/// Both hands under live control.
#[derive(Debug, Clone, PartialEq)]
pub struct Hands {
    /// Needle holder and forceps.
    pub hands: [LiveHand; 2],
    /// Which of them the mouse moves.
    pub active: usize,
    /// Greatest way of a tip in one tick [mm].
    step_max: f64,
    /// Way of the active tip that was asked for and is still to be gone [mm].
    owed: DVec3,
    /// The same of needle holder and forceps for hands that are tracked.
    owed_tracked: [DVec3; 2],
    /// What happened since the last command.
    events: Vec<HandEvent>,
}

impl Hands {
    /// Takes over where a command left the hands; `speed_cap` [mm/s] is the scenario's.
    #[must_use]
    pub fn take_over(command: &TickCommand, speed_cap: f64) -> Hands {
        let hand = |command: &HandCommand| {
            let opening = command.jaw_opening();
            let locked = (opening < HOLDING).then_some(opening);
            LiveHand { pose: command.pose(), opening, locked, squeezed: false, grip: Grip::Unknown }
        };
        Hands {
            hands: [hand(&command.right), hand(&command.left)],
            active: RIGHT,
            step_max: speed_cap / f64::from(TICKS_PER_SECOND),
            owed: DVec3::ZERO,
            owed_tracked: [DVec3::ZERO; 2],
            events: Vec::new(),
        }
    }

    /// The hand that the mouse does not move.
    #[must_use]
    pub fn parked(&self) -> usize {
        if self.active == RIGHT { LEFT } else { RIGHT }
    }

    /// The plane of the active tip under these buttons.
    #[must_use]
    pub fn plane(&self, input: &Input) -> WorkPlane {
        let origin = self.hands[self.active].pose.position;
        let (right, forward) = if input.ring {
            let shaft = self.hands[self.parked()].pose.direction(DVec3::X);
            let up = (DVec3::Z - shaft * shaft.z).try_normalize().unwrap_or(DVec3::Y);
            let side = shaft.cross(up);
            (if side.x < 0.0 { -side } else { side }, up)
        } else if input.stand {
            (DVec3::X, DVec3::Z)
        } else {
            (DVec3::X, DVec3::Y)
        };
        WorkPlane { origin, right, forward }
    }

    /// The table plane of a hand.
    #[must_use]
    pub fn table(&self, hand: usize) -> WorkPlane {
        WorkPlane { origin: self.hands[hand].pose.position, right: DVec3::X, forward: DVec3::Y }
    }

    /// Has the active tip go to a height [mm] as fast as it may, and nowhere else that it was asked for before.
    pub fn raise_to(&mut self, height: f64) {
        self.owed = DVec3::Z * (height - self.hands[self.active].pose.position.z);
    }

    /// Moves the hands by what the devices did in one tick.
    pub fn advance(&mut self, input: &Input) {
        if input.switch {
            self.active = self.parked();
            self.owed = DVec3::ZERO;
        }
        let (active, parked) = (self.active, self.parked());
        let seconds = 1.0 / f64::from(TICKS_PER_SECOND);
        let dragged = self.dragged(input);
        let mut ways = [0, 1].map(|hand| self.stick_way(hand, input) * (STICK_SPEED * seconds));
        ways[active] += dragged + DVec3::Z * (input.lift * PARKED_SPEED * seconds);
        if input.both {
            ways[parked] -= dragged;
        }
        let parked_way = DVec3::new(input.parked.x, input.parked.y, 0.0).clamp_length_max(1.0);
        ways[parked] += parked_way * (PARKED_SPEED * seconds);
        for (hand, way) in ways.into_iter().enumerate() {
            let way = way + self.tracked_way(hand, &input.tracked[hand]);
            self.hands[hand].pose.position += way.clamp_length_max(self.step_max);
        }
        if input.ring && !input.both {
            self.keep_in_ring();
        }
        self.turn(active, input.turn);
        self.turn(parked, DVec2::new(input.parked_roll * PARKED_ROLL * seconds, 0.0));
        for hand in [RIGHT, LEFT] {
            if let Stick::Turn(way) = input.sticks[hand] {
                self.turn(hand, way * (STICK_TURN * seconds));
            }
            let (turn, pose) = (input.tracked[hand].turn, &mut self.hands[hand].pose);
            if turn != DQuat::IDENTITY {
                pose.rotation = (turn * pose.rotation).normalize();
            }
            self.move_jaws(hand, input, seconds);
        }
        self.note_events(input);
    }

    /// What to do this tick. Events are handed over once.
    pub fn command(&mut self) -> TickCommand {
        let command = |hand: &LiveHand| HandCommand::new(hand.pose, hand.opening);
        TickCommand {
            right: command(&self.hands[RIGHT]),
            left: command(&self.hands[LEFT]),
            events: std::mem::take(&mut self.events),
        }
    }

    /// Has a tooth marked as the site with the next command, or what was marked wiped off.
    pub fn mark(&mut self, tooth: Option<Tooth>) {
        self.events.push(HandEvent::Mark { tooth });
    }

    /// Way that mouse and wheel ask of the active tip in this tick [mm]; what is too fast is owed.
    fn dragged(&mut self, input: &Input) -> DVec3 {
        let plane = self.plane(input);
        let asked = plane.right * input.drag.x + plane.forward * input.drag.y + DVec3::Z * input.raise;
        in_time(&mut self.owed, asked, self.step_max)
    }

    /// Way that a tracked hand asks of its tip in this tick [mm]; what is too fast is owed.
    fn tracked_way(&mut self, hand: usize, motion: &TrackedMotion) -> DVec3 {
        let owed = &mut self.owed_tracked[hand];
        if motion.parked {
            *owed = DVec3::ZERO;
        }
        in_time(owed, motion.way, self.step_max)
    }

    /// Way that a stick asks of its hand, of length 0..=1.
    fn stick_way(&self, hand: usize, input: &Input) -> DVec3 {
        let way = match input.sticks[hand] {
            Stick::Table(way) if input.ring && hand == self.active => {
                let plane = self.plane(input);
                plane.right * way.x + plane.forward * way.y
            }
            Stick::Table(way) => DVec3::new(way.x, way.y, 0.0),
            Stick::Upright(way) => DVec3::new(way.x, 0.0, way.y),
            Stick::Turn(_) => DVec3::ZERO,
        };
        way.clamp_length_max(1.0)
    }

    fn turn(&mut self, hand: usize, angles: DVec2) {
        let turned: DQuat =
            self.hands[hand].pose.rotation * rotation(DVec3::X, angles.x) * rotation(DVec3::Y, angles.y);
        self.hands[hand].pose.rotation = turned.normalize();
    }

    /// Keeps the active tip in the ring about the parked shaft.
    fn keep_in_ring(&mut self) {
        let parked = self.hands[self.parked()].pose;
        let shaft = parked.direction(DVec3::X);
        let tip = &mut self.hands[self.active].pose.position;
        let from_tip = *tip - parked.position;
        let along = shaft * from_tip.dot(shaft);
        let out = from_tip - along;
        if let Some(direction) = out.try_normalize() {
            *tip = parked.position + along + direction * out.length().clamp(RING[0], RING[1]);
        }
    }

    /// Jaws follow button and ratchet in the active hand, and in either hand its trigger and its tracked jaws; a parked hand
    /// keeps its own.
    fn move_jaws(&mut self, hand: usize, input: &Input, seconds: f64) {
        let active = hand == self.active;
        let squeeze = input.squeeze[hand];
        let tracked = input.tracked[hand].opening;
        let hand = &mut self.hands[hand];
        hand.grip_as(tracked);
        if active && input.ratchet {
            hand.locked = if hand.locked.is_some() { None } else { Some(0.0) };
        }
        if active && input.ease {
            let eased = hand.locked.is_some_and(|opening| opening > 0.0);
            hand.locked = Some(if eased { 0.0 } else { eased_opening() });
        }
        hand.squeezed |= squeeze > 0.0;
        if !active && !hand.squeezed && tracked.is_none() {
            return;
        }
        let free = hand.locked.or(tracked).unwrap_or(1.0).min(1.0 - squeeze);
        let wanted = if active && input.close { 0.0 } else { free };
        let opened = hand.opening + seconds / OPENING_S;
        hand.opening = wanted.min(opened);
        hand.squeezed = squeeze > 0.0 || hand.opening < wanted;
    }

    fn note_events(&mut self, input: &Input) {
        if input.cut {
            let tip = self.hands[self.active].pose.position;
            #[expect(clippy::cast_possible_truncation, reason = "the site is centimetres wide")]
            let step = |mm: f64| (mm * STEPS_PER_MM).round() as i32;
            self.events.push(HandEvent::Cut { at: [step(tip.x), step(tip.y), step(tip.z)] });
        }
        if input.arm {
            self.events.push(HandEvent::Arm);
        }
        if input.finish {
            self.events.push(HandEvent::Finish);
        }
    }
}

/// Way to be gone in one tick [mm], of what is asked and what is `owed`: at most `step_max`; the rest is owed.
fn in_time(owed: &mut DVec3, asked: DVec3, step_max: f64) -> DVec3 {
    let wanted = (*owed + asked).clamp_length_max(OWED_MAX);
    let way = wanted.clamp_length_max(step_max);
    *owed = wanted - way;
    way
}
