//! The verdict on a recording whose commands were carried out again.

use super::{attempt, header, written};
use knotwright::quantity::Tick;
use knotwright::record::{Digest, Header, Integrity, StateDigest, Verdict, compare, read, refusal};

fn digests(of: &[(u32, f64)]) -> Vec<(Tick, StateDigest)> {
    let mut digest = Digest::new();
    let mut add = |&(tick, value): &(u32, f64)| {
        digest.add(Tick(tick), &[&[value]]).expect("no NaN");
        (Tick(tick), digest.value())
    };
    of.iter().map(&mut add).collect()
}

#[test]
fn the_first_difference_is_named() {
    let recorded = digests(&[(0, 1.0), (30, 2.0), (60, 3.0), (90, 4.0)]);
    let diverged = |tick| Verdict::DivergedAt { tick: Tick(tick) };
    let cases = [
        ("the same", digests(&[(0, 1.0), (30, 2.0), (60, 3.0), (90, 4.0)]), Verdict::Verified),
        ("another state in the middle", digests(&[(0, 1.0), (30, 2.0), (60, 3.5), (90, 4.0)]), diverged(60)),
        ("another first state", digests(&[(0, 9.0), (30, 2.0), (60, 3.0), (90, 4.0)]), diverged(0)),
        ("ends early", recorded[..2].to_vec(), diverged(60)),
        ("goes on", digests(&[(0, 1.0), (30, 2.0), (60, 3.0), (90, 4.0), (120, 5.0)]), diverged(120)),
        ("leaves one out", [&recorded[..1], &recorded[2..]].concat(), diverged(30)),
        ("none", vec![], diverged(0)),
    ];
    for (name, replayed, expected) in cases {
        assert_eq!(compare(&recorded, &replayed), expected, "{name}");
        assert_eq!(compare(&replayed, &recorded), expected, "{name}, the other way round");
    }
}

#[test]
fn nothing_is_never_verified() {
    assert_eq!(compare(&[], &[]).to_string(), "damaged: it holds no tick at all");
}

#[test]
fn a_recording_is_refused_for_a_named_reason_and_not_for_a_crash() {
    let header = header();
    let text = header.scenario_text.as_str();
    let other_rate = Header { ticks_per_second: 30, ..header.clone() };
    let torn = Integrity::TornAfter { tick: Tick(60) };
    let damaged = Integrity::Damaged { block: 1, tick: Tick(60), why: "its bytes do not match its hash".into() };
    let cases = [
        (refusal(&header, &Integrity::Whole, text, 7), None),
        (refusal(&header, &torn, text, 7), None),
        (
            refusal(&header, &damaged, text, 7),
            Some("damaged: damaged in block 1, from tick 60 (1.0 s) on: its bytes do not match its hash"),
        ),
        (refusal(&header, &Integrity::Whole, text, 8), Some("other simulation version: recorded with 7, this is 8")),
        (refusal(&other_rate, &Integrity::Whole, text, 7), Some("damaged: it says 30 ticks a second, but must say 60")),
    ];
    for (refusal, expected) in cases {
        assert_eq!(refusal.map(|verdict| verdict.to_string()).as_deref(), expected);
    }
    let other = refusal(&header, &Integrity::Whole, "(pass_mark: 0.1)", 7);
    assert!(matches!(other, Some(Verdict::WrongScenario { .. })), "{other:?}");
}

#[test]
fn a_recording_agrees_with_its_own_commands_and_not_with_changed_ones() {
    let (recording, _) = read::<super::Event>(&written(&attempt(100))).expect("a good header");
    let (shorter, _) = read::<super::Event>(&written(&attempt(95))).expect("a good header");
    assert_eq!(compare(&recording.digests(), &recording.digests()), Verdict::Verified);
    assert_eq!(compare(&recording.digests(), &shorter.digests()), Verdict::DivergedAt { tick: Tick(94) });
    assert_eq!(compare(&recording.digests(), &recording.digests()).to_string(), "verified");
}
