//! Pictures from whatever draws here, each drawn by a child process: a driver may crash as it leaves, and an engine starts
//! only once in a process.

use std::io::Write;
use std::path::Path;
use std::process::Command;

use knotwright::app::adapters;

/// `required` makes a missing adapter a failure.
const REQUIRED: &str = "KNOTWRIGHT_ADAPTER_TESTS";

/// The file that `test`, run alone by a child that finds `path` under `draw_to`, draws there; `None`, said loudly, if no
/// adapter answers.
pub(super) fn drawn(test: &str, draw_to: &str, path: &Path) -> Option<Vec<u8>> {
    if adapters().is_empty() {
        let required = std::env::var(REQUIRED).is_ok_and(|value| value == "required");
        assert!(!required, "{REQUIRED}=required, but no adapter answers here");
        // Straight to the terminal: what a passing test prints is swallowed.
        let said = format!("NOT RUN: no adapter answers here, so nothing was drawn and nothing checked by {test}");
        writeln!(std::io::stderr(), "{said}").expect("the terminal is there");
        return None;
    }
    let child = Command::new(std::env::current_exe().expect("the test knows its own program"))
        .args(["--exact", test])
        .env(draw_to, path)
        .output()
        .expect("the child starts");
    let bytes = std::fs::read(path).unwrap_or_else(|error| {
        panic!("no picture: {error}\n{}", String::from_utf8_lossy(&child.stderr));
    });
    Some(bytes)
}

/// The same, in the file that the variable `keep` names, or else in one that is removed again.
pub(super) fn drawn_and_kept(test: &str, draw_to: &str, keep: &str) -> Option<Vec<u8>> {
    if let Some(kept) = std::env::var_os(keep) {
        return drawn(test, draw_to, Path::new(&kept));
    }
    let own = std::env::temp_dir().join(format!("knotwright-{}-{}.png", keep.to_lowercase(), std::process::id()));
    let bytes = drawn(test, draw_to, &own)?;
    std::fs::remove_file(&own).expect("the picture can be removed");
    Some(bytes)
}
