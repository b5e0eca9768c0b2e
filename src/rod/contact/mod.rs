//! Contact of the thread with itself, with instruments and teeth, and with the gum's surface.
//!
//! Three questions, one file each: which pieces may touch ([`candidates`]), how hard they press ([`gap`]), and how
//! they hold against sliding ([`friction`]).

pub mod candidates;
pub mod friction;
pub mod gap;

use super::surroundings::PlacedCone;
use crate::math::DVec3;

/// What edge `i` of the thread may touch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Partner {
    /// Another edge of the thread.
    Edge(usize),
    /// A shape (second number) of a tool (first number).
    Shape(usize, usize),
}

/// The nearest points of an edge and its partner.
#[derive(Debug, Clone, Copy)]
pub struct Closest {
    /// Place on the edge, 0 at its first node, 1 at its second.
    pub along: f64,
    /// Place on the partner, 0 at its first end, 1 at its second.
    pub along_partner: f64,
    /// Unit vector from the partner to the edge.
    pub normal: DVec3,
    /// Overlap of the two surfaces [mm]; negative when apart.
    pub overlap: f64,
}

/// Nearest points of segments (a, b) and (c, d): places on both, and the vector from the second to the first.
///
/// Source: Ericson 2005, Real-Time Collision Detection, section 5.1.9.
#[must_use]
pub fn closest_on_segments(a: DVec3, b: DVec3, c: DVec3, d: DVec3) -> (f64, f64, DVec3) {
    let (u, v, w) = (b - a, d - c, a - c);
    let (uu, vv, uv) = (u.length_squared(), v.length_squared(), u.dot(v));
    let (uw, vw) = (u.dot(w), v.dot(w));
    let determinant = uu * vv - uv * uv;
    let mut s = if determinant > 1e-12 * uu * vv { ((uv * vw - vv * uw) / determinant).clamp(0.0, 1.0) } else { 0.5 };
    let mut t = (uv * s + vw) / vv;
    if t < 0.0 {
        t = 0.0;
        s = (-uw / uu).clamp(0.0, 1.0);
    } else if t > 1.0 {
        t = 1.0;
        s = ((uv - uw) / uu).clamp(0.0, 1.0);
    }
    (s, t, w + u * s - v * t)
}

/// Nearest points of two edges of one thread of the given radius.
#[must_use]
pub fn closest_edges(a: DVec3, b: DVec3, c: DVec3, d: DVec3, radius: f64) -> Closest {
    let (along, along_partner, apart) = closest_on_segments(a, b, c, d);
    let distance = apart.length();
    Closest { along, along_partner, normal: unit(apart, distance, b - a), overlap: 2.0 * radius - distance }
}

/// Nearest points of an edge and a round cone. The place on the cone is the one whose sphere comes nearest, so the
/// distance's gradient is the normal exactly and an energy of it has a true line search.
#[must_use]
pub fn closest_cone(a: DVec3, b: DVec3, radius: f64, cone: &PlacedCone) -> Closest {
    let axis = cone.end - cone.start;
    let length = axis.length();
    if length == 0.0 {
        return closest_sphere(a, b, radius, cone);
    }
    let slope = (cone.end_radius - cone.start_radius) / length;
    let lean = slope / (1.0 - slope * slope).max(1e-6).sqrt();
    let (mut along, mut place, _) = closest_on_segments(a, b, cone.start, cone.end);
    let edge = b - a;
    for _ in 0..3 {
        let point = a + edge * along;
        let from_start = point - cone.start;
        let axial = from_start.dot(axis) / length;
        let radial = (from_start.length_squared() - axial * axial).max(0.0).sqrt();
        place = ((axial + radial * lean) / length).clamp(0.0, 1.0);
        let centre = cone.start + axis * place;
        along = ((centre - a).dot(edge) / edge.length_squared()).clamp(0.0, 1.0);
    }
    let apart = a + edge * along - (cone.start + axis * place);
    let distance = apart.length();
    let cone_radius = cone.start_radius + (cone.end_radius - cone.start_radius) * place;
    Closest {
        along,
        along_partner: place,
        normal: unit(apart, distance, edge),
        overlap: radius + cone_radius - distance,
    }
}

/// Nearest points of an edge and a sphere, a round cone both of whose centres are one.
fn closest_sphere(a: DVec3, b: DVec3, radius: f64, sphere: &PlacedCone) -> Closest {
    let edge = b - a;
    let along = ((sphere.start - a).dot(edge) / edge.length_squared()).clamp(0.0, 1.0);
    let apart = a + edge * along - sphere.start;
    let distance = apart.length();
    let reach = radius + sphere.start_radius.max(sphere.end_radius);
    Closest { along, along_partner: 0.0, normal: unit(apart, distance, edge), overlap: reach - distance }
}

/// The direction of `apart`; when the two centrelines meet there is none, and any direction across the edge serves.
fn unit(apart: DVec3, distance: f64, edge: DVec3) -> DVec3 {
    if distance > 1e-9 { apart / distance } else { crate::math::across(edge) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cone_without_length_is_met_as_the_sphere_that_it_is() {
        let (a, b) = (DVec3::new(-0.3, 0.1, 2.0), DVec3::new(0.5, -0.2, 2.4));
        let centre = DVec3::new(0.05, 0.03, 0.4);
        let sphere = |length: f64| PlacedCone {
            start: centre,
            end: centre + DVec3::Y * length,
            start_radius: 1.5,
            end_radius: 1.5,
        };
        let (exact, near) = (closest_cone(a, b, 0.1, &sphere(0.0)), closest_cone(a, b, 0.1, &sphere(1e-7)));
        // Nearest places and overlap change by no more than the sphere is drawn out.
        assert!(
            (exact.along - near.along).abs() < 1e-6 && (exact.overlap - near.overlap).abs() < 1e-6,
            "{exact:?}, {near:?}"
        );
        assert!((exact.normal - near.normal).length() < 1e-6, "{exact:?}, {near:?}");
    }
}
