//! Rules between the fields of a scenario, and between a scenario and the tables of materials and criteria.

use super::check::Findings;
use super::nearest::did_you_mean;
use super::problem::Severity;
use super::rubric::{Better, CRITERION_IDS, CRITICAL_FAULT_IDS, WRONG_SITE, bands_of};
use super::scan::{Value, join};
use super::schema::{Interval, RubricItem, Scenario, Start};
use crate::material;
use crate::tooth::{ALLOWED, Tooth};

/// The criterion that needs neighbours.
const SPACING: &str = "spacing";
/// The criteria that mark what is done with the needle.
const OF_THE_NEEDLE: &[&str] = &["bite", "needle_care"];
/// Thread for a stitch that is through the gum when it begins [mm]: a tail of 22, a loop of up to 16, a strand of 48 to the
/// left hand, and enough behind it to give way; common practice, no source.
const LENGTH_THREADED_MM: f64 = 100.0;
/// Thread that a stitch takes: a tail to tie with, the loop, the knot and its ends [mm]; common practice, no source.
const LENGTH_PER_STITCH_MM: f64 = 47.0;
/// Thread that the hand needs to tie the last of several stitches with [mm]; common practice, no source.
const LENGTH_LEFT_MM: f64 = 80.0;

/// Notes in `findings` every rule that `scenario` breaks; `root` gives the place of each field.
pub(super) fn check_rules(scenario: &Scenario, root: &Value, findings: &mut Findings) {
    let mut rules = Rules { scenario, root, findings };
    rules.tooth();
    rules.flaps();
    rules.thread();
    rules.needle();
    rules.throws();
    rules.interval("task.bite_mm", scenario.task.bite_mm);
    rules.interval("task.tail_mm", scenario.task.tail_mm);
    rules.criteria();
    rules.critical();
    rules.hands("demonstration", &scenario.demonstration);
    rules.fault();
    rules.start();
}

struct Rules<'a> {
    scenario: &'a Scenario,
    root: &'a Value,
    findings: &'a mut Findings,
}

impl Rules<'_> {
    fn error(&mut self, field: &str, words: [impl Into<String>; 3]) {
        self.findings.note_field(Severity::Error, self.root, field, words);
    }

    fn warning(&mut self, field: &str, words: [impl Into<String>; 3]) {
        self.findings.note_field(Severity::Warning, self.root, field, words);
    }

    /// ISO 3950: quadrants 1 to 4 of permanent teeth, places 1 to 8.
    fn tooth(&mut self) {
        let tooth = self.scenario.site.tooth;
        // Beyond these limits the table of shapes has said so already.
        if (11..=48).contains(&tooth) && Tooth::try_from(tooth).is_err() {
            let hint = "ISO 3950 permanent teeth: the second figure is the place from the midline, 1 to 8";
            self.error("site.tooth", [&tooth.to_string(), ALLOWED, hint]);
        }
    }

    fn flaps(&mut self) {
        let Scenario { site, task, .. } = self.scenario;
        let reach = site.socket.buccolingual_mm + 2.0 * site.membrane.overlap_mm;
        let gap = site.edge_gap_mm.max();
        if gap >= reach {
            let hint = "the membrane must reach under both flaps: buccolingual_mm + 2 overlap_mm";
            self.error("site.edge_gap_mm", [&millimetres(gap), &format!("less than {}", millimetres(reach)), hint]);
        }
        let length = site.flap.length_mm;
        let socket = site.socket.mesiodistal_mm;
        if length < socket {
            let allowed = format!("at least {}", millimetres(socket));
            self.error("site.flap.length_mm", [&millimetres(length), &allowed, "the flap covers the socket's mouth"]);
        }
        let bite = task.bite_mm.max;
        let height = site.flap.height_mm;
        if bite >= height {
            let allowed = format!("less than {}", millimetres(height));
            self.error("task.bite_mm.max", [&millimetres(bite), &allowed, "a bite lies on the flap: height_mm"]);
        }
    }

    fn thread(&mut self) {
        let thread = &self.scenario.thread;
        let names = material::names();
        if !names.contains(&thread.material.as_str()) {
            let hint = did_you_mean(&thread.material, &names);
            self.error("thread.material", [&format!("{:?}", thread.material), &names.join(", "), &hint]);
        } else if material::find(&thread.material, &thread.size, thread.wet).is_none() {
            let allowed = material::sizes(&thread.material).join(", ");
            let hint = format!("the sizes known for {}", thread.material);
            self.error("thread.size", [&format!("{:?}", thread.size), &allowed, &hint]);
        }
        let stitches = self.scenario.task.stitches;
        let least = LENGTH_LEFT_MM + LENGTH_PER_STITCH_MM * f64::from(stitches);
        if stitches > 1 && thread.length_mm < least {
            let allowed = format!("at least {} for {stitches} stitches", millimetres(least));
            let hint = "each takes its tail, its loop and its knot off the thread";
            self.error("thread.length_mm", [&millimetres(thread.length_mm), &allowed, hint]);
        }
    }

    /// The holder grips the needle at half its length from the tip or farther back (50 to 75 % in the surgical texts),
    /// so that only the half before it is free to pass through a flap.
    fn needle(&mut self) {
        let Scenario { site, needle, task, .. } = self.scenario;
        let bite = task.bite_mm.max;
        let free = needle.chord_mm(0.5 * needle.length_mm);
        let across = site.edge_gap_mm.max() + 2.0 * bite;
        let chord = needle.chord_mm(needle.length_mm);
        let found = millimetres(needle.length_mm);
        if free < bite {
            let allowed = format!("a free half of at least {} across", millimetres(bite));
            let hint = format!("from tip to holder this one spans {}, less than task.bite_mm.max", millimetres(free));
            self.error("needle.length_mm", [&found, &allowed, &hint]);
        } else if chord < across {
            let allowed = format!("a chord of {} to take both flaps in one pass", millimetres(across));
            let hint = format!("the chord is {}: each flap needs a pass of its own", millimetres(chord));
            self.warning("needle.length_mm", [&found, &allowed, &hint]);
        }
    }

    fn throws(&mut self) {
        let Scenario { task, rubric, start, .. } = self.scenario;
        let throws = &task.throws;
        // Where the needle's work is done a case may be about a throw alone, unless its knot has to hold.
        let has_to_hold = *start == Start::Armed || rubric.criteria.iter().any(|item| item.id == "holds");
        if has_to_hold && (1..3).contains(&throws.len()) {
            let found = format!("a list of {}", throws.len());
            let hint = "gut with fewer throws slips before it breaks: Rosin & Robinson 1989, Vet Surg 18:269";
            self.warning("task.throws", [&found, "3 or more for a knot that holds", hint]);
        }
        for index in 1..throws.len() {
            if throws[index].direction == throws[index - 1].direction {
                let field = format!("task.throws[{index}].direction");
                let found = format!("{:?} again", throws[index].direction);
                self.warning(&field, [&found, "the other way for a square knot", "the same way twice ties a granny"]);
            }
        }
    }

    fn interval(&mut self, field: &str, interval: Interval) {
        if interval.min > interval.max {
            let allowed = format!("at most {}", millimetres(interval.max));
            self.error(&join(field, "min"), [&millimetres(interval.min), &allowed, "min and max may be swapped"]);
        }
    }

    fn criteria(&mut self) {
        let items = &self.scenario.rubric.criteria;
        if items.iter().all(|item| item.weight <= 0.0) {
            self.error("rubric.criteria", ["weights with the sum 0", "a sum greater than 0", ""]);
        }
        let ids: Vec<&str> = items.iter().map(|item| item.id.as_str()).collect();
        self.ids(&ids, CRITERION_IDS, |index| format!("rubric.criteria[{index}].id"));
        for (index, item) in items.iter().enumerate() {
            if item.id == SPACING && self.scenario.task.stitches < 2 {
                let hint = "a single stitch has no neighbour";
                self.error(
                    &format!("rubric.criteria[{index}].id"),
                    ["\"spacing\" with task.stitches 1", "2 stitches or more", hint],
                );
            }
            if CRITERION_IDS.contains(&item.id.as_str()) {
                self.bands(item, &format!("rubric.criteria[{index}].bands"));
            }
        }
    }

    fn bands(&mut self, item: &RubricItem, field: &str) {
        let names: Vec<&str> = bands_of(&item.id).map(|rule| rule.band).collect();
        for band in item.bands.keys().filter(|band| !names.contains(&band.as_str())) {
            let allowed = if names.is_empty() { "{}".into() } else { names.join(", ") };
            self.error(&join(field, band), ["an unknown band", &allowed, &did_you_mean(band, &names)]);
        }
        for rule in bands_of(&item.id) {
            let path = join(field, rule.band);
            let Some(band) = item.bands.get(rule.band) else {
                self.error(&path, ["missing", "(full: .., zero: ..)", rule.meaning]);
                continue;
            };
            let (ordered, order) = match rule.better {
                Better::More => (band.full > band.zero, "full greater than zero"),
                Better::Less => (band.full < band.zero, "full less than zero"),
            };
            if !ordered {
                let found = format!("full {} and zero {}", band.full, band.zero);
                self.error(&path, [&found, order, rule.meaning]);
            }
        }
    }

    fn critical(&mut self) {
        let ids: Vec<&str> = self.scenario.rubric.critical.iter().map(String::as_str).collect();
        self.ids(&ids, CRITICAL_FAULT_IDS, |index| format!("rubric.critical[{index}]"));
    }

    /// Every one of `ids` is in `known` and stands there once.
    fn ids(&mut self, ids: &[&str], known: &[&str], field: impl Fn(usize) -> String) {
        for (index, id) in ids.iter().enumerate() {
            if !known.contains(id) {
                self.error(&field(index), [&format!("{id:?}"), &known.join(", "), &did_you_mean(id, known)]);
            } else if ids[..index].contains(id) {
                self.error(&field(index), [&format!("{id:?} again"), "once", ""]);
            }
        }
    }

    /// A path that means the same on every machine.
    fn hands(&mut self, field: &str, path: &str) {
        let leaves = path.split(['/', '\\']).any(|part| part == ".." || part.is_empty() || part.ends_with(':'));
        if leaves || path.contains('\\') {
            let hint = "the same on every machine: no drive, no leading /, no .., and / between folders";
            let allowed = "a path inside the scenarios' folder, such as \"hands/first_stitch.hands\"";
            self.error(field, [&format!("{path:?}"), allowed, hint]);
        }
    }

    /// What a fault fails on is a criterion, and marked. A case that extends another one's keeps its fault and may mark less,
    /// so that this is a warning.
    fn fault(&mut self) {
        let Some(fault) = &self.scenario.fault else { return };
        self.hands("fault.hands", &fault.hands);
        let marked: Vec<&str> = self.scenario.rubric.criteria.iter().map(|item| item.id.as_str()).collect();
        let found = format!("{:?}", fault.fails);
        if !CRITERION_IDS.contains(&fault.fails.as_str()) {
            self.error("fault.fails", [&found, &marked.join(", "), &did_you_mean(&fault.fails, &marked)]);
        } else if !marked.contains(&fault.fails.as_str()) {
            self.warning("fault.fails", [&found, &marked.join(", "), "a criterion that this rubric marks"]);
        }
    }

    /// Where the needle has done its work before the attempt begins, nobody is marked for it or for where it was done, and
    /// there is one stitch.
    fn start(&mut self) {
        if self.scenario.start != Start::Threaded {
            return;
        }
        let stitches = self.scenario.task.stitches;
        if stitches > 1 {
            let hint = "start is Threaded: the one stitch that is through both flaps is tied, and no other is placed";
            self.error("task.stitches", [&stitches.to_string(), "1", hint]);
        }
        let length = self.scenario.thread.length_mm;
        if length < LENGTH_THREADED_MM {
            let allowed = format!("at least {}", millimetres(LENGTH_THREADED_MM));
            let hint = "start is Threaded: the tail, the loop, the strand to the left hand, and some in its palm";
            self.error("thread.length_mm", [&millimetres(length), &allowed, hint]);
        }
        for (index, item) in self.scenario.rubric.criteria.iter().enumerate() {
            if OF_THE_NEEDLE.contains(&item.id.as_str()) {
                let found = format!("{:?} with start Threaded", item.id);
                let hint = "the bites are there when the attempt begins: nobody here took them";
                self.error(&format!("rubric.criteria[{index}].id"), [&found, "a criterion of tying", hint]);
            }
        }
        if let Some(index) = self.scenario.rubric.critical.iter().position(|id| id == WRONG_SITE) {
            let found = format!("{WRONG_SITE:?} with start Threaded");
            let hint = "the site is checked before the first bite, and the bites are there when the attempt begins";
            self.error(&format!("rubric.critical[{index}]"), [&found, "a fault of tying", hint]);
        }
    }
}

fn millimetres(length: f64) -> String {
    let rounded = format!("{length:.2}");
    format!("{} mm", rounded.trim_end_matches('0').trim_end_matches('.'))
}
