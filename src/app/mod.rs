//! The window: the one place that names the engine, and inside it [`bodies`] the one that names the rigid bodies.
//!
//! The window shows a [`Stage`] and hands it commands; it never writes what is simulated. All ticks are asked for in
//! `FixedUpdate` and run in a thread of their own ([`beside`]); drawing follows them and is followed by nothing.
//!
//! A display and a driver are looked for before the engine starts ([`preflight`]), because the engine panics.

pub mod acts;
mod aside;
pub mod beside;
pub mod bodies;
pub mod camera;
pub mod cues;
pub mod devices;
pub mod film;
pub mod form;
pub mod frame;
pub mod ghost;
pub mod hands;
mod key_codes;
pub mod lesson;
pub mod pad;
pub mod panels;
pub mod plan;
pub mod preflight;
pub mod preset;
pub mod pulling;
pub mod replay;
mod screen;
mod screenshot;
pub mod stage;
mod steady;
pub mod ticking;
mod timing;
pub mod touch;
#[cfg(feature = "tracked-hands")]
pub mod tracked;
#[cfg(feature = "tracked-hands")]
pub mod tracked_port;
pub mod tutorial;
pub mod ui;
#[cfg(test)]
pub(crate) mod unseen;
pub mod view;
pub mod words;

use std::sync::{Arc, Mutex};

use bevy::app::AppExit;
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::render::settings::{RenderCreation, WgpuSettings};
use bevy::window::{PresentMode, WindowResolution};
use bevy_egui::EguiPlugin;

pub use self::preflight::{AdapterChoice, AdapterSummary, Lack, Missing};
pub use self::preset::Preset;
pub use self::screenshot::{Picture, ShotError, screenshot, screenshots};
pub use self::stage::{FileNews, FormSource, Measured, Newer, Replayed, Stage, ToPull};
pub use self::timing::{FrameCosts, frame_costs};

use self::acts::{Acts, Bound};
use self::beside::Beside;
use self::camera::Orbit;
use self::form::Form;
use self::pad::PadState;
use self::panels::Desk;
use self::ticking::{Marks, OnStage};
use self::view::{BenchThread, Detail, Shown, Site};
use self::words::Language;
use crate::input::bindings::Bindings;
use crate::scenario::schema::Scenario;
use crate::score::Score;

/// How the window opens.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct WindowOptions {
    /// Which driver draws.
    pub adapter: AdapterChoice,
    /// How much is drawn; `None` chooses by the driver.
    pub preset: Option<Preset>,
    /// Size of the window [pixel]; `None` chooses by the preset.
    pub size: Option<(u32, u32)>,
    /// The language that is spoken at first.
    pub language: Language,
    /// Whether the form of the case is to be seen at first.
    pub edit: bool,
    /// Close by itself after so many frames; `None` stays open.
    pub frames: Option<u32>,
    /// What every act is given by.
    pub bindings: Bindings,
    /// What to know about that, such as why a file was not taken; empty if nothing.
    pub about_bindings: String,
    /// Where tracked hands are heard; `None` opens no port.
    #[cfg(feature = "tracked-hands")]
    pub tracked_hands: Option<std::net::SocketAddr>,
}

/// What is around the thread.
#[derive(Debug, Clone)]
pub enum Scene {
    /// The mouth of a case.
    Mouth(Box<Scenario>),
    /// A bench with a knot on it.
    Bench {
        /// What the knot is called.
        title: String,
        /// Generic name of the thread's material; empty if that is not known.
        thread: String,
    },
}

impl Scene {
    /// Its title.
    #[must_use]
    pub fn title(&self) -> &str {
        match self {
            Scene::Mouth(scenario) => &scenario.title,
            Scene::Bench { title, .. } => title,
        }
    }
}

/// What is known once the window has closed.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// What drew.
    pub adapter: AdapterSummary,
    /// How much was drawn.
    pub preset: Preset,
    /// The marks, if the attempt was handed in.
    pub score: Option<Score>,
    /// Frames drawn.
    pub frames: u32,
    /// Median time of a frame [ms] over the second half of them: the first compile shaders. `None` if there were none.
    pub frame_ms: Option<f64>,
    /// Whether it closed because of an error.
    pub failed: bool,
}

/// Looks for what a window needs: a display and a driver.
///
/// # Errors
/// If one of them is missing; the error prints as three lines: what, how to get it, how to do without.
pub fn preflight(choice: &AdapterChoice) -> Result<AdapterSummary, Missing> {
    preflight::display(|name| std::env::var(name).ok())?;
    preflight::adapter(choice)
}

/// Every adapter that answers, one line each.
#[must_use]
pub fn adapters() -> Vec<String> {
    preflight::all(&AdapterChoice::default()).iter().map(ToString::to_string).collect()
}

/// Shows a stage in a window until it is closed.
///
/// # Errors
/// If a display or a driver is missing.
pub fn run(mut stage: Box<dyn Stage>, scene: &Scene, options: &WindowOptions) -> Result<Outcome, Missing> {
    let adapter = preflight(&options.adapter)?;
    let form = Form::of(stage.form_source(), options.edit);
    let preset = options.preset.unwrap_or_else(|| Preset::suited_to(&adapter));
    let mut app = quietly(|| open_window(&adapter, preset, scene, options))?;
    let diary = Arc::new(Mutex::new(Diary::default()));
    app.insert_resource(Detail(preset))
        .insert_resource(form)
        .insert_resource(options.language)
        .insert_resource(Bound::new(options.bindings.clone()))
        .insert_resource(KeepDiary { diary: Arc::clone(&diary), frames: options.frames });
    #[cfg(feature = "tracked-hands")]
    if let Some(address) = options.tracked_hands {
        app.insert_resource(tracked_port::TrackedPort::open(address));
    }
    // On a small window the card would lie over the field.
    play(&mut app, stage, scene, options.about_bindings.clone(), preset == Preset::Normal);
    app.world_mut().resource_mut::<Desk>().software = adapter.software;
    app.add_plugins((devices::plugin, camera::plugin, ghost::plugin)).add_systems(Last, keep_diary);
    let exit = app.run();
    let diary = diary.lock().map_or_else(|poisoned| poisoned.into_inner().clone(), |diary| diary.clone());
    Ok(Outcome {
        adapter,
        preset,
        score: diary.score,
        frames: u32::try_from(diary.frame_ms.len()).unwrap_or(u32::MAX),
        frame_ms: median(&diary.frame_ms[diary.frame_ms.len() / 2..]),
        failed: exit != AppExit::Success,
    })
}

/// What the window leaves behind.
#[derive(Debug, Clone, Default)]
struct Diary {
    score: Option<Score>,
    frame_ms: Vec<f64>,
}

#[derive(Resource)]
struct KeepDiary {
    diary: Arc<Mutex<Diary>>,
    frames: Option<u32>,
}

fn keep_diary(keep: Res<KeepDiary>, time: Res<Time<Real>>, marks: Res<Marks>, mut exit: MessageWriter<AppExit>) {
    let Ok(mut diary) = keep.diary.lock() else { return };
    diary.frame_ms.push(time.delta_secs_f64() * 1000.0);
    if marks.is_changed() {
        diary.score.clone_from(&marks.0);
    }
    if keep.frames.is_some_and(|frames| diary.frame_ms.len() >= frames as usize) {
        exit.write(AppExit::Success);
    }
}

fn median(numbers: &[f64]) -> Option<f64> {
    let mut sorted = numbers.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied()
}

/// What a window says of a case.
fn window_title(case: &str) -> String {
    format!("knotwright: {case}")
}

/// The engine with its window, which panics when the display does not answer.
fn open_window(adapter: &AdapterSummary, preset: Preset, scene: &Scene, options: &WindowOptions) -> App {
    let (width, height) = options.size.unwrap_or(preset.window_size());
    let window = Window {
        title: window_title(scene.title()),
        resolution: WindowResolution::new(width, height),
        // Waiting for the screen's beat would only slow a processor that draws slower than it.
        present_mode: if adapter.software { PresentMode::AutoNoVsync } else { PresentMode::AutoVsync },
        ..default()
    };
    let mut app = App::new();
    app.add_plugins(
        engine(Some(&options.adapter), false).set(WindowPlugin { primary_window: Some(window), ..default() }),
    );
    app
}

/// The engine's plugins, with the driver of a choice.
///
/// With `wait`, no frame is drawn before the shaders it needs are there.
fn engine(choice: Option<&AdapterChoice>, wait: bool) -> bevy::app::PluginGroupBuilder {
    let mut settings = WgpuSettings::default();
    if let Some(choice) = choice {
        if let Some(backend) = &choice.backend {
            settings.backends = Some(preflight::backends_named(backend));
        }
        settings.adapter_name.clone_from(&choice.name);
    }
    DefaultPlugins
        .set(RenderPlugin {
            render_creation: RenderCreation::Automatic(Box::new(settings)),
            synchronous_pipeline_compilation: wait,
            ..default()
        })
        .set(bevy::log::LogPlugin { level: bevy::log::Level::WARN, ..default() })
}

/// A stage played beside the app, with all that is drawn of it; needs [`Detail`] to be there.
fn play(app: &mut App, mut stage: Box<dyn Stage>, scene: &Scene, notice: String, show_help: bool) {
    if app.world().get_resource::<Bound>().is_some_and(Bound::mirrored) {
        stage.mirror();
    }
    app.insert_resource(Shown(stage.snapshot())).insert_resource(OnStage(Box::new(Beside::of(stage))));
    dress(app, scene, notice, show_help);
    app.add_plugins((ticking::plugin, pulling::plugin, lesson::plugin));
    if let Scene::Mouth(_) = scene {
        app.add_plugins(bodies::plugin);
    }
}

/// What window and picture have in common: what is around the thread, the view and the panels.
fn dress(app: &mut App, scene: &Scene, notice: String, show_help: bool) {
    app.init_resource::<Bound>().init_resource::<Acts>().init_resource::<PadState>();
    let mirrored = app.world().resource::<Bound>().mirrored();
    match scene {
        Scene::Mouth(scenario) => app.insert_resource(Site(plan::SitePlan::new(scenario, mirrored))),
        Scene::Bench { thread, .. } => app.insert_resource(BenchThread(thread.clone())),
    };
    app.insert_resource(Desk::new(scene, notice, show_help)).insert_resource(Orbit::at_first(scene)).add_plugins((
        EguiPlugin::default(),
        view::plugin,
        panels::plugin,
        screen::plugin,
        aside::plugin,
    ));
    // The panels belong to the camera that says so, and not to the first that comes.
    app.world_mut().resource_mut::<bevy_egui::EguiGlobalSettings>().auto_create_primary_context = false;
}

/// Runs what may panic because the display does not answer, and says so in our words.
fn quietly(open: impl FnOnce() -> App) -> Result<App, Missing> {
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let opened = std::panic::catch_unwind(std::panic::AssertUnwindSafe(open));
    std::panic::set_hook(hook);
    opened.map_err(|payload| {
        let text = payload.downcast_ref::<String>().map(String::as_str);
        let text = text.or_else(|| payload.downcast_ref::<&str>().copied()).unwrap_or("it does not answer");
        let first_line = text.lines().next().unwrap_or_default();
        Missing { lack: Lack::Display, found: first_line.to_owned() }
    })
}
