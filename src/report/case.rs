//! A case in plain sentences, and what a case's file may say: for those who write cases and those who trust them.

use super::text::wrap;
use crate::material;
use crate::scenario::{
    self, Amount, BAND_RULES, BandRule, Better, Closure, Direction, Interval, KnotSide, NeedlePoint, OperatorSide,
    Scenario, Start, Task,
};
use crate::score::criteria;
use crate::score::{CRITICAL_FAULTS, Ramp, Rubric, ramps};

/// A case in plain sentences; `comment` is what its file says before it begins.
#[must_use]
pub fn explain_case(scenario: &Scenario, rubric: &Rubric, comment: &[String]) -> String {
    let mut lines = vec![scenario.title.clone()];
    lines.extend(scenario.course.map(|course| format!("The course's {course}")));
    lines.push(String::new());
    wrap("", "", &scenario.case_text, &mut lines);
    let parts: [(&str, Vec<String>); 7] = [
        ("Site", site(scenario)),
        ("Thread and needle", tools(scenario)),
        ("Task", [begins(scenario), task(&scenario.task)].concat()),
        ("Limits", limits(scenario)),
        ("What varies", varies(scenario)),
        ("Shown by", shown(scenario)),
        ("Marks", vec![passing(rubric)]),
    ];
    for (title, sentences) in parts {
        lines.extend([String::new(), title.to_owned()]);
        sentences.iter().for_each(|sentence| wrap("  ", "  ", sentence, &mut lines));
    }
    marks(scenario, rubric, &mut lines);
    critical(rubric, &mut lines);
    if !comment.is_empty() {
        lines.extend([String::new(), "What its author says of it".to_owned()]);
        lines.extend(comment.iter().map(|line| format!("  {line}").trim_end().to_owned()));
    }
    lines.join("\n") + "\n"
}

fn site(scenario: &Scenario) -> Vec<String> {
    let site = &scenario.site;
    let cheek = match site.cheek {
        OperatorSide::Far => "beyond the wound",
        OperatorSide::Near => "on the operator's side of the wound",
    };
    let (mesial, distal) = (&site.mesial_neighbour, &site.distal_neighbour);
    vec![
        format!(
            "Tooth {} ({}) is lost. Its socket's mouth is {} mm along the arch and {} mm from cheek to tongue. The \
             operator sees the cheek {cheek}.",
            site.tooth,
            site.lost_tooth().name(),
            site.socket.mesiodistal_mm,
            site.socket.buccolingual_mm
        ),
        format!(
            "Two flaps, {} mm thick, {} mm high and {} mm long, have their edges {} mm apart; they give way as gum of \
             {} kPa does and have {} % of sound gum's strength against tearing.",
            amount(site.flap.thickness_mm),
            site.flap.height_mm,
            site.flap.length_mm,
            amount(site.edge_gap_mm),
            site.flap.modulus_kpa,
            percent(site.flap.quality)
        ),
        format!(
            "A membrane {} mm thick covers the graft and reaches {} mm past the socket on every side.",
            site.membrane.thickness_mm, site.membrane.overlap_mm
        ),
        format!(
            "The neighbour toward the midline is {} mm wide and {} mm high, the other one {} mm and {} mm.",
            mesial.crown_width_mm, mesial.crown_height_mm, distal.crown_width_mm, distal.crown_height_mm
        ),
    ]
}

fn tools(scenario: &Scenario) -> Vec<String> {
    let (thread, needle) = (&scenario.thread, &scenario.needle);
    let wet = if thread.wet { "soaked" } else { "dry" };
    let point = match needle.point {
        NeedlePoint::ReverseCutting => "reverse cutting",
        NeedlePoint::Taper => "taper",
    };
    vec![format!(
        "{} mm of {wet} {} {} on a {point} needle: {}/8 of a circle, {} mm along the arc, wire of {} mm.",
        thread.length_mm, thread.material, thread.size, needle.arc_eighths, needle.length_mm, needle.wire_mm
    )]
}

/// The order, as far as it names the site, and that the site is to be marked: part of what a student is told.
#[must_use]
pub fn site_order(scenario: &Scenario) -> String {
    format!(
        "The order is for tooth {}. Before the first bite the site is marked on the arch: tooth and side.",
        scenario.site.lost_tooth().in_full()
    )
}

/// What is done before the attempt begins, if anything is; or before the first bite.
fn begins(scenario: &Scenario) -> Vec<String> {
    match scenario.start {
        Start::Armed if scenario.checks_site() => vec![site_order(scenario)],
        Start::Armed => Vec::new(),
        Start::Threaded => {
            let bite = scenario.task.bite_mm.middle();
            vec![format!(
                "It begins with one stitch through both flaps, {bite} mm from each edge: its tail is short, and the left \
                 hand holds its strand. The needle's work is done and not marked."
            )]
        }
    }
}

/// The hands that show it, rightly and wrongly.
fn shown(scenario: &Scenario) -> Vec<String> {
    let fault =
        scenario.fault.as_ref().map(|fault| format!("A fault, which fails on {}: {}.", fault.fails, fault.hands));
    std::iter::once(format!("The demonstration: {}.", scenario.demonstration)).chain(fault).collect()
}

fn task(task: &Task) -> Vec<String> {
    let throws = task.throws.iter().map(|throw| {
        let way = match throw.direction {
            Direction::Away => "away",
            Direction::Toward => "toward",
        };
        format!("{} {way}", count(u32::from(throw.wraps), "wrap"))
    });
    let side = match task.knot_side {
        KnotSide::Cheek => "cheek's flap",
        KnotSide::Tongue => "tongue's or palate's flap",
    };
    let closure = match task.closure {
        Closure::OpenHealing => {
            "The wound heals open: the membrane may stay bare between the edges, and the gap is not marked."
        }
        Closure::Approximation => "The flaps' edges shall meet.",
    };
    vec![
        format!(
            "{}, {} {}: {}. The knot lies on the {side}.",
            count(task.stitches, "stitch"),
            if task.stitches == 1 { "tied" } else { "each tied" },
            task.notation(),
            throws.collect::<Vec<_>>().join(", ")
        ),
        format!(
            "A bite lies {} mm from the flap's edge. Both ends are cut to {} mm.",
            interval(task.bite_mm),
            interval(task.tail_mm)
        ),
        closure.to_owned(),
    ]
}

fn limits(scenario: &Scenario) -> Vec<String> {
    let hands = &scenario.hands;
    let (speed, force) = (hands.speed_cap_mm_per_s, hands.force_cap_n);
    let aids = match (scenario.aids.gauges, scenario.aids.throws) {
        (true, true) => "Gauges and the throws as they are read are shown while it is tied.",
        (true, false) => "Gauges are shown while it is tied, the throws as they are read are not.",
        (false, true) => "The throws as they are read are shown while it is tied, gauges are not.",
        (false, false) => "Nothing is shown while it is tied but what there is to see: no gauges, no throws.",
    };
    let ghost = if scenario.aids.ghost { "The demonstration's hands may be shown beside one's own." } else { "" };
    vec![
        format!("No hand is faster than {speed} mm/s or stronger than {force} N. There is no limit of time."),
        format!("{aids} {ghost}").trim_end().to_owned(),
    ]
}

fn varies(scenario: &Scenario) -> Vec<String> {
    let drawn = scenario.draw();
    let amounts = [
        ("the gap between the edges", scenario.site.edge_gap_mm, drawn.edge_gap_mm),
        ("the thickness of the flaps", scenario.site.flap.thickness_mm, drawn.flap_thickness_mm),
    ];
    let ranged = amounts.iter().filter(|(_, amount, _)| amount.min() < amount.max());
    let sentences: Vec<String> = ranged
        .map(|(name, amount, drawn)| {
            let (min, max) = (amount.min(), amount.max());
            format!("Drawn by the seed: {name}, {min} to {max} mm; seed {} gives {drawn:.2} mm.", scenario.seed)
        })
        .collect();
    if sentences.is_empty() { vec!["Nothing: every seed gives the same case.".to_owned()] } else { sentences }
}

fn passing(rubric: &Rubric) -> String {
    let required: Vec<&str> = rubric.rules().iter().filter(|rule| rule.required).map(|rule| rule.id.as_str()).collect();
    let required =
        if required.is_empty() { String::new() } else { format!(", none of these is failed: {}", required.join(", ")) };
    format!(
        "An attempt passes with {} of 100 points or more{required}, and there is no critical fault.",
        rubric.pass_mark()
    )
}

fn marks(scenario: &Scenario, rubric: &Rubric, lines: &mut Vec<String>) {
    let sum: f64 = rubric.rules().iter().map(|rule| rule.weight).sum();
    let ramps = ramps();
    for (rule, item) in rubric.rules().iter().zip(&scenario.rubric.criteria) {
        let Some(criterion) = criteria::named(&rule.id) else { continue };
        lines.push(String::new());
        let share = 100.0 * rule.weight / sum;
        lines.push(format!("  {}: {}, weight {}, {share:.1} of 100 points", rule.id, criterion.title(), rule.weight));
        wrap("    ", "    ", criterion.doc(), lines);
        for (name, band) in &item.bands {
            let about = BAND_RULES.iter().find(|rule| rule.criterion == item.id && rule.band == name);
            let meaning = about.map_or("", |rule| rule.meaning);
            let ramp = ramps.iter().find(|ramp| ramp.criterion == item.id && ramp.name == name);
            let source = ramp.map_or_else(String::new, |ramp| origin(ramp, *band));
            let sentence = format!(
                "{name}: full mark at {}, none at {}, straight between: {meaning}. {source}",
                band.full, band.zero
            );
            wrap("    - ", "      ", &sentence, lines);
        }
        wrap("    Source: ", "      ", &format!("{}.", criterion.source()), lines);
    }
}

/// Whose numbers these are.
fn origin(ramp: &Ramp, band: scenario::Band) -> String {
    let same = |a: f64, b: f64| (a - b).abs() < 1e-9;
    let (full, zero) = &ramp.defaults;
    if same(*full, band.full) && zero.iter().all(|zero| same(*zero, band.zero)) {
        return format!("Source of these numbers: {}.", ramp.sources.join("; "));
    }
    let zero: Vec<String> = zero.iter().map(f64::to_string).collect();
    format!(
        "These numbers are this case's own; the usual ones are {full} and {} ({}).",
        zero.join(" or "),
        ramp.sources.join("; ")
    )
}

fn critical(rubric: &Rubric, lines: &mut Vec<String>) {
    lines.extend([String::new(), "Critical faults: each fails the attempt whatever its points".to_owned()]);
    for fault in CRITICAL_FAULTS.iter().filter(|fault| rubric.critical().iter().any(|id| id == fault.id)) {
        wrap("  ", "    ", &format!("{}: {} Source: {}.", fault.id, fault.doc, fault.source), lines);
    }
    if rubric.critical().is_empty() {
        lines.push("  none".to_owned());
    }
}

/// What a scenario's file may say: every field, the ramps of every criterion with their limits, faults and materials.
#[must_use]
pub fn case_schema() -> String {
    let mut lines = vec!["Criteria (rubric.criteria[].id), and the bands that each has to have:".to_owned()];
    let ramps = ramps();
    for criterion in criteria::CRITERIA {
        lines.push(format!("  {:<16} {}", criterion.id(), criterion.title()));
        for ramp in ramps.iter().filter(|ramp| ramp.criterion == criterion.id()) {
            let rule = BAND_RULES.iter().find(|rule| rule.criterion == ramp.criterion && rule.band == ramp.name);
            lines.extend(rule.map(|rule| band_line(ramp, rule)));
        }
    }
    lines.extend([String::new(), "Critical faults (rubric.critical):".to_owned()]);
    for id in scenario::CRITICAL_FAULT_IDS {
        let doc = CRITICAL_FAULTS.iter().find(|fault| fault.id == *id).map_or("", |fault| fault.doc);
        lines.push(format!("  {id:<18} {doc}"));
    }
    lines.extend([String::new(), "Materials and sizes (thread.material, thread.size):".to_owned()]);
    for name in material::names() {
        lines.push(format!("  {name:<18} {}", material::sizes(name).join(", ")));
    }
    format!("{}\n{}\n", scenario::describe_schema(), lines.join("\n"))
}

fn band_line(ramp: &Ramp, rule: &BandRule) -> String {
    let unit = if ramp.unit == "1" { String::new() } else { format!(" {}", ramp.unit) };
    let order = match rule.better {
        Better::More => "full greater than zero",
        Better::Less => "full less than zero",
    };
    let (full, zero) = (ramp.full, ramp.zero);
    format!(
        "    {:<18} full {} to {}{unit}, zero {} to {}{unit}, {order}; {}",
        ramp.name, full.0, full.1, zero.0, zero.1, rule.meaning
    )
}

fn amount(amount: Amount) -> String {
    match amount {
        Amount::Fixed(value) => value.to_string(),
        Amount::Range(min, max) => format!("{min} to {max}"),
    }
}

fn interval(interval: Interval) -> String {
    format!("{} to {}", interval.min, interval.max)
}

/// A share as whole per cent.
fn percent(share: f64) -> String {
    format!("{:.0}", 100.0 * share)
}

fn count(number: u32, noun: &str) -> String {
    let plural = if noun.ends_with("ch") { "es" } else { "s" };
    if number == 1 { format!("1 {noun}") } else { format!("{number} {noun}{plural}") }
}
