//! The sentences of marks in German: each has its text, each text is asked for, and nothing is left in English.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use knotwright::analysis::findings::{
    Direction, Findings, Form, Handedness, NeedleEvent, NeedleEventKind, Side, SiteMark, Stitch,
};
use knotwright::quantity::Tick;
use knotwright::report::events;
use knotwright::said::{Said, Speaks};
use knotwright::score::{Bands, CRITERIA, CRITICAL_FAULTS, Score, Sensitivity, TaskOrder, score};
use knotwright::tooth::Tooth;

use super::marks::unruly;
use super::{faultless, order, rubric, spoiled};
use crate::tidy::code_in;

const GERMAN: &str = include_str!("../../assets/words/marks.de.ftl");

/// The texts of a file of words by their keys.
pub(crate) fn texts_of(file: &'static str) -> BTreeMap<&'static str, &'static str> {
    let lines = file.lines().filter(|line| !line.is_empty() && !line.starts_with('#'));
    let mut texts = BTreeMap::new();
    for (key, text) in lines.map(|line| line.split_once(" = ").unwrap_or_else(|| panic!("no text: {line}"))) {
        assert!(texts.insert(key, text).is_none(), "{key} twice");
    }
    texts
}

/// Path and text of every file of the source, comments and its own tests left out.
fn sources() -> impl Iterator<Item = (String, String)> {
    code_in("src/").map(|(path, code)| {
        let code: Vec<&str> = code.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
        (path, code.join("\n"))
    })
}

/// The text literal at the start of code, and what follows it.
fn literal(code: &str) -> Option<(String, &str)> {
    let mut rest = code.trim_start().strip_prefix('"')?;
    let mut text = String::new();
    loop {
        let end = rest.find(['"', '\\'])?;
        text.push_str(&rest[..end]);
        let (escaped, after) = (rest[end..].starts_with('\\'), &rest[end + 1..]);
        match after.chars().next().filter(|_| escaped) {
            None => return Some((text, after)),
            Some('\n') => rest = after.trim_start(),
            Some(sign) => {
                text.push(sign);
                rest = &after[sign.len_utf8()..];
            }
        }
    }
}

/// The key and the English of every sentence in the source, with its file.
fn sentences() -> Vec<(String, String, String)> {
    let mut found = Vec::new();
    // Where the macro itself stands there is no sentence.
    for (path, code) in sources().filter(|(path, _)| path != "src/said.rs") {
        for rest in code.split("said!(").skip(1) {
            let parts = literal(rest).and_then(|(key, rest)| Some((key, literal(rest.strip_prefix(',')?)?.0)));
            let (key, english) = parts.unwrap_or_else(|| panic!("{path}: no key and English at {rest:.60}"));
            found.push((key, english, path.clone()));
        }
    }
    assert!(found.len() > 100, "the search must find at least what is known");
    found
}

/// Names of what is put into a text, each between these two.
pub(crate) fn between<'a>(text: &'a str, before: &str, after: &str) -> BTreeSet<&'a str> {
    text.split(before).skip(1).filter_map(|rest| rest.split_once(after)).map(|(name, _)| name).collect()
}

#[test]
fn every_sentence_has_a_german_text_with_the_same_put_in_and_every_german_text_has_a_sentence() {
    let advice = CRITICAL_FAULTS.iter().map(|fault| (fault.advice_key(), fault.advice.to_owned(), fault.id.to_owned()));
    let mut asked: BTreeMap<String, String> = BTreeMap::new();
    for (key, english, place) in sentences().into_iter().chain(advice) {
        let small = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        assert!(key.starts_with("mark-") && key.chars().all(small), "{place}: `{key}` is no key");
        let before = asked.entry(key.clone()).or_insert_with(|| english.clone());
        assert_eq!(*before, english, "{place}: `{key}` has two English texts");
    }
    let german = texts_of(GERMAN);
    let missing: Vec<_> = asked.keys().filter(|key| !german.contains_key(key.as_str())).collect();
    assert!(missing.is_empty(), "no German text: {missing:?}");
    let idle: Vec<_> = german.keys().filter(|key| !asked.contains_key(**key)).collect();
    assert!(idle.is_empty(), "no sentence asks for {idle:?}");
    for (key, english) in &asked {
        let text = german[key.as_str()];
        assert_eq!(between(text, "{ $", " }"), between(english, "{", "}"), "{key}: {text}");
        assert_ne!(text, english, "{key} is English");
    }
}

#[test]
fn what_has_a_name_in_reports_is_said_by_that_name() {
    let sides = [Side::Cheek, Side::Tongue].map(|side| (side.said(), side.name()));
    let ways = [Direction::Away, Direction::Toward].map(|way| (way.said(), way.name()));
    let hands = [Handedness::Left, Handedness::Right].map(|hand| (hand.said(), hand.name()));
    let forms = [Form::Flat, Form::Sliding].map(|form| (form.said(), form.name()));
    for (said, name) in [sides, ways, hands, forms].into_iter().flatten() {
        assert_eq!(said, name);
    }
}

/// Files that word no mark: they tell who writes a case or a rubric what is wrong in it.
const FOR_AUTHORS: [&str; 2] = ["src/score/from_scenario.rs", "src/score/rubric.rs"];

#[test]
fn no_sentence_of_a_mark_is_made_without_a_key() {
    let judged = |path: &str| path.starts_with("src/score/") && !FOR_AUTHORS.contains(&path);
    let mut found = Vec::new();
    for (path, code) in sources().filter(|(path, _)| judged(path)) {
        for making in ["format!(", "Said::plain("] {
            for rest in code.split(making).skip(1) {
                // A key is no sentence, nor is a sign; what is plain and no literal comes from elsewhere.
                let text = literal(rest).map_or_else(String::new, |(text, _)| text);
                let sentence = making == "format!(" && !text.starts_with("mark-");
                if sentence || text.contains(char::is_alphabetic) && !text.starts_with("mark-") && text != "N mm" {
                    found.push(format!("{path}: {making}{rest:.60}"));
                }
            }
        }
    }
    assert!(found.is_empty(), "use said!:\n{}", found.join("\n"));
}

/// The texts of the file with what is put in, and which of them were said.
struct German {
    texts: BTreeMap<&'static str, &'static str>,
    said: RefCell<BTreeSet<String>>,
}

impl Speaks for German {
    fn sentence(&self, key: &str, put_in: &[(&str, String)]) -> Option<String> {
        self.said.borrow_mut().insert(key.to_owned());
        let text = (*self.texts.get(key)?).to_owned();
        Some(put_in.iter().fold(text, |text, (name, value)| text.replace(&format!("{{ ${name} }}"), value)))
    }

    fn number(&self, value: f64, decimals: usize) -> String {
        format!("{value:.decimals$}").replace('.', ",")
    }

    fn tooth(&self, tooth: Tooth) -> String {
        tooth.to_string()
    }
}

/// Words of English sentences that no German one has.
const ENGLISH: [&str; 10] = ["the", "of", "and", "is", "are", "with", "at", "to", "it", "than"];

impl German {
    #[track_caller]
    fn check(&self, said: &Said) {
        if said.is_empty() {
            return;
        }
        let worded = said.word(self);
        assert_ne!(*said, worded, "it is English");
        assert!(!worded.contains('$'), "{worded}: something is not put in");
        let mut words = worded.split(|c: char| !c.is_alphabetic());
        assert!(!words.any(|word| ENGLISH.contains(&word)), "{worded}: some of it is English");
    }

    fn check_score(&self, score: &Score) {
        let marks = score.criteria.iter().flat_map(|mark| [&mark.evidence, &mark.advice, &mark.band]);
        let faults = score.critical.iter().flat_map(|fault| [&fault.evidence, &fault.advice]);
        marks.chain(faults).chain(&score.reasons).chain([&score.one_thing_to_change]).for_each(|said| self.check(said));
        if let Some(site) = &score.site {
            self.check(&site.sentence());
        }
    }

    fn check_findings(&self, findings: &Findings, order: &TaskOrder) {
        self.check_score(&score(findings, order, &rubric(true)));
        events(findings).iter().for_each(|event| self.check(&event.words));
        for criterion in CRITERIA {
            let assessment = criterion.assess(findings, order, &Bands::default());
            [assessment.evidence, assessment.advice, assessment.band].iter().for_each(|said| self.check(said));
        }
    }
}

/// Attempts whose faults those without rhyme or reason do not have.
fn faults() -> Vec<Findings> {
    let lost = NeedleEvent {
        kind: NeedleEventKind::Lost,
        along_wound_mm: 1.0,
        across_mm: f64::NAN,
        force_n: None,
        tick: Tick(60),
    };
    let pierced = NeedleEvent { kind: NeedleEventKind::PiercedMembrane, ..lost };
    let other_side = SiteMark { tooth: Some(order().tooth.contralateral()), tick: Tick(40) };
    vec![
        faultless(),
        Findings::default(),
        spoiled(|findings| findings.needle.push(lost)),
        spoiled(|findings| findings.needle.push(pierced)),
        spoiled(|findings| findings.site.marks.push(other_side)),
        spoiled(|findings| findings.stitches.push(Stitch::default())),
        spoiled(|findings| findings.stitches[0].bites[0].distance_from_edge_mm = 3.9),
        spoiled(|findings| findings.stitches[0].bites[0].depth_mm = 2.6),
        spoiled(|findings| {
            let stitch = findings.stitches[0].clone();
            findings.stitches = vec![stitch; 3];
            for (stitch, x) in findings.stitches.iter_mut().zip([0.0, 3.0, 7.5]) {
                stitch.bites.iter_mut().for_each(|bite| bite.along_wound_mm = x);
            }
        }),
    ]
}

/// What no findings lead to: a time in ticks is always a number.
const NEVER_SAID: [&str; 1] = ["mark-time-unmeasured"];

#[test]
fn in_german_every_sentence_of_marks_is_said_and_nothing_of_it_in_english() {
    let german = German { texts: texts_of(GERMAN), said: RefCell::default() };
    faults().iter().for_each(|findings| german.check_findings(findings, &order()));
    for seed in 0..300 {
        let (findings, order) = unruly(seed);
        german.check_findings(&findings, &order);
    }
    let drawn = [(80.0, true), (60.0, false)].map(Some);
    for (passes, drawn) in [
        (true, vec![drawn[0]]),
        (false, vec![drawn[1], None]),
        (true, drawn.to_vec()),
        (false, drawn.to_vec()),
        (true, vec![None]),
    ] {
        german.check(&Sensitivity { own: 70.0, passes, seed: 1, drawn }.sentence());
    }
    let said = german.said.into_inner();
    let unsaid: Vec<&str> = german.texts.into_keys().filter(|key| !said.contains(*key)).collect();
    assert_eq!(unsaid, NEVER_SAID, "never said");
}
