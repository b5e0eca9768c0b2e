//! A scenario that is being written: values that need not be in order, each at its place in the shape.

use super::scan::{Entry, Kind, Value, join, scan};
use super::shape::{EXTENDS, Field, SCENARIO, Shape};
use super::template::template;
use serde::{Deserialize, Serialize};

/// Where a long text is broken in the file, in characters.
const TEXT_COLUMNS: usize = 90;

/// A value as it is being written.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Node {
    Group(Vec<(String, Node)>),
    List(Vec<Node>),
    Map(Vec<(String, Node)>),
    /// A choice, or `true` or `false`.
    Word(String),
    /// The word of an amount, and its numbers.
    Amount(String, Vec<String>),
    Text(String),
    /// A number as it was typed, whether it is one or not.
    Number(String),
    /// What has no control in a form, as it stands in the text.
    Written(String),
}

/// A scenario that is being written.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    pub(super) root: Node,
}

/// What is changed about a draft: which value, by its path such as `task.throws[1].wraps`, and how.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Edit {
    /// The value's path.
    pub path: String,
    /// How.
    pub change: Change,
}

/// A change of one value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Change {
    /// Other words in quotes.
    Text(String),
    /// Another number, as it was typed.
    Number(String),
    /// Another number of an amount, from 0, as it was typed.
    Part(usize, String),
    /// An amount that is drawn from a range, or one that is fixed.
    Range(bool),
    /// Another word.
    Choice(String),
    /// On or off.
    Switch(bool),
    /// A field that may be left out is there, or is not.
    Given(bool),
    /// One more at the end of a list, as the last one is.
    Add,
    /// A list without this one, from 0.
    Remove(usize),
    /// A map with one more of this name.
    AddNamed(String),
    /// A map without this one.
    RemoveNamed(String),
}

impl Draft {
    /// The draft of a text that is in order and extends nothing.
    #[must_use]
    pub fn read(text: &str) -> Draft {
        let chars: Vec<char> = text.chars().collect();
        Draft { root: node(&scan(text).root, &chars) }
    }

    /// Its text, each field with a comment on what it means and may be; begins with the lines of `head` as comments.
    #[must_use]
    pub fn text(&self, head: &[String]) -> String {
        let mut plain = String::new();
        write(&self.root, 0, &mut plain);
        template(&plain, head)
    }

    /// Carries out a change; nothing is changed where there is no such value.
    pub fn apply(&mut self, edit: &Edit) {
        let Edit { path, change } = edit;
        if let Change::Given(given) = change {
            self.give(path, *given);
            return;
        }
        let Some((node, shape)) = find(&mut self.root, &SCENARIO, path) else { return };
        match (node, change) {
            (Node::Text(text), Change::Text(new)) => text.clone_from(new),
            (Node::Number(number), Change::Number(new)) => number.clone_from(new),
            (Node::Amount(_, numbers), Change::Part(part, new)) => {
                if let Some(number) = numbers.get_mut(*part) {
                    number.clone_from(new);
                }
            }
            (Node::Amount(word, numbers), Change::Range(range)) => {
                let first = numbers.first().cloned().unwrap_or_default();
                let last = numbers.last().cloned().unwrap_or_default();
                (*word, *numbers) =
                    if *range { ("Range".into(), vec![first, last]) } else { ("Fixed".into(), vec![first]) };
            }
            (Node::Word(word), Change::Choice(new)) => word.clone_from(new),
            (Node::Word(word), Change::Switch(on)) => *word = on.to_string(),
            (Node::List(nodes), Change::Add) => {
                if let (Some(new), _) | (None, Some(new)) = (nodes.last().cloned(), first_of(shape)) {
                    nodes.push(new);
                }
            }
            (Node::List(nodes), Change::Remove(index)) if *index < nodes.len() => drop(nodes.remove(*index)),
            (Node::Map(entries), Change::AddNamed(name)) if entries.iter().all(|(known, _)| known != name) => {
                entries.extend(first_of(shape).map(|new| (name.clone(), new)));
            }
            (Node::Map(entries), Change::RemoveNamed(name)) => entries.retain(|(known, _)| known != name),
            _ => {}
        }
    }

    fn give(&mut self, path: &str, given: bool) {
        let (parent, name) = path.rsplit_once('.').unwrap_or(("", path));
        let Some((Node::Group(entries), Shape::Group(fields))) = find(&mut self.root, &SCENARIO, parent) else {
            return;
        };
        let Some(field) = fields.iter().find(|field| field.name == name && !field.required) else { return };
        entries.retain(|(known, _)| known != name);
        if given {
            entries.push((name.to_owned(), fresh(&field.shape)));
        }
    }
}

/// What a new element of a list or a map is.
fn first_of(shape: &Shape) -> Option<Node> {
    match shape {
        Shape::List { of, .. } | Shape::Map(of) => Some(fresh(of)),
        _ => None,
    }
}

/// A value to begin with: the least that is allowed. A text has to be written first.
fn fresh(shape: &Shape) -> Node {
    match shape {
        Shape::Group(fields) => {
            let required = fields.iter().filter(|field| field.required);
            Node::Group(required.map(|field| (field.name.to_owned(), fresh(&field.shape))).collect())
        }
        Shape::Number(limits) | Shape::Whole(limits) => Node::Number(limits.min.to_string()),
        Shape::Amount(limits) => Node::Amount("Fixed".to_owned(), vec![limits.min.to_string()]),
        Shape::Text(_) => Node::Text(String::new()),
        Shape::Switch => Node::Word("true".to_owned()),
        Shape::Choice(words) => Node::Word(words.first().copied().unwrap_or_default().to_owned()),
        Shape::List { of, min, .. } => Node::List(vec![fresh(of); *min]),
        Shape::Map(_) => Node::Map(Vec::new()),
        Shape::Variant(_) | Shape::Vector(_) => Node::Written(String::new()),
    }
}

/// The node at `path`, and its shape.
fn find<'a>(node: &'a mut Node, shape: &'static Shape, path: &str) -> Option<(&'a mut Node, &'static Shape)> {
    if path.is_empty() {
        return Some((node, shape));
    }
    let path = path.strip_prefix('.').unwrap_or(path);
    let (step, rest) = match path.strip_prefix('[').and_then(|inner| inner.split_once(']')) {
        Some((index, rest)) => (index, rest),
        None => path.split_at(path.find(['.', '[']).unwrap_or(path.len())),
    };
    match (node, shape) {
        (Node::Group(entries), Shape::Group(fields)) => {
            let field: &'static Field = fields.iter().find(|field| field.name == step)?;
            let (_, inner) = entries.iter_mut().find(|(name, _)| name == step)?;
            find(inner, &field.shape, rest)
        }
        (Node::List(nodes), Shape::List { of, .. }) => find(nodes.get_mut(step.parse::<usize>().ok()?)?, of, rest),
        (Node::Map(entries), Shape::Map(of)) => {
            let (_, inner) = entries.iter_mut().find(|(name, _)| name == step)?;
            find(inner, of, rest)
        }
        _ => None,
    }
}

fn node(value: &Value, chars: &[char]) -> Node {
    let written = || chars[value.span.0..value.span.1].iter().collect::<String>();
    let named = |entries: &[Entry]| {
        entries.iter().map(|entry| (entry.name.clone(), node(&entry.value, chars))).collect::<Vec<_>>()
    };
    match &value.kind {
        Kind::Group { fields, .. } => {
            let mut fields = named(fields);
            fields.retain(|(name, _)| name != EXTENDS);
            Node::Group(fields)
        }
        Kind::List(values) => Node::List(values.iter().map(|value| node(value, chars)).collect()),
        Kind::Map(entries) => Node::Map(named(entries)),
        Kind::Word { name, contents } if contents.is_empty() => Node::Word(name.clone()),
        Kind::Word { name, contents } => {
            let numbers = contents.iter().map(|value| match &value.kind {
                Kind::Number(text) => text.clone(),
                _ => String::new(),
            });
            Node::Amount(name.clone(), numbers.collect())
        }
        // What escapes stand for, ron knows.
        Kind::Text(text) => Node::Text(ron::from_str(&written()).unwrap_or_else(|_| text.clone())),
        Kind::Number(text) => Node::Number(text.clone()),
        Kind::Tuple(_) | Kind::Unread => Node::Written(written()),
    }
}

fn write(node: &Node, depth: usize, out: &mut String) {
    let inner = "    ".repeat(depth + 1);
    match node {
        Node::Group(fields) => {
            let fields = fields.iter().map(|(name, value)| format!("{name}: {}", written(value, depth + 1)));
            *out += &format!("({})", fields.collect::<Vec<_>>().join(", "));
        }
        Node::List(nodes) if nodes.iter().any(|node| matches!(node, Node::Group(_))) => {
            *out += "[\n";
            nodes.iter().for_each(|node| *out += &format!("{inner}{},\n", written(node, depth + 1)));
            *out += &format!("{}]", "    ".repeat(depth));
        }
        Node::List(nodes) => {
            *out += &format!("[{}]", nodes.iter().map(|node| written(node, depth)).collect::<Vec<_>>().join(", "));
        }
        Node::Map(entries) => {
            let entries = entries.iter().map(|(name, value)| format!("{}: {}", quoted(name), written(value, depth)));
            *out += &format!("{{{}}}", entries.collect::<Vec<_>>().join(", "));
        }
        Node::Word(word) => *out += word,
        Node::Amount(word, numbers) => {
            *out += &format!("{word}({})", numbers.iter().map(|text| number(text)).collect::<Vec<_>>().join(", "));
        }
        Node::Text(text) => *out += &broken(&quoted(text), &inner),
        Node::Number(text) => *out += &number(text),
        Node::Written(text) => *out += text,
    }
}

pub(super) fn written(node: &Node, depth: usize) -> String {
    let mut text = String::new();
    write(node, depth, &mut text);
    text
}

/// A number as it was typed; what could be none is put in quotes, so that the check names it and reads on.
fn number(text: &str) -> String {
    let text = text.trim();
    let Kind::Number(read) = scan(text).root.kind else { return quoted(text) };
    if read == text { read } else { quoted(text) }
}

pub(super) fn quoted(text: &str) -> String {
    ron::to_string(text).unwrap_or_else(|_| format!("{text:?}"))
}

/// A text in quotes, broken between words where it is long; ron joins the lines again.
fn broken(text: &str, indent: &str) -> String {
    let (mut out, mut column) = (String::new(), 0);
    for (number, word) in text.split(' ').enumerate() {
        if number > 0 {
            out.push(' ');
            // The spaces that a line begins with do not count.
            if column + word.chars().count() > TEXT_COLUMNS && !word.is_empty() {
                out += &format!("\\\n{indent}");
                column = 0;
            }
        }
        out += word;
        column += 1 + word.chars().count();
    }
    out
}

/// Path of a field or element below another.
pub(super) fn below(parent: &str, name: &str) -> String {
    join(parent, name)
}
