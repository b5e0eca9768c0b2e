//! The shipped demonstrations pass, and each shipped fault fails on what it breaks and on nothing else.

use super::tied::{case, marked, tied};
use super::{call, path, scratch};
use knotwright::cli::session::Outcome;

/// Marks below this fail a required criterion: the default of `fails_below` in the rubric.
const FAILS_BELOW: f64 = 0.5;

/// The report of these hands at a case, as `demo --json` prints it.
fn demonstrate(name: &str, hands: &str) -> serde_json::Value {
    let case = case(name);
    let hands = format!("hands/{hands}.hands");
    // Whoever asked first may have asked by another rubric.
    let outcome = Outcome { score: marked(&case, &hands), ..(*tied(&case, &hands)).clone() };
    serde_json::from_str(&outcome.report(&case, true)).expect("one object")
}

#[track_caller]
fn check(case: &str, hands: &str, notation: &str, fails: &[&str]) -> serde_json::Value {
    check_stitches(case, hands, &[notation], fails)
}

#[track_caller]
fn check_stitches(case: &str, hands: &str, notations: &[&str], fails: &[&str]) -> serde_json::Value {
    let report = demonstrate(case, hands);
    let stitches = report["stitches"].as_array().expect("stitches");
    let read: Vec<&str> = stitches.iter().filter_map(|stitch| stitch["notation"].as_str()).collect();
    assert_eq!(read, notations, "{hands}");
    assert!(stitches.iter().all(|stitch| stitch["clear"] == true), "{hands}: {stitches:?}");
    let criteria = report["score"]["criteria"].as_array().expect("criteria");
    let required = |criterion: &&serde_json::Value| criterion["required"] == true && criterion["failed"] == true;
    let passes = criteria.iter().filter(required).count() == 0 && report["score"]["critical"] == serde_json::json!([]);
    assert_eq!(report["score"]["passed"], passes, "{hands}: {}", report["score"]["total"]);
    for criterion in criteria {
        let (id, mark) = (criterion["id"].as_str().expect("an id"), criterion["mark"].as_f64().expect("a mark"));
        assert_eq!(mark < FAILS_BELOW, fails.contains(&id), "{hands}: {id} has {mark}: {}", criterion["evidence"]);
    }
    report
}

#[test]
fn the_first_demonstration_ties_2_1_1_on_the_cheek_side_and_passes() {
    let report = check("first_stitch", "first_stitch", "2=1=1", &[]);
    let (solved, share) = (&report["simulation"]["substeps"], &report["simulation"]["share_above_tolerance"]);
    // 2 % is asked for: what a step leaves the next one takes up, so that a few leave no trace.
    assert!(
        solved.as_u64().expect("a count") > 10_000 && share.as_f64().expect("a share") < 0.02,
        "{share} of {solved}"
    );
}

/// The load that a knot of an attempt is asked to hold [N].
const LOAD_N: f64 = 2.0;

#[test]
fn a_recorded_demonstration_reads_as_its_report_says() {
    let file = scratch("first_stitch.attempt");
    let done = call(&["demo", "--record", path(&file), "--json"]);
    let read = call(&["read", path(&file), "--json"]);
    assert_eq!((done.code, read.code), (0, 0), "{}{}", done.err, read.err);
    let [report, read] = [&done, &read].map(|call| serde_json::from_str::<serde_json::Value>(&call.out).expect("JSON"));
    for key in ["notation", "clear"] {
        assert_eq!(report["stitches"][0][key], read["stitches"][0][key], "{key}");
    }
    assert_eq!(read["stitches"][0]["throws"].as_array().map(Vec::len), Some(3));
    let pull = call(&["pull", path(&file), "--load-n", &LOAD_N.to_string(), "--refine", "--json"]);
    let pull: serde_json::Value = serde_json::from_str(&pull.out).expect("JSON");
    assert_eq!(
        (&pull["knot"], &pull["holds"], &pull["reading"]),
        (&"2=1=1".into(), &true.into(), &read["stitches"][0])
    );
    // A secure knot breaks before it slips, wherever it was tied: Rosin & Robinson 1989, Vet. Surg. 18:269. In edges half as
    // long this one does. In the attempt's own it gives 1.3 mm in one jump, which takes it a hair over the 1.8 mm that count
    // as slipped, and then bears all the thread does: the mesh's error is as large as that jump makes it, and the load asked
    // for lies well below both.
    assert_eq!(pull["mesh"]["outcome"][1], "break", "{}", pull["mesh"]);
    let held: Vec<f64> =
        serde_json::from_value(pull["mesh"]["holding_force_n"].clone()).expect("a number for each mesh");
    let error = pull["mesh_error_n"].as_f64().expect("a number");
    assert!(
        held.iter().all(|&held| held > 2.0 * LOAD_N) && held[0] - error > LOAD_N,
        "{held:?} N, plus or minus {error} N"
    );
}

#[test]
fn pulled_too_tight_fails_on_blanching_alone() {
    check("first_stitch", "fault_too_tight", "2=1=1", &["blanching"]);
}

#[test]
fn a_knot_left_over_the_socket_fails_on_its_place_alone() {
    check("first_stitch", "fault_over_socket", "2=1=1", &["knot_aside"]);
}

#[test]
fn throws_all_turned_the_same_way_fail_on_laying_them_square_alone() {
    check("first_stitch", "fault_same_way", "2x1x1", &["laid_square"]);
}

#[test]
fn the_other_side_marked_before_the_first_bite_fails_on_the_wrong_site_alone() {
    let report = check("first_stitch", "fault_wrong_site", "2=1=1", &[]);
    let critical = report["score"]["critical"].as_array().expect("critical faults");
    assert_eq!(critical.iter().map(|fault| &fault["id"]).collect::<Vec<_>>(), ["wrong_site"]);
    assert_eq!(report["score"]["reasons"].as_array().map(Vec::len), Some(1), "{}", report["score"]["reasons"]);
    assert_eq!(
        (&report["site"]["ordered"]["iso_3950"], &report["site"]["marked"]["iso_3950"]),
        (&35.into(), &45.into())
    );
}

/// The evidence, the number and the time [s] of a criterion.
fn judged<'a>(report: &'a serde_json::Value, id: &str) -> (&'a str, f64, f64) {
    let criteria = report["score"]["criteria"].as_array().expect("criteria");
    let found = criteria.iter().find(|criterion| criterion["id"] == id).expect("it is marked");
    let number = |key: &str| found[key].as_f64().unwrap_or_else(|| panic!("{id} has no {key}"));
    (found["evidence"].as_str().expect("evidence"), number("value"), number("time_s"))
}

#[test]
fn uneven_bites_fail_on_their_difference_alone() {
    let report = check("first_stitch", "fault_uneven", "2=1=1", &["bite"]);
    let (evidence, difference, time) = judged(&report, "bite");
    // 0.7 mm aside makes one bite wider and the other narrower by that; the hand is a tenth off.
    assert!((difference - 1.4).abs() < 0.2, "{evidence}");
    assert!(evidence.contains("distances differ by") && time > 0.0, "{evidence}");
}

#[test]
fn bites_at_the_edge_fail_on_their_distance_alone() {
    let report = check("first_stitch", "fault_near_edge", "2=1=1", &["bite"]);
    let (evidence, distance, time) = judged(&report, "bite");
    assert!((distance - 1.0).abs() < 0.15, "{evidence}");
    assert!(evidence.contains("cheek 1.") && evidence.contains("tongue 1.") && time > 0.0, "{evidence}");
}

#[test]
fn a_needle_that_is_dropped_fails_on_that_alone() {
    let report = check("first_stitch", "fault_needle_dropped", "2=1=1", &["needle_care"]);
    let (evidence, drops, time) = judged(&report, "needle_care");
    let bitten = report["stitches"][0]["bites"][0]["time_s"].as_f64().expect("a time");
    assert!((drops - 1.0).abs() < 1e-9 && time < bitten, "{evidence}");
    assert!(evidence.contains("along the wound") && evidence.contains("is accounted for"), "{evidence}");
}

#[test]
fn a_point_pushed_on_the_neighbour_tooth_fails_on_that_alone() {
    let report = check("first_stitch", "fault_point_on_tooth", "2=1=1", &["needle_care"]);
    let (evidence, push, time) = judged(&report, "needle_care");
    let bitten = report["stitches"][0]["bites"][0]["time_s"].as_f64().expect("a time");
    // A tick adds 0.16 N, and the hand lets off two ticks after it has pushed with 0.45 N.
    assert!((0.45..0.8).contains(&push) && time < bitten, "{evidence}");
    assert!(evidence.contains("came on a tooth") && evidence.contains("7.5 mm along the wound"), "{evidence}");
    let met = report["needle"].as_array().expect("events").iter().find(|event| event["event"] == "met_tooth");
    assert_eq!(met.expect("it is told")["force_n"].as_f64(), Some(push));
}

#[test]
fn a_membrane_that_is_dragged_off_fails_on_its_cover_alone() {
    let report = check("first_stitch", "fault_membrane_dragged", "2=1=1", &["membrane_cover"]);
    let (evidence, overlap, time) = judged(&report, "membrane_cover");
    assert!(overlap < 0.0, "the graft is bare: {evidence}");
    assert!(evidence.contains("under the cheek flap") && evidence.contains("dragged 7.2 mm"), "{evidence}");
    // The last of the sweeps, before the needle goes in.
    let bitten = report["stitches"][0]["bites"][0]["time_s"].as_f64().expect("a time");
    assert!(time > 1.0 && time < bitten, "{evidence}");
}

#[test]
fn the_second_demonstration_ties_3_1_1_on_the_cheek_side_and_passes() {
    check("triple_first_throw", "triple_first_throw", "3=1=1", &[]);
}

#[test]
fn the_closure_ties_three_stitches_with_one_thread_and_passes() {
    if crate::slow::wanted() {
        check_stitches("three_stitches", "three_stitches", &["2=1=1"; 3], &[]);
    }
}
