//! Compares the values of a text with the shape a scenario must have, and notes every difference.

use super::nearest::did_you_mean;
use super::problem::{Problem, Problems, Severity};
use super::scan::{Entry, Kind, Position, Value, join, place};
use super::shape::{Field, Limits, Shape};

/// The problems found so far in a file, and in those that it extends.
pub(crate) struct Findings {
    /// What the texts are called, in the order of their numbers.
    pub(crate) files: Vec<String>,
    /// What the text as a whole is called.
    whole: &'static str,
    /// In the order they were found.
    pub(crate) problems: Vec<Problem>,
    /// Whether some value has the wrong shape, so that serde would refuse the text as well.
    pub(crate) misfit: bool,
}

impl Findings {
    pub(crate) fn new(file: &str, whole: &'static str) -> Findings {
        Findings { files: vec![file.to_owned()], whole, problems: Vec::new(), misfit: false }
    }

    /// The problems in the order of the texts.
    pub(crate) fn in_order(mut self) -> Problems {
        let files = self.files;
        let file = |problem: &Problem| files.iter().position(|file| *file == problem.file);
        self.problems.sort_by_key(|problem| (file(problem), problem.line, problem.column));
        Problems(self.problems)
    }

    /// Notes a problem of `severity` with the value at the path `field` of `root`, wherever that stands in the text.
    pub(crate) fn note_field(&mut self, severity: Severity, root: &Value, field: &str, words: [impl Into<String>; 3]) {
        self.note(severity, place(root, field).at, field, words);
    }

    /// Notes a problem of `severity`: `field` at `at` is `found`, `allowed` is what may stand there.
    pub(crate) fn note(
        &mut self,
        severity: Severity,
        at: Position,
        field: &str,
        [found, allowed, hint]: [impl Into<String>; 3],
    ) {
        self.problems.push(Problem {
            severity,
            file: self.files[at.source].clone(),
            line: at.line,
            column: at.column,
            field: if field.is_empty() { self.whole.into() } else { field.into() },
            found: found.into(),
            allowed: allowed.into(),
            hint: hint.into(),
        });
    }

    fn misfit(&mut self, at: Position, field: &str, words: [impl Into<String>; 3]) {
        self.misfit = true;
        self.note(Severity::Error, at, field, words);
    }

    fn outlier(&mut self, at: Position, field: &str, words: [impl Into<String>; 3]) {
        self.note(Severity::Error, at, field, words);
    }
}

/// Notes in `findings` how `value`, the field at `path`, differs from `shape`; `hint` is the field's.
pub(crate) fn check(value: &Value, shape: &Shape, path: &str, hint: &str, findings: &mut Findings) {
    match (shape, &value.kind) {
        // The syntax error has its own message.
        (_, Kind::Unread) => {}
        (Shape::Group(fields), Kind::Group { fields: entries, whole, .. }) => {
            check_fields(entries, fields, path, findings);
            if *whole {
                check_missing(value.at, entries, fields, path, findings);
            }
        }
        (Shape::Variant(kinds), Kind::Group { word, fields: entries, whole }) if has_fields(kinds, word).is_some() => {
            let fields = has_fields(kinds, word).unwrap_or(&[]);
            check_fields(entries, fields, path, findings);
            if *whole {
                check_missing(value.at, entries, fields, path, findings);
            }
        }
        (Shape::Variant(kinds), Kind::Word { name, contents })
            if contents.is_empty() && has_fields(kinds, name).is_some_and(<[Field]>::is_empty) => {}
        (Shape::Variant(kinds), Kind::Group { word: name, .. } | Kind::Word { name, .. }) => {
            let names: Vec<&str> = kinds.iter().map(|(name, _)| *name).collect();
            findings.misfit(value.at, path, [describe(value), allowed(shape), explain(name, &names, hint)]);
        }
        (Shape::Vector(limits), Kind::Tuple(values)) if values.len() == 3 => {
            for number in values {
                check(number, &Shape::Number(*limits), path, hint, findings);
            }
        }
        (Shape::Number(limits), Kind::Number(text)) => check_number(value.at, text, *limits, path, hint, findings),
        (Shape::Whole(_), Kind::Number(text)) if !is_whole(text) => {
            findings.misfit(value.at, path, [text.as_str(), &allowed(shape), hint]);
        }
        (Shape::Whole(limits), Kind::Number(text)) => check_number(value.at, text, *limits, path, hint, findings),
        (Shape::Amount(limits), Kind::Word { name, contents }) if is_amount(name, contents) => {
            check_amount(value, contents, *limits, path, hint, findings);
        }
        (Shape::Text(max), Kind::Text(text)) => {
            if text.trim().is_empty() || text.chars().count() > *max {
                let found = format!("text of {} characters", text.trim().chars().count());
                findings.outlier(value.at, path, [&found, &allowed(shape), hint]);
            }
        }
        (Shape::Switch, Kind::Word { name, .. }) if matches!(name.as_str(), "true" | "false") => {}
        (Shape::Choice(words), Kind::Word { name, contents }) => {
            if !words.contains(&name.as_str()) || !contents.is_empty() {
                findings.misfit(value.at, path, [describe(value), allowed(shape), explain(name, words, hint)]);
            }
        }
        (Shape::List { of, min, max }, Kind::List(values)) => {
            if values.len() < *min || values.len() > *max {
                let found = format!("a list of {}", values.len());
                findings.outlier(value.at, path, [&found, &allowed(shape), hint]);
            }
            for (index, element) in values.iter().enumerate() {
                check(element, of, &join(path, &format!("[{index}]")), "", findings);
            }
        }
        (Shape::Map(of), Kind::Map(entries)) => {
            note_repeated(entries, path, findings);
            for entry in entries {
                check(&entry.value, of, &join(path, &entry.name), "", findings);
            }
        }
        _ => findings.misfit(value.at, path, [&describe(value), &allowed(shape), hint]),
    }
}

fn check_fields(entries: &[Entry], fields: &[Field], path: &str, findings: &mut Findings) {
    note_repeated(entries, path, findings);
    for entry in entries {
        let path = join(path, &entry.name);
        if let Some(field) = fields.iter().find(|field| field.name == entry.name) {
            check(&entry.value, &field.shape, &path, field.hint, findings);
        } else {
            let names: Vec<&str> = fields.iter().map(|field| field.name).collect();
            let hint = did_you_mean(&entry.name, &names);
            findings.misfit(entry.at, &path, ["an unknown field", &names.join(", "), &hint]);
        }
    }
}

fn note_repeated(entries: &[Entry], path: &str, findings: &mut Findings) {
    for (index, entry) in entries.iter().enumerate() {
        if let Some(first) = entries[..index].iter().find(|first| first.name == entry.name) {
            let hint = format!("it stands in line {} already", first.at.line);
            findings.misfit(entry.at, &join(path, &entry.name), ["given again", "once", &hint]);
        }
    }
}

fn check_missing(at: Position, entries: &[Entry], fields: &[Field], path: &str, findings: &mut Findings) {
    let required = fields.iter().filter(|field| field.required);
    for field in required.filter(|field| entries.iter().all(|entry| entry.name != field.name)) {
        findings.misfit(at, &join(path, field.name), ["missing", &allowed(&field.shape), field.hint]);
    }
}

/// The fields of the variant called `word`.
fn has_fields(kinds: &[(&str, &'static [Field])], word: &str) -> Option<&'static [Field]> {
    kinds.iter().find(|(name, _)| *name == word).map(|(_, fields)| *fields)
}

fn check_number(at: Position, text: &str, limits: Limits, path: &str, hint: &str, findings: &mut Findings) {
    match decimal(text) {
        None => findings.misfit(at, path, [text, &allowed(&Shape::Number(limits)), "write a plain decimal number"]),
        Some(number) if !(limits.min..=limits.max).contains(&number) => {
            findings.outlier(at, path, [text, &allowed(&Shape::Number(limits)), hint]);
        }
        Some(_) => {}
    }
}

/// Whether this is `Fixed(x)` or `Range(min, max)`, whatever the numbers.
fn is_amount(name: &str, contents: &[Value]) -> bool {
    let numbers = contents.iter().all(|value| matches!(value.kind, Kind::Number(_) | Kind::Unread));
    numbers && matches!((name, contents.len()), ("Fixed", 1) | ("Range", 2))
}

fn check_amount(value: &Value, contents: &[Value], limits: Limits, path: &str, hint: &str, findings: &mut Findings) {
    let mut numbers = Vec::new();
    for number in contents {
        if let Kind::Number(text) = &number.kind {
            check_number(number.at, text, limits, path, hint, findings);
            numbers.extend(decimal(text));
        }
    }
    if let [min, max] = numbers[..]
        && min > max
    {
        findings.outlier(value.at, path, [&describe(value), "Range(min, max)", "min and max may be swapped"]);
    }
}

fn decimal(text: &str) -> Option<f64> {
    text.replace('_', "").parse::<f64>().ok().filter(|number| number.is_finite())
}

fn is_whole(text: &str) -> bool {
    text.trim_start_matches(['+', '-']).chars().all(|c| c.is_ascii_digit() || c == '_')
}

/// A value in few words, as the author wrote it.
fn describe(value: &Value) -> String {
    match &value.kind {
        Kind::Group { word, .. } if !word.is_empty() => format!("{word}(..)"),
        Kind::Group { .. } => "a group ( )".into(),
        Kind::Tuple(_) => "a group ( ) without names".into(),
        Kind::List(_) => "a list [ ]".into(),
        Kind::Map(_) => "a map { }".into(),
        Kind::Word { name, contents } if contents.is_empty() => name.clone(),
        Kind::Word { name, contents } => {
            format!("{name}({})", contents.iter().map(describe).collect::<Vec<_>>().join(", "))
        }
        Kind::Text(text) if text.chars().count() > 40 => format!("{:?}..", text.chars().take(40).collect::<String>()),
        Kind::Text(text) => format!("{text:?}"),
        Kind::Number(text) => text.clone(),
        Kind::Unread => "unreadable".into(),
    }
}

/// What a shape allows, in words.
pub(crate) fn allowed(shape: &Shape) -> String {
    match shape {
        Shape::Group(fields) => {
            let names: Vec<&str> = fields.iter().map(|field| field.name).collect();
            format!("a group ({}: ..)", names.join(": .., "))
        }
        Shape::Variant(kinds) => {
            let words = kinds.iter().map(|(name, fields)| match fields.first() {
                Some(first) => format!("{name}({}: ..)", first.name),
                None => (*name).to_string(),
            });
            words.collect::<Vec<_>>().join(", ")
        }
        Shape::Vector(limits) => format!("(x, y, z), each {}", span(*limits)),
        Shape::Whole(limits) if limits.min < limits.max => format!("whole numbers {}", span(*limits)),
        Shape::Number(limits) | Shape::Whole(limits) => span(*limits),
        Shape::Amount(limits) => format!("Fixed(x) or Range(min, max), {}", span(*limits)),
        Shape::Text(max) => format!("text in quotes, 1 to {max} characters"),
        Shape::Switch => "true, false".into(),
        Shape::Choice(words) => words.join(", "),
        Shape::List { min, max, .. } => format!("a list [ ] of {min} to {max}"),
        Shape::Map(_) => "a map {\"name\": ..}".into(),
    }
}

fn span(limits: Limits) -> String {
    let Limits { min, max, unit } = limits;
    let space = if unit.is_empty() { "" } else { " " };
    if min < max { format!("{min} to {max}{space}{unit}") } else { format!("{min}{space}{unit}") }
}

fn explain(name: &str, words: &[&str], hint: &str) -> String {
    let meant = did_you_mean(name, words);
    if meant.is_empty() { hint.into() } else { meant }
}
