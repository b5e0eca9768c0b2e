//! `doctor`: what a report of a problem needs to say.

use super::arguments::DoctorArguments;
use super::files::{self, FIRST_SCENARIO};
use super::output::say;
use super::session::SIMULATION_VERSION;
use super::{Failure, Status, window};
use crate::record::FORMAT;
use std::fs;
use std::io::Write;
use std::path::Path;

pub(super) fn doctor(asked: &DoctorArguments) -> Result<Status, Failure> {
    let folder = |path: std::io::Result<std::path::PathBuf>| match path {
        Ok(path) => path.display().to_string(),
        Err(error) => format!("unknown: {error}"),
    };
    let variable = |name| std::env::var(name).unwrap_or_else(|_| "not set".to_owned());
    let threads = std::thread::available_parallelism().map_or_else(|error| error.to_string(), |n| n.to_string());
    let mut lines = vec![
        ("program", env!("CARGO_PKG_VERSION").to_owned()),
        ("simulation", format!("version {SIMULATION_VERSION}")),
        ("recordings", format!("format {FORMAT}")),
        ("scenarios", "format 1".to_owned()),
        ("system", format!("{} on {}, {threads} threads", std::env::consts::OS, std::env::consts::ARCH)),
        ("DISPLAY", variable("DISPLAY")),
        ("WAYLAND_DISPLAY", variable("WAYLAND_DISPLAY")),
        ("program file", folder(std::env::current_exe())),
        ("current folder", folder(std::env::current_dir())),
        ("writable", writable(Path::new("."))),
        ("first scenario", first_scenario()),
    ];
    lines.extend(window::describe().into_iter().map(|line| ("window", line)));
    if let Some(frames) = asked.frames {
        lines.extend(window::costs(frames, asked.size)?.into_iter().map(|line| ("frames", line)));
    }
    let lines: String = lines.iter().map(|(what, found)| format!("{what:<16} {found}\n")).collect();
    say(&lines)?;
    Ok(Status::Done)
}

fn first_scenario() -> String {
    match files::need(Path::new(FIRST_SCENARIO)) {
        Ok(found) => found.name,
        Err(failure) => failure.message,
    }
}

/// Whether a file can be made in a folder: tried, because permissions alone do not tell.
fn writable(folder: &Path) -> String {
    let probe = folder.join(format!(".knotwright-probe-{}", std::process::id()));
    let written =
        fs::File::options().write(true).create_new(true).open(&probe).and_then(|mut file| file.write_all(b"?"));
    let removed = fs::remove_file(&probe);
    match written.and(removed) {
        Ok(()) => "yes".to_owned(),
        Err(error) => format!("no: {error}"),
    }
}
