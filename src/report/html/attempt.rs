//! The page of one attempt: what it is worth, why, and what was measured, in words, tables and pictures.

use maud::{Markup, html};

use super::chart::Chart;
use super::knot::{knot_picture, throws_table};
use super::plan::Plan;
use super::{amount, bar, number, page, tenths, units, words};
use crate::analysis::findings::{Findings, Stitch};
use crate::analysis::view::View;
use crate::math::DVec3;
use crate::report::course::{events, pale_over_time, tension_over_time};
use crate::report::text::state;
use crate::report::{ReadStitch, Report};
use crate::score::{CriterionMark, Score, Sensitivity, Span, TaskOrder};

/// One attempt, ready to be laid out as a page.
#[derive(Debug, Clone, Copy)]
pub struct AttemptPage<'a> {
    /// What the attempt is called.
    pub name: &'a str,
    /// What was measured, and its marks.
    pub report: Report<'a>,
    /// What was asked for.
    pub order: &'a TaskOrder,
    /// What is drawn of it.
    pub view: &'a View,
    /// The stitches as they are read.
    pub stitches: &'a [ReadStitch],
    /// Where all this is from: names and what they stand for.
    pub origin: &'a [(&'a str, String)],
    /// The page of the class, as a link; `None` for an attempt alone.
    pub class: Option<&'a str>,
    /// How far the mark moves with the thread, if that was found.
    pub sensitivity: Option<&'a Sensitivity>,
    /// What wrote the page.
    pub program: &'a str,
}

/// The page as HTML text, whole in itself.
#[must_use]
pub fn attempt_page(attempt: &AttemptPage) -> String {
    let (report, score) = (&attempt.report, attempt.report.score);
    let body = html! {
        header {
            @if let Some(class) = attempt.class {
                nav { a href=(class) { "All attempts of the class" } }
            }
            h1 { "Report of " (attempt.name) }
            p.case { (report.scenario) }
        }
        main {
            (verdict(score))
            (origin(attempt))
            (marks(score))
            @if let Some(found) = attempt.sensitivity { (sure(found)) }
            (knots(attempt))
            (site(attempt))
            (over_time(report.findings, attempt.view))
            (reasons(score))
        }
    };
    page(&format!("{}: {}", attempt.name, report.scenario), &body, attempt.program)
}

fn verdict(score: &Score) -> Markup {
    let (class, sign, word) = if score.passed { ("met", "✓", "Passed") } else { ("failed", "✗", "Failed") };
    html! {
        section.verdict.(class) aria-labelledby="verdict" {
            h2 #verdict { span.sign aria-hidden="true" { (sign) } " " (word) }
            p.total { strong { (format!("{:.1}", score.total)) } " of 100, pass mark " (number(score.pass_mark)) }
            (bar(score.total / 100.0, score.pass_mark / 100.0))
            @if !score.reasons.is_empty() {
                ul { @for reason in &score.reasons { li { (words(reason)) } } }
            }
            p.change { strong { "One thing to change: " } (words(&score.one_thing_to_change)) }
            @for fault in &score.critical {
                p {
                    strong { "Critical fault " } code { (fault.id) } ": "
                    (words(&fault.evidence)) " " (words(&fault.advice))
                }
            }
        }
    }
}

fn origin(attempt: &AttemptPage) -> Markup {
    let knots = attempt.report.findings.stitches.iter().filter_map(|stitch| stitch.knot.as_ref());
    let read = knots.map(|knot| knot.notation.as_str()).collect::<Vec<_>>().join(", ");
    html! {
        section aria-labelledby="origin" {
            h2 #origin { "The attempt" }
            dl.facts {
                @if let Some(site) = &attempt.report.score.site {
                    div { dt { "Ordered site" } dd { "tooth " (site.ordered.in_full()) } }
                    div { dt { "Site marked" } dd { (site.marked_words()) } }
                }
                div { dt { "Ordered knot" } dd { (attempt.order.notation()) } }
                div { dt { "Knot as read" } dd { (if read.is_empty() { "none" } else { &read }) } }
                div { dt { "Duration" } dd { (format!("{:.1} s", attempt.report.findings.duration.seconds())) } }
                @for (name, value) in attempt.origin {
                    div { dt { (name) } dd { (value) } }
                }
                div { dt { "Digest of the states" } dd { code { (attempt.report.digest) } } }
            }
        }
    }
}

/// How sure the mark is.
fn sure(found: &Sensitivity) -> Markup {
    let totals = found.drawn.iter().map(|one| match one {
        Some((total, true)) => format!("{total:.1}, passed"),
        Some((total, false)) => format!("{total:.1}, failed"),
        None => "not carried out to the end".to_owned(),
    });
    html! {
        section aria-labelledby="sure" {
            h2 #sure { "How sure the mark is" }
            p { (found.sentence()) }
            p {
                "Hands that repeat what they did do not react to another thread, so that the mark is rather surer than \
                 this says."
            }
            table {
                caption { "The same hands in threads drawn from the material's ranges" }
                thead { tr { th scope="col" { "Thread" } th scope="col" { "Total" } } }
                tbody {
                    @for (number, total) in (1..).zip(totals) {
                        tr { th scope="row" { (number) } td { (total) } }
                    }
                }
            }
        }
    }
}

fn marks(score: &Score) -> Markup {
    html! {
        section aria-labelledby="marks" {
            h2 #marks { "Marks" }
            table {
                caption { "Marks from 0 to 1; the stroke across each bar is where a criterion is failed below" }
                thead { tr {
                    th scope="col" { "Criterion" }
                    th scope="col" { "State" }
                    th.num scope="col" { "Mark" }
                    th.bars scope="col" { span.unseen { "Mark as a bar" } }
                    th.num scope="col" { "Weight" }
                    th.num scope="col" { "Value" }
                    th.num scope="col" { "Moment [s]" }
                } }
                tbody {
                    @for criterion in &score.criteria {
                        @let (sign, word) = state(criterion);
                        tr {
                            th scope="row" { a href=(format!("#criterion-{}", criterion.id)) { (criterion.title) } }
                            td.state.(word) { (sign) " " (word) }
                            td.num { (format!("{:.2}", criterion.mark)) }
                            td.bars { (bar(criterion.mark, criterion.fails_below)) }
                            td.num { (number(criterion.weight)) }
                            td.num { (value_words(criterion, "")) }
                            td.num { (moment(criterion, "")) }
                        }
                    }
                }
            }
        }
    }
}

/// The number that decided, or `none` in its place.
fn value_words(criterion: &CriterionMark, none: &str) -> String {
    let unit = if criterion.unit == "1" { "" } else { &criterion.unit };
    criterion.value.map_or_else(|| none.to_owned(), |value| amount(Some(value), unit))
}

/// The moment to look at [s], or `none` in its place.
fn moment(criterion: &CriterionMark, none: &str) -> String {
    criterion.seconds.map_or_else(|| none.to_owned(), |seconds| format!("{seconds:.1}"))
}

fn knots(attempt: &AttemptPage) -> Markup {
    html! {
        section aria-labelledby="knot" {
            h2 #knot { "The knot" }
            @if attempt.report.findings.stitches.is_empty() {
                p { "No stitch was placed, so there is no knot to show." }
            }
            @for (index, stitch) in attempt.report.findings.stitches.iter().enumerate() {
                (throws_table(index + 1, stitch))
                @if let Some(read) = attempt.stitches.get(index) {
                    (knot_picture(&format!("knot-{}", index + 1), read))
                }
            }
        }
    }
}

fn site(attempt: &AttemptPage) -> Markup {
    let knots: Vec<DVec3> = attempt.stitches.iter().filter_map(|stitch| stitch.reading.knot_centre).collect();
    let (findings, order) = (attempt.report.findings, attempt.order);
    let plan = Plan { site: &attempt.view.site, findings, bite_mm: order.bite_mm, knots: &knots };
    html! {
        section aria-labelledby="site" {
            h2 #site { "The stitch from above" }
            figure {
                (plan.markup())
                figcaption {
                    "Seen by the operator, the cheek above. Dotted lines: where the bites were to be taken, "
                    (number(order.bite_mm.min)) " to " (number(order.bite_mm.max)) " mm from the edge. " (SIGNS)
                }
            }
            (distances(findings, order))
        }
    }
}

/// What stands for what in the picture of the site.
const SIGNS: &str = "Long dashes: the membrane where it is tucked under; short dashes: the mouth of the socket. Rings: \
                     holes, numbered as in the table; square: the knot, with its distance from the \
                     flap’s edge; discs with a dotted rim: pale gum. The bites’ distances are those measured when they \
                     were taken.";

fn distances(findings: &Findings, order: &TaskOrder) -> Markup {
    let several = findings.stitches.len() > 1;
    let rows = findings.stitches.iter().enumerate().flat_map(|(index, stitch)| {
        let of = if several { format!("Stitch {}, ", index + 1) } else { String::new() };
        measured(stitch, order).into_iter().map(move |(what, value, asked)| (format!("{of}{what}"), value, asked))
    });
    let tissue = &findings.tissue;
    let site = [
        ("Gap between the flaps’ edges at the stitch", tenths(tissue.edges_gap_mm.map(|gap| gap.value), "mm")),
        ("Pale gum at the end", tenths(tissue.blanching.map(|pale| pale.end_mm2.value), "mm2")),
    ]
    .map(|(what, value)| (what.to_owned(), value, String::new()));
    html! {
        table {
            caption { "Distances and lengths" }
            thead { tr {
                th scope="col" { "What" }
                th.num scope="col" { "Measured" }
                th scope="col" { "Asked for" }
            } }
            tbody {
                @for (what, value, asked) in rows.chain(site) {
                    tr { th scope="row" { (what) } td.num { (value) } td { (asked) } }
                }
            }
        }
    }
}

/// What was measured of a stitch, and what was asked for.
fn measured(stitch: &Stitch, order: &TaskOrder) -> Vec<(String, String, String)> {
    let span = |span: Span| format!("{} to {} mm", number(span.min), number(span.max));
    let bites = stitch.bites.iter().enumerate().flat_map(|(index, bite)| {
        let name = format!("Bite {}, {}", index + 1, bite.flap.name());
        [
            (format!("{name}: from the edge"), tenths(Some(bite.distance_from_edge_mm), "mm"), span(order.bite_mm)),
            (format!("{name}: depth"), tenths(Some(bite.depth_mm), "mm"), String::new()),
            (format!("{name}: angle to the surface"), tenths(Some(bite.angle_deg), "deg"), String::new()),
        ]
    });
    let knot = stitch.knot.iter().flat_map(|knot| {
        [
            (
                "Knot: from the wound line, toward the cheek",
                knot.from_wound_line_mm.value,
                format!("on the {}’s side", order.knot_side.name()),
            ),
            ("Knot: outside the socket’s edge", knot.outside_socket_mm.value, String::new()),
        ]
        .map(|(what, value, asked)| (what.to_owned(), tenths(Some(value), "mm"), asked))
    });
    let tension = stitch.loop_tension.iter().flat_map(|tension| {
        [("Tension of the loop at the end", tension.now_n()), ("Largest tension of the loop", tension.peak_n())]
            .map(|(what, value)| (what.to_owned(), amount(Some(value), "N"), String::new()))
    });
    let ends =
        [("Short end", stitch.tails.tail_mm), ("Long strand’s end", stitch.tails.strand_mm)].map(|(what, length)| {
            let length = length.map_or_else(|| "not cut".to_owned(), |length| tenths(Some(length.value), "mm"));
            (what.to_owned(), length, span(order.tail_mm))
        });
    bites.chain(knot).chain(tension).chain(ends).collect()
}

fn over_time(findings: &Findings, view: &View) -> Markup {
    let events = events(findings);
    let times: Vec<f64> = events.iter().map(|event| event.tick.seconds()).collect();
    let end = findings.duration.seconds();
    let tension = tension_over_time(findings, view);
    let pale = pale_over_time(findings, view);
    let charts = [("tension", "Tension of the loop", "N", tension), ("pale", "Pale gum", "mm²", pale)];
    html! {
        section aria-labelledby="time" {
            h2 #time { "Over time" }
            figure {
                @for (id, title, unit, points) in &charts {
                    (Chart { id, title, unit, points, events: &times, end }.markup())
                }
                figcaption { "Ten values a second, and the largest. The numbered strokes are the events of the table." }
            }
            table {
                caption { "What happened when" }
                thead { tr {
                    th scope="col" { "No." }
                    th.num scope="col" { "Time [s]" }
                    th scope="col" { "Event" }
                    th.num scope="col" { "Tension [N]" }
                    th.num scope="col" { "Pale gum [mm²]" }
                } }
                tbody {
                    @for (index, event) in events.iter().enumerate() {
                        @let now = view.at(event.tick);
                        tr {
                            th scope="row" { (index + 1) }
                            td.num { (format!("{:.1}", event.tick.seconds())) }
                            td { (&*event.words) }
                            td.num { (now.map_or_else(String::new, |now| format!("{:.2}", now.loop_tension_n()))) }
                            td.num { (now.map_or_else(String::new, |now| format!("{:.1}", now.pale_mm2))) }
                        }
                    }
                }
            }
        }
    }
}

fn reasons(score: &Score) -> Markup {
    html! {
        section aria-labelledby="reasons" {
            h2 #reasons { "Why" }
            @for criterion in &score.criteria {
                (reason(criterion))
            }
        }
    }
}

fn reason(criterion: &CriterionMark) -> Markup {
    let (sign, word) = state(criterion);
    html! {
        article.criterion id=(format!("criterion-{}", criterion.id)) {
            h3 {
                (criterion.title) " "
                span.state.(word) { (sign) " " (word) ", " (format!("{:.2}", criterion.mark)) }
            }
            p { (words(&criterion.evidence)) }
            @if !criterion.advice.is_empty() {
                p.change { strong { "Next time: " } (words(&criterion.advice)) }
            }
            dl {
                div { dt { "Value" } dd { (value_words(criterion, "none")) } }
                div { dt { "Moment [s]" } dd { (moment(criterion, "none")) } }
                div { dt { "Weight" } dd { (number(criterion.weight)) } }
                div { dt { "Failed below" } dd { (number(criterion.fails_below)) } }
                div { dt { "Required to pass" } dd { (if criterion.required { "yes" } else { "no" }) } }
                div.wide { dt { "Marked" } dd { (units(&criterion.band)) } }
                div.wide { dt { "Source" } dd { (units(&criterion.source)) } }
            }
        }
    }
}
