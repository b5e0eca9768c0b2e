//! The world and its tick: what hands command, in, and what then is, out.
//!
//! Order within a tick, and why: jaws and wrists follow the commands first, then the thread, the instruments and the
//! tissue at the bites are solved together in sub-steps, and the slow things (perfusion, tearing) follow from the
//! forces that left.

pub mod arming;
pub mod attempt;
pub mod collar;
pub mod cutting;
pub mod dragging;
pub mod drawing;
pub mod gum;
pub mod holding;
pub mod measuring;
pub mod needle;
mod palm;
pub mod piercing;
pub mod snapshot;
pub mod stitches;
pub mod stopping;
pub mod thread_watch;
mod threaded;
pub mod watch;

use crate::analysis::findings::NeedleEventKind;
use crate::input::TickCommand;
use crate::instruments::{self, Kind};
use crate::math::{DQuat, DVec3, Pose};
use crate::quantity::{TICK_MS, Tick};
use crate::rod::Rod;
use crate::rod::breaking::Break;
use crate::rod::step::{Memory, Reach, Report, Settings, step};
use crate::rod::surroundings::{Floor, Grip, Hand, Host, Sleeve, Surroundings, Tool};
use crate::site::hard::Hard;
use crate::tooth::Tooth;
use dragging::Catch;
use gum::Gum;
use needle::{Needle, Taken};
use stopping::Meeting;

/// Index of the needle holder among the tools.
pub const RIGHT: usize = 0;
/// Index of the forceps among the tools.
pub const LEFT: usize = 1;

/// An instrument in a hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// What it is.
    pub kind: Kind,
    /// Jaw gap at the tip [mm].
    pub gap: f64,
    /// Gap the hand wants [mm].
    pub gap_wanted: f64,
    /// Turn the hand wants.
    pub rotation_wanted: DQuat,
}

/// Limits of a hand, the same for every device.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HandLimits {
    /// Speed [mm/ms].
    pub speed_max: f64,
    /// Turning speed [rad/ms].
    pub turn_max: f64,
    /// Force [mN].
    pub force_max: f64,
    /// Stiffness of the hand [mN/mm].
    pub stiffness: f64,
    /// Damping of the hand [mN ms/mm].
    pub damping: f64,
}

impl Default for HandLimits {
    fn default() -> HandLimits {
        HandLimits { speed_max: 0.15, turn_max: 0.004, force_max: 5000.0, stiffness: 2000.0, damping: 20_000.0 }
    }
}

/// Where a held strand runs through the pads, in the instrument's frame [mm].
const PADS: DVec3 = DVec3::new(1.5, 0.0, 0.0);

/// Wanted gap at which the pads only guide the strand, and below which they press [mm].
const PRESS_GAP: f64 = 0.3;

/// Opening, 0..=1, of jaws that let a thread run above this `tension` [mN].
#[must_use]
pub fn opening_that_holds(kind: Kind, tension: f64) -> f64 {
    let design = kind.design();
    PRESS_GAP * (1.0 - (tension / design.grip_limit).min(1.0)) / design.gap_max
}

/// Share of the grip below which the hand takes up slack.
const GUIDE_SHARE: f64 = 1e-3;

/// Pull of the fingers that take up slack [mN]; estimate: enough to straighten a thread, too little to move gum.
const TAKE_UP: f64 = 40.0;

/// Pull of the fingers on what lies behind pads that press [mN]; estimate: enough to keep a slack strand from hanging out of
/// the palm, where it would fold in the pads and jam, and less than any pull by which a hand lets a strand run.
const KEEP: f64 = 10.0;

/// How many times greater the pull on slack becomes from one sub-step to the next while it runs slower than a hand; estimate:
/// from nothing felt to the whole pull within a few ticks.
const GROWTH: f64 = 1.5;

/// The fingers have the strand at the nearest node that is at least this far behind the pads [mm]; estimate.
const FINGERS: f64 = 0.5;

/// Iterations of a sub-step at most: in 36 attempts 1.1 % of sub-steps end above the tolerance, in 30 of them with 10 iterations
/// 3.0 %, with 8 5.0 %.
const ITERATIONS_MAX: usize = 16;

/// How many of the shortest sub-steps are a tick. How long a sub-step is is counted in these parts.
const PARTS: u32 = 8;

/// The longest sub-step [parts of a tick]. With 8 parts fewer attempts come out as wanted, 47 of 61 instead of 51, and nothing is
/// gained: what longer ones save goes into iterations (`benches/README.md`).
const LONGEST: u32 = 4;

/// How often the shortest sub-step is halved at most, a longer one until it is as short: 1/64 of it moves no hand by more than a
/// twentieth of a thread's radius.
const HALVINGS_MAX: u32 = 6;

/// What the fingers of the left hand do with the strand behind the pads.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Fingers {
    /// Their pull [mN].
    pull: f64,
    /// Material coordinate between the pads when they last pulled [mm].
    at: f64,
}

/// The world as it was before a sub-step, as far as the sub-step may change it.
struct Kept {
    rod: Rod,
    around: Surroundings,
    instruments: [Instrument; 2],
    fingers: Fingers,
    memory: Memory,
    needle: Option<Needle>,
    needle_events: usize,
    meetings: usize,
    crushed: usize,
}

/// Everything there is.
pub struct World {
    /// Ticks done.
    pub tick: Tick,
    /// The tooth that the order names, for whoever reads it; nothing that moves depends on it.
    pub order: Option<Tooth>,
    /// The thread.
    pub rod: Rod,
    /// What it meets.
    pub around: Surroundings,
    /// The two instruments: needle holder, forceps.
    pub instruments: [Instrument; 2],
    fingers: Fingers,
    /// The tissue.
    pub gum: Gum,
    /// Bone and teeth, which stop the needle.
    pub hard: Hard,
    /// Solver memory.
    pub memory: Memory,
    /// Solver settings.
    pub settings: Settings,
    /// Hand limits.
    pub limits: HandLimits,
    /// How long the next sub-step is to be [parts of a tick], a power of two.
    span: u32,
    /// Reports of the last tick's sub-steps.
    pub reports: Vec<Report>,
    /// The needle, where one takes part.
    pub needle: Option<Needle>,
    /// Bites the needle took, in the order of [`Gum::bites`], each with the tick its point came out.
    pub taken: Vec<(Tick, Taken)>,
    /// What happened to the needle, and where its point was then [mm].
    pub needle_events: Vec<(Tick, NeedleEventKind, DVec3)>,
    /// What the needle's point was on and has left.
    pub meetings: Vec<Meeting>,
    /// Where the thread broke, with the tick in which it did.
    pub thread_breaks: Vec<(Tick, Break)>,
    /// When the holder's jaws closed on the thread, and where along it, from the swaged end [mm].
    pub crushed: Vec<(Tick, f64)>,
    /// Depth of the membrane's upper face below the flaps' surface [mm]; infinite where there is none.
    pub membrane_face: f64,
    /// What has caught the membrane.
    pub catch: Catch,
    /// Which nodes were cut off and taken away, shape [node_count].
    pub removed: Vec<bool>,
}

impl World {
    /// A world with the given thread, surroundings (holes, floor, teeth: no instruments yet) and instrument poses.
    #[must_use]
    pub fn new(rod: Rod, mut around: Surroundings, gum: Gum, right: Pose, left: Pose) -> World {
        let limits = HandLimits::default();
        let tool = |kind: Kind, pose: &Pose| {
            let hand = Hand {
                target: pose.position,
                stiffness: limits.stiffness,
                force_max: limits.force_max,
                damping: limits.damping,
            };
            Tool {
                rotation: pose.rotation,
                rotation_before: pose.rotation,
                ..Tool::new(pose.position, instruments::shapes(kind, 0.0), Some(hand))
            }
        };
        let mut tools = vec![tool(Kind::NeedleHolder, &right), tool(Kind::Forceps, &left)];
        tools.append(&mut around.tools);
        around.tools = tools;
        around.bites = vec![DVec3::ZERO; gum.bites.len()];
        let instrument =
            |kind, pose: &Pose| Instrument { kind, gap: 0.0, gap_wanted: 0.0, rotation_wanted: pose.rotation };
        World {
            tick: Tick(0),
            order: None,
            needle: None,
            taken: Vec::new(),
            needle_events: Vec::new(),
            meetings: Vec::new(),
            thread_breaks: Vec::new(),
            crushed: Vec::new(),
            membrane_face: f64::INFINITY,
            catch: Catch::default(),
            removed: vec![false; rod.node_count()],
            rod,
            around,
            instruments: [instrument(Kind::NeedleHolder, &right), instrument(Kind::Forceps, &left)],
            fingers: Fingers { pull: KEEP, at: 0.0 },
            gum,
            hard: Hard::default(),
            memory: Memory::default(),
            settings: Settings {
                sleeps: true,
                iterations_max: ITERATIONS_MAX,
                reach: Reach::Least,
                ..Settings::default()
            },
            limits,
            span: 1,
            reports: Vec::new(),
        }
    }

    /// The pose of an instrument.
    #[must_use]
    pub fn pose(&self, hand: usize) -> Pose {
        Pose { position: self.around.tools[hand].position, rotation: self.around.tools[hand].rotation }
    }

    /// Whether an instrument's jaws hold thread.
    #[must_use]
    pub fn holds_thread(&self, hand: usize) -> bool {
        self.around.grips.iter().any(|g| g.tool == hand && !self.is_swage(g)) || self.strand_hold(hand).is_some()
    }

    /// The sleeve by which a hand holds the strand, if it does.
    #[must_use]
    pub fn strand_hold(&self, hand: usize) -> Option<&Sleeve> {
        self.around.sleeves.iter().find(|s| s.host == Host::Tool(hand))
    }

    /// One tick: both hands' commands, then the sub-steps.
    pub fn step(&mut self, command: &TickCommand) {
        for (hand, wanted) in [(RIGHT, &command.right), (LEFT, &command.left)] {
            let pose = wanted.pose();
            self.instruments[hand].rotation_wanted = pose.rotation;
            self.instruments[hand].gap_wanted = wanted.jaw_opening() * self.instruments[hand].kind.design().gap_max;
        }
        self.reports.clear();
        let mut done = 0;
        while done < PARTS {
            let span = self.span.min(longest_from(done));
            let dt = TICK_MS * f64::from(span) / f64::from(PARTS);
            let was_easy = self.substep(command, dt, HALVINGS_MAX + span.ilog2());
            done += span;
            self.span = if was_easy { (2 * span).min(LONGEST) } else { (span / 2).max(1) };
        }
        self.drag_membrane();
        self.tick.0 += 1;
    }

    /// One sub-step; whether it was easy: done in one iteration, so that a longer one may do as well.
    ///
    /// Where strands would go through each other, or numbers would break, it is taken back and done again in two halves; what
    /// not even the smallest halves cure stays in the reports.
    fn substep(&mut self, command: &TickCommand, dt: f64, halvings: u32) -> bool {
        let before = self.keep();
        for (hand, wanted) in [(RIGHT, &command.right), (LEFT, &command.left)] {
            self.follow(hand, wanted.pose().position, dt);
            self.move_jaws(hand, dt);
        }
        self.carry_palm();
        self.press_pads(dt);
        self.resist_needle();
        self.resist_dragging();
        self.stop_needle(dt);
        let report = step(&mut self.rod, &mut self.around, &self.gum, &mut self.memory, &self.settings, dt);
        if halvings > 0 && (report.passed_through || report.broken) {
            self.take_back(before);
            self.substep(command, 0.5 * dt, halvings - 1);
            self.substep(command, 0.5 * dt, halvings - 1);
            return false;
        }
        self.reports.push(report);
        self.drop_slipped();
        self.follow_needle(dt);
        if let Some(found) = report.thread_break {
            self.thread_breaks.push((self.tick, found));
            self.take_away_loose();
        }
        report.iterations <= 1
    }

    /// Everything that a sub-step may change before its outcome is known.
    fn keep(&self) -> Kept {
        Kept {
            rod: self.rod.clone(),
            around: self.around.clone(),
            instruments: self.instruments.clone(),
            fingers: self.fingers,
            memory: self.memory.without_lists(),
            needle: self.needle.clone(),
            needle_events: self.needle_events.len(),
            meetings: self.meetings.len(),
            crushed: self.crushed.len(),
        }
    }

    fn take_back(&mut self, kept: Kept) {
        self.rod = kept.rod;
        self.around = kept.around;
        self.instruments = kept.instruments;
        self.fingers = kept.fingers;
        self.memory = kept.memory;
        self.needle = kept.needle;
        self.needle_events.truncate(kept.needle_events);
        self.meetings.truncate(kept.meetings);
        self.crushed.truncate(kept.crushed);
    }

    /// Lets the hand's target and the wrist follow the command, no faster than a hand.
    fn follow(&mut self, hand: usize, wanted: DVec3, dt: f64) {
        let limits = self.limits;
        let tool = &mut self.around.tools[hand];
        let grip = tool.hand.as_mut().expect("an instrument is in a hand");
        let way = wanted - grip.target;
        let reach = limits.speed_max * dt;
        grip.target += if way.length() > reach { way * (reach / way.length()) } else { way };
        let before = tool.rotation;
        let turned = self.instruments[hand].rotation_wanted;
        let dot = before.dot(turned);
        let turned = if dot < 0.0 { -turned } else { turned };
        // The angle between two turns is twice the arc between their quaternions; small arcs equal their chord.
        let chord = (turned - before).length();
        let share = (limits.turn_max * dt * 0.5 / chord.max(1e-12)).min(1.0);
        tool.rotation = (before * (1.0 - share) + turned * share).normalize();
        let change = tool.rotation * before.conjugate();
        let axis = DVec3::new(change.x, change.y, change.z) * 2.0;
        for g in self.around.grips.iter_mut().filter(|g| g.tool == hand) {
            if g.node + 1 < self.rod.node_count() {
                let tangent = (self.rod.positions[g.node + 1] - self.rod.positions[g.node]).normalize();
                g.spin += axis.dot(tangent);
            }
        }
    }

    fn move_jaws(&mut self, hand: usize, dt: f64) {
        let design = self.instruments[hand].kind.design();
        let instrument = &mut self.instruments[hand];
        let reach = design.gap_speed * dt;
        let before = instrument.gap;
        let way = (instrument.gap_wanted - before).clamp(-reach, reach);
        instrument.gap = before + way;
        let (kind, gap) = (instrument.kind, instrument.gap);
        self.around.tools[hand].shapes = instruments::shapes(kind, gap);
        if way < 0.0 && gap < instruments::GRIP_GAP {
            self.take_hold(hand);
        } else if way > 0.0 && gap > instruments::GRIP_GAP && (self.holds_thread(hand) || self.holds_needle(hand)) {
            self.let_go(hand);
        }
    }

    /// Everything between the pads is held, where it is.
    fn take_hold(&mut self, hand: usize) {
        if self.holds_needle(hand) || self.take_needle(hand) {
            return;
        }
        let pose = self.pose(hand);
        if hand == LEFT {
            self.take_strand_between_pads(pose);
            return;
        }
        let (kind, gap) = (self.instruments[hand].kind, self.instruments[hand].gap);
        let limit = kind.design().grip_limit;
        let mut taken = Vec::new();
        for (node, &place) in self.rod.positions.iter().enumerate() {
            let held = self.around.grips.iter().any(|g| g.node == node);
            let local = pose.local(place);
            if !held && self.rod.free[node] && instruments::between_pads(kind, gap, local) {
                taken.push((node, local));
            }
        }
        let count = taken.len();
        if count > 0 {
            let middle = taken.iter().map(|(node, _)| self.rod.material[*node]).sum::<f64>() / count as f64;
            self.crushed.push((self.tick, middle));
        }
        for (node, local) in taken {
            self.around.grips.push(Grip {
                node,
                tool: hand,
                place: local,
                stiffness: 100_000.0,
                limit: limit / count as f64,
                spin: self.rod.spin[node],
            });
        }
        if count > 0 {
            self.around.grips.sort_by_key(|g| (g.tool, g.node));
            self.memory.topology_changed();
        }
    }

    /// Lets go of everything a hand holds; what was in the palm is free again.
    fn let_go(&mut self, hand: usize) {
        self.around.grips.retain(|g| g.tool != hand);
        self.around.sleeves.retain(|s| s.host != Host::Tool(hand));
        if hand == LEFT {
            self.open_palm();
        }
        self.release_needle(hand);
        self.grip_swage();
        self.memory.topology_changed();
    }

    fn take_strand_between_pads(&mut self, pose: Pose) {
        if self.strand_hold(LEFT).is_some() {
            return;
        }
        let (kind, gap) = (self.instruments[LEFT].kind, self.instruments[LEFT].gap);
        let place = pose.point(PADS);
        let nearest = (0..self.rod.node_count())
            .filter(|&i| self.rod.free[i] && instruments::between_pads(kind, gap, pose.local(self.rod.positions[i])))
            .min_by(|&a, &b| {
                let distance = |i: usize| self.rod.positions[i].distance_squared(place);
                distance(a).total_cmp(&distance(b))
            });
        if let Some(node) = nearest {
            self.take_strand(self.rod.material[node]);
        }
    }

    /// Takes the strand at this material coordinate [mm] between the pads of the left hand, and what lies between
    /// there and the swaged end into its palm.
    pub fn take_strand(&mut self, material: f64) {
        self.fingers = Fingers { pull: KEEP, at: material };
        self.around.sleeves.push(Sleeve {
            host: Host::Tool(LEFT),
            rest: PADS,
            material,
            stiffness: 20_000.0,
            // How hard the fingers press alone decides how they hold.
            friction: 0.0,
            drag: 0.0,
            anchor: 0.0,
            force: DVec3::ZERO,
        });
        self.needle_to_palm(material);
        self.carry_palm();
        self.memory.topology_changed();
    }

    /// How hard the left hand's pads press decides how well they hold the strand. Nearly shut they only guide it, and
    /// the other fingers take up slack with a light pull, no faster than a hand moves; behind pads that press they only keep
    /// it in the palm.
    fn press_pads(&mut self, dt: f64) {
        let instrument = &self.instruments[LEFT];
        let share = (1.0 - instrument.gap_wanted / PRESS_GAP).clamp(0.0, 1.0);
        let limit = instrument.kind.design().grip_limit * share;
        self.around.loads.clear();
        let palm_is_free = self.palm_is_free();
        let into_palm = self.pose(LEFT).direction(DVec3::X);
        let Some(sleeve) = self.around.sleeves.iter_mut().find(|s| s.host == Host::Tool(LEFT)) else { return };
        sleeve.drag = limit;
        let drawn = std::mem::replace(&mut self.fingers.at, sleeve.material);
        let speed = (sleeve.material - drawn) / dt;
        self.fingers.pull = if share >= GUIDE_SHARE {
            KEEP
        } else if speed > self.limits.speed_max {
            self.fingers.pull * self.limits.speed_max / speed
        } else {
            (self.fingers.pull * GROWTH).min(TAKE_UP)
        };
        let pull = self.fingers.pull;
        // Edges may be longer than pads and fingers are apart: never a node in front of the pads.
        let not_behind = self.rod.material.partition_point(|&s| s <= sleeve.material - FINGERS);
        if palm_is_free && not_behind > 0 && self.rod.free[not_behind - 1] {
            self.around.loads.push((not_behind - 1, into_palm * pull));
        }
    }

    /// Thread dragged off the pads is held no longer.
    fn drop_slipped(&mut self) {
        let before = self.around.grips.len();
        let instruments = &self.instruments;
        let swaged = match self.needle.as_ref().map(|n| n.state) {
            Some(needle::State::Held { .. }) => piercing::SWAGED,
            _ => 0,
        };
        self.around.grips.retain(|g| {
            if g.node < swaged {
                return true;
            }
            let kind = instruments[g.tool].kind;
            let design = kind.design();
            g.place.x > -0.3 && g.place.x < design.pad_length + 0.6 && g.place.y.abs() < design.pad_half_width + 0.6
        });
        if self.around.grips.len() != before {
            self.memory.topology_changed();
        }
    }

    /// Mean tension [mN] over a few edges of the strand between two nodes.
    #[must_use]
    pub fn mean_tension(&self, edges: std::ops::Range<usize>) -> f64 {
        let count = edges.len().max(1) as f64;
        edges.map(|i| self.rod.tension(i)).sum::<f64>() / count
    }
}

/// The longest sub-step that may begin when so many parts of a tick are done: one that begins at a multiple of itself, so that
/// sub-steps end where ticks do [parts of a tick].
fn longest_from(done: u32) -> u32 {
    1 << (done | PARTS).trailing_zeros()
}

/// Gum and membrane below the thread: soft and wet. Stiffness and adhesion are estimates.
#[must_use]
pub fn wet_floor() -> Floor {
    Floor { height: 0.0, stiffness: 2000.0, adhesion: 0.2 }
}

impl World {
    /// A bench for throws: a 4-0 chromic gut stitch already through both flaps of the default size, tail on the far
    /// side, the strand in the left hand on the near side.
    ///
    /// # Panics
    /// Never: the table has this thread, and flaps of the default size are in range.
    #[must_use]
    pub fn threaded_bench() -> World {
        use crate::tissue::{Flaps, FlapsSettings, Membrane};
        let thread = crate::material::find("chromic gut", "4-0", true).expect("the table has it");
        let settings = FlapsSettings { gap_mm: 3.0, ..FlapsSettings::default() };
        threaded::Threaded {
            section: thread.section,
            length: 134.8,
            flaps: Flaps::new(settings).expect("in range"),
            membrane: Membrane::new(Default::default(), crate::math::DVec2::new(10.0, 12.0)),
            gap: 3.0,
            thickness: 1.4,
            bite: 2.5,
        }
        .world()
        .expect("in range")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::HandCommand;

    #[test]
    fn sub_steps_are_long_while_they_are_easy_and_short_again_once_they_are_not() {
        let mut world = World::threaded_bench();
        let still = |world: &World, hand: usize| HandCommand::new(world.pose(hand), 0.0);
        let rest = TickCommand { right: still(&world, RIGHT), left: still(&world, LEFT), events: Vec::new() };
        (0..60).for_each(|_| world.step(&rest));
        assert_eq!(world.reports.len(), (PARTS / LONGEST) as usize, "at rest");
        let away = Pose { position: world.pose(LEFT).position - DVec3::X * 40.0, ..world.pose(LEFT) };
        let pulled = TickCommand { left: HandCommand::new(away, 0.0), ..rest };
        let most = (0..30).map(|_| {
            world.step(&pulled);
            world.reports.len()
        });
        assert!(most.max() > Some(4), "a strand drawn tight asks for short ones");
    }

    #[test]
    fn sub_steps_begin_at_multiples_of_themselves() {
        for (done, longest) in [(0, 8), (1, 1), (2, 2), (3, 1), (4, 4), (6, 2), (7, 1)] {
            assert_eq!(longest_from(done), longest, "{done} parts are done");
        }
    }

    #[test]
    fn a_sub_step_that_is_taken_back_leaves_everything_as_it_was() {
        let mut world = World::threaded_bench();
        let still = |world: &World, hand: usize| HandCommand::new(world.pose(hand), 0.0);
        let away = Pose { position: world.pose(LEFT).position + DVec3::X * 20.0, ..world.pose(LEFT) };
        let command =
            TickCommand { right: still(&world, RIGHT), left: HandCommand::new(away, 0.0), events: Vec::new() };
        world.step(&command);
        let before = (world.rod.clone(), world.around.tools.clone(), world.instruments.clone());
        let kept = world.keep();
        world.substep(&command, TICK_MS, 0);
        assert_ne!(world.rod, before.0, "the sub-step moves the thread");
        world.take_back(kept);
        assert_eq!((&world.rod, &world.around.tools, &world.instruments), (&before.0, &before.1, &before.2));
    }
}
