//! Every cell of a material as rows for people and programs: what, how much, in which unit, from where.

use super::derive::{Material, derive};
use super::schema::{Cell, Condition, Entry, Field, Origin, Size, Table, Wetness};
use crate::quantity::MN_PER_N;
use std::collections::BTreeSet;

/// How much something is.
#[derive(Debug, Clone, PartialEq)]
pub enum Amount {
    /// No number but a word.
    Word(&'static str),
    /// Yes or no.
    Flag(bool),
    /// A number.
    Value(f64),
    /// A range, and the number in it that the simulation takes.
    Range {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
        /// What the simulation takes.
        used: f64,
    },
    /// Strains [1] and what belongs to them in the row's unit.
    Curve(Vec<[f64; 2]>),
}

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Name for programs, in snake case, with the unit.
    pub key: &'static str,
    /// Name for people.
    pub title: &'static str,
    /// Unit; empty for a plain number.
    pub unit: &'static str,
    /// How much.
    pub amount: Amount,
    /// A key of [`Sheet::sources`], `from_memory:` and such a key, `estimate:` and a reason, or `derived:` and how.
    pub source: String,
    /// Where the number that is used is from, if it is not the middle of the range.
    pub used_source: Option<String>,
}

/// What a size is, and what follows for a thread of it.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeRows {
    /// Pharmacopoeia size.
    pub size: &'static str,
    /// Its cells, then what the simulation derives.
    pub rows: Vec<Row>,
}

/// Everything the table says of one material, wet or dry.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Generic name.
    pub name: &'static str,
    /// Soaked or dry.
    pub wet: bool,
    /// What depends on neither size nor wetness.
    pub material: Vec<Row>,
    /// What depends on wetness.
    pub condition: Vec<Row>,
    /// What depends on size.
    pub sizes: Vec<SizeRows>,
    /// Key and full reference of every source that the rows name.
    pub sources: Vec<(&'static str, &'static str)>,
}

/// Lays out `entry` in `sizes`.
pub(super) fn lay_out(
    table: &'static Table,
    entry: &'static Entry,
    sizes: &[&'static Size],
    wetness: Wetness,
) -> Sheet {
    let condition = entry.condition(wetness);
    let size_rows = sizes.iter().map(|size| SizeRows {
        size: &size.size,
        rows: rows(&size.fields()).into_iter().chain(derived(&derive(table, entry, size, wetness))).collect(),
    });
    let mut sheet = Sheet {
        name: &entry.name,
        wet: wetness == Wetness::Wet,
        material: words(entry).into_iter().chain(rows(&entry.fields())).collect(),
        condition: rows(&condition.fields()).into_iter().chain([curve(condition)]).collect(),
        sizes: size_rows.collect(),
        sources: Vec::new(),
    };
    let named = named(&sheet);
    let sources = table.sources.iter().map(|(key, reference)| (key.as_str(), reference.as_str()));
    sheet.sources = sources.filter(|(key, _)| named.iter().any(|text| text.contains(key))).collect();
    sheet
}

/// Every origin that a sheet states.
fn named(sheet: &Sheet) -> BTreeSet<String> {
    let sizes = sheet.sizes.iter().flat_map(|size| &size.rows);
    let rows = sheet.material.iter().chain(&sheet.condition).chain(sizes);
    rows.flat_map(|row| std::iter::once(row.source.clone()).chain(row.used_source.clone())).collect()
}

fn words(entry: &Entry) -> [Row; 2] {
    let word = |key, amount, from: &Origin| Row {
        key,
        title: key,
        unit: "",
        amount,
        source: from.to_string(),
        used_source: None,
    };
    [
        word("construction", Amount::Word(entry.construction.is.name()), &entry.construction.from),
        word("absorbable", Amount::Flag(entry.absorbable.is), &entry.absorbable.from),
    ]
}

fn rows(fields: &[Field]) -> Vec<Row> {
    fields.iter().map(row).collect()
}

fn row(field: &Field) -> Row {
    let Cell { low, high, from, chosen } = field.cell;
    let amount = if low < high {
        Amount::Range { low: *low, high: *high, used: field.cell.used() }
    } else {
        Amount::Value(*low)
    };
    Row {
        key: field.key,
        title: field.title,
        unit: field.unit,
        amount,
        source: from.to_string(),
        used_source: chosen.as_ref().map(|chosen| chosen.from.to_string()),
    }
}

fn curve(condition: &Condition) -> Row {
    Row {
        key: "stress_strain_mpa",
        title: "stress by strain",
        unit: "MPa",
        amount: Amount::Curve(condition.stress_strain_curve()),
        source: condition.stress_strain.from.to_string(),
        used_source: None,
    }
}

/// What the simulation makes of the cells, in the units of people.
fn derived(thread: &Material) -> Vec<Row> {
    let section = &thread.section;
    let newtons = |force: f64| force / MN_PER_N;
    let value = |key, title, unit, number, how: &str| Row {
        key,
        title,
        unit,
        amount: Amount::Value(number),
        source: format!("derived: {how}"),
        used_source: None,
    };
    let curve: Vec<[f64; 2]> = thread.force_strain.iter().map(|[strain, force]| [*strain, newtons(*force)]).collect();
    let of_area = "stress times the area of the round outline";
    vec![
        value("linear_density_mg_per_mm", "mass per length", "mg/mm", thread.linear_density, "density, share and area"),
        value(
            "axial_stiffness_n",
            "axial stiffness",
            "N",
            newtons(section.axial_stiffness),
            "E A of the round outline",
        ),
        value(
            "bending_stiffness_n_mm2",
            "bending stiffness",
            "N mm^2",
            newtons(section.bending_stiffness),
            "E I of a solid section times the share in bending",
        ),
        value(
            "twist_stiffness_n_mm2",
            "twist stiffness",
            "N mm^2",
            newtons(section.twist_stiffness),
            "E I / (1 + Poisson's ratio) times the share in twist",
        ),
        value(
            "yield_curvature_per_mm",
            "curvature that takes a set",
            "1/mm",
            section.yield_curvature,
            "yield strain over the radius, times 16 / (3 pi) for a section that yields through",
        ),
        value("straight_strength_n", "breaks, straight", "N", newtons(thread.straight_strength), of_area),
        value(
            "knotted_strength_n",
            "breaks, knotted",
            "N",
            newtons(thread.knotted_strength),
            "stress times area, raised to the least knot pull where that is more",
        ),
        Row {
            key: "force_strain_n",
            title: "force by strain",
            unit: "N",
            amount: Amount::Curve(curve),
            source: format!("derived: {of_area}"),
            used_source: None,
        },
    ]
}
