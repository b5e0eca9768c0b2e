//! The words of the window: every text stands under its key in `assets/words`, in a file for each language.
//!
//! Which language is spoken is kept in egui's context. What draws asks for it with [`Language::of`]; what has no context is
//! handed it.

use std::sync::LazyLock;

use bevy::prelude::Resource;
use bevy_egui::egui;
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource};

use crate::input::bindings::{ACTS, Act, Bindings, Key};
use crate::said::{Said, Speaks};
use crate::simulation::arming::NotArmed;
use crate::simulation::attempt::Refusal;
use crate::tooth::Tooth;

/// A language that the window speaks.
#[derive(Resource, Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Language {
    /// English, which has every text.
    #[default]
    English,
    /// German.
    German,
}

type Bundle = FluentBundle<FluentResource>;

/// The texts of each language, in the order of [`Language::ALL`].
static TEXTS: LazyLock<[Bundle; 2]> = LazyLock::new(|| Language::ALL.map(read));

/// What stands in a text: names and what is put in for them.
pub type Args<'a> = [(&'a str, String)];

/// A text that is worded only when it is drawn, in the language that is spoken then.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Text {
    /// That of a key, with this put in.
    Key(&'static str, Vec<(&'static str, String)>),
    /// Words that are made elsewhere, by core or by the file system: the same in every language.
    Words(String),
}

impl Text {
    /// The text of a key.
    #[must_use]
    pub fn of(key: &'static str) -> Text {
        Text::Key(key, Vec::new())
    }

    /// The text of a key that ends in a reason.
    #[must_use]
    pub fn why(key: &'static str, why: impl ToString) -> Text {
        Text::Key(key, vec![("why", why.to_string())])
    }
}

impl From<String> for Text {
    fn from(words: String) -> Text {
        Text::Words(words)
    }
}

impl From<Refusal> for Text {
    fn from(refusal: Refusal) -> Text {
        Text::of(match refusal {
            Refusal::Arm(NotArmed::NoNeedle) => "refused-no-needle",
            Refusal::Arm(NotArmed::Sticks) => "refused-sticks",
            Refusal::Arm(NotArmed::ThreadInGum) => "refused-thread-in-gum",
            Refusal::Arm(NotArmed::HoldsThread) => "refused-holds-thread",
            Refusal::Arm(NotArmed::JawsOpen) => "refused-jaws-open",
            Refusal::Arm(NotArmed::InTheWay) => "refused-in-the-way",
            Refusal::Cut => "refused-cut",
            Refusal::Mark => "refused-mark",
        })
    }
}

impl Language {
    /// All of them.
    pub const ALL: [Language; 2] = [Language::English, Language::German];

    /// Its code (ISO 639-1), by which it is asked for and kept.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::German => "de",
        }
    }

    /// The language of a code.
    #[must_use]
    pub fn coded(code: &str) -> Option<Language> {
        Language::ALL.into_iter().find(|language| language.code() == code)
    }

    /// Its own name for itself.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Language::English => "English",
            Language::German => "Deutsch",
        }
    }

    /// The file of its texts.
    #[must_use]
    pub fn file(self) -> &'static str {
        match self {
            Language::English => include_str!("../../assets/words/en.ftl"),
            Language::German => include_str!("../../assets/words/de.ftl"),
        }
    }

    /// The file of the sentences that core makes; none for English, in which it makes them.
    #[must_use]
    pub fn marks(self) -> &'static str {
        match self {
            Language::English => "",
            Language::German => include_str!("../../assets/words/marks.de.ftl"),
        }
    }

    /// The language that the panels of a context speak.
    #[must_use]
    pub fn of(ctx: &egui::Context) -> Language {
        ctx.data(|data| data.get_temp(egui::Id::NULL)).unwrap_or_default()
    }

    /// Lets the panels of a context speak it.
    pub fn speak(self, ctx: &egui::Context) {
        ctx.data_mut(|data| data.insert_temp(egui::Id::NULL, self));
    }

    /// The text of a key.
    #[must_use]
    pub fn say(self, key: &str) -> String {
        self.tell(key, &[])
    }

    /// The text of a key, with this put in.
    #[must_use]
    pub fn tell(self, key: &str, args: &Args) -> String {
        // A test holds that English has every key; one that it has not is easier found than a gap.
        self.find(key, args).unwrap_or_else(|| key.to_owned())
    }

    /// A text, worded.
    #[must_use]
    pub fn word(self, text: &Text) -> String {
        match text {
            Text::Key(key, args) => self.tell(key, args),
            Text::Words(words) => words.clone(),
        }
    }

    /// A sentence that core made.
    #[must_use]
    pub fn told(self, said: &Said) -> String {
        said.word(&self)
    }

    /// A number with so many decimals, as this language writes it.
    #[must_use]
    pub fn number(self, value: f64, decimals: usize) -> String {
        let text = format!("{value:.decimals$}");
        match self {
            Language::English => text,
            Language::German => text.replace('.', ","),
        }
    }

    /// What is pressed for each act, to be put into texts that speak of acts.
    #[must_use]
    pub fn acts(self, keys: &Bindings) -> Vec<(&'static str, String)> {
        ACTS.iter().map(|entry| (entry.name, self.pressed(keys, entry.act))).collect()
    }

    /// The text of a key for a button, with what does the same: `Pause (P)`.
    #[must_use]
    pub fn button(self, key: &str, keys: &Bindings, act: Act) -> String {
        let short = keys.told(act).first().map(|key| self.key(*key)).unwrap_or_default();
        format!("{} ({short})", self.say(key))
    }

    /// What is pressed for an act: its keys and mouse buttons; its gamepad buttons if it has no other.
    #[must_use]
    pub fn pressed(self, keys: &Bindings, act: Act) -> String {
        self.keys(&keys.told(act))
    }

    /// What is pressed for it on a gamepad; empty if nothing.
    #[must_use]
    pub fn pressed_on_pad(self, keys: &Bindings, act: Act) -> String {
        self.keys(&keys.on_pad(act))
    }

    /// The name of a tooth, such as "lower left second premolar".
    #[must_use]
    pub fn tooth(self, tooth: Tooth) -> String {
        let part = |part: &str, figure: u8| self.say(&format!("tooth-{part}-{figure}"));
        let (quadrant, place) = (part("quadrant", tooth.quadrant()), part("place", tooth.place()));
        self.tell("tooth-name", &[("quadrant", quadrant), ("place", place)])
    }

    /// The same with the other notations.
    #[must_use]
    pub fn tooth_described(self, tooth: Tooth) -> String {
        let (universal, palmer) = (tooth.universal().to_string(), tooth.palmer());
        self.tell("tooth-described", &[("name", self.tooth(tooth)), ("universal", universal), ("palmer", palmer)])
    }

    /// What something is called that core has English words for, such as a criterion; those words where there are no others.
    #[must_use]
    pub fn name_of(self, kind: &str, id: &str, english: &str) -> String {
        let own = if self == Language::English { None } else { self.find(&format!("{kind}-{id}"), &[]) };
        own.unwrap_or_else(|| english.to_owned())
    }

    /// How people read a key; its name in a file if that tells them.
    fn key(self, key: Key) -> String {
        self.find(&format!("key-{}", key.name()), &[]).unwrap_or_else(|| key.name().to_owned())
    }

    fn keys(self, keys: &[Key]) -> String {
        let mut keys = keys.iter().map(|key| self.key(*key));
        let first = keys.next().unwrap_or_default();
        keys.fold(first, |first, second| self.tell("key-or", &[("first", first), ("second", second)]))
    }

    /// The text of a key, in English if this language has none.
    fn find(self, key: &str, args: &Args) -> Option<String> {
        let pattern = |language: Language| {
            let bundle = &TEXTS[language as usize];
            Some((bundle, bundle.get_message(key)?.value()?))
        };
        let (bundle, pattern) = pattern(self).or_else(|| pattern(Language::English))?;
        let args: FluentArgs = args.iter().map(|(name, value)| (*name, value.as_str())).collect();
        let mut errors = Vec::new();
        let text = bundle.format_pattern(pattern, Some(&args), &mut errors);
        debug_assert!(errors.is_empty(), "{key}: {errors:?}");
        Some(text.into_owned())
    }
}

impl Speaks for Language {
    fn sentence(&self, key: &str, put_in: &[(&str, String)]) -> Option<String> {
        self.find(key, put_in)
    }

    fn number(&self, value: f64, decimals: usize) -> String {
        Language::number(*self, value, decimals)
    }

    fn tooth(&self, tooth: Tooth) -> String {
        self.tell("site-in-full", &[("tooth", tooth.to_string()), ("described", self.tooth_described(tooth))])
    }
}

fn read(language: Language) -> Bundle {
    let code = language.code().parse().expect("it is a code of a language");
    let mut bundle = Bundle::new_concurrent(vec![code]);
    // What is put in stands there as it is, without marks around it that say which way it is written.
    bundle.set_use_isolating(false);
    for file in [language.file(), language.marks()] {
        let texts = FluentResource::try_new(file.to_owned());
        let texts = texts.unwrap_or_else(|(_, errors)| panic!("{}: {errors:?}", language.code()));
        bundle.add_resource(texts).unwrap_or_else(|errors| panic!("{}: {errors:?}", language.code()));
    }
    bundle
}
