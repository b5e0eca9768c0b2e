//! The knot: its crossing diagram and its throws.

use maud::{Markup, html};

use super::{picture, px};
use crate::analysis::findings::Stitch;
use crate::report::ReadStitch;
use crate::report::diagram::{Diagram, SIZE, path_data};

/// A stitch's diagram; `id` is its own on the page.
pub(super) fn knot_picture(id: &str, stitch: &ReadStitch) -> Markup {
    let diagram = Diagram::of(stitch);
    let description = "On the left the throws as they were read, one above the other; on the right the thread as it \
                       lies. A line is broken where it runs under another. Limb A is the end before the first hole, \
                       limb B the one after the last. The table of throws says the same in words.";
    let content = html! {
        @for line in &diagram.lines {
            path class=(format!("strand strand-{}", line.strand)) d=(path_data(&line.points)) {}
        }
        @for words in &diagram.words {
            text x=(px(words.at.x)) y=(px(words.at.y)) font-size=(words.size) { (words.text) }
        }
    };
    html! {
        figure {
            (picture(id, SIZE, &stitch.headline(), description, &content))
            figcaption {
                "Crossing diagram of stitch " (stitch.name) ": a line is broken where it runs under another."
            }
        }
    }
}

/// How a throw lies to the one below it.
fn relation(same_hand: bool) -> &'static str {
    if same_hand { "crossed" } else { "parallel" }
}

/// The stitch's throws, in the order laid.
pub(super) fn throws_table(number: usize, stitch: &Stitch) -> Markup {
    let Some(knot) = &stitch.knot else {
        return html! { p { "Stitch " (number) " has no knot at the end of the attempt." } };
    };
    html! {
        table {
            caption { "Throws of stitch " (number) ", " (knot.notation) ", the one nearest to the gum first" }
            thead { tr {
                th scope="col" { "Throw" }
                th scope="col" { "Wraps" }
                th scope="col" { "Strand carried" }
                th scope="col" { "Handed" }
                th scope="col" { "To the one below" }
                th.num scope="col" { "Laid at [s]" }
            } }
            tbody {
                @for (place, throw) in knot.throws.iter().enumerate() {
                    @let below = place.checked_sub(1).map(|below| knot.throws[below].handedness);
                    tr {
                        th scope="row" { (place + 1) }
                        td { (throw.wraps) }
                        td { (throw.direction.name()) }
                        td { (throw.handedness.name()) }
                        td { (below.map_or("", |below| relation(below == throw.handedness))) }
                        td.num { (format!("{:.1}", throw.tick.seconds())) }
                    }
                }
            }
        }
        @if let Some(reason) = &knot.unclear {
            p { strong { "The reading is not clear: " } (reason) "." }
        }
    }
}
