//! One attempt from its first tick to its report: the one loop that demonstrations, replays and the window share.
//!
//! ```text
//! hands -> attempt -> digest -> recording;  at the end: findings -> score -> report
//! ```

use super::{Case, Failure, Status, pages};
use crate::analysis::findings::Findings;
use crate::analysis::view::{Moment, View};
use crate::input::{HandEvent, TickCommand};
use crate::material::Material;
use crate::performer::Performer;
use crate::pull::TiedStitch;
use crate::quantity::{TICKS_PER_SECOND, Tick};
use crate::record::{AttemptWriter, Digest, Header, RecordedTick, StateDigest, digest_due};
use crate::report::{self, AttemptPage, ReadStitch, Report, Timing};
use crate::score::criteria::holds::KnotHolds;
use crate::score::{Criterion, Score, score};
use crate::simulation::World;
use crate::simulation::attempt::{Attempt, Refusal};
use crate::simulation::snapshot::Snapshot;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::io::Write;
use std::time::{Duration, Instant};

/// Version of the simulation: it goes up whenever the same commands may make other states.
pub const SIMULATION_VERSION: u32 = 8;

/// Ticks between two moments of what is followed over time: ten a second.
const SAMPLE_INTERVAL_TICKS: u32 = TICKS_PER_SECOND / 10;

/// What a recording keeps beside the commands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Event {
    /// What the hands do from here on, in a script's words.
    Phase(String),
}

/// Where a recording goes.
pub type Sink = Box<dyn Write + Send + Sync>;

/// Where the commands come from.
#[derive(Debug)]
pub enum Hands {
    /// A script with eyes on the world.
    Scripted(Box<Performer>),
    /// A recording's commands, whatever the world is like.
    Recorded(std::vec::IntoIter<TickCommand>),
}

impl Hands {
    /// The next command; `None` when there is no more.
    pub fn command(&mut self, world: &World) -> Option<TickCommand> {
        match self {
            Hands::Scripted(performer) => performer.command(world),
            Hands::Recorded(commands) => commands.next(),
        }
    }

    /// What the hands are doing, in words; empty if that is not known.
    #[must_use]
    pub fn phase(&self) -> &str {
        match self {
            Hands::Scripted(performer) => performer.phase(),
            Hands::Recorded(_) => "",
        }
    }

    /// Whether the hands gave up a part of what they wanted to do.
    #[must_use]
    pub fn gave_up(&self) -> bool {
        matches!(self, Hands::Scripted(performer) if performer.gave_up())
    }
}

/// An attempt under way.
pub struct Session {
    attempt: Attempt,
    /// What comes before the events of the next tick's command.
    ahead: Vec<HandEvent>,
    digest: Digest,
    digests: Vec<StateDigest>,
    recorder: Option<AttemptWriter<Sink, Event>>,
    phase: String,
    course: Vec<Moment>,
    spent: Spent,
}

/// Time on the wall's clock, by stage.
#[derive(Debug, Clone, Copy, Default)]
struct Spent {
    hands: Duration,
    simulation: Duration,
    recording: Duration,
    marking: Duration,
}

impl Session {
    /// Begins an attempt, and its recording if there is somewhere to keep it.
    ///
    /// # Errors
    /// If the attempt cannot begin, or the recording cannot.
    pub fn begin(case: &Case, recording: Option<(Sink, Header)>) -> Result<Session, Failure> {
        let recorder = recording.map(|(sink, header)| AttemptWriter::new(sink, &header)).transpose();
        Ok(Session { recorder: recorder.map_err(not_kept)?, ..Session::of(case.begin()?) })
    }

    /// Begins an attempt in another thread than its case names; nothing is recorded of it.
    pub(super) fn begin_in(case: &Case, thread: &Material) -> Result<Session, Failure> {
        case.begin_in(thread).map(Session::of)
    }

    fn of(attempt: Attempt) -> Session {
        Session {
            attempt,
            ahead: Vec::new(),
            digest: Digest::new(),
            digests: Vec::new(),
            recorder: None,
            phase: String::new(),
            course: Vec::new(),
            spent: Spent::default(),
        }
    }

    /// The world as it is now.
    #[must_use]
    pub fn world(&self) -> &World {
        &self.attempt.world
    }

    /// What there is to see now.
    #[must_use]
    pub fn snapshot(&self) -> Snapshot {
        self.attempt.snapshot(&self.phase)
    }

    /// What the hands asked for in the last tick and did not get.
    #[must_use]
    pub fn refused(&self) -> &[Refusal] {
        &self.attempt.refused
    }

    /// Says in the first tick that the field is shown mirrored, so that the recording has it.
    pub fn mirror(&mut self) {
        self.ahead.push(HandEvent::Mirror);
    }

    /// Ticks done.
    #[must_use]
    pub fn tick_count(&self) -> Tick {
        Tick(u32::try_from(self.digests.len()).expect("2^32 ticks are two years"))
    }

    /// The next tick by `hands`: the command that was carried out, or `None` when they are done.
    ///
    /// # Errors
    /// See [`Session::tick`].
    pub fn advance(&mut self, hands: &mut Hands) -> Result<Option<TickCommand>, Failure> {
        let began = now();
        let command = hands.command(&self.attempt.world);
        self.spent.hands += began.elapsed();
        let Some(command) = command else { return Ok(None) };
        self.tick(&command, hands.phase())?;
        Ok(Some(command))
    }

    /// One tick: the simulation, its digest and what is recorded of it. `phase` is what the hands do, in words.
    ///
    /// # Errors
    /// If the state holds what is not a number, or the recording is not taken.
    pub fn tick(&mut self, command: &TickCommand, phase: &str) -> Result<(), Failure> {
        let (tick, began) = (self.tick_count(), now());
        let mut command = Cow::Borrowed(command);
        if !self.ahead.is_empty() {
            command.to_mut().events.splice(..0, self.ahead.drain(..));
        }
        self.attempt.tick(&command);
        self.spent.simulation += began.elapsed();
        let began = now();
        if tick.0.is_multiple_of(SAMPLE_INTERVAL_TICKS) {
            self.course.push(self.attempt.moment());
        }
        let parts = self.attempt.state_digest_parts();
        let parts: Vec<&[f64]> = parts.iter().map(Vec::as_slice).collect();
        self.digest.add(tick, &parts).map_err(|error| Failure::new(Status::Internal, error))?;
        self.digests.push(self.digest.value());
        let changed = self.phase != phase;
        if changed {
            phase.clone_into(&mut self.phase);
        }
        if self.recorder.is_some() {
            let recorded = self.recorded(tick, &command, changed);
            self.recorder.as_mut().map_or(Ok(()), |recorder| recorder.push_tick(recorded)).map_err(not_kept)?;
        }
        self.spent.recording += began.elapsed();
        Ok(())
    }

    fn recorded(&self, tick: Tick, command: &TickCommand, phase_changed: bool) -> RecordedTick<Event> {
        // The last state counts most, and only the hands say which one it is.
        let due = digest_due(tick) || command.events.contains(&HandEvent::Finish);
        RecordedTick {
            command: command.clone(),
            digest: self.digests.last().copied().filter(|_| due),
            events: if phase_changed { vec![Event::Phase(self.phase.clone())] } else { Vec::new() },
            sample: None,
        }
    }

    /// The stitches that have thread running through the gum, as threads to pull.
    #[must_use]
    pub fn tied_stitches(&self) -> Vec<TiedStitch> {
        (0..self.world().stitch_count()).filter_map(|stitch| self.attempt.tied_stitch(stitch)).collect()
    }

    /// What can be measured and marked now. The knot is pulled only if that earns marks.
    #[must_use]
    pub fn marked(&self, case: &Case) -> (Findings, Score) {
        let pulls = case.rubric.rules().iter().any(|rule| rule.id == KnotHolds.id());
        let findings = if pulls { self.attempt.findings_with_pull() } else { self.attempt.findings() };
        let score = score(&findings, &case.order, &case.rubric);
        (findings, score)
    }

    /// Closes the recording, if there is one.
    ///
    /// # Errors
    /// If its end is not taken.
    pub fn close_recording(&mut self) -> Result<(), Failure> {
        let recorder = self.recorder.take();
        recorder.map_or(Ok(()), |recorder| recorder.finish().and_then(|mut sink| sink.flush()).map_err(not_kept))
    }

    /// Ends the attempt: closes its recording and marks it.
    ///
    /// # Errors
    /// If the end of the recording is not taken.
    pub fn close(mut self, case: &Case) -> Result<Outcome, Failure> {
        let began = now();
        self.close_recording()?;
        self.spent.recording += began.elapsed();
        let began = now();
        let (findings, score) = self.marked(case);
        let view = View {
            course: std::mem::take(&mut self.course),
            site: self.attempt.site_plan(),
            stitches: (0..self.world().stitch_count()).filter_map(|stitch| self.world().stitch_curve(stitch)).collect(),
        };
        self.spent.marking += began.elapsed();
        let seconds = self.tick_count().seconds();
        let Spent { hands, simulation, recording, marking } = self.spent;
        let wall = (hands + simulation + recording + marking).as_secs_f64();
        Ok(Outcome {
            findings,
            score,
            view,
            digest: self.digest.value().to_string(),
            digests: (0..).map(Tick).zip(self.digests).collect(),
            real_time_factor: (wall > 0.0).then_some(seconds / wall),
            stages: [
                ("hands", hands.as_secs_f64()),
                ("thread, instruments and tissue", simulation.as_secs_f64()),
                ("digest and recording", recording.as_secs_f64()),
                ("reading and marking", marking.as_secs_f64()),
            ],
        })
    }
}

/// An attempt that is over.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// What was measured.
    pub findings: Findings,
    /// What it is worth.
    pub score: Score,
    /// What is drawn of it.
    pub view: View,
    /// Digest of all its states.
    pub digest: String,
    /// Digest of the states up to each tick.
    pub digests: Vec<(Tick, StateDigest)>,
    /// How many times faster than real time it was; `None` if no time passed.
    pub real_time_factor: Option<f64>,
    /// Time each stage took [s].
    pub stages: [(&'static str, f64); 4],
}

impl Outcome {
    /// The report as text, or as one JSON object.
    #[must_use]
    pub fn report(&self, case: &Case, json: bool) -> String {
        let timings = self.stages.map(|(stage, wall_s)| Timing { stage, wall_s });
        let report = Report { timings: &timings, ..self.untimed(case) };
        if json { report::json(&report) } else { report::text(&report) }
    }

    /// The report as a page; `verdict` is what is to be thought of its recording.
    #[must_use]
    pub fn page(&self, case: &Case, name: &str, verdict: &str) -> String {
        report::attempt_page(&AttemptPage {
            name,
            report: self.untimed(case),
            order: &case.order,
            view: &self.view,
            stitches: &ReadStitch::numbered(self.view.stitches.clone()),
            origin: &pages::origin(case, verdict, env!("CARGO_PKG_VERSION")),
            class: None,
            sensitivity: None,
            program: &pages::program(),
        })
    }

    fn untimed<'a>(&'a self, case: &'a Case) -> Report<'a> {
        Report {
            scenario: &case.scenario.title,
            digest: &self.digest,
            real_time_factor: self.real_time_factor,
            timings: &[],
            findings: &self.findings,
            score: &self.score,
        }
    }

    /// Where the time went, in a sentence.
    #[must_use]
    pub fn times(&self) -> String {
        let stages: Vec<String> = self.stages.iter().map(|(stage, wall_s)| format!("{stage} {wall_s:.1} s")).collect();
        format!("time: {}", stages.join(", "))
    }
}

fn not_kept(error: std::io::Error) -> Failure {
    Failure::new(Status::Internal, format!("the recording cannot be written: {error}"))
}

#[expect(clippy::disallowed_methods, reason = "only how long a stage took is told by it, never what it did")]
fn now() -> Instant {
    Instant::now()
}
