//! What knot an open curve is: close it from many sides and take the majority.
//!
//! Source: Millett, Dobay and Stasiak 2005, Macromolecules 38, 601-606 (closure at random points of a large sphere).

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::math::DVec3;

use super::invariants::Invariants;
use super::projection::Shadow;

/// Unit vectors spread evenly over the sphere, the same ones for the same seed.
#[derive(Debug)]
pub struct Directions {
    generator: ChaCha8Rng,
}

impl Directions {
    /// Directions from a seed.
    #[must_use]
    pub fn seeded(seed: u64) -> Self {
        Self { generator: ChaCha8Rng::seed_from_u64(seed) }
    }
}

impl Iterator for Directions {
    type Item = DVec3;

    fn next(&mut self) -> Option<DVec3> {
        loop {
            let [x, y, z] = core::array::from_fn(|_| 2.0 * self.generator.random::<f64>() - 1.0);
            let point = DVec3::new(x, y, z);
            // Only what falls in the ball is even; too near its centre the direction loses digits.
            if (0.01..=1.0).contains(&point.length_squared()) {
                return Some(point.normalize());
            }
        }
    }
}

/// Invariants of a closed polyline [mm]; the last point is joined to the first. `None` if no view is readable.
#[must_use]
pub fn identify_closed(points: &[DVec3]) -> Option<Invariants> {
    let mut ring = points.to_vec();
    ring.extend(points.first());
    Directions::seeded(1).take(8).find_map(|toward| {
        let shadow = Shadow::cast(&ring, toward);
        Invariants::of(&shadow.close_over(0.0, shadow.end()).simplified())
    })
}

/// Invariants of an open polyline [mm] by the majority of `view_count` closures in seeded random directions.
///
/// `None` if no result has more than half of the readable views.
#[must_use]
pub fn identify_open(points: &[DVec3], view_count: usize, seed: u64) -> Option<Invariants> {
    let mut ballots: Vec<(Invariants, usize)> = Vec::new();
    for toward in Directions::seeded(seed).take(view_count) {
        let shadow = Shadow::cast(points, toward);
        let Some(found) = Invariants::of(&shadow.close_over(0.0, shadow.end()).simplified()) else { continue };
        match ballots.iter_mut().find(|(invariants, _)| *invariants == found) {
            Some((_, votes)) => *votes += 1,
            None => ballots.push((found, 1)),
        }
    }
    let cast: usize = ballots.iter().map(|(_, votes)| votes).sum();
    ballots.into_iter().find(|&(_, votes)| 2 * votes > cast).map(|(invariants, _)| invariants)
}
