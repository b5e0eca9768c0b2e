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

use super::camera::{Eye, Orbit};
use super::lesson::Lesson;
use super::panels::Posed;
use super::preflight::{self, AdapterChoice, Missing};
use super::preset::Preset;
use super::pulling::Pulls;
use super::replay::{Reel, Replay};
use super::ticking::{Devices, Evidence, Live, Marks, OnStage, Pace};
use super::ui::Model;
use super::view::{Detail, Shown};
use super::{Scene, Stage, dress, engine, view};
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

/// What a picture shows.
#[derive(Debug, Clone)]
pub struct Picture {
    /// The world.
    pub snapshot: Snapshot,
    /// What is around the thread.
    pub scene: Scene,
    /// The panels.
    pub panels: Model,
    /// Width and height [pixel].
    pub size: (u32, u32),
}

impl Picture {
    /// A moment of an attempt that stands still, with its marks over it if there are some.
    #[must_use]
    pub fn of(snapshot: &Snapshot, scenario: &Scenario, score: Option<&Score>, size: (u32, u32)) -> Picture {
        let panels = Model {
            title: scenario.title.clone(),
            case_text: scenario.case_text.clone(),
            readout: snapshot.readout.clone(),
            seconds: snapshot.tick.seconds(),
            paused: true,
            score: score.cloned(),
            show_debrief: true,
            ..Model::default()
        };
        Picture { snapshot: snapshot.clone(), scene: Scene::Mouth(Box::new(scenario.clone())), panels, size }
    }
}

/// Draws a picture into a PNG file.
///
/// One engine to a process: call it from a child process if more than one picture is wanted.
///
/// # Errors
/// If nothing here can draw, or the file cannot be written.
pub fn screenshot(picture: &Picture, path: &Path) -> Result<(), ShotError> {
    // A software adapter takes a second for a picture with everything on it, which nobody minds here.
    preflight::adapter(&AdapterChoice::default())?;
    let result = Arc::new(Mutex::new(Err(ShotError::Nothing)));
    let mut app = off_screen(None, true, picture.size);
    app.insert_resource(Shown(picture.snapshot.clone()))
        .insert_resource(Detail(Preset::Normal))
        .insert_resource(OnStage(Box::new(Still { snapshot: picture.snapshot.clone() })))
        .insert_resource(Posed(picture.panels.clone()))
        .init_resource::<Pace>()
        .init_resource::<Marks>()
        .init_resource::<Evidence>()
        .init_resource::<Pulls>()
        .init_resource::<Lesson>()
        .init_resource::<Replay>()
        .init_resource::<Reel>()
        .init_resource::<Live>()
        .init_resource::<Devices>()
        .insert_resource(Shot { path: path.to_owned(), result: Arc::clone(&result) });
    dress(&mut app, &picture.scene, String::new(), false);
    app.add_systems(Update, take);
    app.run();
    let mut result = result.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    std::mem::replace(&mut *result, Ok(()))
}

/// The engine without a window, its camera drawing into an image of this size [pixel].
pub(super) fn off_screen(choice: Option<&AdapterChoice>, wait: bool, (width, height): (u32, u32)) -> App {
    let mut app = App::new();
    app.add_plugins(engine(choice, wait).disable::<WinitPlugin>().set(WindowPlugin {
        primary_window: None,
        exit_condition: ExitCondition::DontExit,
        ..default()
    }))
    .add_plugins(ScheduleRunnerPlugin::default())
    .insert_resource(FilmSize(UVec2::new(width, height)))
    .add_systems(Startup, spawn_camera);
    app
}

/// Where the picture goes.
#[derive(Resource)]
struct Shot {
    path: PathBuf,
    result: Arc<Mutex<Result<(), ShotError>>>,
}

/// Width and height of what the camera draws into [pixel].
#[derive(Resource)]
struct FilmSize(UVec2);

/// What the camera draws into.
#[derive(Resource)]
struct Film(Handle<Image>);

fn spawn_camera(
    mut commands: Commands,
    mut images: ResMut<Assets<Image>>,
    size: Res<FilmSize>,
    detail: Res<Detail>,
    orbit: Res<Orbit>,
) {
    let film = images.add(Image::new_target_texture(size.0.x, size.0.y, TextureFormat::Rgba8UnormSrgb, None));
    let eye = view::camera(detail.0, &mut images, view::NEAR);
    commands.spawn((
        Eye,
        eye,
        orbit.transform(),
        ShadowLodOrigin,
        PrimaryEguiContext,
        RenderTarget::Image(film.clone().into()),
    ));
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
        None
    }
}
