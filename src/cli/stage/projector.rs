//! A recording as the window sees it: carried out again in the background, its frames handed over as they come.

use super::demonstrated::demonstrated;
use crate::app::words::Text;
use crate::app::{Measured, Replayed, Stage, ToPull, film};
use crate::cli::again::{Again, again_from, own_case, status, unreadable};
use crate::cli::files::FIRST_SCENARIO;
use crate::cli::session::{Event, Outcome, SIMULATION_VERSION};
use crate::cli::{Case, Failure};
use crate::input::TickCommand;
use crate::pull::TiedStitch;
use crate::record::{Recording, read, refusal};
use crate::score::{Score, TaskOrder};
use crate::simulation::snapshot::Snapshot;
use std::fs;
use std::path::Path;
use std::sync::Mutex;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::spawn;

/// Frames that may wait to be handed over: the simulation does not run far ahead of a window that draws slowly.
const WAITING_MAX: usize = 256;

/// What comes from carrying it out.
enum News {
    Frame(Box<Snapshot>),
    End(Box<Result<Ended, String>>),
}

/// What came out in the end.
struct Ended {
    score: Score,
    measured: Measured,
    tied: Vec<TiedStitch>,
    verdict: String,
}

/// A recording on its way.
pub(crate) struct Projector {
    /// What it was an attempt at.
    pub case: Case,
    first: Snapshot,
    command: TickCommand,
    /// What the hands were doing from which tick on, in words.
    phases: Vec<(u32, String)>,
    end: u32,
    have: u32,
    // A stage is shared between threads, a receiver may not be.
    news: Mutex<Receiver<News>>,
    ended: Option<Result<Ended, String>>,
}

impl Projector {
    /// Reads a recording and begins to carry it out again.
    ///
    /// # Errors
    /// If it cannot be read, may not be carried out here, or holds nothing.
    pub(crate) fn open(path: &Path) -> Result<Projector, Failure> {
        let name = path.display().to_string();
        let bytes = fs::read(path).map_err(|error| unreadable(&name, &error))?;
        let (recording, integrity) = read::<Event>(&bytes).map_err(|error| unreadable(&name, &error))?;
        let case = own_case(&name, &recording)?;
        if let Some(verdict) = refusal(&recording.header, &integrity, &case.text, SIMULATION_VERSION) {
            return Err(Failure::new(status(&verdict), format!("{name}: {verdict}")));
        }
        let Some(tick) = recording.ticks.first() else { return Err(unreadable(&name, &"it holds no tick")) };
        let end = u32::try_from(recording.ticks.len()).unwrap_or(u32::MAX);
        let (sender, news) = sync_channel(WAITING_MAX);
        let first = case.begin()?.snapshot("");
        let projector = Projector {
            case,
            first,
            command: TickCommand { events: Vec::new(), ..tick.command.clone() },
            phases: phases(&recording),
            end,
            have: 0,
            news: Mutex::new(news),
            ended: None,
        };
        let order = projector.case.order.clone();
        spawn(move || carry_out(&name, &bytes, order, end, &sender));
        Ok(projector)
    }

    fn phase_at(&self, tick: u32) -> &str {
        let after = self.phases.partition_point(|(from, _)| *from < tick);
        after.checked_sub(1).map_or("", |at| &self.phases[at].1)
    }
}

/// What the hands were doing, each with the tick after which it was so.
fn phases(recording: &Recording<Event>) -> Vec<(u32, String)> {
    let said = (0..)
        .zip(&recording.ticks)
        .flat_map(|(tick, recorded)| recorded.events.iter().map(move |Event::Phase(words)| (tick, words.clone())));
    said.collect()
}

fn carry_out(name: &str, bytes: &[u8], order: TaskOrder, end: u32, sender: &SyncSender<News>) {
    // Where the window is gone nobody is left to tell.
    let done = again_from(name, bytes, None, |session| {
        let tick = session.tick_count().0;
        if tick.is_multiple_of(film::EVERY) || tick == end {
            drop(sender.send(News::Frame(Box::new(session.snapshot()))));
        }
    });
    let ended = match done {
        Ok(Again { verdict, integrity, done: Some(done) }) => {
            let Outcome { findings, view, score, .. } = done.outcome;
            let measured = Measured::of(findings, view, order, Vec::new());
            Ok(Ended { score, measured, tied: done.tied, verdict: format!("{verdict}; {integrity}") })
        }
        Ok(Again { verdict, .. }) => Err(verdict.to_string()),
        Err(failure) => Err(failure.message),
    };
    drop(sender.send(News::End(Box::new(ended))));
}

impl Stage for Projector {
    fn tick(&mut self, _hands: Option<&TickCommand>) {}

    fn snapshot(&self) -> Snapshot {
        self.first.clone()
    }

    fn current_command(&self) -> TickCommand {
        self.command.clone()
    }

    fn finished(&self) -> Option<Score> {
        Some(self.ended.as_ref()?.as_ref().ok()?.score.clone())
    }

    fn measured(&mut self) -> Option<Measured> {
        Some(self.ended.as_ref()?.as_ref().ok()?.measured.clone())
    }

    fn to_pull(&mut self) -> Vec<ToPull> {
        let Some(Ok(ended)) = &self.ended else { return Vec::new() };
        ended.tied.iter().cloned().map(Box::new).map(ToPull::Stitch).collect()
    }

    fn demonstration(&mut self) -> Option<Receiver<Snapshot>> {
        // A recording holds its case, and not the file that it was from.
        demonstrated(&self.case, Path::new(FIRST_SCENARIO), false)
    }

    fn recording(&self) -> Option<Replayed> {
        let note = match &self.ended {
            None if self.have < self.end => {
                let percent = 100 * u64::from(self.have) / u64::from(self.end.max(1));
                Text::Key("recording-so-far", vec![("percent", percent.to_string())])
            }
            None => Text::of("recording-being-marked"),
            Some(Ok(ended)) => Text::Key("recording-verdict", vec![("verdict", ended.verdict.clone())]),
            Some(Err(why)) => Text::why("recording-failed", why),
        };
        Some(Replayed { end: self.end, note })
    }

    fn frames(&mut self) -> Vec<Snapshot> {
        let mut frames = Vec::new();
        let come: Vec<News> = self.news.lock().map(|news| news.try_iter().collect()).unwrap_or_default();
        for news in come {
            match news {
                News::Frame(mut frame) => {
                    self.have = frame.tick.0;
                    self.phase_at(frame.tick.0).clone_into(&mut frame.readout.phase);
                    frames.push(*frame);
                }
                News::End(ended) => self.ended = Some(*ended),
            }
        }
        frames
    }
}
