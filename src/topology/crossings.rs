//! Where a flat polyline crosses itself or a straight line.
//!
//! Most of a thread is far from most of it. Its segments are taken in runs of a few in a row, and what lies within
//! rectangles that do not overlap is passed over at once.

use crate::math::DVec2;

/// Segments in a run. Our choice by measurement: with 5 or 12 a reading costs more.
const RUN: usize = 8;

/// Two places of the polyline that lie behind one another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// Place of the strand nearer to the viewer, as a fractional point index.
    pub over: f64,
    /// Place of the strand farther from the viewer, as a fractional point index.
    pub under: f64,
    /// +1 if the nearer strand's direction turns counterclockwise into the other's, -1 if clockwise.
    pub sign: i8,
}

/// A place where a straight line passes over the polyline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct JoiningCrossing {
    /// How far along the line, as a part of it.
    pub(super) along: f64,
    /// Place of the polyline, as a fractional point index.
    pub(super) under: f64,
    /// +1 if the line's direction turns counterclockwise into the polyline's, -1 if clockwise.
    pub(super) sign: i8,
}

/// A polyline in the plane.
#[derive(Debug, Clone)]
pub(super) struct FlatLine {
    points: Vec<DVec2>,
    /// What each run of segments lies within.
    runs: Vec<Rectangle>,
    /// What each segment lies within.
    segments: Vec<Rectangle>,
}

#[derive(Debug, Clone, Copy)]
struct Rectangle {
    low: DVec2,
    high: DVec2,
}

impl Rectangle {
    fn around(a: DVec2, b: DVec2) -> Self {
        Self { low: a.min(b), high: a.max(b) }
    }

    fn overlaps(&self, other: &Self) -> bool {
        self.low.x <= other.high.x
            && other.low.x <= self.high.x
            && self.low.y <= other.high.y
            && other.low.y <= self.high.y
    }
}

impl FlatLine {
    pub(super) fn new(points: Vec<DVec2>) -> Self {
        let segments: Vec<Rectangle> = points.windows(2).map(|ends| Rectangle::around(ends[0], ends[1])).collect();
        let joined = |a: Rectangle, b: &Rectangle| Rectangle { low: a.low.min(b.low), high: a.high.max(b.high) };
        let runs = segments.chunks(RUN).map(|run| run[1..].iter().fold(run[0], joined)).collect();
        Self { points, runs, segments }
    }

    pub(super) fn segment_count(&self) -> usize {
        self.segments.len()
    }

    /// Point at a fractional index.
    pub(super) fn at(&self, place: f64) -> DVec2 {
        let index = index_below(place).min(self.points.len() - 1);
        let next = (index + 1).min(self.points.len() - 1);
        self.points[index].lerp(self.points[next], place - index as f64)
    }

    /// Every meeting of two segments that are not neighbours. `heights`: toward the viewer, shape `[point_count]`;
    /// `closed`: whether the last segment is the first one's neighbour.
    pub(super) fn crossings(&self, heights: &[f64], closed: bool) -> Vec<Crossing> {
        let last = self.segment_count().saturating_sub(1);
        let mut crossings = Vec::new();
        for (number, run) in self.runs.iter().enumerate() {
            for (other_number, other) in self.runs.iter().enumerate().skip(number) {
                if !run.overlaps(other) {
                    continue;
                }
                for i in self.segments_of(number) {
                    let segment = &self.segments[i];
                    if !segment.overlaps(other) {
                        continue;
                    }
                    let others = self.segments_of(other_number);
                    // Neighbours share a point.
                    let start = others.start.max(i + 2).min(others.end);
                    for (j, other) in (start..).zip(&self.segments[start..others.end]) {
                        if segment.overlaps(other) && !(closed && i == 0 && j == last) {
                            crossings.extend(self.crossing(heights, i, j));
                        }
                    }
                }
            }
        }
        crossings
    }

    fn crossing(&self, heights: &[f64], i: usize, j: usize) -> Option<Crossing> {
        // At the same height the one that begins farther to the right is nearer.
        let (i, j) = if self.segments[j].low.x < self.segments[i].low.x { (j, i) } else { (i, j) };
        let along = |k: usize| self.points[k + 1] - self.points[k];
        let (part_i, part_j) = meet(self.points[i], along(i), self.points[j], along(j))?;
        let height = |k: usize, part: f64| heights[k] + part * (heights[k + 1] - heights[k]);
        let (place_i, place_j) = (i as f64 + part_i, j as f64 + part_j);
        let counterclockwise = along(i).perp_dot(along(j)) > 0.0;
        Some(if height(i, part_i) > height(j, part_j) {
            Crossing { over: place_i, under: place_j, sign: if counterclockwise { 1 } else { -1 } }
        } else {
            Crossing { over: place_j, under: place_i, sign: if counterclockwise { -1 } else { 1 } }
        })
    }

    /// Where the straight line from place `to` back to place `from` passes over the stretch between them, in the order of
    /// the places below.
    pub(super) fn joining_line(&self, from: f64, to: f64) -> Vec<JoiningCrossing> {
        let (start, end) = (self.at(to), self.at(from));
        let line = end - start;
        let side = |point: DVec2| line.perp_dot(point - start);
        // On a rectangle the side is least and greatest at corners, and rounding does not change that.
        let beside = |&Rectangle { low, high }: &Rectangle| {
            let (x_least, x_greatest) = if line.y > 0.0 { (high.x, low.x) } else { (low.x, high.x) };
            let (y_least, y_greatest) = if line.x > 0.0 { (low.y, high.y) } else { (high.y, low.y) };
            side(DVec2::new(x_least, y_least)) > 0.0 || side(DVec2::new(x_greatest, y_greatest)) < 0.0
        };
        let mut found = Vec::new();
        let (first, last) = (index_below(from), index_below(to));
        for number in first / RUN..self.runs.len().min(last / RUN + 1) {
            if beside(&self.runs[number]) {
                continue;
            }
            let segments = self.segments_of(number);
            let segments = segments.start.max(first)..segments.end.min(last + 1);
            let mut side_next = side(self.points[segments.start]);
            for (segment, ends) in segments.clone().zip(self.points[segments.start..].windows(2)) {
                let (a, b) = (ends[0], ends[1]);
                let side_here = side_next;
                side_next = side(b);
                if side_here * side_next > 0.0 {
                    continue;
                }
                let Some((along, part)) = meet(start, line, a, b - a) else { continue };
                let under = segment as f64 + part;
                // The line starts and ends on the stretch itself: that touch is no crossing.
                if under <= from + TOUCH || under >= to - TOUCH {
                    continue;
                }
                found.push(JoiningCrossing { along, under, sign: if line.perp_dot(b - a) > 0.0 { 1 } else { -1 } });
            }
        }
        found
    }

    fn segments_of(&self, run: usize) -> core::ops::Range<usize> {
        RUN * run..self.segments.len().min(RUN * (run + 1))
    }
}

/// How near to a stretch's end (in parts of a segment) the joining line's own start is looked for: rounding is 1e-12.
const TOUCH: f64 = 1e-9;

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "places are small and not negative")]
fn index_below(place: f64) -> usize {
    place.max(0.0) as usize
}

/// Parts of two segments (start, direction) at which they meet, each in 0..1 without 1.
fn meet(p: DVec2, p_along: DVec2, q: DVec2, q_along: DVec2) -> Option<(f64, f64)> {
    let area = p_along.perp_dot(q_along);
    if area == 0.0 {
        return None;
    }
    let gap = q - p;
    let (on_p, on_q) = (gap.perp_dot(q_along) / area, gap.perp_dot(p_along) / area);
    let inside = |part: f64| (0.0..1.0).contains(&part);
    (inside(on_p) && inside(on_q)).then_some((on_p, on_q))
}

#[cfg(test)]
mod tests {
    use super::super::closure::Directions;
    use super::*;

    /// A walk at random, its heights, and the pairs of segments that cross.
    fn walk(seed: u64) -> (FlatLine, Vec<f64>, Vec<(usize, usize)>) {
        let steps = Directions::seeded(seed).take(150);
        let points = steps.scan(crate::math::DVec3::ZERO, |at, step| {
            *at += step;
            Some(*at)
        });
        let (flat, heights): (Vec<DVec2>, Vec<f64>) = points.map(|p| (DVec2::new(p.x, p.y), p.z)).unzip();
        let along = |i: usize| flat[i + 1] - flat[i];
        let pairs = (0..flat.len() - 1).flat_map(|i| (i + 2..flat.len() - 1).map(move |j| (i, j)));
        let crossing = pairs.filter(|&(i, j)| meet(flat[i], along(i), flat[j], along(j)).is_some()).collect();
        (FlatLine::new(flat), heights, crossing)
    }

    #[test]
    fn no_crossing_is_missed_by_looking_at_runs() {
        for seed in 0..20 {
            let (line, heights, expected) = walk(seed);
            let segments = |c: Crossing| (index_below(c.over.min(c.under)), index_below(c.over.max(c.under)));
            let mut found: Vec<_> = line.crossings(&heights, false).into_iter().map(segments).collect();
            found.sort_unstable();
            assert!(!expected.is_empty());
            assert_eq!(found, expected, "seed {seed}");
        }
    }

    #[test]
    fn no_passage_of_the_joining_line_is_missed_by_looking_at_runs() {
        for seed in 0..20 {
            let (line, _, _) = walk(seed);
            for (from, to) in [(0.0, 149.0), (3.3, 120.9), (40.5, 41.2), (64.0, 96.0)] {
                let (start, end) = (line.at(to), line.at(from));
                let meets = |i: usize| {
                    let (a, b) = (line.points[i], line.points[i + 1]);
                    let part = meet(start, end - start, a, b - a)?.1;
                    let place = i as f64 + part;
                    (from + TOUCH < place && place < to - TOUCH).then_some(place)
                };
                let expected: Vec<f64> = (0..line.segment_count()).filter_map(meets).collect();
                let found: Vec<f64> = line.joining_line(from, to).iter().map(|crossing| crossing.under).collect();
                assert_eq!(found, expected, "seed {seed}, {from} to {to}");
            }
        }
    }
}
