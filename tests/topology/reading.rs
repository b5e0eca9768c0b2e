//! Throws read from the shapes of stitches.

use core::f64::consts::PI;

use knotwright::analysis::reading::{Direction, Form, Limb, Reading, StitchCurve, read};
use knotwright::math::{DVec3, cos, sin};
use knotwright::topology::gauss_between;

use super::stacks::{
    Layout, Turn, disturbed, flat_stack, knot_in_one_limb, mirrored, reversed, spiral_on_a_post,
    stack_with_a_tail_drawn_back, stack_with_crossing_tails, throws_of, turns_on_a_post,
};
use super::tighten::tightened;

/// Sequences a first year student may tie, and their common mistakes.
const SEQUENCES: &[&str] = &[
    "1", "2", "3", "1=1", "1x1", "2=1", "2x1", "1=2", "2=2", "2x2", "3=1", "3x1", "1=1=1", "1x1x1", "1=1x1", "1x1=1",
    "2=1=1", "2x1=1", "2=1x1", "2x1x1", "3=1=1", "3x1x1", "1=1=1=1", "2=1=1=1",
];

fn assert_reads(curve: &StitchCurve, notation: &str, about: &str) -> Reading {
    let reading = read(curve);
    assert!(reading.clear, "{notation}, {about}: {:?}, determinant {:?}", reading.reason, reading.determinant);
    assert_eq!(reading.notation, notation, "{about}");
    reading
}

#[test]
fn flat_stacks_read_as_tied() {
    for notation in SEQUENCES {
        let curve = flat_stack(&throws_of(notation), Layout::LOOSE);
        let reading = assert_reads(&curve, notation, "as drawn");
        assert_eq!(reading.form, Some(Form::Flat), "{notation}: asymmetry {}", reading.curvature_asymmetry);
        // Both limbs have the same shape and differ in where their points lie and where they are first seen to cross: of
        // one throw alone a sixth, of more than one a twentieth.
        let most = if reading.throws.len() > 1 { 0.1 } else { 0.2 };
        assert!(reading.curvature_asymmetry.abs() < most, "{notation}: asymmetry {}", reading.curvature_asymmetry);
        for (throw, (wraps, handedness)) in reading.throws.iter().zip(throws_of(notation)) {
            assert_eq!((throw.wraps, throw.handedness), (wraps, handedness), "{notation}");
            // n + 1/2 half-knot by half-knot; cut limbs do not lead straight up, which moves a few hundredths.
            let expected = f64::from(handedness) * (f64::from(wraps) + 0.5);
            let found = throw.gauss_integral;
            assert!((found - expected).abs() < 0.15, "{notation}: a throw of {wraps} has Gauss integral {found}");
        }
        assert_eq!(reading.post, None, "{notation}");
        let centre = reading.knot_centre.expect("there is a knot");
        // The twist axes lie at x = y = 0, from half a pitch up.
        assert!(centre.x.abs() < 0.5 && centre.y.abs() < 0.5 && centre.z > 1.0, "{notation}: {centre}");
        assert_reads(&reversed(&curve), notation, "with the limbs exchanged");
    }
}

#[test]
fn a_mirror_turns_away_into_toward_and_keeps_the_notation() {
    for notation in SEQUENCES {
        let curve = flat_stack(&throws_of(notation), Layout::LOOSE);
        assert!(gauss_between(&curve.limb_a(), &curve.limb_b()) != 0.0);
        let plain = assert_reads(&curve, notation, "as drawn");
        let mirror = assert_reads(&mirrored(&curve), notation, "mirrored");
        assert_eq!(plain.throws[0].direction, Direction::Away, "the first throw is drawn left-handed");
        for (throw, image) in plain.throws.iter().zip(&mirror.throws) {
            assert_eq!(throw.handedness, -image.handedness, "{notation}");
            assert_ne!(throw.direction, image.direction, "{notation}");
        }
    }
}

#[test]
fn rotation_jitter_and_resampling_do_not_change_the_reading() {
    for seed in 0..200 {
        let variant = usize::try_from(seed).expect("a small number");
        let notation = SEQUENCES[variant % SEQUENCES.len()];
        let spacing = 0.2 + 0.02 * (variant % 13) as f64;
        let layout = Layout { spacing, tails: [4.0 + (variant % 9) as f64, 60.0], ..Layout::LOOSE };
        let curve = flat_stack(&throws_of(notation), layout);
        assert_reads(&disturbed(&curve, seed, 0.04), notation, &format!("spacing {spacing}, seed {seed}"));
    }
}

#[test]
fn a_wide_low_stack_reads_like_a_tall_one() {
    let flat = Layout { half_width: 1.2, radius: 0.2, pitch: 0.7, spacing: 0.15, ..Layout::LOOSE };
    for notation in SEQUENCES {
        let curve = flat_stack(&throws_of(notation), flat);
        assert_reads(&curve, notation, "low");
    }
}

#[test]
fn tails_that_cross_each_other_without_a_tuck_add_no_throw() {
    for notation in SEQUENCES {
        let curve = stack_with_crossing_tails(&throws_of(notation), Layout::LOOSE);
        for seed in 0..5 {
            assert_reads(&disturbed(&curve, seed, 0.02), notation, &format!("tails crossing, seed {seed}"));
        }
    }
}

#[test]
fn a_wrap_without_a_tuck_is_no_throw() {
    for turns in [1.0, 2.0, 3.0] {
        let reading = assert_reads(&spiral_on_a_post(turns, 0.3), "", "spiral");
        assert_eq!(reading.determinant, Some(1));
        assert!(reading.throws.is_empty() && reading.form.is_none() && reading.knot_centre.is_none());
        assert!(reading.reason.is_some_and(|reason| reason.contains("no end is tucked")));
    }
    assert_reads(&turns_on_a_post(&[(Turn::Untucked, 1)], 0.3), "", "untucked");
    assert_reads(&turns_on_a_post(&[(Turn::Hitch, 1), (Turn::Untucked, 1)], 0.3), "1", "second one untucked");
    let apart = flat_stack(&[], Layout::LOOSE);
    let reading = assert_reads(&apart, "", "limbs apart");
    assert_eq!(reading.reason, None);
}

#[test]
fn a_tail_drawn_back_through_its_throw_leaves_the_throws_below() {
    for notation in SEQUENCES {
        let below = if notation.len() > 1 { &notation[..notation.len() - 2] } else { "" };
        for which in [0, 1] {
            let curve = stack_with_a_tail_drawn_back(&throws_of(notation), which, Layout::LOOSE);
            assert_reads(&curve, below, &format!("{notation}, tail {which} drawn back"));
            for seed in 0..5 {
                let about = format!("{notation}, tail {which} drawn back, seed {seed}");
                assert_reads(&disturbed(&curve, seed, 0.02), below, &about);
            }
        }
    }
}

#[test]
fn hitches_on_a_straight_post_read_as_sliding() {
    // One hitch closes to 3_1, two identical ones to 3_1 # 3_1 (the granny's knot), two mirrored ones to 3_1 # m3_1.
    let cases: &[(&[i8], &str)] =
        &[(&[1], "1"), (&[1, 1], "1x1"), (&[1, -1], "1=1"), (&[1, 1, 1], "1x1x1"), (&[1, -1, 1], "1=1=1")];
    for (hands, notation) in cases {
        let turns: Vec<(Turn, i8)> = hands.iter().map(|&hand| (Turn::Hitch, hand)).collect();
        for seed in 0..20 {
            let curve = disturbed(&turns_on_a_post(&turns, 0.3), seed, 0.02);
            let reading = assert_reads(&curve, notation, &format!("hitches, seed {seed}"));
            assert_eq!(reading.form, Some(Form::Sliding), "{notation}: {}", reading.curvature_asymmetry);
            assert!(reading.curvature_asymmetry < 0.0, "limb B is the one that bends");
            assert_eq!(reading.post, Some(Limb::A));
            let exchanged = assert_reads(&reversed(&curve), notation, "limbs exchanged");
            assert!(exchanged.curvature_asymmetry > 0.0);
            assert_eq!(exchanged.post, Some(Limb::B));
        }
    }
}

#[test]
fn a_knot_in_one_limb_alone_is_unclear() {
    let reading = read(&knot_in_one_limb(0.3));
    assert_eq!(reading.determinant, Some(3), "limb B holds an overhand knot");
    assert!(!reading.clear);
    assert!(reading.reason.is_some_and(|reason| reason.contains("wind about each other")));
}

#[test]
fn a_curve_that_is_no_stitch_is_refused_in_words() {
    let curve = flat_stack(&throws_of("1"), Layout::LOOSE);
    let beyond = StitchCurve { loop_end: curve.points.len(), ..curve.clone() };
    let mut torn = curve;
    torn.points[3].x = f64::NAN;
    for (bad, word) in [(beyond, "does not lie within"), (torn, "point 3")] {
        let reading = read(&bad);
        assert!(!reading.clear && reading.throws.is_empty());
        assert!(reading.reason.is_some_and(|reason| reason.contains(word)));
    }
}

#[test]
fn a_reading_says_on_what_margins_it_rests() {
    for notation in SEQUENCES {
        let throws = throws_of(notation);
        let reading = assert_reads(&flat_stack(&throws, Layout::LOOSE), notation, "as drawn");
        // Signatures add, and are 2 n for n right-handed wraps (the closed thread runs against one limb).
        let signature: i32 = throws.iter().map(|&(n, hand)| 2 * i32::from(hand) * i32::try_from(n).expect("few")).sum();
        assert_eq!(reading.signature, Some(signature), "{notation}");
        assert_eq!(reading.agrees_with_catalogue, Some(true), "{notation}");
        // A lead of five views and of six cuttings decides.
        for (votes, least) in [(reading.knot_votes, 5), (reading.sequence_votes, 6)] {
            let against = votes.cast - votes.agreeing;
            assert!(votes.agreeing >= against + least, "{notation}: {votes:?}");
        }
        // A wrap more or less is a whole turn; the tolerance of 0.75 is hardly touched.
        assert!(reading.gauss_margin.is_some_and(|margin| margin > 0.6 && margin <= 0.75), "{notation}: {reading:?}");
    }
    let none = read(&flat_stack(&[], Layout::LOOSE));
    assert_eq!((none.signature, none.agrees_with_catalogue, none.gauss_margin), (Some(0), None, None));
    assert_eq!(none.knot_votes.agreeing, none.knot_votes.cast);
}

#[test]
fn tight_knots_read_like_loose_ones() {
    // Thread of 4-0 and 5-0 size at the spacing the simulation uses, half drawn in and tight. Without friction some
    // stacks turn into their sliding form on the way, so the form is not asked for.
    for notation in SEQUENCES {
        let loose = flat_stack(&throws_of(notation), Layout::LOOSE);
        for (diameter, rounds) in [(0.3, 60), (0.3, 300), (0.225, 300)] {
            let tight = tightened(&loose, diameter, rounds);
            let in_throws = |curve: &StitchCurve| -> f64 {
                let throws = read(curve).throws;
                throws.iter().map(|throw| throw.limb_a.0 - throw.limb_a.1 + throw.limb_b.1 - throw.limb_b.0).sum()
            };
            assert!(in_throws(&tight) < 0.8 * in_throws(&loose), "{notation}: hardly any thread was drawn out");
            for seed in 0..3 {
                let about = format!("diameter {diameter}, {rounds} rounds, seed {seed}");
                assert_reads(&disturbed(&tight, seed, 0.01), notation, &about);
            }
        }
    }
}

#[test]
fn a_knot_that_no_throws_can_make_is_unclear() {
    // The figure-eight knot, cut open where it lies outermost: a strand must have passed through another.
    let points = (1..120).map(|sample| {
        let t = 2.0 * PI * f64::from(sample) / 120.0;
        let radius = 2.0 + cos(2.0 * t);
        DVec3::new(radius * cos(3.0 * t), radius * sin(3.0 * t), sin(4.0 * t))
    });
    let reading = read(&StitchCurve { points: points.collect(), loop_start: 55, loop_end: 65 });
    assert!(!reading.clear && reading.throws.is_empty());
    assert_eq!(reading.determinant, Some(5));
    assert!(reading.reason.is_some_and(|reason| reason.contains("determinant 5 is no stack of throws")));
}
