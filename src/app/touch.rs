//! Fingers on a screen that feels them: one moves the active tip as the mouse does, two move a hand each.
//!
//! A finger that comes down on a panel belongs to the panel, wherever it goes. Knows no engine but its points.

use bevy::math::{Rect, Vec2};
use bevy::prelude::Resource;

use crate::input::bindings::Act;
use crate::simulation::{LEFT, RIGHT};

/// Where panels lie [point]; they are the last picture's.
#[derive(Resource, Debug, Clone, PartialEq, Default)]
pub struct PanelPlaces(pub Vec<Rect>);

impl PanelPlaces {
    /// Whether a place is a panel's.
    #[must_use]
    pub fn has(&self, place: Vec2) -> bool {
        self.0.iter().any(|panel| panel.contains(place))
    }
}

/// A finger as the screen feels it now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Felt {
    /// What tells it from others while it is down.
    pub id: u64,
    /// Where it came down [point].
    pub start: Vec2,
    /// Where it is [point].
    pub at: Vec2,
}

/// The way of a finger since it was last looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FingerWay {
    /// The hand that it moves, where there are two; `None` for the active one.
    pub hand: Option<usize>,
    /// From where [point].
    pub from: Vec2,
    /// To where [point].
    pub to: Vec2,
}

/// A finger that is down.
#[derive(Debug, Clone, Copy)]
struct Finger {
    id: u64,
    at: Vec2,
    hand: Option<usize>,
    of_panel: bool,
}

/// The fingers that are down.
#[derive(Resource, Debug, Clone, Default)]
pub struct Fingers {
    down: Vec<Finger>,
    /// Whether there ever was one.
    seen: bool,
}

impl Fingers {
    /// Whether a finger was ever felt.
    #[must_use]
    pub fn seen(&self) -> bool {
        self.seen
    }

    /// Takes what is felt now; the ways of those on the field.
    ///
    /// Of two that are down together the one more to the left moves the hand that is seen on the left: the forceps', or in a
    /// mirrored field the needle holder's. Each keeps its hand until it is lifted, so that they may cross. A third moves nothing.
    pub fn look(&mut self, felt: &[Felt], panels: &PanelPlaces, mirrored: bool) -> Vec<FingerWay> {
        self.seen |= !felt.is_empty();
        self.down.retain(|finger| felt.iter().any(|felt| felt.id == finger.id));
        let on_field = |down: &[Finger]| down.iter().filter(|finger| !finger.of_panel).count();
        for felt in felt {
            if self.down.iter().any(|finger| finger.id == felt.id) {
                continue;
            }
            let of_panel = panels.has(felt.start) || on_field(&self.down) == 2;
            self.down.push(Finger { id: felt.id, at: felt.start, hand: None, of_panel });
            if !of_panel {
                self.give_hands(mirrored);
            }
        }
        let mut ways = Vec::new();
        for finger in &mut self.down {
            let now = felt.iter().find(|felt| felt.id == finger.id).map_or(finger.at, |felt| felt.at);
            let from = std::mem::replace(&mut finger.at, now);
            if !finger.of_panel && from != now {
                ways.push(FingerWay { hand: finger.hand, from, to: now });
            }
        }
        ways
    }

    /// Gives two fingers that are now on the field a hand each, by where they are.
    fn give_hands(&mut self, mirrored: bool) {
        let mut pair: Vec<&mut Finger> = self.down.iter_mut().filter(|finger| !finger.of_panel).collect();
        pair.sort_by(|a, b| a.at.x.total_cmp(&b.at.x));
        let seen = if mirrored { [RIGHT, LEFT] } else { [LEFT, RIGHT] };
        if let [left, right] = &mut pair[..] {
            [left.hand, right.hand] = seen.map(Some);
        }
    }
}

/// The acts that are given by buttons on the screen.
#[derive(Resource, Debug, Clone, PartialEq, Eq, Default)]
pub struct OnScreen {
    /// Those that go on until their button is pressed again.
    pub on: Vec<Act>,
    /// Those that were just begun, until they are looked at.
    pub struck: Vec<Act>,
}

impl OnScreen {
    /// Presses a button; what is `held` as a key goes on until it is pressed again.
    pub fn press(&mut self, act: Act, held: bool) {
        let was_on = self.on.contains(&act);
        self.on.retain(|on| *on != act);
        if was_on {
            return;
        }
        self.struck.push(act);
        if held {
            self.on.push(act);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn felt(id: u64, x: f32) -> Felt {
        Felt { id, start: Vec2::new(x, 300.0), at: Vec2::new(x, 300.0) }
    }

    /// The same finger moved on.
    fn on(finger: Felt, x: f32) -> Felt {
        Felt { at: finger.at + Vec2::new(x, 0.0), ..finger }
    }

    /// Who moves which hand how far to the right.
    fn ways(fingers: &mut Fingers, felt: &[Felt], mirrored: bool) -> Vec<(Option<usize>, f32)> {
        let panels = PanelPlaces(vec![Rect::new(0.0, 0.0, 200.0, 600.0)]);
        let ways = fingers.look(felt, &panels, mirrored);
        ways.into_iter().map(|way| (way.hand, way.to.x - way.from.x)).collect()
    }

    #[test]
    fn one_finger_moves_the_active_hand_from_where_it_came_down() {
        let mut fingers = Fingers::default();
        assert_eq!((ways(&mut fingers, &[], false), fingers.seen()), (vec![], false));
        let finger = felt(7, 400.0);
        assert_eq!(ways(&mut fingers, &[on(finger, 5.0)], false), [(None, 5.0)]);
        assert_eq!(ways(&mut fingers, &[on(finger, 5.0)], false), []);
        assert_eq!(ways(&mut fingers, &[on(finger, 2.0)], false), [(None, -3.0)]);
        assert_eq!(ways(&mut fingers, &[], false), []);
        assert_eq!(ways(&mut fingers, &[felt(7, 900.0)], false), [], "it is another one, and does not jump");
        assert!(fingers.seen());
    }

    #[test]
    fn of_two_fingers_each_has_the_hand_seen_on_its_side_until_it_is_lifted() {
        for (mirrored, left, right) in [(false, LEFT, RIGHT), (true, RIGHT, LEFT)] {
            let mut fingers = Fingers::default();
            let (one, other) = (felt(1, 800.0), felt(2, 500.0));
            ways(&mut fingers, &[one], mirrored);
            assert_eq!(
                ways(&mut fingers, &[on(one, 1.0), on(other, 2.0)], mirrored),
                [(Some(right), 1.0), (Some(left), 2.0)]
            );
            let crossed = ways(&mut fingers, &[on(one, -399.0), on(other, 2.0)], mirrored);
            assert_eq!(crossed, [(Some(right), -400.0)], "they may cross");
            assert_eq!(ways(&mut fingers, &[on(one, -398.0), on(other, 2.0)], mirrored), [(Some(right), 1.0)]);
            assert_eq!(ways(&mut fingers, &[on(other, 5.0)], mirrored), [(Some(left), 3.0)], "the other one is lifted");
            let third = felt(3, 900.0);
            ways(&mut fingers, &[on(other, 5.0), third], mirrored);
            assert_eq!(ways(&mut fingers, &[on(other, 5.0), on(third, 1.0)], mirrored), [(Some(right), 1.0)]);
        }
    }

    #[test]
    fn a_finger_that_came_down_on_a_panel_and_a_third_one_move_nothing() {
        let mut fingers = Fingers::default();
        let (panel, one, other, third) = (felt(1, 100.0), felt(2, 500.0), felt(3, 600.0), felt(4, 700.0));
        ways(&mut fingers, &[panel, one], false);
        let moved = ways(&mut fingers, &[on(panel, 300.0), on(one, 2.0)], false);
        assert_eq!(moved, [(None, 2.0)], "the one on the field is the only one");
        let all = [panel, one, other, third].map(|finger| on(finger, 9.0));
        assert_eq!(ways(&mut fingers, &all, false), [(Some(LEFT), 7.0), (Some(RIGHT), 9.0)]);
        let into_panel = ways(&mut fingers, &[on(one, -450.0), on(other, 9.0)], false);
        assert_eq!(into_panel, [(Some(LEFT), -459.0)], "and stays so over a panel");
    }
}
