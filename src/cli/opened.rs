//! What the window is opened on.

use super::arguments::{DemoArguments, WindowArguments, WindowFileArguments};
use super::files::FIRST_SCENARIO;
use super::keep::{BrokenOff, Folder};
use super::pull::thread_of;
use super::stage::{Bench, Desk, Projector, Watch};
use super::window::demo_arguments;
use super::{Case, Failure, Status, again, case, demo, tabled};
use crate::app::{Scene, Stage};
use crate::input::script::Script;
use crate::record::is_recording;
use std::fs;
use std::path::{Path, PathBuf};

type Opened = Result<(Box<dyn Stage>, Scene), Failure>;

/// The first scenario, or the case of the last attempt that was broken off.
pub(super) fn at_first(window: &WindowArguments) -> Opened {
    let (case, script) = demo::open(&demo_arguments())?;
    let folder = folder(window);
    let mut offer = folder.as_ref().ok().and_then(Folder::broken_off);
    if let Some(other) = offer.as_ref().filter(|offer| offer.case.text != case.text) {
        let shipped = case::script(&other.case.scenario.demonstration, Path::new(FIRST_SCENARIO));
        match shipped.and_then(|shipped| case::hands(&shipped)) {
            // A recording holds its case, and not the file that it was from.
            Ok(own) => return desk(other.case.clone(), own, folder, offer),
            // Without a script it can still be gone through: it stays where it is.
            Err(_) => offer = None,
        }
    }
    watched(case, script, folder, offer, FIRST_SCENARIO.into())
}

/// The first scenario with its demonstration; no attempt is kept.
pub(super) fn first_case() -> Opened {
    let (case, script) = demo::open(&demo_arguments())?;
    desk(case, script, Err("only its frames are timed".to_owned()), None)
}

/// A scenario with its demonstration, and with what becomes of its file.
fn on_scenario(arguments: &DemoArguments, window: &WindowArguments) -> Opened {
    let (case, script) = demo::open(arguments)?;
    let folder = folder(window);
    let offer = folder.as_ref().ok().and_then(Folder::broken_off).filter(|offer| offer.case.text == case.text);
    watched(case, script, folder, offer, arguments.scenario.clone())
}

fn watched(
    case: Case,
    script: Script,
    folder: Result<Folder, String>,
    offer: Option<BrokenOff>,
    file: PathBuf,
) -> Opened {
    let scene = scene(&case);
    Ok((Box::new(Desk::new(case, script, folder, offer)?.watching(Watch::of(file))), scene))
}

fn desk(case: Case, script: Script, folder: Result<Folder, String>, offer: Option<BrokenOff>) -> Opened {
    let scene = scene(&case);
    Ok((Box::new(Desk::new(case, script, folder, offer)?), scene))
}

fn scene(case: &Case) -> Scene {
    Scene::Mouth(Box::new(case.scenario.clone()))
}

fn folder(window: &WindowArguments) -> Result<Folder, String> {
    let folder = Folder::of(window.data_dir.as_deref(), |name| std::env::var(name).ok())?;
    #[cfg(feature = "tracked-hands")]
    let folder = folder.with_tracked_hands(window.tracked_hands.is_some());
    Ok(folder)
}

/// The file of keys in the folder of attempts, if there is one.
pub(super) fn keys(window: &WindowArguments) -> Option<PathBuf> {
    folder(window).ok()?.keys()
}

/// The code of the language that was chosen in the window last, if there was one.
pub(super) fn language(window: &WindowArguments) -> Option<String> {
    folder(window).ok()?.language()
}

/// A scenario by its ending, else a recording by its first bytes, else a table.
pub(super) fn on_file(asked: &WindowFileArguments) -> Opened {
    let of_table = asked.material.is_some();
    let not_of_table = || Failure::new(Status::Usage, "--material, --size and --dry are for a table of points only");
    if asked.file.extension().is_some_and(|extension| extension == "ron") {
        if of_table {
            return Err(not_of_table());
        }
        let arguments = DemoArguments { scenario: asked.file.clone(), ..demo_arguments() };
        return on_scenario(&arguments, &asked.window);
    }
    if asked.edit {
        return Err(Failure::new(Status::Usage, "--edit is for a scenario only, whose file ends in .ron"));
    }
    let name = asked.file.display().to_string();
    let bytes = fs::read(&asked.file).map_err(|error| again::unreadable(&name, &error))?;
    if is_recording(&bytes) {
        if of_table {
            return Err(not_of_table());
        }
        let projector = Projector::open(&asked.file)?;
        let scene = Scene::Mouth(Box::new(projector.case.scenario.clone()));
        return Ok((Box::new(projector), scene));
    }
    on_table(asked, &name, bytes)
}

/// The first knot of a table.
fn on_table(asked: &WindowFileArguments, name: &str, bytes: Vec<u8>) -> Opened {
    let thread = match (&asked.material, &asked.size) {
        (Some(material), Some(size)) => Some(
            thread_of(material, size, asked.dry)
                .map_err(|problem| Failure::new(Status::Usage, format!("--{problem}")))?,
        ),
        _ => None,
    };
    let knot = tabled::open(name, bytes, 1)?;
    let scene = Scene::Bench {
        title: asked.file.file_name().map_or_else(|| name.to_owned(), |file| file.to_string_lossy().into_owned()),
        thread: thread.as_ref().map_or_else(String::new, |thread| thread.name.to_owned()),
    };
    Ok((Box::new(Bench::new(knot, thread)), scene))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::Newer;

    #[test]
    fn the_case_that_is_there_without_a_file_being_named_can_be_edited_and_is_followed_too() {
        let place = std::env::temp_dir().join(format!("knotwright-at-first-{}", std::process::id()));
        let window = WindowArguments {
            backend: None,
            adapter: None,
            data_dir: Some(place),
            keys: None,
            language: None,
            frames: None,
            #[cfg(feature = "tracked-hands")]
            tracked_hands: None,
        };
        let (mut stage, _) = at_first(&window).expect("it opens");
        let source = stage.form_source().expect("it can be edited");
        assert_eq!((source.file.as_str(), source.own), (FIRST_SCENARIO, false));
        let news = stage.file();
        assert_eq!((news.name.as_str(), news.newer), ("first_stitch.ron", Newer::None), "{news:?}");
    }
}
