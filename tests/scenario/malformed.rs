//! Each malformed file is refused with the messages that its own first lines expect.
//!
//! A file opens with one `// expect: line:column: ..` comment for every message, in order; the name of the file, which
//! every message begins with, is left out.

use super::{ron_files, shipped_text};
use knotwright::scenario::{parse, read};
use std::collections::BTreeSet;
use std::fs;

const EXPECT: &str = "// expect: ";

#[test]
fn each_malformed_file_gives_its_expected_messages_and_no_other() {
    let files = ron_files("tests/scenario_invalid");
    assert!(files.len() >= 22, "{} malformed files", files.len());
    for file in files {
        let text = fs::read_to_string(&file).expect("it can be read");
        let name = file.file_name().expect("it has a name").to_string_lossy();
        let expected: Vec<String> =
            text.lines().map_while(|line| line.strip_prefix(EXPECT)).map(|rest| format!("{name}:{rest}")).collect();
        assert!(!expected.is_empty(), "{name} opens with what it expects");
        let found: Vec<String> = read(&name, &text).problems.0.iter().map(ToString::to_string).collect();
        assert_eq!(found, expected, "{name}:\n{}", found.join("\n"));
        let refused = expected.iter().any(|message| !message.contains(": warning: "));
        assert_eq!(parse(&name, &text).is_err(), refused, "{name}: an error refuses, a warning does not");
    }
}

#[test]
fn every_message_points_at_a_line_and_column_of_its_text() {
    for file in ron_files("tests/scenario_invalid") {
        let text = fs::read_to_string(&file).expect("it can be read");
        let lines: Vec<&str> = text.lines().collect();
        for problem in read("file", &text).problems.0 {
            let line = lines.get(problem.line - 1).unwrap_or(&"");
            assert!((1..=line.chars().count() + 1).contains(&problem.column), "{}: {problem}", file.display());
        }
    }
}

#[test]
fn a_text_cut_off_anywhere_is_refused_without_a_panic() {
    let text = shipped_text("first_stitch.ron");
    let end = text.trim_end().len();
    for cut in (0..end).filter(|cut| text.is_char_boundary(*cut)) {
        let problems = parse("cut.ron", &text[..cut]).expect_err("a part is not a scenario");
        assert!(problems.has_errors(), "cut at {cut}");
    }
}

#[test]
fn a_text_with_any_field_left_out_says_which() {
    // Every line of the site that holds one field alone; what stands in quotes is a ramp's name.
    let text = shipped_text("first_stitch.ron");
    let mut left_out = BTreeSet::new();
    for line in text
        .lines()
        .filter(|line| line.starts_with("        ") && line.ends_with("),") && !line.trim().starts_with('"'))
    {
        let Some((field, _)) = line.trim().split_once(": ") else { continue };
        if field.starts_with('(') {
            continue;
        }
        let problems = parse("short.ron", &text.replacen(&format!("{line}\n"), "", 1)).expect_err("a field is missing");
        assert_eq!(problems.0.len(), 1, "{problems}");
        assert!(problems.0[0].field.ends_with(field) && problems.0[0].found == "missing", "{problems}");
        left_out.insert(field.to_string());
    }
    assert!(left_out.len() >= 8, "{left_out:?}");
}
