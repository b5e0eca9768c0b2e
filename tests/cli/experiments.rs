//! Experiments: refused, carried out, written out.

use super::{call, path, scratch};
use knotwright::experiment::read;
use std::fs;

const END_LOAD: &str = "tests/physics/experiments/end_load.ron";
const EXPECT: &str = "// expect: ";

/// A file that ends in time and gives the title and the folder of this package.
fn changed(name: &str, from: &str, to: &str) -> std::path::PathBuf {
    let shipped = include_str!("../physics/experiments/end_load.ron");
    assert!(shipped.contains(from), "{from}");
    let file = scratch(name);
    fs::write(&file, shipped.replace(from, to)).expect("the scratch folder is writable");
    file
}

#[test]
fn each_malformed_experiment_is_refused_with_code_3_and_the_messages_that_it_expects() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/experiment_invalid");
    let mut names: Vec<String> = fs::read_dir(folder)
        .expect("the folder exists")
        .map(|entry| entry.expect("it can be listed").file_name().into_string().expect("an ASCII name"))
        .collect();
    names.sort();
    assert!(names.len() >= 18, "{names:?}");
    for name in names {
        let file = format!("tests/experiment_invalid/{name}");
        let text = fs::read_to_string(format!("{folder}/{name}")).expect("it can be read");
        let expected: Vec<String> =
            text.lines().map_while(|line| line.strip_prefix(EXPECT)).map(|rest| format!("{file}:{rest}")).collect();
        let found: Vec<String> = read(&file, &text).problems.0.iter().map(ToString::to_string).collect();
        assert_eq!(found, expected, "{name}:\n{}", found.join("\n"));
        let refused = call(&["experiment", &file]);
        assert_eq!((refused.code, refused.out.as_str()), (3, ""), "{name}: {}", refused.err);
        assert_eq!(refused.err.trim_end(), expected.join("\n"), "{name}");
    }
}

#[test]
fn an_experiment_that_comes_out_ends_with_0_and_writes_rows_and_a_figure() {
    let (csv, figure) = (scratch("end_load.csv"), scratch("end_load.svg"));
    let done = call(&["experiment", END_LOAD, "--csv", path(&csv), "--plot", path(&figure)]);
    assert_eq!(done.code, 0, "{}{}", done.out, done.err);
    assert_eq!(done.out.lines().filter(|line| line.contains("  met ")).count(), 2, "{}", done.out);
    let csv = fs::read_to_string(csv).expect("it was written");
    let mut lines = csv.lines();
    assert_eq!(lines.next(), Some("time_ms,cause,stretch_mm,strain,force_n,mean_strain"));
    assert!(lines.all(|line| line.split(',').count() == 6), "{csv}");
    assert!(csv.contains("\n3000,end,23.43"), "{csv}");
    let figure = fs::read_to_string(figure).expect("it was written");
    assert!(figure.starts_with("<svg") && figure.contains("strain") && figure.contains("force [N]"), "{figure}");
}

#[test]
fn the_json_is_one_object_with_units_in_its_keys() {
    let done = call(&["experiment", END_LOAD, "--json"]);
    let object: serde_json::Value = serde_json::from_str(&done.out).expect("it is JSON");
    assert_eq!(object["met"], true);
    assert!((object["rows"][30]["force_n"].as_f64().expect("a number") - 5.0).abs() < 1e-6);
    let keys: Vec<&str> = object["expect"][0].as_object().expect("an object").keys().map(String::as_str).collect();
    for key in ["column", "value", "allowed", "found", "met", "law", "source", "reason"] {
        assert!(keys.contains(&key), "{key}: {keys:?}");
    }
}

#[test]
fn an_expectation_that_is_not_met_ends_with_7_and_says_the_figures() {
    let file = changed("not_met.ron", "axial_stiffness_n: 32.0", "axial_stiffness_n: 40.0");
    for arguments in [vec!["experiment", path(&file)], vec!["experiment", path(&file), "--quiet"]] {
        let done = call(&arguments);
        assert_eq!(done.code, 7, "{}", done.err);
        let text = done.out + &done.err;
        assert!(text.contains("NOT MET  mean_strain at end is 0.125000, expected 0.15625 +- 0.000156"), "{text}");
    }
}

#[test]
fn rows_of_before_stay_when_an_experiment_cannot_be_laid() {
    let text = fs::read_to_string(END_LOAD).expect("it is shipped");
    let start = text.find("threads: [(").expect("it has threads") + "threads: [".len();
    let end = start + text[start..].find(")]").expect("the list ends") + 1;
    let other = text[start..end].replace("name: \"", "name: \"other_").replace("(0, 0, 0)", "(150, 0, 0)");
    let other = other.replace("to_mm: (150, 0, 0)", "to_mm: (300, 0, 0)");
    assert!(other.contains("300"), "{other}");
    let file = scratch("two_in_one_place.ron");
    fs::write(&file, format!("{}, {other}{}", &text[..end], &text[end..])).expect("the scratch folder is writable");
    let csv = scratch("before.csv");
    fs::write(&csv, "rows of before").expect("the scratch folder is writable");
    let refused = call(&["experiment", path(&file), "--csv", path(&csv)]);
    assert_eq!(refused.code, 3, "{}", refused.err);
    assert!(refused.err.contains("begins in the very place"), "{}", refused.err);
    assert_eq!(fs::read_to_string(csv).expect("it is there"), "rows of before");
}

#[test]
fn a_quiet_experiment_that_comes_out_says_nothing() {
    let done = call(&["experiment", END_LOAD, "--quiet"]);
    assert_eq!((done.code, done.out.as_str(), done.err.as_str()), (0, "", ""));
}

#[test]
fn points_are_read_beside_the_experiment_and_a_bad_table_is_named_by_line() {
    let from = "Straight(from_mm: (0, 0, 0), to_mm: (150, 0, 0))";
    let file = changed("points.ron", from, "Points(file: \"points.csv\")");
    let table = scratch("points.csv");
    fs::write(&table, "x_mm,y_mm,z_mm\n0,0,0\n50,0,0\n150,0,0\n").expect("the scratch folder is writable");
    assert_eq!(call(&["experiment", path(&file), "--quiet"]).code, 0);
    fs::write(&table, "x_mm,y_mm,z_mm\n0,0,0\n50,0\n").expect("the scratch folder is writable");
    let refused = call(&["experiment", path(&file)]);
    assert_eq!(refused.code, 3);
    assert!(refused.err.contains("points.csv:3:1: line is \"50,0\", allowed three numbers"), "{}", refused.err);
}

#[test]
fn the_schema_names_every_field_with_what_is_allowed() {
    let schema = call(&["experiment", "schema"]);
    assert_eq!(schema.code, 0, "{}", schema.err);
    for words in ["axial_stiffness_n", "1e-6 to 1e7 N", "HoldForce", "Torus", "true, false", "Percent"] {
        let plain = words.replace("1e-6", "0.000001").replace("1e7", "10000000");
        assert!(schema.out.contains(&plain), "{plain}:\n{}", schema.out);
    }
}

#[test]
fn an_output_that_cannot_be_written_is_refused_before_the_experiment() {
    let refused = call(&["experiment", END_LOAD, "--csv", "no_such_folder/rows.csv"]);
    assert_eq!((refused.code, refused.out.as_str()), (2, ""));
    assert!(refused.err.contains("no_such_folder"), "{}", refused.err);
}
