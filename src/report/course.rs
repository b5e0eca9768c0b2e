//! How an attempt went: its numbers over time, and what happened when.

use crate::analysis::findings::{Findings, NeedleEventKind, SiteMark};
use crate::analysis::view::{Moment, View};
use crate::quantity::Tick;
use crate::said::{Said, said};

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// When.
    pub tick: Tick,
    /// What, in words.
    pub words: Said,
}

/// Tension of the loop [N] over time [s], with its largest values as they were measured in between.
#[must_use]
pub fn tension_over_time(findings: &Findings, view: &View) -> Vec<(f64, f64)> {
    let tensions = findings.stitches.iter().filter_map(|stitch| stitch.loop_tension.as_ref());
    over_time(view, Moment::loop_tension_n, tensions.map(|tension| (tension.peak_mn.tick, tension.peak_n())))
}

/// Pale gum [mm2] over time [s], with its largest value as it was measured in between.
#[must_use]
pub fn pale_over_time(findings: &Findings, view: &View) -> Vec<(f64, f64)> {
    let peak = findings.tissue.blanching.map(|pale| (pale.peak_mm2.tick, pale.peak_mm2.value));
    over_time(view, |now| now.pale_mm2, peak.into_iter())
}

fn over_time(view: &View, number: fn(&Moment) -> f64, peaks: impl Iterator<Item = (Tick, f64)>) -> Vec<(f64, f64)> {
    let mut points: Vec<(Tick, f64)> = view.course.iter().map(|now| (now.tick, number(now))).chain(peaks).collect();
    points.sort_by_key(|&(tick, _)| tick);
    points.into_iter().map(|(tick, value)| (tick.seconds(), value)).collect()
}

/// Time [s] and size of the largest value; `None` without one.
#[must_use]
pub fn peak(points: &[(f64, f64)]) -> Option<(f64, f64)> {
    points.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))
}

/// What happened, in order of time.
#[must_use]
pub fn events(findings: &Findings) -> Vec<Event> {
    let several = findings.stitches.len() > 1;
    let mark = |mark: &SiteMark| {
        let what = match mark.tooth {
            None => said!("mark-event-wiped", "Mark of the site wiped off"),
            Some(tooth) => {
                let tooth = Said::plain(tooth.to_string());
                said!("mark-event-marked", "Tooth {tooth} marked as the site", tooth)
            }
        };
        (mark.tick, what)
    };
    let mut events: Vec<(Tick, Said)> = findings.site.marks.iter().map(mark).collect();
    for (stitch, number) in findings.stitches.iter().zip(1_u32..) {
        let of = |what: Said| {
            if several { said!("mark-event-of", "{what} of stitch {stitch}", what, stitch = number) } else { what }
        };
        for (number, bite) in (1_u32..).zip(&stitch.bites) {
            let bitten = of(said!("mark-event-bite", "Bite {number}", number));
            let flap = bite.flap.said();
            events.push((bite.tick, said!("mark-event-bitten", "{bitten}, through the {flap}’s flap", bitten, flap)));
        }
        for (number, throw) in (1_u32..).zip(stitch.knot.iter().flat_map(|knot| &knot.throws)) {
            let what = of(said!("mark-event-throw", "Throw {number}", number));
            events.push((throw.tick, said!("mark-event-laid", "{what} laid", what)));
        }
        let tail = said!("mark-event-tail", "Short end");
        let strand = said!("mark-event-strand", "Long strand");
        for (end, cut) in [(tail, stitch.tails.tail_mm), (strand, stitch.tails.strand_mm)] {
            events.extend(cut.map(|cut| (cut.tick, said!("mark-event-cut", "{end} cut", end = of(end)))));
        }
        let knot = || of(said!("mark-event-knot", "Knot"));
        events.extend(
            stitch.knot_undone.map(|tick| (tick, said!("mark-event-undone", "{knot} came open", knot = knot()))),
        );
    }
    for needle in &findings.needle {
        let what = match needle.kind {
            NeedleEventKind::PiercedMembrane => said!("mark-event-pierced", "Needle pierced the membrane"),
            NeedleEventKind::Dropped => said!("mark-event-dropped", "Needle dropped"),
            NeedleEventKind::Lost => said!("mark-event-lost", "Needle lost"),
            NeedleEventKind::MetBone => said!("mark-event-met-bone", "Needle’s point on bone"),
            NeedleEventKind::MetTooth => said!("mark-event-met-tooth", "Needle’s point on a tooth"),
            // The bites tell of these.
            NeedleEventKind::Entered | NeedleEventKind::Exited => continue,
        };
        events.push((needle.tick, what));
    }
    for tear in &findings.tissue.tears {
        let number = u64::from(tear.bite) + 1;
        let what = if tear.through {
            said!("mark-event-tore-through", "Hole {number} tore through", number)
        } else {
            said!("mark-event-tears", "Hole {number} began to tear", number)
        };
        events.push((tear.tick, what));
    }
    let broke = |tick| (tick, said!("mark-event-broke", "Thread broke"));
    events.extend(findings.thread_breaks.iter().map(|found| broke(found.tick)));
    events.sort_by_key(|&(tick, _)| tick);
    events.into_iter().map(|(tick, words)| Event { tick, words }).collect()
}
