//! What helps to write scenarios: the printed schema, and a file to begin with.

use super::{ron_files, shipped_text, whole};
use knotwright::report::case_schema;
use knotwright::scenario::{
    BAND_RULES, CRITERION_IDS, CRITICAL_FAULT_IDS, aim, opening_comment, parse, read, template,
};
use std::fs;

/// A field of the printed schema that takes numbers: its path, and the least and the greatest.
fn printed_limits() -> Vec<(String, f64, f64)> {
    let (mut path, mut limits): (Vec<String>, _) = (Vec::new(), Vec::new());
    let schema = case_schema();
    let fields = schema.lines().skip_while(|line| !line.starts_with("format ")).take_while(|line| !line.is_empty());
    for line in fields {
        let depth = (line.len() - line.trim_start().len()) / 2;
        let (name, rest) = line.trim_start().split_once(' ').expect("a field and what it may be");
        path.truncate(depth);
        path.push(name.trim_end_matches('?').to_owned());
        let words: Vec<&str> = rest.trim_start().split([' ', ';']).collect();
        let from = words.iter().position(|word| *word == "to").filter(|_| !rest.contains("characters"));
        let number = |place: usize| words.get(place).and_then(|word| word.parse::<f64>().ok());
        if let Some((min, max)) = from.and_then(|to| Some((number(to.checked_sub(1)?)?, number(to + 1)?)))
            && !rest.trim_start().starts_with("a list")
        {
            limits.push((path.join("."), min, max));
        }
    }
    limits
}

/// The first scenario with another number in the first place where this path's last field stands inside its group.
fn with_number(path: &str, number: f64) -> String {
    let text = shipped_text("first_stitch.ron");
    let mut start = text.find("\n(").expect("the scenario begins");
    for name in path.split('.') {
        start +=
            text[start..].find(&format!("{name}: ")).unwrap_or_else(|| panic!("{path} in the text")) + name.len() + 2;
    }
    let start = if text[start..].starts_with("Fixed(") { start + 6 } else { start };
    let end = start + text[start..].find([',', ')']).expect("the number ends");
    let written = if text[start..end].contains('.') { format!("{number:?}") } else { format!("{number:.0}") };
    format!("{}{written}{}", &text[..start], &text[end..])
}

#[test]
fn the_printed_limits_are_the_ones_that_are_checked() {
    let limits = printed_limits();
    // Paths through the map of bands are the only ones whose names are not fields.
    let plain: Vec<_> = limits.iter().filter(|(path, ..)| !path.contains("bands")).collect();
    assert!(plain.len() >= 30, "{limits:?}");
    for (path, min, max) in plain {
        let step = if (max - min) > 1000.0 { 1.0 } else { 0.001f64.max(1e-3 * (max - min)) };
        let whole = !with_number(path, *min).contains(&format!("{}: {min:?}", path.rsplit('.').next().unwrap_or("")))
            && min.fract() == 0.0;
        let step = if whole { 1.0 } else { step };
        let refused = |number: f64| {
            let problems = read("x", &with_number(path, number)).problems;
            let name = path.replace("throws.", "throws[0].").replace("criteria.", "criteria[0].");
            problems
                .0
                .iter()
                .any(|problem| problem.field == name && problem.allowed.contains(&format!("{min} to {max}")))
        };
        assert!(!refused(*min) && !refused(*max), "{path}: {min} and {max} are in the schema");
        assert!(refused(min - step) && refused(max + step), "{path}: beyond {min} to {max} it is refused");
    }
}

#[test]
fn the_schema_names_every_field_band_criterion_and_fault() {
    let schema = case_schema();
    for words in ["extends?", "Fixed(x) or Range(min, max), 0 to 12 mm", "Far, Near", "\"4-0\"", "reverse cutting"] {
        assert!(schema.contains(words), "{words}:\n{schema}");
    }
    for word in CRITERION_IDS.iter().chain(CRITICAL_FAULT_IDS).chain(BAND_RULES.iter().map(|rule| &rule.band)) {
        assert!(schema.lines().any(|line| line.trim_start().starts_with(word)), "{word}:\n{schema}");
    }
    for line in schema.lines().skip_while(|line| !line.starts_with("format ")).take_while(|line| !line.is_empty()) {
        let words = line.split_whitespace().count();
        assert!(words >= 3, "a field says what it is: {line}");
    }
}

#[test]
fn a_scenario_written_out_to_be_changed_says_the_same_as_the_one_it_is_made_from() {
    for file in ron_files("scenarios") {
        let text = whole(&file).text;
        let scenario = parse("shipped", &text).expect("it is in order");
        let written = template(&text, &["Mine.".into(), String::new(), "More.".into()]);
        assert_eq!(parse("written", &written), Ok(scenario), "{written}");
        assert!(written.starts_with("// Mine.\n//\n// More.\n(\n"), "{written}");
        let longest =
            written.lines().filter(|line| line.trim_start().starts_with("//")).map(|line| line.chars().count());
        assert!(longest.max() <= Some(120), "{written}");
        for comment in ["// gap between the two flap edges", "// 60 to 70 is usual", "3 to 15 mm", "Away or Toward"] {
            assert!(written.contains(comment), "{comment}:\n{written}");
        }
    }
}

#[test]
fn every_shipped_scenario_has_an_aim() {
    for file in ron_files("scenarios") {
        let text = fs::read_to_string(&file).expect("it can be read");
        let aim = aim(&text);
        assert!(aim.len() > 40 && !aim.contains("//") && !aim.starts_with("Aim"), "{}: {aim}", file.display());
        assert!(opening_comment(&text).len() > 3, "{}", file.display());
    }
}
