//! The panels in the engine: what they show is gathered, and what they ask for is done.

use bevy::prelude::*;
use bevy_egui::{EguiContexts, EguiPrimaryContextPass};

use super::hands::Hands;
use super::ticking::{Devices, Live, Marks, OnStage, Pace};
use super::ui::{self, Action, Model, Player};
use super::view::Shown;
use crate::simulation::RIGHT;

/// What keys and buttons asked for and is not yet done.
#[derive(Resource, Debug, Default)]
pub(super) struct Asked(pub(super) Vec<Action>);

/// What the panels show that nothing else knows.
#[derive(Resource, Debug, Clone, Default)]
pub(super) struct Desk {
    pub(super) title: String,
    pub(super) case_text: String,
    /// Greatest speed of a hand [mm/s].
    pub(super) speed_cap: f64,
    pub(super) notice: String,
    pub(super) show_help: bool,
    pub(super) hide_debrief: bool,
}

/// Adds the panels; needs [`Desk`] to be there.
pub(super) fn plugin(app: &mut App) {
    app.init_resource::<Asked>().add_systems(EguiPrimaryContextPass, show_panels).add_systems(First, do_what_was_asked);
}

#[expect(clippy::too_many_arguments, reason = "a system names everything it reads")]
pub(super) fn show_panels(
    mut contexts: EguiContexts,
    mut styled: Local<bool>,
    mut asked: ResMut<Asked>,
    desk: Res<Desk>,
    shown: Res<Shown>,
    live: Res<Live>,
    pace: Res<Pace>,
    marks: Res<Marks>,
) -> Result {
    let ctx = contexts.ctx_mut()?;
    if !std::mem::replace(&mut *styled, true) {
        ui::set_style(ctx);
    }
    ui::show(ctx, &model(&desk, &shown, &live, &pace, &marks), &mut asked.0);
    if live.0.is_some() {
        // Tab changes hands now; a focused button would take the keys of the hands.
        ctx.memory_mut(|memory| memory.focused().into_iter().for_each(|id| memory.surrender_focus(id)));
    }
    Ok(())
}

fn model(desk: &Desk, shown: &Shown, live: &Live, pace: &Pace, marks: &Marks) -> Model {
    Model {
        title: desk.title.clone(),
        case_text: desk.case_text.clone(),
        readout: shown.0.readout.clone(),
        seconds: shown.0.tick.seconds(),
        player: match &live.0 {
            None => Player::Script,
            Some(hands) if hands.active == RIGHT => Player::Right,
            Some(_) => Player::Left,
        },
        paused: pace.paused,
        speed: pace.speed,
        show_help: desk.show_help,
        notice: desk.notice.clone(),
        score: marks.0.clone(),
        show_debrief: !desk.hide_debrief,
    }
}

fn do_what_was_asked(
    mut asked: ResMut<Asked>,
    mut desk: ResMut<Desk>,
    mut pace: ResMut<Pace>,
    mut live: ResMut<Live>,
    mut devices: ResMut<Devices>,
    stage: Res<OnStage>,
) {
    for action in asked.0.drain(..) {
        match action {
            Action::TogglePause => pace.paused = !pace.paused,
            Action::Step => {
                pace.paused = true;
                pace.steps += 1;
            }
            Action::SetSpeed(speed) => pace.speed = speed,
            Action::TogglePlayer => {
                live.0 = match live.0.take() {
                    Some(_) => None,
                    None => Some(Hands::take_over(&stage.0.current_command(), desk.speed_cap)),
                };
            }
            Action::Finish => devices.0.finish = true,
            Action::ToggleHelp => desk.show_help = !desk.show_help,
            Action::ToggleDebrief => desk.hide_debrief = !desk.hide_debrief,
        }
    }
}
