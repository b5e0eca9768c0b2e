//! `history`: progress of each student, everything to take away, everything to delete.

use super::attempts::recorded_by;
use super::{call, path, scratch};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

/// A folder with two graded attempts of one student, one of another, and one that is not graded.
fn kept(name: &str) -> PathBuf {
    let folder = scratch(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(folder.join("late")).expect("the scratch folder is writable");
    recorded_by(&format!("{name}_one"), "k-17", &folder);
    recorded_by(&format!("{name}_other"), "k-170", &folder);
    let graded = call(&["grade", path(&folder), "--resume", path(&folder.join("class.findings"))]);
    assert_eq!(graded.code, 0, "{}", graded.err);
    recorded_by(&format!("{name}_late"), "k-17", &folder.join("late"));
    folder
}

/// Files below a folder that hold a text.
fn holding(folder: &Path, text: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("the folder exists") {
        let place = entry.expect("it can be listed").path();
        if place.is_dir() {
            found.extend(holding(&place, text));
        } else if fs::read(&place).expect("it can be read").windows(text.len()).any(|part| part == text.as_bytes()) {
            found.push(place);
        }
    }
    found
}

#[test]
fn progress_is_told_for_each_student_and_criterion_and_the_index_is_made_anew() {
    let folder = kept("history_shown");
    let shown = call(&["history", "--folder", path(&folder)]);
    assert_eq!(shown.code, 0, "{}", shown.err);
    for words in
        ["k-17: 1 graded", "k-170: 1 graded", "not passed", "blanching", "2 attempts graded, 1 recordings not graded"]
    {
        assert!(shown.out.contains(words), "{words}:\n{}", shown.out);
    }
    let index = folder.join("index.json");
    let first = fs::read_to_string(&index).expect("it was written");
    let entries: Vec<Value> = serde_json::from_str(&first).expect("exactly one list");
    assert_eq!(entries.len(), 2);
    assert!(entries[0]["marks"]["throws"].is_number() && entries[0]["day"].as_str().is_some_and(|day| day.len() == 10));
    // Whatever becomes of the index, the history is the same.
    for spoilt in [Some("nonsense"), None] {
        match spoilt {
            Some(text) => fs::write(&index, text).expect("it is writable"),
            None => fs::remove_file(&index).expect("it is there"),
        }
        assert_eq!(call(&["history", "--folder", path(&folder)]).out, shown.out);
        assert_eq!(fs::read_to_string(&index).expect("it was written again"), first);
    }
    let nowhere = call(&["history", "--folder", "no_such_folder"]);
    assert_eq!((nowhere.code, nowhere.err.contains("no_such_folder: no such folder")), (2, true), "{}", nowhere.err);
}

#[test]
fn everything_of_one_student_is_exported_and_nothing_of_another() {
    let folder = kept("history_exported");
    let output = scratch("history_export");
    let _ = fs::remove_dir_all(&output);
    let arguments = ["history", "--folder", path(&folder), "export", "k-17", "-o", path(&output)];
    let done = call(&arguments);
    assert_eq!(done.code, 0, "{}", done.err);
    let names: Vec<String> = {
        let mut names: Vec<String> = fs::read_dir(&output)
            .expect("the folder was made")
            .map(|entry| entry.expect("it can be listed").file_name().into_string().expect("plain letters"))
            .collect();
        names.sort();
        names
    };
    assert_eq!(names.len(), 4, "{names:?}");
    assert_eq!(names.iter().filter(|name| name.ends_with(".attempt")).count(), 2, "{names:?}");
    assert_eq!(holding(&output, "k-170"), Vec::<PathBuf>::new());
    let progress = fs::read_to_string(output.join("progress.json")).expect("it was written");
    assert_eq!(serde_json::from_str::<Vec<Value>>(&progress).expect("exactly one list").len(), 1);
    // What is exported can be marked again.
    let marked = call(&["regrade", path(&output), "--rubric", "scenarios/first_stitch.ron", "--json"]);
    assert_eq!(marked.code, 0, "{}", marked.err);
    assert_eq!(call(&arguments).code, 2, "nothing is written over");
}

#[test]
fn a_forgotten_student_is_in_no_file_and_the_others_are_as_they_were() {
    let folder = kept("history_forgotten");
    // A line that was cut off may hold the student's findings as well.
    let findings = folder.join("class.findings");
    let text = fs::read_to_string(&findings).expect("it was written");
    let line = text.lines().find(|line| line.contains("student_key:\"k-17\"")).expect("the student was graded");
    fs::write(&findings, format!("{text}{}\n", &line[..line.len() / 2])).expect("it is writable");
    let other = text.lines().find(|line| line.contains("student_key:\"k-170\"")).expect("the other one was graded");
    let done = call(&["history", "forget", "k-17", "--folder", path(&folder)]);
    assert_eq!(done.code, 0, "{}", done.err);
    assert!(done.out.contains("deleted 2 lines of ") && done.out.contains("late"), "{}", done.out);
    assert_eq!(holding(&folder, "\"k-17\""), Vec::<PathBuf>::new(), "{}", done.out);
    assert_eq!(fs::read_to_string(&findings).expect("it is still there"), format!("{other}\n"));
    assert_eq!(holding(&folder, "k-170").len(), 3, "recording, findings and index of the other one");
    let again = call(&["history", "forget", "k-17", "--folder", path(&folder)]);
    assert_eq!((again.code, again.err.contains("nothing is kept of student")), (2, true), "{}", again.err);
}
