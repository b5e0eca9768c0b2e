//! Help, wrong arguments, and no window.

use super::{call, program};
use std::io::{BufRead, BufReader};
use std::process::Stdio;

#[test]
fn the_help_lists_every_command_and_every_exit_code() {
    let help = call(&["--help"]);
    assert_eq!(help.code, 0);
    for word in ["demo", "replay", "grade", "regrade", "scenario", "experiment", "doctor", "Exit codes"] {
        assert!(help.out.contains(word), "{word}:\n{}", help.out);
    }
    for code in 0..=7 {
        assert!(help.out.lines().any(|line| line.starts_with(&format!("  {code}  "))), "{code}:\n{}", help.out);
    }
}

#[test]
fn wrong_arguments_are_refused_with_code_2_and_a_reason() {
    // Arguments, and what the message has to name.
    let cases: [(&[&str], &str); 14] = [
        (&["tie"], "tie"),
        (&["demo", "--fast"], "--fast"),
        (&["demo", "--tremor-mm", "-1"], "0 to 5"),
        (&["demo", "--tremor-mm", "6"], "0 to 5"),
        (&["demo", "--timing", "nan"], "0 to 0.9"),
        (&["demo", "--seed", "first"], "--seed"),
        (&["demo", "--runs", "0"], "1..=100000"),
        (&["demo", "--jobs", "2"], "--runs"),
        (&["demo", "--runs", "2", "--record", "x"], "--record"),
        (&["replay"], "<FILE>"),
        (&["doctor", "--frames", "0"], "--frames"),
        (&["doctor", "--frames", "9", "--size", "1920"], "16x16 to 8192x8192"),
        (&["doctor", "--size", "640x480"], "--frames"),
        (&["scenario", "check"], "<FILES>"),
    ];
    for (arguments, named) in cases {
        let refused = call(arguments);
        assert_eq!(refused.code, 2, "{arguments:?}: {}", refused.err);
        assert!(refused.err.contains(named), "{arguments:?} does not name {named}:\n{}", refused.err);
        assert_eq!(refused.out, "", "{arguments:?}");
    }
}

#[test]
fn the_doctor_names_versions_folders_and_the_window() {
    let doctor = call(&["doctor"]);
    assert_eq!(doctor.code, 0, "{}", doctor.err);
    for word in [env!("CARGO_PKG_VERSION"), "simulation", "DISPLAY", "current folder", "first scenario", "window"] {
        assert!(doctor.out.contains(word), "{word}:\n{}", doctor.out);
    }
}

/// Other systems have a display of their own.
#[cfg(target_os = "linux")]
#[test]
fn without_a_display_three_lines_say_what_is_missing_and_the_demonstration_begins() {
    let mut child = program().stderr(Stdio::piped()).stdout(Stdio::null()).spawn().expect("the program starts");
    let stderr = BufReader::new(child.stderr.take().expect("it is piped"));
    let lines: Vec<String> = stderr.lines().take(3).map(|line| line.expect("it prints UTF-8")).collect();
    let ended = child.try_wait().expect("it can be asked");
    // The demonstration itself takes minutes.
    child.kill().expect("it can be ended");
    child.wait().expect("it ends");
    let begins: Vec<bool> = ["missing: ", "to get one: ", "without a window: `knotwright demo`"]
        .iter()
        .zip(&lines)
        .map(|(begin, line)| line.starts_with(begin))
        .collect();
    assert_eq!(begins, [true; 3], "{lines:#?}");
    assert_eq!(ended, None, "it goes on with the demonstration");
}
