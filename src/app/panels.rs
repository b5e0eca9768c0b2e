//! The panels in the engine: what they show is gathered, and what they ask for is done.

use bevy::ecs::system::SystemParam;
use bevy::prelude::*;
use bevy::window::PrimaryWindow;
use bevy_egui::{EguiContexts, EguiPrimaryContextPass};

use super::acts::{Acts, Bound};
use super::aside::Aside;
use super::cues::{self, Cues};
use super::form::Form;
use super::ghost::Ghost;
use super::hands::Hands;
use super::lesson::Lesson;
use super::pad::PadState;
use super::plan::SitePlan;
use super::pulling::Pulls;
use super::replay::{Reel, Replay};
use super::ticking::{Devices, Evidence, Live, Marks, OnStage, Pace};
use super::touch::{Fingers, OnScreen, PanelPlaces};
#[cfg(feature = "tracked-hands")]
use super::tracked_port::TrackedPort;
use super::tutorial::Tutorial;
use super::ui::{self, Action, FormAction, KnotView, Model, Player, SiteView, Tab, TouchView};
use super::view::{Shown, Site};
use super::words::{Language, Text};
use super::{FileNews, Newer, Scene, window_title};
use crate::input::bindings::{ACTS, Bindings};
use crate::scenario::Aids;
use crate::simulation::RIGHT;
use crate::tooth::Tooth;

/// Time that a refusal stays to be read [s]; common practice, no source.
const REFUSAL_S: f32 = 8.0;

/// What keys and buttons asked for and is not yet done.
#[derive(Resource, Debug, Default)]
pub struct Asked(pub Vec<Action>);

/// What was asked of the form and is not yet done.
#[derive(Resource, Debug, Default)]
pub struct AskedOfForm(pub Vec<FormAction>);

/// What the panels show that nothing else knows.
#[derive(Resource, Debug, Clone, Default)]
pub struct Desk {
    pub(super) title: String,
    pub(super) case_text: String,
    /// The tooth that the order names, where the site is checked.
    order: Option<Tooth>,
    /// The tooth chosen on the arch.
    chosen: Option<Tooth>,
    /// Whether the site check was closed.
    pub(super) site_closed: bool,
    /// Whether the site was marked here, and not by a script.
    own_mark: bool,
    /// Greatest speed of a hand [mm/s]; 0 where there is none.
    pub(super) speed_cap: f64,
    pub(super) notice: String,
    /// Whether a processor draws.
    pub(super) software: bool,
    pub(super) show_help: bool,
    pub(super) hide_debrief: bool,
    pub(super) tab: Tab,
    aids: Aids,
    /// What was refused last, and the time for which it is still shown [s].
    refusal: Option<(Text, f32)>,
}

impl Desk {
    /// What the panels show at first of a scene, with what to know about its drawing.
    #[must_use]
    pub fn new(scene: &Scene, notice: String, show_help: bool) -> Desk {
        let mut desk = Desk { notice, show_help, ..Desk::default() };
        desk.take(scene);
        desk
    }

    /// Shows another scene.
    fn take(&mut self, scene: &Scene) {
        scene.title().clone_into(&mut self.title);
        if let Scene::Mouth(scenario) = scene {
            self.case_text.clone_from(&scenario.case_text);
            self.order = scenario.checks_site().then(|| scenario.site.lost_tooth());
            self.speed_cap = scenario.hands.speed_cap_mm_per_s;
            self.aids = scenario.aids.clone();
        }
    }

    /// What the case shows of its numbers.
    #[must_use]
    pub fn aids(&self) -> &Aids {
        &self.aids
    }

    /// Whether hands are to mark the site before anything else.
    fn checks_site(&self) -> bool {
        self.order.is_some() && !self.site_closed
    }

    /// Says for a while what a hand asked for and did not get, and why.
    pub(super) fn refuse(&mut self, refusal: Text) {
        self.refusal = Some((refusal, REFUSAL_S));
    }

    /// What is still shown of that.
    pub(super) fn refused(&self) -> Option<&Text> {
        self.refusal.as_ref().map(|(refusal, _)| refusal)
    }

    /// Whether neither the arches nor the card of the keys take the right of the screen while hands are at work.
    pub(super) fn leaves_room(&self) -> bool {
        !self.show_help && !self.checks_site()
    }

    /// Title of the case.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }
}

/// What the student is told, with the order where the site is checked.
fn told(language: Language, case_text: &str, order: Option<Tooth>) -> String {
    let Some(tooth) = order else { return case_text.to_owned() };
    let order = [("tooth", tooth.to_string()), ("described", language.tooth_described(tooth))];
    format!("{case_text}\n\n{}", language.tell("site-case-order", &order))
}

/// Panels that are shown whatever goes on: those of a picture.
#[derive(Resource, Debug, Clone)]
pub(super) struct Posed(pub(super) Model);

/// Adds the panels; needs [`Desk`] to be there.
pub fn plugin(app: &mut App) {
    app.add_plugins((answers, cues::plugin))
        .init_resource::<Aside>()
        .init_resource::<Fingers>()
        .init_resource::<PanelPlaces>()
        .add_systems(EguiPrimaryContextPass, show_panels)
        .add_systems(Update, make_room_for_fingers)
        .add_systems(Update, name_window.run_if(resource_changed::<Desk>));
}

/// Adds what panels ask for, without the panels.
pub(super) fn answers(app: &mut App) {
    app.init_resource::<Asked>()
        .init_resource::<AskedOfForm>()
        .init_resource::<Form>()
        .init_resource::<Ghost>()
        .init_resource::<Language>()
        .init_resource::<OnScreen>()
        .add_systems(First, (note_refusals, do_what_was_asked, follow_file).chain());
}

/// Everything the panels show.
#[derive(SystemParam)]
pub(super) struct Seen<'w> {
    desk: Res<'w, Desk>,
    shown: Res<'w, Shown>,
    live: Res<'w, Live>,
    pace: Res<'w, Pace>,
    marks: Res<'w, Marks>,
    evidence: Res<'w, Evidence>,
    pulls: Res<'w, Pulls>,
    replay: Res<'w, Replay>,
    reel: Res<'w, Reel>,
    lesson: Res<'w, Lesson>,
    stage: Res<'w, OnStage>,
    bound: Res<'w, Bound>,
    acts: Res<'w, Acts>,
    fingers: Res<'w, Fingers>,
    pad: Res<'w, PadState>,
    #[cfg(feature = "tracked-hands")]
    tracked: Option<Res<'w, TrackedPort>>,
    aside: Res<'w, Aside>,
    posed: Option<Res<'w, Posed>>,
    form: Res<'w, Form>,
    cues: Res<'w, Cues>,
    language: Res<'w, Language>,
}

pub(super) fn show_panels(
    mut contexts: EguiContexts,
    mut styled: Local<bool>,
    mut asked: ResMut<Asked>,
    mut of_form: ResMut<AskedOfForm>,
    mut places: ResMut<PanelPlaces>,
    seen: Seen,
) -> Result {
    let ctx = contexts.ctx_mut()?;
    if !std::mem::replace(&mut *styled, true) {
        ui::set_style(ctx);
        if seen.posed.is_some() {
            // A picture is of what has come to rest.
            ctx.all_styles_mut(|style| style.animation_time = 0.0);
        }
    }
    seen.language.speak(ctx);
    let model = match &seen.posed {
        Some(posed) => Model { aside: seen.aside.shown(), ..posed.0.clone() },
        None => seen.model(),
    };
    ui::show(ctx, &model, &mut asked.0);
    if let Some(form) = &model.form {
        let on_disk = model.file_problems.as_ref().map_or("", |(_, problems)| problems);
        ui::form::show(ctx, form, on_disk, &mut of_form.0);
    }
    let corner = |at: bevy_egui::egui::Pos2| Vec2::new(at.x, at.y);
    places.0 =
        ui::places(ctx).into_iter().map(|place| Rect::from_corners(corner(place.min), corner(place.max))).collect();
    if seen.live.0.is_some() && !ui::site_check::holds_keys(ctx) {
        // Tab changes hands now; a focused button would take the keys of the hands.
        ctx.memory_mut(|memory| memory.focused().into_iter().for_each(|id| memory.surrender_focus(id)));
    }
    Ok(())
}

impl Seen<'_> {
    /// What the buttons for fingers show.
    fn touch(&self, hands: &Hands) -> TouchView {
        let on = ui::touch::BUTTONS.iter().map(|(_, act)| *act).filter(|act| self.acts.down(*act)).collect();
        let hand = &hands.hands[hands.active];
        TouchView { on, shut: hand.locked.is_some(), height: hand.pose.position.z }
    }

    /// What is known of tracked hands; empty if none are asked for.
    #[cfg(feature = "tracked-hands")]
    fn tracked_words(&self, language: Language) -> String {
        self.tracked.as_ref().map(|port| port.words(language)).unwrap_or_default()
    }

    #[cfg(not(feature = "tracked-hands"))]
    #[expect(clippy::unused_self, reason = "with the feature it is used")]
    fn tracked_words(&self, _: Language) -> String {
        String::new()
    }

    /// Whether the form is to be seen: never beside hands that are at work.
    fn form_shows(&self) -> bool {
        self.form.open && self.live.0.is_none() && !self.replay.open && self.stage.0.offer().is_none()
    }

    fn model(&self) -> Model {
        let Seen { desk, shown, live, pace, marks, language, .. } = self;
        let (language, file) = (**language, self.stage.0.file());
        let slow = if desk.software { language.say("transport-slow") } else { String::new() };
        let of_file = file_words(language, &file, live.0.is_some(), &self.bound.bindings);
        let notices = [desk.notice.clone(), slow, of_file, self.tracked_words(language)];
        Model {
            title: desk.title.clone(),
            case_text: told(language, &desk.case_text, desk.order),
            site: desk.order.map(|ordered| SiteView {
                ordered,
                chosen: desk.chosen,
                open: live.0.is_some() && desk.checks_site(),
            }),
            readout: shown.0.readout.clone(),
            no_gauges: !desk.aids.gauges,
            no_throws: !desk.aids.throws,
            seconds: shown.0.tick.seconds(),
            player: match &live.0 {
                None => Player::Script,
                Some(hands) if hands.active == RIGHT => Player::Right,
                Some(_) => Player::Left,
            },
            paused: pace.paused,
            speed: pace.speed,
            show_help: desk.show_help,
            can_edit: self.form.is_there(),
            form: Some(self.form.view()).filter(|_| self.form_shows()).cloned(),
            notice: notices.into_iter().filter(|notice| !notice.is_empty()).collect::<Vec<_>>().join("\n"),
            file_problems: if file.problems.is_empty() { None } else { Some((file.name, file.problems)) },
            score: marks.0.clone(),
            measured: self.evidence.0.clone(),
            mirrored: self.bound.mirrored(),
            show_debrief: !desk.hide_debrief,
            tab: desk.tab,
            pull: self.pulls.view(),
            replay: self.replay.view(&self.reel.0),
            busy: self.stage.0.busy().map(|busy| language.word(&busy)).unwrap_or_default(),
            refusal: desk.refused().map(|refusal| language.word(refusal)).unwrap_or_default(),
            cue: self.cues.caption(language),
            offer: self.stage.0.offer().map(|offer| language.word(&offer)).unwrap_or_default(),
            lesson: self.lesson.0.as_ref().map(Tutorial::task),
            can_begin_anew: self.stage.0.recording().is_none(),
            waits: self.stage.0.waits_for_hands(),
            knot: self.stage.0.reading().map(KnotView::of),
            keys: self.bound.bindings.clone(),
            going_on: self.acts.going_on(language, &self.bound.bindings),
            aside: self.aside.shown(),
            gamepad: self.pad.connected,
            touch: live.0.as_ref().filter(|_| self.fingers.seen()).map(|hands| self.touch(hands)),
        }
    }
}

/// What became of the case's file, in words; empty if nothing did.
#[must_use]
pub fn file_words(language: Language, file: &FileNews, live: bool, keys: &Bindings) -> String {
    let FileNews { name, problems, warnings, newer, taken } = file;
    if !problems.is_empty() {
        // They have a panel of their own.
        return String::new();
    }
    let mut words = match newer {
        Newer::None if *taken == 0 => String::new(),
        Newer::None => language.tell("file-taken", &[("name", name.clone())]),
        Newer::Ready | Newer::Waits => {
            let mut parts = language.acts(keys);
            parts.push(("name", name.clone()));
            language.tell(if live { "file-waits-for-hands" } else { "file-waits" }, &parts)
        }
    };
    if !warnings.is_empty() {
        words += if words.is_empty() { "" } else { "\n" };
        words += warnings;
    }
    words
}

/// The card of the keys goes when the first finger is felt: what fingers need takes its place.
fn make_room_for_fingers(fingers: Res<Fingers>, mut felt: Local<bool>, mut desk: ResMut<Desk>) {
    if fingers.seen() && !std::mem::replace(&mut *felt, true) {
        desk.show_help = false;
    }
}

/// The window's own title is that of the case.
fn name_window(desk: Res<Desk>, mut windows: Query<&mut Window, With<PrimaryWindow>>) {
    for mut window in &mut windows {
        let title = window_title(&desk.title);
        if window.title != title {
            window.title = title;
        }
    }
}

/// Shows what a hand asked for and did not get, for a while.
fn note_refusals(mut desk: ResMut<Desk>, mut stage: ResMut<OnStage>, time: Res<Time<Real>>) {
    if let Some(refusal) = stage.0.refused() {
        desk.refuse(refusal);
    } else if let Some((refusal, left)) = desk.refusal.take() {
        let left = left - time.delta_secs();
        desk.refusal = (left > 0.0).then_some((refusal, left));
    }
}

/// What actions change.
#[derive(SystemParam)]
struct Changed<'w> {
    desk: ResMut<'w, Desk>,
    pace: ResMut<'w, Pace>,
    live: ResMut<'w, Live>,
    devices: ResMut<'w, Devices>,
    pulls: ResMut<'w, Pulls>,
    replay: ResMut<'w, Replay>,
    lesson: ResMut<'w, Lesson>,
    reel: ResMut<'w, Reel>,
    marks: ResMut<'w, Marks>,
    evidence: ResMut<'w, Evidence>,
    stage: ResMut<'w, OnStage>,
    site: Option<ResMut<'w, Site>>,
    bound: Res<'w, Bound>,
    screen: ResMut<'w, OnScreen>,
    form: ResMut<'w, Form>,
    ghost: ResMut<'w, Ghost>,
    language: ResMut<'w, Language>,
}

/// Puts the case on stage as its file has it now, unless hands are at work or an attempt is looked at.
fn follow_file(mut changed: Changed) {
    let free = changed.live.0.is_none() && !changed.replay.open;
    if free && changed.stage.0.file().newer == Newer::Ready && changed.stage.0.take_newer() {
        changed.clear();
    }
}

fn do_what_was_asked(mut asked: ResMut<Asked>, mut of_form: ResMut<AskedOfForm>, mut changed: Changed) {
    for action in of_form.0.drain(..) {
        changed.form.take(action, changed.stage.0.as_mut());
    }
    for action in asked.0.drain(..) {
        changed.by(action);
    }
}

impl Changed<'_> {
    fn by(&mut self, action: Action) {
        match action {
            Action::TogglePause => self.pace.paused = !self.pace.paused,
            Action::Step => {
                self.pace.paused = true;
                self.pace.steps += 1;
            }
            Action::SetSpeed(speed) => self.pace.speed = speed,
            Action::TogglePlayer => self.toggle_player(),
            Action::ChooseTooth(tooth) => self.desk.chosen = Some(tooth),
            Action::MarkSite(tooth) => self.mark_site(tooth),
            Action::ShowSiteCheck(open) => self.desk.site_closed = !open,
            Action::Finish => self.devices.0.finish = true,
            Action::ToggleHelp => self.desk.show_help = !self.desk.show_help,
            Action::ToggleDebrief => self.desk.hide_debrief = !self.desk.hide_debrief,
            Action::ShowForm => self.form.open = true,
            Action::ShowTab(tab) => self.desk.tab = tab,
            Action::PullStitch(stitch) => self.pulls.choose(stitch),
            Action::PullPlay => self.pulls.toggle(),
            Action::PullTo(frame) => self.pulls.go_to(frame),
            Action::ReplayOpen(open) => self.open_replay(open),
            Action::ReplayPlay => self.replay.toggle(&self.reel.0),
            Action::ReplaySpeed(speed) => self.replay.set_speed(speed),
            Action::Seek(tick) => self.replay.seek(tick),
            Action::Answer(taken) => self.stage.0.answer(taken),
            Action::BeginAnew => self.begin_anew(),
            Action::Speak(language) => {
                *self.language = language;
                self.stage.0.remember_language(language.code());
            }
            Action::Give(act) => {
                let held = ACTS.iter().any(|entry| entry.act == act && entry.held);
                self.screen.press(act, held && !self.bound.bindings.toggles(act));
            }
            Action::RaiseTo(height) => {
                if let Some(hands) = self.live.0.as_mut() {
                    hands.raise_to(f64::from(height) / 1000.0);
                }
            }
            Action::EndTutorial => {
                if self.lesson.0.take().is_some() {
                    self.stage.0.tutorial_over();
                }
            }
        }
    }

    /// Hands can be taken over only where there are some, and while something goes on.
    fn toggle_player(&mut self) {
        if self.desk.speed_cap <= 0.0 || self.replay.open || self.marks.0.is_some() || self.stage.0.busy().is_some() {
            return;
        }
        self.live.0 = match self.live.0.take() {
            Some(_) => None,
            None => Some(self.take_over()),
        };
    }

    /// Live hands where the stage has its own. A site that a script marked is not theirs: it is wiped off the arch.
    fn take_over(&mut self) -> Hands {
        self.stage.0.settle();
        let mut hands = Hands::take_over(&self.stage.0.current_command(), self.desk.speed_cap);
        let seen = self.stage.0.snapshot().readout;
        let by_script = !self.desk.own_mark && !self.stage.0.waits_for_hands();
        if self.desk.order.is_some() && by_script && seen.marked.is_some() && !seen.bitten {
            hands.mark(None);
        }
        self.desk.site_closed = seen.marked.is_some() && !by_script;
        hands
    }

    /// The site is marked with the next command.
    fn mark_site(&mut self, tooth: Tooth) {
        let Some(hands) = self.live.0.as_mut() else { return };
        hands.mark(Some(tooth));
        (self.desk.own_mark, self.desk.site_closed) = (true, true);
    }

    /// Begins the case anew once the attempt is over; while the script plays, with live hands from the first tick.
    fn begin_anew(&mut self) {
        let oneself = self.marks.0.is_none();
        let stage = &self.stage.0;
        let script_plays = self.live.0.is_none() && stage.offer().is_none() && !stage.waits_for_hands();
        let can = !oneself || (script_plays && stage.busy().is_none() && self.desk.speed_cap > 0.0);
        if !can || self.replay.open || !self.stage.0.begin_anew() {
            return;
        }
        *self.pace = Pace::default();
        self.clear();
        if oneself {
            self.live.0 = Some(self.take_over());
        }
    }

    /// Nothing is left to be seen of the attempt before, and what is around the new one is shown.
    fn clear(&mut self) {
        (*self.marks, *self.reel, *self.pulls) = (Marks::default(), Reel::default(), Pulls::default());
        (*self.replay, *self.live, *self.evidence) = (Replay::default(), Live::default(), Evidence::default());
        self.desk.hide_debrief = false;
        self.desk.tab = Tab::Marks;
        (self.desk.chosen, self.desk.own_mark, self.desk.site_closed) = (None, false, false);
        let new_scene = self.stage.0.new_scene();
        self.ghost.begin(new_scene.is_some());
        if let Some(scene) = new_scene {
            self.form.follow(self.stage.0.form_source());
            self.desk.take(&scene);
            if let (Scene::Mouth(scenario), Some(site)) = (&scene, &mut self.site) {
                site.0 = SitePlan::new(scenario, self.bound.mirrored());
            }
        }
    }

    /// Goes through the attempt again once it is over, or back to its marks.
    fn open_replay(&mut self, open: bool) {
        if self.marks.0.is_none() {
            return;
        }
        self.live.0 = None;
        self.desk.hide_debrief = false;
        self.replay.open(open);
    }
}
