//! A picture without a window, by the same code that draws the window.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use bevy::app::ScheduleRunnerPlugin;
use bevy::camera::{RenderTarget, ShadowLodOrigin};
use bevy::prelude::*;
use bevy::render::render_resource::TextureFormat;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::window::ExitCondition;
use bevy::winit::WinitPlugin;
use bevy_egui::PrimaryEguiContext;

use super::camera::{Orbit, View};
use super::preflight::{self, AdapterChoice, Missing};
use super::preset::Preset;
use super::ticking::{Devices, Live, Marks, OnStage, Pace};
use super::view::{Detail, Shown};
use super::{Stage, dress, engine, view};
use crate::input::{HandCommand, TickCommand};
use crate::scenario::schema::Scenario;
use crate::score::Score;
use crate::simulation::snapshot::Snapshot;

/// Frames before the picture is taken: egui lays its panels out in the first and knows their sizes in the second; the
/// renderer is a frame behind.
const SETTLE: u32 = 6;

/// Frames after which a picture that never came is given up.
const PATIENCE: u32 = 600;

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum ShotError {
    /// Nothing here can draw.
    #[error(transparent)]
    Missing(#[from] Missing),
    /// The file could not be written.
    #[error("the picture could not be written to {}: {reason}", path.display())]
    Write {
        /// Where to.
        path: PathBuf,
        /// Why not.
        reason: String,
    },
    /// The renderer gave nothing.
    #[error("the renderer gave no picture in {PATIENCE} frames")]
    Nothing,
}

/// Draws a snapshot, and the marks if there are some, into a PNG file of `width` x `height` pixels.
///
/// One engine to a process: call it from a child process if more than one picture is wanted.
///
/// # Errors
/// If nothing here can draw, or the file cannot be written.
pub fn screenshot(
    snapshot: &Snapshot,
    scenario: &Scenario,
    score: Option<&Score>,
    width: u32,
    height: u32,
    path: &Path,
) -> Result<(), ShotError> {
    // A software adapter takes a second for a picture with everything on it, which nobody minds here.
    preflight::adapter(&AdapterChoice::default())?;
    let result = Arc::new(Mutex::new(Err(ShotError::Nothing)));
    let still = Still { snapshot: snapshot.clone(), score: score.cloned() };
    let mut app = App::new();
    app.add_plugins(engine(None, true).disable::<WinitPlugin>().set(WindowPlugin {
        primary_window: None,
        exit_condition: ExitCondition::DontExit,
        ..default()
    }))
    .add_plugins(ScheduleRunnerPlugin::default())
    .insert_resource(Shown(snapshot.clone()))
    .insert_resource(Detail(Preset::Normal))
    .insert_resource(OnStage(Box::new(still)))
    .insert_resource(Pace { paused: true, ..default() })
    .insert_resource(Marks(score.cloned()))
    .init_resource::<Live>()
    .init_resource::<Devices>()
    .insert_resource(Shot {
        size: UVec2::new(width, height),
        path: path.to_owned(),
        result: Arc::clone(&result),
    });
    dress(&mut app, scenario, String::new(), false);
    app.add_systems(Startup, spawn_camera).add_systems(Update, take);
    app.run();
    let mut result = result.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    std::mem::replace(&mut *result, Ok(()))
}

/// Where the picture goes.
#[derive(Resource)]
struct Shot {
    size: UVec2,
    path: PathBuf,
    result: Arc<Mutex<Result<(), ShotError>>>,
}

/// What the camera draws into.
#[derive(Resource)]
struct Film(Handle<Image>);

fn spawn_camera(mut commands: Commands, mut images: ResMut<Assets<Image>>, shot: Res<Shot>, detail: Res<Detail>) {
    let film = images.add(Image::new_target_texture(shot.size.x, shot.size.y, TextureFormat::Rgba8UnormSrgb, None));
    let eye = view::camera(detail.0, &mut images);
    let place = Orbit::of(View::Operator).transform();
    commands.spawn((eye, place, ShadowLodOrigin, PrimaryEguiContext, RenderTarget::Image(film.clone().into())));
    commands.insert_resource(Film(film));
}

fn take(mut commands: Commands, mut frame: Local<u32>, film: Res<Film>, mut exit: MessageWriter<AppExit>) {
    *frame += 1;
    if *frame == SETTLE {
        commands.spawn(Screenshot::image(film.0.clone())).observe(save);
    } else if *frame > PATIENCE {
        exit.write(AppExit::error());
    }
}

fn save(captured: On<ScreenshotCaptured>, shot: Res<Shot>, mut exit: MessageWriter<AppExit>) {
    let failed = |reason: String| ShotError::Write { path: shot.path.clone(), reason };
    let written = captured
        .image
        .clone()
        .try_into_dynamic()
        .map_err(|error| failed(error.to_string()))
        .and_then(|image| image.to_rgb8().save(&shot.path).map_err(|error| failed(error.to_string())));
    if let Ok(mut result) = shot.result.lock() {
        *result = written;
    }
    exit.write(AppExit::Success);
}

/// A stage on which nothing moves.
struct Still {
    snapshot: Snapshot,
    score: Option<Score>,
}

impl Stage for Still {
    fn tick(&mut self, _hands: Option<&TickCommand>) {}

    fn snapshot(&self) -> Snapshot {
        self.snapshot.clone()
    }

    fn current_command(&self) -> TickCommand {
        let [right, left] = self.snapshot.tools.each_ref().map(|tool| {
            let opening = tool.gap / tool.kind.design().gap_max;
            HandCommand::new(tool.pose, opening)
        });
        TickCommand { right, left, events: Vec::new() }
    }

    fn finished(&self) -> Option<Score> {
        self.score.clone()
    }
}
