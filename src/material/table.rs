//! The shipped table: read once, and looked up.

use super::check::check;
use super::derive::{Material, Shares, derive, derive_varied, derive_within};
use super::schema::{Entry, Size, Table, Wetness};
use super::sheet::{Sheet, lay_out};
use std::sync::LazyLock;

/// The text of the table.
const TEXT: &str = include_str!("../../assets/materials.ron");

static TABLE: LazyLock<Table> = LazyLock::new(|| match read(TEXT) {
    Ok(table) => table,
    Err(problems) => panic!("assets/materials.ron:\n{}", problems.join("\n")),
});

/// The shipped table of materials.
///
/// # Panics
/// If the text that was compiled in is not in order; the tests read it.
#[must_use]
pub fn table() -> &'static Table {
    &TABLE
}

/// Reads a table of materials.
///
/// # Errors
/// One line if the text is no table, with its line and column; else a line for every number or source that is not in
/// order.
pub fn read(text: &str) -> Result<Table, Vec<String>> {
    let table: Table = ron::from_str(text).map_err(|error| vec![format!("{}: {}", error.span.start, error.code)])?;
    let problems = check(&table);
    if problems.is_empty() { Ok(table) } else { Err(problems) }
}

/// The material called `name` in pharmacopoeia size `size`, wet or dry; `None` if it is not known.
#[must_use]
pub fn find(name: &str, size: &str, wet: bool) -> Option<Material> {
    let entry = entry(name)?;
    let size = sizes_of(entry).iter().find(|known| known.size == size)?;
    Some(derive(table(), entry, size, wetness(wet)))
}

/// The material called `name` in size `size`, wet or dry, its diameter and its friction on thread at these shares of their
/// ranges, 0 to 1; `None` if it is not known.
#[must_use]
pub fn find_within(name: &str, size: &str, wet: bool, shares: [f64; 2]) -> Option<Material> {
    let entry = entry(name)?;
    let size = sizes_of(entry).iter().find(|known| known.size == size)?;
    Some(derive_within(table(), entry, size, wetness(wet), shares))
}

/// The material called `name` in size `size`, wet or dry, its frictions and its stiffness at these shares of their ranges;
/// `None` if it is not known.
#[must_use]
pub fn find_varied(name: &str, size: &str, wet: bool, shares: Shares) -> Option<Material> {
    let entry = entry(name)?;
    let size = sizes_of(entry).iter().find(|known| known.size == size)?;
    Some(derive_varied(table(), entry, size, wetness(wet), shares))
}

/// The names that [`find`] knows.
#[must_use]
pub fn names() -> Vec<&'static str> {
    table().materials.iter().map(|entry| entry.name.as_str()).collect()
}

/// The sizes that [`find`] knows for `name`, thickest first; none if it does not know the name.
#[must_use]
pub fn sizes(name: &str) -> Vec<&'static str> {
    entry(name).map_or_else(Vec::new, |entry| sizes_of(entry).iter().map(|size| size.size.as_str()).collect())
}

/// Every cell of the material called `name`, wet or dry, in one size or in all; `None` if it is not known.
#[must_use]
pub fn sheet(name: &str, size: Option<&str>, wet: bool) -> Option<Sheet> {
    let entry = entry(name)?;
    let known = sizes_of(entry).iter();
    let asked: Vec<&Size> = known.filter(|known| size.is_none_or(|size| known.size == size)).collect();
    if asked.is_empty() { None } else { Some(lay_out(table(), entry, &asked, wetness(wet))) }
}

fn entry(name: &str) -> Option<&'static Entry> {
    table().materials.iter().find(|entry| entry.name == name)
}

fn sizes_of(entry: &'static Entry) -> &'static [Size] {
    &table().size_classes[&entry.size_class].sizes
}

fn wetness(wet: bool) -> Wetness {
    if wet { Wetness::Wet } else { Wetness::Dry }
}
