//! The scientific notation of knots: the wraps of each throw, joined by `=` where neighbours lie square and by `x` where
//! they lie crossed (granny).
//!
//! Source: Tera & Aberg 1976, Acta Chir. Scand. 142:1.

use std::fmt::Write;

/// Most wraps of a throw, and most throws of a knot.
const WRAPS_MAX: usize = 4;
const THROWS_MAX: usize = 6;

/// One throw of a knot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Throw {
    /// Turns of one strand about the other, 1 to 4.
    pub wraps: usize,
    /// Hand of the turns, +1 or -1; neighbours of opposite hand lie square.
    pub hand: f64,
}

/// Something in a notation that is not allowed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("character {column}: found {found}, allowed {allowed}")]
pub struct NotationProblem {
    /// Which character, from 1.
    pub column: usize,
    /// What stands there.
    pub found: String,
    /// What may stand there.
    pub allowed: String,
}

/// Reads a notation such as `2=1=1` or `1x1`; the first throw has the hand +1.
///
/// # Errors
/// Everything that is not allowed, in its order.
pub fn parse(text: &str) -> Result<Vec<Throw>, Vec<NotationProblem>> {
    let (mut throws, mut problems): (Vec<Throw>, Vec<NotationProblem>) = (Vec::new(), Vec::new());
    let mut hand = 1.0;
    let characters: Vec<char> = text.chars().collect();
    // A notation of even length lacks its last digit.
    for k in 0..characters.len() | 1 {
        let character = characters.get(k).copied();
        let mut refuse = |allowed: String| {
            let found = character.map_or_else(|| "the end".to_owned(), |c| format!("{c:?}"));
            problems.push(NotationProblem { column: k + 1, found, allowed });
        };
        if k % 2 == 1 {
            match character {
                Some('=') => hand = -hand,
                Some('x') => {}
                _ => refuse("`=` (square) or `x` (crossed)".to_owned()),
            }
            continue;
        }
        match character.and_then(|c| c.to_digit(10)).and_then(|digit| usize::try_from(digit).ok()) {
            Some(wraps) if (1..=WRAPS_MAX).contains(&wraps) => throws.push(Throw { wraps, hand }),
            _ => refuse(format!("1 to {WRAPS_MAX} wraps")),
        }
    }
    if problems.is_empty() && throws.len() > THROWS_MAX {
        let (column, found) = (2 * THROWS_MAX, format!("throw {} of {}", THROWS_MAX + 1, throws.len()));
        problems.push(NotationProblem { column, found, allowed: format!("1 to {THROWS_MAX} throws") });
    }
    if problems.is_empty() { Ok(throws) } else { Err(problems) }
}

/// The notation of a knot: what [`parse`] reads.
#[must_use]
pub fn notation(throws: &[Throw]) -> String {
    let mut text = String::new();
    for (k, throw) in throws.iter().enumerate() {
        if k > 0 {
            text.push(if throws[k - 1].hand * throw.hand > 0.0 { 'x' } else { '=' });
        }
        // Writing to a string cannot fail.
        let _ = write!(text, "{}", throw.wraps);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_notation_reads_as_throws_and_writes_back() {
        let cases: &[(&str, &[(usize, f64)])] = &[
            ("1", &[(1, 1.0)]),
            ("1=1", &[(1, 1.0), (1, -1.0)]),
            ("1x1", &[(1, 1.0), (1, 1.0)]),
            ("2=1=1", &[(2, 1.0), (1, -1.0), (1, 1.0)]),
            ("3=1x1=4", &[(3, 1.0), (1, -1.0), (1, -1.0), (4, 1.0)]),
        ];
        for (text, expected) in cases {
            let throws = parse(text).expect("it is in order");
            let expected: Vec<Throw> = expected.iter().map(|&(wraps, hand)| Throw { wraps, hand }).collect();
            assert_eq!(throws, expected, "{text}");
            assert_eq!(notation(&throws), *text);
        }
    }

    #[test]
    fn what_is_not_allowed_is_named_with_its_place_all_at_once() {
        let cases: &[(&str, &[&str])] = &[
            ("", &["character 1: found the end, allowed 1 to 4 wraps"]),
            ("2=", &["character 3: found the end, allowed 1 to 4 wraps"]),
            ("5=1", &["character 1: found '5', allowed 1 to 4 wraps"]),
            (
                "0-1=y",
                &[
                    "character 1: found '0', allowed 1 to 4 wraps",
                    "character 2: found '-', allowed `=` (square) or `x` (crossed)",
                    "character 5: found 'y', allowed 1 to 4 wraps",
                ],
            ),
            ("1=1=1=1=1=1=1", &["character 12: found throw 7 of 7, allowed 1 to 6 throws"]),
        ];
        for (text, expected) in cases {
            let problems = parse(text).expect_err("it is not in order");
            assert_eq!(problems.iter().map(ToString::to_string).collect::<Vec<_>>(), *expected, "{text}");
        }
    }
}
