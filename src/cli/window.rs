//! No command: the window, or what to do without one.

use super::arguments::WindowArguments;
use super::output::complain;
use super::{Failure, Status, demo};
use clap::Parser;

/// Opens the window on the first scenario. Where none can open, says why and gives the demonstration without one.
pub(super) fn open_window(arguments: &WindowArguments) -> Result<Status, Failure> {
    match try_window(arguments)? {
        Ok(status) => Ok(status),
        Err(three_lines) => {
            complain(&three_lines);
            demo::demo(&demo_arguments())
        }
    }
}

/// The arguments of `demo` alone.
fn demo_arguments() -> super::arguments::DemoArguments {
    #[derive(Parser)]
    struct Alone {
        #[command(flatten)]
        demo: super::arguments::DemoArguments,
    }
    Alone::parse_from(["demo"]).demo
}

/// What was missing, what to do about it, and how to do without.
#[cfg(not(feature = "window"))]
const BUILT_WITHOUT: [&str; 3] = [
    "missing: the window (this program was built without it)",
    "to get one: build with the default features: `cargo run --release`",
    "without a window: `knotwright demo` ties, grades and reports in the terminal; here it is",
];

#[cfg(not(feature = "window"))]
#[expect(clippy::unnecessary_wraps, reason = "with the window it can fail")]
fn try_window(_: &WindowArguments) -> Result<Result<Status, String>, Failure> {
    Ok(Err(BUILT_WITHOUT.join("\n")))
}

/// What `doctor` says about the window, a line each.
#[cfg(not(feature = "window"))]
pub(super) fn describe() -> Vec<String> {
    BUILT_WITHOUT[..2].iter().map(ToString::to_string).collect()
}

#[cfg(feature = "window")]
fn try_window(arguments: &WindowArguments) -> Result<Result<Status, String>, Failure> {
    use super::stage::Desk;
    use crate::app;

    let options = app::WindowOptions {
        adapter: app::AdapterChoice { backend: arguments.backend.clone(), name: arguments.adapter.clone() },
        frames: arguments.frames,
        ..app::WindowOptions::default()
    };
    if let Err(missing) = app::preflight(&options.adapter) {
        return Ok(Err(missing.to_string()));
    }
    let (case, script) = demo::open(&demo_arguments())?;
    let desk = Desk::new(case.clone(), script)?;
    match app::run(Box::new(desk), &case.scenario, &options) {
        Ok(outcome) if outcome.failed => Err(Failure::new(Status::Internal, "the window closed because of an error")),
        Ok(_) => Ok(Ok(Status::Done)),
        Err(missing) => Ok(Err(missing.to_string())),
    }
}

/// What `doctor` says about the window, a line each.
#[cfg(feature = "window")]
pub(super) fn describe() -> Vec<String> {
    use crate::app;

    let mut lines = match app::preflight(&app::AdapterChoice::default()) {
        Ok(adapter) => vec![format!("opens, drawn by {adapter}")],
        Err(missing) => missing.to_string().lines().map(str::to_owned).collect(),
    };
    lines.extend(app::adapters().into_iter().map(|adapter| format!("adapter: {adapter}")));
    lines
}
