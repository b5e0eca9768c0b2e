//! Carries an experiment out: settle, step, watch events, take rows, judge.

use super::build::{Bench, build};
use super::curve::PointFiles;
use super::measure::unit;
use super::outcome::{Column, Outcome, Row, Verdict};
use super::schema::{Expect, Experiment, Formula, When, Within};
use crate::rod::step::{Report, step};
use crate::rod::surroundings::NoTissue;

/// Rows of an experiment that does not say when to take them.
const ROWS_USUAL: f64 = 200.0;

/// Carries an experiment out; `watch` is told the share that is done, after each step.
///
/// # Errors
/// What cannot be laid, see [`build`].
pub fn run(experiment: &Experiment, files: &PointFiles, watch: impl FnMut(f64)) -> Result<Outcome, String> {
    let bench = build(experiment, files)?;
    let mut run =
        Run { experiment, bench, watch, outcome: Outcome::new(experiment, columns(experiment)), watched: Vec::new() };
    run.settle();
    run.begin();
    run.go();
    run.outcome.verdicts = experiment.expect.iter().map(|expect| judge(expect, experiment, &run.outcome)).collect();
    Ok(run.outcome)
}

/// Names and units of all columns.
fn columns(experiment: &Experiment) -> Vec<Column> {
    let measured = experiment.measures.iter().map(|m| Column { name: m.name.clone(), unit: unit(&m.of).to_owned() });
    let mut columns: Vec<Column> = measured.collect();
    for derived in &experiment.derived {
        let unit_of = |name: &str| columns.iter().find(|c| c.name == *name).map_or(String::new(), |c| c.unit.clone());
        let unit = match &derived.by {
            Formula::Ratio { .. } | Formula::LogRatio { .. } => String::new(),
            Formula::Scaled { unit, .. } => unit.clone().unwrap_or_default(),
            Formula::Sum { of } => unit_of(&of[0]),
            Formula::Difference { of, .. }
            | Formula::Max { of, .. }
            | Formula::Min { of, .. }
            | Formula::Mean { of, .. } => unit_of(of),
        };
        columns.push(Column { name: derived.name.clone(), unit });
    }
    columns
}

struct Run<'a, W> {
    experiment: &'a Experiment,
    bench: Bench,
    watch: W,
    outcome: Outcome,
    /// For each event: whether its measure began below what it has to reach, until it has come.
    watched: Vec<Option<bool>>,
}

impl<W: FnMut(f64)> Run<'_, W> {
    fn steps(&self, duration: f64) -> usize {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked: at most 2e6 steps")]
        let steps = (duration / self.experiment.time.step_ms - 1e-9).ceil().max(0.0) as usize;
        steps
    }

    fn settle(&mut self) {
        self.bench.drive(0.0, 0.0);
        for _ in 0..self.steps(self.experiment.time.settle_ms) {
            if self.outcome.broke_down_ms.is_none() {
                self.step(0.0, 0.0);
            }
        }
        self.bench.origin.clone_from(&self.bench.rod.positions);
    }

    /// The row of time 0, and where every watched measure begins.
    fn begin(&mut self) {
        self.take_row(0.0, "start");
        for event in &self.experiment.events {
            let at = self.experiment.measures.iter().position(|m| m.name == event.measure).expect("checked");
            self.watched.push(Some(self.outcome.rows[0].values[at] < event.reaches));
        }
    }

    fn go(&mut self) {
        let time = self.experiment.time;
        let every = match self.experiment.samples.every_ms {
            None if self.experiment.samples.at_ms.is_empty() => time.duration_ms / ROWS_USUAL,
            every => every.unwrap_or(f64::INFINITY),
        };
        let mut moments = self.experiment.samples.at_ms.clone();
        moments.sort_by(f64::total_cmp);
        let mut moments = moments.into_iter().peekable();
        let (steps, mut next) = (self.steps(time.duration_ms), every);
        for k in 1..=steps {
            let now = (k as f64 * time.step_ms).min(time.duration_ms);
            let dt = now - (k - 1) as f64 * time.step_ms;
            self.step(now, dt);
            (self.watch)(k as f64 / steps as f64);
            if self.outcome.broke_down_ms.is_some() {
                return;
            }
            let due = 1e-9 * time.step_ms;
            let mut cause = (k == steps).then_some("end");
            while moments.next_if(|at| *at <= now + due).is_some() {
                cause = cause.or(Some("time"));
            }
            if next <= now + due {
                next += every * ((now + due - next) / every).floor() + every;
                cause = cause.or(Some("every"));
            }
            let stops = self.events(now);
            if let Some(cause) = cause.filter(|_| !stops) {
                self.take_row(now, cause);
            }
            if stops {
                return;
            }
        }
    }

    /// One step to `time` [ms], `dt` long by the clock of the drive; a settling step stands still there.
    fn step(&mut self, time: f64, dt: f64) {
        let bench = &mut self.bench;
        bench.drive(time, dt);
        let length = if dt > 0.0 { dt } else { self.experiment.time.step_ms };
        let done = match &bench.bed {
            _ if bench.spans.is_empty() => Report::default(),
            None => step(&mut bench.rod, &mut bench.around, &NoTissue, &mut bench.memory, &bench.settings, length),
            Some(bed) => step(&mut bench.rod, &mut bench.around, &bed.gum, &mut bench.memory, &bench.settings, length),
        };
        bench.report = done;
        if let Some(found) = done.thread_break.filter(|_| bench.break_load == 0.0) {
            bench.break_load = found.load;
        }
        self.outcome.note(&done, &bench.settings, time);
        if !done.broken {
            bench.follow();
            bench.adapt();
            if let Some(bed) = &mut bench.bed {
                bed.advance(&bench.rod, &mut bench.around, time, dt);
            }
        }
    }

    /// Rows of the events that come at `time`; whether one of them stops the experiment.
    fn events(&mut self, time: f64) -> bool {
        let mut forces = None;
        let mut stops = false;
        for (k, event) in self.experiment.events.iter().enumerate() {
            let Some(below) = self.watched[k] else { continue };
            let measure = self.experiment.measures.iter().find(|m| m.name == event.measure).expect("checked");
            let value = self.bench.measure(&measure.of, &mut forces);
            if (below && value >= event.reaches) || (!below && value <= event.reaches) {
                self.watched[k] = None;
                stops |= event.stop;
                self.take_row(time, &event.name);
            }
        }
        stops
    }

    fn take_row(&mut self, time_ms: f64, cause: &str) {
        let mut forces = None;
        let mut values: Vec<f64> =
            self.experiment.measures.iter().map(|m| self.bench.measure(&m.of, &mut forces)).collect();
        for derived in &self.experiment.derived {
            let value = self.derive(&derived.by, &values, time_ms);
            values.push(value);
        }
        self.outcome.rows.push(Row { time_ms, cause: cause.to_owned(), values });
    }

    fn derive(&self, formula: &Formula, values: &[f64], now: f64) -> f64 {
        let at = |name: &String| self.outcome.columns.iter().position(|c| c.name == *name).expect("checked");
        let value = |name: &String| values[at(name)];
        // Only this row can be before its own time.
        let so_far = |name: &String, since: f64| {
            let column = at(name);
            let rows = self.outcome.rows.iter().filter(|row| row.time_ms >= since).map(|row| row.values[column]);
            rows.chain((now >= since).then_some(values[column])).collect::<Vec<f64>>()
        };
        match formula {
            Formula::Ratio { of, over } => value(of) / value(over),
            Formula::LogRatio { of, over } => {
                let ratio = value(of) / value(over);
                if ratio > 0.0 { crate::math::ln(ratio) } else { f64::NAN }
            }
            Formula::Sum { of } => of.iter().map(value).sum(),
            Formula::Difference { of, less } => value(of) - value(less),
            Formula::Scaled { of, by, .. } => value(of) * by,
            Formula::Max { of, since_ms } => so_far(of, *since_ms).into_iter().reduce(f64::max).unwrap_or(f64::NAN),
            Formula::Min { of, since_ms } => so_far(of, *since_ms).into_iter().reduce(f64::min).unwrap_or(f64::NAN),
            Formula::Mean { of, since_ms } => {
                let rows = so_far(of, *since_ms);
                rows.iter().sum::<f64>() / rows.len() as f64
            }
        }
    }
}

fn judge(expect: &Expect, experiment: &Experiment, outcome: &Outcome) -> Verdict {
    let column = outcome.columns.iter().position(|c| c.name == expect.column).expect("checked");
    let row = match &expect.at {
        When::Start => outcome.rows.first(),
        When::End => outcome.rows.last().filter(|_| outcome.broke_down_ms.is_none()),
        When::Time { ms } => outcome.rows.iter().find(|row| row.time_ms >= ms - 1e-9 * experiment.time.step_ms),
        When::Event { name } => outcome.rows.iter().find(|row| row.cause == *name),
    };
    let allowed = match expect.within {
        Within::Absolute { by } => by,
        Within::Percent { by } => by * 0.01 * expect.value.abs(),
    };
    let found = row.map(|row| row.values[column]);
    let met = found.is_some_and(|found| (found - expect.value).abs() <= allowed);
    Verdict { expect: expect.clone(), unit: outcome.columns[column].unit.clone(), found, allowed, met }
}
