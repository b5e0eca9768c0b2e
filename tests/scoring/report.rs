//! What people and programs read.

use std::collections::BTreeSet;

use knotwright::analysis::findings::{Direction, Findings, Handedness, Tear, ThreadBreak};
use knotwright::quantity::Tick;
use knotwright::report::{Report, Timing, json, text};
use serde_json::Value;

use super::{faultless, knot, rubric, score_of, spoiled};

const TIMINGS: &[Timing] = &[Timing { stage: "simulate", wall_s: 12.5 }, Timing { stage: "score", wall_s: 0.001 }];

fn laid_out(findings: &Findings, lay_out: fn(&Report) -> String) -> String {
    let score = score_of(findings, &rubric(true));
    lay_out(&Report {
        scenario: "Lower left second premolar: one stitch",
        digest: "6f1d0c2a",
        real_time_factor: Some(7.2),
        timings: TIMINGS,
        findings,
        score: &score,
    })
}

/// A granny knot that then tore out.
fn granny_torn() -> Findings {
    spoiled(|findings| {
        let knot = knot(findings);
        knot.notation = "2=1x1".to_owned();
        knot.throws[2].direction = Direction::Toward;
        knot.throws[2].handedness = Handedness::Right;
        findings.tissue.tears.push(Tear { stitch: 0, bite: 1, slit_mm: 2.6, through: true, tick: Tick(4260) });
    })
}

/// Paths of all keys; places in a list are written `[]`.
fn keys(path: &str, value: &Value, found: &mut BTreeSet<String>) {
    match value {
        Value::Object(object) => {
            for (key, value) in object {
                let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                found.insert(path.clone());
                keys(&path, value, found);
            }
        }
        Value::Array(list) => list.iter().for_each(|value| keys(&format!("{path}[]"), value, found)),
        _ => {}
    }
}

#[test]
fn the_keys_of_the_json_are_these() {
    let mut findings = granny_torn();
    findings.thread_breaks.push(ThreadBreak { from_swage_mm: 71.0, tension_n: 7.34, load_n: 8.96, tick: Tick(4270) });
    let value: Value = serde_json::from_str(&laid_out(&findings, json)).expect("the report is JSON");
    let mut found = BTreeSet::new();
    keys("", &value, &mut found);
    let expected: BTreeSet<String> = KEYS.iter().map(|&key| key.to_owned()).collect();
    assert_eq!(found, expected);
}

const KEYS: &[&str] = &[
    "cautions",
    "digest",
    "duration_s",
    "needle",
    "needle[].event",
    "needle[].force_n",
    "needle[].time_s",
    "real_time_factor",
    "scenario",
    "score",
    "score.criteria",
    "score.criteria[].advice",
    "score.criteria[].band",
    "score.criteria[].evidence",
    "score.criteria[].failed",
    "score.criteria[].fails_below",
    "score.criteria[].id",
    "score.criteria[].mark",
    "score.criteria[].required",
    "score.criteria[].source",
    "score.criteria[].time_s",
    "score.criteria[].title",
    "score.criteria[].unit",
    "score.criteria[].value",
    "score.criteria[].weight",
    "score.critical",
    "score.critical[].advice",
    "score.critical[].evidence",
    "score.critical[].id",
    "score.critical[].time_s",
    "score.one_thing_to_change",
    "score.pass_mark",
    "score.passed",
    "score.reasons",
    "score.total",
    "simulation",
    "simulation.invalid_s",
    "simulation.residual",
    "simulation.residual_s",
    "simulation.share_above_tolerance",
    "simulation.substeps",
    "site",
    "site.checked",
    "site.first_bite_s",
    "site.marked",
    "site.marked.iso_3950",
    "site.marked.name",
    "site.marked.palmer",
    "site.marked.universal",
    "site.marked_s",
    "site.marks",
    "site.marks[].time_s",
    "site.marks[].tooth",
    "site.marks[].tooth.iso_3950",
    "site.marks[].tooth.name",
    "site.marks[].tooth.palmer",
    "site.marks[].tooth.universal",
    "site.ordered",
    "site.ordered.iso_3950",
    "site.ordered.name",
    "site.ordered.palmer",
    "site.ordered.universal",
    "stitches",
    "stitches[].bites",
    "stitches[].bites[].along_wound_mm",
    "stitches[].bites[].angle_deg",
    "stitches[].bites[].depth_mm",
    "stitches[].bites[].distance_from_edge_mm",
    "stitches[].bites[].flap",
    "stitches[].bites[].time_s",
    "stitches[].clear",
    "stitches[].determinant",
    "stitches[].form",
    "stitches[].form_measure",
    "stitches[].holding_end",
    "stitches[].holding_force_n",
    "stitches[].holding_slip_mm",
    "stitches[].knot_from_wound_line_mm",
    "stitches[].knot_outside_socket_mm",
    "stitches[].knot_undone_s",
    "stitches[].notation",
    "stitches[].strand_mm",
    "stitches[].tail_mm",
    "stitches[].tension_now_n",
    "stitches[].tension_peak_n",
    "stitches[].tension_peak_s",
    "stitches[].throws",
    "stitches[].throws[].direction",
    "stitches[].throws[].handedness",
    "stitches[].throws[].time_s",
    "stitches[].throws[].wraps",
    "stitches[].unclear_reason",
    "thread_breaks",
    "thread_breaks[].from_swage_mm",
    "thread_breaks[].load_n",
    "thread_breaks[].tension_n",
    "thread_breaks[].time_s",
    "timings",
    "timings[].stage",
    "timings[].wall_s",
    "tissue",
    "tissue.blanched_end_mm2",
    "tissue.blanched_integral_mm2_s",
    "tissue.blanched_peak_mm2",
    "tissue.blanched_peak_s",
    "tissue.blanched_persisting_mm2",
    "tissue.edges_gap_mm",
    "tissue.tears",
    "tissue.tears[].bite_index",
    "tissue.tears[].slit_mm",
    "tissue.tears[].stitch_index",
    "tissue.tears[].through",
    "tissue.tears[].time_s",
];

#[test]
fn the_json_says_what_was_measured_and_marked() {
    let value: Value = serde_json::from_str(&laid_out(&granny_torn(), json)).expect("the report is JSON");
    for (path, expected) in [
        ("/digest", "\"6f1d0c2a\""),
        ("/real_time_factor", "7.2"),
        ("/site/checked", "true"),
        ("/site/ordered/iso_3950", "35"),
        ("/site/marked/iso_3950", "35"),
        ("/site/marked/universal", "20"),
        ("/site/marked/palmer", "\"LL5\""),
        ("/site/marked_s", "0.5"),
        ("/site/first_bite_s", "11.0"),
        ("/score/passed", "false"),
        ("/score/total", "74.3"),
        ("/score/critical/0/id", "\"tear_through\""),
        ("/score/criteria/0/id", "\"throws\""),
        ("/score/criteria/0/mark", "0.75"),
        ("/score/criteria/0/time_s", "70.0"),
        ("/stitches/0/notation", "\"2=1x1\""),
        ("/stitches/0/form", "\"flat\""),
        ("/stitches/0/clear", "true"),
        ("/stitches/0/throws/2/direction", "\"toward\""),
        ("/stitches/0/tension_now_n", "0.085"),
        ("/tissue/tears/0/slit_mm", "2.6"),
    ] {
        assert_eq!(value.pointer(path).map(Value::to_string).as_deref(), Some(expected), "{path}");
    }
}

#[test]
fn a_number_that_is_not_finite_is_null_in_json() {
    let unmeasured = spoiled(|findings| findings.stitches[0].bites[0].angle_deg = f64::NAN);
    let value: Value = serde_json::from_str(&laid_out(&unmeasured, json)).expect("the report is JSON");
    assert_eq!(value.pointer("/stitches/0/bites/0/angle_deg"), Some(&Value::Null));
}

#[test]
fn the_text_of_a_failed_attempt_is_this() {
    assert_eq!(laid_out(&granny_torn(), text), FAILED);
}

#[test]
fn the_text_of_a_passed_attempt_says_so_in_words_and_fits_the_terminal() {
    let text = laid_out(&faultless(), text);
    assert!(text.contains("✓ PASSED  total 100.0 of 100, pass mark 70.0"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    assert!(!text.contains("Next time"), "{text}");
}

const FAILED: &str = "\
Lower left second premolar: one stitch
Attempt of 90.0 s, simulated at 7.2 x real time, digest 6f1d0c2a
Site: ordered 35 (lower left second premolar; universal 20, Palmer LL5), marked 35 (lower left
second premolar; universal 20, Palmer LL5) at 0.5 s.
Stitch: 2=1x1, loop tension 0.09 N at the end and 0.64 N at most

✗ FAILED  total 74.3 of 100, pass mark 70.0
  ✗ critical fault `tear_through`: The thread tore out of bite 2 of stitch 1 at 71.0 s.
  ✗ required criterion `laid_square` is marked 0.40, below 0.50
  ✗ required criterion `tearing` is marked 0.00, below 0.50

            mark  weight  criterion
  ~ partly  0.75    15.0  Throws as ordered, required (at 70.0 s)
                          Read 2=1x1, ordered 2=1=1: throw 3 (laid at 70.0 s) was turned toward,
                          ordered away.
                          Marked: 1 less 0.60 a missing throw, 0.50 for other wraps, 0.25 for the
                          other direction.
                          Next time: Carry the long strand away round the holder for throw 3.
  ✗ failed  0.40    20.0  Laid square and flat, required (at 70.0 s)
                          Read 2=1x1: throws 2 and 3 are both right-handed (laid at 70.0 s); the
                          form is flat (0.12, 0 flat to 1 straight post).
                          Marked: 1 less 0.60 a crossed pair, 1.00 for a sliding form.
                          Next time: Turn throw 3 the opposite way to throw 2: wrap from the other
                          side.
  ✓ met     1.00    15.0  Gum not blanched, required (at 75.0 s)
                          1.6 mm2 of gum is pale 5 s after tying (75.0 s); 96.0 mm2 s over the
                          attempt, most at 71.0 s (11.5 mm2).
                          Marked: full up to 3.0 mm2, none from 15.0 mm2.
  ✗ failed  0.00    10.0  Gum not torn, required (at 71.0 s)
                          The slit at bite 2 of stitch 1 is 2.6 mm long and reaches the edge (71.0
                          s).
                          Marked: full up to 0.2 mm, none from 1.0 mm.
                          Next time: Bite farther from the edge, follow the needle's arc, and pull
                          the thread gently along its own line.
  ✓ met     1.00    10.0  Knot beside the wound, required (at 90.0 s)
                          The knot lies 4.8 mm from the wound line on the cheek side, 1.4 mm outside
                          the socket's edge (90.0 s).
                          Marked: full from 1.0 mm, none at 0.0 mm.
  ✓ met     1.00    10.0  Bites placed well, required (at 12.0 s)
                          Bites: cheek 2.4 mm from the edge, 1.5 mm deep, entered at 84 deg (12.0
                          s); tongue 2.6 mm from the edge, 1.4 mm deep, entered at 88 deg (20.0 s).
                          Marked: full from 2.0 to 3.0 mm, none at 1.0 or 6.0 mm.
  ✓ met     1.00     0.0  Stitches evenly spaced, required
                          A single stitch was ordered: there is no spacing to judge.
                          Marked: full for a single stitch.
  ✓ met     1.00     0.0  Membrane covered and whole, required (at 90.0 s)
                          The membrane reaches 4.6 mm under the cheek flap and 4.8 mm under the
                          tongue flap (90.0 s); it is whole.
                          Marked: full from 2.0 mm, none at 0.0 mm.
  ✓ met     1.00     0.0  Edges lie level, required (at 90.0 s)
                          The edges are 2.4 mm apart at most, which may stay, at 1.2 mm along the
                          wound; the tongue edge stands 0.1 mm higher at 0.0 mm (90.0 s).
                          Marked: full up to 0.5 mm, none from 1.5 mm.
  ✓ met     1.00     0.0  Needle in hand, required
                          The needle was never dropped, and is accounted for.
                          Marked: full up to 0.0 drops, none from 2.0 drops.
  ✓ met     1.00     0.0  Thread not harmed, required
                          The holder's jaws kept off the thread that stays; its largest tension was
                          2.10 N, 0.21 of its strength, 88.0 mm from the needle (71.0 s); 12.0 N mm
                          were drawn through bite 1 of stitch 1, most at 22.0 s.
                          Marked: full up to 0.0 grips, none from 2.0 grips.
  ✓ met     1.00    10.0  Ends cut to length, required (at 82.0 s)
                          The short end is 4.2 mm long (cut at 82.0 s), the long strand's end 4.8 mm
                          (cut at 84.0 s).
                          Marked: full from 3.0 to 5.0 mm, none at 2.0 or 10.0 mm.
  ✓ met     1.00     5.0  Knot holds, required (at 90.0 s)
                          Pulled as it was tied, the knot held 7.4 N, with 0.3 mm of slip, and then
                          the thread broke (90.0 s).
                          Marked: full from 5.0 N, none at 0.4 N.
  ✓ met     1.00     5.0  Stitch snug, required (at 90.0 s)
                          The loop through the gum bears 85.0 mN at the end (90.0 s).
                          Marked: full from 10.0 mN, none at 0.0 mN.
  ✓ met     1.00     0.0  In good time, required (at 90.0 s)
                          The attempt took 90.0 s.
                          Marked: full up to 103.0 s, none from 206.0 s.

One thing to change: Bite farther from the edge and stop pulling as soon as the gum gives.

! This is a training aid. It is not for diagnosis or treatment, and a pass certifies nobody.
! Local protocol, supervision and licensed practice decide what is done in a mouth.
! Gum and thread are a model with published and estimated numbers; real tissue differs between
  patients.
";

#[test]
fn every_stitch_of_a_closure_has_its_knot_named() {
    let closure = spoiled(|findings| {
        let mut second = findings.stitches[0].clone();
        second.knot.as_mut().expect("it is tied").notation = "1x1".to_owned();
        findings.stitches.push(second);
    });
    assert_eq!(closure.notations().as_deref(), Some("2=1=1, 1x1"));
    assert_eq!(Findings::default().notations(), None);
}
