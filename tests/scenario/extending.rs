//! Scenarios that take all of another and change only what they name.

use super::shipped_text;
use knotwright::record::scenario_hash;
use knotwright::scenario::{Amount, Direction, Reading, Scenario, Source, parse, read, read_extending};

/// Reads the first of some texts; what it extends is looked for among all of them.
fn read_first(texts: &[(&str, &str)]) -> Reading {
    let source = |(name, text): &(&str, &str)| Source { name: (*name).into(), text: (*text).into() };
    read_extending(&source(&texts[0]), &mut |from, asked| {
        let found = texts.iter().find(|(name, _)| *name == asked);
        found.map(source).ok_or_else(|| format!("no such file beside {}", from.name))
    })
}

/// The scenario of the first text, with `first.ron` at hand.
fn extended(text: &str) -> Scenario {
    let reading = read_first(&[("mine.ron", text), ("first.ron", &shipped_text("first_stitch.ron"))]);
    assert!(reading.problems.0.is_empty(), "{}", reading.problems);
    reading.scenario.expect("it is in order")
}

fn first() -> Scenario {
    parse("first.ron", &shipped_text("first_stitch.ron")).expect("it is shipped")
}

fn messages(texts: &[(&str, &str)]) -> Vec<String> {
    let reading = read_first(texts);
    assert_eq!(reading.scenario, None, "{texts:?}");
    reading.problems.0.iter().map(ToString::to_string).collect()
}

#[test]
fn what_is_not_named_stays_and_what_is_named_is_changed_however_deep_it_stands() {
    let same = extended("(format: 1, extends: \"first.ron\")");
    assert_eq!(same, first());
    let changed = extended(
        "(format: 1, extends: \"first.ron\", title: \"Thinner\", \
         site: (flap: (thickness_mm: Range(0.8, 1.1)), cheek: Near), task: (tail_mm: (max: 6.0)))",
    );
    let mut expected = first();
    expected.title = "Thinner".into();
    expected.site.flap.thickness_mm = Amount::Range(0.8, 1.1);
    expected.site.cheek = knotwright::scenario::OperatorSide::Near;
    expected.task.tail_mm.max = 6.0;
    assert_eq!(changed, expected);
}

#[test]
fn a_list_is_replaced_as_a_whole() {
    let changed = extended(
        "(format: 1, extends: \"first.ron\", task: (throws: [(wraps: 1, direction: Away), \
         (wraps: 1, direction: Toward), (wraps: 2, direction: Away)]), \
         rubric: (criteria: [(id: \"tearing\", weight: 1.0, bands: {\"slit_mm\": (full: 0.0, zero: 2.0)})]), \
         fault: (fails: \"tearing\"))",
    );
    assert_eq!(changed.task.notation(), "1=1=2");
    assert_eq!(changed.task.throws[0].direction, Direction::Away);
    assert_eq!(changed.rubric.criteria.len(), 1);
    assert_eq!(changed.rubric.critical, first().rubric.critical, "the list beside it stays");
}

#[test]
fn a_scenario_may_extend_one_that_extends_another() {
    let base = shipped_text("first_stitch.ron");
    let reading = read_first(&[
        ("c.ron", "(format: 1, extends: \"b.ron\", seed: 3)"),
        ("b.ron", "(format: 1, extends: \"a.ron\", seed: 2, title: \"b\")"),
        ("a.ron", &base),
    ]);
    let scenario = reading.scenario.expect("it is in order");
    assert_eq!((scenario.seed, scenario.title.as_str()), (3, "b"));
    assert_eq!(scenario.site, first().site);
    assert_eq!(reading.sources.len(), 3);
}

#[test]
fn the_text_that_is_hashed_says_all_of_it_and_changes_with_what_it_extends() {
    let mine = "(format: 1, extends: \"first.ron\", /* not 1 */ seed: 2)";
    let base = shipped_text("first_stitch.ron");
    let text = |base: &str| read_first(&[("mine.ron", mine), ("first.ron", base)]).text;
    let whole = text(&base);
    let alone = parse("alone", &whole).expect("it stands alone");
    assert_eq!(Some(alone), read_first(&[("mine.ron", mine), ("first.ron", &base)]).scenario);
    assert!(!whole.contains("extends:"), "{whole}");
    let changed = base.replace("pass_mark: 70.0", "pass_mark: 60.0");
    assert_ne!(scenario_hash(&whole), scenario_hash(&text(&changed)), "another pass mark in what it extends");
    let commented = format!("// Another aim.\n{base}");
    assert_eq!(scenario_hash(&whole), scenario_hash(&text(&commented)), "a comment says nothing to the simulation");
    // What extends nothing is kept as it was written, comments and all.
    assert_eq!(read("first", &base).text, base);
}

#[test]
fn a_scenario_that_leads_back_or_leads_nowhere_is_refused_by_place_and_way() {
    let to = |name: &str| format!("(format: 1,\n extends: \"{name}\")");
    let allowed = "allowed a scenario that does not lead back";
    assert_eq!(
        messages(&[("a.ron", &to("a.ron"))]),
        [format!("a.ron:2:11: extends is \"a.ron\", {allowed} (a.ron extends a.ron)")]
    );
    assert_eq!(
        messages(&[("a.ron", &to("b.ron")), ("b.ron", &to("c.ron")), ("c.ron", &to("a.ron"))]),
        [format!("c.ron:2:11: extends is \"a.ron\", {allowed} (a.ron extends b.ron extends c.ron extends a.ron)")]
    );
    assert_eq!(
        messages(&[("a.ron", &to("b.ron")), ("b.ron", &to("d.ron"))]),
        ["b.ron:2:11: extends is \"d.ron\", allowed a scenario that is there (no such file beside b.ron)"]
    );
    for outside in ["../b.ron", "/b.ron", "C:/b.ron", "a/../b.ron", ""] {
        let found = messages(&[("a.ron", &to(outside))]);
        assert!(found[0].starts_with(&format!("a.ron:2:11: extends is \"{outside}\", allowed a ")), "{found:?}");
    }
    // Every step has another name, as paths written in more and more ways have.
    let steps: Vec<(String, String)> = (0..20).map(|n| (format!("{n}.ron"), to(&format!("{}.ron", n + 1)))).collect();
    let steps: Vec<(&str, &str)> = steps.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let found = messages(&steps);
    assert_eq!(found, ["7.ron:2:11: extends is \"8.ron\", allowed 8 scenarios in a row at most (they may lead back)"]);
}

#[test]
fn each_problem_names_the_file_it_is_in_and_all_are_named_at_once() {
    let base = shipped_text("first_stitch.ron").replace("tooth: 35", "tooth: 50").replace("seed: 35", "sed: 35");
    let line = |text: &str, of: &str| 1 + text.lines().position(|line| line.contains(of)).expect("it is there");
    let mine = "(\n    format: 1,\n    extends: \"base.ron\",\n    title: 7,\n)";
    let found = messages(&[("mine.ron", mine), ("base.ron", &base)]);
    let begins = [
        // The whole is the scenario that was asked for.
        "mine.ron:1:1: seed is missing".to_owned(),
        "mine.ron:4:12: title is 7".to_owned(),
        format!("base.ron:{}:5: sed is an unknown field", line(&base, "sed: 35")),
        format!("base.ron:{}:16: site.tooth is 50", line(&base, "tooth: 50")),
    ];
    assert_eq!(found.len(), begins.len(), "{found:#?}");
    for (message, begin) in found.iter().zip(&begins) {
        assert!(message.starts_with(begin.as_str()), "{message}\n{begin}");
    }
    // What is wrong in the other one and is replaced does no harm.
    let mended = "(format: 1, extends: \"base.ron\", site: (tooth: 36))";
    let wrong_tooth = shipped_text("first_stitch.ron").replace("tooth: 35", "tooth: 50");
    let reading = read_first(&[("mine.ron", mended), ("base.ron", &wrong_tooth)]);
    assert_eq!(reading.scenario.map(|scenario| scenario.site.tooth), Some(36));
}

#[test]
fn a_rule_between_fields_of_two_files_is_checked() {
    let base = shipped_text("first_stitch.ron");
    // 7.5 + 2 * 2.5 mm stand in the other file.
    let found = messages(&[
        ("mine.ron", "(format: 1, extends: \"b.ron\",\nsite: (edge_gap_mm: Fixed(8.7), membrane: (overlap_mm: 0.5)))"),
        ("b.ron", &base),
    ]);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].starts_with("mine.ron:2:21: site.edge_gap_mm is 8.7 mm, allowed less than 8.5 mm"), "{found:?}");
}

#[test]
fn a_syntax_error_in_what_is_extended_is_the_one_that_is_named_and_nothing_is_said_to_be_missing() {
    let found = messages(&[("mine.ron", "(format: 1, extends: \"b.ron\")"), ("b.ron", "(format: 1,\n  title \"x\")")]);
    assert_eq!(found, ["b.ron:2:9: scenario is continued with `\"`, allowed `:`".replace("continued with ", "")]);
    let strange = shipped_text("first_stitch.ron").replace("title: \"First", "title: \"\\qFirst");
    let found = messages(&[("mine.ron", "(format: 1, extends: \"b.ron\", seed: 2)"), ("b.ron", &strange)]);
    let line = 1 + strange.lines().position(|line| line.contains("title:")).expect("it is there");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].starts_with(&format!("b.ron:{line}:12: title is not RON: ")), "{found:?}");
    let newer = messages(&[("mine.ron", "(format: 1, extends: \"b.ron\")"), ("b.ron", "(format: 2)")]);
    assert!(newer.len() == 1 && newer[0].starts_with("b.ron:1:10: format is 2, allowed 1"), "{newer:?}");
}

#[test]
fn a_text_alone_finds_nothing_to_extend() {
    let reading = read("mine.ron", "(format: 1, extends: \"first_stitch.ron\")");
    assert_eq!(
        reading.problems.to_string(),
        "mine.ron:1:22: extends is \"first_stitch.ron\", allowed a scenario that is there \
         (no other scenario is at hand here)"
    );
}

#[test]
fn a_problem_shows_its_line_with_a_mark_below_the_place() {
    let base = shipped_text("first_stitch.ron").replace("tooth: 35", "tooth: 50");
    let reading = read_first(&[("mine.ron", "(format: 1, extends: \"b.ron\")"), ("b.ron", &base)]);
    let explained = reading.explained();
    let lines: Vec<&str> = explained.lines().collect();
    assert_eq!(lines.len(), 3, "{explained}");
    assert!(lines[1].ends_with(" |         tooth: 50,"), "{explained}");
    assert_eq!(lines[2].find('^'), lines[1].find("50"), "{explained}");
    // A place far to the right of a long line stays in sight.
    let long = format!("(format: 1, {}extends: 7)", " ".repeat(5000));
    let explained = read("x", &long).explained();
    assert!(
        explained.lines().all(|line| line.chars().count() < 300) && explained.contains("extends: 7"),
        "{explained}"
    );
}
