//! What `compare` is asked to pull: knots on the bench, and knots of recordings as they were tied.

use super::again::verified;
use super::arguments::{BenchArguments, Knot, TiedArguments, knot};
use super::pull::{test_of, tied};
use super::pulled;
use super::{Failure, Status};
use crate::analysis::reading::read;
use crate::material::{self, Material};
use crate::pull::{self, Fault, Sample, Test, TiedStitch, notation, of_stitch, sample};
use crate::rod::Section;
use std::path::{Path, PathBuf};

/// What one spec names.
pub(super) enum Spec {
    /// A knot on the bench, in a thread.
    Knot(Box<Asked>),
    /// A stitch of a recording, from 1.
    Attempt(PathBuf, usize),
}

/// One of the columns.
pub(super) struct Asked {
    /// The knot.
    pub what: What,
    /// Its thread, as the table of materials has it.
    pub material: Material,
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
    /// One of a recording.
    Recorded {
        /// The recording.
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
    /// A spec with its recording carried out again, if it names one.
    pub(super) fn opened(spec: Spec) -> Result<Asked, Failure> {
        let (path, number) = match spec {
            Spec::Knot(asked) => return Ok(*asked),
            Spec::Attempt(path, number) => (path, number),
        };
        let done = verified(&path)?;
        let count = done.tied.len();
        if number > count.max(1) {
            let problem = format!("{}: stitch is {number}, but the attempt has {count}", path.display());
            return Err(Failure::new(Status::Usage, problem));
        }
        let thread = &done.case.scenario.thread;
        let material = material::find(&thread.material, &thread.size, thread.wet);
        let unknown = || Failure::new(Status::Internal, format!("{}: its thread is not known", path.display()));
        let notation =
            done.outcome.view.stitches.get(number - 1).map_or_else(String::new, |curve| read(curve).notation);
        let knot = done.tied.into_iter().nth(number - 1).map(Box::new);
        let material = material.ok_or_else(unknown)?;
        Ok(Asked { what: What::Recorded { path, stitch: number, notation, knot }, material })
    }

    /// Thread number `index` of the stream of `seed`, of this knot's material and size.
    pub(super) fn drawn_thread(&self, seed: u64, index: u32) -> Result<Material, Failure> {
        let Material { name, size, wet, .. } = self.material;
        let lost = || Failure::new(Status::Internal, "a thread got lost");
        pull::thread(name, size, wet, seed, index).ok_or_else(lost)
    }

    /// Pulls it in such a thread; `None` if a recording has no knot there. What was tied in a recording keeps its diameter,
    /// and takes the thread's friction.
    pub(super) fn pulled(&self, thread: Material) -> Result<Option<Sample>, Failure> {
        let unsound = |fault: Fault| Failure::new(Status::Internal, format!("{}: {fault}", self.knot()));
        match &self.what {
            What::Knot { test, .. } => sample(test, thread).map(Some).map_err(unsound),
            What::Recorded { knot: None, .. } => Ok(None),
            What::Recorded { knot: Some(knot), .. } => {
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
            What::Recorded { path, stitch, notation, .. } => {
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
        match recording(spec).map_or_else(|| on_bench(spec, bench), Ok) {
            Ok(asked) => found.push(asked),
            Err(wrong) => problems.extend(wrong.iter().map(|wrong| format!("SPEC {} {spec:?}: {wrong}", number + 1))),
        }
    }
    if problems.is_empty() { Ok(found) } else { Err(problems) }
}

/// The stitch of a recording that a spec names: `FILE`, or `FILE#2` for its second; `None` if it names no file.
fn recording(spec: &str) -> Option<Spec> {
    let numbered = spec.rsplit_once('#').and_then(|(file, number)| Some((file, number.parse().ok()?)));
    let (file, number) = numbered.filter(|&(_, number)| number > 0).unwrap_or((spec, 1));
    let path = Path::new(file);
    let is_file = knot(file).is_err() && !file.contains('@') && path.extension().is_some();
    (is_file || path.is_file()).then(|| Spec::Attempt(path.to_owned(), number))
}

/// What one spec asks for on the bench: `NOTATION`, in the thread that the flags name, or `NOTATION@MATERIAL:SIZE`.
fn on_bench(spec: &str, bench: &BenchArguments) -> Result<Spec, Vec<String>> {
    let (throws, own) = spec.split_once('@').map_or((spec, None), |(throws, thread)| (throws, Some(thread)));
    let own = own.map(|thread| thread.rsplit_once(':').ok_or(thread)).transpose();
    let mut problems = Vec::new();
    let throws = knot(throws).map_err(|wrong| problems.push(wrong)).ok();
    let thread = match (own, &bench.material, &bench.size) {
        (Err(thread), ..) => Err(format!("after @ found {thread:?}, allowed MATERIAL:SIZE")),
        (Ok(Some((material, size))), ..) => Ok((material, size)),
        (Ok(None), Some(material), Some(size)) => Ok((material.as_str(), size.as_str())),
        (Ok(None), ..) => Err("names no thread: add @MATERIAL:SIZE, or give --material and --size".to_owned()),
    };
    // Threads are looked up even for a knot that is not in order, so that all problems come at once.
    let tied = |(material, size)| tied(throws.unwrap_or(Knot(Vec::new())), material, size, bench);
    let asked = |tied: TiedArguments| test_of(&tied).map(|(test, material)| (tied, test, material));
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
