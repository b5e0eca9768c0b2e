//! The site from above, measured.

use maud::{Markup, html};

use super::{label, picture, px, rule};
use crate::analysis::findings::{Findings, Side};
use crate::analysis::view::{Hole, SitePlan};
use crate::math::{DVec2, DVec3};
use crate::score::Span;

/// What is shown to either side of the socket's middle [mm].
const HALF: DVec2 = DVec2::new(10.5, 7.8);
const SCALE: f64 = 32.0;

/// The plan of a site and what is measured in it.
pub(super) struct Plan<'a> {
    pub(super) site: &'a SitePlan,
    pub(super) findings: &'a Findings,
    /// Where a bite was to be taken, from the flap's edge [mm].
    pub(super) bite_mm: Span,
    /// Middles of the knots.
    pub(super) knots: &'a [DVec3],
}

impl Plan<'_> {
    pub(super) fn markup(&self) -> Markup {
        let description = "Both flaps with the gap between their edges, the membrane, the mouth of the socket, the \
                           holes of the bites, the thread and the knot. The table beside it gives the distances.";
        picture(
            "plan",
            2.0 * SCALE * HALF,
            "The site from above at the end of the attempt",
            description,
            &self.content(),
        )
    }

    fn content(&self) -> Markup {
        let site = self.site;
        let membrane =
            [site.membrane_centre - 0.5 * site.membrane_size, site.membrane_centre + 0.5 * site.membrane_size];
        html! {
            (sheet(membrane, "membrane"))
            ellipse.socket cx=(px(at(DVec2::ZERO).x)) cy=(px(at(DVec2::ZERO).y))
                rx=(px(0.5 * SCALE * site.socket.x)) ry=(px(0.5 * SCALE * site.socket.y)) {}
            @for (side, edge) in [Side::Cheek, Side::Tongue].into_iter().zip(&site.edges) {
                (flap(side, edge))
            }
            @for pale in &site.pale {
                (ring(pale.place, 0.45 * SCALE * pale.paleness.sqrt(), "pale"))
            }
            ellipse.socket.under cx=(px(at(DVec2::ZERO).x)) cy=(px(at(DVec2::ZERO).y))
                rx=(px(0.5 * SCALE * site.socket.x)) ry=(px(0.5 * SCALE * site.socket.y)) {}
            (sheet(membrane, "membrane under"))
            @for (side, edge) in [Side::Cheek, Side::Tongue].into_iter().zip(&site.edges) {
                (self.ordered(side, edge))
            }
            @for strand in &site.strands {
                polyline.thread-rim points=(points(strand)) stroke-width=(px(SCALE * site.thread_mm + 3.0)) {}
                polyline.thread points=(points(strand)) stroke-width=(px(SCALE * site.thread_mm)) {}
            }
            @for place in &site.membrane_pierced {
                (cross(*place))
            }
            @for (index, hole) in site.holes.iter().enumerate() {
                (self.hole(index, hole))
            }
            @for place in self.knots {
                (self.knot(place.truncate()))
            }
            (names(site))
        }
    }

    /// Where the bites were to be taken.
    fn ordered(&self, side: Side, edge: &[DVec2]) -> Markup {
        let sign = sign(side);
        html! {
            @for distance in [self.bite_mm.min, self.bite_mm.max] {
                @let line: Vec<DVec2> = edge.iter().map(|&place| place + DVec2::Y * sign * distance).collect();
                polyline.ordered points=(points(&line)) {}
            }
        }
    }

    /// A hole with its distance from the edge as it was measured when the bite was taken.
    fn hole(&self, index: usize, hole: &Hole) -> Markup {
        let bite = self.findings.stitches.iter().flat_map(|stitch| &stitch.bites).nth(index);
        let beside = DVec2::X * -1.5;
        html! {
            @if let Some(bite) = bite {
                (dimension(hole.place + beside, hole.edge + beside))
                (rule(at(hole.place), at(hole.place + beside * 1.15), "witness"))
                (label(at(0.5 * (hole.place + hole.edge) + beside) + DVec2::new(-8.0, 5.0), "measure end",
                    &format!("{:.1} mm", bite.distance_from_edge_mm)))
            }
            (ring(hole.place, 7.0, "rim"))
            (ring(hole.place, 7.0, "hole"))
            (label(at(hole.place) + DVec2::new(-13.0, 4.5), "measure end", &(index + 1).to_string()))
        }
    }

    /// The knot with its distance beyond the edge of the flap it lies on; of several knots only the places, since there is
    /// no room for the words.
    fn knot(&self, place: DVec2) -> Markup {
        let (foot, outside) = self.site.beyond_edge(place);
        // Beside the knot where there is room for the words.
        let (side, anchor) = if place.x > 3.0 { (-1.0, "measure end") } else { (1.0, "measure") };
        let (beside, off) = (2.2 * side * DVec2::X, DVec2::new(8.0 * side, 5.0));
        let inward = if outside < 0.0 { " inside" } else { "" };
        let [x, y] = at(place).to_array();
        html! {
            @for class in ["rim", "knot"] {
                rect class=(class) x=(px(x - 12.0)) y=(px(y - 12.0)) width="24" height="24" {}
            }
            @if self.knots.len() == 1 {
                (rule(at(place) + 12.0 * side * DVec2::X, at(place + beside * 1.1), "witness"))
                (dimension(place + beside, foot + beside))
                (label(at(0.5 * (place + foot) + beside) + off, anchor, &format!("knot {:.1} mm{inward}", outside.abs())))
            }
        }
    }
}

/// Where a place is seen [px].
fn at(place: DVec2) -> DVec2 {
    SCALE * (HALF + DVec2::new(place.x, -place.y))
}

fn points(line: &[DVec2]) -> String {
    let corner = |at: DVec2| format!("{},{}", px(at.x), px(at.y));
    let all: Vec<String> = line.iter().map(|&place| corner(at(place))).collect();
    all.join(" ")
}

const fn sign(side: Side) -> f64 {
    match side {
        Side::Cheek => 1.0,
        Side::Tongue => -1.0,
    }
}

fn flap(side: Side, edge: &[DVec2]) -> Markup {
    let far = DVec2::new(HALF.x + 1.0, sign(side) * (HALF.y + 1.0));
    let (Some(&first), Some(&last)) = (edge.first(), edge.last()) else { return html! {} };
    let ends = [DVec2::new(-far.x, first.y), DVec2::new(far.x, last.y)];
    let rim: Vec<DVec2> = [ends[0]].into_iter().chain(edge.iter().copied()).chain([ends[1]]).collect();
    let around: Vec<DVec2> = rim.iter().copied().chain([far, DVec2::new(-far.x, far.y)]).collect();
    html! {
        polygon.gum points=(points(&around)) {}
        polyline.gum-edge points=(points(&rim)) {}
    }
}

fn sheet([low, high]: [DVec2; 2], class: &str) -> Markup {
    let corner = at(DVec2::new(low.x, high.y));
    let size = SCALE * (high - low);
    html! { rect class=(class) x=(px(corner.x)) y=(px(corner.y)) width=(px(size.x)) height=(px(size.y)) {} }
}

fn ring(place: DVec2, radius: f64, class: &str) -> Markup {
    html! { circle class=(class) cx=(px(at(place).x)) cy=(px(at(place).y)) r=(px(radius)) {} }
}

fn cross(place: DVec2) -> Markup {
    let [x, y] = at(place).to_array();
    html! { path.pierced d=(format!("M{},{}l12,12m0,-12l-12,12", px(x - 6.0), px(y - 6.0))) {} }
}

/// A line between two short strokes.
fn dimension(from: DVec2, to: DVec2) -> Markup {
    let (from, to, stroke) = (at(from), at(to), DVec2::X * 5.0);
    html! {
        (rule(from, to, "measured"))
        (rule(from - stroke, from + stroke, "measured"))
        (rule(to - stroke, to + stroke, "measured"))
    }
}

fn names(site: &SitePlan) -> Markup {
    let (right, corner) = (2.0 * SCALE * HALF.x - 10.0, DVec2::new(16.0, 2.0 * SCALE * HALF.y - 18.0));
    let top = site.membrane_centre + DVec2::new(-0.5, 0.5) * site.membrane_size;
    html! {
        (label(DVec2::new(right, 24.0), "place end", "cheek’s flap"))
        (label(DVec2::new(right, 2.0 * SCALE * HALF.y - 14.0), "place end", "tongue’s flap"))
        (label(at(top) + DVec2::new(0.0, -7.0), "note", "membrane"))
        (label(at(DVec2::new(0.36, -0.36) * site.socket) + DVec2::new(8.0, 14.0), "note", "mouth of the socket"))
        (rule(corner, corner + 5.0 * SCALE * DVec2::X, "measured"))
        (label(corner - 8.0 * DVec2::Y, "note", "5 mm"))
    }
}
