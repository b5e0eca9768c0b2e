//! The tasks, in numbers that every solver gets alike: a thread as a row of nodes, one end pinned or pulled by a constant
//! force, the other pulled by a force that changes in time.

use crate::lay::{GUT, single};
use crate::{law, rod};
use knotwright::math::{DVec3, cos, sin};
use knotwright::pull::{looped, pieces, resampled};
use knotwright::rod::Section;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// Density of collagen [mg/mm^3]; common practice, no source. The tasks are slow: it only limits explicit steps.
const DENSITY: f64 = 1.3;
/// Drag of the thread through what is around it [mN ms/mm^2], so little that it bears less than 1 % of any force here.
const DRAG: f64 = 0.05;
/// Friction on the drum.
const DRUM_FRICTION: f64 = 0.3;
/// Friction of thread on thread: little, as the law of the knot wants it.
const KNOT_FRICTION: f64 = 0.1;

/// What the thread is made of: wet chromic gut of size 4-0, round and solid, without weight and without set.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Thread {
    pub(crate) radius_mm: f64,
    pub(crate) axial_stiffness_mn: f64,
    pub(crate) bending_stiffness_mn_mm2: f64,
    pub(crate) twist_stiffness_mn_mm2: f64,
    pub(crate) mass_mg_per_mm: f64,
    pub(crate) drag_mn_ms_per_mm2: f64,
    pub(crate) friction: f64,
}

impl Thread {
    fn gut(friction: f64) -> Thread {
        Thread {
            radius_mm: GUT.radius,
            axial_stiffness_mn: GUT.axial_stiffness,
            bending_stiffness_mn_mm2: GUT.bending_stiffness,
            twist_stiffness_mn_mm2: GUT.twist_stiffness,
            mass_mg_per_mm: DENSITY * PI * GUT.radius * GUT.radius,
            drag_mn_ms_per_mm2: DRAG,
            friction,
        }
    }

    /// The same for our rod.
    pub(crate) fn section(&self) -> Section {
        Section {
            radius: self.radius_mm,
            axial_stiffness: self.axial_stiffness_mn,
            bending_stiffness: self.bending_stiffness_mn_mm2,
            twist_stiffness: self.twist_stiffness_mn_mm2,
            friction_thread: self.friction,
            friction_steel: self.friction,
            weight: 0.0,
            ..GUT
        }
    }
}

/// What is to be done, and so by which law it is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Kind {
    EndLoad,
    Capstan,
    Overhand,
    Hold,
}

impl Kind {
    pub(crate) fn title(self) -> &'static str {
        match self {
            Kind::EndLoad => "hang an end load",
            Kind::Capstan => "capstan",
            Kind::Overhand => "tighten an overhand knot",
            Kind::Hold => "hold it",
        }
    }
}

/// One task.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Task {
    pub(crate) kind: Kind,
    pub(crate) thread: Thread,
    /// Where the nodes begin [mm]; at rest the thread is straight.
    pub(crate) points_mm: Vec<DVec3>,
    /// Length at rest between two nodes [mm].
    pub(crate) segment_mm: f64,
    /// A fixed cylinder about the z axis, if any [mm].
    pub(crate) drum_radius_mm: Option<f64>,
    /// Constant pull on the first node; none if it is pinned [mN].
    pub(crate) first_load_mn: Option<DVec3>,
    /// Direction of the pull on the last node.
    pub(crate) way: DVec3,
    /// The pull on the last node: times [ms] and forces [mN], straight between.
    pub(crate) pull: Vec<(f64, f64)>,
    /// Whether strands of the thread can touch.
    pub(crate) touches_itself: bool,
    pub(crate) sample_ms: f64,
    /// The task ends early when the first node has gone so far: the thread has slid off [mm].
    pub(crate) ends_after_mm: f64,
}

impl Task {
    /// Pull on the last node at a time [mN].
    pub(crate) fn pull_mn(&self, time_ms: f64) -> f64 {
        let next = self.pull.partition_point(|&(t, _)| t <= time_ms).clamp(1, self.pull.len() - 1);
        let [(from, first), (to, last)] = [self.pull[next - 1], self.pull[next]];
        first + (last - first) * ((time_ms - from) / (to - from)).clamp(0.0, 1.0)
    }

    pub(crate) fn duration_ms(&self) -> f64 {
        self.pull[self.pull.len() - 1].0
    }

    pub(crate) fn last(&self) -> usize {
        self.points_mm.len() - 1
    }
}

pub(crate) const END_LOAD_MN: f64 = 500.0;

fn end_load() -> Task {
    let segment_mm = 1.5;
    Task {
        kind: Kind::EndLoad,
        thread: Thread::gut(0.0),
        points_mm: (0..=100).map(|k| DVec3::X * (segment_mm * f64::from(k))).collect(),
        segment_mm,
        drum_radius_mm: None,
        first_load_mn: None,
        way: DVec3::X,
        pull: vec![(0.0, 0.0), (200.0, END_LOAD_MN), (1000.0, END_LOAD_MN)],
        touches_itself: false,
        sample_ms: 50.0,
        ends_after_mm: 1e9,
    }
}

/// Tension on the slack side [mN].
pub(crate) const SLACK_MN: f64 = 500.0;
/// Share of the exponent at which the wrap is held to see whether it creeps.
const HELD_SHARE: f64 = 0.9;
/// From when to when it is held [ms].
pub(crate) const CAPSTAN_HELD_MS: (f64, f64) = (1300.0, 2000.0);
/// Radius of the drum over that of the thread; so large that the thread's thickness counts 1 % only.
pub(crate) const DRUM_RATIO: f64 = 100.0;

fn capstan() -> Task {
    let thread = Thread::gut(DRUM_FRICTION);
    let drum = DRUM_RATIO * thread.radius_mm;
    let radius = drum + thread.radius_mm;
    let corner = PI / 30.0;
    let segment_mm = radius * corner;
    let lead = |x: f64, k: i32| DVec3::new(x, -segment_mm * f64::from(k), 0.0);
    let mut points_mm: Vec<DVec3> = (1..=12).rev().map(|k| lead(radius, k)).collect();
    points_mm
        .extend((0..=30).map(|k| DVec3::new(cos(corner * f64::from(k)), sin(corner * f64::from(k)), 0.0) * radius));
    points_mm.extend((1..=12).map(|k| lead(-radius, k)));
    let exponent = law::capstan_exponent(DRUM_RATIO, thread.friction, PI);
    // Straight in the exponent, nearly: pieces of a thirtieth.
    let ramp = |from: (f64, f64), to: (f64, f64)| {
        (1..=30).map(move |k| {
            let share = f64::from(k) / 30.0;
            let part = from.1 + (to.1 - from.1) * share;
            (from.0 + (to.0 - from.0) * share, SLACK_MN * knotwright::math::exp(part * exponent))
        })
    };
    let mut pull = vec![(0.0, SLACK_MN), (500.0, SLACK_MN)];
    pull.extend(ramp((500.0, 0.0), (1000.0, HELD_SHARE)));
    pull.extend(ramp((1000.0, HELD_SHARE), (CAPSTAN_HELD_MS.1, HELD_SHARE)));
    pull.extend(ramp((CAPSTAN_HELD_MS.1, HELD_SHARE), (3000.0, 1.3)));
    Task {
        kind: Kind::Capstan,
        thread,
        points_mm,
        segment_mm,
        drum_radius_mm: Some(drum),
        first_load_mn: Some(DVec3::Y * -SLACK_MN),
        way: -DVec3::Y,
        pull,
        touches_itself: false,
        sample_ms: 10.0,
        ends_after_mm: 3.0,
    }
}

/// The knot is tightened by the forces that belong to these radii of its loop [mm].
const LOOP_MM: [f64; 2] = [9.0, 4.5];
/// Lengths of limbs and tails as laid [mm]: tails that reach out of the loop, so that it cannot slip over their ends.
const LIMB: f64 = 10.3;
const TAIL: f64 = 12.0;
/// Length between nodes where knots are tied, 1.3 diameters [mm].
pub(crate) const KNOT_SEGMENT: f64 = 0.3;
/// What the tight knot holds [mN].
pub(crate) const HELD_MN: f64 = 500.0;
/// Creep is looked at from here on; before, the thread may find its place [ms].
pub(crate) const SETTLED_MS: f64 = 1000.0;

/// An overhand knot laid loosely, and settled by our own rod under the force of the first radius, so that every solver
/// begins at the same place and near its balance.
pub(crate) fn overhand(radius_mm: f64, segment_mm: f64) -> Task {
    let thread = Thread { radius_mm, ..Thread::gut(KNOT_FRICTION) };
    let points = resampled(&looped(&[single(1.0)], LIMB, TAIL), segment_mm);
    let way = DVec3::X * (points[points.len() - 1].x - points[0].x).signum();
    let [first, last] = LOOP_MM.map(|radius| law::overhand_force(&thread, radius));
    let mut task = Task {
        kind: Kind::Overhand,
        segment_mm,
        points_mm: points,
        drum_radius_mm: None,
        first_load_mn: None,
        way,
        pull: vec![(0.0, first), (1500.0, first)],
        touches_itself: true,
        sample_ms: 20.0,
        ends_after_mm: 1e9,
        thread,
    };
    task.points_mm = rod::settled(&task);
    task.pull = vec![(0.0, first), (100.0, first), (2100.0, last)];
    task
}

/// The knot drawn tight by our own rod to the load it is to hold, then held for five seconds.
fn hold(overhand: &Task) -> Task {
    let mut task = Task { kind: Kind::Hold, sample_ms: 100.0, ..overhand.clone() };
    let loose = overhand.pull[0].1;
    task.pull = vec![(0.0, loose), (1000.0, 2.0 * HELD_MN), (1200.0, 2.0 * HELD_MN), (1700.0, HELD_MN)];
    task.points_mm = rod::settled(&task);
    task.pull = vec![(0.0, HELD_MN), (SETTLED_MS, HELD_MN), (5.0 * SETTLED_MS, HELD_MN)];
    task
}

/// All tasks.
pub(crate) fn all() -> Vec<Task> {
    let overhand = overhand(GUT.radius, KNOT_SEGMENT);
    let hold = hold(&overhand);
    vec![end_load(), capstan(), overhand, hold]
}

/// How many steps of about `step_ms` lie between two samples.
pub(crate) fn steps_a_sample(task: &Task, step_ms: f64) -> usize {
    pieces(task.sample_ms, step_ms).max(1)
}
