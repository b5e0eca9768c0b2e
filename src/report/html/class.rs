//! The page of a class: how the totals are spread, which criteria are failed, and what the criteria are worth.

use maud::{Markup, html};

use super::chart::round_step;
use super::{label, number, page, picture, px, rule};
use crate::math::DVec2;
use crate::report::class::{Class, STEP, STEPS};
use crate::score::Item;

const SIZE: DVec2 = DVec2::new(860.0, 250.0);
const LOW: DVec2 = DVec2::new(40.0, 34.0);
const HIGH: DVec2 = DVec2::new(838.0, 210.0);

/// The page as HTML text, whole in itself but for the links to the attempts' pages beside it.
#[must_use]
pub fn class_page(class: &Class) -> String {
    let body = html! {
        header {
            h1 { "Report of a class" }
            p.case { (scenarios(class).join("; ")) }
        }
        main {
            (summary(class))
            (distribution(class))
            (criteria(class))
            (attempts(class))
        }
    };
    page("Report of a class", &body, class.program)
}

fn scenarios<'a>(class: &Class<'a>) -> Vec<&'a str> {
    let mut titles: Vec<&str> = class.marked.iter().map(|attempt| attempt.scenario).collect();
    titles.sort_unstable();
    titles.dedup();
    titles
}

fn summary(class: &Class) -> Markup {
    let scores = class.scores();
    let mut totals: Vec<f64> = scores.iter().map(|score| score.total).collect();
    totals.sort_unstable_by(f64::total_cmp);
    let passed = scores.iter().filter(|score| score.passed).count();
    let unsound = class.marked.len() - scores.len();
    html! {
        section aria-labelledby="summary" {
            h2 #summary { "The class" }
            p.total { strong { (passed) } " of " (scores.len()) " attempts passed" }
            @if let (Some(least), Some(median), Some(most)) = (totals.first(), middle(&totals), totals.last()) {
                p {
                    "Totals from " (format!("{least:.1}")) " to " (format!("{most:.1}")) ", median "
                    (format!("{median:.1}")) " of 100."
                }
            }
            @if let Some(worst) = most_failed(&class.items()) {
                p.change {
                    strong { "Failed most: " } (worst.title) ", by " (worst.failed) " of " (worst.count) "."
                }
            }
            @if unsound > 0 {
                p {
                    (unsound) " more could not be simulated soundly. Their marks stand below, but count nowhere else: \
                    the fault is the simulation’s."
                }
            }
            @if class.copies() > 0 {
                p { (class.copies()) " of the recordings are copies of another one, byte by byte." }
            }
            dl.facts {
                @for (name, value) in &class.origin {
                    div { dt { (name) } dd { (value) } }
                }
            }
        }
    }
}

/// The value in the middle, or between the two there.
fn middle(sorted: &[f64]) -> Option<f64> {
    let upper = sorted.get(sorted.len() / 2)?;
    Some(if sorted.len() % 2 == 1 { *upper } else { 0.5 * (sorted[sorted.len() / 2 - 1] + upper) })
}

/// The first of those that most attempts failed, if any failed one.
fn most_failed(items: &[Item]) -> Option<&Item> {
    let worst = items.iter().reduce(|a, b| if b.failed > a.failed { b } else { a });
    worst.filter(|item| item.failed > 0)
}

fn distribution(class: &Class) -> Markup {
    let counts = class.distribution();
    html! {
        section aria-labelledby="distribution" {
            h2 #distribution { "How the totals are spread" }
            figure {
                (histogram(class, &counts))
                figcaption { "Attempts by total, in steps of ten. The broken line is the pass mark." }
            }
            table.narrow {
                caption { "Attempts by total" }
                thead { tr {
                    th scope="col" { "Total" }
                    th.num scope="col" { "Attempts" }
                } }
                tbody {
                    @for (step, count) in counts.iter().enumerate() {
                        tr { th scope="row" { (step_words(step)) } td.num { (count) } }
                    }
                }
            }
        }
    }
}

fn step_words(step: usize) -> String {
    let from = STEP * step as f64;
    if step + 1 == STEPS { format!("{from} to 100") } else { format!("{from} to below {}", from + STEP) }
}

fn histogram(class: &Class, counts: &[usize]) -> Markup {
    let most = counts.iter().copied().max().unwrap_or(0).max(1) as f64;
    let step = round_step(most / 4.0).max(1.0);
    let top = step * (most / step).ceil();
    let width = (HIGH.x - LOW.x) / counts.len() as f64;
    let place = |total: f64, count: f64| {
        DVec2::new(LOW.x + total / 100.0 * (HIGH.x - LOW.x), HIGH.y - count / top * (HIGH.y - LOW.y))
    };
    let lines = (0..=1000).map(|line| step * f64::from(line)).take_while(|&line| line <= top);
    let content = html! {
        @for line in lines {
            (rule(place(0.0, line), place(100.0, line), "grid"))
            (label(place(0.0, line) + DVec2::new(-6.0, 4.0), "tick end", &number(line)))
        }
        @for (step, &count) in counts.iter().enumerate() {
            @let corner = place(STEP * step as f64, count as f64);
            @if count > 0 {
                @let size = DVec2::new(width - 6.0, HIGH.y - corner.y);
                rect.column x=(px(corner.x + 3.0)) y=(px(corner.y)) width=(px(size.x)) height=(px(size.y)) {}
                (label(corner + DVec2::new(0.5 * width, -5.0), "tick middle", &count.to_string()))
            }
        }
        @for step in 0..=STEPS {
            (label(place(STEP * step as f64, 0.0) + DVec2::new(0.0, 17.0), "tick middle", &number(STEP * step as f64)))
        }
        @for pass_mark in pass_marks(class) {
            (rule(place(pass_mark, 0.0), place(pass_mark, 0.0).with_y(LOW.y - 10.0), "pass"))
            @let words = format!("pass mark {}", number(pass_mark));
            (label(place(pass_mark, 0.0).with_y(LOW.y - 12.0) + DVec2::new(5.0, 0.0), "tick", &words))
        }
        (label(DVec2::new(HIGH.x, SIZE.y - 5.0), "tick end", "total"))
        (label(DVec2::new(0.0, 14.0), "title", "Attempts"))
    };
    let description =
        "A column for each step of ten points, with its number of attempts above. The table says the same.";
    picture("totals", SIZE, "Distribution of the totals", description, &content)
}

/// Every pass mark that is used, from the least.
fn pass_marks(class: &Class) -> Vec<f64> {
    let mut marks: Vec<f64> = class.scores().iter().map(|score| score.pass_mark).collect();
    marks.sort_unstable_by(f64::total_cmp);
    marks.dedup();
    marks
}

fn criteria(class: &Class) -> Markup {
    let items = class.items();
    html! {
        section aria-labelledby="criteria" {
            h2 #criteria { "The criteria" }
            table {
                caption { "How often each criterion is failed, how hard it is, and how well it tells attempts apart" }
                thead { tr {
                    th scope="col" { "Criterion" }
                    th.num scope="col" { "Attempts" }
                    th.num scope="col" { "Failed" }
                    th.num scope="col" { "Failed [%]" }
                    th.num scope="col" { "Difficulty" }
                    th.num scope="col" { "Discrimination" }
                } }
                tbody {
                    @for item in &items {
                        tr {
                            th scope="row" { (item.title) }
                            td.num { (item.count) }
                            td.num { (item.failed) }
                            td.num { (format!("{:.0}", 100.0 * item.failed as f64 / item.count as f64)) }
                            td.num { (format!("{:.2}", item.difficulty)) }
                            td.num { (item.discrimination.map_or_else(|| "none".to_owned(), correlation)) }
                        }
                    }
                }
            }
            (formulas(items.first().map_or(0, |item| item.count)))
        }
    }
}

/// A correlation as it is printed, with a minus sign that does not look like a hyphen.
fn correlation(r: f64) -> String {
    format!("{r:.2}").replace('-', "−")
}

/// What the two numbers are and how far they go; `count` attempts gave them.
fn formulas(count: usize) -> Markup {
    html! {
        dl {
            div.wide { dt { "Difficulty" } dd {
                "Mean mark of the criterion, 0 to 1: the higher, the easier. For marks that are 0 or 1 it is the share \
                of attempts that have it right (Crocker & Algina 1986, Introduction to Classical and Modern Test \
                Theory, chapter 14; from memory)."
            } }
            div.wide { dt { "Discrimination" } dd {
                "Correlation r = Σ(m − m̄)(t − t̄) / √(Σ(m − m̄)² Σ(t − t̄)²) of the criterion’s mark m with t, the \
                weighted mean of all other marks of the attempt: the corrected item-total correlation (Henrysson 1963, \
                Psychometrika 28:211; from memory). Called very good from 0.4, reasonably good from 0.3, marginal from \
                0.2, and poor below (Ebel & Frisbie 1991, Essentials of Educational Measurement; from memory). None: \
                fewer than three attempts, or all marks alike."
            } }
            @if count > 3 {
                div.wide { dt { "How sure" } dd {
                    "With " (count) " attempts a correlation is uncertain by about "
                    (format!("{:.2}", 1.0 / ((count - 3) as f64).sqrt()))
                    " (standard error 1/√(n − 3) of its transform: Fisher 1921, Metron 1:3; from memory)."
                } }
            }
        }
    }
}

fn result(passed: bool) -> (&'static str, &'static str) {
    if passed { ("met", "✓ passed") } else { ("failed", "✗ failed") }
}

fn attempts(class: &Class) -> Markup {
    let named = class.marked.iter().any(|attempt| attempt.file.is_some());
    html! {
        section aria-labelledby="attempts" {
            h2 #attempts { "The attempts" }
            table {
                caption {
                    "Every marked attempt, by the first digits of its recording’s BLAKE3 hash, with a link to its report"
                }
                thead { tr {
                    th scope="col" { "Attempt" }
                    @if named { th scope="col" { "File" } }
                    th.num scope="col" { "Total" }
                    th scope="col" { "Result" }
                    th scope="col" { "Knot" }
                    th scope="col" { "Failed" }
                } }
                tbody {
                    @for attempt in &class.marked {
                        @let score = attempt.score;
                        @let failed = score.criteria.iter().filter(|criterion| criterion.failed);
                        @let failed: Vec<&str> = failed.map(|criterion| criterion.title.as_str()).collect();
                        @let (state, words) = result(score.passed);
                        tr {
                            th.name scope="row" { a href=(attempt.page) { (attempt.name) } }
                            @if named { td.file { (attempt.file.as_deref().unwrap_or_default()) } }
                            td.num { (format!("{:.1}", score.total)) }
                            td.state.(state) { (words) }
                            td { (attempt.findings.notations().as_deref().unwrap_or("none")) }
                            td.faults {
                                (failed.join(", "))
                                @for fault in &score.critical { " " code { (fault.id) } }
                            }
                        }
                    }
                }
            }
            @if !class.unmarked.is_empty() {
                table {
                    caption { "Recordings without marks" }
                    thead { tr { th scope="col" { "Recording" } th scope="col" { "Why" } } }
                    tbody {
                        @for (name, why) in &class.unmarked {
                            tr { th scope="row" { (name) } td { (why) } }
                        }
                    }
                }
            }
        }
    }
}
