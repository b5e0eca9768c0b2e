//! The table of acts: what can be done, and by which keys unless a file says otherwise.

/// When an act counts. What counts at the same time needs keys of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// While an attempt is made or its marks are shown.
    Attempt,
    /// While one is gone through again.
    Replay,
    /// While there is something to choose before anything goes on.
    Offer,
}

/// An act.
pub struct Entry {
    /// Which.
    pub act: Act,
    /// Its name in a file.
    pub name: &'static str,
    /// What it does.
    pub does: &'static str,
    /// When it counts.
    pub when: &'static [When],
    /// Whether it lasts as long as the key is down, so that it may be made a toggle.
    pub held: bool,
    /// Names of its keys.
    pub keys: &'static [&'static str],
    /// The same for the left hand, where they differ.
    pub left: Option<&'static [&'static str]>,
}

const TYING: &[When] = &[When::Attempt];
const GOING_THROUGH: &[When] = &[When::Replay];
const BOTH: &[When] = &[When::Attempt, When::Replay];
const CHOOSING: &[When] = &[When::Offer];

const fn press(act: Act, name: &'static str, keys: &'static [&'static str], does: &'static str) -> Entry {
    Entry { act, name, does, when: TYING, held: false, keys, left: None }
}

const fn hold(act: Act, name: &'static str, keys: &'static [&'static str], does: &'static str) -> Entry {
    Entry { held: true, ..press(act, name, keys, does) }
}

impl Entry {
    const fn when(self, when: &'static [When]) -> Entry {
        Entry { when, ..self }
    }

    const fn left(self, keys: &'static [&'static str]) -> Entry {
        Entry { left: Some(keys), ..self }
    }
}

/// Something that a key does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the table says of each what it does")]
pub enum Act {
    TakeOver,
    Close,
    Ratchet,
    Ease,
    Stand,
    Ring,
    Both,
    Turn,
    Rest,
    Switch,
    Raise,
    Lower,
    ParkedAway,
    ParkedToward,
    ParkedLeft,
    ParkedRight,
    RollLeft,
    RollRight,
    Cut,
    Arm,
    SiteCheck,
    Finish,
    LeftStickUp,
    RightStickUp,
    LeftStickTurn,
    RightStickTurn,
    Pause,
    Step,
    Slower,
    Faster,
    Marks,
    OpenReplay,
    BeginAnew,
    OperatorView,
    LeftView,
    RightView,
    TopView,
    SideView,
    Ghost,
    Look,
    Zoom,
    Help,
    EndTutorial,
    Play,
    SeekBack,
    SeekOn,
    SeekFinely,
    SeekStart,
    SeekEnd,
    CloseReplay,
    Accept,
    Decline,
}

impl Act {
    /// Its place in the table.
    #[must_use]
    pub fn entry(self) -> &'static Entry {
        &ACTS[self as usize]
    }
}

/// All acts, in the order of [`Act`]. Keys for the left hand leave the mouse to it and lie on the keyboard's right.
pub const ACTS: &[Entry] = &[
    press(Act::TakeOver, "take_over", &["T", "PadStart"], "take over from the script, or give back"),
    hold(Act::Close, "close", &["MouseLeft"], "close the active jaws; pressed twice quickly: the ratchet")
        .left(&["MouseRight"]),
    press(Act::Ratchet, "ratchet", &["V", "PadSouth"], "lock or release the active jaws").left(&[";", "PadSouth"]),
    press(
        Act::Ease,
        "ease",
        &["G"],
        "hold the thread lightly, so that it runs through the active jaws, or firmly again",
    )
    .left(&["'"]),
    hold(Act::Stand, "stand", &["Shift"], "stand the plane up: forward is up; the wheel is fine"),
    hold(Act::Ring, "ring", &["C", "PadUp"], "ring plane: circle the parked shaft").left(&[",", "PadUp"]),
    hold(Act::Both, "both", &["Space"], "pull both hands apart"),
    hold(Act::Turn, "turn", &["MouseRight"], "roll and pitch the instrument by moving the mouse").left(&["MouseLeft"]),
    hold(Act::Rest, "rest", &["Z"], "move the pointer alone: the hand rests").left(&["Y"]),
    press(Act::Switch, "switch", &["Tab", "PadNorth"], "change the active hand").left(&["Enter", "PadNorth"]),
    hold(Act::Raise, "raise", &["PageUp"], "raise the active tip"),
    hold(Act::Lower, "lower", &["PageDown"], "lower the active tip"),
    hold(Act::ParkedAway, "parked_away", &["W"], "move the parked hand away").left(&["I"]),
    hold(Act::ParkedToward, "parked_toward", &["S"], "move the parked hand toward you").left(&["K"]),
    hold(Act::ParkedLeft, "parked_left", &["A"], "move the parked hand to the left").left(&["J"]),
    hold(Act::ParkedRight, "parked_right", &["D"], "move the parked hand to the right").left(&["L"]),
    hold(Act::RollLeft, "roll_left", &["Q"], "roll the parked instrument to the left").left(&["U"]),
    hold(Act::RollRight, "roll_right", &["E"], "roll the parked instrument to the right").left(&["O"]),
    press(Act::Cut, "cut", &["X", "PadWest"], "cut at the active tip").left(&["/", "PadWest"]),
    press(Act::Arm, "arm", &["N", "PadEast"], "have the needle set in the shut holder again"),
    press(Act::SiteCheck, "site_check", &["K"], "mark the site by keys, before the first bite").left(&["G"]),
    press(Act::Finish, "finish", &["F"], "finish and hand in"),
    hold(Act::LeftStickUp, "left_stick_up", &["PadLeftBumper"], "the left stick's forward is up"),
    hold(Act::RightStickUp, "right_stick_up", &["PadRightBumper"], "the right stick's forward is up"),
    hold(Act::LeftStickTurn, "left_stick_turn", &["PadLeftStick"], "the left stick rolls and pitches"),
    hold(Act::RightStickTurn, "right_stick_turn", &["PadRightStick"], "the right stick rolls and pitches"),
    press(Act::Pause, "pause", &["P", "PadDown"], "pause, or go on"),
    press(Act::Step, "step", &["."], "one tick, then stop"),
    press(Act::Slower, "slower", &["-"], "slower").when(BOTH),
    press(Act::Faster, "faster", &["="], "faster").when(BOTH),
    press(Act::Marks, "marks", &["M"], "show or hide the marks"),
    press(Act::OpenReplay, "replay", &["R"], "go through the attempt, once it is over"),
    press(
        Act::BeginAnew,
        "begin_anew",
        &["B"],
        "begin the case yourself while the script plays, or anew once it is over",
    ),
    press(Act::OperatorView, "operator_view", &["1"], "look from the operator's place").when(BOTH),
    press(Act::LeftView, "left_view", &["2"], "look from the left").when(BOTH),
    press(Act::RightView, "right_view", &["3"], "look from the right").when(BOTH),
    press(Act::TopView, "top_view", &["4"], "look from above").when(BOTH),
    press(Act::SideView, "side_view", &["5"], "show or hide the picture from the side while your hands move"),
    press(Act::Ghost, "ghost", &["6"], "show or hide the hands of the demonstration beside yours").when(BOTH),
    hold(Act::Look, "look", &["MouseMiddle"], "look around by moving the mouse").when(BOTH),
    hold(Act::Zoom, "zoom", &["Control"], "the wheel brings the eye nearer").when(BOTH),
    press(Act::Help, "help", &["H", "PadSelect"], "show or hide the card of the keys").when(BOTH),
    press(Act::EndTutorial, "end_tutorial", &["Esc"], "end the tutorial for good").when(BOTH),
    press(Act::Play, "play", &["P", "Space", "PadSouth"], "play the replay, or stop it").when(GOING_THROUGH),
    press(Act::SeekBack, "seek_back", &["ArrowLeft", "PadLeft"], "a second back").when(GOING_THROUGH),
    press(Act::SeekOn, "seek_on", &["ArrowRight", "PadRight"], "a second on").when(GOING_THROUGH),
    hold(Act::SeekFinely, "seek_finely", &["Shift"], "back and on go a frame only").when(GOING_THROUGH),
    press(Act::SeekStart, "seek_start", &["Home"], "to the beginning").when(GOING_THROUGH),
    press(Act::SeekEnd, "seek_end", &["End"], "to the end").when(GOING_THROUGH),
    press(Act::CloseReplay, "close_replay", &["M", "R", "PadEast"], "back to the marks").when(GOING_THROUGH),
    press(Act::Accept, "accept", &["Y", "PadSouth"], "take what is offered").when(CHOOSING),
    press(Act::Decline, "decline", &["N", "PadEast"], "decline it").when(CHOOSING),
];
