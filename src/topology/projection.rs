//! A polyline seen from one direction: its crossings, and diagrams of any stretch of it.

use core::ops::Range;

use crate::math::{DVec2, DVec3, across};

pub use super::crossings::Crossing;
use super::crossings::FlatLine;
use super::diagram::{Diagram, Visit};

/// An open polyline projected on a plane.
#[derive(Debug, Clone)]
pub struct Shadow {
    line: FlatLine,
    crossings: Vec<Crossing>,
    /// Where the polyline passes crossings, from its start to its end.
    passages: Vec<Passage>,
}

/// One passage of the polyline through a crossing.
#[derive(Debug, Clone, Copy)]
struct Passage {
    /// Fractional point index.
    place: f64,
    /// Where the same crossing is passed on the other level.
    other: f64,
    crossing: usize,
    over: bool,
    /// The crossing's.
    sign: i8,
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
        let line = FlatLine::new(points.iter().map(|p| DVec2::new(p.dot(right), p.dot(up))).collect());
        let heights: Vec<f64> = points.iter().map(|p| p.dot(toward)).collect();
        let closed = points.len() > 2 && points.first() == points.last();
        let crossings = line.crossings(&heights, closed);
        let both = |(crossing, c): (usize, &Crossing)| {
            let Crossing { over, under, sign } = *c;
            [
                Passage { place: over, other: under, crossing, over: true, sign },
                Passage { place: under, other: over, crossing, over: false, sign },
            ]
        };
        let mut passages: Vec<Passage> = crossings.iter().enumerate().flat_map(both).collect();
        passages.sort_unstable_by(|a, b| a.place.total_cmp(&b.place));
        Self { line, crossings, passages }
    }

    /// The crossings of the whole polyline, in no particular order.
    #[must_use]
    pub fn crossings(&self) -> &[Crossing] {
        &self.crossings
    }

    /// The places where the polyline passes crossings, over or under, ascending.
    pub fn places(&self) -> impl DoubleEndedIterator<Item = f64> {
        self.passages.iter().map(|passage| passage.place)
    }

    /// The last place of the polyline, as a fractional point index.
    #[must_use]
    pub fn end(&self) -> f64 {
        self.line.segment_count() as f64
    }

    /// Diagram of the stretch between two places (fractional point indices, `from <= to`), closed toward the viewer.
    ///
    /// Both ends are led straight to the viewer and joined there, so the joining line passes over everything. Crossings
    /// are numbered in the order in which they are first passed.
    #[must_use]
    pub fn close_over(&self, from: f64, to: f64) -> Diagram {
        let joining = self.line.joining_line(from, to);
        let crossing_count = self.crossings.len();
        let within = self.passages_within(from, to);
        let most = within.len() + 2 * joining.len();
        let mut diagram = Diagram { visits: Vec::with_capacity(most), signs: Vec::with_capacity(most / 2 + 1) };
        let mut numbers = vec![None; crossing_count + joining.len()];
        let mut pass = |crossing: usize, over: bool, sign: i8| {
            let number = *numbers[crossing].get_or_insert_with(|| {
                diagram.signs.push(sign);
                diagram.signs.len() - 1
            });
            diagram.visits.push(Visit { crossing: number, over });
        };
        // The joining line's crossings come after the polyline's own.
        let mut below = 0;
        for passage in &self.passages[within] {
            if passage.other < from || to < passage.other {
                continue;
            }
            while below < joining.len() && joining[below].under < passage.place {
                pass(crossing_count + below, false, joining[below].sign);
                below += 1;
            }
            pass(passage.crossing, passage.over, passage.sign);
        }
        for (below, crossing) in joining.iter().enumerate().skip(below) {
            pass(crossing_count + below, false, crossing.sign);
        }
        let mut along: Vec<usize> = (0..joining.len()).collect();
        along.sort_by(|&a, &b| joining[a].along.total_cmp(&joining[b].along));
        for line in along {
            pass(crossing_count + line, true, joining[line].sign);
        }
        diagram
    }

    /// The passages of such a stretch without those from which it can be drawn back at either end.
    ///
    /// An end that passes over all it crosses, and is then led to the viewer, is drawn back without touching anything. The
    /// knot stays the same up to where the end would have to come out from below.
    pub(super) fn held(&self, from: f64, to: f64) -> Range<usize> {
        let Range { mut start, mut end } = self.passages_within(from, to);
        while start < end {
            let (first, last) = (self.passages[start].place, self.passages[end - 1].place);
            let held = |passage: &Passage| !passage.over && first <= passage.other && passage.other <= last;
            if !held(&self.passages[start]) {
                start += 1;
            } else if !held(&self.passages[end - 1]) {
                end -= 1;
            } else {
                break;
            }
        }
        start..end
    }

    /// [`Shadow::close_over`] of a stretch with these passages alone.
    pub(super) fn close_held(&self, held: Range<usize>) -> Diagram {
        let place = |number: usize| self.passages.get(number).map_or(self.end(), |passage| passage.place);
        let before = |number: usize| number.checked_sub(1).map_or(0.0, place).midpoint(place(number));
        self.close_over(before(held.start), before(held.end))
    }

    fn passages_within(&self, from: f64, to: f64) -> Range<usize> {
        let before = self.passages.partition_point(|passage| passage.place < from);
        before..self.passages.partition_point(|passage| passage.place <= to).max(before)
    }
}

#[cfg(test)]
mod tests {
    use super::super::alexander::fingerprint;
    use super::super::closure::Directions;
    use super::*;

    #[test]
    fn what_is_not_held_can_be_drawn_back_without_changing_the_knot() {
        let (mut knotted, mut drawn_back) = (0, 0);
        for seed in 0..80 {
            let steps = Directions::seeded(seed).take(60);
            let points: Vec<DVec3> = steps
                .scan(DVec3::ZERO, |at, step| {
                    *at += step - 0.1 * *at;
                    Some(*at)
                })
                .collect();
            let shadow = Shadow::cast(&points, DVec3::new(0.3, -0.5, 0.8));
            for (from, to) in [(0.0, 59.0), (0.0, 42.5), (7.3, 59.0), (11.1, 51.9)] {
                let held = shadow.held(from, to);
                drawn_back += usize::from(held.len() < shadow.passages_within(from, to).len());
                let whole = fingerprint(&shadow.close_over(from, to).simplified());
                knotted += usize::from(whole != 1);
                assert_eq!(fingerprint(&shadow.close_held(held).simplified()), whole, "seed {seed}, {from} to {to}");
            }
        }
        assert!(knotted > 40 && drawn_back > 40, "{knotted} of 320 are knotted, {drawn_back} can be drawn back");
    }
}
