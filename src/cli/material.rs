//! `material`: what the table knows of a thread's material, cell by cell, and where each number is from.

use super::arguments::MaterialArguments;
use super::output::{json, say};
use super::{Failure, Status};
use crate::material::{self, Amount, Row, Sheet, SizeRows};
use crate::report::wrap;
use serde::ser::{Serialize, SerializeMap, Serializer};
use serde_json::{Value, json as object};

/// What a range's number is from if nobody chose it.
const MIDDLE: &str = "middle of the range";

pub(super) fn material(arguments: &MaterialArguments) -> Result<Status, Failure> {
    let text = if arguments.name.is_empty() {
        if arguments.json { json(&list_json())? } else { list_text() }
    } else {
        let sheet = asked(arguments)?;
        if arguments.json { json(&SheetJson(&sheet))? } else { sheet_text(&sheet) }
    };
    say(&text)?;
    Ok(Status::Done)
}

/// The sheet that the arguments ask for, or what they may ask for.
fn asked(arguments: &MaterialArguments) -> Result<Sheet, Failure> {
    // Names of two words may stand without quotes.
    let name = arguments.name.join(" ");
    let size = arguments.size.as_deref();
    let sizes = material::sizes(&name);
    let message = if sizes.is_empty() {
        format!("NAME is {name:?}, allowed {}", material::names().join(", "))
    } else {
        format!("--size is {:?}, allowed {} for {name}", size.unwrap_or_default(), sizes.join(", "))
    };
    material::sheet(&name, size, !arguments.dry).ok_or_else(|| Failure::new(Status::Usage, message))
}

fn list_text() -> String {
    let line = |name: &&str| format!("{name:<16} {}\n", material::sizes(name).join(", "));
    material::names().iter().map(line).collect()
}

fn list_json() -> Value {
    let names = material::names();
    let materials: Vec<Value> =
        names.iter().map(|name| object!({ "name": name, "sizes": material::sizes(name) })).collect();
    object!({ "materials": materials })
}

fn sheet_text(sheet: &Sheet) -> String {
    let mut lines = Vec::new();
    let wetness = if sheet.wet { "wet" } else { "dry" };
    section(sheet.name, &sheet.material, &mut lines);
    section(&format!("{}, {wetness}", sheet.name), &sheet.condition, &mut lines);
    for size in &sheet.sizes {
        section(&format!("{} {}, {wetness}", sheet.name, size.size), &size.rows, &mut lines);
    }
    lines.push("Sources".to_owned());
    for (key, reference) in &sheet.sources {
        wrap("  ", "      ", &format!("{key}: {reference}"), &mut lines);
    }
    lines.push(String::new());
    lines.join("\n")
}

fn section(heading: &str, rows: &[Row], lines: &mut Vec<String>) {
    lines.push(heading.to_owned());
    for row in rows {
        wrap("  ", "    ", &format!("{}: {}", row.title, amount(row)), lines);
        let used = row.used_source.as_ref().map_or_else(String::new, |used| format!("; used: {used}"));
        wrap("      ", "      ", &format!("{}{used}", row.source), lines);
    }
    lines.push(String::new());
}

fn amount(row: &Row) -> String {
    let text = match &row.amount {
        Amount::Word(word) => (*word).to_owned(),
        Amount::Flag(is) => if *is { "yes" } else { "no" }.to_owned(),
        Amount::Value(value) => format!("{} {}", figures(*value), row.unit),
        Amount::Range { low, high, used } => {
            let [low, high, used] = [low, high, used].map(|number| figures(*number));
            format!("{low} to {high} {unit}, used {used} {unit}", unit = row.unit).replace(" ,", ",")
        }
        Amount::Curve(points) => {
            let point =
                |[strain, value]: &[f64; 2]| format!("{} {} at {}", figures(*value), row.unit, figures(*strain));
            points.iter().map(point).collect::<Vec<_>>().join(", ")
        }
    };
    text.trim_end().to_owned()
}

/// A number to four figures: more, no cell has.
fn figures(number: f64) -> String {
    let rounded = format!("{number:.3e}").parse().unwrap_or(number);
    format!("{rounded}")
}

/// A sheet as one object; each cell is an object of numbers and their source.
struct SheetJson<'a>(&'a Sheet);

impl Serialize for SheetJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let sheet = self.0;
        let sources: serde_json::Map<String, Value> =
            sheet.sources.iter().map(|(key, reference)| ((*key).to_owned(), (*reference).into())).collect();
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("name", sheet.name)?;
        map.serialize_entry("wet", &sheet.wet)?;
        map.serialize_entry("material", &RowsJson { size: None, rows: &sheet.material })?;
        map.serialize_entry("condition", &RowsJson { size: None, rows: &sheet.condition })?;
        let sizes = sheet.sizes.iter().map(|SizeRows { size, rows }| RowsJson { size: Some(size), rows });
        map.serialize_entry("sizes", &sizes.collect::<Vec<_>>())?;
        map.serialize_entry("sources", &sources)?;
        map.end()
    }
}

/// Rows in their order, by their keys.
struct RowsJson<'a> {
    size: Option<&'a str>,
    rows: &'a [Row],
}

impl Serialize for RowsJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        if let Some(size) = self.size {
            map.serialize_entry("size", size)?;
        }
        for row in self.rows {
            map.serialize_entry(row.key, &cell(row))?;
        }
        map.end()
    }
}

fn cell(row: &Row) -> Value {
    let source = &row.source;
    match &row.amount {
        Amount::Flag(is) => object!({ "value": is, "source": source }),
        Amount::Word(word) => object!({ "value": word, "source": source }),
        Amount::Value(value) => object!({ "value": value, "source": source }),
        Amount::Range { low, high, used } => {
            let used_source = row.used_source.as_deref().unwrap_or(MIDDLE);
            object!({ "low": low, "high": high, "used": used, "source": source, "used_source": used_source })
        }
        Amount::Curve(points) => object!({ "strain_and_value": points, "source": source }),
    }
}
