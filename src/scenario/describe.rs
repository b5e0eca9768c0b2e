//! A language's schema as text, made from the table that checks it.

use super::check::allowed;
use super::shape::{Field, SCENARIO, Shape};

const HEAD: &str = "\
A scenario is one RON file: groups (name: value, ..), lists [ ], maps { } and words. A field with `?` may be left out; all
others have to be there, and none has a value that is taken if it is not. Units stand in the names. Fixed(x) is a number,
Range(min, max) one that is drawn evenly from the seed. The frame is the operator's.

A file with `extends` takes all of another scenario and changes what it names: groups merge field by field, lists and maps
are replaced. Then only `format` and what differs has to be there.

";

/// The schema of scenarios, each field with what is allowed, its unit, and what it means.
#[must_use]
pub fn schema() -> String {
    format!("{HEAD}{}", describe(&SCENARIO))
}

/// The fields of a group, a line each, those within others below them.
pub(crate) fn describe(shape: &Shape) -> String {
    let mut text = String::new();
    if let Shape::Group(fields) = shape {
        write_fields(fields, 0, &mut text);
    }
    text
}

fn write_fields(fields: &[Field], depth: usize, text: &mut String) {
    for field in fields {
        let name = format!("{}{}{}", "  ".repeat(depth), field.name, if field.required { "" } else { "?" });
        let mut words = vec![summary(&field.shape)];
        words.push(field.hint.to_owned());
        words.retain(|word| !word.is_empty());
        *text += format!("{name:<34} {}", words.join("; ")).trim_end();
        text.push('\n');
        write_inside(&field.shape, depth + 1, text);
    }
}

/// What is allowed, without the fields that are listed below it.
fn summary(shape: &Shape) -> String {
    match shape {
        Shape::Group(_) => "( )".into(),
        Shape::Variant(_) if !is_short(shape) => "one of".into(),
        Shape::List { of: Shape::Text(_), .. } => format!("{}, each {}", allowed(shape), "text in quotes"),
        Shape::List { of, .. } => match **of {
            Shape::Group(_) => format!("{}, each ( )", allowed(shape)),
            Shape::Variant(_) => format!("{}, each one of", allowed(shape)),
            _ => format!("{}, each {}", allowed(shape), allowed(of)),
        },
        _ => allowed(shape),
    }
}

/// Whether a choice is told in one line.
fn is_short(shape: &Shape) -> bool {
    matches!(shape, Shape::Variant(kinds) if kinds.iter().map(|(_, fields)| fields.len()).sum::<usize>() <= 2)
}

fn write_inside(shape: &Shape, depth: usize, text: &mut String) {
    match shape {
        Shape::Variant(_) if is_short(shape) => {}
        Shape::Group(fields) => write_fields(fields, depth, text),
        Shape::Variant(kinds) => {
            for (name, fields) in *kinds {
                *text += &format!("{}{name}\n", "  ".repeat(depth));
                write_fields(fields, depth + 1, text);
            }
        }
        Shape::List { of, .. } | Shape::Map(of) => write_inside(of, depth, text),
        _ => {}
    }
}
