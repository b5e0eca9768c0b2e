//! Time in the window: fixed ticks, slower or stopped as wanted, and never more of them than a frame can bear.

use std::sync::Arc;
use std::time::Duration;

use bevy::prelude::*;

use super::bodies::TipsBefore;
use super::hands::{Hands, Input};
use super::replay::{Reel, Replay, ReplaySystems};
use super::stage::{CATCH_UP, Measured, Stage};
use super::ui::Speed;
use super::view::Shown;
use crate::input::TickCommand;
use crate::quantity::TICKS_PER_SECOND;
use crate::score::Score;

/// The stages of one tick, in order. All run in `FixedUpdate`.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub enum TickSystems {
    /// Devices move the live hands.
    Move,
    /// Teeth and bone stop them.
    Stop,
    /// The attempt takes one tick.
    Step,
}

/// What is played.
#[derive(Resource)]
pub struct OnStage(pub Box<dyn Stage>);

/// The user's hands, while they are live.
#[derive(Resource, Debug, Clone, Default)]
pub struct Live(pub Option<Hands>);

/// What the devices did since the last tick.
#[derive(Resource, Debug, Clone, Copy, Default)]
pub struct Devices(pub Input);

/// How time passes.
#[derive(Resource, Debug, Clone, PartialEq, Default)]
pub struct Pace {
    /// It stands still.
    pub paused: bool,
    /// How fast it passes otherwise.
    pub speed: Speed,
    /// Single ticks asked for while it stands still.
    pub steps: u32,
}

/// The marks, once the attempt has been handed in.
#[derive(Resource, Debug, Clone, Default)]
pub struct Marks(pub Option<Score>);

/// What they rest on.
#[derive(Resource, Debug, Clone, Default)]
pub struct Evidence(pub Option<Arc<Measured>>);

/// Adds the clock and the tick; needs [`OnStage`] and [`Shown`] to be there.
pub fn plugin(app: &mut App) {
    let tips = app.world().resource::<Shown>().0.tools.each_ref().map(|tool| tool.pose);
    let tick = Duration::from_secs(1) / TICKS_PER_SECOND;
    let mut clock = Time::<Virtual>::default();
    clock.set_max_delta(tick * app.world().resource::<OnStage>().0.catch_up());
    app.insert_resource(Time::<Fixed>::from_duration(tick))
        .insert_resource(clock)
        .insert_resource(TipsBefore(tips))
        .init_resource::<Live>()
        .init_resource::<Devices>()
        .init_resource::<Pace>()
        .init_resource::<Marks>()
        .init_resource::<Evidence>()
        .add_plugins(super::replay::plugin)
        .configure_sets(
            FixedUpdate,
            (TickSystems::Move, TickSystems::Stop, TickSystems::Step).chain().run_if(takes_a_tick),
        )
        .add_systems(FixedUpdate, move_hands.in_set(TickSystems::Move))
        .add_systems(FixedUpdate, step_stage.in_set(TickSystems::Step))
        .add_systems(PreUpdate, (look_first, set_clock, single_steps).chain())
        .add_systems(Update, look_at_stage.before(ReplaySystems));
}

fn move_hands(mut live: ResMut<Live>, mut devices: ResMut<Devices>, mut before: ResMut<TipsBefore>) {
    let Some(hands) = live.0.as_mut() else { return };
    before.0 = hands.hands.map(|hand| hand.pose);
    hands.advance(&devices.0);
    devices.0 = devices.0.spent();
}

/// What was done while the picture before was drawn waits no more when this one's ticks are counted: else every other picture
/// would bring none.
fn look_first(mut stage: ResMut<OnStage>) {
    stage.0.look();
}

/// Whether the stage takes one more tick: what waits is no more than this picture brought, or than may be caught up.
///
/// Hands must not move on without it, for a hand moves once in a tick.
fn takes_a_tick(stage: Res<OnStage>, clock: Res<Time<Virtual>>, tick: Res<Time<Fixed>>) -> bool {
    let brought = clock.delta_secs_f64() / tick.timestep().as_secs_f64();
    (stage.0.waiting() as f64) < brought.max(f64::from(CATCH_UP))
}

fn step_stage(mut stage: ResMut<OnStage>, mut live: ResMut<Live>, replay: Res<Replay>, marks: Res<Marks>) {
    let waits = stage.0.waits_for_hands() && live.0.is_none();
    if marks.0.is_some() || replay.open || stage.0.offer().is_some() || waits {
        return;
    }
    let command: Option<TickCommand> = live.0.as_mut().map(Hands::command);
    stage.0.tick(command.as_ref());
}

fn set_clock(pace: Res<Pace>, stage: Res<OnStage>, mut clock: ResMut<Time<Virtual>>) {
    // What is being worked out is asked for in ticks.
    if pace.paused && stage.0.busy().is_none() {
        clock.pause();
    } else {
        clock.unpause();
    }
    clock.set_relative_speed(pace.speed.factor());
}

fn single_steps(world: &mut World) {
    let steps = std::mem::take(&mut world.resource_mut::<Pace>().bypass_change_detection().steps);
    for _ in 0..steps.min(CATCH_UP) {
        world.run_schedule(FixedUpdate);
    }
}

/// Takes what has come of the ticks, and of what is carried out beside them.
fn look_at_stage(
    mut stage: ResMut<OnStage>,
    mut reel: ResMut<Reel>,
    mut shown: ResMut<Shown>,
    mut marks: ResMut<Marks>,
    mut evidence: ResMut<Evidence>,
    mut live: ResMut<Live>,
    replay: Res<Replay>,
) {
    let before = reel.0.span();
    stage.0.frames().into_iter().for_each(|frame| reel.0.take(frame));
    if let Some(last) = reel.0.at(u32::MAX).filter(|_| !replay.open && reel.0.span() != before) {
        shown.0.clone_from(last);
    }
    if marks.0.is_none()
        && let Some(score) = stage.0.finished()
    {
        marks.0 = Some(score);
        evidence.0 = stage.0.measured().map(Arc::new);
        // Keys are the panels' again.
        live.0 = None;
    }
}
