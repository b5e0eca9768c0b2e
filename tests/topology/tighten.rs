//! Draws a stitch tight: the limbs shorten like rubber bands and may not come nearer to each other than the thread is
//! thick. No mechanics of thread: it only makes tight knots out of loose ones without passing strand through strand.

use knotwright::analysis::reading::StitchCurve;
use knotwright::math::DVec3;

use super::stacks::resample;

/// The tightened stitch. The tissue loop and the limbs' ends stay where they are.
///
/// # Panics
/// If two strands come nearer than half a `diameter` [mm]: then they may have passed through each other.
pub(super) fn tightened(curve: &StitchCurve, diameter: f64, round_count: usize) -> StitchCurve {
    let spacing = curve.points[0].distance(curve.points[1]);
    let mut curve = curve.clone();
    for _ in 0..round_count {
        let near = near_pairs(&curve, diameter);
        for _ in 0..5 {
            shorten(&mut curve, 0.1 * diameter);
            let mut nearest = 0.0;
            for _ in 0..8 {
                nearest = separate(&mut curve, &near, diameter);
            }
            assert!(nearest > 0.5 * diameter, "two strands are {nearest} mm apart at a diameter of {diameter} mm");
        }
        curve = respaced(&curve, spacing);
    }
    curve
}

fn is_free(curve: &StitchCurve, index: usize) -> bool {
    let in_tissue = (curve.loop_start..=curve.loop_end).contains(&index);
    index > 0 && index < curve.points.len() - 1 && !in_tissue
}

/// Each free point moves toward the middle of its neighbours, by at most `step` [mm].
fn shorten(curve: &mut StitchCurve, step: f64) {
    let old = curve.points.clone();
    for index in 1..old.len() - 1 {
        if !is_free(curve, index) {
            continue;
        }
        let wish = 0.4 * (0.5 * (old[index - 1] + old[index + 1]) - old[index]);
        curve.points[index] += wish * (step / wish.length()).min(1.0);
    }
}

/// Pairs of segments that may come within a diameter of each other before the list is made anew.
fn near_pairs(curve: &StitchCurve, diameter: f64) -> Vec<(usize, usize)> {
    let segment_count = curve.points.len() - 1;
    let spacing = curve.points[0].distance(curve.points[1]);
    // A bend of the thread on itself needs about half a circle of centreline.
    let mut apart = 3;
    while (apart as f64) * spacing < 2.0 * diameter {
        apart += 1;
    }
    let middle = |i: usize| 0.5 * (curve.points[i] + curve.points[i + 1]);
    let reach = 1.5 * spacing + 3.0 * diameter;
    let pairs = (0..segment_count).flat_map(|i| (i + apart..segment_count).map(move |j| (i, j)));
    pairs.filter(|&(i, j)| middle(i).distance_squared(middle(j)) < reach * reach).collect()
}

/// Pushes segments that are too near apart; returns the least distance found before the push.
fn separate(curve: &mut StitchCurve, pairs: &[(usize, usize)], diameter: f64) -> f64 {
    let mut nearest = f64::INFINITY;
    for &(i, j) in pairs {
        let [p0, p1, q0, q1] = [i, i + 1, j, j + 1].map(|k| curve.points[k]);
        let (on_p, on_q) = closest_parts(p0, p1, q0, q1);
        let gap = p0.lerp(p1, on_p) - q0.lerp(q1, on_q);
        let distance = gap.length();
        nearest = nearest.min(distance);
        if distance >= diameter || distance == 0.0 {
            continue;
        }
        let push = 0.5 * (diameter - distance) / distance * gap;
        let shares = [(i, 1.0 - on_p, 1.0), (i + 1, on_p, 1.0), (j, 1.0 - on_q, -1.0), (j + 1, on_q, -1.0)];
        for (index, share, sign) in shares {
            if is_free(curve, index) {
                curve.points[index] += sign * share * push;
            }
        }
    }
    nearest
}

/// Where two segments are nearest, as parts of each (Ericson 2005, Real-Time Collision Detection, section 5.1.9).
pub(super) fn closest_parts(p0: DVec3, p1: DVec3, q0: DVec3, q1: DVec3) -> (f64, f64) {
    let (p, q, gap) = (p1 - p0, q1 - q0, p0 - q0);
    let (pp, qq, pq, pg, qg) = (p.dot(p), q.dot(q), p.dot(q), p.dot(gap), q.dot(gap));
    let area = pp * qq - pq * pq;
    let on_p = if area > 0.0 { ((pq * qg - pg * qq) / area).clamp(0.0, 1.0) } else { 0.0 };
    let on_q = ((pq * on_p + qg) / qq).clamp(0.0, 1.0);
    (((pq * on_q - pg) / pp).clamp(0.0, 1.0), on_q)
}

fn respaced(curve: &StitchCurve, spacing: f64) -> StitchCurve {
    let mut points = resample(&curve.points[..=curve.loop_start], spacing);
    let loop_start = points.len() - 1;
    points.extend_from_slice(&curve.points[curve.loop_start + 1..curve.loop_end]);
    let loop_end = points.len();
    points.extend(resample(&curve.points[curve.loop_end..], spacing));
    StitchCurve { points, loop_start, loop_end }
}
