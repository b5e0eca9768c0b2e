//! What a frame costs here: a stage drawn without a window, a tick to each frame, as fast as it goes.

use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use bevy::prelude::*;
use bevy::time::TimeUpdateStrategy;

use super::preflight::{self, AdapterChoice, AdapterSummary, Missing};
use super::preset::Preset;
use super::screenshot::off_screen;
use super::view::{Detail, Shown};
use super::{OnStage, Scene, Stage, bodies, dress, lesson, pulling, ticking};
use crate::quantity::TICKS_PER_SECOND;

/// Frames that are not counted: shaders are compiled in them.
const WARM_UP: usize = 180;

/// What frames cost.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameCosts {
    /// What drew.
    pub adapter: AdapterSummary,
    /// How much was drawn.
    pub preset: Preset,
    /// Time from when this was asked for, before a driver was looked for, to the first picture [s].
    pub first_s: f64,
    /// Times of the frames after the first three seconds' worth, in order [ms]: a tick of the simulation, the panels and
    /// the picture handed to the driver.
    pub frame_ms: Vec<f64>,
}

impl FrameCosts {
    /// The time [ms] within which this `share` (0..=1) of the frames is done; `None` if there are none.
    #[must_use]
    pub fn within(&self, share: f64) -> Option<f64> {
        let mut sorted = self.frame_ms.clone();
        sorted.sort_by(f64::total_cmp);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a length")]
        let counted = (share.clamp(0.0, 1.0) * sorted.len() as f64).ceil() as usize;
        sorted.get(counted.saturating_sub(1)).copied()
    }
}

/// Draws so many `frames` of a stage in this size [pixel], and the warm-up before them.
///
/// # Errors
/// If nothing here can draw.
pub fn frame_costs(
    stage: Box<dyn Stage>,
    scene: &Scene,
    size: (u32, u32),
    frames: usize,
) -> Result<FrameCosts, Missing> {
    let (since, choice) = (now(), AdapterChoice::default());
    let adapter = preflight::adapter(&choice)?;
    let preset = Preset::suited_to(&adapter);
    let ends = Arc::new(Mutex::new(Vec::new()));
    let mut app = off_screen(Some(&choice), false, size);
    app.insert_resource(TimeUpdateStrategy::ManualDuration(Duration::from_secs(1) / TICKS_PER_SECOND))
        .insert_resource(Shown(stage.snapshot()))
        .insert_resource(OnStage(stage))
        .insert_resource(Detail(preset))
        .insert_resource(Clock { ends: Arc::clone(&ends), frames: WARM_UP + frames });
    dress(&mut app, scene, String::new(), false);
    app.add_plugins((ticking::plugin, pulling::plugin, lesson::plugin));
    if let Scene::Mouth(_) = scene {
        app.add_plugins(bodies::plugin);
    }
    app.add_systems(Last, note);
    app.run();
    let ends = ends.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    // The renderer is a frame behind.
    let first_s = ends.get(1).map_or(0.0, |end: &Instant| (*end - since).as_secs_f64());
    let counted = ends.windows(2).skip(WARM_UP).map(|pair| (pair[1] - pair[0]).as_secs_f64() * 1000.0);
    Ok(FrameCosts { adapter, preset, first_s, frame_ms: counted.collect() })
}

#[derive(Resource)]
struct Clock {
    /// When each frame ended.
    ends: Arc<Mutex<Vec<Instant>>>,
    frames: usize,
}

fn note(clock: Res<Clock>, mut exit: MessageWriter<AppExit>) {
    let Ok(mut ends) = clock.ends.lock() else { return };
    ends.push(now());
    if ends.len() > clock.frames {
        exit.write(AppExit::Success);
    }
}

#[expect(clippy::disallowed_methods, reason = "what the window costs is told by the clock")]
fn now() -> Instant {
    Instant::now()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ninety_nine_of_a_hundred_frames_are_within_the_last_but_one() {
        let adapter = AdapterSummary {
            name: "A".to_owned(),
            backend: "vulkan".to_owned(),
            driver: String::new(),
            software: false,
        };
        let frame_ms = (1..=100).rev().map(f64::from).collect();
        let costs = FrameCosts { adapter, preset: Preset::Normal, first_s: 0.0, frame_ms };
        assert_eq!([0.5, 0.99, 1.0].map(|share| costs.within(share)), [Some(50.0), Some(99.0), Some(100.0)]);
        assert_eq!(FrameCosts { frame_ms: Vec::new(), ..costs }.within(0.5), None);
    }
}
