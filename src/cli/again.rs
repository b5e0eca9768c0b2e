//! A recording's commands carried out again: what came out, and whether it is what was recorded.

use super::progress::AttemptProgress;
use super::session::{Event, Hands, Outcome, SIMULATION_VERSION, Session};
use super::{Case, Failure, Status};
use crate::input::TickCommand;
use crate::pull::TiedStitch;
use crate::record::{Integrity, Recording, Verdict, compare, digest_due, read, refusal};
use std::fs;
use std::path::Path;

/// A recording that was carried out again, if it may be.
pub(super) struct Again {
    /// What is to be thought of it.
    pub verdict: Verdict,
    /// How much of the file is whole.
    pub integrity: Integrity,
    /// What came out, unless the verdict stood before.
    pub done: Option<Done>,
}

/// What came out.
pub(super) struct Done {
    /// What it was carried out in.
    pub case: Case,
    /// Whose it is, as the recording says.
    pub student_key: String,
    /// What was measured, and its marks.
    pub outcome: Outcome,
    /// The threads of the stitches in their state at the end, in the order of the view's centrelines.
    pub tied: Vec<TiedStitch>,
}

/// Carries a recording out again, in the scenario given or in its own; `look` is called after each tick.
///
/// # Errors
/// If the recording cannot be read, or nothing can begin as it says.
pub(super) fn again(path: &Path, scenario: Option<&Case>, mut look: impl FnMut(&Session)) -> Result<Again, Failure> {
    let name = path.display().to_string();
    let bytes = fs::read(path).map_err(|error| unreadable(&name, &error))?;
    again_from(&name, &bytes, scenario, &mut look)
}

/// Carries out a recording again that has been read; messages call it by its name.
///
/// # Errors
/// If it is no recording, or nothing can begin as it says.
pub(super) fn again_from(
    name: &str,
    bytes: &[u8],
    scenario: Option<&Case>,
    mut look: impl FnMut(&Session),
) -> Result<Again, Failure> {
    let (recording, integrity) = read::<Event>(bytes).map_err(|error| unreadable(name, &error))?;
    let case = scenario.map_or_else(|| own_case(name, &recording), |case| Ok(case.clone()))?;
    if let Some(verdict) = refusal(&recording.header, &integrity, &case.text, SIMULATION_VERSION) {
        return Ok(Again { verdict, integrity, done: None });
    }
    let commands: Vec<TickCommand> = recording.ticks.iter().map(|tick| tick.command.clone()).collect();
    let mut session = Session::begin(&case, None)?;
    let mut hands = Hands::Recorded(commands.into_iter());
    while session.advance(&mut hands)?.is_some() {
        look(&session);
    }
    let tied = session.tied_stitches();
    let outcome = session.close(&case)?;
    let verdict = verdict(&recording, &outcome);
    let student_key = recording.header.student_key;
    Ok(Again { verdict, integrity, done: Some(Done { case, student_key, outcome, tied }) })
}

/// What came out of a recording, which has to be what was recorded; shows how far it is.
pub(super) fn verified(path: &Path) -> Result<Done, Failure> {
    let progress = AttemptProgress::new();
    match again(path, None, |session| progress.show(session, "replay"))? {
        Again { verdict: Verdict::Verified, done: Some(done), .. } => Ok(done),
        Again { verdict, .. } => Err(Failure::new(status(&verdict), format!("{}: {verdict}", path.display()))),
    }
}

/// The exit code for a verdict: damage is a matter of the file, everything else of what came out.
pub(super) fn status(verdict: &Verdict) -> Status {
    match verdict {
        Verdict::Verified => Status::Done,
        Verdict::Damaged { .. } => Status::AttemptUnreadable,
        Verdict::DivergedAt { .. } | Verdict::WrongScenario { .. } | Verdict::OtherVersion { .. } => {
            Status::NotVerified
        }
    }
}

pub(super) fn unreadable(name: &str, why: &dyn std::fmt::Display) -> Failure {
    Failure::new(Status::AttemptUnreadable, format!("{name}: {why}"))
}

/// The scenario that a recording holds.
pub(super) fn own_case(name: &str, recording: &Recording<Event>) -> Result<Case, Failure> {
    Case::read(&format!("{name}: scenario"), &recording.header.scenario_text)
        .map_err(|failure| Failure { status: Status::AttemptUnreadable, ..failure })
}

fn verdict(recording: &Recording<Event>, outcome: &Outcome) -> Verdict {
    let recorded = recording.digests();
    let replayed: Vec<_> = (outcome.digests.iter().copied())
        .filter(|&(tick, _)| digest_due(tick) || recorded.binary_search_by_key(&tick, |digest| digest.0).is_ok())
        .collect();
    compare(&recorded, &replayed)
}
