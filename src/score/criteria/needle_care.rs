//! Needle care: the needle is always somewhere, never dropped, and its point kept off bone and teeth.

use crate::analysis::findings::{Findings, NeedleEvent, NeedleEventKind};
use crate::said::{PutIn, Said, measure, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, mm, tenth, time};
use crate::score::curve::Curve;

/// Judges how often the needle was dropped and how hard its point came on bone or a tooth; the worse of both is the mark, and a
/// needle that was never taken up again earns nothing.
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
const POINT_FULL: Band = Band {
    id: "point_full_n",
    default: 0.1,
    unit: "N",
    min: 0.0,
    max: 5.0,
    doc: "push of the point on bone or a tooth that still earns everything",
    source: "estimate: a touch that leaves a new point nine tenths of its sharpness in our own model of its wear",
};
const POINT_NONE: Band = Band {
    id: "point_none_n",
    default: 0.6,
    unit: "N",
    min: 0.05,
    max: 20.0,
    doc: "push of the point on bone or a tooth that earns nothing",
    source: "estimate: the push that takes a new point through gum; it leaves half its sharpness in our own model of its wear",
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
         end it must be accounted for: one left lying earns nothing. Bone and teeth blunt a point that is pushed on them, \
         and a blunt one tears its way through gum. The worse of drops and pushes is the mark."
    }

    fn source(&self) -> &'static str {
        "needles are counted, and a dropped one is looked for before anything else: common practice, no source; passes along \
         bone blunt a needle most: Barranco-Piedra, J Clin Exp Dent"
    }

    fn bands(&self) -> &'static [Band] {
        &[DROPS_FULL, DROPS_NONE, POINT_FULL, POINT_NONE]
    }

    fn assess(&self, findings: &Findings, _order: &TaskOrder, bands: &Bands) -> Assessment {
        if !findings.needle.iter().any(|event| event.kind == NeedleEventKind::Entered) {
            return Assessment::missing(
                said!("mark-needle-not-used", "The needle was not used."),
                said!("mark-place-stitch", "Place the stitch that the task asks for."),
            );
        }
        let held = dropped(findings, bands);
        let met: Vec<&NeedleEvent> = findings.needle.iter().filter(|event| is_meeting(event)).collect();
        if met.is_empty() {
            return held;
        }
        let Some(met) = pressed(&met, bands) else {
            return Assessment::unmeasured(said!(
                "mark-needle-unmeasured",
                "How hard the needle's point was pushed was not measured."
            ));
        };
        let evidence = Said::joined([&held.evidence, &met.evidence], " ");
        Assessment { evidence, ..if met.mark < held.mark { met } else { held } }
    }
}

/// Whether its point came on bone or a tooth.
fn is_meeting(event: &NeedleEvent) -> bool {
    matches!(event.kind, NeedleEventKind::MetBone | NeedleEventKind::MetTooth)
}

/// How the needle was held.
fn dropped(findings: &Findings, bands: &Bands) -> Assessment {
    let curve = Curve::RampDown { full: bands.of(&DROPS_FULL), none: bands.of(&DROPS_NONE) };
    let of = |kind| findings.needle.iter().filter(move |event| event.kind == kind);
    let drops = of(NeedleEventKind::Dropped).count();
    let (first, lost) = (of(NeedleEventKind::Dropped).next(), of(NeedleEventKind::Lost).next());
    let count = f64::from(u32::try_from(drops).unwrap_or(u32::MAX));
    let mark = if lost.is_some() { 0.0 } else { curve.mark(count) };
    let fault = mark < 1.0;
    let dropped = match (drops, first) {
        (0, _) | (_, None) => said!("mark-needle-never-dropped", "The needle was never dropped"),
        (1, Some(event)) => {
            said!("mark-needle-dropped-once", "The needle was dropped once, at {place}", place = place(event))
        }
        (many, Some(event)) => said!(
            "mark-needle-dropped-often",
            "The needle was dropped {count} times, first at {place}",
            count = many,
            place = place(event)
        ),
    };
    let evidence = match lost {
        None => said!("mark-needle-accounted", "{dropped}, and is accounted for.", dropped),
        Some(event) => {
            said!("mark-needle-loose", "{dropped}, and lay loose at the end ({place}).", dropped, place = place(event))
        }
    };
    Assessment {
        mark,
        evidence,
        value: Some((count, "1")),
        band: curve.describe_as(&said!("mark-needle-drops", "drops")),
        advice: if fault {
            said!(
                "mark-needle-advice-dropped",
                "Shut the jaws on the needle before anything lets go of it, and take a fallen one up first of all."
            )
        } else {
            Said::default()
        },
        tick: lost.or(first).map(|event| event.tick),
        fault,
    }
}

/// How hard the point came on bone or teeth; `None` if a push is no number.
fn pressed(met: &[&NeedleEvent], bands: &Bands) -> Option<Assessment> {
    let curve = Curve::RampDown { full: bands.of(&POINT_FULL), none: bands.of(&POINT_NONE) };
    let pushes = met.iter().map(|event| Some((*event, event.force_n.filter(|force| force.is_finite())?)));
    let (hardest, push) =
        pushes.collect::<Option<Vec<_>>>()?.into_iter().reduce(|a, b| if b.1 > a.1 { b } else { a })?;
    let on = if hardest.kind == NeedleEventKind::MetBone {
        said!("mark-needle-bone", "bone")
    } else {
        said!("mark-needle-tooth", "a tooth")
    };
    let (mark, place, force) = (curve.mark(push), place(hardest), measure(push, 2, "N"));
    let fault = mark < 1.0;
    Some(Assessment {
        mark,
        evidence: match met.len() {
            1 => said!(
                "mark-needle-pushed-once",
                "Its point came on {on} with {push}, at {place}.",
                on,
                push = force,
                place
            ),
            many => said!(
                "mark-needle-pushed-often",
                "Its point came on bone or teeth {count} times, hardest on {on} with {push}, at {place}.",
                count = many,
                on,
                push = force,
                place
            ),
        },
        value: Some((push, "N")),
        band: curve.describe_as(&said!("mark-needle-pushes", "N on bone or teeth")),
        advice: if fault {
            said!(
                "mark-needle-advice-pushed",
                "Turn the needle along its own arc, and stop where it meets something hard: draw it back and come from \
                 elsewhere."
            )
        } else {
            Said::default()
        },
        tick: Some(hardest.tick),
        fault,
    })
}

/// When an event was, and where.
fn place(event: &NeedleEvent) -> Said {
    let known = |value: f64| tenth(value).map_or_else(|| PutIn::from(said!("mark-needle-unknown", "unknown")), mm);
    said!(
        "mark-needle-place",
        "{when}, {along} along the wound and {across} across it",
        when = time(event.tick),
        along = known(event.along_wound_mm),
        across = known(event.across_mm)
    )
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
            force_n: None,
            tick: Tick(600),
        }));
        findings
    }

    fn pushed(pushes: &[(NeedleEventKind, f64)]) -> Findings {
        let mut findings = findings();
        findings.needle.extend(pushes.iter().map(|&(kind, force)| NeedleEvent {
            kind,
            along_wound_mm: 4.1,
            across_mm: 0.5,
            force_n: Some(force),
            tick: Tick(180),
        }));
        findings
    }

    #[test]
    fn a_point_that_barely_touched_a_tooth_earns_everything() {
        let sentence = "The needle was never dropped, and is accounted for. Its point came on a tooth with 0.08 N, at 3.0 s, \
                        4.1 mm along the wound and 0.5 mm across it.";
        check(&NeedleCare, &pushed(&[(NeedleEventKind::MetTooth, 0.08)]), "1.00", sentence);
    }

    #[test]
    fn half_way_between_a_touch_and_what_pierces_gum_costs_half_and_the_hardest_of_many_counts() {
        use NeedleEventKind::{MetBone, MetTooth};
        let once = "The needle was never dropped, and is accounted for. Its point came on bone with 0.35 N, at 3.0 s, \
                    4.1 mm along the wound and 0.5 mm across it.";
        check(&NeedleCare, &pushed(&[(MetBone, 0.35)]), "0.50", once);
        let many = "The needle was never dropped, and is accounted for. Its point came on bone or teeth 2 times, hardest on \
                    bone with 0.35 N, at 3.0 s, 4.1 mm along the wound and 0.5 mm across it.";
        check(&NeedleCare, &pushed(&[(MetTooth, 0.2), (MetBone, 0.35)]), "0.50", many);
    }

    #[test]
    fn a_point_pushed_on_bone_as_hard_as_gum_takes_earns_nothing() {
        let sentence = "The needle was never dropped, and is accounted for. Its point came on bone with 0.60 N, at 3.0 s, \
                        4.1 mm along the wound and 0.5 mm across it.";
        check(&NeedleCare, &pushed(&[(NeedleEventKind::MetBone, 0.6)]), "0.00", sentence);
    }

    #[test]
    fn the_worse_of_drops_and_pushes_is_the_mark_and_its_moment_is_told() {
        let mut findings = pushed(&[(NeedleEventKind::MetBone, 0.5)]);
        findings.needle.extend(happened(&[NeedleEventKind::Dropped]).needle.pop());
        let bands = Bands::default();
        let found = NeedleCare.assess(&findings, &crate::score::example::order(), &bands);
        assert_eq!((found.value, found.tick), (Some((0.5, "N")), Some(Tick(180))));
        assert!((found.mark - 0.2).abs() < 1e-9, "{}", found.evidence);
        assert!(found.evidence.contains("dropped once") && found.evidence.contains("0.50 N"), "{}", found.evidence);
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
