//! `demo`: a hand script ties, the attempt is marked and reported, without a window.

use super::arguments::{DemoArguments, UnsteadyArguments};
use super::output::{complain, say};
use super::progress::AttemptProgress;
use super::session::{Hands, Outcome, Session, Sink};
use super::{Case, Failure, Status, case, pages};
use crate::input::script::Script;
use crate::performer::{Performer, Unsteadiness};
use std::fs::File;
use std::path::Path;

/// What a recording says its hands held.
const DEVICE: &str = "hand script";

pub(super) fn demo(arguments: &DemoArguments) -> Result<Status, Failure> {
    let (case, script) = open(arguments)?;
    let recording = arguments.record.as_deref().map(create).transpose()?;
    let student_key = arguments.student.clone().unwrap_or_default();
    let recording = recording.map(|sink| (sink, crate::record::Header { student_key, ..case.header(DEVICE) }));
    let progress = AttemptProgress::new();
    let (outcome, gave_up) = perform(&case, script, unsteadiness(&arguments.unsteady), recording, |session, phase| {
        progress.show(session, phase);
    })?;
    drop(progress);
    say(&outcome.report(&case, arguments.json))?;
    if let Some(file) = &arguments.html {
        let kept = arguments.record.as_ref().map_or("none was kept", |_| "made with this report");
        pages::write(file, &outcome.page(&case, "one attempt", kept))?;
    }
    complain(&outcome.times());
    if gave_up {
        complain("the hands gave up: a `repeat` ran out before its condition held");
    }
    let own =
        arguments.hands.is_none() && !arguments.fault && unsteadiness(&arguments.unsteady) == Unsteadiness::default();
    Ok(if own && !outcome.score.passed { Status::DemonstrationFailed } else { Status::Done })
}

/// The case and the script that `demo` is asked to play.
pub(super) fn open(arguments: &DemoArguments) -> Result<(Case, Script), Failure> {
    let (case, place) = case::open(&arguments.scenario)?;
    let script = match (&arguments.hands, arguments.fault, &case.scenario.fault) {
        (Some(hands), ..) => case::hands(hands)?,
        (None, true, Some(fault)) => case::hands(&case::script(&fault.hands, &place)?)?,
        (None, true, None) => {
            let why = format!("--fault: {} shows none", arguments.scenario.display());
            return Err(Failure::new(Status::Usage, why));
        }
        (None, false, _) => case::hands(&case::script(&case.scenario.demonstration, &place)?)?,
    };
    Ok((case, script))
}

/// Plays a script to its end; also tells whether the hands gave up on the way.
pub(super) fn perform(
    case: &Case,
    script: Script,
    unsteady: Unsteadiness,
    recording: Option<(Sink, crate::record::Header)>,
    mut watch: impl FnMut(&Session, &str),
) -> Result<(Outcome, bool), Failure> {
    let mut session = Session::begin(case, recording)?;
    let mut hands = Hands::Scripted(Box::new(Performer::new(script, session.world(), unsteady)));
    while session.advance(&mut hands)?.is_some() {
        watch(&session, hands.phase());
    }
    Ok((session.close(case)?, hands.gave_up()))
}

pub(super) fn unsteadiness(arguments: &UnsteadyArguments) -> Unsteadiness {
    Unsteadiness { tremor_mm: arguments.tremor_mm, timing: arguments.timing, seed: arguments.seed }
}

fn create(path: &Path) -> Result<Sink, Failure> {
    let file = File::create(path);
    file.map(|file| Box::new(file) as Sink)
        .map_err(|error| Failure::new(Status::Usage, format!("--record {}: {error}", path.display())))
}
