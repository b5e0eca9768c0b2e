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
///
/// The distance of a place on the edge from a sphere of the cone is convex in both places together. So it is least where it
/// does not change with either, if that is on both, and else where one of them is at an end.
#[must_use]
pub fn closest_cone(a: DVec3, b: DVec3, radius: f64, cone: &PlacedCone) -> Closest {
    let (edge, axis) = (b - a, cone.end - cone.start);
    let at = |along: f64, place: f64| {
        let apart = a + edge * along - (cone.start + axis * place);
        let distance = apart.length();
        let cone_radius = cone.start_radius + (cone.end_radius - cone.start_radius) * place;
        Closest {
            along,
            along_partner: place,
            normal: unit(apart, distance, edge),
            overlap: radius + cone_radius - distance,
        }
    };
    if let Some((along, place)) = level_places(a - cone.start, edge, axis, cone.end_radius - cone.start_radius) {
        return at(along, place);
    }
    let nearer = |one: Closest, other: Closest| if other.overlap > one.overlap { other } else { one };
    let of_sphere = |place: f64| at(nearest_on_edge(cone.start + axis * place, a, edge), place);
    let of_spheres = nearer(of_sphere(0.0), of_sphere(1.0));
    if axis == DVec3::ZERO {
        return of_spheres;
    }
    let of_end = |along: f64| at(along, nearest_sphere(a + edge * along, cone));
    nearer(nearer(of_spheres, of_end(0.0)), of_end(1.0))
}

/// Places on an edge and on a cone's axis, each from its first end on, `apart` from each other, between which the distance less
/// the cone's radius, which grows by `growth` along the axis, does not change with either place; `None` if one of the places
/// is beyond an end.
fn level_places(apart: DVec3, edge: DVec3, axis: DVec3, growth: f64) -> Option<(f64, f64)> {
    let along_edge = edge / edge.length_squared();
    let flat = axis - edge * axis.dot(along_edge);
    let across = edge.cross(axis);
    // The way from axis to edge is at right angles to the edge, and leans on the axis as much as the cone's surface does. There
    // is none where edge and axis enclose no more than the cone's slope, or nothing but rounding.
    let lean = growth * growth / flat.length_squared();
    if !(lean < 1.0 && across.length_squared() > 1e-24 * edge.length_squared() * axis.length_squared()) {
        return None;
    }
    let straight = across * (apart.dot(across) / across.length_squared());
    let way = straight - flat * (growth * straight.length() / (flat.length_squared() * (1.0 - lean).sqrt()));
    let place = (apart - way).dot(flat) / flat.length_squared();
    let along = (way - apart + axis * place).dot(along_edge);
    let on = |share: f64| (0.0..=1.0).contains(&share);
    (on(along) && on(place)).then_some((along, place))
}

/// The place on an edge from `a` that is nearest to a point.
pub(in crate::rod) fn nearest_on_edge(point: DVec3, a: DVec3, edge: DVec3) -> f64 {
    ((point - a).dot(edge) / edge.length_squared()).clamp(0.0, 1.0)
}

/// The place on a cone's axis whose sphere comes nearest to a point.
fn nearest_sphere(point: DVec3, cone: &PlacedCone) -> f64 {
    let (axis, from_start) = (cone.end - cone.start, point - cone.start);
    let length = axis.length();
    let slope = (cone.end_radius - cone.start_radius) / length;
    let lean = slope / (1.0 - slope * slope).max(1e-6).sqrt();
    let axial = from_start.dot(axis) / length;
    let radial = (from_start.length_squared() - axial * axial).max(0.0).sqrt();
    ((axial + radial * lean) / length).clamp(0.0, 1.0)
}

/// The direction of `apart`; when the two centrelines meet there is none, and any direction across the edge serves.
fn unit(apart: DVec3, distance: f64, edge: DVec3) -> DVec3 {
    if distance > 1e-9 { apart / distance } else { crate::math::across(edge) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};

    #[test]
    fn no_other_places_of_an_edge_and_a_cone_are_nearer_than_those_found() {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(3);
        let mut number = || random.random_range(-1.0..1.0);
        let mut inner = 0;
        for case in 0..400 {
            let mut place = |size: f64| DVec3::new(number(), number(), number()) * size;
            let (start, axis) = (place(1.0), place(4.0));
            let middle = start + axis * 0.5 + place(1.5);
            // Every other edge lies almost along the cone, as a strand does in jaws.
            let way = if case % 2 == 0 { axis.normalize() * 0.3 + place(0.02) } else { place(0.5) };
            let (a, b) = (middle - way, middle + way);
            let (start_radius, end_radius) = (0.4 + 0.3 * number(), 0.4 + 0.3 * number());
            let cone = PlacedCone { start, end: start + axis, start_radius, end_radius };
            let found = closest_cone(a, b, 0.1, &cone);
            let overlap = |along: f64, place: f64| {
                let radius = start_radius + (end_radius - start_radius) * place;
                0.1 + radius - a.lerp(b, along).distance(start.lerp(start + axis, place))
            };
            assert!((overlap(found.along, found.along_partner) - found.overlap).abs() < 1e-12, "case {case}");
            inner += usize::from(found.along > 0.0 && found.along < 1.0 && found.along_partner > 0.0);
            for i in 0..=200 {
                for j in 0..=200 {
                    let tried = overlap(f64::from(i) / 200.0, f64::from(j) / 200.0);
                    // Rounding alone.
                    assert!(tried <= found.overlap + 1e-12, "case {case}: {found:?}, {tried} at {i}, {j} of 200");
                }
            }
        }
        assert!(inner > 50, "{inner} of the places are within both");
    }

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
