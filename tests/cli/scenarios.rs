//! `scenario check`: files in order, files that are not, files that are not there.

use super::{call, path, scratch};
use knotwright::scenario::{parse, read};
use std::fs;

#[test]
fn shipped_scenarios_are_in_order() {
    let checked = call(&["scenario", "check", "scenarios/first_stitch.ron", "scenarios/triple_first_throw.ron"]);
    assert_eq!(checked.code, 0, "{}", checked.err);
    assert_eq!(checked.out.lines().count(), 2, "{}", checked.out);
    assert!(checked.out.contains("2=1=1") && checked.out.contains("3=1=1"), "{}", checked.out);
}

#[test]
fn every_invalid_scenario_is_refused_with_code_3_and_all_its_problems() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/scenario_invalid");
    let mut refused = 0;
    for entry in fs::read_dir(folder).expect("the folder exists") {
        let name = entry.expect("it can be listed").file_name().into_string().expect("an ASCII name");
        let file = format!("tests/scenario_invalid/{name}");
        let text = fs::read_to_string(format!("{folder}/{name}")).expect("it can be read");
        let checked = call(&["scenario", "check", &file]);
        for problem in read(&file, &text).problems.0 {
            assert!(checked.err.contains(&problem.to_string()), "{file} lacks {problem}:\n{}", checked.err);
        }
        if parse(&file, &text).is_err() {
            assert_eq!((checked.code, checked.out.as_str()), (3, ""), "{file}: {}", checked.err);
            refused += 1;
        } else {
            // A warning refuses nothing; what cannot begin is refused later.
            assert!(matches!(checked.code, 0 | 3) && checked.err.contains("warning"), "{file}: {}", checked.err);
        }
    }
    assert!(refused >= 22, "{refused} invalid scenarios");
}

#[test]
fn one_bad_file_among_good_ones_decides_the_code_and_the_good_ones_are_still_named() {
    let files = ["scenario", "check", "scenarios/no_such.ron", "scenarios/first_stitch.ron"];
    let checked = call(&files);
    assert_eq!(checked.code, 3);
    assert!(checked.err.contains("no_such.ron") && checked.out.contains("in order"), "{}{}", checked.out, checked.err);
}

#[test]
fn a_mistake_in_the_demonstration_is_named_by_its_line() {
    let scenario = scratch("bad_demonstration.ron");
    let text = include_str!("../../scenarios/first_stitch.ron").replace("hands/first_stitch.hands", "bad.hands");
    fs::write(&scenario, text).expect("the scratch folder is writable");
    fs::write(scratch("bad.hands"), "say Hello\njuggle speed 3 mm/s\n").expect("the scratch folder is writable");
    let checked = call(&["scenario", "check", path(&scenario)]);
    assert_eq!(checked.code, 3);
    assert!(checked.err.contains("bad.hands:2: ") && checked.err.contains("juggle"), "{}", checked.err);
}

#[test]
fn numbers_that_no_criterion_takes_are_refused_by_their_place() {
    let scenario = scratch("wide_band.ron");
    let shipped = include_str!("../../scenarios/first_stitch.ron");
    let text = shipped.replace("\"outside_mm\": (full: 0.0, zero: 2.0)", "\"outside_mm\": (full: 0.0, zero: 12.0)");
    assert_ne!(text, shipped);
    fs::write(&scenario, text).expect("the scratch folder is writable");
    let checked = call(&["scenario", "check", path(&scenario)]);
    assert_eq!(checked.code, 3);
    assert!(checked.err.contains("rubric.criteria[6].bands.outside_mm.zero` is 12"), "{}", checked.err);
}
