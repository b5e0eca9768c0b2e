//! The window with nothing drawn, for tests: its keys, its mouse, its hands, the bodies that stop them and its stage.
//!
//! A test presses keys and moves the pointer as the window system would, by the same messages and the same window.

use std::time::Duration;

use bevy::camera::{CameraProjection, RenderTargetInfo};
use bevy::input::ButtonState;
use bevy::input::InputPlugin;
use bevy::input::keyboard::{Key as Typed, KeyboardInput, NativeKey};
use bevy::input::mouse::{MouseButtonInput, MouseScrollUnit, MouseWheel};
use bevy::input::touch::TouchInput;
pub(crate) use bevy::input::touch::TouchPhase;
use bevy::prelude::*;
use bevy::time::TimeUpdateStrategy;
use bevy::window::{PrimaryWindow, WindowResolution};
use bevy_egui::input::EguiWantsInput;

use super::acts::{Acts, Bound, Code, codes};
use super::camera::{Eye, Orbit, View};
use super::devices::{Sight, drag};
use super::frame::{from_scene, to_scene};
use super::hands::{Hands, WorkPlane};
use super::lesson::Lesson;
use super::pad::PadState;
use super::panels::{self, Asked, Desk};
use super::plan::SitePlan;
use super::pulling::Pulls;
use super::ticking::{self, Live, Marks, OnStage};
use super::touch::PanelPlaces;
use super::ui::Action;
use super::view::{Shown, Site};
use super::{Scene, Stage, bodies, devices};
use crate::input::bindings::Key;
use crate::math::{DVec2, DVec3};
use crate::quantity::TICKS_PER_SECOND;
use crate::scenario::schema::Scenario;
use crate::score::Score;

/// Size of the window [point].
pub(crate) const SIZE: Vec2 = Vec2::new(1280.0, 720.0);

/// A window nobody sees.
pub(crate) struct Unseen {
    app: App,
    window: Entity,
    held: Vec<Code>,
}

/// What a user does between two ticks.
#[derive(Debug, Clone, Default)]
pub(crate) struct Doing {
    /// Names of keys and buttons that are held, as a file of keys has them.
    pub(crate) held: Vec<&'static str>,
    /// Names of those that are struck.
    pub(crate) struck: Vec<&'static str>,
    /// Where the pointer goes [point]; `None` leaves it.
    pub(crate) pointer: Option<Vec2>,
    /// Notches of the wheel.
    pub(crate) notches: f32,
    /// What is done on a gamepad; what is down there stays down as long as it is named. `None` where there is none.
    pub(crate) pad: Option<PadState>,
}

impl Unseen {
    /// Opens a stage and its case; the first key may be pressed now.
    pub(crate) fn open(stage: Box<dyn Stage>, scenario: &Scenario) -> Unseen {
        let scene = Scene::Mouth(Box::new(scenario.clone()));
        let mut app = App::new();
        let alone = TaskPoolPlugin { task_pool_options: TaskPoolOptions::with_num_threads(1) };
        app.add_plugins((MinimalPlugins.set(alone), TransformPlugin, InputPlugin))
            .insert_resource(Shown(stage.snapshot()))
            .insert_resource(OnStage(stage))
            .insert_resource(Site(SitePlan::new(scenario, false)))
            .insert_resource(Desk::new(&scene, String::new(), false))
            .init_resource::<Bound>()
            .init_resource::<Acts>()
            .init_resource::<PadState>()
            .init_resource::<Pulls>()
            .init_resource::<Lesson>()
            .init_resource::<EguiWantsInput>()
            .add_plugins((ticking::plugin, bodies::plugin, devices::plugin, panels::answers));
        let mut resolution = WindowResolution::new(1, 1);
        resolution.set(SIZE.x, SIZE.y);
        let window = app.world_mut().spawn((Window { resolution, ..default() }, PrimaryWindow)).id();
        let place = Orbit::of(View::Operator).transform();
        let projection = PerspectiveProjection { aspect_ratio: SIZE.x / SIZE.y, ..default() };
        let mut camera = Camera::default();
        camera.computed.clip_from_view = projection.get_clip_from_view();
        camera.computed.target_info = Some(RenderTargetInfo { physical_size: SIZE.as_uvec2(), scale_factor: 1.0 });
        app.world_mut().spawn((Eye, camera, Camera3d::default(), place, GlobalTransform::from(place)));
        app.finish();
        app.cleanup();
        let mut unseen = Unseen { app, window, held: Vec::new() };
        // The first picture starts the clock, the second builds the bodies.
        unseen.picture(Duration::ZERO);
        unseen.picture(Duration::ZERO);
        unseen
    }

    fn picture(&mut self, time: Duration) {
        self.app.insert_resource(TimeUpdateStrategy::ManualDuration(time));
        self.app.update();
    }

    /// Does something, and lets one tick pass.
    pub(crate) fn tick(&mut self, doing: &Doing) {
        let held: Vec<Code> = doing.held.iter().map(|name| code(name)).collect();
        for gone in std::mem::replace(&mut self.held, held.clone()) {
            if !held.contains(&gone) {
                self.write(gone, ButtonState::Released);
            }
        }
        held.iter().for_each(|code| self.write(*code, ButtonState::Pressed));
        for code in doing.struck.iter().map(|name| code(name)) {
            self.write(code, ButtonState::Pressed);
            self.write(code, ButtonState::Released);
        }
        if doing.notches != 0.0 {
            let (unit, phase) = (MouseScrollUnit::Line, bevy::input::touch::TouchPhase::Moved);
            self.app.world_mut().write_message(MouseWheel {
                unit,
                x: 0.0,
                y: doing.notches,
                window: self.window,
                phase,
            });
        }
        if doing.pointer.is_some() {
            let mut window = self.app.world_mut().get_mut::<Window>(self.window).expect("it is open");
            window.set_cursor_position(doing.pointer);
        }
        let before = std::mem::take(&mut self.app.world_mut().resource_mut::<PadState>().down);
        if let Some(pad) = &doing.pad {
            let began = pad.down.iter().filter(|key| !before.contains(key)).copied().collect();
            self.app.insert_resource(PadState { connected: true, began, ..pad.clone() });
        }
        // A screen twice as fast as the ticks: what is done is read in one picture and carried out in the next.
        self.picture(Duration::ZERO);
        self.app.world_mut().resource_mut::<PadState>().began.clear();
        self.picture(Duration::from_secs(1) / TICKS_PER_SECOND);
    }

    fn write(&mut self, code: Code, state: ButtonState) {
        let (world, window) = (self.app.world_mut(), self.window);
        match code {
            Code::Key(key_code) => {
                let logical_key = Typed::Unidentified(NativeKey::Unidentified);
                world.write_message(KeyboardInput { key_code, logical_key, state, text: None, repeat: false, window });
            }
            Code::Button(button) => drop(world.write_message(MouseButtonInput { button, state, window })),
            Code::Pad(key) => panic!("{key:?} is held on the pad"),
        }
    }

    /// A finger comes down, moves or is lifted [point]; read with the next tick.
    pub(crate) fn touch(&mut self, id: u64, phase: TouchPhase, position: Vec2) {
        let window = self.window;
        self.app.world_mut().write_message(TouchInput { phase, position, window, force: None, id });
    }

    /// Lays a panel over a part of the window [point].
    pub(crate) fn lay_panel(&mut self, from: Vec2, to: Vec2) {
        self.app.insert_resource(PanelPlaces(vec![Rect::from_corners(from, to)]));
    }

    /// Presses a button of the panels.
    pub(crate) fn press(&mut self, action: Action) {
        self.app.world_mut().resource_mut::<Asked>().0.push(action);
    }

    /// Hears tracked hands at a port.
    #[cfg(feature = "tracked-hands")]
    pub(crate) fn hear(&mut self, port: super::tracked_port::TrackedPort) {
        self.app.insert_resource(port);
    }

    /// What was refused last, in English, and what is said of tracked hands.
    #[cfg(feature = "tracked-hands")]
    pub(crate) fn told_of_tracked_hands(&self) -> [String; 2] {
        let world = self.app.world();
        let port = world.resource::<super::tracked_port::TrackedPort>();
        let refused = world.resource::<Desk>().refused();
        let english = super::words::Language::English;
        [refused.map(|text| english.word(text)).unwrap_or_default(), port.words(english)]
    }

    /// Hands that are moved now.
    pub(crate) fn hands(&self) -> Option<&Hands> {
        self.app.world().resource::<Live>().0.as_ref()
    }

    pub(crate) fn marks(&self) -> Option<&Score> {
        self.app.world().resource::<Marks>().0.as_ref()
    }

    /// Where the pointer is [point].
    pub(crate) fn pointer(&self) -> Vec2 {
        let window = self.app.world().get::<Window>(self.window).expect("it is open");
        window.cursor_position().unwrap_or(SIZE / 2.0)
    }

    /// Where on the window a place [mm] is seen [point].
    pub(crate) fn seen_at(&mut self, place: DVec3) -> Option<Vec2> {
        let mut cameras = self.app.world_mut().query::<(&Camera, &GlobalTransform)>();
        let (camera, at) = cameras.single(self.app.world()).expect("there is one");
        camera.world_to_viewport(at, to_scene(place)).ok()
    }

    /// How far the pointer has to go [point] for a `way` in a plane [mm].
    pub(crate) fn points(&mut self, plane: &WorkPlane, way: DVec2) -> Vec2 {
        let pointer = self.pointer();
        let mut cameras = self.app.world_mut().query::<(&Camera, &GlobalTransform)>();
        let (camera, at) = cameras.single(self.app.world()).expect("there is one");
        let sight = |place: Vec2| {
            let ray = camera.viewport_to_world(at, place).expect("it is on the window");
            Sight { origin: from_scene(ray.origin), direction: from_scene(*ray.direction) }
        };
        let of = |x: f32, y: f32| {
            let pixels = DVec2::new(f64::from(x), f64::from(-y));
            drag(plane, sight(pointer), sight(pointer + Vec2::new(x, y)), pixels)
        };
        let ways = glam::DMat2::from_cols(of(1.0, 0.0), of(0.0, 1.0));
        (ways.inverse() * way).as_vec2()
    }
}

/// The engine's code of a key or button.
fn code(name: &str) -> Code {
    let key = Key::named(name).unwrap_or_else(|| panic!("{name} is no key"));
    codes(key)[0]
}
