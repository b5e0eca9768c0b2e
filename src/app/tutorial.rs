//! Two minutes with the hands: six short tasks, each over when what it asks for has been measured in the world.
//!
//! Which key was pressed counts for nothing: an act is done when instrument and thread are as it leaves them.

use crate::math::{DVec3, Pose, atan2};
use crate::quantity::{MN_PER_N, TICKS_PER_SECOND};
use crate::simulation::snapshot::{Snapshot, ToolView};
use crate::simulation::{LEFT, RIGHT};

/// A tip this near to the gum touches it [mm]; what follows are our own choices, no source.
const TOUCHES: f64 = 1.0;
/// Height to which the tip is lifted [mm].
const LIFTED: f64 = 15.0;
/// Way that a tip goes before it counts as moved, and that of one that counts as still [mm].
const MOVED: f64 = 5.0;
const STILL: f64 = 2.0;
/// Time for which jaws hold thread before they count as locked on it [tick].
const HELD_TICKS: u32 = TICKS_PER_SECOND;
/// How far behind the tip jaws take thread [mm].
const JAW: f64 = 4.0;
/// Room that jaws leave round a thread they hold [mm].
const ROOM: f64 = 0.35;
/// Thread next to the needle that lies in the jaws with it [mm].
const AT_NEEDLE: f64 = 8.0;
/// Turns round the holder that two wraps lay at least [1]: the last one is laid down by the tail.
const TURNS: f64 = 1.75;
/// How far from the holder's axis thread may lie to go round it, and on how much of the shaft behind the tip [mm].
const ROUND: f64 = 6.0;
const SHAFT: f64 = 40.0;
/// Tension to which the strand is drawn [mN].
const DRAWN: f64 = 0.5 * MN_PER_N;

/// One task: the keys of its texts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Task {
    /// What to do.
    pub what: &'static str,
    /// With which keys and buttons.
    pub how: &'static str,
}

/// The tasks, in order.
pub const TASKS: [Task; 6] = [
    Task { what: "lesson-touch", how: "lesson-touch-how" },
    Task { what: "lesson-lift", how: "lesson-lift-how" },
    Task { what: "lesson-switch", how: "lesson-switch-how" },
    Task { what: "lesson-take", how: "lesson-take-how" },
    Task { what: "lesson-wrap", how: "lesson-wrap-how" },
    Task { what: "lesson-draw", how: "lesson-draw-how" },
];

/// How far someone is.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tutorial {
    done: usize,
    /// Tips as the task began [mm].
    start: Option<[DVec3; 2]>,
    /// For how long thread has been held [tick].
    held: u32,
}

impl Tutorial {
    /// The task to do now, from 0; `None` once all are done.
    #[must_use]
    pub fn task(&self) -> Option<usize> {
        (self.done < TASKS.len()).then_some(self.done)
    }

    /// Looks at the world after a tick under live hands; goes on to the next task once this one is done.
    pub fn look(&mut self, world: &Snapshot) {
        let tips = world.tools.each_ref().map(|tool| tool.pose.position);
        let start = *self.start.get_or_insert(tips);
        let way = |hand: usize| tips[hand].distance(start[hand]);
        self.held = if holds_thread(&world.tools[LEFT], world) { self.held + 1 } else { 0 };
        let done = match self.done {
            0 => tips[RIGHT].z < TOUCHES,
            1 => tips[RIGHT].z > LIFTED,
            2 => way(LEFT) > MOVED && way(RIGHT) < STILL,
            3 => self.held >= HELD_TICKS,
            4 => turns_round(&world.tools[RIGHT].pose, world).abs() > TURNS,
            5 => world.readout.strand_tension_mn > DRAWN,
            _ => false,
        };
        if done {
            (self.done, self.start, self.held) = (self.done + 1, None, 0);
        }
    }
}

/// Whether jaws are shut on thread, the thread next to the needle left out.
fn holds_thread(tool: &ToolView, world: &Snapshot) -> bool {
    let Pose { position: tip, .. } = tool.pose;
    let back = tool.pose.direction(DVec3::X);
    let near = |point: &DVec3| {
        let along = (*point - tip).dot(back).clamp(0.0, JAW);
        point.distance(tip + back * along) < 0.5 * tool.gap + world.thread_radius + ROOM
    };
    tool.gap < 2.0 * world.thread_radius + ROOM && thread(world).any(|strand| strand.iter().any(near))
}

/// Signed turns that the thread makes round a shaft, where it makes most.
#[must_use]
pub fn turns_round(shaft: &Pose, world: &Snapshot) -> f64 {
    let [axis, across, up] = [DVec3::X, DVec3::Y, DVec3::Z].map(|way| shaft.direction(way));
    let mut most = 0.0_f64;
    for strand in thread(world) {
        let (mut turns, mut before) = (0.0_f64, None::<f64>);
        for point in strand {
            let from = point - shaft.position;
            let (along, place) = (from.dot(axis), [from.dot(across), from.dot(up)]);
            let away = (place[0] * place[0] + place[1] * place[1]).sqrt();
            if away > ROUND || !(-ROUND..SHAFT).contains(&along) {
                (turns, before) = (0.0, None);
                continue;
            }
            let angle = atan2(place[1], place[0]);
            if let Some(before) = before {
                let step = (angle - before) / core::f64::consts::TAU;
                // The short way round.
                turns += step - step.round();
            }
            before = Some(angle);
            if turns.abs() > most.abs() {
                most = turns;
            }
        }
    }
    most
}

/// The thread without what lies next to the needle.
fn thread(world: &Snapshot) -> impl Iterator<Item = Vec<DVec3>> + '_ {
    let swage = world.needle.first().copied();
    world.strands.iter().map(move |strand| {
        let far = |point: &&DVec3| swage.is_none_or(|swage| point.distance(swage) > AT_NEEDLE);
        strand.iter().skip_while(|point| !far(point)).copied().collect()
    })
}
