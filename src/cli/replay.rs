//! `replay`: a recording's commands are carried out again, and the same states have to come out.

use super::again::{Again, again, status};
use super::arguments::ReplayArguments;
use super::output::{complain, json, say};
use super::progress::AttemptProgress;
use super::{Case, Failure, Status, pages};
use crate::record::Verdict;
use serde_json::Value;

pub(super) fn replay(arguments: &ReplayArguments) -> Result<Status, Failure> {
    let case = arguments.scenario.as_deref().map(Case::at).transpose()?;
    let progress = AttemptProgress::new();
    let again = again(&arguments.file, case.as_ref(), |session| progress.show(session, "replay"))?;
    drop(progress);
    if let (Some(file), Some(done)) = (&arguments.html, &again.done) {
        let verdict = format!("{}, {}", again.verdict, again.integrity);
        pages::write(file, &done.outcome.page(&done.case, "one attempt", &verdict))?;
    }
    tell(arguments, &again)?;
    Ok(status(&again.verdict))
}

fn tell(arguments: &ReplayArguments, again: &Again) -> Result<(), Failure> {
    let Again { verdict, integrity, done } = again;
    if !arguments.json {
        let report =
            done.as_ref().map_or_else(String::new, |done| format!("\n{}", done.outcome.report(&done.case, false)));
        return say(&format!("Verdict: {verdict}\nRecording: {integrity}\n{report}"));
    }
    let report = done.as_ref().map_or_else(
        || Ok(Value::Object(Default::default())),
        |done| serde_json::from_str(&done.outcome.report(&done.case, true)),
    );
    let mut report = report.map_err(|error| Failure::new(Status::Internal, error))?;
    report["verdict"] = Value::from(verdict.to_string());
    report["verified"] = Value::from(*verdict == Verdict::Verified);
    report["recording"] = Value::from(integrity.to_string());
    if *verdict != Verdict::Verified {
        complain(&format!("{}: {verdict}", arguments.file.display()));
    }
    say(&json(&report)?)
}
