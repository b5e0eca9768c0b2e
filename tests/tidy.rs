//! Checks over the text of the project itself: a boundary that is only a sentence gets broken.

use std::fs;
use std::path::Path;

/// Folders that hold text of the project, beside the files at its top.
const FOLDERS: &[&str] = &["src", "tests", "benches", "scenarios", "assets", ".ci", ".github"];

/// The longest line of code, in characters; what rustfmt cannot break (a long string) may pass its own width up to here.
const LINE_CHARS_MAX: usize = 160;

/// Something that must not stand in some files. Patterns begin where an identifier begins.
struct Ban {
    patterns: &'static [&'static str],
    applies_to: fn(path: &str) -> bool,
    instead: &'static str,
}

/// The patterns are glued together from pieces, so that this file does not break its own rules.
const BANS: &[Ban] = &[
    Ban {
        patterns: &[concat!("be", "vy")],
        applies_to: |path| is_rust(path) && !in_any(path, &["src/app", "tests/ui"]),
        instead: "only src/app names the game engine: hand it plain data",
    },
    Ban {
        patterns: &[concat!("rap", "ier"), concat!("be", "vy_rap", "ier")],
        applies_to: |path| is_rust(path) && !in_any(path, &["src/app/bodies", "benches/compare"]),
        instead: "only src/app/bodies names the rigid body engine: its results become commands; benches measure it",
    },
    Ban {
        patterns: &[concat!("eg", "ui"), concat!("be", "vy_eg", "ui")],
        applies_to: |path| is_rust(path) && !in_any(path, &["src/app", "tests/ui"]),
        instead: "only src/app draws panels",
    },
    Ban {
        patterns: &[concat!("std::", "fs"), concat!("Fi", "le::"), concat!("OpenOp", "tions")],
        applies_to: |path| in_source(path) && !in_any(path, &["src/cli", "src/app/files"]),
        instead: "only src/cli and src/app/files.rs open files: take bytes, or a reader or writer",
    },
    Ban {
        patterns: &[concat!("print", "ln!"), concat!("eprint", "ln!"), concat!("pri", "nt!"), concat!("epri", "nt!")],
        applies_to: |path| in_source(path) && !in_any(path, &["src/cli", "src/main"]),
        instead: "only src/cli and src/main.rs print: return what there is to say",
    },
    Ban {
        patterns: &[concat!("Instant", "::now"), concat!("SystemTime", "::now")],
        applies_to: in_core,
        instead: "core has no clock: count ticks",
    },
    Ban {
        patterns: &[concat!("Hash", "Map"), concat!("Hash", "Set")],
        applies_to: in_core,
        instead: "its order is random: use BTreeMap, BTreeSet or a sorted Vec",
    },
    Ban {
        patterns: &[
            concat!("from_axis", "_angle"),
            concat!("to_axis", "_angle"),
            concat!("from_scaled", "_axis"),
            concat!("to_scaled", "_axis"),
            concat!("from_rotation", "_x"),
            concat!("from_rotation", "_y"),
            concat!("from_rotation", "_z"),
            concat!("from_eu", "ler"),
            concat!("to_eu", "ler"),
            concat!("angle_bet", "ween"),
            concat!("sle", "rp"),
            concat!("mul", "_add"),
        ],
        applies_to: in_core,
        instead: "it goes through the platform's functions: use crate::math",
    },
    Ban {
        patterns: &[
            concat!("TO", "DO"),
            concat!("FIX", "ME"),
            concat!("db", "g!"),
            concat!("to", "do!"),
            concat!("unimple", "mented!"),
        ],
        applies_to: |path| in_any(path, &["src/", "tests/", "scenarios/"]),
        instead: "finish it, or leave it out",
    },
    Ban {
        patterns: &[concat!("/wo", "rk/"), concat!("/ro", "ot/"), concat!("/ho", "me/")],
        applies_to: |_| true,
        instead: "a path of one machine: use a relative path or an argument",
    },
    Ban { patterns: &["\t"], applies_to: |_| true, instead: "indent with spaces" },
];

fn is_rust(path: &str) -> bool {
    path.ends_with(".rs")
}

fn in_any(path: &str, prefixes: &[&str]) -> bool {
    prefixes.iter().any(|prefix| path.starts_with(prefix))
}

fn in_source(path: &str) -> bool {
    is_rust(path) && path.starts_with("src/")
}

fn in_core(path: &str) -> bool {
    in_source(path) && !in_any(path, &["src/app", "src/cli"])
}

/// What is wrong with a file, each with file and line.
fn breaches(path: &str, text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (number, line) in (1..).zip(text.lines()) {
        for ban in BANS.iter().filter(|ban| (ban.applies_to)(path)) {
            for pattern in ban.patterns.iter().filter(|pattern| stands_in(line, pattern)) {
                found.push(format!("{path}:{number}: `{}`: {}", pattern.escape_debug(), ban.instead));
            }
        }
        let chars = line.chars().count();
        if is_rust(path) && chars > LINE_CHARS_MAX {
            found.push(format!("{path}:{number}: {chars} characters, but at most {LINE_CHARS_MAX} are allowed"));
        }
    }
    let criterion = in_source(path) && path.starts_with("src/score/criteria/") && !path.ends_with("/mod.rs");
    if criterion && !text.starts_with("//!") {
        found.push(format!("{path}:1: a criterion begins with `//!` and what it judges"));
    }
    if criterion && !text.to_lowercase().contains("source") {
        found.push(format!("{path}:1: a criterion names the source of its thresholds"));
    }
    found
}

/// Whether a line holds a pattern that does not continue an identifier.
fn stands_in(line: &str, pattern: &str) -> bool {
    let continues = |place: usize| {
        let word = |c: char| c.is_alphanumeric() || c == '_';
        pattern.starts_with(word) && line[..place].ends_with(word)
    };
    line.match_indices(pattern).any(|(place, _)| !continues(place))
}

/// Path and code of every file below a folder of the source, such as `src/app/`, its own tests left out.
pub(crate) fn code_in(folder: &str) -> impl Iterator<Item = (String, String)> {
    let below = texts().into_iter().filter(move |(path, _)| path.starts_with(folder));
    below.map(|(path, text)| {
        let code = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default().to_owned();
        (path, code)
    })
}

/// Every text file of the project: path from its top, with `/`, and text.
fn texts() -> Vec<(String, String)> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut texts = Vec::new();
    for folder in FOLDERS {
        collect(top, &top.join(folder), true, &mut texts);
    }
    collect(top, top, false, &mut texts);
    texts.sort();
    texts
}

fn collect(top: &Path, folder: &Path, deep: bool, texts: &mut Vec<(String, String)>) {
    // A folder that the project does not have holds nothing to check; `.git` is a file in a linked working tree.
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries {
        let path = entry.expect("a readable folder").path();
        if path.is_dir() && deep {
            collect(top, &path, deep, texts);
        } else if path.is_file() && !path.ends_with(".git") {
            let bytes = fs::read(&path).expect("a readable file");
            let relative = path.strip_prefix(top).expect("below the top").to_string_lossy().replace('\\', "/");
            // What is not UTF-8 is a picture or a sound.
            texts.extend(String::from_utf8(bytes).ok().map(|text| (relative, text)));
        }
    }
}

#[test]
fn the_text_keeps_its_own_rules() {
    let texts = texts();
    assert!(texts.iter().any(|(path, _)| path == "src/record/mod.rs"), "the search must find at least what is known");
    let found: Vec<String> = texts.iter().flat_map(|(path, text)| breaches(path, text)).collect();
    assert!(found.is_empty(), "{} places break a rule:\n{}", found.len(), found.join("\n"));
}

#[test]
fn every_rule_finds_its_breach_and_spares_what_is_allowed() {
    // Path, line, and how many breaches it is.
    let cases = [
        ("src/rod/step.rs", concat!("use be", "vy::prelude::*;"), 1),
        ("src/app/view.rs", concat!("use be", "vy::prelude::*;"), 0),
        ("Cargo.toml", concat!("[dependencies.be", "vy]"), 0),
        ("src/app/view.rs", concat!("use be", "vy_rap", "ier3d::prelude::*;"), 1),
        ("src/app/bodies/mod.rs", concat!("use be", "vy_rap", "ier3d::prelude::*;"), 0),
        ("src/rod/step.rs", concat!("use be", "vy_rap", "ier3d::prelude::*;"), 2),
        ("src/report/html.rs", concat!("use eg", "ui::Ui;"), 1),
        ("src/record/writer.rs", concat!("use std::", "fs;"), 1),
        ("src/record/writer.rs", concat!("let f = Fi", "le::create(path)?;"), 1),
        ("src/record/writer.rs", concat!("AttemptFi", "le::new()"), 0),
        ("src/cli/grade.rs", concat!("let f = Fi", "le::create(path)?;"), 0),
        ("src/app/files.rs", concat!("use std::", "fs;"), 0),
        ("src/score/mod.rs", concat!("print", "ln!(\"{score}\");"), 1),
        ("src/score/mod.rs", concat!("eprint", "ln!(\"{score}\");"), 1),
        ("src/main.rs", concat!("eprint", "ln!(\"{error}\");"), 0),
        ("src/simulation/mod.rs", concat!("let t = Instant", "::now();"), 1),
        ("src/cli/bench.rs", concat!("let t = Instant", "::now();"), 0),
        ("src/topology/mod.rs", concat!("use std::collections::Hash", "Map;"), 1),
        ("src/rod/twist.rs", concat!("DQuat::from_axis", "_angle(axis, a)"), 1),
        ("src/app/view.rs", concat!("Quat::from_axis", "_angle(axis, a)"), 0),
        ("src/rod/twist.rs", concat!("a.mul", "_add(b, c)"), 1),
        ("scenarios/socket.ron", concat!("// TO", "DO: sizes"), 1),
        ("tests/physics/mod.rs", concat!("to", "do!()"), 1),
        ("README.md", concat!("see /wo", "rk/notes"), 1),
        ("README.md", "see work/notes", 0),
        (".ci/run", concat!("cd /ro", "ot/knots"), 1),
        ("src/rod/step.rs", "\tlet x = 1;", 1),
        ("src/score/criteria/snug.rs", "//! Snug. Source: a paper.", 0),
        ("src/score/criteria/snug.rs", "// Snug. Source: a paper.", 1),
        ("src/score/criteria/snug.rs", "//! Snug.", 1),
        ("src/score/criteria/mod.rs", "// The list.", 0),
    ];
    for (path, line, expected) in cases {
        let found = breaches(path, line);
        assert_eq!(found.len(), expected, "{path}: {line}: {found:#?}");
    }
    let long = "x".repeat(LINE_CHARS_MAX + 1);
    assert_eq!(
        breaches("src/rod/step.rs", &format!("ok\n{long}")),
        ["src/rod/step.rs:2: 161 characters, but at most 160 are allowed"]
    );
    assert_eq!(breaches("src/rod/step.rs", &long[1..]), [""; 0]);
    assert_eq!(breaches("README.md", &long), [""; 0]);
}
