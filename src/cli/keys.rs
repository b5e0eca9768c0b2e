//! `keys`: what gives which act in the window, and the file that says so.

use super::arguments::KeysArguments;
use super::output::say;
use super::{Failure, Status};
use crate::input::bindings::{self, Bindings, Hand};
use std::fs;
use std::path::Path;

/// Prints the keys as a file to begin from, or what a file comes to.
pub(super) fn keys(asked: &KeysArguments) -> Result<Status, Failure> {
    let bindings = match &asked.file {
        Some(file) => read(file)?,
        None => Bindings::of(if asked.left_handed { Hand::Left } else { Hand::Right }),
    };
    say(&bindings::template(&bindings)).map(|()| Status::Done)
}

/// What a file says.
fn read(file: &Path) -> Result<Bindings, Failure> {
    let name = file.display().to_string();
    let text = fs::read_to_string(file)
        .map_err(|error| Failure::new(Status::ScenarioInvalid, format!("{name} cannot be read: {error}")))?;
    bindings::parse(&name, &text).map_err(|problems| {
        let lines: Vec<String> =
            problems.0.iter().map(|problem| format!("{problem}{}", problem.excerpt(&text))).collect();
        Failure::new(Status::ScenarioInvalid, lines.join("\n"))
    })
}

/// What a file says, or what holds without one and what to say about that.
#[cfg(feature = "window")]
pub(super) fn in_window(file: Option<&Path>) -> (Bindings, String) {
    let Some(file) = file else { return (Bindings::default(), String::new()) };
    match read(file) {
        Ok(bindings) => (bindings, String::new()),
        Err(failure) => {
            let first = failure.message.lines().next().unwrap_or_default();
            let asked = format!("`knotwright keys {}` says all that is wrong", file.display());
            (Bindings::default(), format!("The common keys hold: {first}; {asked}"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn in_file<T>(name: &str, text: &[u8], look: impl FnOnce(&Path) -> T) -> T {
        let file = std::env::temp_dir().join(format!("knotwright-keys-{name}-{}.ron", std::process::id()));
        fs::write(&file, text).expect("a passing file can be written");
        let seen = look(&file);
        fs::remove_file(&file).expect("it is there");
        seen
    }

    #[test]
    fn a_file_with_faults_is_refused_with_all_of_them_and_their_lines() {
        let text = b"(format: 1, keys: {\n    \"rang\": [\"C\"],\n    \"cut\": [\"Eks\"],\n})";
        let failure = in_file("faults", text, read).expect_err("both are wrong");
        assert_eq!(failure.status, Status::ScenarioInvalid);
        for part in ["ron:2:", "did you mean ring?", "ron:3:", "\"Eks\"", "  2 |     \"rang\""] {
            assert!(failure.message.contains(part), "no `{part}` in\n{}", failure.message);
        }
    }

    #[cfg(feature = "window")]
    #[test]
    fn the_window_goes_on_with_the_common_keys_and_says_why() {
        let cases: [(&str, &[u8], &str); 3] = [
            ("syntax", b"(format: 1", "is"),
            ("bytes", &[0xff, 0xfe], "cannot be read"),
            ("act", b"(format: 1, toggles: [\"cut\"])", "\"cut\""),
        ];
        for (name, text, said) in cases {
            let (bindings, notice) = in_file(name, text, |file| in_window(Some(file)));
            assert_eq!(bindings, Bindings::default(), "{name}");
            assert!(notice.starts_with("The common keys hold: ") && notice.contains(said), "{name}: {notice}");
        }
        assert_eq!(in_window(None).1, "");
        let (bindings, notice) = in_file("left", b"(format: 1, hand: Left)", |file| in_window(Some(file)));
        assert_eq!((bindings, notice), (Bindings::of(Hand::Left), String::new()));
    }
}
