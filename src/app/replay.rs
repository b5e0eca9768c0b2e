//! Going through an attempt again: which moment of the [`Film`] is shown, and how it moves on.

use bevy::prelude::*;

use super::film::Film;
use super::stage::Replayed;
use super::ticking::OnStage;
use super::ui::{ReplaySpeed, ReplayView};
use super::view::{Shown, ViewSystems};
use crate::quantity::TICKS_PER_SECOND;

/// The film of what is on the stage.
#[derive(Resource, Debug, Clone, Default)]
pub struct Reel(pub Film);

/// Where in it one is.
#[derive(Resource, Debug, Clone, PartialEq, Default)]
pub struct Replay {
    /// Whether it is what is looked at.
    pub open: bool,
    /// The tick that is shown, with what has passed since.
    at: f64,
    playing: bool,
    speed: ReplaySpeed,
    recording: Option<Replayed>,
    /// The tick that is drawn.
    drawn: Option<u32>,
}

impl Replay {
    /// A replay as it is shown.
    #[must_use]
    pub fn view(&self, film: &Film) -> ReplayView {
        let [_, have] = film.span().unwrap_or_default();
        let recording = self.recording.as_ref();
        ReplayView {
            open: self.open,
            end: recording.map_or(have, |recording| recording.end.max(have)),
            have,
            at: self.tick(),
            playing: self.playing,
            speed: self.speed,
            note: recording.map(|recording| recording.note.clone()),
        }
    }

    /// Looks at the film, from the beginning, or no longer.
    pub fn open(&mut self, open: bool) {
        *self = Replay { open, at: 0.0, playing: open, drawn: None, ..self.clone() };
    }

    /// Plays, from the beginning if it is at its end, or stops.
    pub fn toggle(&mut self, film: &Film) {
        self.playing = !self.playing;
        if self.playing && film.span().is_some_and(|[_, last]| self.tick() >= last) {
            self.at = 0.0;
        }
    }

    /// Goes at another speed.
    pub fn set_speed(&mut self, speed: ReplaySpeed) {
        self.speed = speed;
    }

    /// Its speed.
    #[must_use]
    pub fn speed(&self) -> ReplaySpeed {
        self.speed
    }

    /// Goes to a tick and stays there; opens the replay if it is not.
    pub fn seek(&mut self, tick: u32) {
        *self = Replay { open: true, at: f64::from(tick), playing: false, ..self.clone() };
    }

    /// Goes on by so many seconds of the clock, as far as there is film.
    pub fn advance(&mut self, seconds: f64, film: &Film) {
        let Some([first, last]) = film.span() else { return };
        if self.playing {
            self.at += seconds * self.speed.factor() * f64::from(TICKS_PER_SECOND);
        }
        self.at = self.at.clamp(f64::from(first), f64::from(last));
        let end = self.recording.as_ref().map_or(last, |recording| recording.end);
        // Where more is to come it waits for that.
        self.playing &= self.at < f64::from(last) || last < end;
    }

    /// The tick that is shown.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "never negative, never past the film")]
    pub fn tick(&self) -> u32 {
        self.at as u32
    }
}

/// Everything that moves a replay on; runs in `Update`.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct ReplaySystems;

/// Adds the film and its replay; a recording on the stage is gone through from the start.
pub(super) fn plugin(app: &mut App) {
    let recording = app.world().resource::<OnStage>().0.recording();
    let open = recording.is_some();
    app.init_resource::<Reel>()
        .insert_resource(Replay { open, playing: open, recording, ..Replay::default() })
        .configure_sets(Update, ReplaySystems.before(ViewSystems))
        .add_systems(Update, (follow, play).chain().in_set(ReplaySystems));
}

/// Takes over what is known of a recording by now.
fn follow(stage: Res<OnStage>, mut replay: ResMut<Replay>) {
    if replay.recording.is_none() {
        return;
    }
    let recording = stage.0.recording();
    if replay.recording != recording {
        replay.recording = recording;
    }
}

fn play(mut replay: ResMut<Replay>, reel: Res<Reel>, mut shown: ResMut<Shown>, time: Res<Time<Real>>) {
    if !replay.open {
        // The attempt is left as it ended.
        if replay.drawn.take().is_some()
            && let Some(last) = reel.0.at(u32::MAX)
        {
            shown.0 = last.clone();
        }
        return;
    }
    replay.advance(time.delta_secs_f64(), &reel.0);
    let Some(frame) = reel.0.at(replay.tick()) else { return };
    if replay.drawn != Some(frame.tick.0) {
        replay.drawn = Some(frame.tick.0);
        shown.0 = frame.clone();
    }
}
