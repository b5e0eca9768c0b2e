//! The names of keys and buttons, as a file says them.

/// What a key is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The keyboard.
    Keyboard,
    /// The mouse.
    Mouse,
    /// The gamepad.
    Pad,
}

/// A key or button, by its place: letters and signs are those of a US keyboard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Key(&'static str);

/// Every key that an act can have: `Shift`, `Control` and `Alt` are those of either side.
pub const KEYS: &[&str] = &[
    "A",
    "B",
    "C",
    "D",
    "E",
    "F",
    "G",
    "H",
    "I",
    "J",
    "K",
    "L",
    "M",
    "N",
    "O",
    "P",
    "Q",
    "R",
    "S",
    "T",
    "U",
    "V",
    "W",
    "X",
    "Y",
    "Z",
    "0",
    "1",
    "2",
    "3",
    "4",
    "5",
    "6",
    "7",
    "8",
    "9",
    "-",
    "=",
    "[",
    "]",
    "\\",
    ";",
    "'",
    ",",
    ".",
    "/",
    "`",
    "Space",
    "Tab",
    "Enter",
    "Esc",
    "Backspace",
    "Insert",
    "Delete",
    "Home",
    "End",
    "PageUp",
    "PageDown",
    "ArrowLeft",
    "ArrowRight",
    "ArrowUp",
    "ArrowDown",
    "Shift",
    "Control",
    "Alt",
    "F1",
    "F2",
    "F3",
    "F4",
    "F5",
    "F6",
    "F7",
    "F8",
    "F9",
    "F10",
    "F11",
    "F12",
    "Numpad0",
    "Numpad1",
    "Numpad2",
    "Numpad3",
    "Numpad4",
    "Numpad5",
    "Numpad6",
    "Numpad7",
    "Numpad8",
    "Numpad9",
    "NumpadAdd",
    "NumpadSubtract",
    "NumpadMultiply",
    "NumpadDivide",
    "NumpadDecimal",
    "NumpadEnter",
    "MouseLeft",
    "MouseRight",
    "MouseMiddle",
    "MouseBack",
    "MouseForward",
    "PadSouth",
    "PadEast",
    "PadWest",
    "PadNorth",
    "PadLeftBumper",
    "PadRightBumper",
    "PadLeftStick",
    "PadRightStick",
    "PadSelect",
    "PadStart",
    "PadUp",
    "PadDown",
    "PadLeft",
    "PadRight",
];

impl Key {
    /// The key of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<Key> {
        KEYS.iter().find(|key| **key == name).map(|name| Key(name))
    }

    /// Its name in a file.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.0
    }

    /// What it is on.
    #[must_use]
    pub fn kind(self) -> Kind {
        match self.0 {
            name if name.starts_with("Mouse") => Kind::Mouse,
            name if name.starts_with("Pad") => Kind::Pad,
            _ => Kind::Keyboard,
        }
    }
}
