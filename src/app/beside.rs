//! A stage that is played in a thread of its own, so that no picture waits for a tick.
//!
//! The window asks for ticks and goes on; what came of them it finds when it next looks. What the hands command is worked
//! out in the window, in its own time, and waits in a line: the stage carries out the same commands, in the same order, as if
//! it were played in the window.

use std::panic::resume_unwind;
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::sync::{Mutex, PoisonError};
use std::thread::{JoinHandle, spawn};

use super::Scene;
use super::stage::{FileNews, FormSource, Measured, Replayed, Stage, ToPull};
use super::words::Text;
use crate::input::TickCommand;
use crate::quantity::TICKS_PER_SECOND;
use crate::report::ReadStitch;
use crate::score::Score;
use crate::simulation::snapshot::Snapshot;

/// Ticks that one picture may ask for: a second. Where pictures take long, simulated time falls behind the clock with fewer; on
/// two cores that draw as well, one takes half a second.
const CATCH_UP: u32 = TICKS_PER_SECOND;

/// Something else than a tick.
type Errand = Box<dyn FnOnce(&mut dyn Stage) + Send>;

/// Something for the stage to do.
enum Job {
    Tick(Option<TickCommand>),
    Errand(Errand),
}

/// What was to be seen of the stage after a job.
struct Seen {
    after_tick: bool,
    /// All that was to be seen since the job before.
    frames: Vec<Snapshot>,
    snapshot: Snapshot,
    command: TickCommand,
    finished: Option<Score>,
    busy: Option<Text>,
    refused: Option<Text>,
    recording: Option<Replayed>,
    offer: Option<Text>,
    waits_for_hands: bool,
    file: FileNews,
}

impl Seen {
    fn of(stage: &mut dyn Stage, after_tick: bool) -> Seen {
        Seen {
            after_tick,
            frames: stage.frames(),
            snapshot: stage.snapshot(),
            command: stage.current_command(),
            finished: stage.finished(),
            busy: stage.busy(),
            refused: stage.refused(),
            recording: stage.recording(),
            offer: stage.offer(),
            waits_for_hands: stage.waits_for_hands(),
            file: stage.file(),
        }
    }
}

/// A stage played beside the window.
pub struct Beside {
    /// The line of jobs; `None` once the stage is to end.
    jobs: Option<Sender<Job>>,
    // A receiver may be used by one system at a time only.
    news: Mutex<Receiver<Seen>>,
    player: Option<JoinHandle<()>>,
    /// Jobs whose outcome has not been seen, and how many of them are ticks.
    jobs_out: usize,
    ticks_out: usize,
    seen: Seen,
    /// The same for as long as there is a stage.
    reading: Option<ReadStitch>,
    tutorial_due: bool,
}

impl Beside {
    /// Plays a stage from now on.
    #[must_use]
    pub fn of(mut stage: Box<dyn Stage>) -> Beside {
        let (reading, tutorial_due) = (stage.reading().cloned(), stage.tutorial_due());
        let seen = Seen::of(stage.as_mut(), false);
        let (jobs, line) = channel::<Job>();
        let (tell, news) = channel();
        let player = spawn(move || {
            for job in line {
                let after_tick = matches!(job, Job::Tick(_));
                match job {
                    Job::Tick(hands) => stage.tick(hands.as_ref()),
                    Job::Errand(errand) => errand(stage.as_mut()),
                }
                // Where the window is gone nobody is left to tell.
                drop(tell.send(Seen::of(stage.as_mut(), after_tick)));
            }
        });
        let (jobs, player, news) = (Some(jobs), Some(player), Mutex::new(news));
        Beside { jobs, news, player, jobs_out: 0, ticks_out: 0, seen, reading, tutorial_due }
    }

    fn send(&mut self, job: Job) {
        self.jobs_out += 1;
        self.ticks_out += usize::from(matches!(job, Job::Tick(_)));
        if let Some(jobs) = &self.jobs {
            // A player that has panicked takes no more; that is told when its news are looked for.
            drop(jobs.send(job));
        }
    }

    /// Has the stage do something once all before it in the line is done, and waits for that.
    fn ask<R: Send + 'static>(&mut self, job: impl FnOnce(&mut dyn Stage) -> R + Send + 'static) -> R {
        let (tell, answer) = channel();
        self.send(Job::Errand(Box::new(move |stage| drop(tell.send(job(stage))))));
        while self.jobs_out > 0 {
            let news = self.news.get_mut().unwrap_or_else(PoisonError::into_inner).recv();
            match news {
                Ok(seen) => self.take(seen),
                Err(_) => self.mourn(),
            }
        }
        answer.recv().unwrap_or_else(|_| self.mourn())
    }

    /// Has another attempt begun; whether it was.
    fn begin(&mut self, begin: impl FnOnce(&mut dyn Stage) -> bool + Send + 'static) -> bool {
        let begun = self.ask(begin);
        if begun {
            // Of the attempt before, which is looked at no more.
            self.seen.frames.clear();
        }
        begun
    }

    fn take(&mut self, seen: Seen) {
        self.jobs_out -= 1;
        self.ticks_out -= usize::from(seen.after_tick);
        let mut before = std::mem::replace(&mut self.seen, seen);
        before.frames.append(&mut self.seen.frames);
        self.seen.frames = before.frames;
        self.seen.refused = self.seen.refused.take().or(before.refused);
    }

    /// The player has ended although there is a line: it panicked, and so does the window.
    fn mourn(&mut self) -> ! {
        match self.player.take().map(JoinHandle::join) {
            Some(Err(panic)) => resume_unwind(panic),
            _ => unreachable!("a player ends with its line or in a panic"),
        }
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        // What the stage keeps on the disk is to be there when the window has gone.
        self.jobs = None;
        if let Some(player) = self.player.take() {
            drop(player.join());
        }
    }
}

impl Stage for Beside {
    fn tick(&mut self, hands: Option<&TickCommand>) {
        self.send(Job::Tick(hands.cloned()));
    }

    fn look(&mut self) {
        loop {
            let news = self.news.get_mut().unwrap_or_else(PoisonError::into_inner).try_recv();
            match news {
                Ok(seen) => self.take(seen),
                Err(TryRecvError::Empty) => return,
                Err(TryRecvError::Disconnected) => self.mourn(),
            }
        }
    }

    fn waiting(&self) -> usize {
        self.ticks_out
    }

    fn catch_up(&self) -> u32 {
        CATCH_UP
    }

    fn snapshot(&self) -> Snapshot {
        self.seen.snapshot.clone()
    }

    fn settle(&mut self) {
        self.ask(|_| ());
    }

    fn current_command(&self) -> TickCommand {
        self.seen.command.clone()
    }

    fn finished(&self) -> Option<Score> {
        self.seen.finished.clone()
    }

    fn busy(&self) -> Option<Text> {
        self.seen.busy.clone()
    }

    fn refused(&mut self) -> Option<Text> {
        self.seen.refused.take()
    }

    fn measured(&mut self) -> Option<Measured> {
        self.ask(Stage::measured)
    }

    fn to_pull(&mut self) -> Vec<ToPull> {
        self.ask(|stage| stage.to_pull())
    }

    fn recording(&self) -> Option<Replayed> {
        self.seen.recording.clone()
    }

    fn frames(&mut self) -> Vec<Snapshot> {
        self.look();
        if self.jobs_out == 0 {
            // What the stage has others do goes on without ticks.
            self.send(Job::Errand(Box::new(|_| ())));
        }
        std::mem::take(&mut self.seen.frames)
    }

    fn begin_anew(&mut self) -> bool {
        self.begin(Stage::begin_anew)
    }

    fn file(&self) -> FileNews {
        self.seen.file.clone()
    }

    fn take_newer(&mut self) -> bool {
        self.begin(Stage::take_newer)
    }

    fn new_scene(&mut self) -> Option<Scene> {
        self.ask(Stage::new_scene)
    }

    fn form_source(&mut self) -> Option<FormSource> {
        self.ask(Stage::form_source)
    }

    fn write_form(&mut self, file: &str, text: &str, before: Option<&str>) -> Result<(), String> {
        let (file, text, before) = (file.to_owned(), text.to_owned(), before.map(str::to_owned));
        self.ask(move |stage| stage.write_form(&file, &text, before.as_deref()))
    }

    fn keep_unsaved(&mut self, file: &str, changes: Option<&str>) -> Result<(), String> {
        let (file, changes) = (file.to_owned(), changes.map(str::to_owned));
        self.ask(move |stage| stage.keep_unsaved(&file, changes.as_deref()))
    }

    fn offer(&self) -> Option<Text> {
        self.seen.offer.clone()
    }

    fn answer(&mut self, taken: bool) {
        self.ask(move |stage| stage.answer(taken));
    }

    fn tutorial_due(&self) -> bool {
        self.tutorial_due
    }

    fn tutorial_over(&mut self) {
        self.ask(Stage::tutorial_over);
    }

    fn remember_language(&mut self, code: &str) {
        let code = code.to_owned();
        self.ask(move |stage| stage.remember_language(&code));
    }

    fn demonstration(&mut self) -> Option<Receiver<Snapshot>> {
        self.ask(Stage::demonstration)
    }

    fn waits_for_hands(&self) -> bool {
        self.seen.waits_for_hands
    }

    fn reading(&self) -> Option<&ReadStitch> {
        self.reading.as_ref()
    }
}
