//! A case whose file changes while it is on stage.

use super::{Desk, Watch};
use crate::app::form::FORM_MARK;
use crate::app::{Newer, Scene, Stage};
use crate::cli::check::examine;
use crate::cli::demo;
use crate::cli::keep::Folder;
use crate::input::{HandEvent, TickCommand};
use std::fs;
use std::path::PathBuf;
use std::time::Duration;

/// Longer than what any clock of files leaves out.
const FILE_CLOCK: Duration = Duration::from_millis(20);

const FIRST: &str = include_str!("../../../scenarios/first_stitch.ron");

/// A folder of its own for each test.
fn folder(name: &str) -> PathBuf {
    let place = std::env::temp_dir().join(format!("knotwright-reload-{name}-{}", std::process::id()));
    drop(fs::remove_dir_all(&place));
    fs::create_dir_all(&place).expect("a folder for passing files can be made");
    place
}

/// The first case under another title.
fn titled(title: &str) -> String {
    FIRST.replacen("First stitch over a grafted socket", title, 1)
}

/// A desk on a file with this text, which is looked at each time that the window looks.
fn on_file(file: &PathBuf, text: &str, kept: Result<Folder, String>) -> Desk {
    fs::write(file, text).expect("it can be written");
    let arguments =
        crate::cli::arguments::DemoArguments { scenario: file.clone(), ..crate::cli::window::demo_arguments() };
    let (case, script) = demo::open(&arguments).expect("it is in order");
    Desk::new(case, script, kept, None).expect("it can begin").watching(Watch::every(file.clone(), Duration::ZERO))
}

fn not_kept() -> Result<Folder, String> {
    Err(String::new())
}

/// Writes a file, and lets the desk look often enough to see that it is written to its end.
fn change(desk: &mut Desk, file: &PathBuf, text: &str) {
    std::thread::sleep(FILE_CLOCK);
    fs::write(file, text).expect("it can be written");
    look(desk);
}

fn look(desk: &mut Desk) {
    (0..3).for_each(|_| drop(desk.frames()));
}

fn title(scene: Option<Scene>) -> Option<String> {
    scene.map(|scene| scene.title().to_owned())
}

#[test]
fn a_file_that_changed_while_the_script_plays_is_taken_and_the_window_is_told_its_scene_once() {
    let file = folder("taken").join("mine.ron");
    let mut desk = on_file(&file, FIRST, not_kept());
    (0..30).for_each(|_| desk.tick(None));
    look(&mut desk);
    assert_eq!((desk.file().newer, desk.file().name.as_str()), (Newer::None, "mine.ron"));
    assert!(!desk.take_newer() && desk.snapshot().tick.0 == 30, "there is nothing to take");
    change(&mut desk, &file, &titled("Mine"));
    assert_eq!(desk.file().newer, Newer::Ready);
    assert!(desk.new_scene().is_none(), "it has not been taken yet");
    assert!(desk.take_newer());
    assert_eq!((desk.snapshot().tick.0, desk.file().newer, desk.file().taken), (0, Newer::None, 1));
    assert_eq!(title(desk.new_scene()).as_deref(), Some("Mine"));
    assert!(desk.new_scene().is_none(), "it is told once");
    desk.tick(None);
    assert_eq!(desk.snapshot().tick.0, 1, "its script plays");
}

#[test]
fn a_file_that_is_not_in_order_leaves_the_case_and_says_what_the_check_says_until_it_is_again() {
    let file = folder("broken").join("mine.ron");
    let mut desk = on_file(&file, FIRST, not_kept());
    desk.tick(None);
    let wrong = FIRST.replacen("tooth: 35", "tooth: 95", 1).replacen("seed: 35", "seed: -1", 1);
    change(&mut desk, &file, &wrong);
    let said = desk.file().problems;
    assert_eq!(said, examine(&file).expect_err("it is wrong").message);
    assert!(said.contains("site.tooth is 95, allowed 11 to 48") && said.contains("seed is -1"), "not all in {said}");
    assert!(desk.file().newer == Newer::None && !desk.take_newer() && desk.snapshot().tick.0 == 1);
    fs::remove_file(&file).expect("it is there");
    look(&mut desk);
    assert!(desk.file().problems.contains("no such file"), "{}", desk.file().problems);
    change(&mut desk, &file, &titled("Mended"));
    assert_eq!((desk.file().newer, desk.file().problems.as_str()), (Newer::Ready, ""));
}

#[test]
fn a_file_without_its_demonstration_is_not_taken() {
    let file = folder("bare").join("mine.ron");
    let mut desk = on_file(&file, FIRST, not_kept());
    change(&mut desk, &file, &FIRST.replacen("hands/first_stitch.hands", "hands/none.hands", 1));
    assert!(desk.file().problems.contains("its demonstration"), "{:?}", desk.file());
    assert_eq!(desk.file().newer, Newer::None);
}

#[test]
fn nothing_is_taken_while_own_hands_are_at_work_and_beginning_anew_takes_it_and_keeps_the_attempt() {
    let place = folder("own");
    let file = place.join("mine.ron");
    let kept = place.join("attempts");
    let folder = Folder::of(Some(&kept), |_| None).expect("it can be made");
    let mut desk = on_file(&file, FIRST, Ok(folder));
    let still = desk.current_command();
    (0..20).for_each(|_| desk.tick(Some(&still)));
    change(&mut desk, &file, &titled("Mine"));
    assert_eq!(desk.file().newer, Newer::Waits);
    assert!(!desk.take_newer() && desk.snapshot().tick.0 == 20, "the attempt goes on");
    assert!(desk.begin_anew());
    assert_eq!((title(desk.new_scene()).as_deref(), desk.snapshot().tick.0), (Some("Mine"), 0));
    let ended = fs::read_dir(&kept).expect("it is there").flatten().map(|entry| entry.path());
    let ended: Vec<PathBuf> = ended.filter(|path| path.extension().is_some_and(|end| end == "attempt")).collect();
    assert!(!ended.is_empty(), "what the hands did is still in the folder");
}

#[test]
fn the_marks_of_ones_own_attempt_stay_until_one_begins_anew() {
    let file = folder("marked").join("mine.ron");
    let mut desk = on_file(&file, FIRST, not_kept());
    let still = desk.current_command();
    desk.tick(Some(&TickCommand { events: vec![HandEvent::Finish], ..still }));
    change(&mut desk, &file, &titled("Mine"));
    while desk.finished().is_none() {
        assert_eq!(desk.file().newer, Newer::Waits);
        std::thread::sleep(FILE_CLOCK);
        desk.tick(None);
    }
    assert!(desk.file().newer == Newer::Waits && !desk.take_newer());
    assert!(desk.begin_anew() && desk.finished().is_none() && desk.new_scene().is_some());
}

#[test]
fn the_file_that_a_case_extends_is_looked_at_too() {
    let place = folder("extends");
    let (file, base) = (place.join("mine.ron"), place.join("base.ron"));
    fs::write(&base, FIRST).expect("it can be written");
    let mut desk = on_file(&file, "(format: 1, extends: \"base.ron\", seed: 36)", not_kept());
    change(&mut desk, &base, &titled("Of the base"));
    assert_eq!(desk.file().newer, Newer::Ready);
    assert!(desk.take_newer());
    assert_eq!(title(desk.new_scene()).as_deref(), Some("Of the base"));
}

#[test]
fn a_file_that_was_written_as_it_was_is_no_other_case() {
    let file = folder("same").join("mine.ron");
    let mut desk = on_file(&file, FIRST, not_kept());
    change(&mut desk, &file, &titled("Mine"));
    change(&mut desk, &file, FIRST);
    assert_eq!(desk.file().newer, Newer::None);
    assert!(!desk.take_newer());
}

#[test]
fn a_file_that_is_still_being_written_is_not_read() {
    let file = folder("half").join("mine.ron");
    let mut desk = on_file(&file, FIRST, not_kept());
    for length in [0, 500, 900] {
        std::thread::sleep(FILE_CLOCK);
        fs::write(&file, &FIRST[..length]).expect("it can be written");
        desk.frames();
        assert_eq!(desk.file().problems, "", "it was read after {length} bytes");
    }
    change(&mut desk, &file, &titled("Whole"));
    assert_eq!((desk.file().newer, desk.file().problems.as_str()), (Newer::Ready, ""));
}

#[test]
fn half_a_second_passes_between_two_looks() {
    let file = folder("pace").join("mine.ron");
    fs::write(&file, FIRST).expect("it can be written");
    let mut watch = Watch::of(file.clone());
    std::thread::sleep(FILE_CLOCK);
    fs::write(&file, titled("Mine")).expect("it can be written");
    (0..5).for_each(|_| assert!(watch.look().is_none(), "it was looked at too soon"));
    std::thread::sleep(Duration::from_millis(510));
    assert!(watch.look().is_none(), "it may still be written");
    std::thread::sleep(Duration::from_millis(510));
    assert!(watch.look().is_some_and(|read| read.is_ok()));
}

#[test]
fn a_form_writes_over_its_own_file_only_as_long_as_nobody_else_has_changed_it() {
    let place = folder("form");
    let (file, copy) = (place.join("mine.ron"), place.join("copy.ron"));
    let mut desk = on_file(&file, FIRST, not_kept());
    let source = desk.form_source().expect("it can be edited");
    assert!(!source.own && source.on_disk == FIRST && source.text == FIRST);
    let name = |path: &PathBuf| path.display().to_string();
    let refused = |desk: &mut Desk, path: &PathBuf, before: Option<&str>, why: &str| {
        let text = fs::read_to_string(path).unwrap_or_default();
        let said = desk.write_form(&name(path), "()", before).expect_err("nothing is written");
        assert!(said.contains(why), "{said}");
        assert_eq!(fs::read_to_string(path).unwrap_or_default(), text);
    };
    refused(&mut desk, &file, None, "it is there already");
    refused(&mut desk, &file, Some(FIRST), "nothing is written over that");
    refused(&mut desk, &place.join("mine.txt"), None, "ends in .ron");
    let of_form = format!("// {FORM_MARK}\n{}", titled("Of a form"));
    desk.write_form(&name(&copy), &of_form, None).expect("there is no such file");
    look(&mut desk);
    assert_eq!((desk.file().name.as_str(), desk.file().newer), ("copy.ron", Newer::Ready), "{:?}", desk.file());
    assert!(desk.take_newer());
    assert_eq!(title(desk.new_scene()).as_deref(), Some("Of a form"));
    let source = desk.form_source().expect("it can be edited");
    assert!(source.own && source.file == name(&copy));
    let again = of_form.replacen("Of a form", "Of a form, again", 1);
    desk.write_form(&name(&copy), &again, Some(&of_form)).expect("it is as the form wrote it");
    assert_eq!(fs::read_to_string(&copy).expect("it is there"), again);
    fs::write(&copy, again.replacen("seed: 35", "seed: 36", 1)).expect("it can be written");
    refused(&mut desk, &copy, Some(&again), "it was changed meanwhile");
    assert_eq!(fs::read_to_string(&file).expect("it is there"), FIRST, "what was written by hand stays");
}

#[test]
fn a_file_of_the_form_that_extends_another_is_its_own_and_is_told_as_it_stands_and_whole() {
    let place = folder("extending");
    fs::write(place.join("base.ron"), FIRST).expect("it can be written");
    let file = place.join("mine.ron");
    let text = format!("// {FORM_MARK}\n(format: 1, extends: \"base.ron\", title: \"Of a form\")\n");
    let source = on_file(&file, &text, not_kept()).form_source().expect("it can be edited");
    assert!(source.own && source.on_disk == text, "{}", source.on_disk);
    assert!(source.text.contains("Of a form") && source.text.contains("seed: 35"), "{}", source.text);
}

#[test]
fn what_is_not_saved_is_kept_beside_the_file_until_it_is() {
    let place = folder("unsaved");
    let file = place.join("mine.ron");
    let mut desk = on_file(&file, &format!("// {FORM_MARK}\n{FIRST}"), not_kept());
    let name = file.display().to_string();
    let mut keeps = |changes: Option<&str>| {
        desk.keep_unsaved(&name, changes).expect("it can be written");
        desk.form_source().expect("it can be edited").unsaved
    };
    assert_eq!(keeps(None), None, "there is nothing to remove");
    assert_eq!(keeps(Some("[1]")).as_deref(), Some("[1]"));
    assert_eq!(keeps(Some("[2]")).as_deref(), Some("[2]"));
    assert_eq!(fs::read_dir(&place).expect("it is there").count(), 2, "the case and what is unsaved");
    assert_eq!(keeps(None), None);
    let said = desk.keep_unsaved(&place.join("nowhere/mine.ron").display().to_string(), Some("[1]"));
    assert!(said.expect_err("there is no such folder").contains("mine.ron.unsaved"));
}
