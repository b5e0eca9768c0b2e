//! A scenario that takes all of another and changes only what it names.
//!
//! Groups merge field by field; everything else, lists and maps too, is replaced. The other one may extend a third.
//! What comes out is one tree of values, each with its place in the text it is from, and one text that stands alone.

use super::check::Findings;
use super::parse::has_our_format;
use super::problem::Severity;
use super::scan::{Entry, Kind, Scan, Value, scan_source};
use super::shape::{EXTENDS, SCENARIO};

/// A scenario's text, and what messages call it; what it extends is looked for from there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Its name; two texts of one name are one text.
    pub name: String,
    /// Its text.
    pub text: String,
}

/// Finds the scenario that the first one extends by this name, or says why there is none.
pub type Others<'a> = dyn FnMut(&Source, &str) -> Result<Source, String> + 'a;

/// The most texts in a row; a longer one is told from a circle by nobody.
const SOURCES_MAX: usize = 8;

/// What a text that stands alone begins with if it was put together.
const HEAD: &str = "// Put together of a scenario and of those that it extends.\n";

/// A scenario and all that it extends, as one.
pub(super) struct Joined {
    /// Every value, in the order of the last one extended.
    pub(super) root: Value,
    /// The texts, the one that was asked for first.
    pub(super) sources: Vec<Source>,
    /// Whether it is all there; if not, nothing can be said to be missing.
    pub(super) whole: bool,
}

/// Reads a scenario and those it extends; `None` if one of them is in another format. Notes in `findings` every syntax
/// error, and what cannot be found.
pub(super) fn join_sources(first: &Source, others: &mut Others, findings: &mut Findings) -> Option<Joined> {
    let (mut roots, mut sources) = (Vec::new(), Vec::new());
    let (mut whole, mut cut_off) = (true, false);
    let mut next = Some(first.clone());
    while let Some(source) = next.take() {
        let number = sources.len();
        if number > 0 {
            findings.files.push(source.name.clone());
        }
        let Scan { root, fault } = scan_source(number, &source.text);
        sources.push(source);
        if !has_our_format(&root, &SCENARIO, findings) {
            return None;
        }
        if let Some(fault) = fault {
            findings.note(Severity::Error, fault.at, &fault.path, [&fault.found, &fault.allowed, &fault.hint]);
            whole = false;
        }
        if let Some((value, asked)) = asked_for(&root) {
            let found = format!("{asked:?}");
            match follow(asked, &sources, others) {
                Ok(source) => next = Some(source),
                Err([allowed, hint]) => {
                    findings.note(Severity::Error, value.at, EXTENDS, [&found, &allowed, &hint]);
                    (whole, cut_off) = (false, true);
                }
            }
        }
        roots.push(root);
    }
    let mut root = roots.pop().expect("the first text is always read");
    while let Some(over) = roots.pop() {
        root = merge(root, over);
    }
    if cut_off || (!whole && sources.len() > 1) {
        break_off(&mut root);
    }
    Some(Joined { root, sources, whole })
}

/// What a text says that it extends; a value of another kind is for the check of shapes to name.
fn asked_for(root: &Value) -> Option<(&Value, &str)> {
    let Kind::Group { fields, .. } = &root.kind else { return None };
    let entry = fields.iter().find(|entry| entry.name == EXTENDS)?;
    match &entry.value.kind {
        Kind::Text(asked) => Some((&entry.value, asked)),
        _ => None,
    }
}

/// The next text, or what is allowed and why this is not.
fn follow(asked: &str, sources: &[Source], others: &mut Others) -> Result<Source, [String; 2]> {
    let here = sources.last().expect("one text asks");
    let leaves = asked.split('/').any(|part| matches!(part, "" | "..") || part.ends_with(':'));
    if leaves || asked.contains('\\') {
        let allowed = "a path inside the scenarios' folder, such as \"first_stitch.ron\"".to_owned();
        return Err([allowed, "no drive, no leading /, no .., and / between folders".into()]);
    }
    let found = others(here, asked).map_err(|why| ["a scenario that is there".to_owned(), why])?;
    let names = || sources.iter().map(|source| source.name.as_str());
    if names().any(|name| name == found.name) {
        let circle: Vec<&str> = names().chain([found.name.as_str()]).collect();
        return Err(["a scenario that does not lead back".into(), circle.join(" extends ")]);
    }
    if sources.len() >= SOURCES_MAX {
        return Err([format!("{SOURCES_MAX} scenarios in a row at most"), "they may lead back".into()]);
    }
    Ok(found)
}

/// All of `base`, but for what `over` names.
fn merge(base: Value, over: Value) -> Value {
    let (at, span) = (over.at, over.span);
    match (base.kind, over.kind) {
        (
            Kind::Group { word, fields: below, whole: base_whole },
            Kind::Group { word: over_word, fields: above, whole: over_whole },
        ) if word == over_word || word.is_empty() || over_word.is_empty() => {
            let word = if over_word.is_empty() { word } else { over_word };
            Value {
                at,
                span,
                kind: Kind::Group { word, fields: merge_fields(below, above), whole: base_whole && over_whole },
            }
        }
        (_, kind) => Value { at, span, kind },
    }
}

/// A field that is given twice stays so: the check names it.
fn merge_fields(below: Vec<Entry>, above: Vec<Entry>) -> Vec<Entry> {
    let mut above: Vec<Option<Entry>> = above.into_iter().map(Some).collect();
    let mut fields: Vec<Entry> = Vec::new();
    for base in below {
        let over = above.iter_mut().find(|entry| entry.as_ref().is_some_and(|entry| entry.name == base.name));
        fields.push(match over.and_then(Option::take) {
            Some(over) => {
                Entry { at: over.at, start: over.start, value: merge(base.value, over.value), name: over.name }
            }
            None => base,
        });
    }
    fields.extend(above.into_iter().flatten());
    fields
}

/// Marks every group as one that may have lost fields: what one text lacks could have stood in a part of another that was
/// not read.
fn break_off(value: &mut Value) {
    if let Kind::Group { fields, whole, .. } = &mut value.kind {
        *whole = false;
        fields.iter_mut().for_each(|entry| break_off(&mut entry.value));
    }
}

impl Joined {
    /// The text that says all of it: the scenario's own, if it extends none.
    pub(super) fn text(&self) -> String {
        if let [only] = &self.sources[..] {
            return only.text.clone();
        }
        let chars: Vec<Vec<char>> = self.sources.iter().map(|source| source.text.chars().collect()).collect();
        let mut text = HEAD.to_owned();
        write(&self.root, &chars, 0, &mut text);
        text.push('\n');
        text
    }
}

fn write(value: &Value, sources: &[Vec<char>], depth: usize, text: &mut String) {
    match &value.kind {
        Kind::Group { word, fields, .. } => {
            *text += word;
            *text += "(\n";
            for entry in fields.iter().filter(|entry| depth > 0 || entry.name != EXTENDS) {
                *text += &format!("{}{}: ", "    ".repeat(depth + 1), entry.name);
                write(&entry.value, sources, depth + 1, text);
                *text += ",\n";
            }
            *text += &format!("{})", "    ".repeat(depth));
        }
        // A word's characters run on to what follows it, which may be a comment.
        Kind::Word { name, contents } if contents.is_empty() => *text += name,
        _ => text.extend(&sources[value.at.source][value.span.0..value.span.1]),
    }
}
