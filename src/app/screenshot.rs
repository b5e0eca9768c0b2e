//! Pictures without a window, by the same code that draws the window.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use bevy::app::ScheduleRunnerPlugin;
use bevy::prelude::*;
use bevy::render::render_resource::TextureFormat;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::window::ExitCondition;
use bevy::winit::WinitPlugin;

use super::acts::Bound;
use super::camera::Eye;
use super::hands::Hands;
use super::lesson::Lesson;
use super::panels::{Desk, Posed};
use super::preflight::{self, AdapterChoice, Missing};
use super::preset::Preset;
use super::pulling::Pulls;
use super::replay::{Reel, Replay};
use super::screen::Canvas;
use super::ticking::{Devices, Evidence, Live, Marks, OnStage, Pace};
use super::tutorial::Tutorial;
use super::ui::{Model, Player};
use super::view::{Detail, Shown};
use super::words::Language;
use super::{Scene, Stage, dress, engine};
use crate::input::{HandCommand, TickCommand};
use crate::scenario::schema::Scenario;
use crate::score::Score;
use crate::simulation::snapshot::Snapshot;
use crate::simulation::{LEFT, RIGHT};

/// Frames before the picture is taken: egui lays its panels out in the first and knows their sizes in the second; the
/// renderer is a frame behind.
const SETTLE: u32 = 6;

/// The same where only the panels are others than in the picture before.
const PANELS_SETTLE: u32 = 4;

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
    /// The panels. Where they say that somebody's hands move, what is drawn for such hands is there as well; the field is
    /// mirrored if their keys are for the left hand.
    pub panels: Model,
    /// Width and height [pixel].
    pub size: (u32, u32),
    /// How much is drawn.
    pub preset: Preset,
    /// Language of the panels.
    pub language: Language,
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
        Picture {
            snapshot: snapshot.clone(),
            scene: Scene::Mouth(Box::new(scenario.clone())),
            panels,
            size,
            preset: Preset::Normal,
            language: Language::default(),
        }
    }
}

/// Draws a picture into a PNG file.
///
/// One engine to a process: call it from a child process if more than one picture is wanted.
///
/// # Errors
/// If nothing here can draw, or the file cannot be written.
pub fn screenshot(picture: &Picture, path: &Path) -> Result<(), ShotError> {
    screenshots(picture, vec![(picture.panels.clone(), path.to_owned())])
}

/// Draws pictures of the same world with other panels, each into a PNG file: one engine draws them all.
///
/// # Errors
/// If nothing here can draw, or a file cannot be written.
pub fn screenshots(picture: &Picture, panels: Vec<(Model, PathBuf)>) -> Result<(), ShotError> {
    let Some((first, _)) = panels.first() else { return Ok(()) };
    // A software adapter takes a second for a picture with everything on it, which nobody minds here.
    preflight::adapter(&AdapterChoice::default())?;
    let result = Arc::new(Mutex::new(Err(ShotError::Nothing)));
    let mut app = off_screen(None, true, picture.size);
    app.world_mut().resource_mut::<Canvas>().field_apart = true;
    app.insert_resource(Shown(picture.snapshot.clone()))
        .insert_resource(Detail(picture.preset))
        .insert_resource(picture.language)
        .insert_resource(Bound::new((*picture.panels.keys).clone()))
        .insert_resource(OnStage(Box::new(Still { snapshot: picture.snapshot.clone() })))
        .insert_resource(Posed(first.clone()))
        .init_resource::<Pace>()
        .init_resource::<Marks>()
        .init_resource::<Evidence>()
        .init_resource::<Pulls>()
        .init_resource::<Lesson>()
        .init_resource::<Replay>()
        .init_resource::<Reel>()
        .init_resource::<Live>()
        .init_resource::<Devices>()
        .insert_resource(Shots { panels, at: 0, frame: 0, settle: SETTLE, result: Arc::clone(&result) });
    dress(&mut app, &picture.scene, String::new(), false);
    app.add_systems(PreUpdate, pose.run_if(|shots: Res<Shots>| shots.frame == 0)).add_systems(Update, take);
    app.run();
    let mut result = result.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    std::mem::replace(&mut *result, Ok(()))
}

/// The engine without a window, which draws into an image of this size [pixel].
pub(super) fn off_screen(choice: Option<&AdapterChoice>, wait: bool, (width, height): (u32, u32)) -> App {
    let mut app = App::new();
    app.add_plugins(engine(choice, wait).disable::<WinitPlugin>().set(WindowPlugin {
        primary_window: None,
        exit_condition: ExitCondition::DontExit,
        ..default()
    }))
    .add_plugins(ScheduleRunnerPlugin::default());
    let image = Image::new_target_texture(width, height, TextureFormat::Rgba8UnormSrgb, None);
    let image = app.world_mut().resource_mut::<Assets<Image>>().add(image);
    app.insert_resource(Canvas { image, field_apart: false });
    app
}

/// The pictures to be taken.
#[derive(Resource)]
struct Shots {
    /// What each shows, and where it goes.
    panels: Vec<(Model, PathBuf)>,
    /// Which of them is being drawn, for how many frames by now, and after how many it is taken.
    at: usize,
    frame: u32,
    settle: u32,
    result: Arc<Mutex<Result<(), ShotError>>>,
}

fn take(mut commands: Commands, mut shots: ResMut<Shots>, canvas: Res<Canvas>, mut exit: MessageWriter<AppExit>) {
    shots.frame += 1;
    if shots.frame == shots.settle {
        commands.spawn(Screenshot::image(canvas.image.clone())).observe(save);
    } else if shots.frame > PATIENCE {
        exit.write(AppExit::error());
    }
}

/// Has everything as the next picture's panels say. The field is drawn anew only where what is drawn for hands is another.
fn pose(
    mut shots: ResMut<Shots>,
    shown: Res<Shown>,
    mut posed: ResMut<Posed>,
    mut live: ResMut<Live>,
    mut desk: ResMut<Desk>,
    mut lesson: ResMut<Lesson>,
    mut eye: Query<&mut Camera, With<Eye>>,
) {
    let panels = shots.panels[shots.at].0.clone();
    desk.show_help = panels.show_help;
    desk.site_closed = panels.site.is_none_or(|site| !site.open);
    lesson.0 = panels.lesson.map(|_| Tutorial::default());
    let hands = live_hands(&shown.0, panels.player);
    let active = |hands: &Option<Hands>| hands.as_ref().map(|hands| hands.active);
    let anew = shots.at == 0 || active(&hands) != active(&live.0);
    eye.iter_mut().for_each(|mut eye| eye.is_active = anew);
    shots.settle = if anew { SETTLE } else { PANELS_SETTLE };
    live.0 = hands;
    posed.0 = panels;
}

/// Writes a picture; the next follows.
fn save(captured: On<ScreenshotCaptured>, mut shots: ResMut<Shots>, mut exit: MessageWriter<AppExit>) {
    let path = &shots.panels[shots.at].1;
    let failed = |reason: String| ShotError::Write { path: path.clone(), reason };
    let written = captured
        .image
        .clone()
        .try_into_dynamic()
        .map_err(|error| failed(error.to_string()))
        .and_then(|image| image.to_rgb8().save(path).map_err(|error| failed(error.to_string())));
    if written.is_ok() && shots.at + 1 < shots.panels.len() {
        shots.at += 1;
        shots.frame = 0;
        return;
    }
    if let Ok(mut result) = shots.result.lock() {
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
        command_at(&self.snapshot)
    }

    fn finished(&self) -> Option<Score> {
        None
    }
}

/// The command that leaves both hands where they are.
fn command_at(snapshot: &Snapshot) -> TickCommand {
    let [right, left] = snapshot.tools.each_ref().map(|tool| {
        let opening = tool.gap / tool.kind.design().gap_max;
        HandCommand::new(tool.pose, opening)
    });
    TickCommand { right, left, events: Vec::new() }
}

/// The hands that move by what the panels say, if somebody's do.
fn live_hands(snapshot: &Snapshot, player: Player) -> Option<Hands> {
    let mut hands = Hands::take_over(&command_at(snapshot), 0.0);
    hands.active = match player {
        Player::Script => return None,
        Player::Right => RIGHT,
        Player::Left => LEFT,
    };
    Some(hands)
}
