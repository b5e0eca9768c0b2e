//! `replay`: a recording's commands are carried out again, and the same states have to come out.

use super::arguments::ReplayArguments;
use super::output::{complain, json, say};
use super::progress::AttemptProgress;
use super::session::{Event, Hands, Outcome, SIMULATION_VERSION, Session};
use super::{Case, Failure, Status, files};
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
        None => Case::read(&format!("{}: scenario", arguments.file.display()), &recording.header.scenario_text)
            .map_err(|failure| Failure { status: Status::AttemptUnreadable, ..failure })?,
    };
    if let Some(verdict) = refusal(&recording.header, &integrity, &case.text, SIMULATION_VERSION) {
        tell(arguments, &verdict, &integrity, None)?;
        return Ok(status(&verdict));
    }
    let outcome = carry_out(&case, &recording)?;
    let recorded = recording.digests();
    let replayed: Vec<_> = (outcome.digests.iter().copied())
        .filter(|&(tick, _)| digest_due(tick) || recorded.binary_search_by_key(&tick, |digest| digest.0).is_ok())
        .collect();
    let verdict = compare(&recorded, &replayed);
    tell(arguments, &verdict, &integrity, Some((&outcome, &case)))?;
    Ok(status(&verdict))
}

fn open(path: &Path) -> Result<(Recording<Event>, Integrity), Failure> {
    let unreadable =
        |why: &dyn std::fmt::Display| Failure::new(Status::AttemptUnreadable, format!("{}: {why}", path.display()));
    let bytes = fs::read(path).map_err(|error| unreadable(&error))?;
    read(&bytes).map_err(|error| unreadable(&error))
}

fn carry_out(case: &Case, recording: &Recording<Event>) -> Result<Outcome, Failure> {
    let commands: Vec<TickCommand> = recording.ticks.iter().map(|tick| tick.command.clone()).collect();
    let mut session = Session::begin(case, None)?;
    let mut hands = Hands::Recorded(commands.into_iter());
    let progress = AttemptProgress::new();
    while session.advance(&mut hands)?.is_some() {
        progress.show(&session, "replay");
    }
    session.close(case)
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
