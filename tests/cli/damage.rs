//! Recordings that were damaged, cut off by the program's end, or that the disk did not take.

use super::attempts::recorded;
use super::{call, path, program, scratch};
use crate::slow;
use knotwright::cli::session::Event;
use knotwright::record::{Integrity, Recording, read};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;
use std::fs;
use std::process::Stdio;
use std::time::Duration;

#[test]
fn a_byte_flipped_anywhere_is_caught_and_never_gives_another_mark() {
    let (file, _) = recorded("flipped");
    let bytes = fs::read(&file).expect("it was written");
    let folder = scratch("flipped");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir(&folder).expect("the scratch folder is writable");
    let mut random = ChaCha8Rng::seed_from_u64(1000);
    for number in 0..1000 {
        let mut flipped = bytes.clone();
        // Half of them behind the header, which is the greater part of a short recording.
        let header = 44 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
        let from = if number % 2 == 0 { 0 } else { header };
        flipped[random.random_range(from..bytes.len())] ^= random.random_range(1..=255_u8);
        fs::write(folder.join(format!("{number:04}.attempt")), flipped).expect("the scratch folder is writable");
    }
    fs::copy(&file, folder.join("whole.attempt")).expect("the scratch folder is writable");
    let graded = call(&["grade", path(&folder), "--json"]);
    assert_eq!(graded.code, 5, "{}", graded.err);
    let grades: Vec<Value> = serde_json::from_str(&graded.out).expect("exactly one list");
    assert_eq!(grades.len(), 1001);
    let (whole, flipped) = grades.split_last().expect("there are some");
    assert_eq!((&whole["status"], whole["total"].is_number()), (&"verified".into(), true), "{whole}");
    for grade in flipped {
        let caught = grade["total"].is_null() && matches!(grade["status"].as_str(), Some("damaged" | "unreadable"));
        assert!(caught, "{grade}");
    }
    fs::remove_dir_all(&folder).expect("it can be removed");
}

fn reading(bytes: &[u8]) -> Option<(Recording<Event>, Integrity)> {
    read(bytes).ok()
}

#[test]
#[expect(clippy::disallowed_methods, reason = "when to kill depends on how fast this machine is")]
fn a_program_that_is_killed_leaves_every_second_that_it_had_written() {
    let hands = scratch("killed.hands");
    fs::write(&hands, "wait for 8 s\n").expect("the scratch folder is writable");
    let whole = scratch("not_killed.attempt");
    let record = |file: &std::path::Path| {
        let mut command = program();
        command.args(["demo", "--hands", path(&hands), "--record", path(file), "--json"]);
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command.spawn().expect("the program starts")
    };
    let began = std::time::Instant::now();
    assert!(record(&whole).wait().expect("it ends").success());
    let took = began.elapsed();
    let (uncut, integrity) = reading(&fs::read(&whole).expect("it was written")).expect("it can be read");
    assert_eq!((integrity, uncut.ticks.len() > 480), (Integrity::Whole, true));
    let mut torn = 0;
    for seed in 0..slow::runs([4, 50, 50]) {
        let file = scratch(&format!("killed_{seed}.attempt"));
        let _ = fs::remove_file(&file);
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut child = record(&file);
        std::thread::sleep(Duration::from_secs_f64(took.as_secs_f64() * random.random_range(0.05..0.95)));
        let before = fs::read(&file).unwrap_or_default();
        child.kill().expect("it can be killed");
        child.wait().expect("it ends");
        let after = fs::read(&file).unwrap_or_default();
        assert!(after.starts_with(&before), "seed {seed}: nothing that was written goes away");
        // Killed before it wrote anything, there is nothing to keep.
        let Some((recording, integrity)) = reading(&after) else {
            assert!(after.len() < 100, "seed {seed}: {} bytes cannot be read", after.len());
            continue;
        };
        let kept = recording.ticks.len();
        assert!(!matches!(integrity, Integrity::Damaged { .. }), "seed {seed}: {integrity}");
        assert!(kept.is_multiple_of(60) || integrity == Integrity::Whole, "seed {seed}: {kept} ticks");
        assert_eq!(recording.ticks, uncut.ticks[..kept], "seed {seed}");
        torn += usize::from(integrity != Integrity::Whole && kept > 0);
        // It can be graded as far as it goes.
        if seed < 2 && kept > 0 {
            let graded = call(&["grade", path(&file), "--json"]);
            assert_eq!(graded.code, 0, "{}{}", graded.out, graded.err);
        }
    }
    assert!(torn > 0, "some were killed on the way");
}

/// Other systems limit files in other ways.
#[cfg(target_os = "linux")]
#[test]
fn a_disk_that_is_full_is_named_in_a_line_and_what_it_took_can_be_read() {
    let hands = scratch("full.hands");
    fs::write(&hands, "wait for 1 s\n").expect("the scratch folder is writable");
    let full = call(&["demo", "--hands", path(&hands), "--record", "/dev/full", "--json"]);
    assert_eq!((full.code, full.out.as_str()), (1, ""), "{}", full.err);
    assert!(full.err.contains("the recording cannot be written: No space left on device"), "{}", full.err);
    // No file may grow beyond 8 KiB: room for the header and some seconds, in each of which much is said.
    let said: String = (0..14).map(|n| format!("say {n}{}\nwait for 1 s\n", "x".repeat(300))).collect();
    fs::write(&hands, said).expect("the scratch folder is writable");
    let file = scratch("full.attempt");
    let script = format!(
        "trap '' XFSZ; ulimit -f 8; exec {} demo --hands {} --record {} --json",
        env!("CARGO_BIN_EXE_knotwright"),
        path(&hands),
        path(&file)
    );
    let limited = std::process::Command::new("bash")
        .args(["-c", &script])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("a shell starts");
    let err = String::from_utf8_lossy(&limited.stderr);
    assert_eq!(limited.status.code(), Some(1), "{err}");
    assert!(err.contains("the recording cannot be written: ") && !err.contains("panicked"), "{err}");
    let (recording, integrity) = reading(&fs::read(&file).expect("it was written")).expect("the header is there");
    assert!(matches!(integrity, Integrity::TornAfter { .. }) && !recording.ticks.is_empty(), "{integrity}");
}

#[cfg(target_os = "linux")]
#[test]
fn results_that_no_disk_takes_are_told_and_the_recordings_stay_as_they_are() {
    let (file, _) = recorded("unwritable");
    let bytes = fs::read(&file).expect("it was written");
    for (option, place) in [("--csv", "/dev/full"), ("--csv", "/proc/marks.csv"), ("--resume", "/proc/x.findings")] {
        let graded = call(&["grade", path(&file), option, place]);
        assert_eq!(graded.code, 2, "{option} {place}: {}", graded.err);
        assert!(graded.err.contains(place), "{option} {place}: {}", graded.err);
    }
    assert_eq!(fs::read(&file).expect("it is still there"), bytes);
    let nowhere = call(&["demo", "--record", "/proc/x.attempt"]);
    assert_eq!((nowhere.code, nowhere.err.contains("/proc/x.attempt")), (2, true), "{}", nowhere.err);
}
