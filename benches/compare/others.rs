//! Processes beside this one: the same program again, and Python for what is written in it.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// What drives the solvers that are Python packages.
pub(crate) const SCRIPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/others/run.py");

/// The interpreter that has the packages.
pub(crate) const INTERPRETER: &str = "KNOTWRIGHT_BENCH_PYTHON";

/// The interpreter that the environment names.
pub(crate) fn python() -> Option<PathBuf> {
    std::env::var_os(INTERPRETER).map(PathBuf::from)
}

/// What a program answers when it is told `text`.
pub(crate) fn answer(program: Option<&Path>, arguments: &[&str], text: &str) -> Result<String, String> {
    let Some(program) = program else {
        return Err(format!("no interpreter: set {INTERPRETER} to a Python with benches/others/requirements.txt"));
    };
    let mut child = Command::new(program)
        .args(arguments)
        // One core each, whatever the libraries would take.
        .envs(
            ["OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"].map(|name| (name, "1")),
        )
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|e| format!("{}: {e}", program.display()))?;
    if let Some(mut stdin) = child.stdin.take() {
        stdin.write_all(text.as_bytes()).map_err(|e| e.to_string())?;
    }
    let output = child.wait_with_output().map_err(|e| e.to_string())?;
    if !output.status.success() {
        return Err(format!("{} ended with {}", program.display(), output.status));
    }
    String::from_utf8(output.stdout).map_err(|e| e.to_string())
}
