//! What a table keeps of a tied thread beside its shape, so that it is pulled as it was tied.
//!
//! ```text
//! rest_mm              unstretched length from the point to the next one; nothing on the way round that stands for the loop
//! set_x,set_y,set_z    set, as a change of tangent [1]
//! twist_rad            turn of the thread from the piece before the point to the one after it
//! entry_mm,exit_mm     at each hole: thread at rest from there to where the strand ran into the tight knot, and out of it
//! ```
//!
//! What friction held back is not kept: it comes anew as the knot is pulled.

use super::knot::Knot;
use super::outcome::SLIP_MAX;
use super::running::Running;
use super::stitch::TiedStitch;
use super::test::{SETTLE_STEPS, STEP_MS};
use super::tie::Tied;
use crate::analysis::centrelines::table;
use crate::analysis::reading::StitchCurve;
use crate::math::DVec3;
use crate::rod::{Rod, Section};
use csv::{ReaderBuilder, Trim};
use std::fmt::Write;

const COLUMNS: [&str; 7] = ["rest_mm", "set_x", "set_y", "set_z", "twist_rad", "entry_mm", "exit_mm"];

/// A thread's state at each point of a stitch's centreline.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// Unstretched length to the next point [mm]; zero where there is no thread, shape `[point_count]`.
    rest: Vec<f64>,
    /// Set, as a change of tangent [1], shape `[point_count]`.
    set: Vec<DVec3>,
    /// Twist at each point [rad], shape `[point_count]`.
    twist: Vec<f64>,
    /// Where both strands ran when the knot was tight, that of point 0 first.
    tight: [Running; 2],
}

impl Kept {
    /// The state of a knot on the bench whose centreline has `between` points on the way round that stands for its loop.
    pub(super) fn of(knot: &Knot, between: usize, tight: [Running; 2]) -> Kept {
        let rod = &knot.rod;
        let mut kept = Kept { rest: Vec::new(), set: Vec::new(), twist: Vec::new(), tight };
        for node in (0..rod.node_count()).filter(|&node| !rod.carried[node]) {
            let joined = |edge: usize| edge < rod.whole.len() && rod.whole[edge];
            let inside = node > 0 && joined(node - 1) && joined(node);
            let rest = if joined(node) { rod.rest_lengths[node] } else { 0.0 };
            let twist = if inside { rod.spin[node] - rod.spin[node - 1] + rod.reference_twist[node] } else { 0.0 };
            kept.push(rest, if inside { rod.set[node] } else { DVec3::ZERO }, twist);
            if node == knot.limbs[0] {
                (0..between).for_each(|_| kept.push(0.0, DVec3::ZERO, 0.0));
            }
        }
        kept
    }

    fn push(&mut self, rest: f64, set: DVec3, twist: f64) {
        self.rest.push(rest);
        self.set.push(set);
        self.twist.push(twist);
    }

    /// The state that a table of one thread keeps; `None` if it has no columns for it. `name` is how messages call it.
    ///
    /// # Errors
    /// Everything that is wrong with those columns, a line each, as of [`crate::analysis::centrelines::parse`].
    pub fn parse(name: &str, text: &str, curve: &StitchCurve) -> Result<Option<Kept>, String> {
        let mut reader = ReaderBuilder::new().trim(Trim::All).flexible(true).from_reader(text.as_bytes());
        let head = reader.headers().map_err(|error| format!("{name}: {error}"))?.clone();
        let at = COLUMNS.map(|wanted| head.iter().position(|cell| cell == wanted));
        if at.iter().all(Option::is_none) {
            return Ok(None);
        }
        let missing: Vec<&str> =
            COLUMNS.iter().zip(at).filter(|(_, at)| at.is_none()).map(|(&column, _)| column).collect();
        if !missing.is_empty() {
            return Err(format!("{name}:1:1: head lacks {}, allowed all of them or none", missing.join(", ")));
        }
        let (mut rows, mut wrong) = (Vec::new(), Vec::new());
        for record in reader.records() {
            let record = record.map_err(|error| format!("{name}: {error}"))?;
            let line = record.position().map_or(0, csv::Position::line);
            let mut row = [0.0; COLUMNS.len()];
            for (cell, (column, at)) in row.iter_mut().zip(COLUMNS.iter().zip(at.iter().flatten())) {
                match record.get(*at).unwrap_or("") {
                    "" => {}
                    found => match found.parse().ok().filter(|number: &f64| number.is_finite()) {
                        Some(number) => *cell = number,
                        None => {
                            wrong.push(format!("{name}:{line}:{}: {column} is {found:?}, allowed a number", at + 1));
                        }
                    },
                }
            }
            rows.push((line, row));
        }
        let [start, end, last] = [curve.loop_start, curve.loop_end, curve.points.len() - 1];
        if rows.len() != curve.points.len() {
            wrong.push(format!("{name}:1:1: state is of {} points, allowed {}", rows.len(), curve.points.len()));
            return Err(wrong.join("\n"));
        }
        for point in (0..start).chain(end..last).filter(|&point| rows[point].1[0] <= 0.0) {
            let (line, row) = rows[point];
            wrong.push(format!("{name}:{line}:1: rest_mm is {}, allowed more than 0 before the next point", row[0]));
        }
        if !wrong.is_empty() {
            return Err(wrong.join("\n"));
        }
        let tight = [start, end].map(|hole| Running { entry: rows[hole].1[5], exit: rows[hole].1[6] });
        let mut kept = Kept { rest: Vec::new(), set: Vec::new(), twist: Vec::new(), tight };
        for (_, [rest, x, y, z, twist, ..]) in rows {
            kept.push(rest, DVec3::new(x, y, z), twist);
        }
        Ok(Some(kept))
    }

    /// The knot in a thread of this section, its loop cut, `wraps` as of [`TiedStitch::wraps`]; `None` if it does not come
    /// to rest soundly.
    #[must_use]
    pub fn stitch(&self, curve: &StitchCurve, section: Section, wraps: usize) -> Option<TiedStitch> {
        let [start, end] = [curve.loop_start, curve.loop_end];
        let of_thread: Vec<usize> = (0..=start).chain(end..curve.points.len()).collect();
        let mut rod = Rod::at_rest(section, of_thread.iter().map(|&point| curve.points[point]).collect());
        rod.whole[start] = false;
        for (node, &point) in of_thread.iter().enumerate() {
            rod.set[node] = self.set[point];
            // Its directors are without twist from the start on.
            if node > 0 && node < rod.whole.len() {
                rod.spin[node] = rod.spin[node - 1] + self.twist[point];
            }
            if node < rod.whole.len() {
                if rod.whole[node] {
                    rod.rest_lengths[node] = self.rest[point];
                }
                rod.material[node + 1] = rod.material[node] + rod.rest_lengths[node];
            }
        }
        let count = rod.node_count();
        let mut knot = Knot::of(rod, [start, start + 1]);
        knot.hold_limbs();
        knot.run(SETTLE_STEPS, STEP_MS);
        if knot.fault.is_some() || knot.thread_break.is_some() {
            return None;
        }
        Some(TiedStitch {
            rod: knot.rod,
            memory: knot.memory,
            piece: 0..count,
            holes: [start, start + 1],
            section,
            wraps,
            tight: Some(self.tight),
            slip_limit: SLIP_MAX,
        })
    }
}

/// A tied knot as a table that [`crate::analysis::centrelines::parse`] and [`Kept::parse`] read.
#[must_use]
pub fn tied_table(tied: &Tied) -> String {
    let points = table(&tied.curve);
    let Some(Kept { rest, set, twist, tight }) = &tied.kept else { return points };
    let mut text = String::new();
    for (row, line) in points.lines().enumerate() {
        // Writing to a string cannot fail.
        let _ = match row.checked_sub(1) {
            None => writeln!(text, "{line},{}", COLUMNS.join(",")),
            Some(point) => {
                let DVec3 { x, y, z } = set[point];
                let holes = [tied.curve.loop_start, tied.curve.loop_end];
                let ran = holes.iter().position(|&hole| hole == point).map(|strand| tight[strand]);
                let ran = ran.map_or_else(|| ",".to_owned(), |Running { entry, exit }| format!("{entry},{exit}"));
                writeln!(text, "{line},{},{x},{y},{z},{},{ran}", rest[point], twist[point])
            }
        };
    }
    text
}
