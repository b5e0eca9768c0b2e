//! `grade`: recordings carried out again one by one, each with its verdict and its marks; one that cannot be read stops
//! no other.

use super::again::{Again, again_from};
use super::arguments::GradeArguments;
use super::class::{make_folders, write_class, write_findings};
use super::files::with_extension;
use super::marked::{Graded, HEADING, kept, status, tell};
use super::output::say;
use super::runs::in_order;
use super::store::Store;
use super::{Case, Failure, Status, progress, sensitive};
use crate::analysis::kept::Kept;
use crate::record::{Verdict, scenario_hash};
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// How recordings are told from other files in a folder.
const EXTENSION: &str = "attempt";

pub(super) fn grade(arguments: &GradeArguments) -> Result<Status, Failure> {
    let files = with_extension(&arguments.paths, EXTENSION)?;
    let case = arguments.scenario.as_deref().map(Case::at).transpose()?;
    make_folders(&arguments.class, arguments.findings.as_deref())?;
    let store = arguments.resume.as_deref().map(Store::open).transpose()?;
    let count = u32::try_from(files.len()).map_err(|error| Failure::new(Status::Usage, error))?;
    let bar = progress::runs(count);
    if !arguments.json {
        bar.suspend(|| say(HEADING))?;
    }
    let mut class = Vec::new();
    in_order(
        count,
        arguments.jobs.get(),
        |index| graded(&files[index as usize], case.as_ref(), store.as_ref()),
        |graded| {
            let graded = graded?;
            if !arguments.json {
                bar.suspend(|| say(&graded.line()))?;
            }
            bar.inc(1);
            class.push(graded);
            Ok(())
        },
    )?;
    bar.finish_and_clear();
    if let Some(samples) = arguments.sensitivity {
        let (seed, jobs) = (arguments.seed, arguments.jobs.get());
        sensitive::measure(&mut class, sensitive::Asked { samples, seed, jobs })?;
    }
    tell(&class, arguments.json)?;
    write_class(&class, &arguments.class, arguments.names, None)?;
    arguments.findings.as_deref().map_or(Ok(()), |folder| write_findings(&class, folder))?;
    Ok(status(&class))
}

/// One recording; an error is a fault of the store and stops the class.
fn graded(path: &Path, scenario: Option<&Case>, store: Option<&Store>) -> Result<Graded, Failure> {
    let file = path.display().to_string();
    let bytes = match fs::read(path) {
        Ok(bytes) => bytes,
        Err(error) => return Ok(Graded::without_marks(file.clone(), "unreadable", format!("{file}: {error}"))),
    };
    let recording_hash = blake3::hash(&bytes).to_hex().to_string();
    let known = store
        .and_then(|store| store.find(&recording_hash))
        .filter(|kept| scenario.is_none_or(|case| kept.scenario_hash == scenario_hash(&case.text)));
    if let Some(kept) = known {
        return Ok(marked(file, kept.clone()));
    }
    // A recording that makes the program fail is one person's trouble, not the class's.
    let again = catch_unwind(AssertUnwindSafe(|| again_from(&file, &bytes, scenario, |_| ())));
    let (status, verdict) = match again {
        Err(_) => ("not carried out", "the program failed on it: please report it with the message above".to_owned()),
        Ok(Err(failure)) => ("unreadable", failure.message),
        Ok(Ok(Again { verdict: Verdict::Verified, integrity, done: Some(done) })) => {
            let kept = kept(recording_hash, done.student_key, &integrity, &done.case, done.outcome);
            store.map_or(Ok(()), |store| store.keep(&kept))?;
            return Ok(marked(file, kept));
        }
        Ok(Ok(Again { verdict, .. })) => (word(&verdict), verdict.to_string()),
    };
    Ok(Graded { recording_hash, ..Graded::without_marks(file, status, verdict) })
}

fn marked(file: String, kept: Kept) -> Graded {
    Graded::of(file, word(&Verdict::Verified), kept, None)
}

fn word(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Verified => "verified",
        Verdict::DivergedAt { .. } => "diverged",
        Verdict::WrongScenario { .. } => "wrong scenario",
        Verdict::OtherVersion { .. } => "other simulation version",
        Verdict::Damaged { .. } => "damaged",
    }
}
