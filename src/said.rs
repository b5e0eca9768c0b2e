//! Sentences that core makes in English, each beside its rule, and that other languages can say too.
//!
//! A [`Said`] keeps with its English how it came about: a key, and what was put in. A language that has a text under that
//! key ([`Speaks`]) says the same with it. The texts are in `assets/words/marks.de.ftl`; core itself knows no other language.

use std::borrow::Cow;
use std::fmt;
use std::ops::Deref;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::tooth::Tooth;

/// A text in English that other languages can say too.
///
/// It is read and written as its English. What was kept in a file is English and stays so; marks are made anew from findings
/// whenever they are shown. Two are equal if their English is, so that one that was read equals the one that was written.
#[derive(Debug, Clone, Default)]
pub struct Said {
    english: String,
    origin: Origin,
}

/// How a text came about.
#[derive(Debug, Clone, Default)]
enum Origin {
    /// It is the same in every language, or comes from elsewhere.
    #[default]
    Plain,
    /// It is the text of a key, with this put in.
    Key(Cow<'static, str>, Vec<(&'static str, PutIn)>),
    /// It is several, with this between them.
    Joined(Vec<PutIn>, &'static str),
}

/// What is put into a sentence. As a text it is English.
#[derive(Debug, Clone)]
pub enum PutIn {
    /// A number with its decimals; the unit is the same in every language, and may be empty.
    Number {
        /// The number itself.
        value: f64,
        /// Digits behind its point.
        decimals: usize,
        /// What stands behind it.
        unit: &'static str,
    },
    /// A tooth with all its names.
    Tooth(Tooth),
    /// Words.
    Said(Said),
}

/// A language other than English, as far as sentences of core need it.
pub trait Speaks {
    /// The text of a key with this put in; `None` if it has none.
    fn sentence(&self, key: &str, put_in: &[(&str, String)]) -> Option<String>;
    /// A number with so many decimals.
    fn number(&self, value: f64, decimals: usize) -> String;
    /// A tooth with all its names, as [`Tooth::in_full`] has them.
    fn tooth(&self, tooth: Tooth) -> String;
}

/// A [`Said`] from its key, its English, and what is put in for the names in that:
/// `said!("mark-time-took", "The attempt took {time}.", time = measure(90.0, 1, "s"))`. As in a struct, a variable that has
/// the name may stand for `name = value`.
///
/// The compiler holds that each name of the English is put in, and that what is put in is named there.
macro_rules! said {
    (@ $name:ident) => { $crate::said::PutIn::from($name) };
    (@ $name:ident = $value:expr) => { $crate::said::PutIn::from($value) };
    ($key:literal, $english:literal $(, $name:ident $(= $value:expr)?)* $(,)?) => {
        match ($($crate::said::said!(@ $name $(= $value)?),)*) {
            // Glued to nothing, a literal takes no variable that happens to be there.
            ($($name,)*) => {
                let english = format!(concat!($english, "") $(, $name = $name)*);
                $crate::said::Said::keyed($key, english, vec![$((stringify!($name), $name)),*])
            }
        }
    };
}
pub(crate) use said;

/// A number with so many decimals and no unit, to be put in.
#[must_use]
pub fn number(value: f64, decimals: usize) -> PutIn {
    measure(value, decimals, "")
}

/// A number with so many decimals and its unit, to be put in.
#[must_use]
pub fn measure(value: f64, decimals: usize, unit: &'static str) -> PutIn {
    PutIn::Number { value, decimals, unit }
}

impl Said {
    /// The text of a key: `english` with what is put in already in it, and that once more by name.
    #[must_use]
    pub fn keyed(key: impl Into<Cow<'static, str>>, english: String, put_in: Vec<(&'static str, PutIn)>) -> Said {
        Said { english, origin: Origin::Key(key.into(), put_in) }
    }

    /// What is the same in every language, such as a notation, or was worded elsewhere.
    #[must_use]
    pub fn plain(words: impl Into<String>) -> Said {
        Said { english: words.into(), origin: Origin::Plain }
    }

    /// Several, one after the other, with `between` between them, which is the same in every language.
    #[must_use]
    pub fn joined<T: Into<PutIn>>(parts: impl IntoIterator<Item = T>, between: &'static str) -> Said {
        let parts: Vec<PutIn> = parts.into_iter().map(Into::into).collect();
        let english: Vec<String> = parts.iter().map(PutIn::to_string).collect();
        Said { english: english.join(between), origin: Origin::Joined(parts, between) }
    }

    /// The same in another language. A part for which that has no text stays English.
    #[must_use]
    pub fn word(&self, language: &dyn Speaks) -> String {
        match &self.origin {
            Origin::Plain => self.english.clone(),
            Origin::Key(key, put_in) => {
                let put_in: Vec<_> = put_in.iter().map(|(name, part)| (*name, part.word(language))).collect();
                language.sentence(key, &put_in).unwrap_or_else(|| self.english.clone())
            }
            Origin::Joined(parts, between) => {
                let parts: Vec<String> = parts.iter().map(|part| part.word(language)).collect();
                parts.join(between)
            }
        }
    }
}

impl PutIn {
    fn word(&self, language: &dyn Speaks) -> String {
        match self {
            PutIn::Number { value, decimals, unit } => with_unit(language.number(*value, *decimals), unit),
            PutIn::Tooth(tooth) => language.tooth(*tooth),
            PutIn::Said(said) => said.word(language),
        }
    }
}

fn with_unit(number: String, unit: &str) -> String {
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

impl fmt::Display for PutIn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            &PutIn::Number { value, decimals, unit } => f.write_str(&with_unit(format!("{value:.decimals$}"), unit)),
            PutIn::Tooth(tooth) => f.write_str(&tooth.in_full()),
            PutIn::Said(said) => f.write_str(said),
        }
    }
}

impl From<Said> for PutIn {
    fn from(said: Said) -> PutIn {
        PutIn::Said(said)
    }
}

impl From<&Said> for PutIn {
    fn from(said: &Said) -> PutIn {
        PutIn::Said(said.clone())
    }
}

impl From<Tooth> for PutIn {
    fn from(tooth: Tooth) -> PutIn {
        PutIn::Tooth(tooth)
    }
}

impl From<u32> for PutIn {
    fn from(count: u32) -> PutIn {
        number(f64::from(count), 0)
    }
}

impl From<u64> for PutIn {
    fn from(count: u64) -> PutIn {
        number(count as f64, 0)
    }
}

impl From<usize> for PutIn {
    fn from(count: usize) -> PutIn {
        number(count as f64, 0)
    }
}

impl Deref for Said {
    type Target = str;

    fn deref(&self) -> &str {
        &self.english
    }
}

impl fmt::Display for Said {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self)
    }
}

impl PartialEq for Said {
    fn eq(&self, other: &Said) -> bool {
        self.english == other.english
    }
}

impl PartialEq<str> for Said {
    fn eq(&self, other: &str) -> bool {
        self.english == other
    }
}

impl PartialEq<&str> for Said {
    fn eq(&self, other: &&str) -> bool {
        self.english == *other
    }
}

impl PartialEq<String> for Said {
    fn eq(&self, other: &String) -> bool {
        self.english == *other
    }
}

impl Serialize for Said {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self)
    }
}

impl<'de> Deserialize<'de> for Said {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Said, D::Error> {
        String::deserialize(deserializer).map(Said::plain)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A language that turns things round, has a decimal comma and lacks what it was not given.
    struct Other;

    impl Speaks for Other {
        fn sentence(&self, key: &str, put_in: &[(&str, String)]) -> Option<String> {
            let text = match key {
                "slit" => "Riss von { $length }: { $place }",
                "bite" => "{ $count }. Stich",
                "site" => "Ort { $tooth }",
                _ => return None,
            };
            Some(
                put_in
                    .iter()
                    .fold(text.to_owned(), |text, (name, value)| text.replace(&format!("{{ ${name} }}"), value)),
            )
        }

        fn number(&self, value: f64, decimals: usize) -> String {
            format!("{value:.decimals$}").replace('.', ",")
        }

        fn tooth(&self, tooth: Tooth) -> String {
            format!("Zahn {tooth}")
        }
    }

    fn bite(count: u32) -> Said {
        said!("bite", "bite {count}", count)
    }

    #[track_caller]
    fn check(said: &Said, english: &str, other: &str) {
        assert_eq!((&**said, said.word(&Other).as_str()), (english, other));
        assert_eq!(*said, english);
    }

    #[test]
    fn a_sentence_is_said_with_the_text_of_its_key_and_what_was_put_in_with_that_of_its_own() {
        let length = measure(2.44, 1, "mm");
        let slit = said!("slit", "At {place} is a slit of {length}.", place = bite(2), length);
        check(&slit, "At bite 2 is a slit of 2.4 mm.", "Riss von 2,4 mm: 2. Stich");
        let tooth = Tooth::try_from(35).expect("it exists");
        let english = "site 35 (lower left second premolar; universal 20, Palmer LL5)";
        check(&said!("site", "site {tooth}", tooth), english, "Ort Zahn 35");
    }

    #[test]
    fn several_are_said_one_by_one_and_plain_words_as_they_are() {
        let parts = [PutIn::from(bite(1)), number(0.25, 2), Said::plain("2=1=1").into()];
        check(&Said::joined(parts, "; "), "bite 1; 0.25; 2=1=1", "1. Stich; 0,25; 2=1=1");
        check(&Said::default(), "", "");
    }

    #[test]
    fn what_a_language_has_no_text_for_stays_english_and_only_that() {
        let depth = said!("depth", "{depth} deep", depth = measure(1.5, 1, "mm"));
        check(&Said::joined([bite(1), depth], ", "), "bite 1, 1.5 mm deep", "1. Stich, 1.5 mm deep");
    }

    #[test]
    fn it_is_written_as_its_english_and_what_is_read_equals_what_was_written() {
        let text = serde_json::to_string(&bite(3)).expect("it is a string");
        assert_eq!(text, "\"bite 3\"");
        let read: Said = serde_json::from_str(&text).expect("it is a string");
        assert_eq!(read, bite(3));
        check(&read, "bite 3", "bite 3");
    }
}
