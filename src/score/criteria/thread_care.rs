//! Thread care: no steel on the thread that stays, no pull near its strength, no sawing through a bite.

use crate::analysis::findings::{Findings, PeakTension, Sawing};
use crate::quantity::Tick;
use crate::said::{Said, measure, number, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, mm, tenth, time};
use crate::score::curve::Curve;

/// Judges grips of the holder on thread that stays, the largest tension, and thread sawed through a bite; the worst of
/// these is the mark.
#[derive(Debug, Clone, Copy)]
pub struct ThreadCare;

const GRIPS_FULL: Band = Band {
    id: "grips_full",
    default: 0.0,
    unit: "1",
    min: 0.0,
    max: 10.0,
    doc: "grips of the holder on thread that stays in the wound that still earn everything",
    source: "an instrument's jaws never go on the thread but for its end that is cut off: knot-tying manuals, from memory",
};
const GRIPS_NONE: Band = Band {
    id: "grips_none",
    default: 2.0,
    unit: "1",
    min: 1.0,
    max: 20.0,
    doc: "such grips that earn nothing",
    source: COMMON_PRACTICE,
};
const SHARE_FULL: Band = Band {
    id: "share_full",
    default: 0.5,
    unit: "1",
    min: 0.05,
    max: 1.0,
    doc: "largest tension that earns everything, as a share of what the straight thread bears",
    source: "gut bears 0.43 of that in a knot, other threads up to 0.7: Ratner et al., Biomaterials Science, table of \
             sutures, from memory",
};
const SHARE_NONE: Band = Band {
    id: "share_none",
    default: 0.9,
    unit: "1",
    min: 0.1,
    max: 2.0,
    doc: "tension that earns nothing, as the same share",
    source: COMMON_PRACTICE,
};
const SAWING_FULL: Band = Band {
    id: "sawing_full_n_mm",
    default: 40.0,
    unit: "N mm",
    min: 0.0,
    max: 1000.0,
    doc: "way of the thread through a bite, times its tension, that earns everything",
    source: COMMON_PRACTICE,
};
const SAWING_NONE: Band = Band {
    id: "sawing_none_n_mm",
    default: 120.0,
    unit: "N mm",
    min: 0.1,
    max: 5000.0,
    doc: "the same that earns nothing",
    source: COMMON_PRACTICE,
};

impl Criterion for ThreadCare {
    fn id(&self) -> &'static str {
        "thread_care"
    }

    fn title(&self) -> &'static str {
        "Thread not harmed"
    }

    fn doc(&self) -> &'static str {
        "Steel jaws crush a thread where they close on it, so they may take only the end that is cut off; a pull near the \
         thread's strength weakens it; thread drawn through a bite under load frays and saws the gum. The hand that \
         guides the strand does not count. The worst of grips, pull and sawing is the mark."
    }

    fn source(&self) -> &'static str {
        "jaws off the thread: knot-tying manuals, from memory; a thread is abraded where it goes through skin, more at the \
         entry than at the exit: Zhang 2017, Friction 5:87; how the mark falls: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[GRIPS_FULL, GRIPS_NONE, SHARE_FULL, SHARE_NONE, SAWING_FULL, SAWING_NONE]
    }

    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment {
        let Some(peak) = findings.thread_use.peak else {
            return Assessment::missing(
                said!("mark-thread-not-used", "The thread was not used."),
                said!("mark-place-stitch", "Place the stitch that the task asks for."),
            );
        };
        let most = findings.thread_use.sawing.iter().reduce(|a, b| if b.work_n_mm > a.work_n_mm { b } else { a });
        let parts = [
            Some(grips(findings, order, bands)),
            pulled(peak, bands),
            most.map_or_else(|| Some(untouched(bands)), |most| sawed(most, bands)),
        ];
        let Some(parts) = parts.into_iter().collect::<Option<Vec<Part>>>() else {
            return Assessment::unmeasured(said!(
                "mark-thread-unmeasured",
                "What was done to the thread was not measured."
            ));
        };
        let evidence = Said::joined(parts.iter().map(|part| &part.evidence), "; ");
        let worst = parts.iter().reduce(|a, b| if b.mark() < a.mark() { b } else { a });
        worst.map_or_else(|| Assessment::missing(Said::default(), Said::default()), |worst| worst.assessment(&evidence))
    }
}

/// One thing judged about the thread.
struct Part {
    evidence: Said,
    value: f64,
    unit: &'static str,
    /// Unit in a sentence.
    words: Said,
    curve: Curve,
    advice: Said,
    tick: Option<Tick>,
}

impl Part {
    fn mark(&self) -> f64 {
        self.curve.mark(self.value)
    }

    fn assessment(&self, evidence: &Said) -> Assessment {
        let mark = self.mark();
        let fault = mark < 1.0;
        Assessment {
            mark,
            evidence: Said::joined([evidence, &Said::plain(".")], ""),
            value: Some((self.value, self.unit)),
            band: self.curve.describe_as(&self.words),
            advice: if fault { self.advice.clone() } else { Said::default() },
            tick: self.tick,
            fault,
        }
    }
}

/// Grips on thread that an ordered cut leaves in the wound.
fn grips(findings: &Findings, order: &TaskOrder, bands: &Bands) -> Part {
    let stays =
        findings.thread_use.crushed.iter().filter(|grip| (0.0..order.tail_mm.min).contains(&grip.beyond_knot_mm));
    let stays: Vec<_> = stays.collect();
    let evidence = match stays.first() {
        None => said!("mark-thread-no-grips", "The holder's jaws kept off the thread that stays"),
        Some(first) => said!(
            "mark-thread-grips",
            "The holder's jaws closed on thread that stays {count} times, first at {when}, {beyond} beyond the knot of \
             stitch {stitch}",
            count = stays.len(),
            when = time(first.tick),
            beyond = mm(first.beyond_knot_mm),
            stitch = u64::from(first.stitch) + 1
        ),
    };
    Part {
        evidence,
        value: f64::from(u32::try_from(stays.len()).unwrap_or(u32::MAX)),
        unit: "1",
        words: said!("mark-thread-unit-grips", "grips"),
        curve: Curve::RampDown { full: bands.of(&GRIPS_FULL), none: bands.of(&GRIPS_NONE) },
        advice: said!(
            "mark-thread-advice-grips",
            "Take only the last millimetres of the tail in the jaws: they are cut off."
        ),
        tick: stays.first().map(|grip| grip.tick),
    }
}

/// `None` if a number is not finite.
fn pulled(peak: PeakTension, bands: &Bands) -> Option<Part> {
    let (share, tension, place) = (hundredth(peak.share)?, hundredth(peak.tension_n)?, tenth(peak.from_swage_mm)?);
    Some(Part {
        evidence: said!(
            "mark-thread-pull",
            "its largest tension was {tension}, {share} of its strength, {place} from the needle ({when})",
            tension = measure(tension, 2, "N"),
            share = number(share, 2),
            place = mm(place),
            when = time(peak.tick)
        ),
        value: share,
        unit: "1",
        words: said!("mark-thread-unit-strength", "of its strength"),
        curve: Curve::RampDown { full: bands.of(&SHARE_FULL), none: bands.of(&SHARE_NONE) },
        advice: said!("mark-thread-advice-pull", "Draw a throw down until it lies, not until the thread resists."),
        tick: Some(peak.tick),
    })
}

/// `None` if a number is not finite.
fn sawed(most: &Sawing, bands: &Bands) -> Option<Part> {
    let work = tenth(most.work_n_mm)?;
    let evidence = said!(
        "mark-thread-sawing",
        "{work} were drawn through bite {bite} of stitch {stitch}, most at {when}",
        work = measure(work, 1, "N mm"),
        bite = u64::from(most.bite) + 1,
        stitch = u64::from(most.stitch) + 1,
        when = time(most.tick)
    );
    Some(Part { evidence, value: work, tick: Some(most.tick), ..untouched(bands) })
}

fn untouched(bands: &Bands) -> Part {
    Part {
        evidence: said!("mark-thread-no-sawing", "it was drawn through no bite"),
        value: 0.0,
        unit: "N mm",
        words: Said::plain("N mm"),
        curve: Curve::RampDown { full: bands.of(&SAWING_FULL), none: bands.of(&SAWING_NONE) },
        advice: said!(
            "mark-thread-advice-sawing",
            "Draw the thread through slowly and slack, along the needle's own way out of the gum."
        ),
        tick: None,
    }
}

/// `value` to the nearest hundredth, or `None` if it is not finite.
fn hundredth(value: f64) -> Option<f64> {
    let rounded = (value * 100.0).round() / 100.0 + 0.0;
    rounded.is_finite().then_some(rounded)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::findings::{Crush, ThreadUse};
    use crate::score::example::{check, findings};

    fn used(change: impl FnOnce(&mut ThreadUse)) -> Findings {
        let mut findings = findings();
        change(&mut findings.thread_use);
        findings
    }

    fn gripped(beyond_knot_mm: f64) -> Crush {
        Crush { stitch: 0, from_swage_mm: 95.0, beyond_knot_mm, tick: Tick(1800) }
    }

    #[test]
    fn thread_that_only_its_cut_end_was_gripped_of_earns_everything() {
        let sentence = "The holder's jaws kept off the thread that stays; its largest tension was 2.10 N, 0.21 of its \
                        strength, 88.0 mm from the needle (71.0 s); 12.0 N mm were drawn through bite 1 of stitch 1, \
                        most at 22.0 s.";
        check(&ThreadCare, &findings(), "1.00", sentence);
        check(&ThreadCare, &used(|thread| thread.crushed = vec![gripped(3.0)]), "1.00", sentence);
    }

    #[test]
    fn each_grip_on_thread_that_stays_costs_half() {
        let sentence = "The holder's jaws closed on thread that stays 1 times, first at 30.0 s, 0.5 mm beyond the knot of \
                        stitch 1; its largest tension was 2.10 N, 0.21 of its strength, 88.0 mm from the needle (71.0 \
                        s); 12.0 N mm were drawn through bite 1 of stitch 1, most at 22.0 s.";
        check(&ThreadCare, &used(|thread| thread.crushed = vec![gripped(0.5)]), "0.50", sentence);
    }

    #[test]
    fn a_pull_near_the_strength_and_sawing_cost() {
        let pulled = used(|thread| {
            let peak = thread.peak.as_mut().expect("the example has it");
            (peak.tension_n, peak.share) = (7.0, 0.7);
        });
        let sentence = "The holder's jaws kept off the thread that stays; its largest tension was 7.00 N, 0.70 of its \
                        strength, 88.0 mm from the needle (71.0 s); 12.0 N mm were drawn through bite 1 of stitch 1, \
                        most at 22.0 s.";
        check(&ThreadCare, &pulled, "0.50", sentence);
        let sentence = "The holder's jaws kept off the thread that stays; its largest tension was 2.10 N, 0.21 of its \
                        strength, 88.0 mm from the needle (71.0 s); 120.0 N mm were drawn through bite 2 of stitch 1, \
                        most at 30.0 s.";
        check(&ThreadCare, &used(|thread| thread.sawing[1].work_n_mm = 120.0), "0.00", sentence);
    }

    #[test]
    fn what_was_not_measured_earns_nothing() {
        check(&ThreadCare, &used(|thread| thread.peak = None), "0.00", "The thread was not used.");
        let unmeasured = used(|thread| thread.sawing[0].work_n_mm = f64::INFINITY);
        check(&ThreadCare, &unmeasured, "0.00", "What was done to the thread was not measured.");
    }
}
