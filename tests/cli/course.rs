//! The course: every shipped scenario has its aim, its place, hands that pass and hands that fail on what it is about.

use super::tied::{case, marked};
use super::{call, path, scratch};
use knotwright::input::script;
use knotwright::scenario::Level;
use std::fs;

/// Every shipped scenario, in the order of the course, and what its fault fails on.
const COURSE: &[(&str, Level, u8, &str)] = &[
    ("one_throw", Level::Lesson, 1, "throws"),
    ("double_first_throw", Level::Lesson, 2, "throws"),
    ("square_or_granny", Level::Lesson, 3, "laid_square"),
    ("snug_without_paling", Level::Lesson, 4, "blanching"),
    ("knot_aside", Level::Lesson, 5, "knot_aside"),
    ("first_stitch", Level::Lesson, 6, "laid_square"),
    ("three_stitches", Level::Lesson, 7, "spacing"),
    ("thin_gum", Level::Lesson, 8, "blanching"),
    ("assessment_one_stitch", Level::Assessment, 1, "knot_aside"),
    ("assessment_thin_gum", Level::Assessment, 2, "blanching"),
    ("assessment_three_stitches", Level::Assessment, 3, "spacing"),
    ("drill_silk", Level::Drill, 1, "throws"),
    ("drill_polypropylene", Level::Drill, 2, "throws"),
    ("drill_nylon", Level::Drill, 3, "throws"),
    ("drill_chromic_gut", Level::Drill, 4, "throws"),
    ("triple_first_throw", Level::Drill, 5, "throws"),
    ("drill_polyglactin_910", Level::Drill, 6, "throws"),
    ("drill_ptfe", Level::Drill, 7, "throws"),
];

/// A criterion whose mark is no more than this is failed: half of the way, as `fails_below` of a rubric has it.
const FAILED: f64 = 0.5;

fn text(path: &str) -> String {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

#[test]
fn every_shipped_scenario_is_in_the_course_and_says_what_it_is_for() {
    let mut files: Vec<String> = fs::read_dir("scenarios")
        .expect("the folder is shipped")
        .filter_map(|entry| entry.expect("it can be listed").file_name().into_string().ok())
        .filter_map(|name| name.strip_suffix(".ron").map(str::to_owned))
        .collect();
    files.sort_unstable();
    let mut names: Vec<&str> = COURSE.iter().map(|(name, ..)| *name).collect();
    names.sort_unstable();
    assert_eq!(files, names);
    for &(name, level, number, fails) in COURSE {
        let opening: Vec<String> = text(&format!("scenarios/{name}.ron"))
            .lines()
            .map_while(|line| line.strip_prefix("//").map(str::to_owned))
            .collect();
        assert!(opening[0].starts_with(" Aim: ") && opening[0].len() > 40, "{name}: {opening:?}");
        let opening = opening.join("\n");
        assert!(opening.contains(" Where the thresholds come from:"), "{name}: {opening}");
        let scenario = case(name).scenario;
        let course = scenario.course.unwrap_or_else(|| panic!("{name} is in the course"));
        assert_eq!((course.level, course.number), (level, number), "{name}");
        let shown = !scenario.aids.names().is_empty();
        assert_eq!(shown, level != Level::Assessment, "{name}: an assessment has no aids, all else has some");
        let fault = scenario.fault.unwrap_or_else(|| panic!("{name} shows a fault"));
        assert_eq!(fault.fails, fails, "{name}");
        for hands in [&scenario.demonstration, &fault.hands] {
            let script = text(&format!("scenarios/{hands}"));
            assert!(script.starts_with("# Aim: ") && script.contains("Where the numbers come from: "), "{hands}");
            assert_eq!(script::parse(hands, &script).err(), None, "{hands}");
        }
        let checked = call(&["scenario", "check", &format!("scenarios/{name}.ron")]);
        assert_eq!(checked.code, 0, "{name}: {}", checked.err);
        let explained = call(&["scenario", "explain", name]);
        assert_eq!(explained.code, 0, "{name}: {}", explained.err);
        for words in
            [format!("The course's {course}"), "Aim: ".into(), format!("which fails on {fails}: {}", fault.hands)]
        {
            let plain = explained.out.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(plain.contains(&words), "{name}: {words}\n{}", explained.out);
        }
    }
}

#[test]
fn the_list_shows_the_course_in_its_order() {
    let listed = call(&["scenario", "list"]);
    let order: Vec<String> = (listed.out.lines())
        .filter_map(|line| line.split_once("scenarios/").and_then(|(_, rest)| rest.split_once(".ron")))
        .map(|(name, _)| name.to_owned())
        .collect();
    assert_eq!(order, COURSE.iter().map(|(name, ..)| *name).collect::<Vec<_>>(), "{}", listed.out);
    assert!(listed.out.contains("lesson 3 ") && listed.out.contains("assessment 1 "), "{}", listed.out);
}

#[test]
fn a_case_that_shows_no_fault_and_a_fault_that_is_not_there_are_told() {
    let shipped = text("scenarios/first_stitch.ron");
    let fault = "    fault: (hands: \"hands/fault_same_way.hands\", fails: \"laid_square\"),\n";
    let file = scratch("no_fault.ron");
    for (new, asked, code, words) in [
        ("", "demo", 2, "no_fault.ron shows none"),
        ("    fault: (hands: \"hands/no_such.hands\", fails: \"bite\"),\n", "check", 0, "its fault"),
    ] {
        assert!(shipped.contains(fault), "{shipped}");
        fs::write(&file, shipped.replace(fault, new)).expect("the scratch folder is writable");
        let done = match asked {
            "demo" => call(&["demo", path(&file), "--fault"]),
            _ => call(&["scenario", "check", path(&file)]),
        };
        assert_eq!((done.code, done.err.contains(words)), (code, true), "{}", done.err);
    }
    let both = call(&["demo", "--fault", "--hands", "scenarios/hands/fault_uneven.hands"]);
    assert_eq!((both.code, both.err.contains("cannot be used with")), (2, true), "{}", both.err);
}

#[test]
fn every_demonstration_passes_and_every_fault_fails_on_what_its_case_is_about() {
    if !crate::slow::wanted() {
        return;
    }
    let mut wrong = Vec::new();
    for &(name, _, _, fails) in COURSE {
        let case = case(name);
        let shown = marked(&case, &case.scenario.demonstration);
        if !shown.passed || shown.criteria.iter().any(|criterion| criterion.mark <= FAILED) {
            wrong.push(format!("{name}: its demonstration has {shown:#?}"));
        }
        let fault = &case.scenario.fault.as_ref().expect("it shows one").hands;
        let failed = marked(&case, fault);
        let mark = failed.criteria.iter().find(|criterion| criterion.id == fails).expect("it is marked").mark;
        if failed.passed || mark > FAILED || failed.criteria.iter().any(|criterion| criterion.mark < mark) {
            wrong.push(format!("{name}: its fault has {failed:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
