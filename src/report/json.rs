//! The report as one JSON object, for programs.
//!
//! Keys are in snake case and end with their unit. A number that is not finite is written as `null`.

use serde::Serialize;

use super::{CAUTIONS, Report, Timing};
use crate::analysis::findings::{Bite, Blanching, Measured, NeedleEvent, SiteCheck, Stitch, Tear, ThreadBreak, Throw};
use crate::quantity::Tick;
use crate::said::Said;
use crate::score::{CheckedSite, CriterionMark, CriticalMark};
use crate::tooth::Tooth;

/// The report as JSON text, indented, ending with a line break.
#[must_use]
pub fn json(report: &Report) -> String {
    // Writing to a string fails only for maps whose keys are not strings, and there are none.
    let mut text = serde_json::to_string_pretty(&Root::from(report)).expect("every key is a string");
    text.push('\n');
    text
}

#[derive(Serialize)]
struct Root<'a> {
    scenario: &'a str,
    digest: &'a str,
    real_time_factor: Option<f64>,
    timings: &'a [Timing<'a>],
    duration_s: f64,
    site: SiteJson,
    score: ScoreJson<'a>,
    stitches: Vec<StitchJson<'a>>,
    tissue: TissueJson,
    needle: Vec<NeedleJson>,
    thread_breaks: Vec<ThreadBreakJson>,
    simulation: SimulationJson,
    cautions: &'static [&'static str],
}

/// `checked` is whether the rubric has the site marked; `marked` is the mark that counts.
#[derive(Serialize)]
struct SiteJson {
    checked: bool,
    ordered: Option<ToothJson>,
    marked: Option<ToothJson>,
    marked_s: Option<f64>,
    first_bite_s: Option<f64>,
    marks: Vec<SiteMarkJson>,
}

#[derive(Serialize)]
struct SiteMarkJson {
    tooth: Option<ToothJson>,
    time_s: f64,
}

/// A tooth in each notation.
#[derive(Serialize)]
struct ToothJson {
    iso_3950: u8,
    universal: u8,
    palmer: String,
    name: String,
}

#[derive(Serialize)]
struct ScoreJson<'a> {
    total: f64,
    pass_mark: f64,
    passed: bool,
    reasons: &'a [Said],
    one_thing_to_change: &'a str,
    critical: Vec<CriticalJson<'a>>,
    criteria: Vec<CriterionJson<'a>>,
}

#[derive(Serialize)]
struct CriticalJson<'a> {
    id: &'a str,
    evidence: &'a str,
    advice: &'a str,
    time_s: f64,
}

#[derive(Serialize)]
struct CriterionJson<'a> {
    id: &'a str,
    title: &'a str,
    mark: f64,
    weight: f64,
    required: bool,
    fails_below: f64,
    failed: bool,
    evidence: &'a str,
    advice: &'a str,
    band: &'a str,
    source: &'a str,
    value: Option<f64>,
    unit: &'a str,
    time_s: Option<f64>,
}

#[derive(Serialize)]
struct StitchJson<'a> {
    notation: Option<&'a str>,
    form: Option<&'static str>,
    form_measure: Option<f64>,
    clear: Option<bool>,
    unclear_reason: Option<&'a str>,
    determinant: Option<u64>,
    throws: Vec<ThrowJson>,
    knot_from_wound_line_mm: Option<f64>,
    knot_outside_socket_mm: Option<f64>,
    knot_undone_s: Option<f64>,
    holding_force_n: Option<f64>,
    holding_slip_mm: Option<f64>,
    holding_end: Option<&'static str>,
    bites: Vec<BiteJson>,
    tension_now_n: Option<f64>,
    tension_peak_n: Option<f64>,
    tension_peak_s: Option<f64>,
    tail_mm: Option<f64>,
    strand_mm: Option<f64>,
}

#[derive(Serialize)]
struct ThrowJson {
    wraps: u32,
    handedness: &'static str,
    direction: &'static str,
    time_s: f64,
}

#[derive(Serialize)]
struct BiteJson {
    flap: &'static str,
    along_wound_mm: f64,
    distance_from_edge_mm: f64,
    depth_mm: f64,
    angle_deg: f64,
    time_s: f64,
}

#[derive(Serialize)]
struct TissueJson {
    blanched_end_mm2: Option<f64>,
    blanched_peak_mm2: Option<f64>,
    blanched_peak_s: Option<f64>,
    blanched_integral_mm2_s: Option<f64>,
    blanched_persisting_mm2: Option<f64>,
    edges_gap_mm: Option<f64>,
    tears: Vec<TearJson>,
}

#[derive(Serialize)]
struct TearJson {
    stitch_index: u32,
    bite_index: u32,
    slit_mm: f64,
    through: bool,
    time_s: f64,
}

#[derive(Serialize)]
struct NeedleJson {
    event: &'static str,
    force_n: Option<f64>,
    time_s: f64,
}

#[derive(Serialize)]
struct ThreadBreakJson {
    from_swage_mm: f64,
    tension_n: f64,
    load_n: f64,
    time_s: f64,
}

#[derive(Serialize)]
struct SimulationJson {
    invalid_s: Vec<f64>,
    residual: f64,
    residual_s: f64,
    substeps: u32,
    share_above_tolerance: f64,
}

impl<'a> From<&Report<'a>> for Root<'a> {
    fn from(report: &Report<'a>) -> Self {
        let (findings, score) = (report.findings, report.score);
        Self {
            scenario: report.scenario,
            digest: report.digest,
            real_time_factor: report.real_time_factor,
            timings: report.timings,
            duration_s: findings.duration.seconds(),
            site: SiteJson::new(&findings.site, score.site.as_ref()),
            score: ScoreJson {
                total: score.total,
                pass_mark: score.pass_mark,
                passed: score.passed,
                reasons: &score.reasons,
                one_thing_to_change: &score.one_thing_to_change,
                critical: score.critical.iter().map(CriticalJson::from).collect(),
                criteria: score.criteria.iter().map(CriterionJson::from).collect(),
            },
            stitches: findings.stitches.iter().map(StitchJson::from).collect(),
            tissue: TissueJson::new(
                findings.tissue.blanching.as_ref(),
                findings.tissue.edges_gap_mm,
                &findings.tissue.tears,
            ),
            needle: findings.needle.iter().map(NeedleJson::from).collect(),
            thread_breaks: findings.thread_breaks.iter().map(ThreadBreakJson::from).collect(),
            simulation: SimulationJson {
                invalid_s: findings.validity.invalid_ticks.iter().map(|tick| tick.seconds()).collect(),
                residual: findings.validity.residual.value,
                residual_s: findings.validity.residual.tick.seconds(),
                substeps: findings.validity.substeps,
                share_above_tolerance: findings.validity.share_above_tolerance(),
            },
            cautions: CAUTIONS,
        }
    }
}

impl SiteJson {
    fn new(site: &SiteCheck, checked: Option<&CheckedSite>) -> Self {
        let marks = site
            .marks
            .iter()
            .map(|mark| SiteMarkJson { tooth: mark.tooth.map(ToothJson::from), time_s: mark.tick.seconds() });
        let counted = site.marked();
        Self {
            checked: checked.is_some(),
            ordered: checked.map(|checked| checked.ordered.into()),
            marked: counted.map(|(tooth, _)| tooth.into()),
            marked_s: counted.map(|(_, tick)| tick.seconds()),
            first_bite_s: site.first_bite.map(Tick::seconds),
            marks: marks.collect(),
        }
    }
}

impl From<Tooth> for ToothJson {
    fn from(tooth: Tooth) -> Self {
        Self { iso_3950: tooth.number(), universal: tooth.universal(), palmer: tooth.palmer(), name: tooth.name() }
    }
}

impl<'a> From<&'a CriticalMark> for CriticalJson<'a> {
    fn from(fault: &'a CriticalMark) -> Self {
        Self { id: &fault.id, evidence: &fault.evidence, advice: &fault.advice, time_s: fault.seconds }
    }
}

impl<'a> From<&'a CriterionMark> for CriterionJson<'a> {
    fn from(criterion: &'a CriterionMark) -> Self {
        Self {
            id: &criterion.id,
            title: &criterion.title,
            mark: criterion.mark,
            weight: criterion.weight,
            required: criterion.required,
            fails_below: criterion.fails_below,
            failed: criterion.failed,
            evidence: &criterion.evidence,
            advice: &criterion.advice,
            band: &criterion.band,
            source: &criterion.source,
            value: criterion.value,
            unit: &criterion.unit,
            time_s: criterion.seconds,
        }
    }
}

impl<'a> From<&'a Stitch> for StitchJson<'a> {
    fn from(stitch: &'a Stitch) -> Self {
        let (knot, tension) = (stitch.knot.as_ref(), stitch.loop_tension.as_ref());
        let holding = knot.and_then(|knot| knot.holding.as_ref());
        Self {
            notation: knot.map(|knot| knot.notation.as_str()),
            form: knot.map(|knot| knot.form.name()),
            form_measure: knot.map(|knot| knot.form_measure),
            clear: knot.map(|knot| knot.unclear.is_none()),
            unclear_reason: knot.and_then(|knot| knot.unclear.as_deref()),
            determinant: knot.and_then(|knot| knot.determinant),
            throws: knot.map_or_else(Vec::new, |knot| knot.throws.iter().map(ThrowJson::from).collect()),
            knot_from_wound_line_mm: knot.map(|knot| knot.from_wound_line_mm.value),
            knot_outside_socket_mm: knot.map(|knot| knot.outside_socket_mm.value),
            knot_undone_s: stitch.knot_undone.map(Tick::seconds),
            holding_force_n: holding.map(|holding| holding.force_n()),
            holding_slip_mm: holding.map(|holding| holding.slip_mm),
            holding_end: holding.map(|holding| if holding.broke { "break" } else { "slip" }),
            bites: stitch.bites.iter().map(BiteJson::from).collect(),
            tension_now_n: tension.map(|tension| tension.now_n()),
            tension_peak_n: tension.map(|tension| tension.peak_n()),
            tension_peak_s: tension.map(|tension| tension.peak_mn.tick.seconds()),
            tail_mm: stitch.tails.tail_mm.map(|length| length.value),
            strand_mm: stitch.tails.strand_mm.map(|length| length.value),
        }
    }
}

impl From<&Throw> for ThrowJson {
    fn from(throw: &Throw) -> Self {
        Self {
            wraps: throw.wraps,
            handedness: throw.handedness.name(),
            direction: throw.direction.name(),
            time_s: throw.tick.seconds(),
        }
    }
}

impl From<&Bite> for BiteJson {
    fn from(bite: &Bite) -> Self {
        Self {
            flap: bite.flap.name(),
            along_wound_mm: bite.along_wound_mm,
            distance_from_edge_mm: bite.distance_from_edge_mm,
            depth_mm: bite.depth_mm,
            angle_deg: bite.angle_deg,
            time_s: bite.tick.seconds(),
        }
    }
}

impl TissueJson {
    fn new(blanching: Option<&Blanching>, edges_gap_mm: Option<Measured>, tears: &[Tear]) -> Self {
        Self {
            blanched_end_mm2: blanching.map(|blanching| blanching.end_mm2.value),
            blanched_peak_mm2: blanching.map(|blanching| blanching.peak_mm2.value),
            blanched_peak_s: blanching.map(|blanching| blanching.peak_mm2.tick.seconds()),
            blanched_integral_mm2_s: blanching.map(|blanching| blanching.integral_mm2_s.value),
            blanched_persisting_mm2: blanching.and_then(|blanching| blanching.persisting_mm2).map(|area| area.value),
            edges_gap_mm: edges_gap_mm.map(|gap| gap.value),
            tears: tears.iter().map(TearJson::from).collect(),
        }
    }
}

impl From<&Tear> for TearJson {
    fn from(tear: &Tear) -> Self {
        Self {
            stitch_index: tear.stitch,
            bite_index: tear.bite,
            slit_mm: tear.slit_mm,
            through: tear.through,
            time_s: tear.tick.seconds(),
        }
    }
}

impl From<&ThreadBreak> for ThreadBreakJson {
    fn from(found: &ThreadBreak) -> Self {
        let ThreadBreak { from_swage_mm, tension_n, load_n, tick } = *found;
        Self { from_swage_mm, tension_n, load_n, time_s: tick.seconds() }
    }
}

impl From<&NeedleEvent> for NeedleJson {
    fn from(event: &NeedleEvent) -> Self {
        Self { event: event.kind.name(), force_n: event.force_n, time_s: event.tick.seconds() }
    }
}
