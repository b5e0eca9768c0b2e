//! Our own rod through a task.

use crate::lay::GUT;
use crate::run::{Run, Sample, core_seconds, memory_mib};
use crate::task::{Task, steps_a_sample};
use crate::{law, task};
use knotwright::math::DVec3;
use knotwright::rod::Rod;
use knotwright::rod::step::{Memory, Settings, step};
use knotwright::rod::surroundings::{NoTissue, RoundCone, Surroundings, Tool};
use serde::Serialize;

/// An eighth of 1/60 s, as in an attempt.
const STEP_MS: f64 = 1000.0 / 60.0 / 8.0;
const TOLERANCE_MN: f64 = 0.01;

fn rod(task: &Task) -> Rod {
    let mut rod = Rod::at_rest(task.thread.section(), task.points_mm.clone());
    rod.rest_lengths.fill(task.segment_mm);
    rod.material = (0..rod.node_count()).map(|k| task.segment_mm * k as f64).collect();
    rod.free[0] = task.first_load_mn.is_some();
    rod
}

fn surroundings(task: &Task) -> Surroundings {
    let drum = |radius: f64| {
        let end = DVec3::Z * (10.0 * radius);
        Tool::new(DVec3::ZERO, vec![RoundCone::capsule(-end, end, radius)], None)
    };
    Surroundings { tools: task.drum_radius_mm.map(drum).into_iter().collect(), ..Surroundings::default() }
}

/// Goes through a task and hands every sample to `sample`, with the time that the steps took [s].
fn through(task: &Task, drag: f64, mut sample: impl FnMut(f64, &Rod, f64)) {
    let (mut rod, mut around, mut memory) = (rod(task), surroundings(task), Memory::default());
    let settings = Settings { iterations_max: 40, tolerance: TOLERANCE_MN, drag, yields: false, ..Settings::default() };
    let steps = steps_a_sample(task, STEP_MS);
    let dt = task.sample_ms / steps as f64;
    let mut time = 0.0;
    while time < task.duration_ms() - 0.5 * dt {
        let began = core_seconds();
        for _ in 0..steps {
            time += dt;
            around.loads = vec![(task.last(), task.way * task.pull_mn(time))];
            around.loads.extend(task.first_load_mn.map(|load| (0, load)));
            step(&mut rod, &mut around, &NoTissue, &mut memory, &settings, dt);
        }
        sample(time, &rod, core_seconds() - began);
        if task.points_mm[0].distance(rod.positions[0]) > task.ends_after_mm {
            return;
        }
    }
}

/// Drag while a knot finds its shape, so much that it does not spring [mN ms/mm^2].
const SETTLING_DRAG: f64 = 3.0;

/// Where the thread lies at the end of a task that is gone through in thick oil.
pub(crate) fn settled(task: &Task) -> Vec<DVec3> {
    let mut points = Vec::new();
    through(task, SETTLING_DRAG, |_, rod, _| points.clone_from(&rod.positions));
    points
}

/// One run.
pub(crate) fn runs(task: &Task) -> Vec<Run> {
    let start_mib = memory_mib("VmHWM");
    let (mut samples, mut core_s) = (Vec::new(), 0.0);
    through(task, task.thread.drag_mn_ms_per_mm2, |time_ms, rod, seconds| {
        core_s += seconds;
        samples.push(Sample { time_ms, points_mm: rod.positions.clone() });
    });
    vec![Run {
        solver: "knotwright".to_owned(),
        settings: format!("step {STEP_MS:.2} ms, to {TOLERANCE_MN} mN"),
        pace: 1.0,
        simulated_ms: samples.last().map_or(0.0, |s: &Sample| s.time_ms),
        samples,
        core_s,
        peak_mib: memory_mib("VmHWM"),
        start_mib,
        note: String::new(),
    }]
}

/// An overhand knot in an ever thinner thread.
#[derive(Debug, Clone, Copy, Serialize)]
pub(crate) struct SlenderKnot {
    pub(crate) radius_mm: f64,
    pub(crate) slenderness: f64,
    /// Pull over that of the law.
    pub(crate) ratio: f64,
}

/// The law of the loose overhand knot is of leading order in slenderness: how the pull comes to it as the thread gets thin.
/// Segments shrink as the stretch of thread does in which the strands touch, with the root of the thread's radius.
pub(crate) fn slender_knots() -> Vec<SlenderKnot> {
    let knot = |radius_mm: f64| {
        let segment_mm = task::KNOT_SEGMENT * (radius_mm / GUT.radius).sqrt();
        let task = task::overhand(radius_mm, segment_mm);
        let (ratio, slenderness) = runs(&task).first().and_then(|run| law::overhand_ratio(&task, run))?;
        Some(SlenderKnot { radius_mm, slenderness, ratio })
    };
    [GUT.radius, 0.05, 0.025].into_iter().filter_map(knot).collect()
}
