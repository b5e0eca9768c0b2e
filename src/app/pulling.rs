//! The finished attempt's knots pulled open, beside the window's own work, and played.

use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::sync::{Arc, Mutex};

use bevy::prelude::*;
use bevy::tasks::AsyncComputeTaskPool;

use super::stage::ToPull;
use super::ticking::{Marks, OnStage};
use super::ui::{PullState, PullView};
use crate::pull::{Fault, Frame, Pull, of_stitch_watched};

/// Frames of a pull played in a second at least: a millimetre then takes as long.
const FRAMES_PER_SECOND: f32 = 20.0;

/// Time that a long pull takes to play at most [s]: a granny's tails run a long way.
const PLAYED_S: f32 = 12.0;

/// What comes out of a pull under way.
enum News {
    Frame(Frame),
    End(Result<Option<Pull>, Fault>),
}

/// A knot whose pull has begun.
struct Knot {
    state: PullState,
    frames: Arc<Vec<Frame>>,
    radius: f64,
    from_shape: bool,
    // A receiver may be used by one system at a time only.
    news: Option<Mutex<Receiver<News>>>,
}

/// The pulls of an attempt's stitches.
#[derive(Resource, Default)]
pub struct Pulls {
    knots: Vec<Knot>,
    chosen: usize,
    at: f32,
    playing: bool,
    begun: bool,
}

impl Pulls {
    /// Begins a pull of each stitch; they run one after another, or side by side, as the pool has room.
    pub fn begin(&mut self, stitches: Vec<ToPull>) {
        self.begun = true;
        self.playing = true;
        self.knots = stitches.into_iter().map(Knot::begin).collect();
    }

    /// What there is to see of the chosen one.
    #[must_use]
    pub fn view(&self) -> Option<PullView> {
        let knot = self.knots.get(self.chosen)?;
        Some(PullView {
            stitch: self.chosen,
            count: self.knots.len(),
            state: knot.state.clone(),
            frames: Arc::clone(&knot.frames),
            radius: knot.radius,
            at: self.frame(),
            playing: self.playing,
            from_shape: knot.from_shape,
        })
    }

    /// Chooses a stitch.
    pub fn choose(&mut self, stitch: usize) {
        self.chosen = stitch.min(self.knots.len().saturating_sub(1));
        self.at = 0.0;
        self.playing = true;
    }

    /// Plays, from the beginning if it is at its end, or stops.
    pub fn toggle(&mut self) {
        self.playing = !self.playing;
        if self.playing && self.frame() >= self.last() {
            self.at = 0.0;
        }
    }

    /// Goes to a frame.
    pub fn go_to(&mut self, frame: u32) {
        self.at = frame.min(self.last()) as f32;
        self.playing = false;
    }

    /// Plays on by so many seconds.
    pub fn advance(&mut self, seconds: f32) {
        if !self.playing {
            return;
        }
        let last = self.last() as f32;
        self.at = (self.at + seconds * FRAMES_PER_SECOND.max(last / PLAYED_S)).min(last);
        let over = self.knots.get(self.chosen).is_some_and(|knot| knot.news.is_none());
        self.playing = !(over && self.at >= last);
    }

    /// Takes what has come out since.
    pub fn gather(&mut self) {
        self.knots.iter_mut().for_each(Knot::gather);
    }

    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and the last frame")]
    fn frame(&self) -> u32 {
        self.at as u32
    }

    fn last(&self) -> u32 {
        let count = self.knots.get(self.chosen).map_or(0, |knot| knot.frames.len());
        u32::try_from(count.saturating_sub(1)).unwrap_or(u32::MAX)
    }
}

impl Knot {
    fn begin(knot: ToPull) -> Knot {
        let from_shape = matches!(&knot, ToPull::Table { knot, .. } if knot.kept.is_none());
        let (radius, frames) = (knot.radius(), Arc::default());
        if let ToPull::Nothing { why, .. } = knot {
            return Knot { state: PullState::Impossible(why), frames, radius, from_shape, news: None };
        }
        Knot { state: PullState::Running, frames, radius, from_shape, news: Some(Mutex::new(pulled_aside(knot))) }
    }

    fn gather(&mut self) {
        let Some(news) = self.news.as_ref().and_then(|news| news.lock().ok()) else { return };
        let mut end = None;
        loop {
            match news.try_recv() {
                Ok(News::Frame(frame)) => Arc::make_mut(&mut self.frames).push(frame),
                Ok(News::End(result)) => end = Some(result_state(result)),
                Err(TryRecvError::Empty) => break,
                Err(TryRecvError::Disconnected) => {
                    end = end.or(Some(PullState::BrokenOff));
                    break;
                }
            }
        }
        drop(news);
        if let Some(state) = end {
            self.state = state;
            self.news = None;
        }
    }
}

fn result_state(result: Result<Option<Pull>, Fault>) -> PullState {
    match result {
        Ok(Some(pull)) => PullState::Done(Arc::new(pull)),
        Ok(None) => PullState::NoKnot,
        Err(fault) => PullState::Unsound(fault.to_string()),
    }
}

/// Pulls a knot in the background.
fn pulled_aside(knot: ToPull) -> Receiver<News> {
    let (sender, receiver) = channel();
    // Where nobody listens any more there is nobody to tell.
    let work = async move { drop(sender.send(News::End(pull(knot, &sender)))) };
    AsyncComputeTaskPool::get().spawn(work).detach();
    receiver
}

fn pull(knot: ToPull, sender: &Sender<News>) -> Result<Option<Pull>, Fault> {
    let stitch = match knot {
        ToPull::Stitch(stitch) => Some(*stitch),
        ToPull::Table { knot, section } => knot.stitch(*section),
        ToPull::Nothing { .. } => None,
    };
    let mut tell = |frame| drop(sender.send(News::Frame(frame)));
    stitch.map_or(Ok(None), |stitch| of_stitch_watched(&stitch, &mut tell))
}

/// Begins the pulls when the marks are there, gathers what comes out and plays it.
pub(super) fn plugin(app: &mut App) {
    app.init_resource::<Pulls>().add_systems(Update, follow);
}

fn follow(mut pulls: ResMut<Pulls>, marks: Res<Marks>, mut stage: ResMut<OnStage>, time: Res<Time<Real>>) {
    if !pulls.begun && (marks.0.is_some() || stage.0.reading().is_some()) {
        pulls.begin(stage.0.to_pull());
    }
    pulls.gather();
    pulls.advance(time.delta_secs());
}
