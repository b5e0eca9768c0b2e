//! An attempt that was broken off, carried out again in the background so that it can be gone on with.

use super::desk::begin;
use crate::app::film;
use crate::app::words::Text;
use crate::cli::Case;
use crate::cli::keep::{BrokenOff, Folder, Kept};
use crate::cli::session::{Event, Session};
use crate::input::TickCommand;
use crate::simulation::snapshot::Snapshot;
use std::panic::resume_unwind;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::{JoinHandle, spawn};

/// An attempt on its way to where it was broken off.
pub(super) struct Resumed {
    work: JoinHandle<End>,
    frames: Mutex<Receiver<Snapshot>>,
    done: Arc<AtomicU32>,
    count: u32,
}

/// Where it has come to.
pub(super) struct End {
    /// The attempt with its file and its last command; `None` if it cannot be gone on with.
    pub attempt: Option<(Box<Session>, Option<Kept>, TickCommand)>,
    /// What went wrong, if anything.
    pub trouble: Option<Text>,
}

impl Resumed {
    /// Begins to carry it out again.
    pub(super) fn of(offer: BrokenOff, case: Case, folder: Option<Folder>) -> Resumed {
        let count = u32::try_from(offer.recording.ticks.len()).unwrap_or(u32::MAX);
        let (sender, frames) = channel();
        let done = Arc::new(AtomicU32::new(0));
        let counted = Arc::clone(&done);
        let work = spawn(move || carry_out(offer, &case, folder.as_ref(), &sender, &counted));
        Resumed { work, frames: Mutex::new(frames), done, count }
    }

    /// How much of it is done.
    pub(super) fn percent(&self) -> u32 {
        let share = u64::from(self.done.load(Ordering::Relaxed)) * 100 / u64::from(self.count.max(1));
        u32::try_from(share).unwrap_or(100)
    }

    pub(super) fn is_finished(&self) -> bool {
        self.work.is_finished()
    }

    /// What it has come past since this was last called.
    pub(super) fn frames(&self) -> Vec<Snapshot> {
        self.frames.lock().map(|frames| frames.try_iter().collect()).unwrap_or_default()
    }

    /// Where it has come to; waits for it.
    pub(super) fn wait(self) -> End {
        self.work.join().unwrap_or_else(|panic| resume_unwind(panic))
    }
}

fn carry_out(
    offer: BrokenOff,
    case: &Case,
    folder: Option<&Folder>,
    frames: &Sender<Snapshot>,
    done: &AtomicU32,
) -> End {
    let trouble = |why: Text| End { attempt: None, trouble: Some(why) };
    let (mut session, kept, mut not_kept) = match begin(case, folder) {
        Ok(begun) => begun,
        Err(failure) => return trouble(failure.message.into()),
    };
    let mut phase = String::new();
    let mut last = None;
    for tick in &offer.recording.ticks {
        for Event::Phase(words) in &tick.events {
            phase.clone_from(words);
        }
        if let Err(failure) = session.tick(&tick.command, &phase) {
            return trouble(failure.message.into());
        }
        done.fetch_add(1, Ordering::Relaxed);
        if session.tick_count().0.is_multiple_of(film::EVERY) {
            // Where the window is gone nobody is left to see it.
            drop(frames.send(session.snapshot()));
        }
        last = Some(tick.command.clone());
    }
    let Some(last) = last else { return trouble(Text::of("stage-holds-nothing")) };
    // Only now that it lives on in another file.
    if kept.is_some()
        && let Err(error) = offer.remove()
    {
        not_kept = Some(Text::why("stage-file-stays", error));
    }
    End { attempt: Some((Box::new(session), kept, last)), trouble: not_kept }
}
