//! What is worth hearing for who looks at the knot and not at the numbers: a short tone each, and always a line that says the same.
//!
//! The tones need the feature `audio`, the lines do not. What a case hides from the eye is not told to the ear either.

use core::time::Duration;

use bevy::prelude::*;

use super::panels::Desk;
use super::steady::Steady;
use super::ui::readout::LOOP_BAND_N;
use super::view::Shown;
use super::words::Language;
use crate::quantity::{MN_PER_N, Tick};
use crate::scenario::Aids;
use crate::simulation::snapshot::Readout;

/// Pale gum from which it is told [mm^2]; estimate, about what a loop's own width pales.
const PALE_MM2: f64 = 1.0;
/// What was told is told again only after it had fallen below this share of where it is told; estimate.
const REARMED: f64 = 0.5;
/// Time that a line stays to be read [s]; common practice, no source.
const CAPTION_S: f32 = 4.0;

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cue {
    /// Other throws are read than before; none if empty.
    Throws(String),
    /// The loop is tighter than a snug stitch's.
    Tight,
    /// Gum is pale.
    Pale,
}

impl Cue {
    /// What it is, in words.
    #[must_use]
    pub fn words(&self, language: Language) -> String {
        match self {
            Cue::Throws(none) if none.is_empty() => language.say("cue-no-throws"),
            Cue::Throws(throws) => language.tell("cue-throws", &[("throws", throws.clone())]),
            Cue::Tight => language.tell("cue-tight", &[("newton", language.number(LOOP_BAND_N[1], 2))]),
            Cue::Pale => language.say("cue-pale"),
        }
    }

    /// Its tone [Hz] and how long that is: what warns is lower and longer than what only tells.
    #[must_use]
    pub fn tone(&self) -> (f32, Duration) {
        match self {
            Cue::Throws(none) if none.is_empty() => (440.0, Duration::from_millis(120)),
            Cue::Throws(_) => (880.0, Duration::from_millis(120)),
            Cue::Tight => (330.0, Duration::from_millis(300)),
            Cue::Pale => (220.0, Duration::from_millis(450)),
        }
    }
}

/// What was told, and what may have to be.
#[derive(Resource, Debug, Clone, Default)]
pub struct Cues {
    /// The tick that was listened to last.
    last: Option<Tick>,
    /// The throws that were told last.
    told: String,
    /// The throws as they read now.
    reading: Steady<String>,
    tight: bool,
    pale: bool,
    /// What happened in this frame.
    heard: Vec<Cue>,
    /// What is told by the line that is shown, and the time for which it still is [s].
    caption: Option<(Cue, f32)>,
}

impl Cues {
    /// What the numbers of a tick have to tell that those before had not, as far as the case's aids show them.
    pub fn listen(&mut self, tick: Tick, now: &Readout, aids: &Aids) -> &[Cue] {
        self.heard.clear();
        let anew = self.last.is_none_or(|last| tick < last);
        let steady = self.reading.is(tick.0, &now.throws);
        if anew || !aids.throws {
            self.told.clone_from(&now.throws);
        } else if steady && self.told != now.throws {
            self.told.clone_from(&now.throws);
            self.heard.push(Cue::Throws(now.throws.clone()));
        }
        let loop_limit = LOOP_BAND_N[1] * MN_PER_N;
        let values = [(now.loop_tension_mn, loop_limit, Cue::Tight), (now.blanched_area_mm2, PALE_MM2, Cue::Pale)];
        for (above, (value, limit, cue)) in [&mut self.tight, &mut self.pale].into_iter().zip(values) {
            let before = std::mem::replace(above, value > limit || (*above && value > REARMED * limit));
            if *above && !before && aids.gauges && !anew {
                self.heard.push(cue);
            }
        }
        self.last = Some(tick);
        if let Some(cue) = self.heard.last() {
            self.caption = Some((cue.clone(), CAPTION_S));
        }
        &self.heard
    }

    /// The line to be shown; empty if there is none.
    #[must_use]
    pub fn caption(&self, language: Language) -> String {
        self.caption.as_ref().map(|(cue, _)| cue.words(language)).unwrap_or_default()
    }

    /// Lets the line go once it was there long enough; `seconds` have passed.
    pub fn fade(&mut self, seconds: f32) {
        let left = self.caption.take().map(|(cue, left)| (cue, left - seconds));
        self.caption = left.filter(|(_, left)| *left > 0.0);
    }
}

/// Adds what listens; needs [`Shown`] and [`Desk`] to be there.
pub fn plugin(app: &mut App) {
    app.init_resource::<Cues>().add_systems(Update, listen);
    #[cfg(feature = "audio")]
    app.add_systems(Update, sound.after(listen));
}

fn listen(mut cues: ResMut<Cues>, shown: Res<Shown>, desk: Res<Desk>, time: Res<Time<Real>>) {
    cues.fade(time.delta_secs());
    cues.listen(shown.0.tick, &shown.0.readout, desk.aids());
}

/// Sounds the tones; where no device answers, the engine says so once and the lines stay.
#[cfg(feature = "audio")]
fn sound(cues: Res<Cues>, mut commands: Commands, pitches: Option<ResMut<Assets<Pitch>>>) {
    let Some(mut pitches) = pitches else { return };
    for cue in &cues.heard {
        let (frequency, duration) = cue.tone();
        commands.spawn((AudioPlayer(pitches.add(Pitch::new(frequency, duration))), PlaybackSettings::DESPAWN));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: Aids = Aids { gauges: true, throws: true, ghost: true };

    fn readout(throws: &str, loop_n: f64, pale: f64) -> Readout {
        Readout {
            throws: throws.to_owned(),
            loop_tension_mn: loop_n * MN_PER_N,
            blanched_area_mm2: pale,
            ..Readout::default()
        }
    }

    /// What is told from tick to tick, each with the tick.
    fn told(readouts: &[Readout], aids: &Aids) -> Vec<(u32, Cue)> {
        let mut cues = Cues::default();
        let listened = (0..).zip(readouts).map(|(tick, now)| (tick, cues.listen(Tick(tick), now, aids).to_vec()));
        listened.flat_map(|(tick, heard)| heard.into_iter().map(move |cue| (tick, cue))).collect()
    }

    #[test]
    fn throws_are_told_once_they_have_been_read_for_half_a_second_and_when_they_are_gone() {
        let throws = |text: &str, ticks: usize| vec![readout(text, 0.0, 0.0); ticks];
        let read = [throws("", 10), throws("2", 29), throws("", 5), throws("2", 40), throws("", 40)].concat();
        assert_eq!(told(&read, &ALL), [(74, Cue::Throws("2".into())), (114, Cue::Throws(String::new()))]);
        assert_eq!(told(&read, &Aids { throws: false, ..ALL }), [], "a case may hide them");
    }

    #[test]
    fn a_tight_loop_and_pale_gum_are_told_when_they_come_and_not_while_they_waver() {
        let loop_n = [0.1, 0.21, 0.19, 0.21, 0.11, 0.25, 0.05, 0.21];
        let tight: Vec<_> = loop_n.iter().map(|&loop_n| readout("", loop_n, 0.0)).collect();
        assert_eq!(told(&tight, &ALL), [(1, Cue::Tight), (7, Cue::Tight)]);
        let pale: Vec<_> = [0.0, 1.2, 0.9, 1.4].iter().map(|&pale| readout("", 0.0, pale)).collect();
        assert_eq!(told(&pale, &ALL), [(1, Cue::Pale)]);
        let hidden = Aids { gauges: false, ..ALL };
        assert_eq!((told(&tight, &hidden), told(&pale, &hidden)), (vec![], vec![]));
    }

    #[test]
    fn what_is_so_at_first_or_where_an_attempt_begins_again_is_not_told() {
        let mut cues = Cues::default();
        assert_eq!(cues.listen(Tick(500), &readout("2=1", 1.0, 5.0), &ALL), []);
        assert_eq!(cues.listen(Tick(600), &readout("2=1", 1.0, 5.0), &ALL), []);
        assert_eq!(cues.listen(Tick(0), &readout("", 1.0, 5.0), &ALL), []);
        assert_eq!(cues.listen(Tick(100), &readout("", 1.0, 5.0), &ALL), []);
    }

    #[test]
    fn the_line_stays_as_long_as_it_takes_to_read_it() {
        let mut cues = Cues::default();
        cues.listen(Tick(0), &readout("", 0.0, 0.0), &ALL);
        cues.listen(Tick(1), &readout("", 0.3, 2.0), &ALL);
        assert_eq!(cues.caption(Language::English), "The gum pales", "what warns most stands there");
        cues.fade(CAPTION_S - 0.5);
        assert_eq!(cues.caption(Language::English), "The gum pales");
        cues.fade(1.0);
        assert_eq!(cues.caption(Language::English), "");
    }
}
