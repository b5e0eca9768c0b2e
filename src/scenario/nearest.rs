//! The allowed word that a mistyped one most likely meant.

/// The word of `allowed` that is at most about a third of its letters away from `found`; the first of equals.
pub(crate) fn nearest<'a>(found: &str, allowed: &[&'a str]) -> Option<&'a str> {
    allowed
        .iter()
        .map(|word| (edits(found, word), *word))
        .filter(|(edits, word)| *edits <= word.chars().count().div_ceil(3))
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, word)| word)
}

/// `did you mean x?`, or nothing.
pub(crate) fn did_you_mean(found: &str, allowed: &[&str]) -> String {
    nearest(found, allowed).map(|word| format!("did you mean {word}?")).unwrap_or_default()
}

/// Letters to insert, delete or replace to turn `from` into `to` (Levenshtein 1966), case counted as one letter.
fn edits(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.chars().collect();
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (line, letter) in from.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = line + 1;
        for (column, other) in to.iter().enumerate() {
            let replaced = diagonal + usize::from(letter != *other);
            diagonal = row[column + 1];
            row[column + 1] = replaced.min(row[column] + 1).min(diagonal + 1);
        }
    }
    row[to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mistyped_word_finds_the_one_that_was_meant() {
        let allowed = ["throws", "tearing", "bite"];
        for (found, meant) in [
            ("trows", Some("throws")),
            ("Throws", Some("throws")),
            ("bitte", Some("bite")),
            ("tearnig", Some("tearing")),
            ("zzz", None),
        ] {
            assert_eq!(nearest(found, &allowed), meant, "{found}");
        }
    }
}
