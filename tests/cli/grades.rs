//! `grade`: a folder of recordings, some of which are not what they should be.

use super::attempts::recorded;
use super::{call, path, scratch};
use serde_json::Value;
use std::fs;
use std::path::PathBuf;

/// A folder with one good recording, one with a byte changed, one cut off within its header, one of words, and notes.
fn class() -> PathBuf {
    let (good, _) = recorded("of_a_class");
    let folder = scratch("class");
    fs::create_dir_all(folder.join("b")).expect("the scratch folder is writable");
    let bytes = fs::read(good).expect("it was written");
    // Its last block.
    let late = bytes.len() - 40;
    let mut flipped = bytes.clone();
    flipped[late] ^= 1;
    for (name, content) in [
        ("a.attempt", bytes.as_slice()),
        ("b/flipped.attempt", flipped.as_slice()),
        ("c.attempt", &bytes[..20]),
        ("d.attempt", b"no recording"),
        ("notes.txt", b"of the instructor"),
    ] {
        fs::write(folder.join(name), content).expect("the scratch folder is writable");
    }
    folder
}

fn parsed(text: &str) -> Vec<Value> {
    serde_json::from_str::<Value>(text).expect("exactly one list").as_array().expect("a list").clone()
}

#[test]
fn a_bad_recording_stops_no_other_and_gets_no_marks() {
    let folder = class();
    let graded = call(&["grade", path(&folder), "--json"]);
    assert_eq!(graded.code, 5, "not all are verified: {}", graded.err);
    let grades = parsed(&graded.out);
    let told: Vec<(&str, bool)> =
        grades.iter().map(|grade| (grade["status"].as_str().expect("a word"), grade["total"].is_number())).collect();
    assert_eq!(told, [("verified", true), ("damaged", false), ("unreadable", false), ("unreadable", false)]);
    assert_eq!(grades[0]["criteria"].as_array().map(Vec::len), Some(7));
    assert!(
        grades[1..].iter().all(|grade| grade["passed"].is_null() && !grade["verdict"].as_str().unwrap().is_empty())
    );
    // The same bytes, however many work at once.
    assert_eq!(call(&["grade", path(&folder), "--json", "--jobs", "2"]).out, graded.out);
    let table = call(&["grade", path(&folder)]);
    assert!(table.out.contains("of 4 recordings 1 were marked, 0 passed"), "{}", table.out);
}

#[test]
fn marks_are_those_of_a_replay_and_another_scenario_gives_none() {
    let (file, report) = recorded("graded_alone");
    let graded = call(&["grade", path(&file), "--json"]);
    assert_eq!(graded.code, 0, "{}", graded.err);
    let grade = &parsed(&graded.out)[0];
    assert_eq!((&grade["total"], &grade["passed"]), (&report["score"]["total"], &report["score"]["passed"]));
    for (mine, reported) in
        grade["criteria"].as_array().unwrap().iter().zip(report["score"]["criteria"].as_array().unwrap())
    {
        assert_eq!((&mine["id"], &mine["mark"]), (&reported["id"], &reported["mark"]));
    }
    let other = call(&["grade", path(&file), "--json", "--scenario", "scenarios/triple_first_throw.ron"]);
    assert_eq!((other.code, &parsed(&other.out)[0]["status"]), (5, &"wrong scenario".into()));
}

#[test]
fn a_folder_without_a_recording_is_refused() {
    let folder = scratch("empty_class");
    fs::create_dir_all(&folder).expect("the scratch folder is writable");
    let refused = call(&["grade", path(&folder)]);
    assert_eq!((refused.code, refused.err.contains("allowed")), (2, false));
    assert!(refused.err.contains("holds no file that ends in .attempt"), "{}", refused.err);
}
