//! Says in our words what ron says when it refuses a text whose shape looked right.

use super::problem::{Problem, Severity};
use super::scan::{Kind, Position, Value, join};
use ron::error::{Error, SpannedError};

/// The problem that ron reports; `whole` is what the text as a whole is called, `root` gives the path of the field where it stopped.
pub(crate) fn translate(file: &str, whole: &str, error: &SpannedError, root: &Value) -> Problem {
    let at = Position { source: 0, line: error.span.start.line, column: error.span.start.col };
    let end = Position { source: 0, line: error.span.end.line, column: error.span.end.col };
    let mut field = path_at(root, end);
    let (found, allowed) = match &error.code {
        Error::NoSuchEnumVariant { expected, found, .. } => (found.clone(), expected.join(", ")),
        // ron names the field here, and stops outside of it.
        Error::NoSuchStructField { expected, found, .. } => {
            field.clone_from(found);
            ("an unknown field".into(), expected.join(", "))
        }
        Error::MissingStructField { field: name, .. } => {
            field = (*name).into();
            ("missing".into(), "once".into())
        }
        Error::DuplicateStructField { field: name, .. } => {
            field = (*name).into();
            ("given again".into(), "once".into())
        }
        Error::ExpectedDifferentStructName { expected, found } => {
            (format!("a group named {found}"), format!("{expected}, or no name"))
        }
        Error::InvalidValueForType { expected, found } => (found.clone(), expected.clone()),
        Error::ExpectedDifferentLength { expected, found } => (format!("{found} values"), expected.clone()),
        other => (format!("not RON: {}", other.to_string().to_lowercase()), "RON's syntax".into()),
    };
    let field = if field.is_empty() { whole.into() } else { field };
    let hint = String::new();
    let severity = Severity::Error;
    Problem { severity, file: file.into(), line: at.line, column: at.column, field, found, allowed, hint }
}

/// Path of the innermost value that begins last before `at`.
fn path_at(value: &Value, at: Position) -> String {
    let children: Vec<(String, &Value)> = match &value.kind {
        Kind::Group { fields, .. } | Kind::Map(fields) => {
            fields.iter().map(|entry| (entry.name.clone(), &entry.value)).collect()
        }
        Kind::List(values) | Kind::Tuple(values) => {
            values.iter().enumerate().map(|(index, value)| (format!("[{index}]"), value)).collect()
        }
        Kind::Word { .. } | Kind::Text(_) | Kind::Number(_) | Kind::Unread => Vec::new(),
    };
    match children.iter().rfind(|(_, child)| child.at <= at) {
        Some((name, child)) => {
            let inner = path_at(child, at);
            if inner.is_empty() { name.clone() } else { join(name, &inner) }
        }
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::scan::scan;
    use super::translate;
    use serde::Deserialize;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[expect(dead_code, reason = "only whether it can be read matters")]
    struct Sample {
        number: f64,
        side: Side,
        list: Vec<Inner>,
    }

    #[derive(Debug, Deserialize)]
    enum Side {
        Far,
        Near,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[expect(dead_code, reason = "only whether it can be read matters")]
    struct Inner {
        whole: u8,
    }

    const CASES: &[(&str, &str)] = &[
        ("(nmber: 1)", "x:1:2: nmber is an unknown field, allowed number, side, list"),
        ("(number: 1, side: Up, list: [])", "x:1:19: side is Up, allowed Far, Near"),
        ("(number: 1, side: Far)", "x:1:22: list is missing, allowed once"),
        ("(number: 1, number: 2)", "x:1:13: number is given again, allowed once"),
        (
            "(number: 1, side: Far, list: [(whole: 300)])",
            "x:1:39: list[0].whole is not RON: integer is out of bounds, allowed RON's syntax",
        ),
        (
            "(number: 1, side: Far, list: [Outer(whole: 3)])",
            "x:1:31: list[0] is a group named Outer, allowed Inner, or no name",
        ),
        ("(number: true, side: Far, list: [])", "x:1:9: number is not RON: expected float, allowed RON's syntax"),
    ];

    #[test]
    fn what_ron_refuses_is_said_in_our_words() {
        for (text, expected) in CASES {
            let error = ron::from_str::<Sample>(text).expect_err("it is wrong");
            assert_eq!(translate("x", "scenario", &error, &scan(text).root).to_string(), *expected, "{text}");
        }
    }
}
