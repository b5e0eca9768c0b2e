//! What the attempts of a class say of its criteria.

use knotwright::analysis::findings::{Findings, Measured};
use knotwright::quantity::Tick;
use knotwright::report::{Class, MarkedAttempt, class_csv, class_page};
use knotwright::score::{Score, items};

use super::structure::faults;
use super::{faultless, knot, rubric, score_of, spoiled};

/// Attempts that are all alike but for the slit: from none to one that earns nothing.
fn torn(slits: &[f64]) -> Vec<Findings> {
    let torn = |&slit_mm| {
        spoiled(|findings| {
            let tear =
                knotwright::analysis::findings::Tear { stitch: 0, bite: 0, slit_mm, through: false, tick: Tick(9) };
            findings.tissue.tears.push(tear);
        })
    };
    slits.iter().map(torn).collect()
}

fn scores(findings: &[Findings]) -> Vec<Score> {
    findings.iter().map(|findings| score_of(findings, &rubric(false))).collect()
}

fn class<'a>(findings: &'a [Findings], scores: &'a [Score], file: Option<&str>) -> Class<'a> {
    let attempts = findings.iter().zip(scores).enumerate().map(|(index, (findings, score))| MarkedAttempt {
        name: format!("attempt {index}"),
        file: file.map(str::to_owned),
        page: format!("attempt-{index}.html"),
        scenario: "One stitch",
        status: "verified",
        digest: "6f1d0c2a",
        findings,
        score,
    });
    Class {
        marked: attempts.collect(),
        unmarked: vec![("attempt 9".to_owned(), "diverged")],
        origin: vec![("Rubric", "of “One stitch”".to_owned())],
        program: "knotwright",
    }
}

#[test]
fn difficulty_is_the_mean_mark_and_what_never_varies_discriminates_nothing() {
    // Slits of 0.2 mm and less earn 1, of 1.0 mm and more 0, in between in proportion.
    let scores = scores(&torn(&[0.0, 0.6, 2.0]));
    let all = items(&scores.iter().collect::<Vec<_>>());
    let tearing = all.iter().find(|item| item.id == "tearing").expect("it is marked");
    assert_eq!((tearing.count, tearing.failed), (3, 1));
    assert!((tearing.difficulty - 0.5).abs() < 1e-12, "{}", tearing.difficulty);
    // The rest of the total is the same in all of them, and so is every other mark.
    assert!(all.iter().all(|item| item.discrimination.is_none()), "{all:?}");
}

#[test]
fn a_criterion_that_falls_with_the_rest_discriminates_fully_and_one_against_it_inversely() {
    // Two criteria only ever differ: what falls together correlates with 1, what falls as the other rises with -1.
    let pairs = |pairs: [(f64, f64); 3]| {
        let spoil = |(slit, outside)| {
            let mut findings = torn(&[slit]).remove(0);
            knot(&mut findings).outside_socket_mm = Measured::new(outside, Tick(5400));
            findings
        };
        scores(&pairs.map(spoil))
    };
    for (pairs, expected) in
        [(pairs([(0.2, 1.0), (0.6, 0.5), (1.0, 0.0)]), 1.0), (pairs([(0.2, 0.0), (0.6, 0.5), (1.0, 1.0)]), -1.0)]
    {
        for item in items(&pairs.iter().collect::<Vec<_>>()) {
            let varies = ["tearing", "knot_aside"].contains(&item.id.as_str());
            let found = item.discrimination.map(|r| (r - expected).abs() < 1e-9);
            assert_eq!(found, varies.then_some(true), "{}: {:?}", item.id, item.discrimination);
        }
    }
}

#[test]
fn the_page_of_a_class_is_built_as_it_has_to_be_and_names_what_is_failed_most() {
    let mut findings = torn(&[0.0, 2.0, 2.0, 2.0, 0.6]);
    findings.push(Findings::default());
    let scores = scores(&findings);
    let page = class_page(&class(&findings, &scores, None));
    assert_eq!(faults(&page), Vec::<String>::new());
    for said in ["Gum not torn, by 4 of 6", "attempt-5.html", "diverged", "pass mark 70", "median"] {
        assert!(page.contains(said), "{said}");
    }
    let counted = |step: &str, count: usize| {
        assert!(page.contains(&format!("{step}</th><td class=\"num\">{count}</td>")), "{step}: {count}");
    };
    // Nothing done, a slit that takes the tearing's 10 points, and no or half a slit.
    counted("0 to below 10", 1);
    counted("80 to below 90", 0);
    counted("90 to 100", 5);
    let nobody = class_page(&class(&[], &[], None));
    assert_eq!(faults(&nobody), Vec::<String>::new());
}

#[test]
fn an_attempt_that_was_not_simulated_soundly_counts_for_no_criterion() {
    let mut findings = torn(&[0.0, 0.6]);
    findings[1].validity.invalid_ticks.push(Tick(7));
    let scores = scores(&findings);
    let page = class_page(&class(&findings, &scores, None));
    assert!(page.contains("1 more could not be simulated soundly"), "it is said");
    assert!(page.contains("<strong>1</strong> of 1 attempts passed"), "it is not counted");
}

#[test]
fn the_table_has_a_row_an_attempt_and_nothing_that_a_spreadsheet_carries_out() {
    let findings = vec![faultless(), Findings::default()];
    let scores = scores(&findings);
    let mut named = class(&findings, &scores, Some("=HYPERLINK(\"a\")"));
    named.marked[1].file = Some("-2+3.attempt".to_owned());
    let table = class_csv(&named);
    let rows: Vec<csv::StringRecord> =
        csv::Reader::from_reader(table.as_bytes()).records().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), 2);
    assert_eq!([&rows[0][1], &rows[1][1]], ["'=HYPERLINK(\"a\")", "'-2+3.attempt"]);
    let heading = table.lines().next().expect("a heading");
    let column = |name: &str| heading.split(',').position(|found| found == name).expect(name);
    for (name, first, second) in [
        ("total", "100", "0"),
        ("passed", "yes", "no"),
        ("knot", "2=1=1", ""),
        ("tension_peak_n", "0.64", ""),
        ("tearing_mark", "1", "0"),
    ] {
        assert_eq!([&rows[0][column(name)], &rows[1][column(name)]], [first, second], "{name}");
    }
    assert!(!class_csv(&class(&findings, &scores, None)).contains("file"), "no file is named unasked");
}
