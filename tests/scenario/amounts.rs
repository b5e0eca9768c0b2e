//! Amounts that are drawn: the same for the same seed, inside their range, each on its own.

use super::shipped_text;
use knotwright::scenario::{Amount, Scenario, parse};

fn ranged(seed: u64) -> Scenario {
    let mut scenario = parse("ranged", &shipped_text("first_stitch.ron")).expect("it is in order");
    scenario.seed = seed;
    scenario.site.edge_gap_mm = Amount::Range(3.0, 5.0);
    scenario.site.flap.thickness_mm = Amount::Range(1.2, 1.6);
    scenario
}

#[test]
fn the_same_seed_draws_the_same_and_another_seed_something_else() {
    for seed in 0..200 {
        assert_eq!(ranged(seed).draw(), ranged(seed).draw(), "seed {seed}");
        assert_ne!(ranged(seed).draw(), ranged(seed + 1).draw(), "seed {seed}");
    }
}

#[test]
fn draws_fill_their_range_and_never_leave_it() {
    let drawn: Vec<_> = (0..1000).map(|seed| ranged(seed).draw()).collect();
    for (name, min, max, values) in [
        ("edge gap", 3.0, 5.0, drawn.iter().map(|d| d.edge_gap_mm).collect::<Vec<_>>()),
        ("flap thickness", 1.2, 1.6, drawn.iter().map(|d| d.flap_thickness_mm).collect()),
    ] {
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let greatest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        assert!(min <= least && greatest <= max, "{name}: {least} to {greatest}");
        // Of 1000 even draws, none in the outer hundredth on one side happens once in 23,000 times (0.99^1000).
        let margin = 0.01 * (max - min);
        assert!(least < min + margin && greatest > max - margin, "{name}: {least} to {greatest}");
        // Mean of 1000 even draws: standard error (max - min) / sqrt(12 * 1000); 4 of them are passed once in 16,000.
        let mean = values.iter().sum::<f64>() / 1000.0;
        assert!((mean - 0.5 * (min + max)).abs() < 4.0 * (max - min) / 109.5, "{name}: mean {mean}");
    }
}

#[test]
fn fixing_one_amount_leaves_the_other_draws_alone() {
    let mut scenario = ranged(7);
    let both = scenario.draw();
    scenario.site.edge_gap_mm = Amount::Fixed(4.0);
    let one = scenario.draw();
    assert_eq!(one.flap_thickness_mm.to_bits(), both.flap_thickness_mm.to_bits());
    assert!((one.edge_gap_mm - 4.0).abs() < 1e-15);
}

#[test]
fn seed_0_draws_the_first_words_of_chacha_with_8_rounds() {
    // Keystream of 8 rounds, key of 256 bits and nonce all zero, first block, as two little-endian 64-bit words of
    // 3e 00 ef 2f 89 5f 40 d6 7f 5b b8 e8 1f 09 a5 a1 ..: Strombergson, draft-strombergson-chacha-test-vectors-01,
    // test case 1 (from memory).
    let words = [0xd640_5f89_2fef_003e_u64, 0xa1a5_091f_e8b8_5b7f];
    let shares = words.map(|word| (word >> 11) as f64 / (1_u64 << 53) as f64);
    let drawn = ranged(0).draw();
    for (found, expected) in
        [(drawn.edge_gap_mm, 3.0 + 2.0 * shares[0]), (drawn.flap_thickness_mm, 1.2 + 0.4 * shares[1])]
    {
        assert!((found - expected).abs() < 1e-12, "{found}, by the published words {expected}");
    }
}
