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
    let mut half_area = 0.0;
    for first in a.windows(2) {
        for second in b.windows(2) {
            half_area += half_area_between(first[0], first[1], second[0], second[1]);
        }
    }
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
        for i in 1..a.len() {
            let mut row = 0.0;
            for j in 1..width {
                row += half_area_between(a[i - 1], a[i], b[j - 1], b[j]) / TAU;
                sums[i * width + j] = sums[(i - 1) * width + j] + row;
            }
        }
        Self { a, b, sums }
    }

    /// Gauss integral between the whole polylines [turns].
    #[must_use]
    pub fn total(&self) -> f64 {
        self.sums[self.sums.len() - 1]
    }

    /// Gauss integral between the first `a_segments` and `b_segments` segments, the ends led on by `lead` [mm].
    ///
    /// # Panics
    /// If a polyline has fewer segments.
    #[must_use]
    pub fn led_on(&self, a_segments: usize, b_segments: usize, lead: DVec3) -> f64 {
        let (a, b) = (&self.a[..=a_segments], &self.b[..=b_segments]);
        let a_lead = [a[a_segments], a[a_segments] + lead];
        let b_lead = [b[b_segments], b[b_segments] + lead];
        let cut = self.sums[a_segments * self.b.len() + b_segments];
        cut + gauss_between(a, &b_lead) + gauss_between(&a_lead, b) + gauss_between(&a_lead, &b_lead)
    }
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

/// Half the signed area swept by the directions from segment `q` to segment `p`, in -pi..pi.
fn half_area_between(p0: DVec3, p1: DVec3, q0: DVec3, q1: DVec3) -> f64 {
    let corners = [p0 - q0, p0 - q1, p1 - q1, p1 - q0];
    let lengths = corners.map(DVec3::length);
    // Both triangles of the quadrilateral turn the same way, so their half areas add to less than pi
    // and one arctangent of the product of their complex forms gives the sum.
    let (x0, y0) = triangle(corners[0], corners[1], corners[2], lengths[0], lengths[1], lengths[2]);
    let (x1, y1) = triangle(corners[0], corners[2], corners[3], lengths[0], lengths[2], lengths[3]);
    let (x, y) = (x0 * x1 - y0 * y1, x0 * y1 + y0 * x1);
    if y == 0.0 { 0.0 } else { atan2(y, x) }
}

/// A complex number (real, imaginary) whose argument is half the signed area of a spherical triangle.
///
/// Source: Van Oosterom and Strackee 1983, IEEE Trans. Biomed. Eng. 30, 125-126.
fn triangle(a: DVec3, b: DVec3, c: DVec3, a_length: f64, b_length: f64, c_length: f64) -> (f64, f64) {
    let real = a_length * b_length * c_length + a.dot(b) * c_length + b.dot(c) * a_length + c.dot(a) * b_length;
    (real, a.dot(b.cross(c)))
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
