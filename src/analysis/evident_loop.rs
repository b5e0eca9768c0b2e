//! Which part of a thread is its loop through the tissue, where nobody has marked it.
//!
//! Seen from any side, a crossing of the knot has one limb on either side of the loop. A place on the thread is the
//! more likely to lie in the loop the more crossings it parts so; the loop is the stretch that parts nearly as many
//! as any.

use crate::math::DVec3;
use crate::topology::Shadow;
use crate::topology::closure::Directions;

/// Sides from which the crossings are counted.
const VIEWS: usize = 32;
/// Stretches that part this share of the most crossings parted anywhere could be the loop: two knots on one thread have
/// two of them with less between. Our choice.
const COULD_BE: f64 = 0.5;
/// The loop reaches from the first to the last place that parts at most so many crossings a view less than the most: a
/// half hitch's strand crosses itself where it turns, and parts one more there than the loop does. Our choice.
const FEWER: f64 = 1.5;
/// How far in from the loop's ends the holes are put, as a share of its length: a limb is to have some thread on the
/// tissue's side of the knot. Our choice.
const HOLE_INSET: f64 = 0.2;

/// Indices of the points at which the loop begins and ends; a thread that crosses itself nowhere has it in its middle.
///
/// # Errors
/// Why the loop is not evident, in words.
pub fn evident_loop(points: &[DVec3]) -> Result<(usize, usize), String> {
    let edge_count = points.len().saturating_sub(1);
    if edge_count < 3 {
        return Err(format!("the thread is of {} points, too few to have a loop", points.len()));
    }
    let parted = crossings_parted(points);
    let most = parted.iter().copied().max().unwrap_or(0);
    if most == 0 {
        return Ok((edge_count / 3, edge_count - edge_count / 3));
    }
    let most = f64::from(most);
    if let [(a, b), (c, d), ..] = stretches(&parted, COULD_BE * most)[..] {
        return Err(format!(
            "points {a} to {b} and {c} to {d} could both be the loop through the tissue: mark its ends"
        ));
    }
    let best = stretches(&parted, (most - FEWER * VIEWS as f64).max(COULD_BE * most));
    let (from, to) = (best[0].0, best[best.len() - 1].1);
    let along = lengths_along(points);
    let inset = HOLE_INSET * (along[to] - along[from]);
    let at = |wanted: f64| along.partition_point(|&length| length < wanted).min(edge_count);
    let (start, end) = (at(along[from] + inset), at(along[to] - inset));
    Ok((start.min(end), end.max(start)))
}

/// For each edge, how many crossings, seen from all sides, have a strand on either side of it.
fn crossings_parted(points: &[DVec3]) -> Vec<u32> {
    let mut steps = vec![0_i64; points.len()];
    for toward in Directions::seeded(2).take(VIEWS) {
        for crossing in Shadow::cast(points, toward).crossings() {
            let (low, high) = (crossing.over.min(crossing.under), crossing.over.max(crossing.under));
            steps[edge(low) + 1] += 1;
            steps[edge(high)] -= 1;
        }
    }
    let running = steps.iter().scan(0_i64, |sum, step| {
        *sum += step;
        Some(u32::try_from(*sum).unwrap_or(0))
    });
    running.take(points.len() - 1).collect()
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "places are small and not negative")]
fn edge(place: f64) -> usize {
    place as usize
}

/// Stretches of edges that part at least so many crossings, as the points at their ends.
fn stretches(parted: &[u32], least: f64) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for (edge, _) in parted.iter().enumerate().filter(|&(_, &count)| f64::from(count) >= least) {
        match found.last_mut() {
            Some(stretch) if stretch.1 == edge => stretch.1 = edge + 1,
            _ => found.push((edge, edge + 1)),
        }
    }
    found
}

/// Thread from the first point to each [mm].
fn lengths_along(points: &[DVec3]) -> Vec<f64> {
    let mut along = vec![0.0];
    for pair in points.windows(2) {
        along.push(along[along.len() - 1] + pair[0].distance(pair[1]));
    }
    along
}
