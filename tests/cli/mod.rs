//! The program as people and other programs meet it: words out, exit code out.

mod attempts;
mod course;
mod damage;
mod demonstrations;
mod experiments;
mod generated;
mod grades;
mod handed;
mod histories;
mod materials;
mod pulls;
mod readings;
mod scenarios;
mod ten_minutes;
mod tied;
mod usage;

use std::path::PathBuf;
use std::process::{Command, Output};

/// The program, in the folder of this package, without a display.
fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_knotwright"));
    command.current_dir(env!("CARGO_MANIFEST_DIR")).env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY");
    command
}

/// What came of a call: exit code, standard output, standard error.
struct Call {
    code: i32,
    out: String,
    err: String,
}

fn call(arguments: &[&str]) -> Call {
    let Output { status, stdout, stderr } = program().args(arguments).output().expect("the program starts");
    let text = |bytes| String::from_utf8(bytes).expect("it prints UTF-8");
    let (out, err) = (text(stdout), text(stderr));
    assert!(!err.contains("panicked"), "{arguments:?}: {err}");
    Call { code: status.code().expect("it ends by itself"), out, err }
}

/// A place for a file of a test; each test has names of its own.
fn scratch(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name)
}

fn path(path: &std::path::Path) -> &str {
    path.to_str().expect("the scratch folder's name is UTF-8")
}
