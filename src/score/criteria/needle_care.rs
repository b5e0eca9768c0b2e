//! Needle care: the needle is always somewhere, and never dropped.

use crate::analysis::findings::{Findings, NeedleEvent, NeedleEventKind};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, tenth, time};
use crate::score::curve::Curve;

/// Judges how often the needle was dropped; one that was never taken up again earns nothing.
#[derive(Debug, Clone, Copy)]
pub struct NeedleCare;

const DROPS_FULL: Band = Band {
    id: "drops_full",
    default: 0.0,
    unit: "1",
    min: 0.0,
    max: 10.0,
    doc: "drops that still earn everything",
    source: COMMON_PRACTICE,
};
const DROPS_NONE: Band = Band {
    id: "drops_none",
    default: 2.0,
    unit: "1",
    min: 1.0,
    max: 20.0,
    doc: "drops that earn nothing",
    source: COMMON_PRACTICE,
};

impl Criterion for NeedleCare {
    fn id(&self) -> &'static str {
        "needle_care"
    }

    fn title(&self) -> &'static str {
        "Needle in hand"
    }

    fn doc(&self) -> &'static str {
        "A needle that no instrument and no tissue holds can fall into the airway. It must never be dropped, and at the \
         end it must be accounted for: one left lying earns nothing."
    }

    fn source(&self) -> &'static str {
        "needles are counted, and a dropped one is looked for before anything else: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[DROPS_FULL, DROPS_NONE]
    }

    fn assess(&self, findings: &Findings, _order: &TaskOrder, bands: &Bands) -> Assessment {
        let curve = Curve::RampDown { full: bands.of(&DROPS_FULL), none: bands.of(&DROPS_NONE) };
        let of = |kind| findings.needle.iter().filter(move |event| event.kind == kind);
        if of(NeedleEventKind::Entered).next().is_none() {
            return Assessment::missing("The needle was not used.", "Place the stitch that the task asks for.");
        }
        let drops = of(NeedleEventKind::Dropped).count();
        let (first, lost) = (of(NeedleEventKind::Dropped).next(), of(NeedleEventKind::Lost).next());
        let count = f64::from(u32::try_from(drops).unwrap_or(u32::MAX));
        let mark = if lost.is_some() { 0.0 } else { curve.mark(count) };
        let fault = mark < 1.0;
        let dropped = match (drops, first) {
            (0, _) | (_, None) => "The needle was never dropped".to_owned(),
            (1, Some(event)) => format!("The needle was dropped once, at {}", place(event)),
            (many, Some(event)) => format!("The needle was dropped {many} times, first at {}", place(event)),
        };
        let end = lost.map_or_else(
            || ", and is accounted for.".to_owned(),
            |event| format!(", and lay loose at the end ({}).", place(event)),
        );
        Assessment {
            mark,
            evidence: dropped + &end,
            value: Some((count, "1")),
            band: curve.describe("drops"),
            advice: if fault {
                "Shut the jaws on the needle before anything lets go of it, and take a fallen one up first of all."
                    .to_owned()
            } else {
                String::new()
            },
            tick: lost.or(first).map(|event| event.tick),
            fault,
        }
    }
}

/// When an event was, and where.
fn place(event: &NeedleEvent) -> String {
    let mm = |value: f64| tenth(value).map_or_else(|| "unknown".to_owned(), |mm| format!("{mm:.1} mm"));
    format!("{}, {} along the wound and {} across it", time(event.tick), mm(event.along_wound_mm), mm(event.across_mm))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Tick;
    use crate::score::example::{check, findings};

    fn happened(kinds: &[NeedleEventKind]) -> Findings {
        let mut findings = findings();
        findings.needle.extend(kinds.iter().map(|&kind| NeedleEvent {
            kind,
            along_wound_mm: -3.0,
            across_mm: 12.0,
            tick: Tick(600),
        }));
        findings
    }

    #[test]
    fn a_needle_that_was_always_held_earns_everything() {
        check(&NeedleCare, &findings(), "1.00", "The needle was never dropped, and is accounted for.");
    }

    #[test]
    fn the_first_drop_costs_half_and_the_second_the_rest() {
        use NeedleEventKind::Dropped;
        let once = "The needle was dropped once, at 10.0 s, -3.0 mm along the wound and 12.0 mm across it, and is accounted for.";
        check(&NeedleCare, &happened(&[Dropped]), "0.50", once);
        let twice = "The needle was dropped 2 times, first at 10.0 s, -3.0 mm along the wound and 12.0 mm across it, and is accounted for.";
        check(&NeedleCare, &happened(&[Dropped, Dropped]), "0.00", twice);
    }

    #[test]
    fn a_needle_left_lying_earns_nothing() {
        use NeedleEventKind::{Dropped, Lost};
        let sentence = "The needle was dropped once, at 10.0 s, -3.0 mm along the wound and 12.0 mm across it, and lay \
                        loose at the end (10.0 s, -3.0 mm along the wound and 12.0 mm across it).";
        check(&NeedleCare, &happened(&[Dropped, Lost]), "0.00", sentence);
    }

    #[test]
    fn a_needle_that_was_not_used_shows_no_care() {
        let mut findings = findings();
        findings.needle.clear();
        check(&NeedleCare, &findings, "0.00", "The needle was not used.");
    }
}
