//! What a scenario's text says before it begins: its aim and the sources of its thresholds, as comments.

/// The lines of the comment that a text begins with, without their `//`.
#[must_use]
pub fn opening_comment(text: &str) -> Vec<String> {
    let lines = text.trim_start_matches('\u{feff}').lines().map_while(|line| line.strip_prefix("//"));
    lines.map(|line| line.strip_prefix(' ').unwrap_or(line).trim_end().to_owned()).collect()
}

/// What follows `Aim:` in that comment, up to an empty line; empty without one.
#[must_use]
pub fn aim(text: &str) -> String {
    let comment = opening_comment(text);
    let first = comment.iter().position(|line| line.starts_with(AIM));
    let lines = comment.iter().skip(first.unwrap_or(comment.len())).take_while(|line| !line.is_empty());
    let words = lines.map(|line| line.trim()).collect::<Vec<_>>().join(" ");
    words.trim_start_matches(AIM).trim().to_owned()
}

const AIM: &str = "Aim:";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_aim_runs_to_the_first_empty_line_of_the_comment_that_comes_first() {
        let cases = [
            ("// Aim: tie one.\n// And well.\n//\n// Sources: none\n(\n// Aim: no\n)", "tie one. And well."),
            ("// Written by hand.\n// Aim: x\n()", "x"),
            ("// Sources: none\n()", ""),
            ("()\n// Aim: too late", ""),
            ("", ""),
        ];
        for (text, expected) in cases {
            assert_eq!(aim(text), expected, "{text}");
        }
    }
}
