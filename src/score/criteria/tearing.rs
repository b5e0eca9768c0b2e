//! Tearing: slits at the needle's holes.

use crate::analysis::findings::{Findings, Tear};
use crate::said::{Said, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, mm, tenth, time};
use crate::score::curve::Curve;

/// Judges the longest slit.
#[derive(Debug, Clone, Copy)]
pub struct Tearing;

const SLIT_FULL: Band = Band {
    id: "slit_full_mm",
    default: 0.2,
    unit: "mm",
    min: 0.0,
    max: 5.0,
    // A hole drawn out by about one thread diameter is not yet a tear.
    doc: "longest slit that earns everything",
    source: COMMON_PRACTICE,
};
const SLIT_NONE: Band = Band {
    id: "slit_none_mm",
    default: 1.0,
    unit: "mm",
    min: 0.1,
    max: 10.0,
    doc: "slit that earns nothing",
    source: COMMON_PRACTICE,
};

impl Criterion for Tearing {
    fn id(&self) -> &'static str {
        "tearing"
    }

    fn title(&self) -> &'static str {
        "Gum not torn"
    }

    fn doc(&self) -> &'static str {
        "The thread must not cut toward the flap's edge. The longest slit is marked; a slit that reaches the edge \
         earns nothing."
    }

    fn source(&self) -> &'static str {
        "no tissue tore where the needle entered more than 3 mm from the margin: Jeong 2024, Clin Oral Implants Res \
         35:739; lengths of slits: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[SLIT_FULL, SLIT_NONE]
    }

    fn assess(&self, findings: &Findings, _order: &TaskOrder, bands: &Bands) -> Assessment {
        let curve = Curve::RampDown { full: bands.of(&SLIT_FULL), none: bands.of(&SLIT_NONE) };
        let bites: usize = findings.stitches.iter().map(|stitch| stitch.bites.len()).sum();
        match worst(&findings.tissue.tears, curve) {
            Some(tear) => assess_tear(tear, curve),
            None if bites == 0 => Assessment::missing(
                said!("mark-no-bite", "No bite was taken."),
                said!("mark-place-stitch", "Place the stitch that the task asks for."),
            ),
            None => whole(bites, curve),
        }
    }
}

fn mark(tear: &Tear, curve: Curve) -> f64 {
    if tear.through { 0.0 } else { tenth(tear.slit_mm).map_or(0.0, |slit| curve.mark(slit)) }
}

/// The first of the tears that earn least.
fn worst(tears: &[Tear], curve: Curve) -> Option<&Tear> {
    tears.iter().reduce(|a, b| if mark(b, curve) < mark(a, curve) { b } else { a })
}

fn assess_tear(tear: &Tear, curve: Curve) -> Assessment {
    let mark = mark(tear, curve);
    let fault = mark < 1.0;
    Assessment {
        mark,
        evidence: evidence(tear),
        value: tenth(tear.slit_mm).map(|slit| (slit, "mm")),
        band: curve.describe("mm"),
        advice: if fault {
            said!(
                "mark-tearing-advice",
                "Bite farther from the edge, follow the needle's arc, and pull the thread gently along its own line."
            )
        } else {
            Said::default()
        },
        tick: Some(tear.tick),
        fault,
    }
}

fn evidence(tear: &Tear) -> Said {
    let (bite, stitch, when) = (u64::from(tear.bite) + 1, u64::from(tear.stitch) + 1, time(tear.tick));
    let length = match tenth(tear.slit_mm) {
        None => said!("mark-tearing-unknown", "of unknown length"),
        Some(slit) => said!("mark-tearing-length", "{slit} long", slit = mm(slit)),
    };
    if tear.through {
        said!(
            "mark-tearing-through",
            "The slit at bite {bite} of stitch {stitch} is {length} and reaches the edge ({when}).",
            bite,
            stitch,
            length,
            when
        )
    } else {
        said!(
            "mark-tearing-slit",
            "The slit at bite {bite} of stitch {stitch} is {length} ({when}).",
            bite,
            stitch,
            length,
            when
        )
    }
}

fn whole(bites: usize, curve: Curve) -> Assessment {
    Assessment {
        mark: 1.0,
        evidence: said!("mark-tearing-none", "No slit at any of {bites} bites ({slit}).", bites, slit = mm(0.0)),
        value: Some((0.0, "mm")),
        band: curve.describe("mm"),
        advice: Said::default(),
        tick: None,
        fault: false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Tick;
    use crate::score::example::{check, findings};

    fn torn(slit_mm: f64, through: bool) -> Findings {
        let mut findings = findings();
        findings.tissue.tears.push(Tear { stitch: 0, bite: 0, slit_mm: 0.1, through: false, tick: Tick(2460) });
        findings.tissue.tears.push(Tear { stitch: 0, bite: 1, slit_mm, through, tick: Tick(2520) });
        findings
    }

    #[test]
    fn whole_gum_earns_everything() {
        check(&Tearing, &findings(), "1.00", "No slit at any of 2 bites (0.0 mm).");
    }

    #[test]
    fn the_longest_slit_decides() {
        check(&Tearing, &torn(0.6, false), "0.50", "The slit at bite 2 of stitch 1 is 0.6 mm long (42.0 s).");
    }

    #[test]
    fn a_slit_that_reaches_the_edge_fails() {
        let sentence = "The slit at bite 2 of stitch 1 is 0.8 mm long and reaches the edge (42.0 s).";
        check(&Tearing, &torn(0.8, true), "0.00", sentence);
    }

    #[test]
    fn without_a_bite_there_is_nothing_to_judge() {
        check(&Tearing, &Findings::default(), "0.00", "No bite was taken.");
    }
}
