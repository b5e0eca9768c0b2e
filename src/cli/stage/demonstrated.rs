//! A case's own demonstration, carried out in the background for who wants to see its hands beside others.

use crate::app::film;
use crate::cli::session::{Hands, Session};
use crate::cli::{Case, case};
use crate::input::script::Script;
use crate::performer::{Performer, Unsteadiness};
use crate::simulation::snapshot::Snapshot;
use std::path::Path;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::spawn;

/// Frames that may wait to be looked at: it does not run far ahead of a window that draws slowly.
const WAITING_MAX: usize = 64;

/// The demonstration that the case at `place` names, from its beginning; `None` if its script is not to be had. What the stage plays
/// may be another script, such as one that shows a fault.
pub(super) fn demonstrated(case: &Case, place: &Path, mirrored: bool) -> Option<Receiver<Snapshot>> {
    let file = case::script(&case.scenario.demonstration, place).ok()?;
    let script = case::hands(&file).ok()?;
    let (sender, frames) = sync_channel(WAITING_MAX);
    let case = case.clone();
    spawn(move || carry_out(&case, script, mirrored, &sender));
    Some(frames)
}

/// Until its end, or until nobody looks any more.
fn carry_out(case: &Case, script: Script, mirrored: bool, frames: &SyncSender<Snapshot>) {
    let Ok(mut session) = Session::begin(case, None) else { return };
    if mirrored {
        session.mirror();
    }
    let mut hands = Hands::Scripted(Box::new(Performer::new(script, session.world(), Unsteadiness::default())));
    while let Ok(Some(_)) = session.advance(&mut hands) {
        let seen = session.snapshot();
        if seen.tick.0.is_multiple_of(film::EVERY) && frames.send(seen).is_err() {
            return;
        }
    }
}
