//! Which key, button or gamepad button gives which act: one table, which a file of the user's may change.
//!
//! Devices are read by it, the card of the keys and the tutorial are worded by it. It knows names only and no device.

mod acts;
mod file;
mod keys;

pub use self::acts::{ACTS, Act, Entry, When};
pub use self::file::{parse, template};
pub use self::keys::{KEYS, Key, Kind};

/// The hand that is the more skilled one: it holds the needle holder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Deserialize)]
pub enum Hand {
    /// The right hand.
    #[default]
    Right,
    /// The left hand: the field is mirrored, so that all lies for it as it lies for the right one.
    Left,
}

impl Hand {
    /// Its name in a file.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Hand::Right => "Right",
            Hand::Left => "Left",
        }
    }
}

/// What every act is given by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bindings {
    /// Which hand holds the needle holder.
    pub hand: Hand,
    /// Keys of each act, in the order of [`ACTS`].
    keys: Vec<Vec<Key>>,
    /// Whether each act, pressed once, goes on until it is pressed again.
    toggles: Vec<bool>,
}

impl Default for Bindings {
    fn default() -> Bindings {
        Bindings::of(Hand::Right)
    }
}

impl Bindings {
    /// What the acts are given by unless a file says otherwise.
    #[must_use]
    pub fn of(hand: Hand) -> Bindings {
        let keys = ACTS.iter().map(|entry| {
            let names = if hand == Hand::Left { entry.left.unwrap_or(entry.keys) } else { entry.keys };
            names.iter().filter_map(|name| Key::named(name)).collect()
        });
        Bindings { hand, keys: keys.collect(), toggles: vec![false; ACTS.len()] }
    }

    /// The keys of an act, at least one.
    #[must_use]
    pub fn keys(&self, act: Act) -> &[Key] {
        &self.keys[act as usize]
    }

    /// Whether an act, pressed once, goes on until it is pressed again.
    #[must_use]
    pub fn toggles(&self, act: Act) -> bool {
        self.toggles[act as usize]
    }

    /// Gives an act other keys.
    pub fn set_keys(&mut self, act: Act, keys: Vec<Key>) {
        self.keys[act as usize] = keys;
    }

    /// Whether an act goes on until it is pressed again.
    pub fn set_toggle(&mut self, act: Act, toggle: bool) {
        self.toggles[act as usize] = toggle;
    }

    /// The keys of an act that people are told of: those of keyboard and mouse; those of the gamepad if it has no other.
    #[must_use]
    pub fn told(&self, act: Act) -> Vec<Key> {
        let near: Vec<Key> = self.keys(act).iter().copied().filter(|key| key.kind() != Kind::Pad).collect();
        if near.is_empty() { self.keys(act).to_vec() } else { near }
    }

    /// Those of the gamepad.
    #[must_use]
    pub fn on_pad(&self, act: Act) -> Vec<Key> {
        self.keys(act).iter().copied().filter(|key| key.kind() == Kind::Pad).collect()
    }

    /// The first other act that has this key where `act` counts as well.
    #[must_use]
    pub fn rival(&self, act: Act, key: Key) -> Option<Act> {
        let when = act.entry().when;
        ACTS.iter()
            .filter(|other| other.act != act && other.when.iter().any(|moment| when.contains(moment)))
            .find(|other| self.keys(other.act).contains(&key))
            .map(|other| other.act)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_the_order_of_the_acts_and_every_key_in_it_exists() {
        for (number, entry) in ACTS.iter().enumerate() {
            assert_eq!(entry.act as usize, number, "{}", entry.name);
            for name in entry.keys.iter().chain(entry.left.unwrap_or_default()) {
                assert!(Key::named(name).is_some(), "{}: {name}", entry.name);
            }
            assert!(ACTS[..number].iter().all(|other| other.name != entry.name), "{} twice", entry.name);
        }
    }

    #[test]
    fn for_either_hand_every_act_has_keys_that_no_other_has_at_the_same_time() {
        for hand in [Hand::Right, Hand::Left] {
            let bindings = Bindings::of(hand);
            for entry in ACTS {
                assert!(!bindings.keys(entry.act).is_empty(), "{hand:?} {}", entry.name);
                for key in bindings.keys(entry.act) {
                    assert_eq!(bindings.rival(entry.act, *key), None, "{hand:?} {} {}", entry.name, key.name());
                }
            }
        }
    }

    #[test]
    fn people_are_told_of_the_gamepad_only_where_there_is_no_other_key() {
        let named = |name| Key::named(name).expect("there is one");
        let bindings = Bindings::default();
        assert_eq!(
            (bindings.told(Act::Switch), bindings.on_pad(Act::Switch)),
            (vec![named("Tab")], vec![named("PadNorth")])
        );
        assert_eq!(bindings.told(Act::LeftStickUp), [named("PadLeftBumper")]);
    }
}
