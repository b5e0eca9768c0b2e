//! A polyline seen from one direction: its crossings, and diagrams of any stretch of it.

use crate::math::{DVec2, DVec3, across};

use super::diagram::{Diagram, Visit};

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

/// An open polyline projected on a plane.
#[derive(Debug, Clone)]
pub struct Shadow {
    flat: Vec<DVec2>,
    crossings: Vec<Crossing>,
    /// Where the polyline passes crossings, from its start to its end: place, number of the crossing, whether over.
    passages: Vec<(f64, usize, bool)>,
}

impl Shadow {
    /// Projects `points` [mm] for a viewer who stands far off in the direction `toward` (any length but 0).
    ///
    /// # Panics
    /// If `toward` has no length.
    #[must_use]
    pub fn cast(points: &[DVec3], toward: DVec3) -> Self {
        let toward = toward.try_normalize().expect("the viewer stands somewhere");
        let right = across(toward);
        let up = toward.cross(right);
        let flat: Vec<DVec2> = points.iter().map(|p| DVec2::new(p.dot(right), p.dot(up))).collect();
        let heights: Vec<f64> = points.iter().map(|p| p.dot(toward)).collect();
        let closed = points.len() > 2 && points.first() == points.last();
        let crossings = find_crossings(&flat, &heights, closed);
        let both = |(number, c): (usize, &Crossing)| [(c.over, number, true), (c.under, number, false)];
        let mut passages: Vec<_> = crossings.iter().enumerate().flat_map(both).collect();
        passages.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        Self { flat, crossings, passages }
    }

    /// The crossings of the whole polyline, in no particular order.
    #[must_use]
    pub fn crossings(&self) -> &[Crossing] {
        &self.crossings
    }

    /// The last place of the polyline, as a fractional point index.
    #[must_use]
    pub fn end(&self) -> f64 {
        self.flat.len().saturating_sub(1) as f64
    }

    /// Diagram of the stretch between two places (fractional point indices, `from <= to`), closed toward the viewer.
    ///
    /// Both ends are led straight to the viewer and joined there, so the joining line passes over everything.
    #[must_use]
    pub fn close_over(&self, from: f64, to: f64) -> Diagram {
        let mut places: Vec<(f64, Visit)> = Vec::with_capacity(2 * self.crossings.len() + 16);
        let mut signs = Vec::with_capacity(self.crossings.len() + 8);
        let within = |place: f64| from <= place && place <= to;
        let mut new_number = vec![None; self.crossings.len()];
        for &(place, number, over) in self.passages.iter().filter(|passage| within(passage.0)) {
            let crossing = self.crossings[number];
            if !(within(crossing.over) && within(crossing.under)) {
                continue;
            }
            let crossing = *new_number[number].get_or_insert_with(|| {
                signs.push(crossing.sign);
                signs.len() - 1
            });
            places.push((place, Visit { crossing, over }));
        }
        for (along, under, sign) in self.joining_line_crossings(from, to) {
            places.push((to + 1.0 + along, Visit { crossing: signs.len(), over: true }));
            places.push((under, Visit { crossing: signs.len(), over: false }));
            signs.push(sign);
        }
        // The stable sort is quick here: all but the joining line's places are in order.
        places.sort_by(|a, b| a.0.total_cmp(&b.0));
        Diagram::new(places.into_iter().map(|(_, visit)| visit).collect(), signs)
    }

    /// Where the straight line from `to` back to `from` passes over the stretch: (part of the line, place below, sign).
    fn joining_line_crossings(&self, from: f64, to: f64) -> Vec<(f64, f64, i8)> {
        let (line_start, line_end) = (self.at(to), self.at(from));
        let line = line_end - line_start;
        let mut found = Vec::new();
        let (first, last) = (index_below(from), index_below(to));
        let side = |point: DVec2| line.perp_dot(point - line_start);
        let mut side_next = side(self.flat[first]);
        for segment in first..=last.min(self.flat.len().saturating_sub(2)) {
            let (a, b) = (self.flat[segment], self.flat[segment + 1]);
            let side_here = side_next;
            side_next = side(b);
            if side_here * side_next > 0.0 {
                continue;
            }
            let Some((along, part)) = meet(line_start, line, a, b - a) else { continue };
            let under = segment as f64 + part;
            // The line starts and ends on the stretch itself: that touch is no crossing.
            if under <= from + TOUCH || under >= to - TOUCH {
                continue;
            }
            found.push((along, under, if line.perp_dot(b - a) > 0.0 { 1 } else { -1 }));
        }
        found
    }

    fn at(&self, place: f64) -> DVec2 {
        let index = index_below(place).min(self.flat.len() - 1);
        let next = (index + 1).min(self.flat.len() - 1);
        self.flat[index].lerp(self.flat[next], place - index as f64)
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

/// Every meeting of two segments that are not neighbours, by a sweep over the first coordinate.
fn find_crossings(flat: &[DVec2], heights: &[f64], closed: bool) -> Vec<Crossing> {
    let segment_count = flat.len().saturating_sub(1);
    let mut order: Vec<(f64, usize)> = flat.windows(2).map(|ends| ends[0].x.min(ends[1].x)).zip(0..).collect();
    // The stable sort is quick here: a thread runs a long way to the right before it turns.
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut crossings = Vec::new();
    for (position, &(_, i)) in order.iter().enumerate() {
        let (low, high) = (flat[i].min(flat[i + 1]), flat[i].max(flat[i + 1]));
        for &(_, j) in order[position + 1..].iter().take_while(|(left, _)| *left <= high.x) {
            let (y0, y1) = (flat[j].y, flat[j + 1].y);
            let share_a_point = i.abs_diff(j) < 2 || (closed && i.abs_diff(j) == segment_count - 1);
            if share_a_point || y0.min(y1) > high.y || y0.max(y1) < low.y {
                continue;
            }
            let (along_i, along_j) = (flat[i + 1] - flat[i], flat[j + 1] - flat[j]);
            let Some((part_i, part_j)) = meet(flat[i], along_i, flat[j], along_j) else { continue };
            let height = |k: usize, part: f64| heights[k] + part * (heights[k + 1] - heights[k]);
            let (place_i, place_j) = (i as f64 + part_i, j as f64 + part_j);
            let counterclockwise = along_i.perp_dot(along_j) > 0.0;
            crossings.push(if height(i, part_i) > height(j, part_j) {
                Crossing { over: place_i, under: place_j, sign: if counterclockwise { 1 } else { -1 } }
            } else {
                Crossing { over: place_j, under: place_i, sign: if counterclockwise { -1 } else { 1 } }
            });
        }
    }
    crossings
}
