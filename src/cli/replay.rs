//! `replay`: a recording's commands are carried out again, and the same states have to come out.

use super::arguments::ReplayArguments;
use super::output::{complain, json, say};
use super::progress::AttemptProgress;
use super::session::{Event, Hands, Outcome, SIMULATION_VERSION, Session};
use super::{Case, Failure, Status, files};
use crate::analysis::reading::StitchCurve;
use crate::input::TickCommand;
use crate::record::{Integrity, Recording, Verdict, compare, digest_due, read, refusal};
use serde_json::Value;
use std::fs;
use std::path::Path;

pub(super) fn replay(arguments: &ReplayArguments) -> Result<Status, Failure> {
    let (recording, integrity) = open(&arguments.file)?;
    let case = match &arguments.scenario {
        Some(path) => {
            let found = files::need(path)?;
            Case::read(&found.name, &found.text)?
        }
        None => own_case(&arguments.file, &recording)?,
    };
    if let Some(verdict) = refusal(&recording.header, &integrity, &case.text, SIMULATION_VERSION) {
        tell(arguments, &verdict, &integrity, None)?;
        return Ok(status(&verdict));
    }
    let outcome = carry_out(&case, &recording)?.close(&case)?;
    let verdict = verdict(&recording, &outcome);
    tell(arguments, &verdict, &integrity, Some((&outcome, &case)))?;
    Ok(status(&verdict))
}

/// The last state of a recording that has been carried out again and come out the same.
pub(super) fn last_stitch(path: &Path) -> Result<Option<StitchCurve>, Failure> {
    let (recording, integrity) = open(path)?;
    let case = own_case(path, &recording)?;
    let refuse = |verdict: &Verdict| Err(Failure::new(status(verdict), format!("{}: {verdict}", path.display())));
    if let Some(verdict) = refusal(&recording.header, &integrity, &case.text, SIMULATION_VERSION) {
        return refuse(&verdict);
    }
    let session = carry_out(&case, &recording)?;
    let stitch = session.world().stitch_curve();
    match verdict(&recording, &session.close(&case)?) {
        Verdict::Verified => Ok(stitch),
        verdict => refuse(&verdict),
    }
}

/// The scenario that a recording holds.
fn own_case(path: &Path, recording: &Recording<Event>) -> Result<Case, Failure> {
    Case::read(&format!("{}: scenario", path.display()), &recording.header.scenario_text)
        .map_err(|failure| Failure { status: Status::AttemptUnreadable, ..failure })
}

fn verdict(recording: &Recording<Event>, outcome: &Outcome) -> Verdict {
    let recorded = recording.digests();
    let replayed: Vec<_> = (outcome.digests.iter().copied())
        .filter(|&(tick, _)| digest_due(tick) || recorded.binary_search_by_key(&tick, |digest| digest.0).is_ok())
        .collect();
    compare(&recorded, &replayed)
}

fn open(path: &Path) -> Result<(Recording<Event>, Integrity), Failure> {
    let unreadable =
        |why: &dyn std::fmt::Display| Failure::new(Status::AttemptUnreadable, format!("{}: {why}", path.display()));
    let bytes = fs::read(path).map_err(|error| unreadable(&error))?;
    read(&bytes).map_err(|error| unreadable(&error))
}

fn carry_out(case: &Case, recording: &Recording<Event>) -> Result<Session, Failure> {
    let commands: Vec<TickCommand> = recording.ticks.iter().map(|tick| tick.command.clone()).collect();
    let mut session = Session::begin(case, None)?;
    let mut hands = Hands::Recorded(commands.into_iter());
    let progress = AttemptProgress::new();
    while session.advance(&mut hands)?.is_some() {
        progress.show(&session, "replay");
    }
    Ok(session)
}

/// Damage is a matter of the file, everything else of what came out.
fn status(verdict: &Verdict) -> Status {
    match verdict {
        Verdict::Verified => Status::Done,
        Verdict::Damaged { .. } => Status::AttemptUnreadable,
        Verdict::DivergedAt { .. } | Verdict::WrongScenario { .. } | Verdict::OtherVersion { .. } => {
            Status::NotVerified
        }
    }
}

fn tell(
    arguments: &ReplayArguments,
    verdict: &Verdict,
    integrity: &Integrity,
    outcome: Option<(&Outcome, &Case)>,
) -> Result<(), Failure> {
    if !arguments.json {
        let report = outcome.map_or_else(String::new, |(outcome, case)| format!("\n{}", outcome.report(case, false)));
        return say(&format!("Verdict: {verdict}\nRecording: {integrity}\n{report}"));
    }
    let report = outcome.map_or_else(
        || Ok(Value::Object(Default::default())),
        |(outcome, case)| serde_json::from_str(&outcome.report(case, true)),
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
