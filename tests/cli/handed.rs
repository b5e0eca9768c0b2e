//! `gradebook`, `results` and `statements`: marks as other programs take them.

use super::attempts::recorded_by;
use super::{call, path, scratch};
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

/// Faults of an xAPI statement.
///
/// Source of the rules: Experience API 1.0.3, part two (xAPI-Data.md), by its sections (from memory).
pub(crate) fn faults(statement: &Value) -> Vec<&'static str> {
    let is_iri = |value: &Value| {
        let text = value.as_str().unwrap_or("");
        text.split_once(':').is_some_and(|(scheme, rest)| scheme.chars().all(char::is_alphanumeric) && !rest.is_empty())
            && !text.contains([' ', '<', '>', '"'])
    };
    let only = |value: &Value, allowed: &[&str]| {
        value.as_object().is_some_and(|fields| fields.keys().all(|name| allowed.contains(&name.as_str())))
    };
    let is_language_map = |value: &Value| {
        value.as_object().is_some_and(|map| {
            !map.is_empty()
                && map.iter().all(|(tag, text)| {
                    tag.split('-').all(|part| (1..=8).contains(&part.len()) && part.chars().all(char::is_alphanumeric))
                        && text.is_string()
                })
        })
    };
    let are_extensions =
        |value: &Value| value.as_object().is_some_and(|map| map.keys().all(|key| is_iri(&key.as_str().into())));
    let id = statement["id"].as_str().unwrap_or("");
    let (actor, object, result, context) =
        (&statement["actor"], &statement["object"], &statement["result"], &statement["context"]);
    let score = &result["score"];
    let number = |name: &str| score[name].as_f64().unwrap_or(f64::NAN);
    let duration = result["duration"].as_str().unwrap_or("");
    let seconds =
        duration.strip_prefix("PT").and_then(|text| text.strip_suffix('S')).and_then(|text| text.parse().ok());
    let rules = [
        // 2.2: no null but in extensions, no property that the specification does not name.
        ("2.2 null", !has_null(statement)),
        (
            "2.2 properties",
            only(
                statement,
                &[
                    "id",
                    "actor",
                    "verb",
                    "object",
                    "result",
                    "context",
                    "timestamp",
                    "stored",
                    "authority",
                    "version",
                    "attachments",
                ],
            ),
        ),
        // 2.4.1: a UUID in its standard form; RFC 4122 4.1.1 and 4.1.3 for variant and version.
        (
            "2.4.1 id",
            id.len() == 36
                && id
                    .char_indices()
                    .all(|(at, c)| if [8, 13, 18, 23].contains(&at) { c == '-' } else { c.is_ascii_hexdigit() })
                && id[14..15].contains(['1', '2', '3', '4', '5'])
                && id[19..20].contains(['8', '9', 'a', 'b']),
        ),
        // 2.4.2.1 and 2.4.2.3: an agent has exactly one way of being identified.
        ("2.4.2 actor", only(actor, &["objectType", "name", "account"]) && actor["objectType"] == "Agent"),
        // 2.4.2.4: the account's home page is an IRL, its name a text.
        (
            "2.4.2.4 account",
            only(&actor["account"], &["homePage", "name"])
                && is_iri(&actor["account"]["homePage"])
                && actor["account"]["name"].is_string(),
        ),
        // 2.4.3: the verb is an IRI, its display a language map.
        (
            "2.4.3 verb",
            only(&statement["verb"], &["id", "display"])
                && is_iri(&statement["verb"]["id"])
                && is_language_map(&statement["verb"]["display"]),
        ),
        // 2.4.4.1: an activity's id is an IRI; its definition has a name and a type.
        (
            "2.4.4.1 object",
            only(object, &["objectType", "id", "definition"])
                && object["objectType"] == "Activity"
                && is_iri(&object["id"])
                && only(&object["definition"], &["name", "description", "type", "moreInfo", "extensions"])
                && is_language_map(&object["definition"]["name"])
                && is_iri(&object["definition"]["type"]),
        ),
        // 2.4.5: result.
        (
            "2.4.5 result",
            only(result, &["score", "success", "completion", "response", "duration", "extensions"])
                && result["success"].is_boolean()
                && result["completion"].is_boolean()
                && are_extensions(&result["extensions"]),
        ),
        // 2.4.5.1: scaled from -1 to 1, raw between min and max, min below max.
        (
            "2.4.5.1 score",
            only(score, &["scaled", "raw", "min", "max"])
                && (-1.0..=1.0).contains(&number("scaled"))
                && (number("min")..=number("max")).contains(&number("raw"))
                && number("min") < number("max"),
        ),
        // 4.6: a duration of ISO 8601.
        ("4.6 duration", seconds.is_some_and(|seconds: f64| seconds >= 0.0 && seconds.is_finite())),
        // 2.4.6: platform is a text and goes with an activity only; language is of RFC 5646.
        (
            "2.4.6 context",
            only(context, &["platform", "language", "extensions"])
                && context["platform"].is_string()
                && context["language"] == "en-US"
                && are_extensions(&context["extensions"]),
        ),
    ];
    rules.into_iter().filter(|(_, kept)| !kept).map(|(rule, _)| rule).collect()
}

fn has_null(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::Array(values) => values.iter().any(has_null),
        Value::Object(fields) => fields.iter().any(|(name, value)| name != "extensions" && has_null(value)),
        _ => false,
    }
}

#[test]
fn statements_keep_the_rules_of_the_published_specification() {
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
    // The rules find what breaks them.
    for (pointer, wrong) in [
        ("/id", "7".into()),
        ("/actor/account/homePage", "nowhere".into()),
        ("/verb/display", serde_json::json!({})),
        ("/object/id", "no iri".into()),
        ("/result/score/scaled", 97.9.into()),
        ("/result/score/raw", 101.into()),
        ("/result/duration", "71 s".into()),
        ("/context/platform", Value::Null),
    ] {
        let mut broken = statements[0].clone();
        *broken.pointer_mut(pointer).expect("it is there") = wrong;
        assert!(!faults(&broken).is_empty(), "{pointer}");
    }
    for home in ["school", "https://", "https://a b", "https://a/?q"] {
        let refused = call(&["statements", "--findings", path(&folder), "--home", home]);
        assert_eq!((refused.code, refused.err.contains("allowed an address")), (2, true), "{home}: {}", refused.err);
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
