//! The demonstration's hands beside one's own, from the same point of the work: after the same bites and throws.
//!
//! The demonstration is carried out once in the background. Its ghost plays the stretch from what one's own stitch has come to,
//! to what comes next, again and again; in a replay it goes along with the hands that are gone through.

use std::ops::Range;
use std::sync::mpsc::Receiver;
use std::sync::{Mutex, PoisonError};

use bevy::ecs::system::SystemParam;
use bevy::prelude::*;

use super::acts::{ActSystems, Acts};
use super::lesson::Lesson;
use super::panels::Desk;
use super::replay::{Reel, Replay, ReplaySystems};
use super::steady::Steady;
use super::ticking::{Live, Marks, OnStage};
use super::view::{Detail, GhostShown, Shown, ViewSystems};
use crate::input::bindings::Act;
use crate::quantity::TICKS_PER_SECOND;
use crate::simulation::snapshot::{OWN_HANDS, Readout, Snapshot};

/// Time that the ghost rests at the end of its stretch before it begins again [tick]; estimate.
const REST_TICKS: u32 = TICKS_PER_SECOND;

/// How far a stitch has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Progress {
    /// Bites that have been taken in the whole attempt.
    pub bites: u32,
    /// Throws of the stitch at hand.
    pub throws: usize,
}

/// Follows how far an attempt has come.
#[derive(Debug, Clone, Default)]
pub struct Follower {
    /// How far it is.
    pub at: Progress,
    /// Since which tick.
    pub since: u32,
    /// Throws as they are read now.
    read: Steady<usize>,
}

impl Follower {
    /// How far an attempt has come by the last of its frames.
    #[must_use]
    pub fn of<'a>(frames: impl Iterator<Item = &'a Snapshot>) -> Follower {
        let mut follower = Follower::default();
        frames.for_each(|frame| follower.follow(frame.tick.0, &frame.readout));
        follower
    }

    /// Takes what is read at a tick.
    pub fn follow(&mut self, tick: u32, readout: &Readout) {
        let throws = readout.half_knots.len();
        let steady = self.read.is(tick, &throws);
        let now = Progress { bites: readout.bites, throws: if steady { throws } else { self.at.throws } };
        if now != self.at || tick < self.since {
            (self.at, self.since) = (now, tick);
        }
    }
}

/// The demonstration as far as it has been carried out.
#[derive(Debug, Clone, Default)]
pub struct Shadow {
    follower: Follower,
    frames: Vec<(Progress, Snapshot)>,
}

impl Shadow {
    /// Takes its next frame, less what is not drawn of it: there are thousands.
    pub fn take(&mut self, mut frame: Snapshot) {
        self.follower.follow(frame.tick.0, &frame.readout);
        for flap in &mut frame.flaps {
            (flap.points, flap.blanch, flap.redness) = (Vec::new(), Vec::new(), Vec::new());
        }
        frame.tools.iter_mut().for_each(|tool| tool.cones = Vec::new());
        self.frames.push((self.follower.at, frame));
    }

    /// The stretch that begins where it has come this far, and ends where it has come farther; `None` if it never is just there.
    #[must_use]
    pub fn stretch(&self, from: Progress) -> Option<Range<usize>> {
        let start = self.frames.iter().position(|(at, _)| *at == from)?;
        let length = self.frames[start..].iter().position(|(at, _)| *at > from);
        Some(start..length.map_or(self.frames.len(), |length| start + length))
    }

    /// What it shows so many ticks after an attempt came this far: again and again from the start, or once and then its end.
    #[must_use]
    pub fn at(&self, from: Progress, after: u32, again: bool) -> Option<&Snapshot> {
        let stretch = self.stretch(from)?;
        let first = self.frames[stretch.start].1.tick.0;
        let (_, last) = &self.frames[stretch.end - 1];
        let length = last.tick.0 - first;
        let after = if again { after % (length + REST_TICKS) } else { after };
        let to_come = self.frames[stretch].iter().find(|(_, frame)| frame.tick.0 >= first + after);
        Some(to_come.map_or(last, |(_, frame)| frame))
    }
}

/// The ghost.
#[derive(Resource, Default)]
pub struct Ghost {
    wanted: bool,
    /// Whether the demonstration was asked for.
    asked: bool,
    /// It, on its way; `None` if there is none.
    news: Option<Mutex<Receiver<Snapshot>>>,
    shadow: Shadow,
    /// The attempt that is tied.
    own: Follower,
}

impl Ghost {
    /// Takes the frames of the demonstration that have come.
    fn look(&mut self) {
        let Some(news) = &mut self.news else { return };
        let come: Vec<Snapshot> = news.get_mut().unwrap_or_else(PoisonError::into_inner).try_iter().collect();
        come.into_iter().for_each(|frame| self.shadow.take(frame));
    }

    /// Forgets how far the attempt was, for another begins; and the demonstration, if the case is another.
    pub(super) fn begin(&mut self, other_case: bool) {
        self.own = Follower::default();
        if other_case {
            (self.asked, self.news, self.shadow) = (false, None, Shadow::default());
        }
    }
}

/// Adds the ghost; where a processor draws, it has to be asked for.
pub(super) fn plugin(app: &mut App) {
    app.add_systems(Startup, |mut ghost: ResMut<Ghost>, detail: Res<Detail>| ghost.wanted = detail.0.ghost())
        .add_systems(Update, (toggle.after(ActSystems), haunt).chain().after(ReplaySystems).before(ViewSystems));
}

fn toggle(mut ghost: ResMut<Ghost>, acts: Res<Acts>) {
    if acts.began(Act::Ghost) {
        ghost.wanted = !ghost.wanted;
    }
}

/// What the ghost goes by.
#[derive(SystemParam)]
struct Seen<'w> {
    shown: Res<'w, Shown>,
    live: Res<'w, Live>,
    replay: Res<'w, Replay>,
    marks: Res<'w, Marks>,
    reel: Res<'w, Reel>,
    desk: Res<'w, Desk>,
    lesson: Res<'w, Lesson>,
}

/// Shows the ghost beside hands that tie, as far as the case allows it, or that are gone through.
fn haunt(mut ghost: ResMut<Ghost>, mut stage: ResMut<OnStage>, mut drawn: ResMut<GhostShown>, seen: Seen) {
    let now = &seen.shown.0;
    let tick = now.tick.0;
    let tying = seen.live.0.is_some();
    if tying {
        ghost.own.follow(tick, &now.readout);
    }
    // A script is its own demonstration.
    let looking_back = seen.replay.open && seen.marks.0.is_some() && now.readout.phase == OWN_HANDS;
    // A tutorial has tasks of its own.
    let beside = tying && seen.desk.aids().ghost && seen.lesson.0.is_none();
    if !ghost.wanted || !(looking_back || beside) {
        drawn.set_if_neq(GhostShown(None));
        return;
    }
    if !std::mem::replace(&mut ghost.asked, true) {
        ghost.news = stage.0.demonstration().map(Mutex::new);
    }
    ghost.look();
    let then = if tying { ghost.own.clone() } else { Follower::of(seen.reel.0.up_to(tick)) };
    let frame = ghost.shadow.at(then.at, tick.saturating_sub(then.since), tying).cloned();
    drawn.set_if_neq(GhostShown(frame));
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::{AtomicU32, Ordering};

    use super::*;
    use crate::app::hands::Hands;
    use crate::app::steady::STEADY_TICKS;
    use crate::app::tutorial::Tutorial;
    use crate::app::{Scene, Stage};
    use crate::input::{HandCommand, TickCommand};
    use crate::instruments::Kind;
    use crate::math::{DQuat, DVec3, Pose};
    use crate::quantity::Tick;
    use crate::said::Said;
    use crate::score::Score;
    use crate::simulation::snapshot::{FlapView, ToolView};
    use crate::topology::HalfKnot;

    fn readout(bites: u32, throws: usize) -> Readout {
        Readout { bites, half_knots: vec![HalfKnot { wraps: 1, handedness: 1 }; throws], ..Readout::default() }
    }

    /// What is read from tick to tick: bites, throws and how many ticks.
    fn course(parts: &[(u32, usize, usize)]) -> Vec<Readout> {
        parts.iter().flat_map(|&(bites, throws, ticks)| vec![readout(bites, throws); ticks]).collect()
    }

    fn progress(bites: u32, throws: usize) -> Progress {
        Progress { bites, throws }
    }

    #[test]
    fn throws_count_once_they_are_steady_and_bites_at_once() {
        let mut follower = Follower::default();
        let mut came = Vec::new();
        for (tick, now) in (0..).zip(course(&[(0, 0, 10), (1, 0, 10), (2, 0, 5), (2, 1, 20), (2, 0, 5), (2, 1, 40)])) {
            follower.follow(tick, &now);
            if came.last().is_none_or(|(_, at)| *at != follower.at) {
                came.push((tick, follower.at));
            }
        }
        let steady = 50 + STEADY_TICKS;
        assert_eq!(came, [(0, progress(0, 0)), (10, progress(1, 0)), (20, progress(2, 0)), (steady, progress(2, 1))]);
    }

    /// A field in which there is nothing but two instruments.
    fn still() -> Snapshot {
        let tool = |kind| ToolView {
            kind,
            pose: Pose { position: DVec3::ZERO, rotation: DQuat::IDENTITY },
            gap: 0.0,
            cones: Vec::new(),
        };
        let (points, blanch, redness) = (Vec::new(), Vec::new(), Vec::new());
        let flap = FlapView { columns: 0, rows: 0, points, blanch, redness, thickness: 1.0 };
        Snapshot {
            tick: Tick(0),
            strands: Vec::new(),
            thread_radius: 0.1,
            tools: [Kind::NeedleHolder, Kind::Forceps].map(tool),
            needle: Vec::new(),
            needle_radius: 0.2,
            flaps: [flap.clone(), flap],
            readout: Readout::default(),
        }
    }

    fn shadow() -> Shadow {
        let mut shadow = Shadow::default();
        for (tick, readout) in (0..).zip(course(&[(0, 0, 100), (2, 0, 100), (2, 1, 100), (2, 2, 100)])) {
            shadow.take(Snapshot { tick: Tick(tick), readout, ..still() });
        }
        shadow
    }

    #[test]
    fn the_ghost_plays_from_where_the_attempt_is_to_what_comes_next_and_again() {
        let shadow = shadow();
        let at = |from, after, again| shadow.at(from, after, again).map(|frame| frame.tick.0);
        assert_eq!(at(progress(0, 0), 7, true), Some(7));
        assert_eq!(at(progress(2, 0), 0, true), Some(100));
        let end = 200 + STEADY_TICKS - 1;
        assert_eq!(at(progress(2, 0), end - 100 + 5, true), Some(end), "it rests at its end");
        assert_eq!(at(progress(2, 0), end - 100 + REST_TICKS + 3, true), Some(103), "and begins again");
        assert_eq!(at(progress(2, 0), 5000, false), Some(end), "a replay's stays there");
        assert_eq!(at(progress(2, 3), 0, true), None, "the demonstration never has so many throws");
        assert_eq!(at(progress(1, 0), 0, true), None, "nor a bite alone");
    }

    /// A stage whose demonstration goes on for ever with no bite taken.
    struct Demonstrating {
        asked: Arc<AtomicU32>,
    }

    impl Stage for Demonstrating {
        fn tick(&mut self, _hands: Option<&TickCommand>) {}

        fn snapshot(&self) -> Snapshot {
            still()
        }

        fn current_command(&self) -> TickCommand {
            let hand = HandCommand::new(still().tools[0].pose, 0.0);
            TickCommand { right: hand, left: hand, events: Vec::new() }
        }

        fn finished(&self) -> Option<Score> {
            None
        }

        fn demonstration(&mut self) -> Option<Receiver<Snapshot>> {
            self.asked.fetch_add(1, Ordering::Relaxed);
            let (sender, frames) = std::sync::mpsc::channel();
            (0..200).for_each(|tick| drop(sender.send(Snapshot { tick: Tick(tick), ..still() })));
            Some(frames)
        }
    }

    fn marks() -> Score {
        Score {
            total: 0.0,
            pass_mark: 70.0,
            passed: false,
            reasons: Vec::new(),
            criteria: Vec::new(),
            critical: Vec::new(),
            site: None,
            one_thing_to_change: Said::default(),
        }
    }

    /// Whether a ghost is seen: beside hands that tie where the case allows it or not, in a tutorial or not.
    fn seen(live: bool, allowed: bool, tutorial: bool, replayed: Option<&str>) -> (bool, u32) {
        let asked = Arc::<AtomicU32>::default();
        let stage = Demonstrating { asked: Arc::clone(&asked) };
        let hands = live.then(|| Hands::take_over(&stage.current_command(), 100.0));
        let phase = replayed.unwrap_or(OWN_HANDS).to_owned();
        let now = Snapshot { tick: Tick(50), readout: Readout { phase, ..Readout::default() }, ..still() };
        let mut scenario =
            crate::scenario::parse("x", include_str!("../../scenarios/first_stitch.ron")).expect("shipped");
        scenario.aids.ghost = allowed;
        let (mut replay, mut reel) = (Replay::default(), Reel::default());
        replay.open(replayed.is_some());
        reel.0.take(now.clone());
        let mut app = App::new();
        app.insert_resource(Ghost { wanted: true, ..Ghost::default() })
            .insert_resource(OnStage(Box::new(stage)))
            .insert_resource(GhostShown::default())
            .insert_resource(Shown(now))
            .insert_resource(Live(hands))
            .insert_resource(Marks(replayed.map(|_| marks())))
            .insert_resource(Desk::new(&Scene::Mouth(Box::new(scenario)), String::new(), false))
            .insert_resource(Lesson(tutorial.then(Tutorial::default)))
            .insert_resource(replay)
            .insert_resource(reel)
            .add_systems(Update, haunt);
        app.update();
        app.update();
        (app.world().resource::<GhostShown>().0.is_some(), asked.load(Ordering::Relaxed))
    }

    #[test]
    fn the_ghost_is_seen_where_a_case_has_it_and_in_the_replay_of_ones_own_hands() {
        assert_eq!(seen(true, true, false, None), (true, 1), "it is carried out once");
        assert_eq!(seen(true, false, false, None), (false, 0), "the case has no such aid");
        assert_eq!(seen(true, true, true, None), (false, 0), "a tutorial has tasks of its own");
        assert_eq!(seen(false, true, false, None), (false, 0), "the script plays");
        assert_eq!(seen(false, false, false, Some(OWN_HANDS)), (true, 1), "looking back hides nothing");
        assert_eq!(seen(false, true, false, Some("Second throw")), (false, 0), "a script is its own demonstration");
    }
}
