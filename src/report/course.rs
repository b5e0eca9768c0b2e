//! How an attempt went: its numbers over time, and what happened when.

use crate::analysis::findings::{Findings, NeedleEventKind, SiteMark};
use crate::analysis::view::{Moment, View};
use crate::quantity::Tick;

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// When.
    pub tick: Tick,
    /// What, in words.
    pub words: String,
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

/// What happened, in order of time.
#[must_use]
pub fn events(findings: &Findings) -> Vec<Event> {
    let several = findings.stitches.len() > 1;
    let mark = |mark: &SiteMark| {
        let what = mark.tooth.map_or_else(
            || "Mark of the site wiped off".to_owned(),
            |tooth| format!("Tooth {tooth} marked as the site"),
        );
        (mark.tick, what)
    };
    let mut events: Vec<(Tick, String)> = findings.site.marks.iter().map(mark).collect();
    for (index, stitch) in findings.stitches.iter().enumerate() {
        let of = if several { format!(" of stitch {}", index + 1) } else { String::new() };
        for (number, bite) in (1_u32..).zip(&stitch.bites) {
            events.push((bite.tick, format!("Bite {number}{of}, through the {}’s flap", bite.flap.name())));
        }
        for (number, throw) in (1_u32..).zip(stitch.knot.iter().flat_map(|knot| &knot.throws)) {
            events.push((throw.tick, format!("Throw {number}{of} laid")));
        }
        for (end, cut) in [("Short end", stitch.tails.tail_mm), ("Long strand", stitch.tails.strand_mm)] {
            events.extend(cut.map(|cut| (cut.tick, format!("{end}{of} cut"))));
        }
        events.extend(stitch.knot_undone.map(|tick| (tick, format!("Knot{of} came open"))));
    }
    for needle in &findings.needle {
        let what = match needle.kind {
            NeedleEventKind::PiercedMembrane => "Needle pierced the membrane",
            NeedleEventKind::Dropped => "Needle dropped",
            NeedleEventKind::Lost => "Needle lost",
            NeedleEventKind::MetBone => "Needle’s point on bone",
            NeedleEventKind::MetTooth => "Needle’s point on a tooth",
            // The bites tell of these.
            NeedleEventKind::Entered | NeedleEventKind::Exited => continue,
        };
        events.push((needle.tick, what.to_owned()));
    }
    for tear in &findings.tissue.tears {
        let what = if tear.through { "tore through" } else { "began to tear" };
        events.push((tear.tick, format!("Hole {} {what}", u64::from(tear.bite) + 1)));
    }
    events.extend(findings.thread_breaks.iter().map(|found| (found.tick, "Thread broke".to_owned())));
    events.sort_by_key(|&(tick, _)| tick);
    events.into_iter().map(|(tick, words)| Event { tick, words }).collect()
}
