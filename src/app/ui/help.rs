//! The card of the keys: what is bound now, whatever that is.

use bevy_egui::egui::{self, RichText};

use super::{Action, MUTED, Model};
use crate::input::bindings::{Act, Hand};

/// What you do, and what happens; what is pressed for an act stands as `{act}`.
pub const KEYS: &[(&str, &str)] = &[
    ("{take_over}  {begin_anew}", "take over (or give back), begin yourself"),
    ("mouse", "slide the active tip over the table"),
    ("wheel, {raise} {lower}", "raise or lower it (wheel with {stand}: finely)"),
    ("{stand}", "stand the plane up: forward is up"),
    ("{close}", "close the jaws; twice: ratchet"),
    ("{ratchet}", "lock or release the jaws"),
    ("{ease}", "hold the thread lightly: it runs; again: firmly"),
    ("{turn} + mouse", "roll and pitch the instrument"),
    ("{rest} + mouse", "move the pointer alone: the hand rests"),
    ("{switch}", "change the active hand"),
    ("{ring} + mouse", "ring plane: circle the parked shaft"),
    ("{both} + mouse", "pull both hands apart"),
    ("{parked_away} {parked_left} {parked_toward} {parked_right}", "move the parked hand"),
    ("{roll_left} {roll_right}", "roll the parked instrument"),
    ("{cut}", "cut at the active tip"),
    ("{arm}", "have the needle set in the shut holder again"),
    ("{site_check}", "site check, by keys, before the first bite"),
    ("{finish}", "finish and hand in"),
    ("{pause}  {step}  {slower}  {faster}", "pause, step, slower, faster"),
    ("{marks}  {replay}  {begin_anew}", "marks, replay, new attempt, once it is over"),
    ("{operator_view} {left_view} {right_view} {top_view}", "operator, left, right, top view"),
    ("{look} + mouse", "look around ({zoom} + wheel: nearer)"),
    ("{help}  {end_tutorial}", "show or hide this card; end the tutorial"),
];

/// The same on a gamepad; the acts are those that have a button there.
pub const PAD: &[(&str, &[Act], &str)] = &[
    ("sticks", &[], "slide the two tips over the table"),
    ("triggers", &[], "close their jaws"),
    ("", &[Act::LeftStickUp, Act::RightStickUp], "forward on that stick is up"),
    ("", &[Act::LeftStickTurn, Act::RightStickTurn], "that stick rolls and pitches"),
    ("", &[Act::Ring], "ring plane for the active hand"),
    ("", &[Act::Ratchet], "lock or release the active jaws"),
    ("", &[Act::Switch], "change the active hand"),
    ("", &[Act::Cut], "cut at the active tip"),
    ("", &[Act::Arm], "have the needle set in the shut holder again"),
    ("", &[Act::TakeOver], "take over from the script, or give back"),
    ("", &[Act::Pause], "pause, or go on"),
];

/// Height of the screen that the card leaves to others [point].
const LEFT_FREE: f32 = 200.0;

/// The card, or the button that brings it back.
pub fn show(ui: &mut egui::Ui, model: &Model, out: &mut Vec<Action>) {
    let keys = &model.keys;
    // The tutorial says what there is to know.
    if !model.show_help || model.lesson.is_some() {
        if ui.button(keys.with_key("Keys", Act::Help)).clicked() {
            out.push(Action::ToggleHelp);
        }
        return;
    }
    ui.label(RichText::new("Keys").strong().size(16.0));
    if keys.hand == Hand::Left {
        ui.label(RichText::new("Left-handed: the field is mirrored").color(MUTED));
    }
    let height = (ui.ctx().content_rect().height() - LEFT_FREE).max(100.0);
    egui::ScrollArea::vertical().max_height(height).min_scrolled_height(height).show(ui, |ui| {
        egui::Grid::new("keys").num_columns(2).spacing([14.0, 3.0]).show(ui, |ui| {
            for (pressed, effect) in KEYS {
                line(ui, &keys.worded(pressed), &keys.worded(effect));
            }
            for (pressed, acts, effect) in PAD.iter().filter(|_| model.gamepad) {
                let buttons: Vec<String> = acts.iter().map(|act| keys.pad_label(*act)).collect();
                let buttons = if acts.is_empty() { (*pressed).to_owned() } else { buttons.join(", ") };
                if !buttons.is_empty() {
                    line(ui, &buttons, effect);
                }
            }
        });
    });
    if ui.button(keys.with_key("Hide", Act::Help)).clicked() {
        out.push(Action::ToggleHelp);
    }
}

fn line(ui: &mut egui::Ui, pressed: &str, effect: &str) {
    ui.label(RichText::new(pressed).monospace().strong());
    ui.label(RichText::new(effect).color(MUTED));
    ui.end_row();
}
