//! A class as a table for spreadsheets.

use csv::Writer;

use super::class::{Class, MarkedAttempt};
use super::gradebook::guarded;
use crate::score::CRITERIA;

/// A row for each marked attempt, with a heading, as comma-separated values.
///
/// Text that a spreadsheet would take for a formula is kept from it by an apostrophe: OWASP, CSV Injection (from
/// memory). Numbers are written by this program and need none.
///
/// # Panics
/// Never: memory takes every row, and what is written is UTF-8.
#[must_use]
pub fn class_csv(class: &Class) -> String {
    let mut writer = Writer::from_writer(Vec::new());
    let named = class.marked.iter().any(|attempt| attempt.file.is_some());
    writer.write_record(heading(named)).expect("memory takes it");
    for attempt in &class.marked {
        writer.write_record(row(attempt, named)).expect("memory takes it");
    }
    String::from_utf8(writer.into_inner().expect("memory takes it")).expect("all of it was text")
}

fn heading(named: bool) -> Vec<String> {
    let first = ["attempt"].into_iter().chain(named.then_some("file"));
    let rest = [
        "scenario",
        "status",
        "total",
        "pass_mark",
        "passed",
        "knot",
        "duration_s",
        "tension_end_n",
        "tension_peak_n",
        "pale_peak_mm2",
        "pale_dose_mm2_s",
        "critical",
        "digest",
    ];
    let marks = CRITERIA.iter().map(|criterion| format!("{}_mark", criterion.id()));
    first.chain(rest).map(str::to_owned).chain(marks).collect()
}

fn row(attempt: &MarkedAttempt, named: bool) -> Vec<String> {
    let (findings, score) = (attempt.findings, attempt.score);
    let number = |value: Option<f64>| {
        value.filter(|value| value.is_finite()).map_or_else(String::new, |value| value.to_string())
    };
    let tension = findings.stitches.iter().find_map(|stitch| stitch.loop_tension);
    let pale = findings.tissue.blanching;
    let critical: Vec<&str> = score.critical.iter().map(|fault| fault.id.as_str()).collect();
    let mut row = vec![guarded(&attempt.name)];
    row.extend(named.then(|| guarded(attempt.file.as_deref().unwrap_or_default())));
    row.extend([
        guarded(attempt.scenario),
        guarded(attempt.status),
        number(Some(score.total)),
        number(Some(score.pass_mark)),
        if score.passed { "yes" } else { "no" }.to_owned(),
        guarded(&findings.notations().unwrap_or_default()),
        number(Some(findings.duration.seconds())),
        number(tension.map(|tension| tension.now_n())),
        number(tension.map(|tension| tension.peak_n())),
        number(pale.map(|pale| pale.peak_mm2.value)),
        number(pale.map(|pale| pale.integral_mm2_s.value)),
        guarded(&critical.join(" ")),
        guarded(attempt.digest),
    ]);
    let mark = |id| score.criteria.iter().find(|criterion| criterion.id == id).map(|criterion| criterion.mark);
    row.extend(CRITERIA.iter().map(|criterion| number(mark(criterion.id()))));
    row
}

#[cfg(test)]
mod tests {
    use super::super::gradebook::guarded;

    #[test]
    fn what_a_spreadsheet_would_carry_out_is_text() {
        for text in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1"] {
            assert_eq!(guarded(text), format!("'{text}"));
        }
        for text in ["2=1=1", "a-b", "", "S1=1", "first stitch"] {
            assert_eq!(guarded(text), text);
        }
    }
}
