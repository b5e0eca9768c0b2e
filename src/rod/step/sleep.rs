//! Sleep: a thread that has come to rest costs next to nothing until something near it changes.
//!
//! A thread that a hand has hold of does not sleep: it is not finished. Asleep, only instruments far from the thread
//! follow their hands. Every step looks whether all that the thread meets is still what it was, bit for bit, and is a
//! whole step if not. What goes on at rest is slower than sleep: kept bends fade and sag as they do. So a sleeper turns
//! over now and then, in one step as long as it has slept.

use super::{Memory, Report, Settings, soft_stretches};
use crate::math::DVec3;
use crate::rod::Rod;
use crate::rod::contact::closest_cone;
use crate::rod::surroundings::{Host, Meeting, Response, Surroundings, Tissue, Tool};
use std::sync::Arc;

/// Nothing that moves faster than this is at rest [mm/ms]: 40 um a second, and so a tenth of a thread's radius from one
/// turn to the next; estimate. The cut ends of wet gut sag at 6 um a second while their bends fade.
const QUIET_SPEED: f64 = 4e-5;

/// For so long the thread has to be at rest before it sleeps, and sleeps before it turns over [ms]: longer than any pause
/// within a hand's motion; estimate.
const SLEEP_TIME: f64 = 250.0;

/// An instrument farther than this from the thread may move without waking it [mm]: farther than a hand gets in a step.
const WAKE_REACH: f64 = 2.0;

/// How a step finds the thread.
pub(super) enum Nap {
    /// Awake: a whole step.
    Awake,
    /// Asleep: nothing to do.
    Asleep(Report),
    /// Turning over: a whole step of this length [ms], in which the tools that do not count, in these places, have no part.
    Turning(f64, Vec<(usize, Tool)>),
}

/// How the thread sleeps, or how long it has been at rest.
#[derive(Debug, Clone, Default)]
pub(super) struct Sleep {
    /// Time for which nothing has moved [ms].
    quiet: f64,
    asleep: Option<Asleep>,
}

/// A sleeping thread.
#[derive(Debug, Clone)]
struct Asleep {
    /// What everything was when it fell asleep.
    still: Arc<Still>,
    /// How long it has slept since it last moved [ms].
    time: f64,
    /// At least how far each tool is from the thread [mm]; `None` for one that must not change.
    room: Vec<Option<f64>>,
    /// The tools as they were when that was known.
    seen: Vec<Tool>,
}

/// All that the thread's rest depends on.
#[derive(Debug)]
struct Still {
    rod: Rod,
    around: Surroundings,
    felt: (Vec<Response>, Vec<Meeting>),
    settings: Settings,
    report: Report,
}

/// What the tissue answers at the bites as they are.
fn felt(around: &Surroundings, tissue: &dyn Tissue) -> (Vec<Response>, Vec<Meeting>) {
    let respond = |(bite, displacement): (usize, &DVec3)| tissue.respond(bite, *displacement);
    (around.bites.iter().enumerate().map(respond).collect(), tissue.meet(&around.bites))
}

impl Still {
    /// Whether the thread is still held by the same things in the same places; instruments apart.
    fn holds(&self, rod: &Rod, around: &Surroundings, tissue: &dyn Tissue, settings: &Settings) -> bool {
        let (then, now) = (&self.around, around);
        self.settings == *settings
            && self.rod == *rod
            && then.tools.len() == now.tools.len()
            && then.floor == now.floor
            && then.planes == now.planes
            && then.sleeves == now.sleeves
            && then.grips == now.grips
            && then.collars == now.collars
            && then.bites == now.bites
            && then.loads == now.loads
            && felt(around, tissue) == self.felt
    }
}

impl Memory {
    /// How the thread takes a step of `dt` [ms]. One that has to wake is as if it had been awake.
    pub(super) fn nap(
        &mut self,
        rod: &mut Rod,
        around: &mut Surroundings,
        tissue: &dyn Tissue,
        settings: &Settings,
        dt: f64,
    ) -> Nap {
        let Some(asleep) = &mut self.sleep.asleep else { return Nap::Awake };
        let still = asleep.still.holds(rod, around, tissue, settings);
        let moved = if still { asleep.move_tools(rod, around, dt) } else { None };
        let Some(tools) = moved else {
            let slept = asleep.time;
            self.wake(0.0);
            if settings.yields && rod.section.set_relaxation.is_finite() {
                rod.take_set(slept, &soft_stretches(around));
            }
            return Nap::Awake;
        };
        asleep.seen.clone_from(&tools);
        around.tools = tools;
        asleep.time += dt;
        if asleep.time < SLEEP_TIME {
            return Nap::Asleep(Report { iterations: 0, solves: 0, asleep: true, ..asleep.still.report });
        }
        let far = asleep.room.iter().enumerate().filter(|(_, room)| room.is_some());
        let far = far.map(|(t, _)| (t, around.tools[t].clone())).collect();
        let slept = asleep.time;
        self.wake(SLEEP_TIME);
        Nap::Turning(slept, far)
    }

    /// Ends sleep, with so much rest [ms] to its credit. Instruments have moved that the lists know nothing of.
    fn wake(&mut self, quiet: f64) {
        self.sleep = Sleep { quiet, asleep: None };
        self.topology_changed();
    }

    /// After a step of `dt` [ms]: counts how long nothing has moved, and lets the thread fall asleep.
    pub(super) fn tire(
        &mut self,
        rod: &Rod,
        around: &Surroundings,
        tissue: &dyn Tissue,
        settings: &Settings,
        report: &Report,
        dt: f64,
    ) {
        let balanced = report.residual < settings.tolerance && !report.broken && !report.passed_through;
        if !settings.sleeps || !balanced || report.thread_break.is_some() || !self.is_quiet(rod, around) {
            self.sleep.quiet = 0.0;
            return;
        }
        self.sleep.quiet += dt;
        if self.sleep.quiet < SLEEP_TIME {
            return;
        }
        let felt = felt(around, tissue);
        let (rod, around) = (rod.clone(), around.clone());
        let room = (0..around.tools.len()).map(|t| room(&rod, &around, t)).collect();
        let seen = around.tools.clone();
        let still = Still { rod, around, felt, settings: *settings, report: *report };
        self.sleep.asleep = Some(Asleep { still: Arc::new(still), time: 0.0, room, seen });
    }

    /// Whether no hand has hold of the thread, and the last step moved neither it nor bites, nor any tool with a part in it.
    fn is_quiet(&self, rod: &Rod, around: &Surroundings) -> bool {
        if !around.grips.is_empty() || around.sleeves.iter().any(|sleeve| matches!(sleeve.host, Host::Tool(_))) {
            return false;
        }
        let (nodes, tools) = (rod.node_count(), around.tools.len());
        let slow = |v: &DVec3| v.length_squared() <= QUIET_SPEED * QUIET_SPEED;
        let (thread, rest) = self.velocity.split_at(nodes.min(self.velocity.len()));
        thread.len() == nodes
            && thread.iter().all(slow)
            && self.spin_velocity[..nodes].iter().all(|w| (w * rod.section.radius).abs() <= QUIET_SPEED)
            && rest.iter().skip(tools).all(slow)
            && rest.iter().enumerate().take(tools).all(|(t, v)| slow(v) || !holds(around, t))
    }
}

/// Whether tool `t` is part of the tissue, or is held by no hand.
fn holds(around: &Surroundings, t: usize) -> bool {
    around.tools[t].hand.is_none() || around.collars.iter().any(|collar| collar.tool == t)
}

/// How far tool `t` is from the thread [mm], if it may move without waking it.
fn room(rod: &Rod, around: &Surroundings, t: usize) -> Option<f64> {
    if holds(around, t) {
        return None;
    }
    Some(gap(rod, &around.tools[t])).filter(|gap| *gap > WAKE_REACH)
}

fn gap(rod: &Rod, tool: &Tool) -> f64 {
    let mut least = f64::INFINITY;
    for cone in tool.shapes.iter().map(|shape| shape.placed(tool.position, tool.rotation)) {
        for i in (0..rod.rest_lengths.len()).filter(|&i| rod.live(i)) {
            let closest = closest_cone(rod.positions[i], rod.positions[i + 1], rod.section.radius, &cone);
            least = least.min(-closest.overlap);
        }
    }
    least
}

impl Asleep {
    /// All tools a step on, if none comes near the thread and none changed that it rests on.
    fn move_tools(&mut self, rod: &Rod, around: &Surroundings, dt: f64) -> Option<Vec<Tool>> {
        let mut tools = Vec::with_capacity(around.tools.len());
        for ((tool, seen), room) in around.tools.iter().zip(&self.seen).zip(&mut self.room) {
            let Some(room) = room else {
                if tool != seen {
                    return None;
                }
                tools.push(tool.clone());
                continue;
            };
            let moved = alone(tool, dt);
            *room -= way(seen, &moved);
            if *room < WAKE_REACH {
                *room = gap(rod, &moved);
                if *room < WAKE_REACH {
                    return None;
                }
            }
            tools.push(moved);
        }
        Some(tools)
    }
}

/// A tool that touches nothing after a step: its hand's spring, no stronger than the hand, against its damper.
fn alone(tool: &Tool, dt: f64) -> Tool {
    let mut moved = tool.clone();
    if let Some(hand) = tool.hand {
        let lag = hand.target - tool.position;
        let (distance, damping) = (lag.length(), hand.damping / dt);
        let sprung = hand.stiffness * distance / (hand.stiffness + damping);
        let strained = hand.stiffness * (distance - sprung) > hand.force_max;
        let step = if strained { hand.force_max / damping } else { sprung };
        if distance > 0.0 {
            moved.position += lag * (step / distance);
        }
    }
    moved.rotation_before = moved.rotation;
    moved.shapes_before.clone_from(&moved.shapes);
    moved
}

/// The most that any place of a tool's surface moves from one step to the next [mm].
fn way(before: &Tool, after: &Tool) -> f64 {
    let mut most: f64 = 0.0;
    for (old, new) in before.shapes.iter().zip(&after.shapes) {
        let old = old.placed(before.position, before.rotation);
        let new = new.placed(after.position, after.rotation);
        let swollen = (new.start_radius - old.start_radius).abs().max((new.end_radius - old.end_radius).abs());
        most = most.max(old.start.distance(new.start).max(old.end.distance(new.end)) + swollen);
    }
    most
}
