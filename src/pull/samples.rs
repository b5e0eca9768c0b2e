//! How sure a verdict is: pulls with friction and diameter drawn from the ranges that are published for the thread.

use super::knot::Fault;
use super::outcome::Pull;
use super::test::{Test, pull};
use crate::material::{self, Material, Shares};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

/// The 97.5th percentile of the normal distribution, for an interval of 95 %.
const NORMAL_975: f64 = 1.959_963_984_540_054;

/// One pull of a thread that was drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// The thread.
    pub thread: Material,
    /// What came of it.
    pub pull: Pull,
}

/// Thread number `index` of the stream of `seed`: friction on thread and diameter drawn evenly and by themselves from
/// the table's ranges; `None` if the material or size is not known.
#[must_use]
pub fn thread(name: &str, size: &str, wet: bool, seed: u64, index: u32) -> Option<Material> {
    let mut share = shares(seed, index);
    material::find_within(name, size, wet, [share(), share()])
}

/// Thread number `index` of the stream of `seed` for an attempt that was tied in one of its size: frictions and stiffness
/// drawn evenly and by themselves from the table's ranges; `None` if the material or size is not known.
#[must_use]
pub fn tying_thread(name: &str, size: &str, wet: bool, seed: u64, index: u32) -> Option<Material> {
    let mut share = shares(seed, index);
    let shares = Shares { friction_on_thread: share(), friction_in_tissue: share(), stiffness: share() };
    material::find_varied(name, size, wet, shares)
}

/// The stream of shares of thread number `index`.
fn shares(seed: u64, index: u32) -> impl FnMut() -> f64 {
    let mut key = [0; 32];
    key[..8].copy_from_slice(&seed.to_le_bytes());
    key[8..12].copy_from_slice(&index.to_le_bytes());
    let mut dice = ChaCha8Rng::from_seed(key);
    move || (dice.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}

/// Pulls a knot in one thread; `test` says all but the thread's section.
///
/// # Errors
/// Where a step cannot be done soundly.
pub fn sample(test: &Test, thread: Material) -> Result<Sample, Fault> {
    let pull = pull(&Test { section: thread.section, ..test.clone() })?;
    Ok(Sample { thread, pull })
}

/// A share and how well it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// The share that was seen [1].
    pub share: f64,
    /// Ends of the interval in which the true share lies with 95 % [1].
    pub interval: [f64; 2],
}

/// The share of `holding` in `count`, with its 95 % interval; `None` if there are none to count.
///
/// Source: Wilson 1927, J. Am. Stat. Assoc. 22:209.
#[must_use]
pub fn wilson(holding: usize, count: usize) -> Option<Share> {
    if count == 0 {
        return None;
    }
    let (n, z) = (count as f64, NORMAL_975);
    let share = holding as f64 / n;
    let middle = (share + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
    Some(Share { share, interval: [(middle - half).max(0.0), (middle + half).min(1.0)] })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_interval_is_wilsons() {
        // Newcombe 1998, Stat. Med. 17:857, table I, method 3: 81 of 263, 15 of 148, 0 of 20, 1 of 29; from memory.
        let cases = [
            (81, 263, [0.2553, 0.3662]),
            (15, 148, [0.0624, 0.1605]),
            (0, 20, [0.0, 0.1611]),
            (1, 29, [0.0061, 0.1718]),
        ];
        for (holding, count, expected) in cases {
            let found = wilson(holding, count).expect("there are some").interval;
            for (found, expected) in found.iter().zip(expected) {
                // Four figures are printed.
                assert!((found - expected).abs() < 6e-5, "{holding} of {count}: {found}, published {expected}");
            }
        }
        assert_eq!(wilson(0, 0), None);
    }

    #[test]
    fn drawn_threads_lie_within_the_published_ranges_and_the_same_seed_draws_the_same() {
        let draw = |index| thread("silk", "4-0", true, 3, index).expect("it is known");
        for index in 0..50 {
            let found = draw(index);
            // Wet silk in assets/materials.ron: friction 0.15 to 0.35; USP 4-0: 0.150 to 0.199 mm.
            assert!((0.15..=0.35).contains(&found.section.friction_thread), "{found:?}");
            assert!((0.150..=0.199).contains(&found.diameter()), "{found:?}");
            assert_eq!(found, draw(index));
        }
        for index in 0..50 {
            let drawn = |index| tying_thread("silk", "4-0", true, 3, index).expect("it is known");
            let (found, nominal) = (drawn(index), material::find("silk", "4-0", true).expect("it is known"));
            // Wet silk: friction in tissue 0.3 to 0.6, modulus 5 to 8 GPa, used in the middle.
            let (bend, twist) = (
                found.section.bending_stiffness / nominal.section.bending_stiffness,
                found.section.twist_stiffness / nominal.section.twist_stiffness,
            );
            assert!((5.0 / 6.5 - 1e-9..=8.0 / 6.5 + 1e-9).contains(&bend) && (bend - twist).abs() < 1e-12, "{bend}");
            assert!((0.15..=0.35).contains(&found.section.friction_thread), "{found:?}");
            let radius = nominal.section.radius;
            assert_eq!((found.section.radius.to_bits(), found.force_strain), (radius.to_bits(), nominal.force_strain));
            assert_eq!(drawn(index), drawn(index));
        }
        assert!((1..50).all(|index| draw(index) != draw(0)));
        assert_eq!(thread("silk", "12-0", true, 3, 0), None);
    }
}
