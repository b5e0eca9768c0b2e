//! The total by hand, what fails an attempt, and the one thing to change.

use knotwright::analysis::findings::{
    Direction, Findings, Form, Handedness, Measured, NeedleEvent, NeedleEventKind, Tear, ThreadBreak,
};
use knotwright::quantity::Tick;
use knotwright::score::{Bands, Rubric, Rule, Score};

use super::{faultless, knot, rubric, score_of, spoiled};

/// Ids of the criteria below their `fails_below`.
fn failed(score: &Score) -> Vec<&str> {
    score.criteria.iter().filter(|criterion| criterion.failed).map(|criterion| criterion.id.as_str()).collect()
}

#[test]
fn an_attempt_without_fault_earns_100_and_nothing_is_to_be_changed() {
    let score = score_of(&faultless(), &rubric(true));
    assert_eq!(format!("{:.1}", score.total), "100.0");
    assert!(score.passed);
    assert!(score.reasons.is_empty() && score.critical.is_empty());
    assert_eq!(score.one_thing_to_change, "Nothing: do it so again.");
}

#[test]
fn an_attempt_in_which_nothing_happened_earns_0() {
    let score = score_of(&Findings::default(), &rubric(false));
    assert_eq!(format!("{:.1}", score.total), "0.0");
    assert_eq!(score.reasons, ["total 0.0 is below the pass mark 70.0"]);
    assert_eq!(failed(&score).len(), score.criteria.len());
}

#[test]
fn the_total_is_the_weighted_mean_of_the_marks() {
    let findings = spoiled(|findings| {
        knot(findings).throws[2].direction = Direction::Toward; // throws 0.75
        knot(findings).throws[2].handedness = Handedness::Right; // laid_square 0.40
        knot(findings).outside_socket_mm.value = 0.5; // knot_aside 0.50
    });
    let score = score_of(&findings, &rubric(false));
    let marks: Vec<String> =
        score.criteria.iter().map(|criterion| format!("{} {:.2}", criterion.id, criterion.mark)).collect();
    assert_eq!(
        marks,
        [
            "throws 0.75",
            "laid_square 0.40",
            "blanching 1.00",
            "tearing 1.00",
            "knot_aside 0.50",
            "bite 1.00",
            "spacing 1.00",
            "membrane_cover 1.00",
            "edges 1.00",
            "needle_care 1.00",
            "thread_care 1.00",
            "cut_ends 1.00",
            "holds 1.00",
            "snug 1.00",
            "time 1.00"
        ]
    );
    // (15 * 0.75 + 20 * 0.40 + 15 + 10 + 10 * 0.50 + 10 + 10 + 5 + 5) / 100 = 79.25 / 100
    assert_eq!(format!("{:.1}", score.total), "79.3");
    assert!(score.passed, "79.3 is above 70");
    assert_eq!(score.one_thing_to_change, "Turn throw 3 the opposite way to throw 2: wrap from the other side.");
}

#[test]
fn the_scale_of_the_weights_does_not_matter() {
    let rule = |id: &str, weight| Rule { id: id.to_owned(), weight, required: false, bands: Bands::default() };
    let findings = spoiled(|findings| knot(findings).outside_socket_mm.value = 0.5);
    for scale in [0.01, 1.0, 100.0] {
        let rules = vec![rule("knot_aside", 3.0 * scale), rule("tearing", scale)];
        let rubric = Rubric::new(62.5, rules, vec![]).expect("the rubric is valid");
        let score = score_of(&findings, &rubric);
        // (3 * 0.50 + 1 * 1.00) / 4
        assert_eq!(format!("{:.1}", score.total), "62.5");
        assert!(score.passed, "the pass mark itself passes");
    }
}

#[test]
fn a_required_criterion_fails_the_attempt_only_if_the_rubric_says_so() {
    let sliding = spoiled(|findings| knot(findings).form = Form::Sliding);
    let lenient = score_of(&sliding, &rubric(false));
    assert!(lenient.passed, "80.0 of 100");
    assert_eq!(failed(&lenient), ["laid_square"]);
    let strict = score_of(&sliding, &rubric(true));
    assert!(!strict.passed);
    assert_eq!(strict.reasons, ["required criterion `laid_square` is marked 0.00, below 0.50"]);
}

#[test]
fn what_failed_the_attempt_is_changed_before_what_cost_more() {
    let findings = spoiled(|findings| {
        knot(findings).outside_socket_mm.value = -1.0; // knot_aside 0.00, costs 10
        findings.tissue.blanching.as_mut().expect("it was measured").persisting_mm2 =
            Some(Measured::new(9.0, Tick(4500))); // blanching 0.50, costs 10
        findings.stitches[0].bites[0].depth_mm = 0.7; // bite 0.57, costs 6.45
    });
    let rule = |id: &str, weight, required| Rule { id: id.to_owned(), weight, required, bands: Bands::default() };
    let rules = vec![rule("blanching", 40.0, false), rule("bite", 30.0, false), rule("knot_aside", 5.0, true)];
    let rubric = Rubric::new(0.0, rules, vec![]).expect("the rubric is valid");
    let advice = "Before the last throw is tight, draw the knot to the cheek side, off the socket.";
    assert_eq!(score_of(&findings, &rubric).one_thing_to_change, advice);
}

#[test]
fn a_band_of_the_rubric_moves_the_mark_and_the_point_of_failing() {
    let findings = spoiled(|findings| knot(findings).outside_socket_mm.value = 0.5);
    let marked = |bands: &[(&str, f64)]| {
        let bands = Bands(bands.iter().map(|&(id, value)| (id.to_owned(), value)).collect());
        let rule = Rule { id: "knot_aside".to_owned(), weight: 1.0, required: true, bands };
        let rubric = Rubric::new(0.0, vec![rule], vec![]).expect("the rubric is valid");
        let score = score_of(&findings, &rubric);
        format!("{:.2} {}", score.criteria[0].mark, score.passed)
    };
    assert_eq!(marked(&[]), "0.50 true");
    assert_eq!(marked(&[("outside_full_mm", 2.0)]), "0.25 false");
    assert_eq!(marked(&[("fails_below", 0.6)]), "0.50 false");
}

#[test]
fn a_critical_fault_fails_whatever_the_sum() {
    let tear = Tear { stitch: 0, bite: 0, slit_mm: 2.4, through: true, tick: Tick(2520) };
    let lost = NeedleEvent {
        kind: NeedleEventKind::Lost,
        along_wound_mm: 0.0,
        across_mm: 0.0,
        force_n: None,
        tick: Tick(1500),
    };
    let broken = ThreadBreak { from_swage_mm: 71.0, tension_n: 7.34, load_n: 8.96, tick: Tick(2100) };
    let cases: [(&str, &str, Findings); 6] = [
        (
            "wrong_site",
            "The first bite was begun at 11.0 s with no tooth marked as the site. The order names tooth 35 (lower left \
             second premolar; universal 20, Palmer LL5).",
            spoiled(|findings| findings.site.marks.clear()),
        ),
        (
            "tear_through",
            "The thread tore out of bite 1 of stitch 1 at 42.0 s.",
            spoiled(|findings| findings.tissue.tears.push(tear)),
        ),
        (
            "knot_undone",
            "The knot of stitch 1 came open at 80.0 s.",
            spoiled(|findings| findings.stitches[0].knot_undone = Some(Tick(4800))),
        ),
        ("needle_lost", "The needle was lost at 25.0 s.", spoiled(|findings| findings.needle.push(lost))),
        (
            "thread_broken",
            "The thread broke under a pull of 7.34 N at 35.0 s.",
            spoiled(|findings| findings.thread_breaks.push(broken)),
        ),
        (
            "physically_invalid",
            "The simulation was invalid at 2 of its ticks, first at 10.0 s.",
            spoiled(|findings| findings.validity.invalid_ticks = vec![Tick(600), Tick(601)]),
        ),
    ];
    for (id, evidence, findings) in cases {
        let score = score_of(&findings, &rubric(false));
        assert!(score.total >= score.pass_mark, "`{id}` leaves {}", score.total);
        assert!(!score.passed, "`{id}`");
        assert_eq!(score.reasons, [format!("critical fault `{id}`: {evidence}")]);
        assert_eq!(score.one_thing_to_change, score.critical[0].advice);

        let tolerant = Rubric::new(70.0, rubric(false).rules().to_vec(), vec![]).expect("the rubric is valid");
        assert!(score_of(&findings, &tolerant).passed, "`{id}` is critical only if it is listed");
    }
}

/// Each spoiled attempt breaks one criterion and no other.
#[test]
fn an_attempt_fails_on_exactly_the_criterion_it_breaks() {
    let cases: [(&str, Findings); 11] = [
        ("throws", spoiled(|findings| knot(findings).throws.truncate(2))),
        (
            "laid_square",
            spoiled(|findings| {
                knot(findings).throws[1].direction = Direction::Away;
                knot(findings).throws[1].handedness = Handedness::Left;
            }),
        ),
        (
            "blanching",
            spoiled(|findings| {
                findings.tissue.blanching.as_mut().expect("it was measured").persisting_mm2 =
                    Some(Measured::new(22.0, Tick(4500)));
            }),
        ),
        (
            "tearing",
            spoiled(|findings| {
                findings.tissue.tears.push(Tear { stitch: 0, bite: 1, slit_mm: 1.3, through: false, tick: Tick(2520) });
            }),
        ),
        (
            "knot_aside",
            spoiled(|findings| {
                knot(findings).from_wound_line_mm.value = 0.2;
                knot(findings).outside_socket_mm.value = -3.2;
            }),
        ),
        ("bite", spoiled(|findings| findings.stitches[0].bites[0].distance_from_edge_mm = 0.8)),
        (
            "edges",
            spoiled(|findings| findings.tissue.edges.as_mut().expect("it was measured").stations[2].step_mm = 2.0),
        ),
        ("thread_care", spoiled(|findings| findings.thread_use.peak.as_mut().expect("it was measured").share = 0.9)),
        ("cut_ends", spoiled(|findings| findings.stitches[0].tails.tail_mm = None)),
        ("holds", spoiled(|findings| knot(findings).holding = None)),
        ("snug", spoiled(|findings| findings.stitches[0].loop_tension = None)),
    ];
    for (id, findings) in cases {
        let score = score_of(&findings, &rubric(true));
        assert_eq!(failed(&score), [id]);
        assert!(!score.passed, "`{id}`");
    }
}
