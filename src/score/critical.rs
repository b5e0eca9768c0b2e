//! Critical faults: those that fail an attempt whatever its sum.

use serde::{Deserialize, Serialize};

use super::TaskOrder;
use super::criterion::{COMMON_PRACTICE, time};
use super::site::{self, CheckedSite};
use crate::analysis::findings::{Findings, NeedleEventKind};
use crate::quantity::Tick;
use crate::said::{Said, measure, said};
use crate::scenario::WRONG_SITE;

/// A fault that fails an attempt whatever its sum, if the rubric lists it.
#[derive(Debug)]
pub struct CriticalFault {
    /// Name in rubrics and reports; it never changes.
    pub id: &'static str,
    /// What it is, for instructors.
    pub doc: &'static str,
    /// What to do next time.
    pub advice: &'static str,
    /// Why it is critical.
    pub source: &'static str,
    /// The sentence and the moment, if the fault is there.
    find: fn(&Findings, &TaskOrder) -> Option<(Said, Tick)>,
}

impl CriticalFault {
    /// The key of the advice in other languages: it follows from the id.
    #[must_use]
    pub fn advice_key(&self) -> String {
        format!("mark-critical-advice-{}", self.id.replace('_', "-"))
    }

    /// What to do next time, for other languages too.
    #[must_use]
    pub fn said_advice(&self) -> Said {
        Said::keyed(self.advice_key(), self.advice.to_owned(), Vec::new())
    }
}

/// Every critical fault a rubric may list.
pub const CRITICAL_FAULTS: &[CriticalFault] = &[
    CriticalFault {
        id: WRONG_SITE,
        doc: "The first bite was begun with another tooth marked on the arch than the order names, or with none. Where \
              this is listed, the site has to be marked.",
        advice: "Before the needle moves, read the order, say tooth and side, and mark them on the arch; if they differ \
                 from the order, stop.",
        source: site::SOURCE,
        find: wrong_site,
    },
    CriticalFault {
        id: "tear_through",
        doc: "A slit ran from a hole to the flap's edge, so the thread is out of the gum.",
        advice: "Bite farther from the edge and stop pulling as soon as the gum gives.",
        source: COMMON_PRACTICE,
        find: torn_through,
    },
    CriticalFault {
        id: "knot_undone",
        doc: "A knot that had been tied came open and none holds at the end.",
        advice: "Lay the throws square and flat, draw each one snug, and leave the ends long enough.",
        source: COMMON_PRACTICE,
        find: knot_undone,
    },
    CriticalFault {
        id: "needle_lost",
        doc: "The needle was dropped and not taken up again.",
        advice: "Park the needle in the holder and never let go of it in the mouth.",
        source: COMMON_PRACTICE,
        find: needle_lost,
    },
    CriticalFault {
        id: "thread_broken",
        doc: "The thread broke: tension and bending together were more than it bears.",
        advice: "Draw a throw down until it lies, not until it resists, and let go before the thread cuts in.",
        source: COMMON_PRACTICE,
        find: thread_broken,
    },
    CriticalFault {
        id: "physically_invalid",
        doc: "The simulation did something that matter cannot do, so the attempt cannot be marked.",
        advice: "Repeat the attempt: this is the simulation's fault and not yours.",
        source: COMMON_PRACTICE,
        find: physically_invalid,
    },
];

/// A critical fault that was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CriticalMark {
    /// Name of the [`CriticalFault`].
    pub id: String,
    /// One sentence with the numbers and their time.
    pub evidence: Said,
    /// What to do next time.
    pub advice: Said,
    /// The moment to look at.
    pub tick: Tick,
    /// The same moment [s].
    pub seconds: f64,
}

/// The faults of `listed` that are in `findings`, in the order of [`CRITICAL_FAULTS`].
pub(super) fn found(findings: &Findings, order: &TaskOrder, listed: &[String]) -> Vec<CriticalMark> {
    let listed_faults = CRITICAL_FAULTS.iter().filter(|fault| listed.iter().any(|id| id == fault.id));
    listed_faults
        .filter_map(|fault| {
            (fault.find)(findings, order).map(|(evidence, tick)| CriticalMark {
                id: fault.id.to_owned(),
                evidence,
                advice: fault.said_advice(),
                tick,
                seconds: tick.seconds(),
            })
        })
        .collect()
}

fn wrong_site(findings: &Findings, order: &TaskOrder) -> Option<(Said, Tick)> {
    CheckedSite::of(findings, order).wrong()
}

fn torn_through(findings: &Findings, _: &TaskOrder) -> Option<(Said, Tick)> {
    let tear = findings.tissue.tears.iter().find(|tear| tear.through)?;
    let evidence = said!(
        "mark-critical-torn-through",
        "The thread tore out of bite {bite} of stitch {stitch} at {when}.",
        bite = u64::from(tear.bite) + 1,
        stitch = u64::from(tear.stitch) + 1,
        when = time(tear.tick)
    );
    Some((evidence, tear.tick))
}

fn knot_undone(findings: &Findings, _: &TaskOrder) -> Option<(Said, Tick)> {
    let undone = findings.stitches.iter().enumerate().find_map(|(index, stitch)| Some((index, stitch.knot_undone?)));
    let (index, tick) = undone?;
    let evidence = said!(
        "mark-critical-knot-undone",
        "The knot of stitch {stitch} came open at {when}.",
        stitch = index + 1,
        when = time(tick)
    );
    Some((evidence, tick))
}

fn needle_lost(findings: &Findings, _: &TaskOrder) -> Option<(Said, Tick)> {
    let event = findings.needle.iter().find(|event| event.kind == NeedleEventKind::Lost)?;
    Some((said!("mark-critical-needle-lost", "The needle was lost at {when}.", when = time(event.tick)), event.tick))
}

fn thread_broken(findings: &Findings, _: &TaskOrder) -> Option<(Said, Tick)> {
    let found = findings.thread_breaks.first()?;
    let evidence = said!(
        "mark-critical-thread-broken",
        "The thread broke under a pull of {tension} at {when}.",
        tension = measure(found.tension_n, 2, "N"),
        when = time(found.tick)
    );
    Some((evidence, found.tick))
}

fn physically_invalid(findings: &Findings, _: &TaskOrder) -> Option<(Said, Tick)> {
    let ticks = &findings.validity.invalid_ticks;
    let &first = ticks.first()?;
    let evidence = said!(
        "mark-critical-invalid",
        "The simulation was invalid at {count} of its ticks, first at {when}.",
        count = ticks.len(),
        when = time(first)
    );
    Some((evidence, first))
}
