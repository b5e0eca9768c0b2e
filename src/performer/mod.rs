//! Scripted hands: statements of a hand script become commands, tick by tick, with eyes on the world.
//!
//! The performer only ever moves hands and jaws, as a person at the controls could; it has no other way to the thread.

pub mod acts;
pub mod eyes;
pub mod needle_acts;
mod sweeping;

use crate::input::script::{Marking, Script, Statement, Value};
use crate::input::{HandCommand, HandEvent, TickCommand};
use crate::math::{DMat3, DQuat, DVec3, Pose, sin};
use crate::simulation::{LEFT, RIGHT, World};
use eyes::Eyes;
use rand::{Rng, SeedableRng};
use std::collections::BTreeMap;

/// Where the two hands are led to, this tick.
#[derive(Debug, Clone, PartialEq)]
pub struct Hands {
    /// Wanted tips [mm].
    pub tip: [DVec3; 2],
    /// Wanted shaft direction, tip to handle, and wanted opening direction of the jaws.
    pub turn: [(DVec3, DVec3); 2],
    /// Wanted opening 0..=1.
    pub jaw: [f64; 2],
}

/// How unsteady the hands are.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Unsteadiness {
    /// Amplitude of the tremor on each axis of each hand [mm].
    pub tremor_mm: f64,
    /// Spread of the speed of each act, as a share: 0.1 is plus or minus 10 %.
    pub timing: f64,
    /// Seed of both.
    pub seed: u64,
}

/// Two sines per axis and hand: frequency [Hz] and phase [rad].
type Tremor = [[[(f64, f64); 2]; 3]; 2];

/// How the next throw will be tied, from looking at the tail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// -1 when the strand is on the near side, +1 on the far side.
    pub side: f64,
    /// Wraps.
    pub wraps: f64,
    /// Distance of the loops behind the tip [mm].
    pub loops: f64,
    /// Radius of the hand's circle [mm].
    pub radius: f64,
    /// Whether the strand goes round the holder over its top first (+1) or under it (-1).
    pub over: f64,
    /// Shaft direction, tip to handle.
    pub axis: DVec3,
    /// Across the shaft, upward.
    pub up: DVec3,
    /// Across the shaft, level, to the far side.
    pub across: DVec3,
    /// Where on the shaft the loops are to lie [mm].
    pub centre: DVec3,
    /// Where the limbs rise from [mm].
    pub root: DVec3,
    /// How many throws were tied before this one.
    pub throw: u32,
    /// Determinant of the knot before the throw.
    pub determinant_before: i64,
}

/// Runs a script.
#[derive(Debug, Clone)]
pub struct Performer {
    script: Script,
    at: usize,
    repeats: Vec<(usize, u32)>,
    phase: String,
    pub(crate) hands: Hands,
    pub(crate) plan: Option<Plan>,
    pub(crate) throws: u32,
    pub(crate) clock: u32,
    pub(crate) stage: u32,
    pub(crate) memo: DVec3,
    pub(crate) angle: f64,
    pub(crate) aim: f64,
    pub(crate) steer: DVec3,
    pub(crate) pace: f64,
    pub(crate) events: Vec<HandEvent>,
    unsteady: Unsteadiness,
    tremor: Tremor,
    random: rand_chacha::ChaCha8Rng,
    finished: bool,
    gave_up: bool,
    /// What happened, for whoever wants to follow: tick and words.
    pub log: Vec<(u32, String)>,
}

impl Performer {
    /// Starts a script with the hands where they are.
    #[must_use]
    pub fn new(script: Script, world: &World, unsteady: Unsteadiness) -> Performer {
        let pose = [world.pose(RIGHT), world.pose(LEFT)];
        let turn = |p: &Pose| (p.direction(DVec3::X), p.direction(DVec3::Z));
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(unsteady.seed);
        let mut sines = || {
            std::array::from_fn(|_| {
                (0.5 + 2.0 * random.random::<f64>(), 2.0 * std::f64::consts::PI * random.random::<f64>())
            })
        };
        let tremor = std::array::from_fn(|_| std::array::from_fn(|_| sines()));
        Performer {
            script,
            at: 0,
            repeats: Vec::new(),
            phase: String::new(),
            hands: Hands {
                tip: [pose[0].position, pose[1].position],
                turn: [turn(&pose[0]), turn(&pose[1])],
                jaw: [0.0, 0.0],
            },
            plan: None,
            throws: 0,
            clock: 0,
            stage: 0,
            memo: DVec3::ZERO,
            angle: 0.0,
            aim: 0.0,
            steer: DVec3::ZERO,
            pace: 1.0,
            events: Vec::new(),
            unsteady,
            tremor,
            random,
            finished: false,
            gave_up: false,
            log: Vec::new(),
        }
    }

    /// What a person would say is being done.
    #[must_use]
    pub fn phase(&self) -> &str {
        &self.phase
    }

    /// Whether a repeat ran out before its condition held.
    #[must_use]
    pub fn gave_up(&self) -> bool {
        self.gave_up
    }

    /// The command for the next tick; none once the script is over.
    pub fn command(&mut self, world: &World) -> Option<TickCommand> {
        if self.finished {
            return None;
        }
        while let Some((_, statement)) = self.script.statements.get(self.at).cloned() {
            match statement {
                Statement::Say(words) => {
                    self.log.push((world.tick.0, format!("# {words}")));
                    self.phase = words;
                    self.at += 1;
                }
                Statement::Repeat { times, .. } => {
                    self.repeats.push((self.at, times));
                    self.at += 1;
                }
                Statement::End => self.end_of_repeat(world),
                Statement::Mark(marking) => {
                    let tooth = match marking {
                        Marking::Ordered => world.order,
                        Marking::Tooth(tooth) => Some(tooth),
                        Marking::Nothing => None,
                    };
                    self.events.push(HandEvent::Mark { tooth });
                    self.at += 1;
                }
                Statement::Do { verb, values } => {
                    if self.act(&verb, &values, world) {
                        self.note(world, &verb);
                        self.next_act();
                        continue;
                    }
                    self.clock += 1;
                    return Some(self.emit(world));
                }
            }
        }
        self.finished = true;
        self.events.push(HandEvent::Finish);
        Some(self.emit(world))
    }

    fn end_of_repeat(&mut self, world: &World) {
        let Some((start, left)) = self.repeats.pop() else {
            self.at += 1;
            return;
        };
        let Statement::Repeat { until, .. } = &self.script.statements[start].1 else { return };
        let holds = self.holds(until, world);
        self.log.push((world.tick.0, format!("{until}: {holds}")));
        if holds {
            self.at += 1;
        } else if left > 1 {
            self.repeats.push((start, left - 1));
            self.at = start + 1;
        } else {
            self.gave_up = true;
            self.at += 1;
        }
    }

    fn note(&mut self, world: &World, verb: &str) {
        let eyes = Eyes::on(world);
        let (tail, _) = eyes.tail();
        self.log.push((
            world.tick.0,
            format!(
                "{verb} stage {} {:.2} s: strand {:.0} mN free {:.1} mm, tail {:.0} mN length {:.1} at {:.1}, \
                 winding {:.2} gauss {:.2} loops {:.1?} grasp {:?} knot {:.1?}",
                self.stage,
                f64::from(self.clock) / 60.0,
                eyes.strand_tension(),
                eyes.free_strand(),
                eyes.tail_tension(),
                eyes.tail_length(),
                tail,
                eyes.winding(),
                eyes.gauss(),
                eyes.loops_behind_tip(),
                eyes.grasped(),
                eyes.knot(),
            ),
        ));
    }

    fn next_act(&mut self) {
        self.at += 1;
        self.clock = 0;
        self.stage = 0;
        self.angle = 0.0;
        self.steer = DVec3::ZERO;
        self.pace = 1.0 + self.unsteady.timing * (2.0 * self.random.random::<f64>() - 1.0);
    }

    fn emit(&mut self, world: &World) -> TickCommand {
        let seconds = world.tick.seconds();
        let command = |hand: usize| {
            let shake = DVec3::from_array(self.tremor[hand].map(|axis| {
                let wave: f64 =
                    axis.iter().map(|(hz, phase)| sin(2.0 * std::f64::consts::PI * hz * seconds + phase)).sum();
                0.5 * wave * self.unsteady.tremor_mm
            }));
            let (axis, opening) = self.hands.turn[hand];
            HandCommand::new(
                Pose { position: self.hands.tip[hand] + shake, rotation: facing(axis, opening) },
                self.hands.jaw[hand],
            )
        };
        let (right, left) = (command(RIGHT), command(LEFT));
        TickCommand { right, left, events: std::mem::take(&mut self.events) }
    }
}

/// The turn that points an instrument's shaft along `axis` and opens its jaws along `opening`.
#[must_use]
pub fn facing(axis: DVec3, opening: DVec3) -> DQuat {
    let x = axis.normalize();
    let z = (opening - x * opening.dot(x)).normalize_or(crate::math::across(x));
    DQuat::from_mat3(&DMat3::from_cols(x, z.cross(x), z)).normalize()
}

/// A number of a statement.
///
/// # Panics
/// If the parser let it through without one.
#[must_use]
pub(crate) fn number(values: &BTreeMap<String, Value>, name: &str) -> f64 {
    match values.get(name) {
        Some(Value::Number(number)) => *number,
        other => panic!("`{name}` is a number in the language's table, found {other:?}"),
    }
}

/// A word of a statement, empty when not given.
#[must_use]
pub(crate) fn word<'a>(values: &'a BTreeMap<String, Value>, name: &str) -> &'a str {
    match values.get(name) {
        Some(Value::Word(word)) => word,
        _ => "",
    }
}
