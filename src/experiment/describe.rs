//! The documented schema, printed from the table that checks experiments.

use super::shape::EXPERIMENT;
use crate::scenario::check::allowed;
use crate::scenario::shape::{Field, Shape};

const HEAD: &str = "\
An experiment is one RON file: groups (name: value, ..), lists [ ], words that may carry a group. A field with `?` may
be left out. Units stand in the names; x, y, z are right-handed and z is up. A place along a thread is Start, End or
At(along_mm: 12.0), counted along the unstretched thread: the nearest node or edge is meant. Rows are taken at time 0, at
the end, at the samples and at events; then every expectation is judged.

";

/// The schema as text, each field with what is allowed and why.
#[must_use]
pub fn schema() -> String {
    let mut text = HEAD.to_owned();
    if let Shape::Group(fields) = &EXPERIMENT {
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
        Shape::List { of, .. } => write_inside(of, depth, text),
        _ => {}
    }
}
