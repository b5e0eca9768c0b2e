//! What the window is opened on, driven as the window drives it.

use super::{Bench, Desk, Projector};
use crate::app::words::Language::{self, English};
use crate::app::words::Text;
use crate::app::{Stage, ToPull};
use crate::cli::keep::Folder;
use crate::cli::session::Event;
use crate::cli::{Case, run};
use crate::input::script::{Script, parse};
use crate::input::{HandEvent, TickCommand};
use crate::pull::Tabled;
use crate::report::ReadStitch;
use crate::scenario::schema::Scenario;
use crate::simulation::snapshot::Snapshot;
use std::ffi::OsString;
use std::path::PathBuf;
use std::thread::sleep;
use std::time::Duration;

fn case() -> Case {
    Case::read("first_stitch.ron", include_str!("../../../scenarios/first_stitch.ron")).expect("it is shipped")
}

/// The demonstration.
fn script() -> Script {
    let text = include_str!("../../../scenarios/hands/first_stitch.hands");
    parse("first_stitch.hands", text).expect("it is shipped")
}

fn place(name: &str) -> PathBuf {
    let place = std::env::temp_dir().join(format!("knotwright-stage-{name}-{}", std::process::id()));
    drop(std::fs::remove_dir_all(&place));
    place
}

fn folder(name: &str) -> Folder {
    Folder::of(Some(&place(name)), |_| None).expect("a folder for passing files can be made")
}

/// The same folder as it is by now.
fn folder_there(name: &str) -> Folder {
    Folder::of(Some(&place_of(name)), |_| None).expect("it is there")
}

/// Ticks until something is there.
fn until<T>(stage: &mut dyn Stage, what: impl Fn(&dyn Stage) -> Option<T>) -> T {
    loop {
        stage.tick(None);
        stage.frames();
        if let Some(found) = what(stage) {
            return found;
        }
        sleep(Duration::from_millis(5));
    }
}

fn with(stage: &dyn Stage, event: HandEvent) -> TickCommand {
    TickCommand { events: vec![event], ..stage.current_command() }
}

/// What the window says in English; empty if nothing.
fn worded(text: Option<Text>) -> String {
    text.map(|text| English.word(&text)).unwrap_or_default()
}

#[test]
fn handing_in_does_not_stop_the_window_and_ends_in_marks_and_knots_to_pull() {
    let mut desk = Desk::new(case(), script(), Err("it is a test".to_owned()), None).expect("it can begin");
    assert_eq!(worded(desk.refused()), "Attempts are not kept: it is a test");
    // Needle and thread go through both flaps in that time.
    (0..480).for_each(|_| desk.tick(None));
    let before = desk.snapshot();
    let finish = with(&desk, HandEvent::Finish);
    desk.tick(Some(&finish));
    assert_eq!(worded(desk.busy()), "The attempt is being marked …");
    let score = until(&mut desk, |desk| desk.finished());
    assert!(!score.passed, "{score:?}");
    assert_eq!(desk.busy(), None);
    assert_eq!(desk.snapshot().tick.0, before.tick.0 + 1, "it stays as it ended");
    let measured = desk.measured().expect("it is there with the marks");
    assert_eq!(measured.findings.stitches[0].bites.len(), 2);
    let (last, _) = *measured.tension.last().expect("numbers were noted");
    assert!(desk.snapshot().tick.seconds() - last < 0.1, "they go to the end, ten a second: {last}");
    assert!(measured.knots().next().is_none() && !measured.site.holes.is_empty());
    // Its thread runs through the gum, and nothing is tied.
    assert!(matches!(&desk.to_pull()[..], [ToPull::Stitch(_)]));
}

#[test]
fn the_hands_beside_ones_own_are_those_of_the_cases_demonstration_whatever_script_plays() {
    let fault =
        parse("fault.hands", include_str!("../../../scenarios/hands/fault_granny.hands")).expect("it is shipped");
    let mut desk = Desk::new(case(), fault, Err(String::new()), None).expect("it can begin");
    let beside = desk.demonstration().expect("it is shipped");
    let mut played = Desk::new(case(), script(), Err(String::new()), None).expect("it can begin");
    for frame in beside.iter().take(20) {
        while played.snapshot().tick < frame.tick {
            played.tick(None);
        }
        let own = played.snapshot();
        assert_eq!((own.tick, &own.readout.phase), (frame.tick, &frame.readout.phase));
        assert_eq!(own.tools, frame.tools);
    }
    assert_eq!(desk.snapshot().tick.0, 0, "the attempt itself waits");
}

#[test]
fn ones_own_attempts_at_a_case_are_kept_with_what_was_measured_and_shown_with_the_next() {
    let mut desk = Desk::new(case(), script(), Ok(folder("past")), None).expect("it can begin");
    let mut totals = Vec::new();
    for seconds in [1, 2] {
        (0..60 * seconds).for_each(|_| desk.tick(None));
        let finish = with(&desk, HandEvent::Finish);
        desk.tick(Some(&finish));
        totals.push(until(&mut desk, |desk| desk.finished()).total);
        assert_eq!(worded(desk.refused()), "");
        let past = desk.measured().expect("it is there with the marks").past;
        assert_eq!(past.iter().map(|attempt| attempt.total).collect::<Vec<_>>(), totals);
        assert!(desk.begin_anew());
    }
    // One more is under way.
    assert_eq!([kept_in("past", "attempt").len(), kept_in("past", "findings").len()], [3, 2]);
    let other = case();
    let other = Case { scenario: Scenario { title: "Another".to_owned(), ..other.scenario.clone() }, ..other };
    assert_eq!(folder_there("past").past(&other).map(|past| past.len()).ok(), Some(0), "each case has its own");
    // A script's own playing is nobody's attempt.
    (0..60).for_each(|_| desk.tick(None));
    assert!(desk.begin_anew());
    assert_eq!(kept_in("past", "findings").len(), 2);
}

#[test]
fn a_hand_that_gets_nothing_is_told_why_once() {
    let mut desk = Desk::new(case(), script(), Err(String::new()), None).expect("it can begin");
    desk.refused();
    for (event, said) in [
        (HandEvent::Cut { at: [40_000, 0, 40_000] }, "Nothing is cut: no thread is within 3 mm of the blades"),
        (HandEvent::Arm, "The needle is not set: "),
    ] {
        (0..60).for_each(|_| desk.tick(None));
        let command = with(&desk, event);
        desk.tick(Some(&command));
        let refused = worded(desk.refused());
        assert!(refused.starts_with(said), "{refused}");
        assert_eq!(desk.refused(), None);
    }
}

#[test]
fn the_language_that_was_chosen_last_is_remembered() {
    let kept = folder("language");
    let mut desk = Desk::new(case(), script(), Ok(kept.clone()), None).expect("it can begin");
    for language in Language::ALL {
        desk.remember_language(language.code());
        assert_eq!(kept.language().as_deref().and_then(Language::coded), Some(language));
    }
    assert_eq!(desk.refused(), None);
    let mut nowhere = Desk::new(case(), script(), Err(String::new()), None).expect("it can begin");
    nowhere.refused();
    nowhere.remember_language("de");
    assert_eq!(nowhere.refused(), None, "that nothing is kept was said before");
}

#[test]
fn an_attempt_broken_off_is_gone_on_with_from_the_state_it_was_in() {
    let kept = folder("resume");
    let mut desk = Desk::new(case(), script(), Ok(kept.clone()), None).expect("it can begin");
    (0..60).for_each(|_| desk.tick(None));
    let still = desk.current_command();
    (0..60).for_each(|_| desk.tick(Some(&still)));
    let left = desk.snapshot();
    // Killed: nothing is closed, only its locks are gone.
    drop(desk);
    let offer = kept.broken_off().expect("it is on the disk");
    let mut desk = Desk::new(case(), script(), Ok(kept.clone()), Some(offer)).expect("it can begin");
    assert!(worded(desk.offer()).contains("after 2 s"), "{:?}", desk.offer());
    desk.answer(true);
    assert!(desk.offer().is_none() && desk.busy().is_some());
    until(&mut desk, |desk| desk.waits_for_hands().then_some(()));
    assert_eq!(Snapshot { readout: left.readout.clone(), ..desk.snapshot() }, left);
    assert!(kept.broken_off().is_none(), "it lives on in the file of this window");
    let finish = with(&desk, HandEvent::Finish);
    desk.tick(Some(&finish));
    until(&mut desk, |desk| desk.finished());
    let attempts = kept_in("resume", "attempt");
    let [attempt] = &attempts[..] else { panic!("{attempts:?}") };
    assert_eq!(replay(attempt), 0, "what was gone on with is one recording, and verified");
}

#[test]
fn attempts_in_a_mirrored_field_say_so_in_their_first_tick() {
    let mut desk = Desk::new(case(), script(), Ok(folder("mirror")), None).expect("it can begin");
    desk.mirror();
    for again in [true, false] {
        desk.tick(None);
        let finish = with(&desk, HandEvent::Finish);
        desk.tick(Some(&finish));
        until(&mut desk, |desk| desk.finished());
        assert!(!again || desk.begin_anew());
    }
    let attempts = kept_in("mirror", "attempt");
    assert_eq!(attempts.len(), 2);
    for attempt in attempts {
        let bytes = std::fs::read(&attempt).expect("it can be read");
        let (recording, _) = crate::record::read::<Event>(&bytes).expect("it is a recording");
        let events: Vec<_> = recording.ticks.iter().map(|tick| &tick.command.events[..]).collect();
        // The script marks its site at once.
        let site = HandEvent::Mark { tooth: Some(case().scenario.site.lost_tooth()) };
        assert_eq!(events, [&[HandEvent::Mirror, site][..], &[HandEvent::Finish]]);
        assert_eq!(replay(&attempt), 0, "it is verified");
    }
}

fn place_of(name: &str) -> PathBuf {
    std::env::temp_dir().join(format!("knotwright-stage-{name}-{}", std::process::id()))
}

/// Files of a folder with this ending.
fn kept_in(name: &str, ending: &str) -> Vec<PathBuf> {
    let all = std::fs::read_dir(place_of(name)).expect("it is there").flatten().map(|entry| entry.path());
    all.filter(|path| path.extension().is_some_and(|found| found == ending)).collect()
}

fn replay(attempt: &std::path::Path) -> u8 {
    let arguments = ["knotwright", "replay"].map(OsString::from).into_iter().chain([attempt.as_os_str().to_owned()]);
    run(arguments)
}

#[test]
fn a_recording_gives_its_frames_in_order_and_then_its_verdict_and_marks() {
    let kept = folder("project");
    let mut desk = Desk::new(case(), script(), Ok(kept), None).expect("it can begin");
    (0..61).for_each(|_| desk.tick(None));
    let finish = with(&desk, HandEvent::Finish);
    desk.tick(Some(&finish));
    let score = until(&mut desk, |desk| desk.finished());
    let end = desk.snapshot();
    let attempts = kept_in("project", "attempt");
    let mut projector = Projector::open(&attempts[0]).expect("it can be read");
    let mut frames = Vec::new();
    while projector.finished().is_none() {
        frames.extend(projector.frames());
        sleep(Duration::from_millis(5));
    }
    assert_eq!(projector.finished(), Some(score));
    assert!(frames.windows(2).all(|pair| pair[0].tick < pair[1].tick));
    let last = frames.last().expect("there are some");
    assert_eq!((last.tick, &last.strands), (end.tick, &end.strands));
    assert!(frames.iter().any(|frame| !frame.readout.phase.is_empty()), "the script's words are there");
    let recording = projector.recording().expect("it is one");
    assert_eq!((recording.end, worded(Some(recording.note)).as_str()), (62, "Recording: verified; whole"));
}

#[test]
fn a_knot_on_the_bench_rests_on_it_and_can_be_pulled_once_its_thread_is_named() {
    let points = (0..30).map(|k| crate::math::DVec3::new(f64::from(k), 2.0, f64::from(k % 5) - 7.0)).collect();
    let curve = crate::analysis::reading::StitchCurve { points, loop_start: 10, loop_end: 20 };
    let stitch = ReadStitch::of("1".to_owned(), curve);
    let knot = Tabled::new(stitch.curve.clone(), &stitch.reading, None);
    let mut unnamed = Bench::new((stitch.clone(), knot.clone()), None);
    let strand = &unnamed.snapshot().strands[0];
    let lowest = strand.iter().map(|point| point.z).fold(f64::INFINITY, f64::min);
    assert!((lowest - unnamed.snapshot().thread_radius).abs() < 1e-12, "{lowest}");
    assert!(
        matches!(&unnamed.to_pull()[..], [ToPull::Nothing { why, .. }] if English.word(why).contains("--material"))
    );
    let silk = crate::material::find("silk", "4-0", true);
    assert!(matches!(&Bench::new((stitch, knot), silk).to_pull()[..], [ToPull::Table { .. }]));
}
