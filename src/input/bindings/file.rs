//! The file in which a user says what gives which act.

use super::acts::{ACTS, Act};
use super::keys::{KEYS, Key};
use super::{Bindings, Hand};
use crate::scenario::Problems;
use crate::scenario::Severity;
use crate::scenario::check::Findings;
use crate::scenario::nearest::did_you_mean;
use crate::scenario::parse::Language;
use crate::scenario::scan::Value;
use crate::scenario::shape::{Shape, field, limits, optional};
use serde::Deserialize;
use std::collections::BTreeMap;

/// Keys that one act may have.
const KEYS_MAX: usize = 4;

const NAME: Shape = Shape::Text(40);

const FILE: Shape = Shape::Group(&[
    field("format", Shape::Whole(limits(1.0, 1.0, "")), "the version of the keys' language that this program reads"),
    optional("hand", Shape::Choice(&["Right", "Left"]), "the one that holds the needle holder"),
    optional(
        "keys",
        Shape::Map(&Shape::List { of: &NAME, min: 1, max: KEYS_MAX }),
        "names of acts, each with the names of its keys; an act that is left out keeps its own",
    ),
    optional(
        "toggles",
        Shape::List { of: &NAME, min: 0, max: ACTS.len() },
        "held acts that go on until they are pressed again",
    ),
]);

/// A file as it is written.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Written {
    hand: Hand,
    keys: BTreeMap<String, Vec<String>>,
    toggles: Vec<String>,
}

/// Reads a file of keys; `name` is the file's name as messages show it.
///
/// # Errors
/// Everything that is wrong with it: acts and keys that do not exist, a key with two acts at the same time, an act
/// without a key, a toggle of what is not held.
pub fn parse(name: &str, text: &str) -> Result<Bindings, Problems> {
    let language = Language { whole: "keys file", shape: &FILE, options: ron::Options::default() };
    let mut bindings = Bindings::default();
    let (written, problems) = language.read(name, text, |written: &Written, root, findings| {
        bindings = Bindings::of(written.hand);
        let mut rules = Rules { root, findings };
        rules.take_keys(written, &mut bindings);
        rules.take_toggles(written, &mut bindings);
        rules.rivals(written, &bindings);
    });
    written.map(|_| bindings).ok_or(problems)
}

struct Rules<'a> {
    root: &'a Value,
    findings: &'a mut Findings,
}

impl Rules<'_> {
    fn error(&mut self, field: &str, words: [impl Into<String>; 3]) {
        self.findings.note_field(Severity::Error, self.root, field, words);
    }

    /// The act of a name, or a note that there is none.
    fn act(&mut self, field: &str, name: &str, allowed: &[&str]) -> Option<Act> {
        let act = ACTS.iter().find(|entry| entry.name == name && allowed.contains(&name)).map(|entry| entry.act);
        if act.is_none() {
            let found = format!("{name:?}, no act of these");
            self.error(field, [found, allowed.join(", "), did_you_mean(name, allowed)]);
        }
        act
    }

    fn take_keys(&mut self, written: &Written, bindings: &mut Bindings) {
        let acts: Vec<&str> = ACTS.iter().map(|entry| entry.name).collect();
        for (name, keys) in &written.keys {
            let field = format!("keys.{name}");
            let Some(act) = self.act(&field, name, &acts) else { continue };
            let mut taken = Vec::new();
            for (number, key) in keys.iter().enumerate() {
                let field = format!("{field}[{number}]");
                match Key::named(key) {
                    None => self.error(&field, [format!("{key:?}"), KEYS.join(" "), did_you_mean(key, KEYS)]),
                    Some(key) if taken.contains(&key) => {
                        self.error(
                            &field,
                            [format!("{:?} again", key.name()), "each key once".to_owned(), String::new()],
                        );
                    }
                    Some(key) => taken.push(key),
                }
            }
            if !taken.is_empty() {
                bindings.set_keys(act, taken);
            }
        }
    }

    fn take_toggles(&mut self, written: &Written, bindings: &mut Bindings) {
        let held: Vec<&str> = ACTS.iter().filter(|entry| entry.held).map(|entry| entry.name).collect();
        for (number, name) in written.toggles.iter().enumerate() {
            if let Some(act) = self.act(&format!("toggles[{number}]"), name, &held) {
                bindings.set_toggle(act, true);
            }
        }
    }

    /// Each key of the file is its act's alone; two acts of the file that share one are named once.
    fn rivals(&mut self, written: &Written, bindings: &Bindings) {
        let names = |act: Act| act.entry().name;
        for act in ACTS.iter().map(|entry| entry.act).filter(|act| written.keys.contains_key(names(*act))) {
            for (number, key) in written.keys[names(act)].iter().enumerate() {
                let rival = Key::named(key).and_then(|key| bindings.rival(act, key));
                let Some(rival) = rival else { continue };
                let told = written.keys.contains_key(names(rival)) && (rival as usize) < act as usize;
                if !told {
                    let found = format!("{key:?}, which {} has at the same time", names(rival));
                    let hint = format!("give {} another key, or this one", names(rival));
                    self.error(&format!("keys.{}[{number}]", names(act)), [&found, "a key of its own", &hint]);
                }
            }
        }
    }
}

/// The file that says what holds anyway, to begin from.
#[must_use]
pub fn template(bindings: &Bindings) -> String {
    let mut text = String::from(HEAD);
    text += &format!(
        "(\n    format: 1,\n    // Right or Left: the hand that holds the needle holder. Left mirrors the field and the keys.\n    hand: {},\n    keys: {{\n",
        bindings.hand.name()
    );
    for entry in ACTS {
        let keys: Vec<String> = bindings.keys(entry.act).iter().map(|key| format!("{:?}", key.name())).collect();
        let held = if entry.held { " (held)" } else { "" };
        text += &format!("        // {}{held}\n        {:?}: [{}],\n", entry.does, entry.name, keys.join(", "));
    }
    let toggles = ACTS.iter().filter(|entry| bindings.toggles(entry.act)).map(|entry| format!("{:?}", entry.name));
    let toggles = toggles.collect::<Vec<_>>().join(", ");
    text += &format!(
        "    }},\n    // Held acts that are pressed once to begin and once more to end, such as [\"ring\", \"both\"].\n    toggles: [{toggles}],\n)\n"
    );
    text
}

const HEAD: &str = "\
// What gives which act. An act that is left out keeps what it has here; an act may have up to four keys.
// Keys are meant by their place: letters and signs are those of a US keyboard. A motion of the mouse, its wheel, and the
// sticks and triggers of a gamepad always move the hands.
";

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        parse("keys.ron", text).expect_err("it is not in order").to_string()
    }

    #[test]
    fn what_is_printed_to_begin_from_says_what_holds_anyway() {
        for hand in [Hand::Right, Hand::Left] {
            let bindings = Bindings::of(hand);
            assert_eq!(parse("keys.ron", &template(&bindings)), Ok(bindings), "{hand:?}");
        }
        let mut changed = Bindings::default();
        changed.set_toggle(Act::Ring, true);
        changed.set_keys(Act::Cut, vec![Key::named("F1").expect("there is one")]);
        assert_eq!(parse("keys.ron", &template(&changed)), Ok(changed));
    }

    #[test]
    fn an_act_takes_the_keys_of_the_file_and_the_others_keep_theirs() {
        let text = "(format: 1, keys: {\"ring\": [\"X\", \"MouseBack\"], \"cut\": [\"C\"]}, toggles: [\"ring\"])";
        let bindings = parse("keys.ron", text).expect("two keys changed places");
        let names = |act| bindings.told(act).into_iter().map(Key::name).collect::<Vec<_>>();
        assert_eq!([Act::Ring, Act::Cut, Act::Switch].map(names), [vec!["X", "MouseBack"], vec!["C"], vec!["Tab"]]);
        assert!(bindings.toggles(Act::Ring) && !bindings.toggles(Act::Both));
    }

    #[test]
    fn everything_that_is_wrong_is_said_at_once_with_its_place() {
        let text = "(\n  format: 1,\n  keys: {\n    \"rnig\": [\"C\"],\n    \"cut\": [\"Spaace\"],\n    \"switch\": [\"X\"],\n    \
                    \"arm\": [],\n    \"pause\": [\"F5\"],\n    \"step\": [\"F5\"],\n    \"help\": [\"F1\", \"F1\"],\n  },\n  \
                    toggles: [\"cut\"],\n)";
        let problems = refused(text);
        let lines: Vec<&str> = problems.lines().collect();
        let expected: [(&str, &[&str]); 7] = [
            ("keys.ron:4:13: keys.rnig", &["no act of these", "did you mean ring?"]),
            ("keys.ron:5:13: keys.cut[0]", &["\"Spaace\"", "did you mean Space?", "MouseLeft"]),
            ("keys.ron:6:16: keys.switch[0]", &["\"X\", which cut has", "a key of its own"]),
            ("keys.ron:7:12: keys.arm", &["a list of 0", "1 to 4"]),
            ("keys.ron:8:15: keys.pause[0]", &["\"F5\", which step has"]),
            ("keys.ron:10:20: keys.help[1]", &["\"F1\" again"]),
            ("keys.ron:12:13: toggles[0]", &["\"cut\"", "stand, ring, both"]),
        ];
        assert_eq!(lines.len(), expected.len(), "{problems}");
        for (line, (place, words)) in lines.iter().zip(expected) {
            assert!(line.starts_with(place), "{line}\nis not at {place}");
            for word in words {
                assert!(line.contains(word), "no `{word}` in {line}");
            }
        }
    }

    #[test]
    fn a_key_may_do_one_thing_while_tying_and_another_in_the_replay() {
        let text = "(format: 1, keys: {\"play\": [\"X\"]})";
        assert_eq!(
            parse("keys.ron", text).map(|bindings| bindings.told(Act::Play)),
            Ok(vec![Key::named("X").expect("there is one")])
        );
        assert!(refused("(format: 1, keys: {\"play\": [\"H\"]})").contains("which help has"));
    }
}
