//! The shipped scenarios parse and say what they should.

use super::{ron_files, shipped_text, whole};
use knotwright::material;
use knotwright::scenario::{Amount, Closure, KnotSide, NeedlePoint, OperatorSide, Problems, Scenario, parse};
use std::fs;

fn shipped(name: &str) -> Scenario {
    parse(name, &shipped_text(name)).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn every_shipped_scenario_reads_without_a_warning() {
    let files = ron_files("scenarios");
    assert!(files.len() >= 2, "two scenarios are shipped");
    for file in files {
        assert_eq!(whole(&file).problems, Problems::default(), "{}", file.display());
    }
}

#[test]
fn every_shipped_scenario_opens_with_its_aim_and_its_sources() {
    for file in ron_files("scenarios") {
        let text = fs::read_to_string(&file).expect("it can be read");
        assert!(text.starts_with("// Aim: "), "{}", file.display());
        assert!(text.contains("// Where the thresholds come from:"), "{}", file.display());
    }
}

#[test]
fn the_first_stitch_is_a_2_1_1_in_soaked_chromic_gut_on_the_cheek_side() {
    let scenario = shipped("first_stitch.ron");
    let Scenario { site, thread, needle, task, rubric, .. } = &scenario;
    assert_eq!((site.tooth, site.cheek), (35, OperatorSide::Far));
    assert_eq!(site.edge_gap_mm, Amount::Fixed(3.0));
    assert_eq!((thread.material.as_str(), thread.size.as_str(), thread.wet), ("chromic gut", "4-0", true));
    assert_eq!((needle.arc_eighths, needle.point), (3, NeedlePoint::ReverseCutting));
    assert_eq!(task.notation(), "2=1=1");
    assert_eq!((task.stitches, task.knot_side, task.closure), (1, KnotSide::Cheek, Closure::OpenHealing));
    assert!((task.bite_mm.middle() - 2.5).abs() < 1e-12);
    assert!(rubric.criteria.iter().any(|item| item.id == "blanching" && item.weight > 0.0));
    assert!(scenario.checks_site());
    assert_eq!(rubric.critical, ["wrong_site", "tear_through", "knot_undone", "thread_broken", "physically_invalid"]);
    assert_eq!(scenario.demonstration, "hands/first_stitch.hands");
}

#[test]
fn the_triple_first_throw_is_a_3_1_1_in_plain_gut() {
    let scenario = shipped("triple_first_throw.ron");
    assert_eq!(scenario.task.notation(), "3=1=1");
    assert_eq!((scenario.thread.material.as_str(), scenario.thread.size.as_str()), ("plain gut", "3-0"));
}

#[test]
fn every_shipped_thread_has_a_known_material() {
    for file in ron_files("scenarios") {
        let thread = whole(&file).scenario.expect("it is in order").thread;
        assert!(material::find(&thread.material, &thread.size, thread.wet).is_some(), "{}", file.display());
    }
}

#[test]
fn a_needle_of_19_mm_and_three_eighths_spans_14_9_mm() {
    // 2 R sin(67.5 deg) with R = 19 mm / (3/4 pi) = 8.06 mm, by hand to 0.1 mm.
    let needle = shipped("first_stitch.ron").needle;
    assert!((needle.radius_mm() - 8.06).abs() < 0.01, "{}", needle.radius_mm());
    assert!((needle.chord_mm(needle.length_mm) - 14.9).abs() < 0.05, "{}", needle.chord_mm(needle.length_mm));
}

#[test]
fn a_scenario_written_by_the_program_reads_back_as_the_same() {
    for file in ron_files("scenarios") {
        let (name, scenario) = (file.display(), whole(&file).scenario.expect("it is in order"));
        let pretty = ron::ser::PrettyConfig::default();
        for text in [ron::to_string(&scenario), ron::ser::to_string_pretty(&scenario, pretty)] {
            let text = text.expect("every scenario can be written");
            assert_eq!(parse("written", &text).as_ref(), Ok(&scenario), "{name}");
        }
    }
}

#[test]
fn a_scenario_with_named_structs_raw_text_and_comments_reads_as_the_same() {
    let text = shipped_text("first_stitch.ron").replace("First stitch", "First \\\"stitch\\\"");
    let dressed = text
        .replace("site: (", "site: Site( /* a comment /* in a comment */ */")
        .replace("\"chromic gut\"", "r#\"chromic gut\"#")
        .replace("140.0", "1_40.0");
    let dressed = format!("#![type = \"knotwright::scenario::Scenario\"]\n{dressed}");
    let plain = parse("plain", &text);
    assert_eq!(plain.as_ref().map(|scenario| scenario.title.as_str()), Ok("First \"stitch\" over a grafted socket"));
    assert_eq!(parse("dressed", &dressed), plain);
}
