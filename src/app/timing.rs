//! What a frame costs here: a stage drawn without a window, at the beat of a screen, while its simulation goes on.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use bevy::app::{AppExit, PluginsState};
use bevy::prelude::*;

use super::preflight::{self, AdapterChoice, AdapterSummary, Missing};
use super::preset::Preset;
use super::screenshot::off_screen;
use super::view::{Detail, Shown};
use super::{Scene, Stage, play};
use crate::quantity::Tick;

/// Frames that begin within this time are not counted: shaders are compiled in them.
const WARM_UP: Duration = Duration::from_secs(3);

/// Time from one frame's beginning to the next one's on a common screen.
const BEAT: Duration = Duration::from_nanos(16_666_667);

/// What frames cost.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameCosts {
    /// What drew.
    pub adapter: AdapterSummary,
    /// How much was drawn.
    pub preset: Preset,
    /// Time from when this was asked for, before a driver was looked for, to the first picture [s].
    pub first_s: f64,
    /// Work of each frame after the first three seconds, in order [ms]: the panels, the meshes and the picture handed
    /// to the driver, with the wait for the picture before it. The tick runs beside it.
    pub frame_ms: Vec<f64>,
    /// Simulated time that passed in the time of those frames, as long as the attempt went on [1]; 1 is real time.
    pub real_time_share: f64,
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

/// Draws so many `frames` of a stage in this size [pixel], and those of the warm-up before them.
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
    let mut app = off_screen(Some(&choice), false, size);
    app.insert_resource(Detail(preset));
    play(&mut app, stage, scene, String::new(), false);
    let clocked = Arc::new(Mutex::new(Vec::new()));
    let kept = Arc::clone(&clocked);
    app.set_runner(move |app| {
        let drawn = draw(app, frames);
        if let Ok(mut kept) = kept.lock() {
            *kept = drawn;
        }
        AppExit::Success
    });
    app.run();
    let all = std::mem::take(&mut *clocked.lock().unwrap_or_else(PoisonError::into_inner));
    // The renderer is a frame behind.
    let first_s = all.get(1).map_or(0.0, |frame| (frame.end - since).as_secs_f64());
    let counted = &all[all.len().saturating_sub(frames)..];
    let frame_ms = counted.iter().map(|frame| (frame.end - frame.begin).as_secs_f64() * 1000.0).collect();
    Ok(FrameCosts { adapter, preset, first_s, frame_ms, real_time_share: real_time_share(counted) })
}

/// A frame by the clock.
struct Clocked {
    begin: Instant,
    end: Instant,
    /// The tick that it shows.
    tick: Tick,
}

/// Simulated time over the clock's, until the last frame that showed a new tick.
fn real_time_share(frames: &[Clocked]) -> f64 {
    let Some(first) = frames.first() else { return 0.0 };
    let last = frames.windows(2).rev().find(|pair| pair[0].tick != pair[1].tick).map(|pair| &pair[1]);
    last.map_or(0.0, |last| Tick(last.tick.0 - first.tick.0).seconds() / (last.begin - first.begin).as_secs_f64())
}

/// Draws the warm-up's frames and then so many more, each at a beat, or at once where the one before took longer.
fn draw(mut app: App, count: usize) -> Vec<Clocked> {
    while app.plugins_state() == PluginsState::Adding {
        bevy::tasks::tick_global_task_pools_on_main_thread();
    }
    app.finish();
    app.cleanup();
    let since = now();
    let (mut frames, mut counted) = (Vec::new(), 0);
    while counted < count {
        let begin = now();
        app.update();
        let end = now();
        frames.push(Clocked { begin, end, tick: app.world().resource::<Shown>().0.tick });
        counted += usize::from(begin - since >= WARM_UP);
        std::thread::sleep(BEAT.saturating_sub(end - begin));
    }
    frames
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
        let costs = FrameCosts { adapter, preset: Preset::Normal, first_s: 0.0, frame_ms, real_time_share: 1.0 };
        assert_eq!([0.5, 0.99, 1.0].map(|share| costs.within(share)), [Some(50.0), Some(99.0), Some(100.0)]);
        assert_eq!(FrameCosts { frame_ms: Vec::new(), ..costs }.within(0.5), None);
    }

    #[test]
    fn simulated_time_is_held_against_the_clocks_only_while_the_attempt_goes_on() {
        let since = now();
        let frame = |(place, tick): (u32, u32)| {
            let begin = since + place * Duration::from_millis(100);
            Clocked { begin, end: begin + Duration::from_millis(80), tick: Tick(tick) }
        };
        // Three of six ticks that a tenth of a second has; then it is over.
        let frames: Vec<Clocked> = (0..).zip([7, 10, 13, 13, 13]).map(frame).collect();
        assert!((real_time_share(&frames) - 0.5).abs() < 1e-9, "{}", real_time_share(&frames));
        assert!(real_time_share(&frames[3..]) + real_time_share(&[]) < 1e-9);
    }
}
