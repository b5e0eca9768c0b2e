//! A scenario as a form has it: what is read is what is written, and every change leaves all else alone.

use knotwright::scenario::{Change, Control, Draft, Edit, Problem, Row, parse, read};

const FIRST: &str = include_str!("../../scenarios/first_stitch.ron");

fn edit(path: &str, change: Change) -> Edit {
    Edit { path: path.to_owned(), change }
}

/// The row at a path.
fn row(rows: &[Row], path: &str) -> Option<Row> {
    let own = rows.iter().find(|row| row.path == path).cloned();
    own.or_else(|| rows.iter().find_map(|inner| row(inner.rows(), path)))
}

fn problems(text: &str) -> Vec<Problem> {
    read("x", text).problems.0
}

#[test]
fn every_shipped_scenario_is_written_as_it_was_read() {
    let mut count = 0;
    for file in std::fs::read_dir("scenarios").expect("they are there").flatten() {
        let name = file.path().display().to_string();
        if !name.ends_with(".ron") {
            continue;
        }
        let text = std::fs::read_to_string(&name).expect("it can be read");
        // One that extends another is put together first, which is tried elsewhere.
        let Ok(scenario) = parse(&name, &text) else { continue };
        let written = Draft::read(&text).text(&["A head.".to_owned()]);
        assert!(written.starts_with("// A head.\n(\n"), "{written}");
        assert_eq!(parse(&name, &written).unwrap_or_else(|problems| panic!("{problems}\n{written}")), scenario);
        assert_eq!(Draft::read(&written), Draft::read(&text), "{name} is another one when it is read again");
        let longest = written.lines().map(|line| line.chars().count()).max().unwrap_or_default();
        assert!(longest < 200, "{name} has a line of {longest} characters");
        count += 1;
    }
    assert!(count >= 1, "nothing was tried");
}

#[test]
fn a_form_has_a_row_for_every_field_that_is_to_be_chosen() {
    let rows = Draft::read(FIRST).rows(&[]);
    for path in ["title", "site.flap.thickness_mm", "task.throws[1].wraps", "rubric.criteria[0].id", "start"] {
        assert!(row(&rows, path).is_some(), "no `{path}`");
    }
    assert!(row(&rows, "format").is_none(), "there is nothing to choose");
    let tooth = row(&rows, "site.tooth").expect("it is there");
    assert_eq!(tooth.control, Some(Control::Number("35".to_owned())));
    assert!(tooth.allowed == "whole numbers 11 to 48" && tooth.hint.contains("ISO 3950"), "{tooth:?}");
    let left_out = row(&rows, "start").expect("it is there");
    assert!(left_out.optional && left_out.control.is_none(), "{left_out:?}");
}

#[test]
fn every_problem_of_a_value_stands_at_its_row() {
    let mut draft = Draft::read(FIRST);
    for (path, typed) in [("site.tooth", "95"), ("task.throws[1].wraps", "two"), ("rubric.criteria[0].weight", "-1")] {
        draft.apply(&edit(path, Change::Number(typed.to_owned())));
    }
    draft.apply(&edit("site.edge_gap_mm", Change::Part(0, "99".to_owned())));
    let found = problems(&draft.text(&[]));
    let rows = draft.rows(&found);
    assert_eq!(found.len(), 4, "{found:?}");
    for problem in &found {
        let row = row(&rows, &problem.field).unwrap_or_else(|| panic!("no row for {problem}"));
        assert_eq!(row.problems.len(), 1, "{row:?}");
    }
    assert_eq!(rows.iter().map(Row::problem_count).sum::<usize>(), 4);
}

#[test]
fn whatever_is_typed_for_a_number_leaves_the_rest_readable() {
    for typed in ["", "1) x", "1 2", "\"", "// x", "(", "nan", "1e999", "0x1f", "12,5"] {
        let mut draft = Draft::read(FIRST);
        draft.apply(&edit("thread.length_mm", Change::Number(typed.to_owned())));
        let found = problems(&draft.text(&[]));
        assert_eq!(found.len(), 1, "{typed}: {found:?}");
        assert_eq!(found[0].field, "thread.length_mm", "{typed}");
    }
}

#[test]
fn whatever_is_written_in_words_is_read_again() {
    for words in ["a \"quoted\" word", "back\\slash", "two\nlines", "  many   spaces  ", "ü – 35", "// no comment"] {
        let mut draft = Draft::read(FIRST);
        let long = format!("{words} {}{}", "word ".repeat(60), "wide   spaces ".repeat(40));
        draft.apply(&edit("title", Change::Text(words.to_owned())));
        draft.apply(&edit("case_text", Change::Text(long.clone())));
        let scenario = parse("x", &draft.text(&[])).unwrap_or_else(|problems| panic!("{words}: {problems}"));
        assert_eq!((scenario.title.as_str(), scenario.case_text), (words, long));
    }
}

#[test]
fn lists_maps_and_fields_that_may_be_left_out_grow_and_shrink() {
    let mut draft = Draft::read(FIRST);
    let last = parse("x", FIRST).expect("it is shipped").task.throws.len() - 1;
    draft.apply(&edit(&format!("task.throws[{last}].wraps"), Change::Number("3".to_owned())));
    draft.apply(&edit("task.throws", Change::Add));
    let throws = parse("x", &draft.text(&[])).expect("it is in order").task.throws;
    assert!(throws.len() == last + 2 && throws[last + 1] == throws[last] && throws[last].wraps == 3, "{throws:?}");
    let mut draft = Draft::read(FIRST);
    let before = draft.clone();
    draft.apply(&edit("rubric.critical", Change::Add));
    assert_ne!(draft, before);
    let last = parse("x", FIRST).expect("it is shipped").rubric.critical.len();
    draft.apply(&edit("rubric.critical", Change::Remove(last)));
    assert_eq!(draft, before);
    draft.apply(&edit("aids", Change::Given(false)));
    draft.apply(&edit("aids", Change::Given(true)));
    let aids = parse("x", &draft.text(&[])).expect("it is in order").aids;
    assert!(aids.gauges && aids.throws, "{aids:?}");
    draft.apply(&edit("rubric.criteria[0].bands", Change::AddNamed("odd".to_owned())));
    let found = problems(&draft.text(&[]));
    assert!(found.iter().any(|problem| problem.field.contains("odd") || problem.hint.contains("odd")), "{found:?}");
    draft.apply(&edit("rubric.criteria[0].bands", Change::RemoveNamed("odd".to_owned())));
    assert!(problems(&draft.text(&[])).is_empty());
    // What has to be there cannot be left out, and what is nowhere is not changed.
    let whole = draft.clone();
    for (path, change) in [
        ("site", Change::Given(false)),
        ("site.none", Change::Switch(true)),
        ("task.throws[9].wraps", Change::Number("1".to_owned())),
        ("task.throws", Change::Remove(9)),
        ("title", Change::Number("1".to_owned())),
        ("", Change::Add),
    ] {
        draft.apply(&edit(path, change));
        assert_eq!(draft, whole, "{path}");
    }
}
