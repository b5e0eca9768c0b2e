//! `gradebook`, `results` and `statements`: marks as other programs take them.

use super::attempts::recorded_by;
use super::{call, path, scratch};
use crate::xapi::faults;
use knotwright::report::RESULTS_COLUMNS;
use serde_json::Value;
use std::fs;
use std::path::PathBuf;

/// Findings of two students, in a folder of their own.
fn findings(name: &str) -> PathBuf {
    let folder = scratch(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir(&folder).expect("the scratch folder is writable");
    recorded_by(&format!("{name}_a"), "k-17", &folder);
    recorded_by(&format!("{name}_b"), "k-18", &folder);
    let graded = call(&["grade", path(&folder), "--findings", path(&folder)]);
    assert_eq!(graded.code, 0, "{}", graded.err);
    folder
}

fn fresh(name: &str) -> PathBuf {
    let file = scratch(name);
    let _ = fs::remove_file(&file);
    file
}

#[test]
fn one_column_of_a_gradebook_is_filled_and_the_rest_stays_byte_for_byte() {
    let folder = findings("handed_gradebook");
    let (exported, filled) = (scratch("exported.csv"), fresh("filled.csv"));
    let table = "\u{feff}Student,ID,\"Knots (1)\",Total\r\n\"Doe, A\",k-17,,=SUM(C2)\r\nRoe,k-99,\"5\",\r\n";
    fs::write(&exported, table).expect("the scratch folder is writable");
    let arguments =
        ["gradebook", path(&exported), "--findings", path(&folder), "--column", "Knots (1)", "--student", "ID"];
    let done = call(&[&arguments[..], &["-o", path(&filled)]].concat());
    assert_eq!(done.code, 0, "{}", done.err);
    let text = fs::read_to_string(&filled).expect("it was written");
    let total =
        text.strip_prefix("\u{feff}Student,ID,\"Knots (1)\",Total\r\n\"Doe, A\",k-17,").expect("the rest stays");
    let (total, rest) = total.split_once(',').expect("the next cell");
    assert!(total.parse::<f64>().is_ok_and(|total| (0.0..=100.0).contains(&total)), "{text}");
    assert_eq!(rest, "=SUM(C2)\r\nRoe,k-99,\"5\",\r\n");
    for line in ["1 marks filled in", "1 in the gradebook without an attempt\n  k-99", "not in the gradebook\n  k-18"] {
        assert!(done.out.contains(line), "{line}:\n{}", done.out);
    }
    assert_eq!(fs::read_to_string(&exported).expect("it is still there"), table);
    let again = call(&[&arguments[..], &["-o", path(&filled)]].concat());
    assert_eq!((again.code, again.err.contains("it is there already")), (2, true), "{}", again.err);
    let never = scratch("never.csv");
    let wrong = call(&[&arguments[..4], &["--column", "Knot", "--student", "ID", "-o", path(&never)]].concat());
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains("column \"Knot\" is not in the gradebook, allowed Student, ID, Knots (1)"),
        "{}",
        wrong.err
    );
}

#[test]
fn results_are_rows_of_a_one_roster_file() {
    let (folder, file) = (findings("handed_results"), fresh("results.csv"));
    let arguments =
        ["results", "--findings", path(&folder), "--line-item", "li-3", "--date", "2026-03-31", "-o", path(&file)];
    let done = call(&arguments);
    assert_eq!(done.code, 0, "{}", done.err);
    let text = fs::read_to_string(&file).expect("it was written");
    let mut rows = csv::Reader::from_reader(text.as_bytes());
    // OneRoster 1.2 CSV binding, results.csv: which columns there are, in which order, and which may be empty.
    let heading = "sourcedId,status,dateLastModified,lineItemSourcedId,studentSourcedId,scoreStatus,score,scoreDate,comment,\
                   textScore,classSourcedId,inProgress,incomplete,late,missing";
    assert_eq!(rows.headers().expect("a heading").iter().collect::<Vec<_>>(), heading.split(',').collect::<Vec<_>>());
    assert_eq!(RESULTS_COLUMNS.join(","), heading);
    let rows: Vec<csv::StringRecord> = rows.records().map(|row| row.expect("as long as the heading")).collect();
    assert_eq!(rows.len(), 2);
    for (row, student) in rows.iter().zip(["k-17", "k-18"]) {
        assert_eq!((&row[3], &row[4], &row[5], &row[7]), ("li-3", student, "fully graded", "2026-03-31"));
        assert!(!row[0].is_empty() && row[6].parse::<f64>().is_ok(), "{row:?}");
        // In bulk files status and date of change have to be empty.
        assert_eq!((&row[1], &row[2]), ("", ""));
        assert!(row.iter().skip(11).all(|cell| matches!(cell, "" | "true" | "false")), "{row:?}");
    }
    assert_ne!(rows[0][0], rows[1][0]);
    for date in ["2026-02-29", "31.3.2026", "2026-13-01", "2026-4-1"] {
        let refused =
            call(&["results", "--findings", path(&folder), "--line-item", "x", "--date", date, "-o", "never"]);
        assert_eq!((refused.code, refused.err.contains("allowed a day")), (2, true), "{date}: {}", refused.err);
    }
}

#[test]
fn statements_keep_to_the_published_schema_whatever_address_is_taken() {
    let folder = findings("handed_statements");
    let arguments = ["statements", "--findings", path(&folder), "--home", "https://school.example/lms/"];
    let done = call(&arguments);
    assert_eq!(done.code, 0, "{}", done.err);
    let statements: Vec<Value> = serde_json::from_str(&done.out).expect("exactly one list");
    assert_eq!(statements.len(), 2);
    for statement in &statements {
        assert_eq!(faults(statement), [""; 0], "{statement:#}");
    }
    assert_eq!(statements[0]["actor"]["account"]["name"], "k-17");
    assert_eq!(statements[0]["actor"]["account"]["homePage"], "https://school.example/lms");
    assert_ne!(statements[0]["id"], statements[1]["id"]);
    assert_eq!(call(&arguments).out, done.out, "sent twice it is one statement");
    for home in [
        "school",
        "https://",
        "https://a b",
        "https://a/?q",
        "https://a/%",
        "https://a/%4x",
        "https://a[b",
        "https://a/[b]",
        "https://a:b",
        "https://a@b@c",
        "https://:80",
        "https://a/\u{e000}",
    ] {
        let refused = call(&["statements", "--findings", path(&folder), "--home", home]);
        assert_eq!((refused.code, refused.err.contains("allowed an address")), (2, true), "{home}: {}", refused.err);
    }
    for home in ["http://a", "https://a:8443//", "https://ü/%C3%BC/(b)~'c'@d", "https://b@c/d:e;f=g,h+i!*$&"] {
        let taken = call(&["statements", "--findings", path(&folder), "--home", home]);
        assert_eq!(taken.code, 0, "{home}: {}", taken.err);
        let statements: Vec<Value> = serde_json::from_str(&taken.out).expect("exactly one list");
        assert_eq!(statements.iter().flat_map(faults).collect::<Vec<_>>(), [""; 0], "{home}");
    }
}

#[test]
fn an_attempt_of_nobody_is_told_and_not_handed_over() {
    let folder = scratch("handed_nobody");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir(&folder).expect("the scratch folder is writable");
    let (file, _) = super::attempts::recorded("handed_nobody");
    fs::copy(&file, folder.join("x.attempt")).expect("the scratch folder is writable");
    assert_eq!(call(&["grade", path(&folder), "--findings", path(&folder)]).code, 0);
    let done = call(&["statements", "--findings", path(&folder), "--home", "https://school.example"]);
    assert_eq!((done.code, done.out.trim()), (0, "[]"), "{}", done.err);
    assert!(done.err.contains("names no student"), "{}", done.err);
}
