//! A scenario written out with a comment on every field, to be changed by hand.

use super::check::allowed;
use super::scan::{Kind, Value, scan};
use super::shape::{EXTENDS, Field, SCENARIO, Shape};

/// Where a comment is broken, in characters.
const COLUMNS: usize = 112;

/// The scenario of `text`, which is in order and extends nothing, with what each field means and may be above it. Begins
/// with the lines of `head` as comments.
#[must_use]
pub fn template(text: &str, head: &[String]) -> String {
    let root = scan(text).root;
    let mut out = String::new();
    for line in head {
        out += format!("// {line}").trim_end();
        out.push('\n');
    }
    if let Shape::Group(fields) = &SCENARIO {
        write_group(&root, fields, &text.chars().collect::<Vec<_>>(), 0, &mut out);
    }
    out.push('\n');
    out
}

fn write_group(value: &Value, fields: &[Field], chars: &[char], depth: usize, out: &mut String) {
    let Kind::Group { fields: entries, .. } = &value.kind else { return };
    *out += "(\n";
    let indent = "    ".repeat(depth + 1);
    for field in fields.iter().filter(|field| field.name != EXTENDS) {
        let Some(entry) = entries.iter().find(|entry| entry.name == field.name) else { continue };
        for line in comment(field, COLUMNS - indent.len()) {
            *out += &format!("{indent}// {line}\n");
        }
        *out += &format!("{indent}{}: ", field.name);
        match (&field.shape, &entry.value.kind) {
            (Shape::Group(inner), _) => write_group(&entry.value, inner, chars, depth + 1, out),
            // A word's characters run on to what follows it, which may be a comment.
            (_, Kind::Word { name, contents }) if contents.is_empty() => *out += name,
            _ => out.extend(&chars[entry.value.span.0..entry.value.span.1]),
        }
        *out += ",\n";
    }
    *out += &format!("{})", "    ".repeat(depth));
}

/// What a field means and what it may be; a group's own fields say so themselves.
fn comment(field: &Field, columns: usize) -> Vec<String> {
    let inside = match &field.shape {
        Shape::Group(_) => String::new(),
        Shape::List { of, .. } => format!("{}, each {}", allowed(&field.shape), in_full(of)),
        shape => allowed(shape),
    };
    let words = [field.hint, &inside].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(": ");
    let mut lines = vec![String::new()];
    for word in words.split_whitespace() {
        let line = lines.last_mut().expect("there is always one");
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > columns {
            lines.push(word.to_owned());
        } else {
            *line += if line.is_empty() { "" } else { " " };
            *line += word;
        }
    }
    lines.retain(|line| !line.is_empty());
    lines
}

/// A group with what each of its fields may be, in one line.
fn in_full(shape: &Shape) -> String {
    match shape {
        Shape::Group(fields) => {
            let inside: Vec<String> =
                fields.iter().map(|field| format!("{}: {}", field.name, in_full(&field.shape))).collect();
            format!("({})", inside.join(", "))
        }
        Shape::Map(of) => format!("{{\"name\": {}}}", in_full(of)),
        Shape::Choice(words) => words.join(" or "),
        shape => allowed(shape),
    }
}
