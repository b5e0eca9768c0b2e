//! The hand-script language: what two hands do, written as text.
//!
//! One statement a line: a verb, then names with values, in any order. A value is a number with its unit, or a word.
//! `#` starts a comment. `repeat N times until CONDITION` ... `end` does the lines between again until the world shows
//! that the condition holds. `mark ordered` marks the tooth that the order names on the arch, `mark 45` that one, and
//! `mark none` wipes the mark off: it takes no time, and what is marked last before the first bite is the site. The
//! verbs are listed in [`VERBS`]; what each does with eyes on the world is the performer's business, this module only
//! knows the words.

use crate::tooth::{ALLOWED, Tooth};
use std::collections::BTreeMap;
use std::fmt;

/// A unit a number may carry, and what it is multiplied by to come to mm, ms, mN and radians.
const UNITS: &[(&str, f64)] = &[
    ("mm", 1.0),
    ("mm/s", 1e-3),
    ("s", 1000.0),
    ("N", 1000.0),
    ("deg", std::f64::consts::PI / 180.0),
    ("turns", 1.0),
    ("times", 1.0),
    ("wraps", 1.0),
];

/// A kind of value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A number with this unit, between the two limits (in that unit).
    Number(&'static str, f64, f64),
    /// One of these words.
    Word(&'static [&'static str]),
}

/// A name a verb takes, its kind, and the value it has when it is not given; a word with any default may be left out.
pub type Parameter = (&'static str, Kind, Option<f64>);

/// A verb of the language.
#[derive(Debug, Clone, Copy)]
pub struct Verb {
    /// The word.
    pub name: &'static str,
    /// What it does.
    pub doc: &'static str,
    /// What it takes.
    pub takes: &'static [Parameter],
}

const SPEED: Parameter = ("speed", Kind::Number("mm/s", 1.0, 150.0), Some(60.0));

/// Every verb, in the order of a stitch.
pub const VERBS: &[Verb] = &[
    Verb {
        name: "arm",
        doc: "have fingers set the needle in the holder, over this place along the wound, and lay its thread out",
        takes: &[
            ("at", Kind::Number("mm", -10.0, 10.0), None),
            ("bite", Kind::Number("mm", 0.5, 6.0), Some(2.5)),
            SPEED,
        ],
    },
    Verb {
        name: "drive",
        doc: "drive the needle along its own arc, in this far from the first flap's edge, until its point stands this \
              far out of the second flap; aside, toward the cheek, makes its bite so much wider and the other's narrower",
        takes: &[
            ("bite", Kind::Number("mm", 0.5, 6.0), Some(2.5)),
            ("out", Kind::Number("mm", 0.5, 8.0), Some(2.4)),
            ("aside", Kind::Number("mm", -3.0, 3.0), Some(0.0)),
            SPEED,
        ],
    },
    Verb {
        name: "sweep",
        doc: "press the left hand's closed tip on the membrane between the flaps, over this place along the wound, draw it \
              this far across the wound, toward the cheek, and lift it off again",
        takes: &[
            ("by", Kind::Number("mm", -6.0, 6.0), None),
            ("at", Kind::Number("mm", -10.0, 10.0), Some(0.0)),
            SPEED,
        ],
    },
    Verb {
        name: "prick",
        doc: "turn the needle's point straight down over this place, along the wound and across it toward the cheek, push it on \
              what is hard there until that holds it with this force, and bring it back to where it was",
        takes: &[
            ("at", Kind::Number("mm", -30.0, 30.0), None),
            ("across", Kind::Number("mm", -15.0, 15.0), Some(0.0)),
            ("force", Kind::Number("N", 0.05, 5.0), None),
            ("speed", Kind::Number("mm/s", 1.0, 150.0), Some(2.0)),
        ],
    },
    Verb { name: "regrip", doc: "let the needle go and take it again behind its point", takes: &[SPEED] },
    Verb {
        name: "draw",
        doc: "draw needle and thread through until the tail has this length",
        takes: &[("tail", Kind::Number("mm", 8.0, 60.0), Some(22.0)), SPEED],
    },
    Verb {
        name: "take_strand",
        doc: "the left hand takes the strand this far from the hole, the rest in its palm, and the needle is let go",
        takes: &[("free", Kind::Number("mm", 15.0, 90.0), Some(50.0)), SPEED],
    },
    Verb {
        name: "plan",
        doc: "look where the tail is and decide how the holder will stand for the next throw",
        takes: &[
            ("strand", Kind::Word(&["near", "far"]), None),
            ("wraps", Kind::Number("wraps", 1.0, 4.0), None),
            ("round", Kind::Word(&["over", "under"]), Some(0.0)),
            ("loops", Kind::Number("mm", 4.0, 16.0), Some(12.0)),
            ("tilt", Kind::Number("deg", 0.0, 45.0), Some(17.0)),
            ("radius", Kind::Number("mm", 8.0, 30.0), Some(13.0)),
            ("height", Kind::Number("mm", 8.0, 40.0), Some(14.0)),
        ],
    },
    Verb {
        name: "gather",
        doc: "bring the strand hand to where the wrapping starts and take up the slack",
        takes: &[("slack", Kind::Number("mm", 0.0, 10.0), Some(1.0)), SPEED],
    },
    Verb { name: "stand", doc: "bring holder and strand to where the wrapping starts", takes: &[SPEED] },
    Verb {
        name: "wrap",
        doc: "carry the strand over the holder, from its own side to the other, round and round",
        takes: &[
            ("tension", Kind::Number("N", 0.01, 1.0), Some(0.09)),
            ("pitch", Kind::Number("mm", 0.0, 3.0), Some(0.5)),
            ("extra", Kind::Number("turns", -0.5, 1.0), Some(0.0)),
            SPEED,
        ],
    },
    Verb {
        name: "reach",
        doc: "open the jaws and bring them over the tail's end, the strand following",
        takes: &[("tension", Kind::Number("N", 0.01, 1.0), Some(0.06)), SPEED],
    },
    Verb {
        name: "grasp",
        doc: "close the jaws on the tail this far behind their tip",
        takes: &[("depth", Kind::Number("mm", 0.5, 4.5), Some(1.6)), SPEED],
    },
    Verb {
        name: "withdraw",
        doc: "draw the tail back through the loops until they are off the holder",
        takes: &[
            ("tension", Kind::Number("N", 0.01, 2.0), Some(0.05)),
            ("shed", Kind::Number("N", 0.01, 2.0), Some(0.3)),
            SPEED,
        ],
    },
    Verb {
        name: "cross",
        doc: "lay the ends to opposite sides, the strand over the top",
        takes: &[("tension", Kind::Number("N", 0.05, 2.0), Some(0.3)), SPEED],
    },
    Verb {
        name: "pull",
        doc: "pull the ends apart along the wound, level with the gum, until each carries its tension; leaning draws the knot to the far side",
        takes: &[
            ("strand", Kind::Number("N", 0.1, 8.0), None),
            ("tail", Kind::Number("N", 0.1, 8.0), None),
            ("lean", Kind::Number("times", -4.0, 4.0), Some(0.0)),
            SPEED,
        ],
    },
    Verb { name: "lay", doc: "slacken and lay tail and strand down, each on its new side", takes: &[SPEED] },
    Verb { name: "release", doc: "open the holder and back it out", takes: &[SPEED] },
    Verb {
        name: "clear",
        doc: "open the holder and take it out of the way; first put back the tail of a throw that came to nothing",
        takes: &[SPEED],
    },
    Verb { name: "wait", doc: "hold still", takes: &[("for", Kind::Number("s", 0.0, 60.0), None)] },
    Verb {
        name: "cut",
        doc: "cut the tail and the strand this far from the knot",
        takes: &[("leaving", Kind::Number("mm", 0.5, 12.0), Some(4.5)), SPEED],
    },
];

/// Conditions a `repeat` may end on.
pub const CONDITIONS: &[&str] = &["loops_on", "tail_held", "throw_made"];

/// A value as the performer gets it: numbers in mm, ms, mN, radians.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A number.
    Number(f64),
    /// A word.
    Word(String),
}

/// What is marked as the site.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Marking {
    /// The tooth that the order names.
    Ordered,
    /// This tooth.
    Tooth(Tooth),
    /// None: a mark is wiped off.
    Nothing,
}

/// One line of a script.
#[derive(Debug, Clone, PartialEq)]
pub enum Statement {
    /// What a person sees from here on.
    Say(String),
    /// Start of lines to do again.
    Repeat {
        /// How often at most.
        times: u32,
        /// Until this holds.
        until: String,
    },
    /// End of the innermost repeat.
    End,
    /// The site is marked on the arch.
    Mark(Marking),
    /// A verb.
    Do {
        /// The verb.
        verb: String,
        /// Its values.
        values: BTreeMap<String, Value>,
    },
}

/// A script that was read without a fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Script {
    /// Statements with the line each stands on.
    pub statements: Vec<(usize, Statement)>,
}

/// One thing wrong in a script.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// File.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// What was found and what is allowed.
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}", self.file, self.line, self.what)
    }
}

/// Reads a script; all faults at once.
pub fn parse(file: &str, text: &str) -> Result<Script, Vec<Fault>> {
    let mut statements = Vec::new();
    let mut faults = Vec::new();
    let mut open = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let line_number = at + 1;
        let line = line.split('#').next().unwrap_or("").trim();
        if line.is_empty() {
            continue;
        }
        match statement(line) {
            Ok(parsed) => {
                match parsed {
                    Statement::Repeat { .. } => open.push(line_number),
                    Statement::End if open.pop().is_none() => {
                        let what = "`end` without a `repeat` before it".to_owned();
                        faults.push(Fault { file: file.to_owned(), line: line_number, what });
                    }
                    _ => {}
                }
                statements.push((line_number, parsed));
            }
            Err(found) => {
                faults.extend(found.into_iter().map(|what| Fault { file: file.to_owned(), line: line_number, what }));
            }
        }
    }
    for line in open {
        faults.push(Fault { file: file.to_owned(), line, what: "`repeat` without an `end` after it".to_owned() });
    }
    if faults.is_empty() { Ok(Script { statements }) } else { Err(faults) }
}

fn statement(line: &str) -> Result<Statement, Vec<String>> {
    let mut words = line.split_whitespace();
    let verb = words.next().unwrap_or("");
    let rest: Vec<&str> = words.collect();
    match verb {
        "say" => Ok(Statement::Say(rest.join(" "))),
        "end" if rest.is_empty() => Ok(Statement::End),
        "repeat" => repeat(&rest),
        "mark" => mark(&rest),
        _ => {
            let Some(known) = VERBS.iter().find(|v| v.name == verb) else {
                let names: Vec<&str> = VERBS.iter().map(|v| v.name).collect();
                return Err(vec![format!("verb is `{verb}`, allowed: say, repeat, end, mark, {}", names.join(", "))]);
            };
            values(known, &rest).map(|values| Statement::Do { verb: verb.to_owned(), values })
        }
    }
}

fn repeat(rest: &[&str]) -> Result<Statement, Vec<String>> {
    let form = || vec!["a repeat is written `repeat 3 times until throw_made`".to_owned()];
    let [count, "times", "until", until] = rest else { return Err(form()) };
    let times: u32 = count.parse().map_err(|_| form())?;
    if !(1..=20).contains(&times) {
        return Err(vec![format!("times is {times}, allowed 1 to 20")]);
    }
    if !CONDITIONS.contains(until) {
        return Err(vec![format!("condition is `{until}`, allowed: {}", CONDITIONS.join(", "))]);
    }
    Ok(Statement::Repeat { times, until: (*until).to_owned() })
}

fn mark(rest: &[&str]) -> Result<Statement, Vec<String>> {
    let tooth = |number: &str| number.parse().ok().and_then(|number: u8| Tooth::try_from(number).ok());
    let marking = match rest {
        ["ordered"] => Some(Marking::Ordered),
        ["none"] => Some(Marking::Nothing),
        [number] => tooth(number).map(Marking::Tooth),
        _ => None,
    };
    let found = if rest.is_empty() { "nothing".to_owned() } else { rest.join(" ") };
    let wrong = || vec![format!("the tooth to mark is `{found}`, allowed: ordered, none, {ALLOWED} (ISO 3950)")];
    marking.map(Statement::Mark).ok_or_else(wrong)
}

fn values(verb: &Verb, rest: &[&str]) -> Result<BTreeMap<String, Value>, Vec<String>> {
    let mut values = BTreeMap::new();
    let mut faults = Vec::new();
    let mut at = 0;
    while at < rest.len() {
        let name = rest[at];
        let Some((_, kind, _)) = verb.takes.iter().find(|(n, ..)| *n == name) else {
            let names: Vec<&str> = verb.takes.iter().map(|(n, ..)| *n).collect();
            faults.push(format!("`{}` has no `{name}`, allowed: {}", verb.name, names.join(", ")));
            break;
        };
        let found = rest.get(at + 1).copied().unwrap_or("nothing");
        match kind {
            Kind::Word(allowed) => {
                if allowed.contains(&found) {
                    values.insert(name.to_owned(), Value::Word(found.to_owned()));
                } else {
                    faults.push(format!("{name} is `{found}`, allowed: {}", allowed.join(", ")));
                }
                at += 2;
            }
            Kind::Number(unit, low, high) => {
                let factor = UNITS.iter().find(|(u, _)| u == unit).map_or(1.0, |(_, f)| *f);
                match (found.parse::<f64>(), rest.get(at + 2)) {
                    (Ok(number), Some(given)) if given == unit && (*low..=*high).contains(&number) => {
                        values.insert(name.to_owned(), Value::Number(number * factor));
                    }
                    (_, given) => {
                        let given = given.copied().unwrap_or("no unit");
                        faults.push(format!("{name} is `{found} {given}`, allowed {low} to {high} {unit}"));
                    }
                }
                at += 3;
            }
        }
    }
    for (name, kind, default) in verb.takes {
        if values.contains_key(*name) {
            continue;
        }
        match (kind, default) {
            (Kind::Number(unit, ..), Some(number)) => {
                let factor = UNITS.iter().find(|(u, _)| u == unit).map_or(1.0, |(_, f)| *f);
                values.insert((*name).to_owned(), Value::Number(number * factor));
            }
            (Kind::Word(_), Some(_)) => {}
            _ if faults.is_empty() => faults.push(format!("`{}` needs `{name}`", verb.name)),
            _ => {}
        }
    }
    if faults.is_empty() { Ok(values) } else { Err(faults) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_is_the_ordered_tooth_a_named_one_or_none() {
        let script =
            parse("mark.hands", "mark ordered # as it is written\nmark 45\nmark none").expect("it is in order");
        let marks: Vec<Statement> = script.statements.into_iter().map(|(_, statement)| statement).collect();
        let tooth = Tooth::try_from(45).expect("it exists");
        assert_eq!(marks, [Marking::Ordered, Marking::Tooth(tooth), Marking::Nothing].map(Statement::Mark));
    }

    #[test]
    fn a_mark_of_no_tooth_is_named_with_its_line_what_was_found_and_what_is_allowed() {
        let faults = parse("mark.hands", "mark 39\nmark\nmark lower left\nmark 300").expect_err("none is a tooth");
        let found: Vec<String> = faults.iter().map(ToString::to_string).collect();
        let allowed = "allowed: ordered, none, 11 to 18, 21 to 28, 31 to 38, 41 to 48 (ISO 3950)";
        let expected = [(1, "39"), (2, "nothing"), (3, "lower left"), (4, "300")]
            .map(|(line, found)| format!("mark.hands:{line}: the tooth to mark is `{found}`, {allowed}"));
        assert_eq!(found, expected);
    }
}
