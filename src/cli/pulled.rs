//! What came of pulls, as words, JSON, tables and figures; `pull` and `compare` share it.

use super::arguments::TiedArguments;
use super::runs::in_order;
use super::{Failure, Status, progress};
use crate::pull::{self, End, FINER, Line, ORDER, Place, Pull, Sample, Share, mesh_error, notation, wilson};
use crate::quantity::MN_PER_N;
use serde_json::{Value, json as object};
use std::fs;
use std::path::{Path, PathBuf};

/// All of `count` pulls in their order, `jobs` of them at a time, with a bar that shows how many are done.
pub(super) fn all_pulled<T: Send>(
    count: u32,
    jobs: usize,
    pull: impl Fn(u32) -> Result<T, Failure> + Sync,
) -> Result<Vec<T>, Failure> {
    let bar = progress::pulls(u64::from(count));
    let mut found = Vec::new();
    in_order(count, jobs, pull, |sample| {
        found.push(sample?);
        bar.inc(1);
        Ok(())
    })?;
    bar.finish_and_clear();
    Ok(found)
}

/// What was tied, as a line.
pub(super) fn heading(arguments: &TiedArguments) -> String {
    let TiedArguments { knot, pretension_n, tail_mm, .. } = arguments;
    let (knot, thread) = (notation(&knot.0), thread(arguments));
    format!("{knot} in {thread}, drawn tight with {pretension_n} N, tails of {tail_mm} mm\n")
}

/// Which thread, in words.
pub(super) fn thread(arguments: &TiedArguments) -> String {
    thread_words(&arguments.material, &arguments.size, arguments.dry)
}

/// A thread in words.
pub(super) fn thread_words(material: &str, size: &str, dry: bool) -> String {
    format!("{material} {size}, {}", if dry { "dry" } else { "wet" })
}

/// How a pull ended, in words.
pub(super) fn words(end: End) -> &'static str {
    match end {
        End::BrokeTying => "the thread breaks while the knot is drawn tight",
        End::Broke(Place::Knot) => "the thread breaks at the knot",
        End::Broke(Place::Limb) => "the thread breaks away from the knot",
        End::Slipped => "the knot slips",
        End::Opened => "the knot slips and comes open",
    }
}

/// How a pull ended, what the knot held and how far it had slipped at each load, a line each.
fn result(pull: &Pull, loads_n: &[f64]) -> String {
    let limit = match pull.end {
        End::Slipped | End::Opened => format!(" before {} mm of slip", pull.slip_limit),
        End::Broke(_) | End::BrokeTying => String::new(),
    };
    let ended = format!("{}; it held {:.2} N{limit}\n", words(pull.end), pull.holding_force / MN_PER_N);
    let at_load = |&load: &f64| match pull.slip_at(load * MN_PER_N) {
        Some(slip) => format!("at {load} N it had slipped by {slip:.2} mm\n"),
        None => format!("it did not hold {load} N\n"),
    };
    ended + &loads_n.iter().map(at_load).collect::<String>()
}

/// Slip at each load.
fn slips_json(pull: &Pull, loads_n: &[f64]) -> Value {
    let slip = |&load: &f64| object!({ "load_n": load, "slip_mm": pull.slip_at(load * MN_PER_N) });
    loads_n.iter().map(slip).collect()
}

/// What was asked for.
pub(super) fn asked_json(tied: &TiedArguments, load_n: Option<f64>) -> Value {
    object!({
        "knot": notation(&tied.knot.0),
        "material": tied.material,
        "size": tied.size,
        "wet": !tied.dry,
        "pretension_n": tied.pretension_n,
        "tail_mm": tied.tail_mm,
        "load_n": load_n,
    })
}

/// What came of it. Slip is that at the load, or without one at the greatest force that was held.
pub(super) fn outcome_json(sample: &Sample, load_n: Option<f64>) -> Value {
    let pull = &sample.pull;
    let load = load_n.map_or(pull.holding_force, |load| load * MN_PER_N);
    let (outcome, place) = outcome(pull.end);
    object!({
        "outcome": outcome,
        "place": place,
        "opened": pull.end == End::Opened,
        "holding_force_n": pull.holding_force / MN_PER_N,
        "holds": load_n.map(|_| pull.holds(load)),
        "slip_mm": pull.slip_at(load),
        "slip_limit_mm": pull.slip_limit,
        "friction": sample.thread.section.friction_thread,
        "diameter_mm": sample.thread.diameter(),
    })
}

/// One pull, and the same in finer edges if that was asked for.
pub(super) struct Pulled {
    pub(super) sample: Sample,
    pub(super) fine: Option<Pull>,
    /// Length of the usual edges [mm].
    pub(super) edge_mm: f64,
}

impl Pulled {
    /// Adds all that came of it to what says what was pulled; slip at these loads [N], at the first of them if one is to be
    /// held.
    pub(super) fn add_to(&self, all: &mut Value, load_n: Option<f64>, loads_n: &[f64]) {
        let pull = &self.sample.pull;
        merge(all, outcome_json(&self.sample, load_n));
        all["slips"] = slips_json(pull, loads_n);
        all["tails_mm"] = object!(pull.tails);
        all["curve"] = curve_json(pull);
        if let Some(fine) = &self.fine {
            merge(all, mesh_json(pull, fine, self.edge_mm));
        }
    }

    /// What it held and how it ended, in words.
    pub(super) fn text(&self, loads_n: &[f64]) -> String {
        let pull = &self.sample.pull;
        let mesh = self.fine.as_ref().map_or_else(String::new, |fine| mesh_text(pull, fine));
        result(pull, loads_n) + &mesh
    }

    /// The same after the lengths of its tails.
    pub(super) fn text_with_tails(&self, loads_n: &[f64]) -> String {
        let [strand, tail] = self.sample.pull.tails;
        format!("tails of {strand:.1} mm (strand) and {tail:.1} mm\n{}", self.text(loads_n))
    }
}

/// How far the force may be off by the mesh: with the usual edges and with finer ones.
fn mesh_json(coarse: &Pull, fine: &Pull, edge_mm: f64) -> Value {
    let both = [coarse, fine];
    object!({
        "mesh_error_n": mesh_error(coarse, fine) / MN_PER_N,
        "mesh": {
            "edge_mm": [edge_mm, edge_mm / f64::from(FINER)],
            "holding_force_n": both.map(|pull| pull.holding_force / MN_PER_N),
            "outcome": both.map(|pull| outcome(pull.end).0),
            "order": ORDER,
        },
    })
}

/// The same in words.
fn mesh_text(coarse: &Pull, fine: &Pull) -> String {
    let error = mesh_error(coarse, fine) / MN_PER_N;
    let (held, words) = (fine.holding_force / MN_PER_N, words(fine.end));
    format!("plus or minus {error:.2} N by the mesh: with edges half as long it held {held:.2} N and {words}\n")
}

/// How a pull ended, and where the thread broke if it did, for programs.
pub(super) fn outcome(end: End) -> (&'static str, Option<&'static str>) {
    match end {
        End::BrokeTying => ("break", Some("tying")),
        End::Broke(Place::Knot) => ("break", Some("knot")),
        End::Broke(Place::Limb) => ("break", Some("limb")),
        End::Slipped | End::Opened => ("slip", None),
    }
}

pub(super) fn curve_json(pull: &Pull) -> Value {
    let point = |point: &pull::Point| {
        object!({
            "extension_mm": point.extension,
            "force_n": point.force / MN_PER_N,
            "slip_mm": point.slip,
            "given_mm": point.given,
        })
    };
    pull.curve.iter().map(point).collect()
}

/// Columns of [`curve_rows`].
pub(super) const CURVE_COLUMNS: &str = "extension_mm,force_n,slip_mm,given_mm\n";

pub(super) fn curve_csv(pull: &Pull) -> String {
    CURVE_COLUMNS.to_owned() + &curve_rows(pull, "")
}

/// A line for each point, each begun with `before`.
pub(super) fn curve_rows(pull: &Pull, before: &str) -> String {
    let line = |point: &pull::Point| {
        format!("{before}{},{},{},{}\n", point.extension, point.force / MN_PER_N, point.slip, point.given)
    };
    pull.curve.iter().map(line).collect()
}

/// Columns of [`sample_rows`].
pub(super) const SAMPLE_COLUMNS: &str = "friction,diameter_mm,outcome,place,holding_force_n,slip_mm\n";

/// A line for each sample, each begun with `before`.
pub(super) fn sample_rows(samples: &[Sample], load_n: Option<f64>, before: &str) -> String {
    let line = |sample: &Sample| {
        let (outcome, place) = outcome(sample.pull.end);
        let slip = load_n.and_then(|load| sample.pull.slip_at(load * MN_PER_N));
        format!(
            "{before}{},{},{outcome},{},{},{}\n",
            sample.thread.section.friction_thread,
            sample.thread.diameter(),
            place.unwrap_or_default(),
            sample.pull.holding_force / MN_PER_N,
            slip.map_or_else(String::new, |slip| slip.to_string()),
        )
    };
    samples.iter().map(line).collect()
}

/// How many of some pulls held a load.
pub(super) struct Held {
    /// How many held it, of how many.
    pub counts: [usize; 2],
    /// Their share, with its interval.
    pub share: Share,
}

impl Held {
    /// How many of `samples` held `load_n` [N]; `None` if there are none.
    pub(super) fn of(samples: &[Sample], load_n: f64) -> Option<Held> {
        let holding = samples.iter().filter(|sample| sample.pull.holds(load_n * MN_PER_N)).count();
        let counts = [holding, samples.len()];
        wilson(holding, samples.len()).map(|share| Held { counts, share })
    }

    /// The share and its interval, in words.
    pub(super) fn words(&self) -> [String; 2] {
        let [low, high] = self.share.interval.map(|end| 100.0 * end);
        [format!("{:.0} %", 100.0 * self.share.share), format!("95 % interval {low:.0} to {high:.0} %")]
    }
}

/// What came of many pulls.
pub(super) fn samples_json(samples: &[Sample], held: &Held, load_n: Option<f64>, seed: u64) -> Value {
    let rows: Vec<Value> = samples.iter().map(|sample| outcome_json(sample, load_n)).collect();
    let ([holding, count], share) = (held.counts, held.share);
    object!({
        "seed": seed, "count": count, "holding": holding,
        "share_holding": share.share, "interval": share.interval, "samples": rows,
    })
}

/// Adds the fields of one object to another.
pub(super) fn merge(into: &mut Value, from: Value) {
    if let (Value::Object(into), Value::Object(from)) = (into, from) {
        into.extend(from);
    }
}

/// A pull and, if there is one, the same in finer edges, as lines of a figure.
pub(super) fn lines<'a>(name: &'a str, pull: &'a Pull, fine: Option<&'a Pull>) -> Vec<Line<'a>> {
    let finer = fine.map(|pull| Line { name: "with edges half as long", pull });
    [Line { name, pull }].into_iter().chain(finer).collect()
}

/// Draws pulls, if there is somewhere to draw them.
pub(super) fn plot(path: Option<&Path>, title: &str, lines: &[Line], load_n: Option<f64>) -> Result<(), Failure> {
    drawn(path, || pull::figure(title, lines, load_n.map(|load| load * MN_PER_N)))
}

/// Writes a figure, if there is somewhere to draw it.
pub(super) fn drawn(path: Option<&Path>, figure: impl Fn() -> Result<String, String>) -> Result<(), Failure> {
    let Some(path) = path else { return Ok(()) };
    write(Some(path), &figure().map_err(|error| Failure::new(Status::Internal, format!("--plot: {error}")))?)
}

/// What cannot be written is better known before the pulls than after them; what is there stays until then.
pub(super) fn may_write(paths: &[&Option<PathBuf>]) -> Result<(), Failure> {
    for path in paths.iter().copied().flatten() {
        fs::File::options().append(true).create(true).open(path).map_err(|error| unwritable(path, &error))?;
    }
    Ok(())
}

pub(super) fn write(path: Option<&Path>, text: &str) -> Result<(), Failure> {
    path.map_or(Ok(()), |path| fs::write(path, text).map_err(|error| unwritable(path, &error)))
}

fn unwritable(path: &Path, error: &std::io::Error) -> Failure {
    Failure::new(Status::Usage, format!("{}: {error}", path.display()))
}
