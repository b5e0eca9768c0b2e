//! Marks handed over: what a good and a bad attempt become for other programs.

use knotwright::analysis::findings::{Findings, Tear};
use knotwright::quantity::Tick;
use knotwright::report::{HandedMark, ResultsOf, results_csv, statement};
use knotwright::score::Score;

use super::{faultless, rubric, score_of, spoiled};
use crate::xapi::faults;

const OF: ResultsOf = ResultsOf { line_item: "li-3", class: "c-1", date: "2026-03-31" };

fn scored(findings: &Findings) -> Score {
    score_of(findings, &rubric(true))
}

fn handed<'a>(student: &'a str, score: &'a Score) -> HandedMark<'a> {
    let (scenario_hash, recording_hash) = ("c0ffee", "5eed");
    HandedMark { student, scenario: "One stitch, \"flat\"", scenario_hash, recording_hash, duration_s: 71.25, score }
}

/// Torn through: it fails, and has a critical fault.
fn torn() -> Findings {
    spoiled(|findings| {
        findings.tissue.tears.push(Tear { stitch: 0, bite: 1, slit_mm: 2.6, through: true, tick: Tick(4260) });
    })
}

#[test]
fn a_statement_says_what_the_score_says_and_keeps_the_rules() {
    let good = scored(&faultless());
    assert!(good.passed && good.total > 50.0, "{good:?}");
    let said = statement(&handed("k-1", &good), "https://school.example");
    assert_eq!(faults(&said), [""; 0], "{said:#}");
    assert_eq!(said["verb"]["id"], "http://adlnet.gov/expapi/verbs/passed");
    assert_eq!((&said["result"]["success"], &said["result"]["duration"]), (&true.into(), &"PT71.25S".into()));
    let (scaled, raw) = (said["result"]["score"]["scaled"].as_f64(), said["result"]["score"]["raw"].as_f64());
    assert_eq!((raw, scaled), (Some(good.total), Some(good.total / 100.0)));
    let marks = &said["result"]["extensions"]["https://school.example/knotwright/criteria"];
    for criterion in &good.criteria {
        assert_eq!(marks[&criterion.id].as_f64(), Some(criterion.mark), "{}", criterion.id);
    }
    let other = statement(&handed("k-2", &good), "https://school.example");
    assert_ne!(said["id"], other["id"], "another student's statement is another one");
    let bad = scored(&torn());
    let said = statement(&handed("k-1", &bad), "https://school.example");
    assert_eq!(faults(&said), [""; 0], "{said:#}");
    assert_eq!((&said["verb"]["display"]["en-US"], &said["result"]["success"]), (&"failed".into(), &false.into()));
    assert_eq!(said["result"]["extensions"]["https://school.example/knotwright/critical-faults"][0], "tear_through");
}

#[test]
fn every_statement_that_can_be_written_keeps_to_the_published_schema() {
    let (good, bad) = (scored(&faultless()), scored(&torn()));
    assert!(good.passed && !bad.passed && !bad.critical.is_empty(), "{good:?} {bad:?}");
    let scores = [Score { total: 100.0, ..good.clone() }, Score { total: 0.0, ..bad.clone() }, good, bad];
    let students = ["k-1", "0", "Ü 17 / b?\"#%", &"\u{1f9f5}".repeat(64)];
    let homes =
        ["https://school.example", "http://10.0.0.1:8080/lms", "http://a@b:1/c:d", "https://schule-ü.example/é"];
    for (score, student, home) in scores.iter().flat_map(|score| {
        students.into_iter().flat_map(move |student| homes.into_iter().map(move |home| (score, student, home)))
    }) {
        // No tick, one, the longest that a case may ask for, and a day.
        for duration_s in [0.0, 1.0 / 60.0, 3600.0, 86_400.0] {
            let said = statement(&HandedMark { duration_s, ..handed(student, score) }, home);
            assert_eq!(faults(&said), [""; 0], "{said:#}");
        }
    }
}

#[test]
fn ids_that_a_spreadsheet_would_carry_out_are_refused_and_all_of_them_named() {
    let good = scored(&faultless());
    let table = results_csv(&[handed("k-1", &good)], OF).expect("plain ids");
    assert!(
        table.ends_with(&format!(",fully graded,{},2026-03-31,passed,,c-1,false,false,,false\r\n", good.total)),
        "{table}"
    );
    let marks = [handed("=1+1", &good), handed("k-2", &good), handed("@x", &good)];
    let problems = results_csv(&marks, ResultsOf { line_item: "-7", ..OF }).expect_err("three formulas");
    assert_eq!(problems.len(), 3, "{problems:?}");
    assert!(problems[0].contains("\"=1+1\"") && problems[1].contains("\"@x\"") && problems[2].contains("\"-7\""));
}
