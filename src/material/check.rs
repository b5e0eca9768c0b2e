//! What the numbers and sources of a table must be; every problem at once, one line each.

use super::schema::{Cell, Condition, Construction, Entry, Field, Origin, Size, SizeClass, Table, Wetness};
use crate::rod::stretch::POINTS_MAX;
use std::collections::BTreeSet;
use std::f64::consts::PI;

/// How far the curve's first slope may be from Young's modulus, as a share: the points have two or three figures.
const SLOPE_TOLERANCE: f64 = 0.05;

/// The fewest characters that can be a reason.
const REASON_MIN: usize = 10;

/// Every problem of `table`, in its order.
pub(super) fn check(table: &Table) -> Vec<String> {
    let mut check = Check { table, problems: Vec::new(), cited: BTreeSet::new() };
    if table.format != 1 {
        check.note("format", table.format, "1");
    }
    for (name, class) in &table.size_classes {
        check.class(&format!("size_classes.{name}"), class);
    }
    for (index, entry) in table.materials.iter().enumerate() {
        check.entry(&format!("materials.{}", entry.name), entry);
        if table.materials[..index].iter().any(|other| other.name == entry.name) {
            check.note(&format!("materials.{}", entry.name), "there again", "once");
        }
    }
    check.sources();
    check.problems
}

struct Check<'a> {
    table: &'a Table,
    problems: Vec<String>,
    cited: BTreeSet<&'a str>,
}

impl<'a> Check<'a> {
    fn note(&mut self, place: &str, found: impl std::fmt::Display, allowed: &str) {
        self.problems.push(format!("{place} is {found}, allowed {allowed}"));
    }

    fn require(&mut self, holds: bool, place: &str, found: impl std::fmt::Display, allowed: &str) {
        if !holds {
            self.note(place, found, allowed);
        }
    }

    fn origin(&mut self, place: &str, origin: &'a Origin) {
        match origin {
            Origin::Estimate(why) if why.trim().chars().count() < REASON_MIN => {
                self.note(place, format!("an estimate because {why:?}"), "an estimate with a reason");
            }
            // A reason may lean on a source.
            Origin::Estimate(why) => {
                self.cited.extend(self.table.sources.keys().map(String::as_str).filter(|key| why.contains(*key)));
            }
            Origin::Read(key) | Origin::FromMemory(key) if !self.table.sources.contains_key(key) => {
                self.note(place, format!("from {key:?}"), "from a key of sources");
            }
            Origin::Read(key) | Origin::FromMemory(key) => {
                self.cited.insert(key);
            }
        }
    }

    fn fields(&mut self, place: &str, fields: Vec<Field<'a>>) {
        for Field { key, limits, unit, cell, .. } in fields {
            let place = format!("{place}.{key}");
            let [least, most] = limits;
            let Cell { low, high, from, chosen } = cell;
            for number in [*low, *high] {
                let fits = (least..=most).contains(&number);
                self.require(fits, &place, number, format!("{least} to {most} {unit}").trim_end());
            }
            self.require(low <= high, &place, format!("{low} to {high}"), "the lower end first");
            self.origin(&place, from);
            if let Some(chosen) = chosen {
                let within = (*low..=*high).contains(&chosen.value);
                self.require(within, &format!("{place}.used"), chosen.value, &format!("{low} to {high}"));
                self.origin(&format!("{place}.used"), &chosen.from);
            }
        }
    }

    fn class(&mut self, place: &str, class: &'a SizeClass) {
        for size in &class.sizes {
            self.fields(&format!("{place}.{}", size.size), size.fields());
        }
        self.require(!class.sizes.is_empty(), place, "empty", "one size or more");
        for pair in class.sizes.windows(2) {
            let [thick, thin] = [&pair[0], &pair[1]];
            let place = format!("{place}.{}", thin.size);
            let apart = thin.diameter_mm.high < thick.diameter_mm.low;
            let next = format!("below {} mm of {}", thick.diameter_mm.low, thick.size);
            self.require(apart, &format!("{place}.diameter_mm"), thin.diameter_mm.high, &next);
            let force = |size: &Size| size.knot_pull_min_n.as_ref().map(Cell::used);
            if let (Some(more), Some(less)) = (force(thick), force(thin)) {
                let next = format!("below {more} N of {}", thick.size);
                self.require(less < more, &format!("{place}.knot_pull_min_n"), less, &next);
            }
        }
    }

    fn entry(&mut self, place: &str, entry: &'a Entry) {
        self.origin(&format!("{place}.construction"), &entry.construction.from);
        self.origin(&format!("{place}.absorbable"), &entry.absorbable.from);
        self.fields(place, entry.fields());
        self.shares(place, entry);
        for (name, wetness) in [("dry", Wetness::Dry), ("wet", Wetness::Wet)] {
            self.condition(&format!("{place}.{name}"), entry.condition(wetness));
        }
        let [dry, wet] = [&entry.dry, &entry.wet].map(|condition| condition.young_modulus_gpa.used());
        let place_wet = format!("{place}.wet.young_modulus_gpa");
        self.require(wet <= dry, &place_wet, wet, &format!("at most {dry} GPa of dry: water softens or does nothing"));
        match self.table.size_classes.get(&entry.size_class) {
            Some(class) => self.strengths(place, entry, class),
            None => self.note(&format!("{place}.size_class"), &entry.size_class, "a key of size_classes"),
        }
    }

    /// Only filaments that slip past one another keep less than the whole of a solid section's stiffness.
    fn shares(&mut self, place: &str, entry: &Entry) {
        let braided = entry.construction.is == Construction::Braided;
        for (name, cell) in [("bending_share", &entry.bending_share), ("twist_share", &entry.twist_share)] {
            let fits = if braided { cell.high < 1.0 } else { cell.low >= 1.0 };
            let allowed = if braided { "less than 1 in a braid" } else { "1 in what is no braid" };
            self.require(fits, &format!("{place}.{name}"), format!("{} to {}", cell.low, cell.high), allowed);
        }
    }

    fn condition(&mut self, place: &str, condition: &'a Condition) {
        self.fields(place, condition.fields());
        self.origin(&format!("{place}.stress_strain"), &condition.stress_strain.from);
        let [straight, knotted] = [&condition.straight_strength_mpa, &condition.knotted_strength_mpa].map(Cell::used);
        let place_knotted = format!("{place}.knotted_strength_mpa");
        self.require(knotted <= straight, &place_knotted, knotted, &format!("at most {straight} MPa of straight"));
        self.curve(&format!("{place}.stress_strain"), condition);
    }

    fn curve(&mut self, place: &str, condition: &Condition) {
        let curve = condition.stress_strain_curve();
        let rises = curve.windows(2).all(|pair| pair[0][0] < pair[1][0] && pair[0][1] < pair[1][1]);
        self.require(rises, place, format!("{curve:?}"), "strain and stress rising to the break");
        let most = format!("at most {} between rest and break", POINTS_MAX - 1);
        self.require(curve.len() <= POINTS_MAX + 1, place, format!("{} points", curve.len() - 2), &most);
        let slope = curve[1][1] / curve[1][0];
        let modulus = 1000.0 * condition.young_modulus_gpa.used();
        let begins = (slope / modulus - 1.0).abs() <= SLOPE_TOLERANCE;
        self.require(begins, place, format!("{slope} MPa steep at first"), &format!("{modulus} MPa, the modulus"));
    }

    /// A straight strand, as the pharmacopoeia tests it, holds at least what a knotted one must.
    fn strengths(&mut self, place: &str, entry: &Entry, class: &SizeClass) {
        let stress = entry.condition(class.tested).straight_strength_mpa.used();
        for size in &class.sizes {
            let diameter = size.diameter_mm.used();
            let force = stress * PI * diameter * diameter / 4.0;
            let least = size.knot_pull_min_n.as_ref().map_or(0.0, Cell::used);
            let allowed = format!("at least {least} N, the least knot pull");
            let place = format!("{place}, straight strength in {}", size.size);
            self.require(force >= least, &place, format!("{force:.2} N"), &allowed);
        }
    }

    fn sources(&mut self) {
        let sources = &self.table.sources;
        for (key, reference) in sources {
            let place = format!("sources.{key}");
            self.require(self.cited.contains(key.as_str()), &place, "never cited", "cited by a cell");
            self.require(reference.chars().count() >= REASON_MIN, &place, reference, "a full reference");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{read, table};

    const SHIPPED: &str = include_str!("../../assets/materials.ron");

    #[test]
    fn the_shipped_table_is_in_order() {
        assert_eq!(read(SHIPPED).map(|_| ()), Ok(()));
    }

    #[test]
    fn what_is_not_in_order_is_named_with_its_place_and_what_is_allowed() {
        // What stands in the shipped text, what it is replaced by in its first place, and what the message must hold.
        let cases = [
            ("format: 1,", "format: 2,", "format is 2, allowed 1"),
            (
                "low: 0.350, high: 0.399",
                "low: 0.399, high: 0.350",
                "size_classes.collagen.2-0.diameter_mm is 0.399 to 0.35",
            ),
            (
                "low: 0.300, high: 0.339",
                "low: 0.300, high: 0.369",
                "diameter_mm is 0.369, allowed below 0.35 mm of 2-0",
            ),
            ("value: 12.3", "value: 22.3", "collagen.3-0.knot_pull_min_n is 22.3, allowed below 19.6 N of 2-0"),
            ("value: 7.55", "value: 9.55", "plain gut, straight strength in 4-0 is 8.95 N, allowed at least 9.55 N"),
            ("FromMemory(\"ratner\")", "FromMemory(\"rattner\")", "young_modulus_gpa is from \"rattner\""),
            ("Estimate(\"as in bending\")", "Estimate(\"ah\")", "plain gut.twist_share is an estimate because \"ah\""),
            (
                "\"arce2019\": \"Arce",
                "\"unread\": \"A reference\", \"arce2019\": \"Arce",
                "sources.unread is never cited",
            ),
            ("low: 110.0, high: 210.0", "low: 410.0, high: 510.0", "plain gut.dry.knotted_strength_mpa is 460"),
            ("strain: 0.03, stress_mpa: 72.0", "strain: 0.03, stress_mpa: 52.0", "2400 MPa, the modulus"),
            (
                "strain: 0.1, stress_mpa: 180.0",
                "strain: 0.1, stress_mpa: 60.0",
                "strain and stress rising to the break",
            ),
            ("value: 0.8, from: Estimate", "value: 1.8, from: Estimate", "wet.young_modulus_gpa.used is 1.8"),
            ("low: 0.02, high: 0.05", "low: 0.02, high: 1.0", "silk.bending_share is 0.02 to 1, allowed less than 1"),
            ("twist_share: (value: 1.0", "twist_share: (value: 0.5", "plain gut.twist_share is 0.5 to 0.5, allowed 1"),
            ("name: \"chromic gut\"", "name: \"plain gut\"", "materials.plain gut is there again, allowed once"),
            ("size_class: \"PTFE\"", "size_class: \"PTFFE\"", "PTFE.size_class is PTFFE"),
            ("poisson_ratio: (low: 0.3, high: 0.5", "poisson_ratio: (low: 0.3, high: 0.7", "0.7, allowed 0 to 0.5"),
            ("young_modulus_gpa: (value: 2.4,", "young_modulus_gpa: (value: 0.7,", "allowed at most 0.7 GPa of dry"),
        ];
        for (written, instead, message) in cases {
            let text = SHIPPED.replacen(written, instead, 1);
            assert_ne!(text, SHIPPED, "{written}");
            let problems = read(&text).expect_err(instead);
            assert!(problems.iter().any(|problem| problem.contains(message)), "{instead}: {problems:#?}");
        }
    }

    #[test]
    fn what_is_no_table_is_named_by_line_and_column() {
        // A misspelt field, a cell without an origin, one with a number and a range.
        for (written, instead, message) in [
            ("fill_share", "filling_share", "filling_share"),
            ("high: 0.399, from: FromMemory(\"usp_collagen\")", "high: 0.399", "from"),
            ("low: 0.350, high: 0.399", "value: 0.37, high: 0.399", "either `value`"),
        ] {
            let text = SHIPPED.replacen(written, instead, 1);
            assert_ne!(text, SHIPPED, "{written}");
            let problems = read(&text).expect_err(instead);
            let [problem] = &problems[..] else { panic!("{problems:#?}") };
            let place = problem.split(": ").next().unwrap_or("");
            assert!(problem.contains(message), "{problem}");
            assert!(place.split(':').all(|number| number.parse::<usize>().is_ok()), "{problem}");
        }
    }

    #[test]
    fn every_name_is_generic_and_stands_once() {
        let names: Vec<&str> = table().materials.iter().map(|entry| entry.name.as_str()).collect();
        let known = ["plain gut", "chromic gut", "silk", "polyglactin 910", "nylon", "polypropylene", "PTFE"];
        assert_eq!(names, known);
    }
}
