//! The thread as one tube: rings of points about smooth curves through the simulated nodes.
//!
//! The number of points does not change while a strand moves, so a mesh is rewritten in place. Pieces of thread are
//! joined by rings of no width, which nobody sees.

use bevy::math::Vec3;

use super::surface::Surface;

/// A tube about polylines.
#[derive(Debug, Clone, PartialEq)]
pub struct Tube {
    /// Points on each ring.
    pub sides: usize,
    /// Rings for each edge of a polyline.
    pub rings: usize,
    /// Radius [mm].
    pub radius: f32,
    /// Radius at the last ring as a share of `radius`: 1 for thread, near 0 for a needle's point.
    pub taper: f32,
}

/// One ring: its middle, two unit vectors across, and its radius [mm].
#[derive(Debug, Clone, Copy, PartialEq)]
struct Ring {
    middle: Vec3,
    across: [Vec3; 2],
    radius: f32,
}

impl Tube {
    /// Rings that a tube about these polylines takes.
    #[must_use]
    pub fn ring_count(&self, strands: &[Vec<Vec3>]) -> usize {
        strands.iter().filter(|strand| strand.len() > 1).map(|strand| (strand.len() - 1) * self.rings + 3).sum()
    }

    /// The surface, with `capacity` rings: those not needed lie in one point.
    ///
    /// # Panics
    /// If the strands need more than `capacity` rings.
    #[must_use]
    pub fn surface(&self, strands: &[Vec<Vec3>], capacity: usize, colour: Vec3) -> Surface {
        let mut rings = Vec::with_capacity(capacity);
        for strand in strands.iter().filter(|strand| strand.len() > 1) {
            self.add_strand(strand, &mut rings);
        }
        assert!(rings.len() <= capacity, "{} rings do not fit into {capacity}", rings.len());
        let last = rings.last().map_or(Vec3::ZERO, |ring| ring.middle);
        rings.resize(capacity, Ring { middle: last, across: [Vec3::X, Vec3::Y], radius: 0.0 });
        self.skin(&rings, colour)
    }

    fn add_strand(&self, strand: &[Vec3], rings: &mut Vec<Ring>) {
        let curve = smooth(strand, self.rings);
        let frames = frames(&curve);
        let closed = |at: usize| Ring { middle: curve[at], across: frames[at], radius: 0.0 };
        rings.push(closed(0));
        let last = curve.len() - 1;
        for (i, (&middle, &across)) in curve.iter().zip(&frames).enumerate() {
            let share = i as f32 / last as f32;
            // Only the last fifth of a tapering wire narrows.
            let narrowing = ((share - 0.8) / 0.2).max(0.0);
            rings.push(Ring { middle, across, radius: self.radius * (1.0 + (self.taper - 1.0) * narrowing) });
        }
        rings.push(closed(last));
    }

    fn skin(&self, rings: &[Ring], colour: Vec3) -> Surface {
        let sides = u32::try_from(self.sides).expect("a tube has few sides");
        let mut surface = Surface::default();
        for (number, ring) in (0_u32..).zip(rings) {
            for side in 0..self.sides {
                let angle = side as f32 / self.sides as f32 * std::f32::consts::TAU;
                let out = ring.across[0] * angle.cos() + ring.across[1] * angle.sin();
                // A trace of the twist of the fibres.
                let shade = 1.0 + 0.18 * (angle * 2.0 + number as f32 * 0.9).sin();
                surface.point(ring.middle + out * ring.radius, colour * shade);
            }
            if number > 0 {
                surface.join((number - 1) * sides, number * sides, sides, true);
            }
        }
        surface
    }
}

/// A smooth curve through the nodes of a polyline: a Catmull-Rom spline with `pieces` pieces an edge.
#[must_use]
pub(super) fn smooth(nodes: &[Vec3], pieces: usize) -> Vec<Vec3> {
    let last = nodes.len() - 1;
    let mut curve = Vec::with_capacity(last * pieces + 1);
    for i in 0..last {
        let [p, q, r, s] = [nodes[i.saturating_sub(1)], nodes[i], nodes[i + 1], nodes[(i + 2).min(last)]];
        for piece in 0..pieces {
            curve.push(spline(p, q, r, s, piece as f32 / pieces as f32));
        }
    }
    curve.push(nodes[last]);
    curve
}

/// Catmull-Rom spline between `q` and `r` at 0..=1.
#[must_use]
pub(super) fn spline(p: Vec3, q: Vec3, r: Vec3, s: Vec3, t: f32) -> Vec3 {
    let (start, end) = (0.5 * (r - p), 0.5 * (s - q));
    let (t2, t3) = (t * t, t * t * t);
    q * (2.0 * t3 - 3.0 * t2 + 1.0) + start * (t3 - 2.0 * t2 + t) + r * (3.0 * t2 - 2.0 * t3) + end * (t3 - t2)
}

/// Two unit vectors across a curve at each of its points, turning about it as little as can be.
///
/// Double reflection: Wang, Juettler, Zheng & Liu 2008, ACM Trans. Graph. 27(1):2, table I.
#[must_use]
pub fn frames(curve: &[Vec3]) -> Vec<[Vec3; 2]> {
    let last = curve.len() - 1;
    let tangent = |i: usize| {
        let (before, after) = (i.saturating_sub(1), (i + 1).min(last));
        (curve[after] - curve[before]).normalize_or(Vec3::X)
    };
    let mut along = tangent(0);
    let mut across = along.any_orthonormal_vector();
    let mut frames = Vec::with_capacity(curve.len());
    frames.push([across, along.cross(across)]);
    for i in 0..last {
        let next = tangent(i + 1);
        let way = curve[i + 1] - curve[i];
        let (across_mirrored, along_mirrored) = (mirror(across, way), mirror(along, way));
        across = mirror(across_mirrored, next - along_mirrored);
        // Rounding would add up over hundreds of rings.
        across = (across - next * across.dot(next)).normalize_or(next.any_orthonormal_vector());
        along = next;
        frames.push([across, along.cross(across)]);
    }
    frames
}

/// `v` mirrored in the plane across `normal` (of any length; none if it is zero).
fn mirror(v: Vec3, normal: Vec3) -> Vec3 {
    let square = normal.length_squared();
    if square > 0.0 { v - normal * (2.0 * v.dot(normal) / square) } else { v }
}
