//! Reports as pages: one file each, for a browser, a printer or a screen reader.
//!
//! A page needs no network, no script and no other file, and says so in its own policy. Every picture has a table
//! beside it that says the same, and no colour says anything alone. What is put into a page is escaped by the macro
//! that writes it.

mod attempt;
mod chart;
mod class;
mod knot;
mod plan;

pub use self::attempt::{AttemptPage, attempt_page};
pub use self::class::class_page;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::CAUTIONS;
use crate::math::DVec2;

const STYLE: &str = include_str!("style.css");

/// Nothing is loaded and nothing runs, whatever the text of a scenario says.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

/// The whole page; `program` says what wrote it.
fn page(title: &str, body: &Markup, program: &str) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                (body)
                footer {
                    @for caution in CAUTIONS {
                        p { (caution) }
                    }
                    p.program { (program) }
                }
            }
        }
    };
    page.into_string() + "\n"
}

/// A picture with a name and a description for those who do not see it; `id` is its own on the page.
fn picture(id: &str, size: DVec2, title: &str, description: &str, content: &Markup) -> Markup {
    let (frame, names) = (format!("0 0 {} {}", size.x, size.y), format!("{id}-title {id}-what"));
    html! {
        svg viewBox=(frame) role="img" aria-labelledby=(names) {
            title id=(format!("{id}-title")) { (title) }
            desc id=(format!("{id}-what")) { (description) }
            (content)
        }
    }
}

/// Words of a picture; `class` says how they stand.
fn label(at: DVec2, class: &str, text: &str) -> Markup {
    html! { text x=(px(at.x)) y=(px(at.y)) class=(class) { (text) } }
}

/// A straight line of a picture.
fn rule(from: DVec2, to: DVec2, class: &str) -> Markup {
    html! { line x1=(px(from.x)) y1=(px(from.y)) x2=(px(to.x)) y2=(px(to.y)) class=(class) {} }
}

/// A mark as a bar with the place from which it is enough. The number stands beside it.
fn bar(share: f64, enough: f64) -> Markup {
    let (width, height) = (120.0, 12.0);
    html! {
        svg.bar viewBox=(format!("0 0 {width} {height}")) aria-hidden="true" {
            rect.bar-whole x="0.5" y="2.5" width=(width - 1.0) height=(height - 5.0) {}
            rect.bar-share x="0.5" y="2.5" width=(px((width - 1.0) * share.clamp(0.0, 1.0))) height=(height - 5.0) {}
            (rule(DVec2::new(width * enough, 0.0), DVec2::new(width * enough, height), "bar-enough"))
        }
    }
}

/// A sentence as it is printed: names between back quotes as such, square units with a raised 2.
fn words(sentence: &str) -> Markup {
    html! {
        @for (place, part) in sentence.split('`').enumerate() {
            @if place % 2 == 1 { code { (part) } } @else { (units(part)) }
        }
    }
}

/// Units as they are printed.
fn units(text: &str) -> String {
    text.replace("mm2", "mm²").replace(" deg", "°")
}

/// A number with at most two decimals.
fn number(value: f64) -> String {
    if !value.is_finite() {
        return "not measured".to_owned();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A number and its unit, or that there is none.
fn amount(value: Option<f64>, unit: &str) -> String {
    value.map_or_else(|| "not measured".to_owned(), |value| units(format!("{} {unit}", number(value)).trim_end()))
}

/// A number to the tenth, as the marks take it, and its unit, or that there is none.
fn tenths(value: Option<f64>, unit: &str) -> String {
    let value = value.filter(|value| value.is_finite());
    value.map_or_else(|| "not measured".to_owned(), |value| units(&format!("{value:.1} {unit}")))
}

/// A place in a picture: tenths of a pixel are enough.
fn px(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or_else(|| text.clone(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_without_empty_decimals_and_what_is_none_is_said() {
        for (value, written) in
            [(1.0, "1"), (0.504, "0.5"), (-0.001, "0"), (12.345, "12.35"), (f64::NAN, "not measured")]
        {
            assert_eq!(number(value), written);
        }
        assert_eq!(amount(Some(2.5), "mm2 s"), "2.5 mm² s");
        assert_eq!(amount(None, "mm"), "not measured");
    }

    #[test]
    fn names_in_a_sentence_are_set_apart_and_nothing_in_it_is_markup() {
        let written = words("below `<b>` of 3 mm2 & more").into_string();
        assert_eq!(written, "below <code>&lt;b&gt;</code> of 3 mm² &amp; more");
    }
}
