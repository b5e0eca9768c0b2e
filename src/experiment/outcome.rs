//! What came of an experiment: rows, verdicts, and both as text, CSV and JSON.

use super::schema::{Expect, Experiment, Plot, When};
use crate::rod::step::{Report, Settings, SlipLimit};
use serde_json::{Map, Value, json};

/// A column of the rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// Its unit; empty for a pure number.
    pub unit: String,
}

impl Column {
    /// Name and unit as one key: `drop_mm`, `force_n`, `rate_rad_per_mm`.
    #[must_use]
    pub fn key(&self) -> String {
        if self.unit.is_empty() {
            return self.name.clone();
        }
        let unit = self.unit.to_lowercase().replace("1/", "per_").replace('/', "_per_").replace('^', "");
        format!("{}_{}", self.name, unit.replace(' ', "_"))
    }

    /// Name and unit for people.
    #[must_use]
    pub fn title(&self) -> String {
        if self.unit.is_empty() { self.name.clone() } else { format!("{} [{}]", self.name, self.unit) }
    }
}

/// All columns at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Time [ms].
    pub time_ms: f64,
    /// Why it was taken: `start`, `every`, `time`, `end` or an event's name.
    pub cause: String,
    /// One number a column; not a number where there is none.
    pub values: Vec<f64>,
}

/// An expectation and what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// The expectation.
    pub expect: Expect,
    /// Unit of its column.
    pub unit: String,
    /// The number in its row; `None` if that row never came.
    pub found: Option<f64>,
    /// How far off it may be, in the unit.
    pub allowed: f64,
    /// Whether it is met.
    pub met: bool,
}

/// What came of an experiment.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The experiment's title.
    pub title: String,
    /// What it shows.
    pub about: String,
    /// What to plot, if it says so.
    pub plot: Option<Plot>,
    /// Columns of the rows.
    pub columns: Vec<Column>,
    /// Rows in the order of time.
    pub rows: Vec<Row>,
    /// Every expectation.
    pub verdicts: Vec<Verdict>,
    /// Steps taken, settling included.
    pub steps: usize,
    /// Steps that left more out of balance than allowed, or friction's limits farther from what presses at their end.
    pub unbalanced_steps: usize,
    /// The most that any step left out of balance [N], with its time [ms].
    pub residual_max: (f64, f64),
    /// When the equations first had no solution [ms].
    pub broke_down_ms: Option<f64>,
    /// When two threads first went through each other [ms].
    pub passed_through_ms: Option<f64>,
}

impl Outcome {
    pub(super) fn new(experiment: &Experiment, columns: Vec<Column>) -> Outcome {
        Outcome {
            title: experiment.title.clone(),
            about: experiment.about.clone(),
            plot: experiment.plot.clone(),
            columns,
            rows: Vec::new(),
            verdicts: Vec::new(),
            steps: 0,
            unbalanced_steps: 0,
            residual_max: (0.0, 0.0),
            broke_down_ms: None,
            passed_through_ms: None,
        }
    }

    pub(super) fn note(&mut self, report: &Report, settings: &Settings, time_ms: f64) {
        self.steps += 1;
        let limits_hold = match settings.slip_limit {
            SlipLimit::StepStart => true,
            SlipLimit::StepEnd { within } => report.limit_error <= within,
        };
        self.unbalanced_steps += usize::from(report.residual >= settings.tolerance || !limits_hold);
        if report.residual * 1e-3 > self.residual_max.0 {
            self.residual_max = (report.residual * 1e-3, time_ms);
        }
        if report.broken {
            self.broke_down_ms.get_or_insert(time_ms);
        }
        if report.passed_through {
            self.passed_through_ms.get_or_insert(time_ms);
        }
    }

    /// Whether the experiment ran to its end, nothing went through anything and every expectation is met.
    #[must_use]
    pub fn met(&self) -> bool {
        self.broke_down_ms.is_none() && self.passed_through_ms.is_none() && self.verdicts.iter().all(|v| v.met)
    }

    /// What is to be said about it, a line each.
    #[must_use]
    pub fn text(&self) -> String {
        let mut lines = vec![self.title.clone()];
        lines.extend(self.verdicts.iter().map(verdict_text));
        if let Some(time) = self.broke_down_ms {
            lines.push(format!("  NOT MET  the equations have no solution at {time} ms"));
        }
        if let Some(time) = self.passed_through_ms {
            lines.push(format!("  NOT MET  threads went through each other at {time} ms"));
        }
        lines.push(format!(
            "  {} rows of {} steps; {} steps left more out of balance than allowed, at most {:.3e} N at {} ms",
            self.rows.len(),
            self.steps,
            self.unbalanced_steps,
            self.residual_max.0,
            self.residual_max.1
        ));
        lines.join("\n") + "\n"
    }

    /// The rows as comma-separated values; an empty cell where there is no number.
    #[must_use]
    pub fn csv(&self) -> String {
        let keys: Vec<String> = self.columns.iter().map(Column::key).collect();
        let mut text = format!("time_ms,cause,{}\n", keys.join(","));
        for row in &self.rows {
            let cell = |value: &f64| if value.is_finite() { value.to_string() } else { String::new() };
            let cells: Vec<String> = row.values.iter().map(cell).collect();
            text += &format!("{},{},{}\n", row.time_ms, row.cause, cells.join(","));
        }
        text
    }

    /// Everything as one JSON object, indented; `null` where there is no number.
    #[must_use]
    pub fn json(&self) -> String {
        let row = |row: &Row| {
            let mut object = Map::new();
            object.insert("time_ms".into(), json!(row.time_ms));
            object.insert("cause".into(), json!(row.cause));
            for (column, value) in self.columns.iter().zip(&row.values) {
                object.insert(column.key(), json!(value));
            }
            Value::Object(object)
        };
        let verdict = |v: &Verdict| {
            json!({
                "column": v.expect.column, "at": when_text(&v.expect.at), "unit": v.unit, "value": v.expect.value,
                "allowed": v.allowed, "found": v.found, "met": v.met, "law": v.expect.law, "source": v.expect.source,
                "reason": v.expect.reason,
            })
        };
        let object = json!({
            "title": self.title,
            "about": self.about,
            "met": self.met(),
            "expect": self.verdicts.iter().map(verdict).collect::<Vec<_>>(),
            "rows": self.rows.iter().map(row).collect::<Vec<_>>(),
            "steps": self.steps,
            "unbalanced_steps": self.unbalanced_steps,
            "residual_max_n": self.residual_max.0,
            "residual_max_ms": self.residual_max.1,
            "broke_down_ms": self.broke_down_ms,
            "passed_through_ms": self.passed_through_ms,
        });
        format!("{object:#}\n")
    }
}

fn when_text(when: &When) -> String {
    match when {
        When::Start => "start".into(),
        When::End => "end".into(),
        When::Time { ms } => format!("{ms} ms"),
        When::Event { name } => name.clone(),
    }
}

fn verdict_text(verdict: &Verdict) -> String {
    let Verdict { expect, unit, found, allowed, met } = verdict;
    let space = if unit.is_empty() { "" } else { " " };
    let found = match found {
        Some(found) => format!("is {found:.6}{space}{unit}"),
        None => "never came".into(),
    };
    let mark = if *met { "met    " } else { "NOT MET" };
    format!(
        "  {mark}  {} at {} {found}, expected {}{space}{unit} +- {allowed:.6}: {} ({})",
        expect.column,
        when_text(&expect.at),
        expect.value,
        expect.law,
        expect.source
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_carries_its_unit_in_words() {
        for (unit, key) in
            [("", "a"), ("mm", "a_mm"), ("N mm", "a_n_mm"), ("1/mm", "a_per_mm"), ("rad/mm", "a_rad_per_mm")]
        {
            assert_eq!(Column { name: "a".into(), unit: unit.into() }.key(), key);
        }
    }
}
