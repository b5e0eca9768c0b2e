//! Reports as pages.

use knotwright::analysis::findings::{Findings, Side, Tear};
use knotwright::analysis::view::{Hole, Moment, SitePlan, View};
use knotwright::math::DVec2;
use knotwright::quantity::Tick;
use knotwright::report::{AttemptPage, CAUTIONS, ReadStitch, Report, attempt_page};
use knotwright::score::Sensitivity;

use super::structure::faults;
use super::{faultless, order, rubric, score_of, spoiled};
use crate::topology::stacks::{Layout, flat_stack, throws_of};

/// A view whose numbers are made up: the page has to show them, whatever they are.
pub(crate) fn view() -> View {
    let moment = |second: u32| Moment {
        tick: Tick(60 * second),
        // The largest values lie between the moments that were noted.
        loop_tension_mn: if second == 71 { 600.0 } else { 85.0 },
        pale_mm2: if second == 71 { 11.0 } else { 1.5 },
    };
    let at = DVec2::new;
    View {
        course: (0..=90).map(moment).collect(),
        site: SitePlan {
            edges: [1.5, -1.5].map(|y| vec![at(-10.0, y), at(10.0, y)]),
            socket: at(5.5, 7.5),
            membrane_centre: DVec2::ZERO,
            membrane_size: at(10.5, 12.5),
            membrane_pierced: vec![at(0.5, 0.5)],
            holes: vec![
                Hole { flap: Side::Cheek, place: at(0.0, 3.9), edge: at(0.0, 1.5) },
                Hole { flap: Side::Tongue, place: at(0.0, -4.1), edge: at(0.0, -1.5) },
            ],
            strands: vec![vec![at(0.0, -4.1), at(0.0, 3.9)]],
            thread_mm: 0.2,
            pale: Vec::new(),
        },
        stitches: vec![flat_stack(&throws_of("2=1=1"), Layout::LOOSE)],
    }
}

fn laid_out(findings: &Findings, scenario: &str, view: &View) -> String {
    laid_out_with(findings, scenario, view, None)
}

fn laid_out_with(findings: &Findings, scenario: &str, view: &View, sensitivity: Option<&Sensitivity>) -> String {
    let score = score_of(findings, &rubric(true));
    attempt_page(&AttemptPage {
        name: "attempt 3f9a2c1b",
        report: Report { scenario, digest: "6f1d0c2a", real_time_factor: None, timings: &[], findings, score: &score },
        order: &order(),
        view,
        stitches: &ReadStitch::numbered(view.stitches.clone()),
        origin: &[("Recording", "verified".to_owned())],
        class: None,
        sensitivity,
        program: "knotwright",
    })
}

fn torn() -> Findings {
    spoiled(|findings| {
        findings.tissue.tears.push(Tear { stitch: 0, bite: 1, slit_mm: 2.6, through: true, tick: Tick(4260) });
    })
}

#[test]
fn a_page_of_any_attempt_is_built_as_it_has_to_be() {
    let nothing = Findings::default();
    let unmeasured = spoiled(|findings| findings.stitches[0].bites[0].angle_deg = f64::NAN);
    for (what, findings, view) in [
        ("faultless", faultless(), view()),
        ("torn", torn(), view()),
        ("unmeasured", unmeasured, view()),
        ("nothing", nothing, View::default()),
    ] {
        let page = laid_out(&findings, "One stitch", &view);
        assert_eq!(faults(&page), Vec::<String>::new(), "{what}");
        assert!(!page.contains("NaN"), "{what}: what is no number is not printed as one");
    }
}

#[test]
fn a_page_says_of_every_criterion_all_that_the_mark_rests_on() {
    let findings = torn();
    let page = laid_out(&findings, "One stitch", &view());
    let score = score_of(&findings, &rubric(true));
    for criterion in &score.criteria {
        let (before, _) = page.split_once(&format!("id=\"criterion-{}\"", criterion.id)).expect("each has a place");
        let part = page[before.len()..].split("</article>").next().expect("it ends");
        let mark = format!("{:.2}", criterion.mark);
        for said in [
            criterion.title.as_str(),
            &criterion.evidence,
            &criterion.advice,
            &criterion.band,
            &criterion.source,
            &mark,
        ] {
            // As it is printed: raised twos, the sign for degrees, and what would be markup written out.
            let said = said
                .replace("mm2", "mm²")
                .replace(" deg", "°")
                .replace('&', "&amp;")
                .replace('<', "&lt;")
                .replace('>', "&gt;");
            assert!(part.contains(&said.replace('"', "&quot;")), "{}: {said}", criterion.id);
        }
    }
    for caution in CAUTIONS {
        assert!(page.contains(caution), "{caution}");
    }
    assert!(page.contains("One thing to change") && page.contains(&*score.one_thing_to_change));
}

#[test]
fn what_a_picture_shows_stands_in_a_table() {
    let page = laid_out(&torn(), "One stitch", &view());
    // The bite's distance, the peaks with their moments, the events, and the throws as the diagram names them.
    for said in [
        "2.4 mm",
        "largest 0.64 N at 71.0 s",
        "largest 11.5 mm² at 71.0 s",
        "Throw 3 laid",
        "Hole 2 tore through",
        "throw 3: 1 wrap, left-handed",
    ] {
        assert!(page.contains(said), "{said}");
    }
    let row = "<td>Hole 2 tore through</td><td class=\"num\">0.60</td><td class=\"num\">11.0</td>";
    assert!(page.contains(row), "the numbers of the moment stand beside the event");
}

#[test]
fn nothing_in_a_text_becomes_markup() {
    let page = laid_out(&faultless(), "</title><script>alert(\"1\")</script>'&", &view());
    assert_eq!(faults(&page), Vec::<String>::new());
    assert!(page.contains("&lt;/title&gt;&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt;"), "it is shown as it is");
}

#[test]
fn a_page_says_how_sure_its_mark_is_in_words_and_in_a_table_if_that_was_found() {
    let (findings, view) = (Findings::default(), View::default());
    let found =
        Sensitivity { own: 80.0, passes: true, seed: 4, drawn: vec![Some((83.0, true)), Some((61.5, false)), None] };
    let page = laid_out_with(&findings, "Any", &view, Some(&found));
    assert_eq!(faults(&page), Vec::<String>::new());
    for words in ["How sure the mark is", "61.5, failed", "not carried out to the end", "the pass hangs on the thread"]
    {
        assert!(page.contains(words), "{words}");
    }
    assert!(!laid_out(&findings, "Any", &view).contains("How sure the mark is"));
}
