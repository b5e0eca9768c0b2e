//! The tutorial in the engine: it looks at the world after each tick of live hands.

use bevy::prelude::*;

use super::replay::Reel;
use super::ticking::{Live, OnStage, TickSystems};
use super::tutorial::Tutorial;

/// The tutorial, while there is one.
#[derive(Resource, Debug, Clone, Default)]
pub struct Lesson(pub Option<Tutorial>);

/// Adds the tutorial, if it is due.
pub fn plugin(app: &mut App) {
    let due = app.world().resource::<OnStage>().0.tutorial_due();
    app.insert_resource(Lesson(due.then(Tutorial::default))).add_systems(FixedUpdate, look.after(TickSystems::Step));
}

fn look(mut lesson: ResMut<Lesson>, mut stage: ResMut<OnStage>, live: Res<Live>, reel: Res<Reel>) {
    let Some(tutorial) = lesson.0.as_mut().filter(|tutorial| tutorial.task().is_some() && live.0.is_some()) else {
        return;
    };
    if let Some(world) = reel.0.at(u32::MAX) {
        tutorial.look(world);
    }
    if tutorial.task().is_none() {
        stage.0.tutorial_over();
    }
}
