//! Time in the window: fixed ticks, slower or stopped as wanted, and never more of them than a frame can bear.

use std::time::Duration;

use bevy::prelude::*;

use super::bodies::TipsBefore;
use super::hands::{Hands, Input};
use super::replay::{Reel, Replay};
use super::stage::Stage;
use super::ui::Speed;
use super::view::{Shown, ViewSystems};
use crate::input::TickCommand;
use crate::quantity::TICKS_PER_SECOND;
use crate::score::Score;

/// Ticks that one frame may catch up. Beyond it simulated time falls behind the clock instead of taking ever longer.
pub const CATCH_UP: u32 = 3;

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

/// Whether the stage has moved since it was last looked at.
#[derive(Resource, Default)]
struct Moved(bool);

/// Adds the clock and the tick; needs [`OnStage`] and [`Shown`] to be there.
pub fn plugin(app: &mut App) {
    let tips = app.world().resource::<Shown>().0.tools.each_ref().map(|tool| tool.pose);
    let tick = Duration::from_secs(1) / TICKS_PER_SECOND;
    let mut clock = Time::<Virtual>::default();
    clock.set_max_delta(tick * CATCH_UP);
    app.insert_resource(Time::<Fixed>::from_duration(tick))
        .insert_resource(clock)
        .insert_resource(TipsBefore(tips))
        .init_resource::<Live>()
        .init_resource::<Devices>()
        .init_resource::<Pace>()
        .init_resource::<Marks>()
        .init_resource::<Moved>()
        .add_plugins(super::replay::plugin)
        .configure_sets(FixedUpdate, (TickSystems::Move, TickSystems::Stop, TickSystems::Step).chain())
        .add_systems(FixedUpdate, move_hands.in_set(TickSystems::Move))
        .add_systems(FixedUpdate, step_stage.in_set(TickSystems::Step))
        .add_systems(PreUpdate, (set_clock, single_steps).chain())
        .add_systems(Update, look_at_stage.before(ViewSystems));
}

fn move_hands(mut live: ResMut<Live>, mut devices: ResMut<Devices>, mut before: ResMut<TipsBefore>) {
    let Some(hands) = live.0.as_mut() else { return };
    before.0 = hands.hands.map(|hand| hand.pose);
    hands.advance(&devices.0);
    devices.0 = devices.0.spent();
}

fn step_stage(
    mut stage: ResMut<OnStage>,
    mut live: ResMut<Live>,
    mut reel: ResMut<Reel>,
    replay: Res<Replay>,
    marks: Res<Marks>,
    mut moved: ResMut<Moved>,
) {
    let waits = stage.0.waits_for_hands() && live.0.is_none();
    if marks.0.is_some() || replay.open || stage.0.offer().is_some() || waits {
        return;
    }
    let command: Option<TickCommand> = live.0.as_mut().map(Hands::command);
    stage.0.tick(command.as_ref());
    reel.0.take(stage.0.snapshot());
    moved.0 = true;
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

fn look_at_stage(
    stage: Res<OnStage>,
    mut moved: ResMut<Moved>,
    mut shown: ResMut<Shown>,
    mut marks: ResMut<Marks>,
    mut live: ResMut<Live>,
) {
    if !std::mem::take(&mut moved.0) {
        return;
    }
    shown.0 = stage.0.snapshot();
    if let Some(score) = stage.0.finished() {
        marks.0 = Some(score);
        // Keys are the panels' again.
        live.0 = None;
    }
}
