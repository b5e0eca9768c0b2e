//! What the tasks are judged by, and how a run is judged.

use crate::run::{Run, Sample};
use crate::task::{CAPSTAN_HELD_MS, DRUM_RATIO, END_LOAD_MN, Kind, SETTLED_MS, SLACK_MN, Task, Thread};
use knotwright::math::{DVec3, ln};
use knotwright::topology::closure::identify_closed;
use std::f64::consts::PI;

/// Euler and Eytelwein's belt, exp(mu phi), for a thread of finite thickness: friction acts on its surface, so that its
/// couple bends the thread; mu h l^2 + R l = mu rho with thread radius h, drum radius rho and R = rho + h, from the balance
/// of forces and moments at constant curvature. A hundred radii take 1 % off the belt's exponent.
pub(crate) fn capstan_exponent(radius_ratio: f64, friction: f64, angle: f64) -> f64 {
    let centreline = radius_ratio + 1.0;
    let root = (centreline * centreline + 4.0 * friction * friction * radius_ratio).sqrt();
    (root - centreline) / (2.0 * friction) * angle
}

/// Pull on the ends of a loose overhand knot that is being tightened [mN], by its loop's radius R [mm]:
/// F h^2 / B = eps^4 / 2 + mu sigma eps^3, sigma = 0.492, eps = sqrt(h / R) with the thread's radius h.
///
/// Source: Audoly, Clauvelin, Neukirch 2007, Elastic knots, Phys. Rev. Lett. 99:164301. It is of leading order in eps.
pub(crate) fn overhand_force(thread: &Thread, radius_mm: f64) -> f64 {
    let slenderness = slenderness(thread, radius_mm);
    let cube = slenderness * slenderness * slenderness;
    let scale = thread.bending_stiffness_mn_mm2 / (thread.radius_mm * thread.radius_mm);
    scale * (0.5 * cube * slenderness + 0.492 * thread.friction * cube)
}

fn slenderness(thread: &Thread, radius_mm: f64) -> f64 {
    (thread.radius_mm / radius_mm).sqrt()
}

/// What a run came to.
#[derive(Debug, Clone, Default, serde::Serialize)]
pub(crate) struct Verdict {
    /// Deviation from the law [%].
    pub(crate) error_percent: Option<f64>,
    /// Motion under a load that should be held [um/s].
    pub(crate) creep_um_per_s: Option<f64>,
    /// Why there is no number.
    pub(crate) failure: Option<String>,
}

/// Judges a run by the law of its task.
pub(crate) fn judge(task: &Task, run: &Run) -> Verdict {
    if let Some(failure) = failure(task, run) {
        return Verdict { failure: Some(failure), ..Verdict::default() };
    }
    let (error_percent, creep_um_per_s) = match task.kind {
        Kind::EndLoad => (end_load(task, run), creep(task, run, (0.75 * task.duration_ms(), task.duration_ms()))),
        Kind::Capstan => (capstan(task, run), slack_creep(task, run)),
        Kind::Overhand => (overhand_ratio(task, run).map(|(ratio, _)| percent(ratio, 1.0)), None),
        Kind::Hold => (None, creep(task, run, (SETTLED_MS, task.duration_ms()))),
    };
    Verdict { error_percent, creep_um_per_s, failure: None }
}

fn failure(task: &Task, run: &Run) -> Option<String> {
    let broken = |p: &DVec3| !p.is_finite() || p.length() > 1e4;
    let Some(last) = run.samples.last() else { return Some(run.note.clone()) };
    if run.samples.iter().any(|s| s.points_mm.iter().any(broken)) {
        return Some("blew up".to_owned());
    }
    if task.touches_itself && determinant(task, last) != Some(3) {
        return Some("passed through itself: no overhand knot any more".to_owned());
    }
    None
}

/// Determinant of the knot that the thread makes, led on from both ends and closed far away; an overhand knot's is 3.
fn determinant(task: &Task, sample: &Sample) -> Option<i64> {
    let points = &sample.points_mm;
    let (first, last) = (points[0], points[points.len() - 1]);
    let mut ring = points.clone();
    ring.extend([last + task.way * 200.0, DVec3::new(0.0, 0.0, 400.0), first - task.way * 200.0]);
    identify_closed(&ring).map(|knot| knot.determinant)
}

fn percent(found: f64, law: f64) -> f64 {
    100.0 * (found / law - 1.0)
}

/// Hooke: strain is load over EA.
fn end_load(task: &Task, run: &Run) -> Option<f64> {
    let sample = run.complete(task)?;
    let length = task.segment_mm * task.last() as f64;
    let strain = (sample.points_mm[task.last()] - sample.points_mm[0]).dot(task.way) / length - 1.0;
    Some(percent(strain, END_LOAD_MN / task.thread.axial_stiffness_mn))
}

/// The wrap slides when the slack end has followed so far, about a thread's diameter [mm].
const SLID: f64 = 0.2;

/// The exponent at which the slack end has followed.
fn capstan(task: &Task, run: &Run) -> Option<f64> {
    let exponent = capstan_exponent(DRUM_RATIO, task.thread.friction, PI);
    let settled = task.pull[1].0;
    let start = run.samples.iter().find(|s| s.time_ms > settled - 1e-6)?;
    let along = task.first_load_mn?.normalize();
    let slid = |s: &&Sample| s.time_ms > settled && (start.points_mm[0] - s.points_mm[0]).dot(along) > SLID;
    match run.samples.iter().find(slid) {
        Some(sample) => Some(percent(ln(task.pull_mn(sample.time_ms) / SLACK_MN), exponent)),
        None => run.complete(task).map(|_| percent(1.3, 1.0)),
    }
}

/// How fast the slack end follows while the wrap should hold.
fn slack_creep(task: &Task, run: &Run) -> Option<f64> {
    speed(task, run, CAPSTAN_HELD_MS, |sample| sample.points_mm[0])
}

/// How fast the pulled end goes on under a load that does not change.
fn creep(task: &Task, run: &Run, between_ms: (f64, f64)) -> Option<f64> {
    speed(task, run, between_ms, |sample| sample.points_mm[sample.points_mm.len() - 1])
}

fn speed(task: &Task, run: &Run, between_ms: (f64, f64), place: impl Fn(&Sample) -> DVec3) -> Option<f64> {
    let within = |s: &&Sample| s.time_ms >= between_ms.0 - 1e-6 && s.time_ms <= between_ms.1 + 1e-6;
    let held: Vec<&Sample> = run.samples.iter().filter(within).collect();
    let (first, last) = (held.first()?, held.last()?);
    // A stopped run shows creep only if it has held for some time.
    if last.time_ms - first.time_ms < 0.2 * (between_ms.1 - between_ms.0).min(task.duration_ms()) {
        return None;
    }
    let seconds = 1e-3 * run.pace * (last.time_ms - first.time_ms);
    Some(1e3 * place(first).distance(place(last)) / seconds)
}

/// Pull over that of the law for the loop's radius, and slenderness; means over the second half of the tightening.
pub(crate) fn overhand_ratio(task: &Task, run: &Run) -> Option<(f64, f64)> {
    run.complete(task)?;
    let late: Vec<&Sample> = run.samples.iter().filter(|s| s.time_ms > 0.5 * task.duration_ms()).collect();
    let mean = |value: &dyn Fn(&Sample) -> f64| late.iter().map(|s| value(s)).sum::<f64>() / late.len() as f64;
    let ratio = |s: &Sample| task.pull_mn(s.time_ms) / overhand_force(&task.thread, loop_radius(task, s));
    Some((mean(&ratio), mean(&|s| slenderness(&task.thread, loop_radius(task, s)))))
}

/// The loop's radius by what the knot takes off the distance of the ends, 2 pi R to leading order [mm].
fn loop_radius(task: &Task, sample: &Sample) -> f64 {
    let points = &sample.points_mm;
    (task.segment_mm * task.last() as f64 - points[0].distance(points[task.last()])) / (2.0 * PI)
}
