//! Which pieces may touch: a wide list looked up rarely, a narrow list kept by how far things have moved.
//!
//! Pairs of one thread are left out by the length of free thread between them, not by node count, so that a finer mesh
//! excludes no more than a coarser one.

use super::Partner;
use crate::math::DVec3;
use crate::rod::Rod;
use crate::rod::surroundings::PlacedCone;

/// Distance kept around the narrow list [mm]: nothing outside it can come to touch before it is rebuilt.
pub const NARROW_MARGIN: f64 = 0.4;
/// Distance kept around the wide list [mm].
pub const WIDE_MARGIN: f64 = 2.0;

/// Candidate lists with the motion they have absorbed.
#[derive(Debug, Clone, Default)]
pub struct Candidates {
    wide: Vec<(usize, Partner)>,
    wide_slack: f64,
    narrow: Vec<(usize, Partner)>,
    narrow_slack: f64,
}

impl Candidates {
    /// The pairs that may touch, in ascending order.
    #[must_use]
    pub fn pairs(&self) -> &[(usize, Partner)] {
        &self.narrow
    }

    /// Notes that something may have moved by this much [mm].
    pub fn moved(&mut self, distance: f64) {
        self.wide_slack -= distance;
        self.narrow_slack -= distance;
    }

    /// Forgets everything: the next refresh looks at all pairs.
    pub fn forget(&mut self) {
        self.wide_slack = 0.0;
        self.narrow_slack = 0.0;
    }

    /// Rebuilds what has used up its margin; true if the narrow list changed. Both partners may move, hence the halves.
    pub fn refresh(&mut self, rod: &Rod, positions: &[DVec3], tools: &[Vec<PlacedCone>], reserve: f64) -> bool {
        if self.narrow_slack > reserve {
            return false;
        }
        if self.wide_slack <= 0.5 * NARROW_MARGIN {
            self.wide = all_within(rod, positions, tools, WIDE_MARGIN);
            self.wide_slack = 0.5 * WIDE_MARGIN;
        }
        self.narrow = self
            .wide
            .iter()
            .filter(|&&(i, partner)| within(rod, positions, tools, i, partner, NARROW_MARGIN))
            .copied()
            .collect();
        self.narrow_slack = 0.5 * NARROW_MARGIN;
        true
    }
}

/// Free thread between two edges [mm] below which they are neighbours, not contact partners.
#[must_use]
pub fn neighbour_length(rod: &Rod) -> f64 {
    // A half circle of thread bent as tightly as it can be: pi times its radius to the centreline, one diameter.
    std::f64::consts::PI * rod.section.radius * 2.0
}

fn all_within(rod: &Rod, positions: &[DVec3], tools: &[Vec<PlacedCone>], margin: f64) -> Vec<(usize, Partner)> {
    let edges = rod.rest_lengths.len();
    let apart = neighbour_length(rod);
    let live: Vec<usize> = (0..edges).filter(|&i| rod.live(i)).collect();
    let mid: Vec<DVec3> = (0..edges).map(|i| (positions[i] + positions[i + 1]) * 0.5).collect();
    let half: Vec<f64> = (0..edges).map(|i| 0.5 * positions[i].distance(positions[i + 1])).collect();
    let mut pairs = Vec::new();
    for (at, &i) in live.iter().enumerate() {
        for &j in &live[at + 1..] {
            let reach = half[i] + half[j] + 2.0 * rod.section.radius + margin;
            if mid[i].distance_squared(mid[j]) < reach * reach
                && (rod.material[j] - rod.material[i + 1] > apart || !joined(rod, i, j))
            {
                pairs.push((i, Partner::Edge(j)));
            }
        }
        for (t, shapes) in tools.iter().enumerate() {
            for (k, _) in shapes.iter().enumerate() {
                if within(rod, positions, tools, i, Partner::Shape(t, k), margin) {
                    pairs.push((i, Partner::Shape(t, k)));
                }
            }
        }
    }
    pairs
}

fn joined(rod: &Rod, i: usize, j: usize) -> bool {
    rod.whole[i..=j].iter().all(|&whole| whole)
}

fn within(rod: &Rod, positions: &[DVec3], tools: &[Vec<PlacedCone>], i: usize, partner: Partner, margin: f64) -> bool {
    let (a, b) = (positions[i], positions[i + 1]);
    let overlap = match partner {
        Partner::Edge(j) => super::closest_edges(a, b, positions[j], positions[j + 1], rod.section.radius).overlap,
        Partner::Shape(t, k) => super::closest_cone(a, b, rod.section.radius, &tools[t][k]).overlap,
    };
    overlap > -margin
}

/// Whether any listed pair of edges went through each other between `rod.positions` and `after`, moving straight.
///
/// Two edges can only pass where their four ends lie in one plane: the signed volume of the ends changes sign there,
/// and the passing is real if both nearest places lie inside the edges at that moment.
#[must_use]
pub fn crossed(pairs: &[(usize, Partner)], rod: &Rod, after: &[DVec3]) -> bool {
    let before = &rod.positions;
    pairs.iter().any(|&(i, partner)| {
        let Partner::Edge(j) = partner else { return false };
        let volume = |p: &dyn Fn(usize) -> DVec3| (p(i + 1) - p(i)).cross(p(j + 1) - p(j)).dot(p(j) - p(i));
        let (first, last) = (volume(&|k| before[k]), volume(&|k| after[k]));
        if first * last >= 0.0 {
            return false;
        }
        let moment = first / (first - last);
        let at = |k: usize| before[k].lerp(after[k], moment);
        let (s, t, apart) = super::closest_on_segments(at(i), at(i + 1), at(j), at(j + 1));
        let inside = |u: f64| u > 0.0 && u < 1.0;
        inside(s) && inside(t) && apart.length() < 0.2 * rod.section.radius
    })
}
