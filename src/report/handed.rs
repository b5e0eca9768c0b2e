//! One student's mark, as other programs take it: as a row of a OneRoster results file and as an xAPI statement.

use csv::{QuoteStyle, Terminator, WriterBuilder};
use serde_json::{Map, Value, json};

use crate::score::Score;

/// A mark that is handed over.
#[derive(Debug, Clone)]
pub struct HandedMark<'a> {
    /// Who earned it: a pseudonymous key.
    pub student: &'a str,
    /// Title of the scenario.
    pub scenario: &'a str,
    /// BLAKE3 of the scenario's text, 64 hexadecimal digits.
    pub scenario_hash: &'a str,
    /// BLAKE3 of the recording, 64 hexadecimal digits.
    pub recording_hash: &'a str,
    /// Length of the attempt [s].
    pub duration_s: f64,
    /// What it is worth.
    pub score: &'a Score,
}

/// What a results file has to say beside the marks.
#[derive(Debug, Clone, Copy)]
pub struct ResultsOf<'a> {
    /// The line item's id in the school's system.
    pub line_item: &'a str,
    /// The class's id in the school's system; empty if it is not said.
    pub class: &'a str,
    /// The day of the marks, `YYYY-MM-DD`.
    pub date: &'a str,
}

/// Columns of `results.csv`, in their order.
///
/// Source: 1EdTech, OneRoster 1.2 CSV binding (1.2.1, 22 August 2023), table of results.csv; the last six columns are new
/// in 1.2 and may be empty.
pub const RESULTS_COLUMNS: [&str; 15] = [
    "sourcedId",
    "status",
    "dateLastModified",
    "lineItemSourcedId",
    "studentSourcedId",
    "scoreStatus",
    "score",
    "scoreDate",
    "comment",
    "textScore",
    "classSourcedId",
    "inProgress",
    "incomplete",
    "late",
    "missing",
];

/// The marks as a OneRoster `results.csv`, for bulk processing, where status and date of change have to be empty.
///
/// # Errors
/// Every id that a spreadsheet would take for a formula: an apostrophe before it would make it another id.
///
/// # Panics
/// Never: memory takes every row, and what is written is UTF-8.
pub fn results_csv(marks: &[HandedMark], of: ResultsOf) -> Result<String, Vec<String>> {
    let ids = marks.iter().map(|mark| mark.student).chain([of.line_item, of.class]);
    let problems: Vec<String> = ids
        .filter(|id| id.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']))
        .map(|id| format!("id {id:?} begins as a formula does, allowed any that a spreadsheet leaves alone"))
        .collect();
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut writer =
        WriterBuilder::new().terminator(Terminator::CRLF).quote_style(QuoteStyle::Necessary).from_writer(Vec::new());
    writer.write_record(RESULTS_COLUMNS).expect("memory takes it");
    for mark in marks {
        let id = uuid(&["result", of.line_item, mark.student]);
        let total = mark.score.total.to_string();
        let comment = if mark.score.passed { "passed" } else { "not passed" };
        let row = [&id, "", "", of.line_item, mark.student, "fully graded", &total, of.date, comment];
        let new = ["", of.class, "false", "false", "", "false"];
        writer.write_record(row.into_iter().chain(new)).expect("memory takes it");
    }
    Ok(String::from_utf8(writer.into_inner().expect("memory takes it")).expect("all of it was text"))
}

/// Base of the names of this program's own properties, below the school's address.
const OWN: &str = "knotwright";

/// The mark as an xAPI statement; `home` is the address (an IRI that ends with no `/`) of the system whose keys the
/// students have.
///
/// When it happened is not said: a recording has no clock, and the record store notes when it stored.
///
/// Source: Experience API 1.0.3, part two, sections 2.4 (properties), 2.4.2 (actor), 2.4.5 (result), 4.1 (extensions); the
/// tests hold it to a published schema.
#[must_use]
pub fn statement(mark: &HandedMark, home: &str) -> Value {
    let score = mark.score;
    let own = |name: &str| format!("{home}/{OWN}/{name}");
    let verb = if score.passed { "passed" } else { "failed" };
    let criteria: Map<String, Value> = score.criteria.iter().map(|one| (one.id.clone(), json!(one.mark))).collect();
    let critical: Vec<&str> = score.critical.iter().map(|fault| fault.id.as_str()).collect();
    json!({
        "id": uuid(&["statement", home, mark.student, mark.recording_hash, mark.scenario_hash, &score.total.to_string()]),
        "actor": { "objectType": "Agent", "account": { "homePage": home, "name": mark.student } },
        "verb": { "id": format!("http://adlnet.gov/expapi/verbs/{verb}"), "display": { "en-US": verb } },
        "object": {
            "objectType": "Activity",
            "id": own(&format!("scenarios/{}", mark.scenario_hash)),
            "definition": {
                "name": { "en-US": mark.scenario },
                "type": "http://adlnet.gov/expapi/activities/simulation",
            },
        },
        "result": {
            // A total has one decimal; its share of 100 is the nearest number to it.
            "score": { "scaled": score.total / 100.0, "raw": score.total, "min": 0.0, "max": 100.0 },
            "success": score.passed,
            "completion": true,
            "duration": format!("PT{:.2}S", mark.duration_s),
            "extensions": {
                own("pass-mark"): score.pass_mark,
                own("criteria"): criteria,
                own("critical-faults"): critical,
            },
        },
        "context": {
            "platform": format!("knotwright {}", env!("CARGO_PKG_VERSION")),
            "language": "en-US",
            "extensions": { own("recording"): mark.recording_hash },
        },
    })
}

/// An id that is the same for the same words, so that what is sent twice is known to be one thing.
///
/// Source: RFC 4122, section 4.4: 122 random bits, version 4 and variant 1; here they are bits of a hash, as good as
/// random to everyone who does not know the words.
fn uuid(words: &[&str]) -> String {
    let mut hasher = blake3::Hasher::new();
    for word in words {
        // The length goes in as well: words may not run into each other.
        hasher.update(&(word.len() as u64).to_le_bytes());
        hasher.update(word.as_bytes());
    }
    let mut bytes = [0; 16];
    hasher.finalize_xof().fill(&mut bytes);
    bytes[6] = bytes[6] & 0x0f | 0x40;
    bytes[8] = bytes[8] & 0x3f | 0x80;
    let hex: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    format!("{}-{}-{}-{}-{}", &hex[..8], &hex[8..12], &hex[12..16], &hex[16..20], &hex[20..])
}
