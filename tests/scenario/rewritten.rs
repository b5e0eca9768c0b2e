//! A draft is written into the text that it was read from: what is not changed stays there as it stood, comments too.

use super::shipped_text;
use knotwright::scenario::{Change, Draft, Edit, Reading, Scenario, Source, parse, read_extending};

const MINE: &str = "// Aim: to be changed.
(
    format: 1, // the only one
    extends: \"first_stitch.ron\",
    // Above the seed.
    seed: 36, // beside the seed
    /* before the thread */ thread: (length_mm: 120.0 /* long */, wet: false /* dry */),
    task: (
        // Above the throws.
        throws: [
            // Above the first.
            (wraps: 1, direction: Away), // beside the first
            // Above the second.
            (wraps: 2, direction: Toward), // beside the second
            (wraps: 1, direction: Away) // beside the third
        ],
    ),
    // Above the end.
)
// Below it.
";

/// A text of the scenarios' folder with all that it extends.
fn read(text: &str) -> Reading {
    let source = Source { name: "mine.ron".to_owned(), text: text.to_owned() };
    read_extending(&source, &mut |_, asked| Ok(Source { name: asked.to_owned(), text: shipped_text(asked) }))
}

fn scenario(text: &str) -> Scenario {
    let reading = read(text);
    reading.scenario.unwrap_or_else(|| panic!("{}\n{text}", reading.problems))
}

/// What a text becomes by changes; `None` if it has to be written anew.
fn changed(text: &str, changes: &[(&str, Change)]) -> Option<String> {
    let before = Draft::read(&read(text).text);
    let mut draft = before.clone();
    changes.iter().for_each(|(path, change)| {
        draft.apply(&Edit { path: (*path).to_owned(), change: change.clone() });
    });
    let written = draft.text_in(text, &before)?;
    let expected = parse("all.ron", &draft.text(&[])).unwrap_or_else(|problems| panic!("{changes:?}: {problems}"));
    assert_eq!(scenario(&written), expected, "{changes:?}:\n{written}");
    Some(written)
}

fn number(text: &str) -> Change {
    Change::Number(text.to_owned())
}

/// Changes that leave every shipped scenario in order, of each kind of value and at each depth.
fn changes() -> Vec<(&'static str, Change)> {
    vec![
        ("title", Change::Text("A \"quoted\" title, // no comment".to_owned())),
        ("case_text", Change::Text("Long words. ".repeat(40))),
        ("seed", number("987")),
        ("site.cheek", Change::Choice("Near".to_owned())),
        ("site.edge_gap_mm", Change::Range(true)),
        ("site.flap.thickness_mm", Change::Part(0, "0.9".to_owned())),
        ("site.mesial_neighbour.crown_height_mm", number("9.25")),
        ("thread.length_mm", number("240")),
        ("thread.wet", Change::Switch(false)),
        ("aids", Change::Given(true)),
        ("course", Change::Given(true)),
        ("task.throws", Change::Add),
        ("task.throws[0].wraps", number("3")),
        ("task.tail_mm.max", number("5.75")),
        ("rubric.pass_mark", number("66")),
        ("rubric.criteria[0].weight", number("12.5")),
        ("rubric.critical", Change::Remove(0)),
    ]
}

fn shipped() -> Vec<(String, String)> {
    let files = std::fs::read_dir("scenarios").expect("they are there").flatten().map(|file| file.path());
    let files = files.filter(|file| file.extension().is_some_and(|extension| extension == "ron"));
    let name = |file: std::path::PathBuf| file.file_name().expect("a file has a name").to_string_lossy().into_owned();
    files.map(name).map(|name| (name.clone(), shipped_text(&name))).collect()
}

#[test]
fn every_shipped_scenario_reads_as_its_draft_after_any_change_and_after_all_of_them() {
    let shipped = shipped();
    assert!(shipped.len() > 10, "{}", shipped.len());
    for (name, text) in shipped {
        assert_eq!(changed(&text, &[]).as_ref(), Some(&text), "{name}: nothing was changed");
        for change in changes() {
            let written = changed(&text, std::slice::from_ref(&change)).expect("nothing is left out");
            // No line is lost but that of the value itself, which may be a text of several lines.
            let kept = text.lines().filter(|line| written.contains(line)).count();
            let lost = text.lines().count() - kept;
            assert!(lost <= if change.0 == "case_text" { 8 } else { 1 }, "{name}: {change:?} lost {lost}:\n{written}");
        }
        let all = changed(&text, &changes()).expect("nothing is left out");
        let comments = |text: &str| text.lines().filter(|line| line.trim_start().starts_with("//")).count();
        assert_eq!(comments(&all), comments(&text), "{name}");
        // What is written can be changed again, back to what it was.
        let (before, first) = (Draft::read(&read(&all).text), Draft::read(&read(&text).text));
        if let Some(back) = first.text_in(&all, &before) {
            assert_eq!(scenario(&back), scenario(&text), "{name}:\n{back}");
        }
    }
}

#[test]
fn comments_above_and_beside_stay_where_a_value_is_changed_and_where_it_is_not() {
    let written = changed(MINE, &[("seed", number("37")), ("task.throws[1].wraps", number("1"))]).expect("it can");
    assert_eq!(written, MINE.replacen("36", "37", 1).replacen("wraps: 2", "wraps: 1", 1));
    let written = changed(MINE, &[("thread.wet", Change::Switch(true))]).expect("it can");
    assert_eq!(written, MINE.replacen("false", "true", 1));
}

#[test]
fn a_part_that_goes_takes_its_own_comments_along_and_no_others() {
    let gone = "            // Above the second.\n            (wraps: 2, direction: Toward), // beside the second\n";
    assert!(MINE.contains(gone));
    let written = changed(MINE, &[("task.throws", Change::Remove(1))]).expect("it can");
    assert_eq!(written, MINE.replacen(gone, "", 1));
    let alone = shipped_text("first_stitch.ron");
    let last = parse("x", &alone).expect("it is shipped").rubric.critical.len() - 1;
    for (change, gone) in [
        (("rubric.critical", Change::Remove(0)), "\"wrong_site\", "),
        (("rubric.critical", Change::Remove(last)), " \"physically_invalid\""),
        (("course", Change::Given(false)), "    course: (level: Lesson, number: 6),\n"),
    ] {
        assert!(alone.contains(gone), "{gone}");
        assert_eq!(changed(&alone, &[change]).expect("it extends none"), alone.replacen(gone, "", 1));
    }
}

#[test]
fn a_part_that_comes_stands_behind_the_last_and_its_comment() {
    let last = "            (wraps: 1, direction: Away) // beside the third\n";
    let more =
        "            (wraps: 1, direction: Away), // beside the third\n            (wraps: 1, direction: Away),\n";
    assert!(MINE.contains(last));
    let written = changed(MINE, &[("task.throws", Change::Add)]).expect("it can");
    assert_eq!(written, MINE.replacen(last, more, 1));
    // In a line of others it stays in that line.
    let written = changed(MINE, &[("thread.size", Change::Text("3-0".to_owned()))]).expect("it can");
    assert_eq!(written, MINE.replacen("/* dry */", "/* dry */, size: \"3-0\"", 1));
}

#[test]
fn what_is_extended_stays_in_its_own_file() {
    let short = "(format: 1, extends: \"first_stitch.ron\", seed: 36)";
    for (change, written) in [
        (("seed", number("37")), "(format: 1, extends: \"first_stitch.ron\", seed: 37)"),
        (
            ("site.flap.height_mm", number("11.0")),
            "(format: 1, extends: \"first_stitch.ron\", seed: 36, site: (flap: (height_mm: 11.0)))",
        ),
    ] {
        assert_eq!(changed(short, &[change]).as_deref(), Some(written));
    }
    // A list is always written as a whole.
    let written = changed(short, &[("task.throws[0].wraps", number("3"))]).expect("it can");
    assert!(written.contains("task: (throws: [\n") && !written.contains("knot_side"), "{written}");
}

#[test]
fn what_a_text_cannot_say_of_the_one_it_extends_is_not_written_into_it() {
    let short = "(format: 1, extends: \"first_stitch.ron\", seed: 36)";
    assert_eq!(changed(short, &[("course", Change::Given(false))]), None);
    let alone = shipped_text("first_stitch.ron");
    let written = changed(&alone, &[("course", Change::Given(false))]).expect("it extends none");
    assert_eq!(scenario(&written).course, None);
    let before = Draft::read(&alone);
    assert_eq!(before.text_in("(format: 1, seed: ", &before), None);
}
