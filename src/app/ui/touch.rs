//! Buttons for fingers: what a finger on the field cannot say.

use bevy_egui::egui::{self, RichText, Vec2};

use super::{Action, MUTED};
use crate::app::words::Language;
use crate::input::bindings::Act;

/// What the buttons show.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TouchView {
    /// Acts that go on.
    pub on: Vec<Act>,
    /// Whether the active jaws are shut by their ratchet.
    pub shut: bool,
    /// Height of the active tip [mm].
    pub height: f64,
}

/// The buttons, three in a row: the key of each text, and its act.
pub const BUTTONS: &[(&str, Act)] = &[
    ("touch-jaws", Act::Ratchet),
    ("touch-switch", Act::Switch),
    ("touch-stand", Act::Stand),
    ("touch-turn", Act::Turn),
    ("touch-ring", Act::Ring),
    ("touch-both", Act::Both),
    ("touch-ease", Act::Ease),
    ("touch-cut", Act::Cut),
    ("touch-arm", Act::Arm),
];

/// A button that a finger meets [point]; common practice, no source.
const BUTTON: Vec2 = Vec2::new(84.0, 36.0);

/// Heights that the slider reaches [mm]: from inside the socket to above a throw that is being laid.
const HEIGHTS: std::ops::RangeInclusive<f64> = -5.0..=40.0;

/// The buttons and the slider.
pub fn show(ui: &mut egui::Ui, view: &TouchView, out: &mut Vec<Action>) {
    let language = Language::of(ui);
    ui.horizontal(|ui| {
        egui::Grid::new("touch").num_columns(3).spacing([6.0, 6.0]).show(ui, |ui| {
            for row in BUTTONS.chunks(3) {
                for (key, act) in row {
                    let on = view.on.contains(act) || (*act == Act::Ratchet && view.shut);
                    let button = egui::Button::selectable(on, language.say(key)).min_size(BUTTON);
                    if ui.add(button.frame_when_inactive(true)).clicked() {
                        out.push(Action::Give(*act));
                    }
                }
                ui.end_row();
            }
        });
        ui.vertical(|ui| {
            let name = RichText::new(language.say("touch-height")).size(14.0).color(MUTED);
            let name = ui.add(egui::Label::new(name).extend());
            let mut height = view.height;
            ui.spacing_mut().slider_width = 2.5 * BUTTON.y;
            let slider = egui::Slider::new(&mut height, HEIGHTS).vertical().clamping(egui::SliderClamping::Never);
            let slider = ui.add(slider.show_value(false)).labelled_by(name.id);
            if slider.changed() {
                #[expect(clippy::cast_possible_truncation, reason = "a few centimetres")]
                out.push(Action::RaiseTo((height * 1000.0).round() as i32));
            }
        });
    });
}
