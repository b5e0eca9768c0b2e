//! `demo` and `replay`: an attempt made, kept, and carried out again.
//!
//! The hands only hold still here: what is tested is the way from the script to the report, not the stitch.

use super::{Call, call, path, scratch};
use crate::scoring::structure::faults;
use knotwright::cli::session::Event;
use knotwright::record::{AttemptWriter, Recording, read};
use serde_json::Value;
use std::fs;
use std::path::PathBuf;

/// A script of one second and a bit: more than one block of a recording.
fn still_hands(name: &str) -> PathBuf {
    let file = scratch(&format!("{name}.hands"));
    fs::write(&file, "say Holding still\nwait for 1.2 s\n").expect("the scratch folder is writable");
    file
}

/// The same, of a student.
pub(super) fn recorded_by(name: &str, student: &str, folder: &std::path::Path) -> PathBuf {
    let (file, hands) = (folder.join(format!("{name}.attempt")), scratch(&format!("{name}.hands")));
    // What the hands say is recorded, and makes this recording another than the next one.
    fs::write(&hands, format!("say Holding still for {name}\nwait for 1.2 s\n"))
        .expect("the scratch folder is writable");
    let demo = call(&["demo", "--hands", path(&hands), "--record", path(&file), "--student", student, "--json"]);
    assert_eq!(demo.code, 0, "{}", demo.err);
    file
}

/// A recording of hands that hold still, and the report that came with it.
pub(super) fn recorded(name: &str) -> (PathBuf, Value) {
    let file = scratch(&format!("{name}.attempt"));
    let hands = still_hands(name);
    let demo = call(&["demo", "--hands", path(&hands), "--record", path(&file), "--json"]);
    assert_eq!(demo.code, 0, "{}", demo.err);
    (file, serde_json::from_str(&demo.out).expect("exactly one object"))
}

fn replay(file: &std::path::Path) -> Call {
    call(&["replay", path(file)])
}

fn reading(file: &std::path::Path) -> Recording<Event> {
    read(&fs::read(file).expect("it was written")).expect("it can be read").0
}

#[test]
fn a_demonstration_prints_one_object_with_notation_marks_and_digest() {
    let (_, report) = recorded("report");
    assert!(report["stitches"].is_array() && report["score"]["total"].is_number(), "{report}");
    assert_eq!(report["score"]["passed"], false, "holding still closes no wound");
    let criteria = report["score"]["criteria"].as_array().expect("a list");
    assert_eq!(criteria.len(), 13);
    for criterion in criteria {
        assert!(criterion["id"].is_string() && criterion["mark"].is_number() && criterion["evidence"].is_string());
    }
    assert_eq!(report["digest"].as_str().expect("a text").len(), 16);
    assert!(report["real_time_factor"].as_f64().expect("a number") > 0.0);
    assert!(report["timings"].as_array().expect("a list").iter().all(|timing| timing["wall_s"].is_number()));
}

#[test]
fn a_recording_replayed_is_verified_with_the_same_digest_and_marks() {
    let (file, report) = recorded("verified");
    let replayed = call(&["replay", path(&file), "--json"]);
    assert_eq!(replayed.code, 0, "{}{}", replayed.out, replayed.err);
    let replayed: Value = serde_json::from_str(&replayed.out).expect("exactly one object");
    assert_eq!((&replayed["verdict"], &replayed["recording"]), (&"verified".into(), &"whole".into()));
    for key in ["digest", "score", "stitches", "duration_s"] {
        assert_eq!(replayed[key], report[key], "{key}");
    }
}

#[test]
fn a_demonstration_and_its_replay_write_the_same_page_but_for_the_verdict() {
    let (first, again) = (scratch("page_demo.html"), scratch("page_replay.html"));
    let (recording, hands) = (scratch("page.attempt"), still_hands("page"));
    let demo = call(&["demo", "--hands", path(&hands), "--record", path(&recording), "--html", path(&first), "--json"]);
    let replay = call(&["replay", path(&recording), "--html", path(&again)]);
    assert_eq!((demo.code, replay.code), (0, 0), "{}{}", demo.err, replay.err);
    let [first, again] = [first, again].map(|file| fs::read_to_string(file).expect("it was written"));
    assert_eq!(faults(&first), Vec::<String>::new());
    assert_eq!(first.replace("made with this report", "verified, whole"), again);
    let nowhere = call(&["replay", path(&recording), "--html", path(&scratch("no_such_folder/page.html"))]);
    assert_eq!((nowhere.code, nowhere.err.contains("page.html")), (2, true), "{}", nowhere.err);
}

#[test]
fn a_recording_without_a_stitch_has_none_to_read_and_a_damaged_one_is_refused() {
    let (file, _) = recorded("nothing_tied");
    let read = call(&["read", path(&file)]);
    assert_eq!((read.code, read.out.starts_with("No thread runs through the tissue")), (0, true), "{}", read.err);
    let mut bytes = fs::read(&file).expect("it was written");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&file, bytes).expect("the scratch folder is writable");
    let refused = call(&["read", path(&file)]);
    assert_eq!((refused.code, refused.out.as_str()), (4, ""), "{}", refused.err);
}

#[test]
fn a_recording_keeps_what_the_hands_said_they_do_and_a_digest_for_every_second() {
    let (file, _) = recorded("kept");
    let Recording { header, ticks } = reading(&file);
    assert_eq!((header.device.as_str(), header.seed), ("hand script", 35));
    assert_eq!(ticks[0].events, [Event::Phase("Holding still".to_owned())]);
    let digests: Vec<usize> = (0..ticks.len()).filter(|&tick| ticks[tick].digest.is_some()).collect();
    assert_eq!(digests, [0, 59, ticks.len() - 1]);
    assert!(ticks.iter().all(|tick| tick.sample.is_none()), "where the thread was follows from the commands");
    assert!(ticks.last().expect("it has ticks").digest.is_some(), "the last state is vouched for");
}

#[test]
fn a_hand_moved_in_the_recording_diverges_with_code_5_at_the_next_digest() {
    let (file, _) = recorded("moved");
    let Recording { header, mut ticks } = reading(&file);
    ticks[40].command.right.tip[2] += 500;
    let mut writer = AttemptWriter::new(Vec::new(), &header).expect("memory takes it");
    ticks.into_iter().for_each(|tick| writer.push_tick(tick).expect("memory takes it"));
    fs::write(&file, writer.finish().expect("memory takes it")).expect("the scratch folder is writable");
    let replayed = replay(&file);
    assert_eq!(replayed.code, 5, "{}", replayed.out);
    assert!(replayed.out.starts_with("Verdict: diverged at tick 59 "), "{}", replayed.out);
}

#[test]
fn a_recording_graded_by_another_scenario_is_refused_with_code_5() {
    let (file, _) = recorded("other");
    let replayed = call(&["replay", path(&file), "--scenario", "scenarios/triple_first_throw.ron"]);
    assert_eq!(replayed.code, 5, "{}", replayed.out);
    assert!(replayed.out.starts_with("Verdict: wrong scenario"), "{}", replayed.out);
}

#[test]
fn a_torn_recording_is_carried_out_as_far_as_it_goes() {
    let (file, _) = recorded("torn");
    let bytes = fs::read(&file).expect("it was written");
    fs::write(&file, &bytes[..bytes.len() - 40]).expect("the scratch folder is writable");
    let replayed = replay(&file);
    assert_eq!(replayed.code, 0, "{}{}", replayed.out, replayed.err);
    assert!(replayed.out.contains("Verdict: verified\nRecording: torn"), "{}", replayed.out);
}

#[test]
fn what_cannot_be_read_gives_code_4() {
    let (file, _) = recorded("damaged");
    let mut damaged = fs::read(&file).expect("it was written");
    let middle = damaged.len() - 100;
    damaged[middle] ^= 1;
    let cases: [(&str, &[u8]); 4] =
        [("empty", b""), ("words", b"not a recording at all"), ("mark", b"KWA\x89\r\n\x1a\n"), ("flipped", &damaged)];
    for (name, bytes) in cases {
        let file = scratch(&format!("{name}.attempt"));
        fs::write(&file, bytes).expect("the scratch folder is writable");
        let replayed = replay(&file);
        assert_eq!(replayed.code, 4, "{name}: {}{}", replayed.out, replayed.err);
        assert!(!(replayed.out + &replayed.err).is_empty(), "{name}");
    }
    assert_eq!(replay(&scratch("never_written.attempt")).code, 4);
}

#[test]
fn runs_print_a_line_for_each_seed_and_the_counts_whatever_the_number_of_jobs() {
    let hands = still_hands("runs");
    let table = |jobs| {
        let arguments = ["demo", "--hands", path(&hands), "--runs", "3", "--jobs", jobs, "--tremor-mm", "0.4"];
        let table = call(&[&arguments[..], &["--seed", "7"]].concat());
        assert_eq!(table.code, 0, "{}", table.err);
        table.out
    };
    let alone = table("1");
    let lines: Vec<&str> = alone.lines().collect();
    assert_eq!(lines.len(), 6, "{alone}");
    for (line, seed) in lines[1..4].iter().zip(["7", "8", "9"]) {
        assert_eq!(line.split_whitespace().next(), Some(seed), "{alone}");
    }
    assert_eq!(lines[4], "of 3 attempts 3 completed, 0 read 2=1=1 clearly, 0 passed");
    assert!(lines[5].starts_with("of ") && lines[5].ends_with(" % ended above the solver's tolerance"), "{alone}");
    let digests: Vec<&str> = lines[1..4].iter().filter_map(|line| line.split_whitespace().nth(5)).collect();
    assert!(digests[0] != digests[1] && digests[1] != digests[2], "tremor differs with the seed: {alone}");
    assert_eq!(table("3"), alone, "the same seeds give the same attempts");
}

#[test]
fn hands_wait_as_long_as_the_script_says() {
    let hands = scratch("waits.hands");
    // Longer than any other act may last.
    fs::write(&hands, "wait for 14 s\n").expect("the scratch folder is writable");
    let demo = call(&["demo", "--hands", path(&hands), "--json"]);
    let report: Value = serde_json::from_str(&demo.out).expect("exactly one object");
    // A tick to end it.
    assert!((report["duration_s"].as_f64().expect("a number") - 14.0).abs() < 0.05, "{}", report["duration_s"]);
}

#[test]
fn a_hand_script_that_is_not_in_order_gives_code_3() {
    let hands = scratch("wrong.hands");
    fs::write(&hands, "wait for 2 mm\n").expect("the scratch folder is writable");
    let demo = call(&["demo", "--hands", path(&hands)]);
    assert_eq!(demo.code, 3);
    assert!(demo.err.contains("wrong.hands:1: for is `2 mm`, allowed 0 to 60 s"), "{}", demo.err);
}
