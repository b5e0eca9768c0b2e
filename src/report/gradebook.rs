//! A school's own gradebook with one column filled in, and everything else byte for byte as it was.
//!
//! A table is comma-separated values as RFC 4180 has them; semicolons and tabs between the cells, line ends of any kind
//! and a byte order mark are taken as well. It is cut into cells here and not by a library, because no library keeps how
//! a cell was quoted.

use std::collections::BTreeMap;
use std::ops::Range;

/// What a byte order mark of UTF-8 is.
const MARK: &[u8] = b"\xef\xbb\xbf";

/// What may part two cells.
const DELIMITERS: [u8; 3] = [b',', b';', b'\t'];

/// A gradebook with its column filled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Filled {
    /// The whole file.
    pub bytes: Vec<u8>,
    /// Students whose cell was filled, with what stood there before, in the order of the rows.
    pub filled: Vec<(String, String)>,
    /// Students of the gradebook that have no mark: their rows are as they were.
    pub without_mark: Vec<String>,
    /// Students with a mark that the gradebook does not have.
    pub without_row: Vec<String>,
}

/// A cell of the table: its bytes, quotes included.
type Cell = Range<usize>;

/// Writes the marks of `marks`, by student, into the cells of `column`; the student of a row stands in `student`.
///
/// # Errors
/// Everything that keeps it from being done: a column that is not there or is there twice, a student with two rows, a
/// row that is too short, a quote that is never closed.
pub fn fill_gradebook(
    table: &[u8],
    student: &str,
    column: &str,
    marks: &BTreeMap<String, String>,
) -> Result<Filled, Vec<String>> {
    let delimiter = delimiter(table);
    let rows = cut(table, delimiter)?;
    let Some((heading, rows)) = rows.split_first() else { return Err(vec!["the gradebook has no heading".into()]) };
    let text = |cell: &Cell| read_cell(&table[cell.clone()]);
    let names: Vec<String> = heading.iter().map(text).collect();
    let (student, column) = match [place(&names, student), place(&names, column)] {
        [Ok(student), Ok(column)] => (student, column),
        wrong => return Err(wrong.into_iter().filter_map(Result::err).collect()),
    };
    let mut problems = Vec::new();
    let mut filled =
        Filled { bytes: Vec::new(), filled: Vec::new(), without_mark: Vec::new(), without_row: Vec::new() };
    let (mut seen, mut kept) = (BTreeMap::new(), 0);
    for (number, row) in (2..).zip(rows) {
        let Some(key) = row.get(student).map(text).filter(|key| !key.is_empty()) else { continue };
        let Some(mark) = marks.get(&key) else {
            filled.without_mark.push(key);
            continue;
        };
        if let Some(first) = seen.insert(key.clone(), number) {
            problems.push(format!("student {key:?} has rows {first} and {number}, allowed one"));
        }
        let Some(cell) = row.get(column) else {
            let (found, allowed) = (row.len(), column + 1);
            problems.push(format!("row {number} of student {key:?} has {found} cells, allowed {allowed} or more"));
            continue;
        };
        let old = &table[cell.clone()];
        filled.bytes.extend(&table[kept..cell.start]);
        filled.bytes.extend(written_cell(mark, old.starts_with(b"\""), delimiter));
        kept = cell.end;
        filled.filled.push((key, read_cell(old)));
    }
    filled.bytes.extend(&table[kept..]);
    filled.without_row = marks.keys().filter(|key| !seen.contains_key(*key)).cloned().collect();
    if problems.is_empty() { Ok(filled) } else { Err(problems) }
}

/// Where a column is, by its name.
fn place(names: &[String], name: &str) -> Result<usize, String> {
    let places: Vec<usize> = (0..names.len()).filter(|&place| names[place].trim() == name.trim()).collect();
    match places[..] {
        [place] => Ok(place),
        [] => Err(format!("column {name:?} is not in the gradebook, allowed {}", names.join(", "))),
        _ => Err(format!("column {name:?} is in the gradebook {} times, allowed once", places.len())),
    }
}

/// The sign that parts most cells of the heading; a comma, if none does.
fn delimiter(table: &[u8]) -> u8 {
    let mut counts = [0; DELIMITERS.len()];
    let mut quoted = false;
    for &byte in table.iter().take_while(|byte| !matches!(byte, b'\n' | b'\r')) {
        quoted ^= byte == b'"';
        if let Some(place) = DELIMITERS.iter().position(|sign| *sign == byte && !quoted) {
            counts[place] += 1;
        }
    }
    let most = (0..DELIMITERS.len()).rev().max_by_key(|&place| counts[place]).unwrap_or_default();
    DELIMITERS[most]
}

/// The cells of each row; an empty line is a row without any.
fn cut(table: &[u8], delimiter: u8) -> Result<Vec<Vec<Cell>>, Vec<String>> {
    let (mut rows, mut row) = (Vec::new(), Vec::new());
    let mut place = if table.starts_with(MARK) { MARK.len() } else { 0 };
    while place < table.len() {
        let start = place;
        if table[place] == b'"' {
            place = quoted_end(table, place).ok_or_else(|| vec![unclosed(table, start)])?;
        }
        // What follows a closing quote belongs to the cell, as it was written.
        while table.get(place).is_some_and(|&byte| byte != delimiter && !matches!(byte, b'\n' | b'\r')) {
            place += 1;
        }
        row.push(start..place);
        match table.get(place) {
            Some(&byte) if byte == delimiter => {
                place += 1;
                if place == table.len() {
                    row.push(place..place);
                }
                continue;
            }
            Some(b'\r') if table.get(place + 1) == Some(&b'\n') => place += 2,
            Some(_) => place += 1,
            None => {}
        }
        let cells = std::mem::take(&mut row);
        let is_blank = cells.len() == 1 && cells[0].is_empty();
        rows.push(if is_blank { Vec::new() } else { cells });
    }
    if !row.is_empty() {
        rows.push(row);
    }
    Ok(rows)
}

/// Where the quoted text that begins at `start` has ended; two quotes are one within it.
fn quoted_end(table: &[u8], start: usize) -> Option<usize> {
    let mut place = start + 1;
    loop {
        place += table.get(place..)?.iter().position(|byte| *byte == b'"')? + 1;
        if table.get(place) != Some(&b'"') {
            return Some(place);
        }
        place += 1;
    }
}

fn unclosed(table: &[u8], start: usize) -> String {
    let line = 1 + table[..start].iter().filter(|byte| **byte == b'\n').count();
    format!("the quote in line {line} of the gradebook is never closed")
}

/// What a cell says. Bytes that are not UTF-8 are told apart no further.
fn read_cell(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    match text.strip_prefix('"').and_then(|text| text.strip_suffix('"')) {
        Some(inside) => inside.replace("\"\"", "\""),
        None => text.into_owned(),
    }
}

/// A cell that says `text`, quoted where it has to be or was before.
fn written_cell(text: &str, quoted: bool, delimiter: u8) -> Vec<u8> {
    let text = guarded(text);
    if quoted || text.bytes().any(|byte| byte == delimiter || matches!(byte, b'"' | b'\n' | b'\r')) {
        format!("\"{}\"", text.replace('"', "\"\"")).into_bytes()
    } else {
        text.into_bytes()
    }
}

/// A text that no spreadsheet takes for a formula: an apostrophe stands before the signs that begin one.
///
/// Source: OWASP, CSV Injection: `=`, `+`, `-`, `@`, tab and carriage return (from memory).
#[must_use]
pub(super) fn guarded(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']);
    if formula { format!("'{text}") } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    fn marks(pairs: &[(&str, &str)]) -> BTreeMap<String, String> {
        pairs.iter().map(|(key, mark)| ((*key).to_owned(), (*mark).to_owned())).collect()
    }

    fn filled(table: &str, pairs: &[(&str, &str)]) -> Filled {
        fill_gradebook(table.as_bytes(), "ID", "Knots", &marks(pairs)).unwrap_or_else(|problems| panic!("{problems:?}"))
    }

    #[test]
    fn one_column_is_filled_and_every_other_byte_stays() {
        // What it was, what it becomes.
        let cases = [
            (
                "ID,Name,Knots\r\ns1,\"A, \"\"B\"\"\",\r\ns2,C,\r\n",
                "ID,Name,Knots\r\ns1,\"A, \"\"B\"\"\",97.9\r\ns2,C,\r\n",
            ),
            ("ID;Name;Knots\ns1;x,y;0\n", "ID;Name;Knots\ns1;x,y;97.9\n"),
            (
                "\u{feff}\"ID\"\t\"Knots\"\t\n\"s1\"\t\"\"\t \n\n",
                "\u{feff}\"ID\"\t\"Knots\"\t\n\"s1\"\t\"97.9\"\t \n\n",
            ),
            ("Knots,ID\r,s1\r,s3", "Knots,ID\r97.9,s1\r,s3"),
            ("ID,Knots\ns1,", "ID,Knots\ns1,97.9"),
            ("ID,Knots,\"two\nlines\"\ns1,\"a\nb\",\"=1+1\"\n", "ID,Knots,\"two\nlines\"\ns1,\"97.9\",\"=1+1\"\n"),
        ];
        for (before, after) in cases {
            let filled = filled(before, &[("s1", "97.9")]);
            assert_eq!(String::from_utf8_lossy(&filled.bytes), after);
            assert_eq!(filled.filled.len(), 1, "{before}");
        }
        let latin = b"ID,Name,Knots\ns1,M\xfcller,\n";
        let done = fill_gradebook(latin, "ID", "Knots", &marks(&[("s1", "5")])).expect("bytes are bytes");
        assert_eq!(done.bytes, b"ID,Name,Knots\ns1,M\xfcller,5\n");
    }

    #[test]
    fn students_without_a_mark_or_a_row_are_named_and_what_stood_there_is_too() {
        let table = "ID,Knots\nPoints Possible,100\ns1,50\ns2,\n,\n";
        let filled = filled(table, &[("s1", "60"), ("s9", "70")]);
        assert_eq!(filled.filled, [("s1".to_owned(), "50".to_owned())]);
        assert_eq!(filled.without_mark, ["Points Possible", "s2"]);
        assert_eq!(filled.without_row, ["s9"]);
        assert_eq!(String::from_utf8_lossy(&filled.bytes), table.replace("s1,50", "s1,60"));
    }

    #[test]
    fn what_cannot_be_done_is_told_all_at_once() {
        let refused =
            |table: &str| fill_gradebook(table.as_bytes(), "ID", "Knots", &marks(&[("s1", "1")])).unwrap_err();
        assert_eq!(
            refused("Id,Knot\ns1,\n"),
            [
                "column \"ID\" is not in the gradebook, allowed Id, Knot",
                "column \"Knots\" is not in the gradebook, allowed Id, Knot"
            ]
        );
        assert_eq!(refused("ID,Knots,Knots\n"), ["column \"Knots\" is in the gradebook 2 times, allowed once"]);
        assert_eq!(
            refused("ID,a,Knots\ns1,b\ns1,,\n"),
            ["row 2 of student \"s1\" has 2 cells, allowed 3 or more", "student \"s1\" has rows 2 and 3, allowed one"]
        );
        assert_eq!(refused("ID,Knots\n\"s1,5\n"), ["the quote in line 2 of the gradebook is never closed"]);
        assert_eq!(refused(""), ["the gradebook has no heading"]);
    }

    #[test]
    fn a_mark_that_a_spreadsheet_would_carry_out_is_kept_from_it() {
        for formula in ["=1", "+1", "-1", "@x", "\tx", "\rx"] {
            let done = filled("ID,Knots\ns1,\n", &[("s1", formula)]);
            let text = String::from_utf8(done.bytes).expect("it is text");
            assert!(text.contains(&format!("'{formula}")), "{text:?}");
        }
        assert_eq!(filled("ID,Knots\ns1,\n", &[("s1", "a,\"b\"")]).bytes, b"ID,Knots\ns1,\"a,\"\"b\"\"\"\n");
    }

    #[test]
    fn tables_of_any_kind_come_back_unchanged_and_are_cut_as_a_library_cuts_them() {
        let mut random = ChaCha8Rng::seed_from_u64(5);
        let cells = ["", "a", "\"\"", "\"x,y\"", "\"x\"\"y\"", "\"two\nlines\"", "é", " b ", "7"];
        for _ in 0..2000 {
            let end = if random.random() { "\r\n" } else { "\n" };
            let width = random.random_range(2..5);
            let mut table = "ID,Knots".to_owned() + &",z".repeat(width - 2) + end;
            for _ in 0..random.random_range(0..6) {
                let row: Vec<&str> = (0..width).map(|_| cells[random.random_range(0..cells.len())]).collect();
                table += &(row.join(",") + end);
            }
            let same = fill_gradebook(table.as_bytes(), "ID", "Knots", &BTreeMap::new()).expect("it is well formed");
            assert_eq!(same.bytes, table.as_bytes());
            let ours: Vec<Vec<String>> = cut(table.as_bytes(), b',')
                .expect("it is well formed")
                .into_iter()
                .filter(|row| !row.is_empty())
                .map(|row| row.into_iter().map(|cell| read_cell(&table.as_bytes()[cell])).collect())
                .collect();
            let mut library = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(table.as_bytes());
            let theirs: Vec<Vec<String>> = library
                .records()
                .map(|row| row.expect("it is well formed").iter().map(str::to_owned).collect())
                .collect();
            assert_eq!(ours, theirs, "{table:?}");
        }
    }
}
