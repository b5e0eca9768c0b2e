//! What `compare` is asked to pull: knots on the bench, and knots of recordings and tables as they were tied.

use super::again::{unreadable, verified};
use super::arguments::{BenchArguments, Knot, TiedArguments, knot};
use super::pull::{test_of, thread_of, tied, usage};
use super::{Failure, Status, pulled, tabled};
use crate::analysis::reading::read;
use crate::material::{self, Material};
use crate::pull::{self, Fault, Sample, Test, TiedStitch, notation, of_stitch, sample};
use crate::record::is_recording;
use crate::rod::Section;
use std::fs;
use std::path::{Path, PathBuf};

/// What one spec names.
pub(super) enum Spec {
    /// A knot on the bench, in a thread.
    Knot(Box<Asked>),
    /// A stitch of a recording or a table.
    File(File),
}

/// A stitch of a file.
pub(super) struct File {
    path: PathBuf,
    /// Which stitch of it, from 1.
    stitch: usize,
    /// The thread of a table, if the spec or the flags name one.
    thread: Option<Box<Material>>,
    /// Whether the spec itself names one.
    own: bool,
    /// Slip at which the knot counts as slipped [mm].
    slip_limit: f64,
}

impl File {
    /// The knot of a recording, as it was tied.
    fn recorded(self, name: &str) -> Result<Asked, Failure> {
        if self.own {
            let problem = "a recording's knot is pulled in its own thread, found another after @";
            return Err(usage(&[format!("{name}: {problem}")]));
        }
        let done = verified(&self.path)?;
        let (number, count) = (self.stitch, done.tied.len());
        if number > count.max(1) {
            return Err(usage(&[format!("{name}: stitch is {number}, but the attempt has {count}")]));
        }
        let thread = &done.case.scenario.thread;
        let material = material::find(&thread.material, &thread.size, thread.wet);
        let unknown = || Failure::new(Status::Internal, format!("{name}: its thread is not known"));
        let stitches = &done.outcome.view.stitches;
        let notation = stitches.get(number - 1).map_or_else(String::new, |curve| read(curve).notation);
        Ok(self.asked(Kind::Attempt, notation, done.tied.into_iter().nth(number - 1), material.ok_or_else(unknown)?))
    }

    /// The knot of a table, as it was tied if its thread's state is kept there.
    fn tabled(mut self, name: &str, bytes: Vec<u8>) -> Result<Asked, Failure> {
        let lacks = || format!("{name}: a table names no thread: add @MATERIAL:SIZE, or give --material and --size");
        let material = *self.thread.take().ok_or_else(|| usage(&[lacks()]))?;
        let (stitch, knot) = tabled::open(name, bytes, self.stitch)?;
        let tied = tabled::at_rest(name, &knot, material.section)?;
        Ok(self.asked(Kind::Table, stitch.reading.notation, Some(tied), material))
    }

    fn asked(self, kind: Kind, notation: String, knot: Option<TiedStitch>, material: Material) -> Asked {
        let File { path, stitch, slip_limit, .. } = self;
        let knot = knot.map(|knot| Box::new(TiedStitch { slip_limit, ..knot }));
        Asked { what: What::Filed { kind, path, stitch, notation, knot }, material }
    }
}

/// One of the columns.
pub(super) struct Asked {
    /// The knot.
    pub what: What,
    /// Its thread, as the table of materials has it.
    pub material: Material,
}

/// What a file is.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// A recording.
    Attempt,
    /// A table of points.
    Table,
}

/// A knot.
pub(super) enum What {
    /// One that is tied on the bench.
    Knot {
        /// As it was asked for.
        tied: TiedArguments,
        /// The same for the bench.
        test: Box<Test>,
    },
    /// One of a recording or a table.
    Filed {
        /// Which of the two it is.
        kind: Kind,
        /// The file.
        path: PathBuf,
        /// Which stitch of it, from 1.
        stitch: usize,
        /// What it reads.
        notation: String,
        /// The knot as it was tied; `None` if there is none.
        knot: Option<Box<TiedStitch>>,
    },
}

impl Asked {
    /// A spec with its file opened, if it names one; a recording is carried out again.
    pub(super) fn opened(spec: Spec) -> Result<Asked, Failure> {
        let file = match spec {
            Spec::Knot(asked) => return Ok(*asked),
            Spec::File(file) => file,
        };
        let name = file.path.display().to_string();
        let bytes = fs::read(&file.path).map_err(|error| unreadable(&name, &error))?;
        if is_recording(&bytes) { file.recorded(&name) } else { file.tabled(&name, bytes) }
    }

    /// Thread number `index` of the stream of `seed`, of this knot's material and size.
    pub(super) fn drawn_thread(&self, seed: u64, index: u32) -> Result<Material, Failure> {
        let Material { name, size, wet, .. } = self.material;
        let lost = || Failure::new(Status::Internal, "a thread got lost");
        pull::thread(name, size, wet, seed, index).ok_or_else(lost)
    }

    /// Pulls it in such a thread; `None` if a file has no knot there. What is in a file keeps its diameter, and takes the
    /// thread's friction.
    pub(super) fn pulled(&self, thread: Material) -> Result<Option<Sample>, Failure> {
        let unsound = |fault: Fault| Failure::new(Status::Internal, format!("{}: {fault}", self.knot()));
        match &self.what {
            What::Knot { test, .. } => sample(test, thread).map(Some).map_err(unsound),
            What::Filed { knot: None, .. } => Ok(None),
            What::Filed { knot: Some(knot), .. } => {
                let Section { friction_thread, friction_load, .. } = thread.section;
                let section = Section { friction_thread, friction_load, ..knot.section };
                let pull = of_stitch(&TiedStitch { section, ..(**knot).clone() }).map_err(unsound)?;
                Ok(pull.map(|pull| Sample { thread: Material { section, ..thread }, pull }))
            }
        }
    }

    /// The knot in words: its notation, of a recording with the file's name.
    pub(super) fn knot(&self) -> String {
        match &self.what {
            What::Knot { tied, .. } => notation(&tied.knot.0),
            What::Filed { path, stitch, notation, .. } => {
                let file =
                    path.file_name().map_or_else(|| path.display().to_string(), |name| name.display().to_string());
                let number = if *stitch == 1 { String::new() } else { format!("#{stitch}") };
                if notation.is_empty() { file + &number } else { format!("{notation} of {file}{number}") }
            }
        }
    }

    /// The thread in words.
    pub(super) fn thread(&self) -> String {
        let Material { name, size, wet, .. } = self.material;
        pulled::thread_words(name, size, !wet)
    }

    /// Both.
    pub(super) fn name(&self) -> String {
        format!("{} in {}", self.knot(), self.thread())
    }
}

/// What the specs ask for, or all that is wrong with them, a line each.
pub(super) fn all(specs: &[String], bench: &BenchArguments) -> Result<Vec<Spec>, Vec<String>> {
    let (mut found, mut problems) = (Vec::new(), Vec::new());
    for (number, spec) in specs.iter().enumerate() {
        match filed(spec, bench).unwrap_or_else(|| on_bench(spec, bench)) {
            Ok(asked) => found.push(asked),
            Err(wrong) => problems.extend(wrong.iter().map(|wrong| format!("SPEC {} {spec:?}: {wrong}", number + 1))),
        }
    }
    if problems.is_empty() { Ok(found) } else { Err(problems) }
}

/// The stitch of a file that a spec names: `FILE`, `FILE#2` for its second, with `@MATERIAL:SIZE` for a table; `None` if it
/// names no file.
fn filed(spec: &str, bench: &BenchArguments) -> Option<Result<Spec, Vec<String>>> {
    let plain = knot(spec).is_err() && !spec.contains('@') && numbered(spec).0.extension().is_some();
    let (file, own) = match spec.rsplit_once('@') {
        Some((file, thread)) if !Path::new(spec).is_file() => (file, Some(thread)),
        _ => (spec, None),
    };
    let (path, stitch) = numbered(file);
    if !(plain || path.is_file()) {
        return None;
    }
    let thread = named(own, bench).transpose().map(|named| {
        let (material, size) = named?;
        thread_of(material, size, bench.dry).map(Box::new)
    });
    let slip_limit = bench.slip_limit_mm;
    let spec = |thread| Spec::File(File { path: path.to_owned(), stitch, thread, own: own.is_some(), slip_limit });
    Some(thread.transpose().map(spec).map_err(|wrong| vec![wrong]))
}

/// A file and which stitch of it.
fn numbered(spec: &str) -> (&Path, usize) {
    let split = spec.rsplit_once('#').and_then(|(file, number)| Some((file, number.parse().ok()?)));
    let (file, number) = split.filter(|&(_, number)| number > 0).unwrap_or((spec, 1));
    (Path::new(file), number)
}

/// Material and size that a spec names after its `@`, or else the flags; `None` if neither does.
fn named<'a>(own: Option<&'a str>, bench: &'a BenchArguments) -> Result<Option<(&'a str, &'a str)>, String> {
    match (own, &bench.material, &bench.size) {
        (Some(thread), ..) => match thread.rsplit_once(':') {
            Some(named) => Ok(Some(named)),
            None => Err(format!("after @ found {thread:?}, allowed MATERIAL:SIZE")),
        },
        (None, Some(material), Some(size)) => Ok(Some((material, size))),
        (None, ..) => Ok(None),
    }
}

/// What one spec asks for on the bench: `NOTATION`, in the thread that the flags name, or `NOTATION@MATERIAL:SIZE`.
fn on_bench(spec: &str, bench: &BenchArguments) -> Result<Spec, Vec<String>> {
    let (throws, own) = spec.split_once('@').map_or((spec, None), |(throws, thread)| (throws, Some(thread)));
    let mut problems = Vec::new();
    let throws = knot(throws).map_err(|wrong| problems.push(wrong)).ok();
    let lacks = || "names no thread: add @MATERIAL:SIZE, or give --material and --size".to_owned();
    let thread = named(own, bench).and_then(|named| named.ok_or_else(lacks));
    // Threads are looked up even for a knot that is not in order, so that all problems come at once.
    let tied = |(material, size)| tied(throws.unwrap_or(Knot(Vec::new())), material, size, bench);
    let asked = |tied: TiedArguments| {
        let (test, material) = test_of(&tied)?;
        Ok((tied, Test { slip_limit: bench.slip_limit_mm, ..test }, material))
    };
    match thread.map(tied).and_then(asked) {
        Ok((tied, test, material)) if problems.is_empty() => {
            Ok(Spec::Knot(Box::new(Asked { what: What::Knot { tied, test: Box::new(test) }, material })))
        }
        Ok(_) => Err(problems),
        Err(wrong) => {
            problems.push(wrong);
            Err(problems)
        }
    }
}
