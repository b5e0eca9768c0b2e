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

#[test]
fn a_new_scenario_is_in_order_and_is_never_written_over_another_file() {
    let file = scratch("new_case.ron");
    let _ = fs::remove_file(&file);
    let made = call(&["scenario", "new", path(&file), "--from", "triple_first_throw"]);
    assert_eq!(made.code, 0, "{}", made.err);
    let text = fs::read_to_string(&file).expect("it was written");
    assert!(text.starts_with("// Made from scenarios/triple_first_throw.ron.") && text.contains("// Aim: "), "{text}");
    let shipped = parse("shipped", include_str!("../../scenarios/triple_first_throw.ron"));
    assert_eq!(parse("new", &text), shipped);
    // Its demonstration is found among the shipped ones.
    let checked = call(&["scenario", "check", path(&file)]);
    assert_eq!((checked.code, checked.err.as_str()), (0, ""), "{}", checked.out);
    let again = call(&["scenario", "new", path(&file)]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("it is there already"), "{}", again.err);
    assert_eq!(fs::read_to_string(&file).expect("it is still there"), text);
    let nowhere = call(&["scenario", "new", path(&scratch("never.ron")), "--from", "no_such_case"]);
    assert_eq!(nowhere.code, 3);
    assert!(nowhere.err.contains("no_such_case: no such file, and no shipped scenario"), "{}", nowhere.err);
    assert!(!scratch("never.ron").exists());
}

#[test]
fn a_scenario_that_extends_a_shipped_one_is_checked_and_explained_as_a_whole() {
    let file = scratch("extending.ron");
    let text = "// Aim: the same with a thinner flap.\n(\n    format: 1,\n    extends: \"first_stitch.ron\",\n    \
                title: \"Thin\",\n    site: (flap: (thickness_mm: Range(0.8, 1.1))),\n)\n";
    fs::write(&file, text).expect("the scratch folder is writable");
    let checked = call(&["scenario", "check", path(&file)]);
    assert_eq!((checked.code, checked.err.as_str()), (0, ""));
    assert!(checked.out.contains("in order: Thin, 2=1=1"), "{}", checked.out);
    let explained = call(&["scenario", "explain", path(&file)]);
    assert_eq!(explained.code, 0, "{}", explained.err);
    for words in [
        "Tooth 35 (lower left second premolar) is lost",
        "0.8 to 1.1 mm thick",
        "140 mm of soaked chromic gut 4-0",
        "1 stitch, tied 2=1=1: 2 wraps away, 1 wrap toward, 1 wrap away",
        "An attempt passes with 70 of 100 points",
        "blanching: ",
        "pale_area_mm2: full mark at 3, none at 20",
        "Source: ",
        "tear_through: A slit ran",
        "the thickness of the flaps, 0.8 to 1.1 mm; seed 35 gives ",
        "Aim: the same with a thinner flap.",
    ] {
        // Sentences are broken over lines.
        let plain = explained.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(plain.contains(words), "{words}:\n{}", explained.out);
    }
    fs::write(&file, text.replace("first_stitch.ron", "no_such.ron")).expect("the scratch folder is writable");
    let refused = call(&["scenario", "check", path(&file)]);
    assert_eq!((refused.code, refused.out.as_str()), (3, ""));
    let lines: Vec<&str> = refused.err.lines().collect();
    assert!(
        lines[0].contains("extending.ron:4:14: extends is \"no_such.ron\", allowed a scenario that is there"),
        "{lines:?}"
    );
    assert!(lines[1].ends_with("extends: \"no_such.ron\",") && lines[2].trim_end().ends_with('^'), "{lines:?}");
}

#[test]
fn the_list_names_every_scenario_of_a_folder_and_those_that_are_not_in_order() {
    let listed = call(&["scenario", "list"]);
    assert_eq!((listed.code, listed.err.as_str()), (0, ""));
    for words in ["scenarios/first_stitch.ron", "1 x 2=1=1", "3 x 2=1=1", "plain gut 3-0", "a first single stitch over"]
    {
        assert!(listed.out.contains(words), "{words}:\n{}", listed.out);
    }
    let folder = scratch("cases");
    fs::create_dir_all(&folder).expect("the scratch folder is writable");
    fs::write(folder.join("bad.ron"), "(format: 1)").expect("the scratch folder is writable");
    fs::write(folder.join("good.ron"), include_str!("../../scenarios/first_stitch.ron")).expect("it is writable");
    let listed = call(&["scenario", "list", path(&folder)]);
    assert_eq!(listed.code, 3);
    assert!(listed.err.contains("bad.ron: not in order") && listed.out.contains("good.ron"), "{}", listed.err);
}

#[test]
fn the_schema_of_scenarios_is_printed() {
    let schema = call(&["scenario", "schema"]);
    assert_eq!(schema.code, 0, "{}", schema.err);
    for words in ["extends?", "edge_gap_mm", "0 to 12 mm", "slit_mm", "tear_through", "chromic gut"] {
        assert!(schema.out.contains(words), "{words}:\n{}", schema.out);
    }
}
