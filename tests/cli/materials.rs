//! `material`: the list, every cell of a sheet, and what is not known.

use super::call;
use knotwright::material::{names, sizes};
use serde_json::Value;

fn parsed(arguments: &[&str]) -> Value {
    let called = call(arguments);
    assert_eq!(called.code, 0, "{arguments:?}: {}", called.err);
    serde_json::from_str(&called.out).expect("exactly one object")
}

#[test]
fn without_a_name_every_material_is_listed_with_its_sizes() {
    let list = call(&["material"]);
    assert_eq!((list.code, list.err.as_str()), (0, ""));
    let lines: Vec<&str> = list.out.lines().collect();
    assert_eq!(lines.len(), names().len());
    for (line, name) in lines.iter().zip(names()) {
        assert!(line.starts_with(name) && line.ends_with(&sizes(name).join(", ")), "{line}");
    }
    let listed = parsed(&["material", "--json"]);
    let listed: Vec<&str> =
        listed["materials"].as_array().expect("a list").iter().map(|m| m["name"].as_str().expect("a name")).collect();
    assert_eq!(listed, names());
}

#[test]
fn a_sheet_says_every_number_with_its_unit_and_its_source() {
    let sheet = call(&["material", "chromic gut", "--size", "4-0"]);
    assert_eq!((sheet.code, sheet.err.as_str()), (0, ""));
    for line in [
        "construction: twisted",
        "absorbable: yes",
        "Young's modulus: 0.3 to 1 GPa, used 0.8 GPa",
        "from_memory: handbooks; used: estimate: within a range that is weakly known",
        "friction in tissue: 0.1 to 0.4, used 0.25",
        "diameter: 0.2 to 0.249 mm, used 0.2245 mm",
        "least knot pull, mean of a batch: 7.55 N",
        "0 MPa at 0, 40 MPa at 0.05, 110 MPa at 0.15, 226 MPa at 0.325",
        "derived: E A of the round outline",
        "usp_collagen: United States Pharmacopeia",
    ] {
        assert!(sheet.out.contains(line), "{line}:\n{}", sheet.out);
    }
    assert!(sheet.out.lines().all(|line| line.chars().count() <= 100), "{}", sheet.out);
    assert!(!sheet.out.contains("arce2019"), "a source that no cell of gut names");
}

#[test]
fn a_name_of_two_words_needs_no_quotes_and_dry_and_size_choose() {
    let quoted = call(&["material", "plain gut", "--dry", "--size", "3-0"]);
    let words = call(&["material", "plain", "gut", "--dry", "--size", "3-0"]);
    assert_eq!(quoted.code, 0, "{}", quoted.err);
    assert_eq!(quoted.out, words.out);
    assert!(quoted.out.contains("plain gut 3-0, dry") && !quoted.out.contains("4-0"), "{}", quoted.out);
    let all = call(&["material", "plain gut"]);
    for size in sizes("plain gut") {
        assert!(all.out.contains(&format!("plain gut {size}, wet")), "{size}:\n{}", all.out);
    }
}

/// Whether a cell has its number or numbers, and where they are from.
fn is_whole(cell: &Value) -> bool {
    let sourced = |key: &str| cell[key].as_str().is_some_and(|source| !source.is_empty());
    let one = !cell["value"].is_null();
    let range = ["low", "high", "used"].iter().all(|key| cell[key].is_number()) && sourced("used_source");
    let curve = cell["strain_and_value"].as_array().is_some_and(|points| points.len() >= 3);
    sourced("source") && (one || range || curve)
}

#[test]
fn in_json_every_cell_of_every_material_has_its_numbers_and_its_source() {
    for name in names() {
        for wetness in [None, Some("--dry")] {
            let arguments: Vec<&str> = ["material", name, "--json"].into_iter().chain(wetness).collect();
            let sheet = parsed(&arguments);
            assert_eq!((sheet["name"].as_str(), sheet["wet"].as_bool()), (Some(name), Some(wetness.is_none())));
            let rows =
                sheet["sizes"].as_array().expect("a list").iter().chain([&sheet["material"], &sheet["condition"]]);
            let mut cells = 0;
            for (key, cell) in rows.flat_map(|rows| rows.as_object().expect("cells by their keys")) {
                if key != "size" {
                    assert!(is_whole(cell), "{name} {key}: {cell}");
                    cells += 1;
                }
            }
            // 12 of material and condition each, 9 or more a size.
            assert!(cells >= 20 + 9 * sizes(name).len(), "{name}: {cells} cells");
        }
    }
    let gut = parsed(&["material", "chromic gut", "--size", "4-0", "--json"]);
    assert_eq!(gut["sizes"].as_array().map(Vec::len), Some(1));
    assert_eq!(gut["sizes"][0]["size"], "4-0");
    assert_eq!(gut["sizes"][0]["knot_pull_min_n"]["value"], 7.55);
    assert_eq!(gut["condition"]["young_modulus_gpa"]["used"], 0.8);
    assert!(gut["sources"]["handbooks"].is_string());
}

#[test]
fn what_is_not_known_is_refused_with_code_2_and_what_is() {
    // Arguments, and what the message has to hold.
    let cases: [(&[&str], String); 4] = [
        (&["material", "spider", "silk"], format!("NAME is \"spider silk\", allowed {}", names().join(", "))),
        (&["material", "silk", "--size", "9-0"], "--size is \"9-0\", allowed 2-0, 3-0, 4-0, 5-0, 6-0 for silk".into()),
        (&["material", "PTFE", "--size", "6-0"], "allowed 2-0, 3-0, 4-0, 5-0 for PTFE".into()),
        (&["material", "--dry"], "NAME".into()),
    ];
    for (arguments, message) in cases {
        let refused = call(arguments);
        assert_eq!((refused.code, refused.out.as_str()), (2, ""), "{arguments:?}: {}", refused.err);
        assert!(refused.err.contains(&message), "{arguments:?} does not say {message}:\n{}", refused.err);
    }
}

#[test]
fn the_help_names_the_command() {
    assert!(call(&["--help"]).out.contains("material"));
}
