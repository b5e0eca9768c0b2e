//! The window, on the first scenario or on a file, or what to do without one.

use super::arguments::{WindowArguments, WindowFileArguments};
use super::output::complain;
use super::{Failure, Status, demo};
use clap::Parser;

/// Opens the window on the first scenario. Where none can open, says why and gives the demonstration without one.
pub(super) fn open_window(arguments: &WindowArguments) -> Result<Status, Failure> {
    match try_window(arguments, None)? {
        Ok(status) => Ok(status),
        Err(three_lines) => {
            complain(&three_lines);
            demo::demo(&demo_arguments())
        }
    }
}

/// Opens the window on a file. Where none can open, says why.
pub(super) fn open_file(asked: &WindowFileArguments) -> Result<Status, Failure> {
    match try_window(&asked.window, Some(asked))? {
        Ok(status) => Ok(status),
        Err(three_lines) => Err(Failure::new(Status::Internal, three_lines)),
    }
}

/// The arguments of `demo` alone.
pub(super) fn demo_arguments() -> super::arguments::DemoArguments {
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
fn try_window(_: &WindowArguments, _: Option<&WindowFileArguments>) -> Result<Result<Status, String>, Failure> {
    Ok(Err(BUILT_WITHOUT.join("\n")))
}

/// What `doctor` says about the window, a line each.
#[cfg(not(feature = "window"))]
pub(super) fn describe() -> Vec<String> {
    BUILT_WITHOUT[..2].iter().map(ToString::to_string).collect()
}

/// What drawing costs, a line each.
#[cfg(not(feature = "window"))]
#[expect(clippy::unnecessary_wraps, reason = "with the window it can fail")]
pub(super) fn costs(_frames: u32, _size: (u32, u32)) -> Result<Vec<String>, Failure> {
    Ok(describe())
}

#[cfg(feature = "window")]
fn try_window(
    arguments: &WindowArguments,
    asked: Option<&WindowFileArguments>,
) -> Result<Result<Status, String>, Failure> {
    use super::opened;
    use crate::app;
    use crate::app::words::Language;

    let language = arguments.language.clone().or_else(|| opened::language(arguments));
    let keys = arguments.keys.clone().or_else(|| opened::keys(arguments));
    let (bindings, about_bindings) = super::keys::in_window(keys.as_deref());
    let options = app::WindowOptions {
        bindings,
        about_bindings,
        adapter: app::AdapterChoice { backend: arguments.backend.clone(), name: arguments.adapter.clone() },
        frames: arguments.frames,
        language: language.and_then(|code| Language::coded(&code)).unwrap_or_default(),
        edit: asked.is_some_and(|asked| asked.edit),
        #[cfg(feature = "tracked-hands")]
        tracked_hands: arguments.tracked_hands,
        ..app::WindowOptions::default()
    };
    if let Err(missing) = app::preflight(&options.adapter) {
        return Ok(Err(missing.to_string()));
    }
    let (stage, scene) = match asked {
        Some(asked) => opened::on_file(asked)?,
        None => opened::at_first(arguments)?,
    };
    match app::run(stage, &scene, &options) {
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

/// What drawing costs, a line each.
#[cfg(feature = "window")]
pub(super) fn costs(frames: u32, size: (u32, u32)) -> Result<Vec<String>, Failure> {
    use super::opened;
    use crate::app;

    let (stage, scene) = opened::first_case()?;
    let costs = match app::frame_costs(stage, &scene, size, frames as usize) {
        Ok(costs) => costs,
        Err(missing) => return Ok(missing.to_string().lines().map(str::to_owned).collect()),
    };
    let within = |share: f64| costs.within(share).unwrap_or(f64::NAN);
    Ok(vec![
        format!("{}x{} drawn by {}, preset {:?}", size.0, size.1, costs.adapter, costs.preset),
        format!("first picture after {:.2} s", costs.first_s),
        format!(
            "{} frames of the first demonstration, 60 a second; its simulation beside them kept {:.2} of real time",
            costs.frame_ms.len(),
            costs.real_time_share
        ),
        format!(
            "median {:.2} ms, 95 of 100 within {:.2} ms, 99 within {:.2} ms, worst {:.2} ms",
            within(0.5),
            within(0.95),
            within(0.99),
            within(1.0)
        ),
    ])
}

#[cfg(all(test, feature = "window"))]
mod tests {
    use super::*;
    use crate::app::words::Language;

    #[test]
    fn every_language_of_the_window_can_be_asked_for_and_no_other() {
        #[derive(Debug, Parser)]
        struct Alone {
            #[command(flatten)]
            window: WindowArguments,
        }
        let asked =
            |code: &str| Alone::try_parse_from(["window", "--language", code]).map(|alone| alone.window.language);
        for language in Language::ALL {
            assert_eq!(asked(language.code()).ok(), Some(Some(language.code().to_owned())));
        }
        let refused = asked("xx").expect_err("there is none").to_string();
        assert!(refused.contains("en, de"), "{refused}");
    }

    #[cfg(feature = "tracked-hands")]
    #[test]
    fn tracked_hands_are_heard_only_if_asked_for_and_only_on_this_machine() {
        #[derive(Debug, Parser)]
        struct Alone {
            #[command(flatten)]
            window: WindowArguments,
        }
        let asked = |arguments: &[&str]| {
            let alone = Alone::try_parse_from(["window"].iter().chain(arguments))?;
            Ok::<_, clap::Error>(alone.window.tracked_hands.map(|address| address.to_string()))
        };
        let cases: [(&[&str], Option<&str>); 4] = [
            (&[], None),
            (&["--tracked-hands"], Some("127.0.0.1:9000")),
            (&["--tracked-hands", "127.0.0.1:9100"], Some("127.0.0.1:9100")),
            (&["--tracked-hands=[::1]:9000"], Some("[::1]:9000")),
        ];
        for (arguments, address) in cases {
            assert_eq!(asked(arguments).expect("it is allowed").as_deref(), address, "{arguments:?}");
        }
        let refused = asked(&["--tracked-hands", "0.0.0.0:9000"]).expect_err("others could send to it").to_string();
        for part in ["0.0.0.0:9000 can be reached from other machines", "127.0.0.1:9000", "moves the hands"] {
            assert!(refused.contains(part), "no `{part}` in {refused}");
        }
    }
}
