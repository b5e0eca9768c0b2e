//! Whether a statement is one of the Experience API: by a published schema, and by what a schema cannot say.

use jsonschema::Validator;
use serde_json::{Map, Value, json};
use std::sync::OnceLock;

/// What a statement of ours names in words.
const NAMES: [&str; 2] = ["/verb/display", "/object/definition/name"];

/// What a statement of ours says beside what the specification asks for.
const SAID: [&str; 10] = [
    "/actor/objectType",
    "/actor/account",
    "/object/objectType",
    "/object/definition/type",
    "/result/success",
    "/result/completion",
    "/result/duration",
    "/result/extensions",
    "/context/platform",
    "/context/extensions",
];

/// Faults of a statement, each with its place.
pub(crate) fn faults(statement: &Value) -> Vec<String> {
    let score = &statement["result"]["score"];
    let number = |name: &str| score[name].as_f64().unwrap_or(f64::NAN);
    let id = statement["id"].as_str().unwrap_or_default();
    let is_named = |place: &str| statement.pointer(place).and_then(Value::as_object).is_some_and(|map| !map.is_empty());
    // Source: Experience API 1.0.3, part two (xAPI-Data.md), by its sections (from memory).
    let rules = [
        ("2.2: null outside of extensions", !has_null(statement)),
        // RFC 4122, 4.1.1 and 4.1.3. The id is a UUID by the schema, so that these places are there.
        ("2.4.1: variant or version of the id", is_random_uuid(id)),
        ("2.4.5.1: raw is not from min to max", (number("min")..=number("max")).contains(&number("raw"))),
        ("2.4.5.1: min is not below max", number("min") < number("max")),
        // The specification leaves open whether these are there; ours say them.
        ("4.2: a name in no language", NAMES.iter().all(|place| is_named(place))),
        ("2.4: one of ours is not said", SAID.iter().all(|place| statement.pointer(place).is_some())),
        ("2.4.6: another language than that of our words", statement["context"]["language"] == "en-US"),
    ];
    let broken = rules.into_iter().filter(|(_, kept)| !kept).map(|(rule, _)| rule.to_owned());
    schema_faults(statement).into_iter().chain(broken).collect()
}

/// Faults that the published schema finds.
fn schema_faults(statement: &Value) -> Vec<String> {
    static SCHEMA: OnceLock<Validator> = OnceLock::new();
    let schema = SCHEMA.get_or_init(published);
    // The pattern of an address is some thousand characters long.
    schema
        .iter_errors(statement)
        .map(|error| format!("{}: {:.200}", error.instance_path(), error.to_string()))
        .collect()
}

/// The schema of a statement, put together as its publisher says; `SOURCES.md` has where it is from.
fn published() -> Validator {
    let mut schema: Value = serde_json::from_str(include_str!("1.0.1.json")).expect("it is JSON");
    let formats: Map<String, Value> = serde_json::from_str(include_str!("formats.json")).expect("it is JSON");
    prepare(&mut schema, &formats);
    let all = json!({
        "$schema": schema["$schema"],
        "id": "tcapi:1.0.1",
        "allOf": [{ "$ref": "#statement" }],
        "definitions": schema["properties"],
    });
    jsonschema::options().build(&all).expect("the published schema is in order")
}

/// Puts the published pattern of every format in its place, and leaves out of all patterns what only UTF-16 has.
fn prepare(schema: &mut Value, formats: &Map<String, Value>) {
    match schema {
        Value::Object(fields) => {
            if let Some(format) = fields.get("format").and_then(Value::as_str) {
                let pattern = formats[format].as_str().expect("a pattern is a text");
                fields.insert("pattern".to_owned(), whole_characters(pattern).into());
            }
            if let Some(Value::Object(patterns)) = fields.get_mut("patternProperties") {
                let whole = std::mem::take(patterns).into_iter().map(|(name, of)| (whole_characters(&name), of));
                *patterns = whole.collect();
            }
            fields.values_mut().for_each(|field| prepare(field, formats));
        }
        Value::Array(values) => values.iter_mut().for_each(|value| prepare(value, formats)),
        _ => {}
    }
}

/// A pattern without halves of UTF-16 pairs, which are no characters here: it allows none beyond U+FFFF any more, so that
/// it is stricter than what was published.
fn whole_characters(pattern: &str) -> String {
    let mut parts = pattern.split("\\u");
    let mut whole = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (digits, rest) = part.split_at(4);
        match u32::from_str_radix(digits, 16) {
            // From one half to another is no span either.
            Ok(0xd800..=0xdfff) => whole += rest.strip_prefix('-').filter(|rest| rest.is_empty()).unwrap_or(rest),
            _ => whole += &format!("\\u{part}"),
        }
    }
    whole
}

fn is_random_uuid(id: &str) -> bool {
    let at = |place: usize| id.as_bytes().get(place).copied().unwrap_or_default();
    at(14) == b'4' && matches!(at(19), b'8' | b'9' | b'a' | b'b')
}

fn has_null(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::Array(values) => values.iter().any(has_null),
        Value::Object(fields) => fields.iter().any(|(name, value)| name != "extensions" && has_null(value)),
        _ => false,
    }
}

/// A statement with all that ours say, from which the broken ones are made.
fn whole() -> Value {
    json!({
        "id": "6690e6c9-3ef0-4ed3-8b37-7f3964730bee",
        "actor": { "objectType": "Agent", "account": { "homePage": "https://school.example", "name": "k-17" } },
        "verb": { "id": "http://adlnet.gov/expapi/verbs/passed", "display": { "en-US": "passed" } },
        "object": {
            "objectType": "Activity",
            "id": "https://school.example/scenarios/1",
            "definition": { "name": { "en-US": "A stitch" }, "type": "http://adlnet.gov/expapi/activities/simulation" },
        },
        "result": {
            "score": { "scaled": 0.5, "raw": 50.0, "min": 0.0, "max": 100.0 },
            "success": true,
            "completion": true,
            "duration": "PT71.25S",
            "extensions": { "https://school.example/pass-mark": 60 },
        },
        "context": {
            "platform": "a program 1.0",
            "language": "en-US",
            "extensions": { "https://school.example/case": "a case" },
        },
        "timestamp": "2026-03-31T12:00:00Z",
    })
}

/// The whole statement with another value at a place, or with none there.
fn with(place: &str, value: Option<Value>) -> Value {
    let mut statement = whole();
    let (parent, name) = place.rsplit_once('/').expect("a place begins with a slash");
    let parent = statement.pointer_mut(parent).and_then(Value::as_object_mut).expect("it is a group of the statement");
    match value {
        Some(value) => parent.insert(name.to_owned(), value),
        None => parent.remove(name),
    };
    statement
}

#[test]
fn the_published_schema_refuses_a_statement_for_each_thing_that_is_wrong_with_it() {
    assert_eq!(faults(&whole()), [""; 0]);
    let none: [&str; 5] = ["/actor", "/verb", "/object", "/verb/id", "/actor/account/homePage"];
    for place in none.into_iter().chain(["/actor/account/name", "/actor/account", "/object/id"]) {
        assert_ne!(schema_faults(&with(place, None)), [""; 0], "without {place}");
    }
    for (place, wrong) in [
        ("/id", json!("7")),
        ("/id", json!("6690e6c9-3ef0-4ed3-8b37")),
        ("/actor/objectType", json!("Person")),
        ("/actor/mbox", json!("mailto:k-17@school.example")),
        ("/actor/openid", json!("https://school.example/k-17")),
        ("/actor/age", json!(23)),
        ("/actor/account/homePage", json!("nowhere")),
        ("/actor/account/homePage", json!("https://school .example")),
        ("/actor/account/name", json!(17)),
        ("/verb/id", json!("passed")),
        ("/verb/display", json!("passed")),
        ("/verb/display/in English", json!("passed")),
        ("/verb/display/en-US", json!(1)),
        ("/object/objectType", json!("Scenario")),
        ("/object/id", json!("no iri")),
        ("/object/definition/type", json!("simulation")),
        ("/object/definition/title", json!("A stitch")),
        ("/result/score/scaled", json!(1.01)),
        ("/result/score/scaled", json!(-1.01)),
        ("/result/score/raw", json!("50")),
        ("/result/score/mean", json!(50)),
        ("/result/success", json!("yes")),
        ("/result/completion", json!(1)),
        ("/result/duration", json!("71 s")),
        ("/result/duration", json!("PT71,25")),
        ("/result/duration", json!("PT-1S")),
        ("/result/extensions/pass-mark", json!(60)),
        ("/context/language", json!("in English")),
        ("/context/platform", json!(1)),
        ("/context/room", json!("2")),
        ("/timestamp", json!("yesterday")),
        ("/timestamp", json!("2026-13-01T12:00:00Z")),
        ("/version", json!("1")),
        ("/mark", json!(50)),
    ] {
        assert_ne!(schema_faults(&with(place, Some(wrong.clone()))), [""; 0], "{place}: {wrong}");
    }
}

#[test]
fn what_a_schema_cannot_say_is_found_as_well() {
    for (place, wrong, rule) in [
        ("/context/platform", Value::Null, "2.2"),
        // The schema takes it for an agent that is not told by a mailbox.
        ("/actor/mbox", Value::Null, "2.2"),
        ("/id", json!("6690e6c9-3ef0-7ed3-8b37-7f3964730bee"), "2.4.1"),
        ("/id", json!("6690e6c9-3ef0-4ed3-7b37-7f3964730bee"), "2.4.1"),
        ("/result/score/raw", json!(101), "2.4.5.1"),
        ("/result/score/raw", json!(-1), "2.4.5.1"),
        ("/result/score/max", json!(0), "2.4.5.1"),
        ("/verb/display", json!({}), "4.2"),
        ("/object/definition/name", json!({}), "4.2"),
        ("/context/language", json!("de"), "2.4.6"),
    ] {
        let found = faults(&with(place, Some(wrong.clone())));
        assert!(found.iter().any(|fault| fault.starts_with(rule)), "{place}: {wrong}: {found:?}");
    }
    for place in SAID {
        assert!(faults(&with(place, None)).iter().any(|fault| fault.starts_with("2.4: ")), "without {place}");
    }
    // In extensions anything may stand.
    assert_eq!(faults(&with("/result/extensions", Some(json!({ "https://school.example/x": null })))), [""; 0]);
}
