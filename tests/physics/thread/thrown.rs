//! Knots thrown by the ends of their strands become what was asked for: the throws, and flat or sliding.

use crate::slow::runs;
use knotwright::analysis::reading::{Form, Limb, StitchCurve, read};
use knotwright::material;
use knotwright::math::DVec3;
use knotwright::pull::{SLIP_MAX, Test, Tied, Untied, of_stitch, parse, throw};

/// Notation, material, form; those that are quick, or were hard for weak hands, first.
const TIES: [(&str, &str, Form); 52] = [
    ("2", "nylon", Form::Flat),
    ("1=1", "nylon", Form::Flat),
    ("1=1", "silk", Form::Sliding),
    ("1x1", "chromic gut", Form::Flat),
    ("3=1=1", "nylon", Form::Flat),
    ("2=1=1", "chromic gut", Form::Flat),
    ("1x1", "polypropylene", Form::Sliding),
    ("1", "silk", Form::Flat),
    ("2", "silk", Form::Flat),
    ("1=1", "silk", Form::Flat),
    ("1x1", "silk", Form::Flat),
    ("2=1", "silk", Form::Flat),
    ("2x1", "silk", Form::Flat),
    ("2=1=1", "silk", Form::Flat),
    ("3=1=1", "silk", Form::Flat),
    ("1=1=1", "silk", Form::Flat),
    ("1x1", "silk", Form::Sliding),
    ("1", "chromic gut", Form::Flat),
    ("2", "chromic gut", Form::Flat),
    ("1=1", "chromic gut", Form::Flat),
    ("2=1", "chromic gut", Form::Flat),
    ("2x1", "chromic gut", Form::Flat),
    ("3=1=1", "chromic gut", Form::Flat),
    ("1=1=1", "chromic gut", Form::Flat),
    ("1=1", "chromic gut", Form::Sliding),
    ("1x1", "chromic gut", Form::Sliding),
    ("1", "nylon", Form::Flat),
    ("1x1", "nylon", Form::Flat),
    ("2=1", "nylon", Form::Flat),
    ("2x1", "nylon", Form::Flat),
    ("2=1=1", "nylon", Form::Flat),
    ("1=1=1", "nylon", Form::Flat),
    ("1=1", "nylon", Form::Sliding),
    ("1x1", "nylon", Form::Sliding),
    ("1x1x1", "silk", Form::Sliding),
    ("1=1=1", "chromic gut", Form::Sliding),
    ("1=1=1", "nylon", Form::Sliding),
    ("1=1", "polypropylene", Form::Sliding),
    ("1=1=1", "polypropylene", Form::Sliding),
    ("2=1=1=1", "polyglactin 910", Form::Flat),
    ("1=1", "PTFE", Form::Sliding),
    ("1x1", "PTFE", Form::Sliding),
    ("1=1=1", "PTFE", Form::Sliding),
    ("2=1=1", "PTFE", Form::Sliding),
    ("2=1=1", "chromic gut", Form::Sliding),
    ("2x1x1", "polypropylene", Form::Sliding),
    ("3=1", "nylon", Form::Sliding),
    ("3=1", "polyglactin 910", Form::Sliding),
    ("1x1x1", "polypropylene", Form::Sliding),
    ("2=1", "polypropylene", Form::Sliding),
    ("3=1", "chromic gut", Form::Sliding),
    ("1=1=1=1", "silk", Form::Sliding),
];

fn thrown(notation: &str, name: &str, form: Form, pretension: f64) -> Result<Tied, Untied> {
    let section = material::find(name, "4-0", true).expect("it is known").section;
    let throws = parse(notation).expect("it is in order");
    throw(&Test { throws, section, pretension, tail: 3.0, slip_limit: SLIP_MAX }, form)
}

#[test]
fn a_thrown_knot_reads_as_it_was_asked_for_flat_or_sliding() {
    let count = usize::try_from(runs([2, 7, TIES.len() as u64])).expect("it is small");
    let wrong: Vec<String> = TIES[..count]
        .iter()
        .filter_map(|&(notation, name, form)| {
            let found = match thrown(notation, name, form, 2000.0) {
                Ok(tied) => {
                    let reading = read(&tied.curve);
                    // More than one flat throw holds itself.
                    let may_open = notation.len() == 1 || form == Form::Sliding;
                    let holds = tied.comes_loose.is_none() || may_open;
                    let found = (&*reading.notation, reading.form, reading.clear, holds, tied.stands_open);
                    if found == (notation, Some(form), true, true, false) {
                        return None;
                    }
                    let (loose, open) = (tied.comes_loose, tied.stands_open);
                    format!("{} {:?} {:?} {loose:?}, open: {open}", reading.notation, reading.form, reading.reason)
                }
                Err(untied) => untied.to_string(),
            };
            Some(format!("{notation} {name} {form:?}: {found}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The longest way along the post of a sliding knot, between its first touch of the winder and its last, on which the winder is
/// nowhere near [mm].
fn bare_post(curve: &StitchCurve, post: Limb, near: f64) -> f64 {
    let limbs = [&curve.points[..=curve.loop_start], &curve.points[curve.loop_end..]].map(|limb| {
        // In steps of a tenth of a millimetre, from either end.
        let between = |pair: &[DVec3]| (0..4).map(|k| pair[0].lerp(pair[1], f64::from(k) / 4.0)).collect::<Vec<_>>();
        limb.windows(2).flat_map(between).collect::<Vec<DVec3>>()
    });
    let (post, winder) = match post {
        Limb::A => (&limbs[0], &limbs[1]),
        Limb::B => (&limbs[1], &limbs[0]),
    };
    let (mut along, mut last, mut bare) = (0.0, None, 0.0_f64);
    for pair in post.windows(2) {
        along += pair[0].distance(pair[1]);
        if winder.iter().any(|place| place.distance(pair[1]) < near) {
            bare = bare.max(last.map_or(0.0, |last| along - last));
            last = Some(along);
        }
    }
    bare
}

#[test]
fn hitches_are_run_down_to_each_other() {
    // Common practice, no source. Tolerance: 15 diameters of thread stand for the open turns of a stiff one; hitches that are drawn
    // close where they are wound lock 25 and more apart.
    let cases = [("1=1", "silk"), ("1=1", "chromic gut"), ("1x1", "nylon"), ("1x1x1", "polyglactin 910")];
    for (notation, name) in &cases[..usize::try_from(runs([1, 2, cases.len() as u64])).expect("it is small")] {
        let tied = thrown(notation, name, Form::Sliding, 2000.0).expect("it is thrown");
        let diameter = 2.0 * material::find(name, "4-0", true).expect("it is known").section.radius;
        let post = read(&tied.curve).post.expect("it slides");
        let bare = bare_post(&tied.curve, post, 1.5 * diameter);
        assert!(bare < 15.0 * diameter, "{notation} in {name}: {bare:.2} mm of bare post");
    }
}

#[test]
fn a_sliding_knot_holds_less_than_the_same_throws_laid_flat() {
    // Silver, Wu, Grady & Song 2016, J. Oral Maxillofac. Surg.: square above sliding in each of these materials. An order has
    // no tolerance; here it is a factor of 70 and more.
    let cases = [("1=1", "silk"), ("1=1=1", "chromic gut"), ("1=1", "polyglactin 910"), ("1=1", "nylon")];
    for (notation, name) in &cases[..usize::try_from(runs([1, 2, cases.len() as u64])).expect("it is small")] {
        let section = material::find(name, "4-0", true).expect("it is known").section;
        let [flat, sliding] = [Form::Flat, Form::Sliding].map(|form| {
            let tied =
                thrown(notation, name, form, 2000.0).unwrap_or_else(|untied| panic!("{notation} {name}: {untied}"));
            // What comes loose by itself holds nothing.
            tied.kept.as_ref().map_or(0.0, |kept| {
                let wraps = read(&tied.curve).wraps_apart();
                let stitch = kept.stitch(&tied.curve, section, wraps).expect("it comes to rest");
                of_stitch(&stitch).expect("it is done soundly").map_or(0.0, |pull| pull.holding_force)
            })
        });
        assert!(flat > sliding && flat > 500.0, "{notation} in {name}: flat {flat} mN, sliding {sliding} mN");
    }
}

#[test]
fn one_throw_of_stiff_thread_springs_open_and_is_given_in_hand() {
    // Common practice, no source: a first throw of nylon does not stay; that is why it is wrapped twice, or held.
    let tied = thrown("1", "nylon", Form::Flat, 2000.0).expect("it is thrown");
    assert_eq!(tied.comes_loose.as_deref(), Some("no throw"));
    assert_eq!(read(&tied.curve).notation, "1");
}

#[test]
fn a_knot_that_breaks_its_thread_is_no_knot_and_the_throw_is_named() {
    let untied = thrown("1", "silk", Form::Flat, 20_000.0);
    assert_eq!(
        untied.expect_err("20 N are more than silk bears").to_string(),
        "throw 1: the thread breaks while it is drawn down"
    );
}
