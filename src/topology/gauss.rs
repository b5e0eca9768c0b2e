//! How polylines wind about each other, about themselves and about an axis: exact sums over straight segments.

use core::f64::consts::{PI, TAU};

use crate::math::{DVec3, across, atan2};

/// Gauss linking integral between two open polylines [turns].
///
/// `a`, `b`: points [mm], shape `[point_count]`, each in its own direction of travel; fewer than two points give 0.
/// For two closed curves (first point repeated at the end) it is their linking number; for two limbs that twist about
/// each other it grows by 1/2 a half turn, positive when the crossings are right-handed.
///
/// Source: Gauss's integral is the signed area on the unit sphere swept by the directions between the curves; for two
/// segments that area is a spherical quadrilateral (Klenin and Langowski 2000, Biopolymers 54, 307-317, method 1a).
#[must_use]
pub fn gauss_between(a: &[DVec3], b: &[DVec3]) -> f64 {
    let (Some(&start), 2..) = (a.first(), b.len()) else { return 0.0 };
    let mut row = Row::new(b, start);
    let half_area: f64 = a.windows(2).map(|segment| row.half_areas(segment).iter().sum::<f64>()).sum();
    half_area / TAU
}

/// Gauss integrals between all first parts of two polylines, so that each is a look-up.
#[derive(Debug, Clone)]
pub struct GaussTable<'curves> {
    a: &'curves [DVec3],
    b: &'curves [DVec3],
    /// Gauss integral between the first i segments of `a` and the first j of `b`, row i, column j.
    sums: Vec<f64>,
}

impl<'curves> GaussTable<'curves> {
    /// The table for two polylines [mm], at least one point each.
    ///
    /// # Panics
    /// If one has no point.
    #[must_use]
    pub fn new(a: &'curves [DVec3], b: &'curves [DVec3]) -> Self {
        assert!(!a.is_empty() && !b.is_empty(), "a polyline has a point");
        let width = b.len();
        let mut sums = vec![0.0; a.len() * width];
        let mut row = Row::new(b, a[0]);
        for (i, ends) in a.windows(2).enumerate() {
            let (before, here) = sums[i * width..(i + 2) * width].split_at_mut(width);
            let mut swept = 0.0;
            for ((sum, before), half_area) in here[1..].iter_mut().zip(&before[1..]).zip(row.half_areas(ends)) {
                swept += half_area;
                *sum = before + swept / TAU;
            }
        }
        Self { a, b, sums }
    }

    /// Where the polylines wind about each other, whichever way: the middle part of all turning, without a share of
    /// `left_out` at either end of each. `None` if nothing turns.
    #[must_use]
    pub fn wound(&self, left_out: f64) -> Option<Wound> {
        let columns = self.b.len() - 1;
        let (mut on_a, mut on_b) = (vec![0.0; self.a.len() - 1], vec![0.0; columns]);
        let mut moment = DVec3::ZERO;
        let middles_b: Vec<DVec3> = self.b.windows(2).map(|ends| ends[0].midpoint(ends[1])).collect();
        for (i, on_a) in on_a.iter_mut().enumerate() {
            let middle_a = self.a[i].midpoint(self.a[i + 1]);
            let (before, here) = self.sums[i * (columns + 1)..(i + 2) * (columns + 1)].split_at(columns + 1);
            let steps = before.windows(2).zip(here.windows(2));
            for (((before, here), on_b), middle_b) in steps.zip(&mut on_b).zip(&middles_b) {
                let turns = ((here[1] - here[0]) - (before[1] - before[0])).abs();
                *on_a += turns;
                *on_b += turns;
                moment += turns * middle_a.midpoint(*middle_b);
            }
        }
        let total: f64 = on_a.iter().sum();
        let within = |turns: &[f64]| (reached(turns, left_out * total), reached(turns, (1.0 - left_out) * total));
        (total > 0.0).then(|| Wound { on_a: within(&on_a), on_b: within(&on_b), centre: moment / total })
    }

    /// First parts of the polylines, their ends led on by `lead` [mm].
    ///
    /// `a_segments`, `b_segments`: how many segments of either polyline a part may have.
    ///
    /// # Panics
    /// If a polyline has fewer segments.
    #[must_use]
    pub fn led_on(&self, a_segments: &[usize], b_segments: &[usize], lead: DVec3) -> LedOn<'_> {
        let leads = |points: &[DVec3], segments: &[usize]| -> Vec<Lead> {
            let led = |&segments| Lead { segments, line: [points[segments], points[segments] + lead], beside: None };
            segments.iter().map(led).collect()
        };
        LedOn { table: self, on_a: leads(self.a, a_segments), on_b: leads(self.b, b_segments) }
    }
}

/// First parts of two polylines, each end led on by a straight line, which is measured when it is first asked for.
#[derive(Debug, Clone)]
pub struct LedOn<'table> {
    table: &'table GaussTable<'table>,
    on_a: Vec<Lead>,
    on_b: Vec<Lead>,
}

#[derive(Debug, Clone)]
struct Lead {
    segments: usize,
    line: [DVec3; 2],
    /// Gauss integrals with the first i segments of the other polyline, shape `[segment_count + 1]`.
    beside: Option<Vec<f64>>,
}

impl LedOn<'_> {
    /// Gauss integral between one part of the first polyline and one of the second, both led on [turns].
    ///
    /// # Panics
    /// If there are fewer parts.
    pub fn turns(&mut self, on_a: usize, on_b: usize) -> f64 {
        let (a, b) = (&mut self.on_a[on_a], &mut self.on_b[on_b]);
        let cut = self.table.sums[a.segments * self.table.b.len() + b.segments];
        let beside_a = b.beside.get_or_insert_with(|| beside(self.table.a, &b.line))[a.segments];
        let beside_b = a.beside.get_or_insert_with(|| beside(self.table.b, &a.line))[b.segments];
        cut + beside_a + beside_b + half_area_between(a.line[0], a.line[1], b.line[0], b.line[1]) / TAU
    }
}

/// Where two polylines wind about each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wound {
    /// Stretch of the first polyline, as fractional point indices.
    pub on_a: (f64, f64),
    /// Stretch of the second polyline, the same way.
    pub on_b: (f64, f64),
    /// Mean place of all turning, half way between the polylines [mm].
    pub centre: DVec3,
}

/// How far along segments a running sum of their turns comes to `wanted`, as a fractional point index.
fn reached(turns: &[f64], wanted: f64) -> f64 {
    let mut sum = 0.0;
    for (segment, &more) in turns.iter().enumerate() {
        if sum + more >= wanted && more > 0.0 {
            return segment as f64 + (wanted - sum) / more;
        }
        sum += more;
    }
    turns.len() as f64
}

/// Gauss integrals between a straight line and the first i segments of a polyline, shape `[point_count]`.
fn beside(points: &[DVec3], line: &[DVec3; 2]) -> Vec<f64> {
    let mut half_area = 0.0;
    let mut row = Row::new(points, line[0]);
    let sums = row.half_areas(line).iter().map(|more| {
        half_area += more;
        half_area / TAU
    });
    core::iter::once(0.0).chain(sums).collect()
}

/// Writhe of an open polyline [turns]: the Gauss integral of the curve with itself. Repeat the first point to close it.
#[must_use]
pub fn writhe(points: &[DVec3]) -> f64 {
    let segment_count = points.len().saturating_sub(1);
    let mut half_area = 0.0;
    for i in 0..segment_count {
        // Neighbours share a point, so they lie in one plane and sweep no area.
        for j in i + 2..segment_count {
            half_area += half_area_between(points[i], points[i + 1], points[j], points[j + 1]);
        }
    }
    2.0 * half_area / TAU
}

/// One segment after the other of a polyline against all of another's, number by number, so that the processor does
/// several at once.
struct Row {
    /// Points of the other polyline [mm], by coordinate.
    points: [Vec<f64>; 3],
    /// Their distances from the segment's start and end [mm].
    distances: [Vec<f64>; 2],
    /// Complex numbers whose arguments are the half areas.
    real: Vec<f64>,
    imaginary: Vec<f64>,
    half_areas: Vec<f64>,
}

impl Row {
    /// For a polyline that starts at `start`, against `points`, at least one.
    fn new(points: &[DVec3], start: DVec3) -> Self {
        let segments = vec![0.0; points.len() - 1];
        Self {
            points: [0, 1, 2].map(|k| points.iter().map(|point| point[k]).collect()),
            distances: [vec![0.0; points.len()], points.iter().map(|&point| start.distance(point)).collect()],
            real: segments.clone(),
            imaginary: segments.clone(),
            half_areas: segments,
        }
    }

    /// Half the signed area swept by the directions from each of the other's segments to this one, which starts where the
    /// one before ended.
    fn half_areas(&mut self, segment: &[DVec3]) -> &[f64] {
        let p = [segment[0], segment[1]];
        self.distances.swap(0, 1);
        let count = self.half_areas.len();
        let [x, y, z] = &self.points;
        let (x, y, z) = (&x[..=count], &y[..=count], &z[..=count]);
        let q = |j: usize| DVec3::new(x[j], y[j], z[j]);
        let [from_start, from_end] = &mut self.distances;
        let (from_start, from_end) = (&from_start[..=count], &mut from_end[..=count]);
        for (j, distance) in from_end.iter_mut().enumerate() {
            *distance = p[1].distance(q(j));
        }
        let (real, imaginary) = (&mut self.real[..count], &mut self.imaginary[..count]);
        for j in 0..count {
            let lengths = [from_start[j], from_start[j + 1], from_end[j + 1], from_end[j]];
            (real[j], imaginary[j]) = product(p, [q(j), q(j + 1)], lengths);
        }
        for ((half_area, x), y) in self.half_areas.iter_mut().zip(&*real).zip(&*imaginary) {
            *half_area = small_argument(*x, *y);
        }
        for ((half_area, x), y) in self.half_areas.iter_mut().zip(&*real).zip(&*imaginary) {
            if !is_small(*x, *y) {
                *half_area = large_argument(*x, *y);
            }
        }
        &self.half_areas
    }
}

/// Half the signed area swept by the directions from segment `q` to segment `p`, in -pi..pi.
fn half_area_between(p0: DVec3, p1: DVec3, q0: DVec3, q1: DVec3) -> f64 {
    let lengths = [p0.distance(q0), p0.distance(q1), p1.distance(q1), p1.distance(q0)];
    let (x, y) = product([p0, p1], [q0, q1], lengths);
    if is_small(x, y) { small_argument(x, y) } else { large_argument(x, y) }
}

/// The complex number x + iy whose argument is half that area, with the distances p0 q0, p0 q1, p1 q1 and p1 q0.
///
/// A spherical triangle's half area is the argument of a complex number (Van Oosterom and Strackee 1983, IEEE Trans.
/// Biomed. Eng. 30, 125-126). Both triangles of the quadrilateral have the same imaginary part, the volume that the
/// segments span. So they turn the same way, their half areas add to less than pi, and one argument of the product of
/// their complex numbers gives the sum.
#[inline]
fn product(p: [DVec3; 2], q: [DVec3; 2], lengths: [f64; 4]) -> (f64, f64) {
    let corners = [p[0] - q[0], p[0] - q[1], p[1] - q[1], p[1] - q[0]];
    let volume = corners[0].dot((p[1] - p[0]).cross(q[1] - q[0]));
    // Segments with a common end lie in a plane; their volume need not come out as 0.
    let apart = (lengths[0] > 0.0) & (lengths[1] > 0.0) & (lengths[2] > 0.0) & (lengths[3] > 0.0);
    let volume = if apart { volume } else { 0.0 };
    let diagonal = corners[0].dot(corners[2]);
    let real = |i: usize| {
        let (side, rest) = (corners[0].dot(corners[i]), corners[i].dot(corners[2]));
        lengths[0] * lengths[i] * lengths[2] + side * lengths[2] + rest * lengths[0] + diagonal * lengths[i]
    };
    let (x0, x1) = (real(1), real(3));
    (x0 * x1 - volume * volume, volume * (x0 + x1))
}

/// Whether the argument of x + iy is below about 1/8 either way: most segments are that far apart.
#[inline]
fn is_small(x: f64, y: f64) -> bool {
    y.abs() < 0.125 * x
}

/// The argument of x + iy [rad] where it [is small](is_small), by a series that needs no call and is as exact as rounding.
#[inline]
fn small_argument(x: f64, y: f64) -> f64 {
    // At 1/8 the first term left out is (1/8)^16 / 17, less than 1/2 of rounding.
    const SERIES: [f64; 7] = [1.0 / 3.0, 1.0 / 5.0, 1.0 / 7.0, 1.0 / 9.0, 1.0 / 11.0, 1.0 / 13.0, 1.0 / 15.0];
    let tangent = y / x;
    let square = tangent * tangent;
    tangent * (1.0 - square * SERIES.iter().rev().fold(0.0, |sum, term| term - square * sum))
}

/// The argument of any x + iy [rad]; 0 if it lies on the real axis.
fn large_argument(x: f64, y: f64) -> f64 {
    if y == 0.0 { 0.0 } else { atan2(y, x) }
}

/// Signed turns of a polyline about an axis, counted only where the axial coordinate is within the two limits.
///
/// `points` [mm]; the axis passes through `axis_origin` [mm] along `axis_direction` (any length but 0); the axial
/// coordinate [mm] is measured from `axis_origin`. Positive turns are right-handed about `axis_direction`.
///
/// # Panics
/// If `axis_direction` has no length.
#[must_use]
pub fn winding_about_axis(
    points: &[DVec3],
    axis_origin: DVec3,
    axis_direction: DVec3,
    axial_min: f64,
    axial_max: f64,
) -> f64 {
    let axis = axis_direction.try_normalize().expect("the axis has a direction");
    let right = across(axis);
    let up = axis.cross(right);
    let mut angle = 0.0;
    for ends in points.windows(2) {
        let (start, end) = (ends[0] - axis_origin, ends[1] - axis_origin);
        let Some((from, to)) = part_within(start.dot(axis), end.dot(axis), axial_min, axial_max) else { continue };
        let (a, b) = (start.lerp(end, from), start.lerp(end, to));
        let (ax, ay, bx, by) = (a.dot(right), a.dot(up), b.dot(right), b.dot(up));
        let sine = ax * by - ay * bx;
        if sine != 0.0 {
            angle += atan2(sine, ax * bx + ay * by);
        }
    }
    angle / (2.0 * PI)
}

/// The part of 0..=1 in which a value going from `start` to `end` lies within `low..=high`.
fn part_within(start: f64, end: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    let change = end - start;
    if change == 0.0 {
        return (low <= start && start <= high).then_some((0.0, 1.0));
    }
    let (at_low, at_high) = ((low - start) / change, (high - start) / change);
    let (from, to) = (at_low.min(at_high).max(0.0), at_low.max(at_high).min(1.0));
    (from < to).then_some((from, to))
}
