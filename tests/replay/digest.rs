//! The digest tells any two states apart that the simulation could tell apart.

use knotwright::quantity::Tick;
use knotwright::record::{Digest, NotANumber};

/// A tick and the parts of the state after it.
type State<'a> = (u32, &'a [&'a [f64]]);

fn digest(states: &[State]) -> String {
    let mut digest = Digest::new();
    states.iter().for_each(|&(tick, parts)| digest.add(Tick(tick), parts).expect("no NaN"));
    digest.digest_hex()
}

#[test]
fn equal_states_have_equal_digests_and_others_do_not() {
    let base = digest(&[(0, &[&[1.0, 2.0], &[3.0]])]);
    assert_eq!(base, digest(&[(0, &[&[1.0, 2.0], &[3.0]])]));
    let others: [(&str, &[State]); 8] = [
        ("the last bit of one value", &[(0, &[&[1.0, 2.0], &[f64::from_bits(3.0f64.to_bits() + 1)]])]),
        ("another tick", &[(1, &[&[1.0, 2.0], &[3.0]])]),
        ("other order", &[(0, &[&[2.0, 1.0], &[3.0]])]),
        ("a value in the next part", &[(0, &[&[1.0], &[2.0, 3.0]])]),
        ("an empty part more", &[(0, &[&[1.0, 2.0], &[3.0], &[]])]),
        ("a state more", &[(0, &[&[1.0, 2.0], &[3.0]]), (1, &[])]),
        ("another sign", &[(0, &[&[-1.0, 2.0], &[3.0]])]),
        ("nothing", &[]),
    ];
    for (name, states) in others {
        assert_ne!(base, digest(states), "{name}");
    }
}

#[test]
fn minus_zero_is_not_zero() {
    assert_ne!(digest(&[(0, &[&[0.0]])]), digest(&[(0, &[&[-0.0]])]));
}

#[test]
fn a_nan_is_refused_by_place_and_leaves_the_digest_as_it_was() {
    let mut digest = Digest::new();
    digest.add(Tick(1), &[&[f64::INFINITY]]).expect("an infinity is a value");
    let before = digest.value();
    let error = digest.add(Tick(9), &[&[1.0], &[2.0, f64::NAN]]).expect_err("a NaN");
    assert_eq!(error, NotANumber { tick: Tick(9), part: 1, index: 1 });
    assert_eq!(error.to_string(), "state after tick 9: value 1 of part 1 is not a number");
    assert_eq!(digest.value(), before);
}

#[test]
fn a_difference_never_heals() {
    let same_later: &[&[f64]] = &[&[5.0]];
    assert_ne!(digest(&[(0, &[&[1.0]]), (1, same_later)]), digest(&[(0, &[&[2.0]]), (1, same_later)]));
}

#[test]
fn the_short_form_is_the_start_of_the_long_one() {
    let mut digest = Digest::new();
    digest.add(Tick(0), &[&[1.0]]).expect("no NaN");
    assert_eq!(digest.value().to_string(), digest.digest_hex()[..16]);
    // BLAKE3 of no input, from its published test vectors (BLAKE3-team/BLAKE3, test_vectors.json, input_len 0).
    assert_eq!(Digest::new().digest_hex(), "af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262");
}
