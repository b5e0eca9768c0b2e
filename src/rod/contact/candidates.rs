//! Which pieces may touch: a list of pairs not far apart, each with a lower bound of its gap.
//!
//! Every block of unknowns has an odometer. A pair measured once cannot have closed its gap by more than its two
//! sides have travelled since, so it needs no look until then: what sits far from everything costs nothing however
//! fast the rest moves, and what floats about does not make the knot be measured again.
//!
//! Pairs of one thread are left out by the length of free thread between them, not by node count, so that a finer mesh
//! excludes no more than a coarser one.

use super::{Closest, Partner};
use crate::math::DVec3;
use crate::rod::Rod;
use crate::rod::surroundings::PlacedCone;

/// Gap up to which pairs are listed [mm]: nothing outside the list can come to touch before it is rebuilt.
pub const LIST_MARGIN: f64 = 2.0;

/// How much farther than asked for the pairs reach that are looked at first [mm]; estimate: looking for them anew costs as much as
/// one look at all. To look at all each time makes a short attempt 2 % slower.
const SOON_AHEAD: f64 = 0.3;

/// The list, and how far its members have travelled.
#[derive(Debug, Clone, Default)]
pub struct Candidates {
    pairs: Vec<(usize, Partner)>,
    /// The two sides of each pair: edges by their index, tools after them.
    sides: Vec<[usize; 2]>,
    /// Gap of each pair when it was last measured plus what its two sides had travelled then [mm].
    reach: Vec<f64>,
    /// How far each side has travelled since the list was made [mm].
    travel: Vec<f64>,
    travel_max: f64,
    /// The pairs whose reach is no more than `soon_reach`, ascending: few of all, and most often none but these has to be looked at.
    soon: Vec<usize>,
    soon_reach: f64,
    edges: usize,
    known: bool,
}

impl Candidates {
    /// The pairs that may touch, in ascending order.
    #[must_use]
    pub fn pairs(&self) -> &[(usize, Partner)] {
        &self.pairs
    }

    /// Notes that node `i` moved by `nodes[i]` and tool `t` by `tools[t]` [mm], at most.
    pub fn moved(&mut self, nodes: impl Fn(usize) -> f64, tools: impl Fn(usize) -> f64) {
        if !self.known {
            return;
        }
        let mut before = nodes(0);
        let (edges, rest) = self.travel.split_at_mut(self.edges);
        for (i, travel) in edges.iter_mut().enumerate() {
            let after = nodes(i + 1);
            *travel += before.max(after);
            self.travel_max = self.travel_max.max(*travel);
            before = after;
        }
        for (t, travel) in rest.iter_mut().enumerate() {
            *travel += tools(t);
            self.travel_max = self.travel_max.max(*travel);
        }
    }

    /// Forgets everything: the next refresh looks at all pairs.
    pub fn forget(&mut self) {
        self.known = false;
    }

    /// Makes the list hold for a further motion of `ahead` [mm] of every piece.
    pub fn refresh(&mut self, rod: &Rod, positions: &[DVec3], tools: &[Vec<PlacedCone>], ahead: f64) {
        let edges = rod.rest_lengths.len();
        let fits = self.known && self.edges == edges && self.travel.len() == edges + tools.len();
        if fits && self.travel_max + ahead < 0.5 * LIST_MARGIN {
            return;
        }
        (self.pairs, self.reach) = all_within(rod, positions, tools, LIST_MARGIN).into_iter().unzip();
        let side = |partner: &Partner| match partner {
            Partner::Edge(j) => *j,
            Partner::Shape(t, _) => edges + t,
        };
        self.sides = self.pairs.iter().map(|(i, partner)| [*i, side(partner)]).collect();
        self.edges = edges;
        self.travel = vec![0.0; edges + tools.len()];
        self.travel_max = 0.0;
        self.soon_reach = f64::NEG_INFINITY;
        self.known = true;
    }

    /// Which listed pairs may have a gap no greater than `allowed` of their two [sides](Candidates::sides) [mm], ascending.
    ///
    /// `most` is the greatest that is allowed to any.
    pub fn near(&mut self, most: f64, allowed: impl Fn([usize; 2]) -> f64) -> Vec<usize> {
        let wanted = most + 2.0 * self.travel_max;
        if wanted > self.soon_reach {
            self.soon_reach = wanted + SOON_AHEAD;
            let reach = self.reach.iter().enumerate();
            self.soon = reach.filter(|(_, reach)| **reach <= self.soon_reach).map(|(k, _)| k).collect();
        }
        let mut near = Vec::with_capacity(self.soon.len());
        near.extend(self.soon.iter().copied().filter(|&k| self.gap(k) <= allowed(self.sides[k])));
        near
    }

    /// A lower bound of the gap of listed pair `k` [mm].
    #[must_use]
    #[inline(always)]
    pub fn gap(&self, k: usize) -> f64 {
        self.reach[k] - self.travel(k)
    }

    /// Notes the gap of listed pair `k` as measured now [mm].
    pub fn measured(&mut self, k: usize, gap: f64) {
        let reach = gap + self.travel(k);
        if reach <= self.soon_reach && self.reach[k] > self.soon_reach {
            // It may not be among those that are looked at first.
            self.soon_reach = f64::NEG_INFINITY;
        }
        self.reach[k] = reach;
    }

    /// Whether any two edges go through each other on the straight way from `before`, where they are now, to `after`.
    #[must_use]
    pub fn any_crossed(&mut self, rod: &Rod, before: &[DVec3], after: &[DVec3]) -> bool {
        if !self.known {
            return false;
        }
        let most = before.iter().zip(after).map(|(a, b)| a.distance_squared(*b)).fold(0.0, f64::max).sqrt();
        self.near(2.0 * most, |_| 2.0 * most).into_iter().any(|k| match self.pairs[k] {
            (i, Partner::Edge(j)) => crossed(i, j, before, after, rod.section.radius),
            (_, Partner::Shape(..)) => false,
        })
    }

    /// The two sides of listed pair `k`: edges by their index, tools after them.
    #[must_use]
    pub fn sides(&self, k: usize) -> [usize; 2] {
        self.sides[k]
    }

    #[inline(always)]
    fn travel(&self, k: usize) -> f64 {
        let [one, other] = self.sides[k];
        self.travel[one] + self.travel[other]
    }
}

/// Free thread between two edges [mm] below which they are neighbours, not contact partners.
#[must_use]
pub fn neighbour_length(rod: &Rod) -> f64 {
    // A half circle of thread bent as tightly as it can be: pi times its radius to the centreline, one diameter.
    std::f64::consts::PI * rod.section.radius * 2.0
}

/// A run of edges and the ball that holds their middles: what is far from the ball is far from all of them.
struct Run {
    edges: Vec<usize>,
    centre: DVec3,
    /// Radius of the ball, and half the longest edge, together [mm].
    reach: f64,
}

/// Edges in a run: few enough that the ball of a thread drawn out stays small.
const RUN: usize = 8;

/// All pairs with a gap below `margin` [mm], ascending, each with its gap.
fn all_within(rod: &Rod, positions: &[DVec3], tools: &[Vec<PlacedCone>], margin: f64) -> Vec<((usize, Partner), f64)> {
    let edges = rod.rest_lengths.len();
    let apart = neighbour_length(rod);
    let live: Vec<usize> = (0..edges).filter(|&i| rod.live(i)).collect();
    let mid: Vec<DVec3> = (0..edges).map(|i| (positions[i] + positions[i + 1]) * 0.5).collect();
    let half: Vec<f64> = (0..edges).map(|i| 0.5 * positions[i].distance(positions[i + 1])).collect();
    let radius = rod.section.radius;
    let run = |edges: &[usize]| {
        let centre = edges.iter().map(|&i| mid[i]).sum::<DVec3>() / edges.len() as f64;
        let ball = edges.iter().map(|&i| mid[i].distance(centre)).fold(0.0, f64::max);
        let longest = edges.iter().map(|&i| half[i]).fold(0.0, f64::max);
        Run { edges: edges.to_vec(), centre, reach: (ball + longest) * (1.0 + 1e-9) + 1e-9 }
    };
    let runs: Vec<Run> = live.chunks(RUN).map(run).collect();
    let mut pairs = Vec::new();
    for (r, run) in runs.iter().enumerate() {
        let mut near_cones = Vec::new();
        for (t, shapes) in tools.iter().enumerate() {
            for (k, cone) in shapes.iter().enumerate() {
                let reach = run.reach + radius + cone.start_radius.max(cone.end_radius) + margin;
                if distance_squared_to_axis(run.centre, cone) < reach * reach {
                    near_cones.push((t, k, cone));
                }
            }
        }
        let near_runs = runs[r..].iter().filter(|other| {
            let reach = run.reach + other.reach + 2.0 * radius + margin;
            run.centre.distance_squared(other.centre) < reach * reach
        });
        let near_runs: Vec<&Run> = near_runs.collect();
        for &i in &run.edges {
            for other in &near_runs {
                let reach = half[i] + other.reach + 2.0 * radius + margin;
                if mid[i].distance_squared(other.centre) >= reach * reach {
                    continue;
                }
                for &j in other.edges.iter().filter(|&&j| j > i) {
                    let reach = half[i] + half[j] + 2.0 * radius + margin;
                    if mid[i].distance_squared(mid[j]) < reach * reach
                        && (between(rod, i, j) > apart || !joined(rod, i, j))
                    {
                        let gap = -measure(rod, positions, tools, i, Partner::Edge(j)).overlap;
                        if gap < margin {
                            pairs.push(((i, Partner::Edge(j)), gap));
                        }
                    }
                }
            }
            for &(t, k, cone) in &near_cones {
                let reach = half[i] + radius + cone.start_radius.max(cone.end_radius) + margin;
                if distance_squared_to_axis(mid[i], cone) < reach * reach {
                    let gap = -measure(rod, positions, tools, i, Partner::Shape(t, k)).overlap;
                    if gap < margin {
                        pairs.push(((i, Partner::Shape(t, k)), gap));
                    }
                }
            }
        }
    }
    pairs
}

fn distance_squared_to_axis(point: DVec3, cone: &PlacedCone) -> f64 {
    let axis = cone.end - cone.start;
    let square = axis.length_squared();
    let along = if square > 0.0 { ((point - cone.start).dot(axis) / square).clamp(0.0, 1.0) } else { 0.0 };
    point.distance_squared(cone.start + axis * along)
}

/// Thread between edge `i` and a later edge `j` [mm], in a ring by the shorter way.
fn between(rod: &Rod, i: usize, j: usize) -> f64 {
    let along = rod.material[j] - rod.material[i + 1];
    let about = rod.material[rod.node_count() - 1] - (rod.material[j + 1] - rod.material[i]);
    if rod.ring { along.min(about) } else { along }
}

fn joined(rod: &Rod, i: usize, j: usize) -> bool {
    rod.whole[i..=j].iter().all(|&whole| whole)
}

fn measure(rod: &Rod, positions: &[DVec3], tools: &[Vec<PlacedCone>], i: usize, partner: Partner) -> Closest {
    let (a, b) = (positions[i], positions[i + 1]);
    match partner {
        Partner::Edge(j) => super::closest_edges(a, b, positions[j], positions[j + 1], rod.section.radius),
        Partner::Shape(t, k) => super::closest_cone(a, b, rod.section.radius, &tools[t][k]),
    }
}

/// Whether edges `i` and `j` went through each other between `before` and `after`, moving straight.
///
/// Two edges can only pass where their four ends lie in one plane: the signed volume of the ends changes sign there,
/// and the passing is real if both nearest places lie inside the edges at that moment.
fn crossed(i: usize, j: usize, before: &[DVec3], after: &[DVec3], radius: f64) -> bool {
    let volume = |p: &[DVec3]| (p[i + 1] - p[i]).cross(p[j + 1] - p[j]).dot(p[j] - p[i]);
    let (first, last) = (volume(before), volume(after));
    if first * last >= 0.0 {
        return false;
    }
    let moment = first / (first - last);
    let at = |k: usize| before[k].lerp(after[k], moment);
    let (s, t, apart) = super::closest_on_segments(at(i), at(i + 1), at(j), at(j + 1));
    let inside = |u: f64| u > 0.0 && u < 1.0;
    inside(s) && inside(t) && apart.length() < 0.2 * radius
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rod::tests::{bent, gut};
    use rand::{Rng, SeedableRng};

    #[test]
    fn a_gap_bound_is_never_above_the_gap_and_no_touching_pair_is_missing() {
        let mut rod = bent(gut(), 40);
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(11);
        let mut candidates = Candidates::default();
        let mut found = 0;
        for round in 0..60 {
            candidates.refresh(&rod, &rod.positions, &[], 0.1);
            for k in 0..candidates.pairs().len() {
                let (i, partner) = candidates.pairs()[k];
                let gap = -measure(&rod, &rod.positions, &[], i, partner).overlap;
                assert!(candidates.gap(k) <= gap + 1e-12, "round {round}, pair {k}: {} above {gap}", candidates.gap(k));
                if round % 7 == k % 7 {
                    candidates.measured(k, gap);
                }
            }
            let most = 0.4 * random.random::<f64>();
            let allowed = |[one, other]: [usize; 2]| most * if (one + other) % 3 == 0 { 0.5 } else { 1.0 };
            let all = 0..candidates.pairs().len();
            let wanted: Vec<usize> = all.filter(|&k| candidates.gap(k) <= allowed(candidates.sides(k))).collect();
            found += wanted.len();
            assert_eq!(candidates.near(most, allowed), wanted, "round {round}: nearer than {most} mm");
            for ((i, partner), _) in all_within(&rod, &rod.positions, &[], 0.0) {
                assert!(
                    candidates.pairs().contains(&(i, partner)),
                    "round {round}: {i} and {partner:?} are not listed"
                );
            }
            let before = rod.positions.clone();
            for place in &mut rod.positions {
                *place += DVec3::from(std::array::from_fn(|_| 0.1 * (random.random::<f64>() - 0.5)));
            }
            candidates.moved(|i| before[i].distance(rod.positions[i]), |_| 0.0);
        }
        assert!(found > 100, "{found} pairs were near");
    }
}
