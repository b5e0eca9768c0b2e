//! Centrelines from a table: threads digitised or simulated anywhere.
//!
//! ```text
//! x_mm,y_mm,z_mm            one row a point, from one end of a thread to the other
//! x_mm,y_mm,z_mm,hole       `hole` is 1 at the two points where the thread goes into the tissue
//! strand,x_mm,y_mm,z_mm     `strand` names the thread; without it a blank line begins the next thread
//! ```
//!
//! Columns stand in any order; other columns are left alone.

use super::reading::StitchCurve;
use crate::math::DVec3;
use csv::{ReaderBuilder, StringRecord, Trim};
use std::fmt::Write;

/// One thread of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Strand {
    /// Its name in the table, or its number counted from 1.
    pub name: String,
    /// Points [mm] from one end to the other, shape `[point_count]`, 2 or more.
    pub points: Vec<DVec3>,
    /// Indices of the two points at the tissue's holes, if they are marked.
    pub holes: Option<(usize, usize)>,
}

/// A stitch as a table that [`parse`] reads, its holes marked.
#[must_use]
pub fn table(curve: &StitchCurve) -> String {
    let mut table = "x_mm,y_mm,z_mm,hole\n".to_owned();
    for (index, DVec3 { x, y, z }) in curve.points.iter().enumerate() {
        let hole = u8::from(index == curve.loop_start || index == curve.loop_end);
        // Writing to a string cannot fail.
        let _ = writeln!(table, "{x},{y},{z},{hole}");
    }
    table
}

/// Where the columns stand.
struct Columns {
    axes: [usize; 3],
    strand: Option<usize>,
    hole: Option<usize>,
}

const AXES: [&str; 3] = ["x_mm", "y_mm", "z_mm"];

/// Reads a table; `name` is how messages call it.
///
/// # Errors
/// Everything that is wrong with it, a line each, as `name:line:column: what is found, what is allowed`.
pub fn parse(name: &str, text: &str) -> Result<Vec<Strand>, String> {
    let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n");
    // Lengths of rows are looked at here, where all problems are gathered.
    let mut reader = ReaderBuilder::new().trim(Trim::All).flexible(true).from_reader(text.as_bytes());
    let head = reader.headers().map_err(|error| format!("{name}: {error}"))?.clone();
    let columns = Columns::of(&head).map_err(|problem| format!("{name}:1:1: {problem}"))?;
    let (mut strands, mut wrong) = (Vec::<Marked>::new(), Vec::new());
    let mut after_blank = false;
    for record in reader.records() {
        let record = record.map_err(|error| format!("{name}: {error}"))?;
        let (blank, line) = start(&text, &record);
        after_blank |= blank;
        if record.iter().all(str::is_empty) {
            after_blank = true;
            continue;
        }
        match Row::of(&record, &columns) {
            Ok(row) => add(&mut strands, row, after_blank, line),
            Err(problems) => wrong.extend(problems.into_iter().map(|problem| format!("{name}:{line}:{problem}"))),
        }
        after_blank = false;
    }
    if strands.is_empty() && wrong.is_empty() {
        wrong.push(format!("{name}:2:1: table is of 0 points, allowed 2 or more a thread"));
    }
    // Points that could not be read would be missed here.
    if wrong.is_empty() {
        wrong.extend(strands.iter().filter_map(Marked::problem).map(|problem| format!("{name}:{problem}")));
    }
    if wrong.is_empty() { Ok(strands.into_iter().map(Marked::strand).collect()) } else { Err(wrong.join("\n")) }
}

/// Whether blank lines stand before a row, and the row's own line; the reader's position is where the blank ones begin.
fn start(text: &str, record: &StringRecord) -> (bool, u64) {
    let Some(position) = record.position() else { return (false, 0) };
    let before = usize::try_from(position.byte()).unwrap_or(usize::MAX);
    let blank = text.as_bytes().get(before..).unwrap_or_default().iter().take_while(|&&byte| byte == b'\n').count();
    (blank > 0, position.line() + blank as u64)
}

impl Columns {
    fn of(head: &StringRecord) -> Result<Columns, String> {
        let at = |wanted: &str| head.iter().position(|cell| cell == wanted);
        let [Some(x), Some(y), Some(z)] = AXES.map(at) else {
            let found: Vec<&str> = head.iter().collect();
            return Err(format!("head is {:?}, allowed columns x_mm, y_mm, z_mm, strand, hole", found.join(",")));
        };
        Ok(Columns { axes: [x, y, z], strand: at("strand"), hole: at("hole") })
    }
}

/// One row of the table.
struct Row {
    strand: Option<String>,
    point: DVec3,
    at_hole: bool,
}

impl Row {
    /// The row, or what is wrong with its cells as `column: problem`.
    fn of(record: &StringRecord, columns: &Columns) -> Result<Row, Vec<String>> {
        let cell = |column: usize| record.get(column).unwrap_or("");
        let mut wrong = Vec::new();
        let numbers = [0, 1, 2].map(|axis| {
            let (column, name) = (columns.axes[axis], AXES[axis]);
            let number = cell(column).parse().ok().filter(|x: &f64| x.is_finite());
            if number.is_none() {
                wrong.push(format!("{}: {name} is {:?}, allowed a number", column + 1, cell(column)));
            }
            number.unwrap_or(0.0)
        });
        let at_hole = columns.hole.is_some_and(|column| match cell(column) {
            "" | "0" => false,
            "1" => true,
            other => {
                wrong.push(format!("{}: hole is {other:?}, allowed 1, 0 or nothing", column + 1));
                false
            }
        });
        let strand = columns.strand.map(|column| cell(column).to_owned());
        if wrong.is_empty() { Ok(Row { strand, point: DVec3::from_array(numbers), at_hole }) } else { Err(wrong) }
    }
}

/// A thread with all of its marks, however many.
struct Marked {
    name: String,
    first_line: u64,
    points: Vec<DVec3>,
    holes: Vec<usize>,
}

fn add(strands: &mut Vec<Marked>, row: Row, after_blank: bool, line: u64) {
    let place = match &row.strand {
        Some(name) => strands.iter().position(|strand| strand.name == *name),
        None => strands.len().checked_sub(1).filter(|_| !after_blank),
    };
    let place = place.unwrap_or_else(|| {
        let name = row.strand.unwrap_or_else(|| (strands.len() + 1).to_string());
        strands.push(Marked { name, first_line: line, points: Vec::new(), holes: Vec::new() });
        strands.len() - 1
    });
    let strand = &mut strands[place];
    if row.at_hole {
        strand.holes.push(strand.points.len());
    }
    strand.points.push(row.point);
}

impl Marked {
    fn problem(&self) -> Option<String> {
        let Marked { name, first_line, points, holes } = self;
        if points.len() < 2 {
            return Some(format!("{first_line}:1: thread {name} is of {} points, allowed 2 or more", points.len()));
        }
        let marked = holes.len();
        (marked != 0 && marked != 2)
            .then(|| format!("{first_line}:1: thread {name} has {marked} holes marked, allowed 2, or none"))
    }

    fn strand(self) -> Strand {
        let holes = if let [first, last] = self.holes[..] { Some((first, last)) } else { None };
        Strand { name: self.name, points: self.points, holes }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_blank_line_or_a_name_parts_threads_and_marks_are_kept() {
        let blank = "\u{feff}x_mm,y_mm,z_mm\r\n0,0,0\r\n1,0,0\r\n\r\n0,1,0\r\n1,1,0\r\n2,1,0\r\n";
        let named = "strand,z_mm,y_mm,x_mm,hole\na,0,0,0,\nb,0,1,0,1\na,0,0,1,0\nb,0,1,1,\nb,0,1,2,1\n";
        let from_blank = parse("a.csv", blank).expect("in order");
        let from_named = parse("a.csv", named).expect("in order");
        for (strands, names, holes) in [(from_blank, ["1", "2"], None), (from_named, ["a", "b"], Some((0, 2)))] {
            assert_eq!(strands.len(), 2);
            assert_eq!([&strands[0].name, &strands[1].name], names);
            assert_eq!(strands[0].points, [DVec3::ZERO, DVec3::X]);
            assert_eq!(strands[1].points[2], DVec3::new(2.0, 1.0, 0.0));
            assert_eq!((strands[0].holes, strands[1].holes), (None, holes));
        }
    }

    #[test]
    fn a_stitch_written_is_read_back_to_the_last_digit() {
        let points = vec![DVec3::new(0.1, -1e-9, 1.0 / 3.0), DVec3::X, DVec3::Y, DVec3::Z];
        let curve = StitchCurve { points, loop_start: 1, loop_end: 2 };
        let strands = parse("a.csv", &table(&curve)).expect("in order");
        assert_eq!(strands, [Strand { name: "1".to_owned(), points: curve.points, holes: Some((1, 2)) }]);
    }

    #[test]
    fn everything_wrong_is_told_at_once_with_line_and_column() {
        let table = [
            ("x,y,z\n0,0,0\n", "a.csv:1:1: head is \"x,y,z\", allowed columns x_mm, y_mm, z_mm, strand, hole"),
            ("x_mm,y_mm,z_mm\n", "a.csv:2:1: table is of 0 points, allowed 2 or more a thread"),
            ("x_mm,y_mm,z_mm\n0,0,0\n", "a.csv:2:1: thread 1 is of 1 points, allowed 2 or more"),
            (
                "x_mm,y_mm,z_mm,hole\n0,0,0,1\n1,nan,0\n\n \n1,,0,yes\n",
                "a.csv:3:2: y_mm is \"nan\", allowed a number\na.csv:6:2: y_mm is \"\", allowed a number\n\
                 a.csv:6:4: hole is \"yes\", allowed 1, 0 or nothing",
            ),
            ("x_mm,y_mm,z_mm,hole\n0,0,0,1\n1,0,0,\n", "a.csv:2:1: thread 1 has 1 holes marked, allowed 2, or none"),
        ];
        for (text, message) in table {
            assert_eq!(parse("a.csv", text), Err(message.to_owned()), "{text}");
        }
    }
}
