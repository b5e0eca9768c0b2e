//! A scenario as a form: a row for each field, made from the shape that checks it.

use super::check::allowed;
use super::draft::{Draft, Node, below};
use super::problem::Problem;
use super::shape::{EXTENDS, Field, Limits, SCENARIO, Shape};

/// A field, or an element of a list or a map, as a form shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its path, such as `task.throws[1].wraps`.
    pub path: String,
    /// Its name.
    pub name: String,
    /// What it means, and why it is limited so; may be empty.
    pub hint: &'static str,
    /// What it may be, with its unit; empty for a group.
    pub allowed: String,
    /// Whether it may be left out.
    pub optional: bool,
    /// What it is; `None` if it is left out.
    pub control: Option<Control>,
    /// What is wrong with it, itself only.
    pub problems: Vec<String>,
}

/// What a value is, and by what it is changed.
#[derive(Debug, Clone, PartialEq)]
pub enum Control {
    /// A group of other rows.
    Group(Vec<Row>),
    /// Words, of so many characters at most.
    Text(String, usize),
    /// A number as it was typed.
    Number(String),
    /// An amount as it was typed: one number, or the two ends of a range.
    Amount(Vec<String>),
    /// One of these words.
    Choice(&'static [&'static str], String),
    /// On or off.
    Switch(bool),
    /// So many rows at least and at most.
    List(Vec<Row>, usize, usize),
    /// Rows by their names.
    Map(Vec<Row>),
    /// As it is written; it is not changed here.
    Written(String),
}

impl Row {
    /// How many problems it has, those of the rows in it as well.
    #[must_use]
    pub fn problem_count(&self) -> usize {
        self.problems.len() + self.rows().iter().map(Row::problem_count).sum::<usize>()
    }

    /// The rows in it.
    #[must_use]
    pub fn rows(&self) -> &[Row] {
        match &self.control {
            Some(Control::Group(rows) | Control::List(rows, ..) | Control::Map(rows)) => rows,
            _ => &[],
        }
    }
}

impl Draft {
    /// All rows, each with those of `problems` that are its own.
    #[must_use]
    pub fn rows(&self, problems: &[Problem]) -> Vec<Row> {
        match (&self.root, &SCENARIO) {
            (Node::Group(entries), Shape::Group(fields)) => group(entries, fields, "", problems),
            _ => Vec::new(),
        }
    }
}

fn group(entries: &[(String, Node)], fields: &'static [Field], path: &str, problems: &[Problem]) -> Vec<Row> {
    let chosen = fields.iter().filter(|field| field.name != EXTENDS && !is_settled(&field.shape));
    let rows = chosen.map(|field| {
        let node = entries.iter().find(|(name, _)| name == field.name).map(|(_, node)| node);
        let path = below(path, field.name);
        let row = row(node, &field.shape, path, field.name.to_owned(), problems);
        Row { hint: field.hint, optional: !field.required, ..row }
    });
    rows.collect()
}

/// Whether there is nothing to choose.
fn is_settled(shape: &Shape) -> bool {
    matches!(shape, Shape::Number(Limits { min, max, .. }) | Shape::Whole(Limits { min, max, .. }) if min >= max)
}

fn row(node: Option<&Node>, shape: &'static Shape, path: String, name: String, problems: &[Problem]) -> Row {
    let own = problems.iter().filter(|problem| problem.field == path).map(Problem::verdict);
    let allowed = match shape {
        Shape::Group(_) | Shape::Choice(_) | Shape::Switch | Shape::Map(_) => String::new(),
        Shape::Text(max) => format!("1 to {max} characters"),
        Shape::List { min, max, .. } => format!("{min} to {max} of them"),
        Shape::Amount(limits) => allowed(&Shape::Number(*limits)),
        _ => allowed(shape),
    };
    let problems_here = own.collect();
    let control = node.map(|node| control(node, shape, &path, problems));
    Row { path, name, hint: "", allowed, optional: false, control, problems: problems_here }
}

fn control(node: &Node, shape: &'static Shape, path: &str, problems: &[Problem]) -> Control {
    match (node, shape) {
        (Node::Group(entries), Shape::Group(fields)) => Control::Group(group(entries, fields, path, problems)),
        (Node::List(nodes), Shape::List { of, min, max }) => {
            let rows = nodes.iter().enumerate().map(|(index, node)| {
                let place = below(path, &format!("[{index}]"));
                row(Some(node), of, place, format!("{}{}", index + 1, called(node)), problems)
            });
            Control::List(rows.collect(), *min, *max)
        }
        (Node::Map(entries), Shape::Map(of)) => {
            let rows =
                entries.iter().map(|(name, node)| row(Some(node), of, below(path, name), name.clone(), problems));
            Control::Map(rows.collect())
        }
        (Node::Text(text), Shape::Text(max)) => Control::Text(text.clone(), *max),
        (Node::Number(text), Shape::Number(_) | Shape::Whole(_)) => Control::Number(text.clone()),
        (Node::Amount(_, numbers), Shape::Amount(_)) => Control::Amount(numbers.clone()),
        (Node::Word(word), Shape::Choice(words)) => Control::Choice(words, word.clone()),
        (Node::Word(word), Shape::Switch) => Control::Switch(word == "true"),
        (Node::Written(text), _) => Control::Written(text.clone()),
        _ => Control::Written(String::new()),
    }
}

/// What an element of a list is called by itself: the first text in it.
fn called(node: &Node) -> String {
    let Node::Group(fields) = node else { return String::new() };
    let first = fields.iter().find_map(|(_, node)| if let Node::Text(text) = node { Some(text) } else { None });
    first.map_or_else(String::new, |text| format!(": {text}"))
}
