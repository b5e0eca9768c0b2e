//! What is written is what is read.

use super::{Event, attempt, header, written};
use knotwright::input::{HandCommand, HandEvent, TickCommand};
use knotwright::quantity::Tick;
use knotwright::record::{Integrity, RecordedTick, digest_due, read};
use knotwright::tooth::Tooth;

#[test]
fn a_recording_reads_back_as_it_was_written() {
    // Nothing, one tick, one second less a tick, a second, a second and a tick, and several seconds.
    for tick_count in [0, 1, 59, 60, 61, 200] {
        let ticks = attempt(tick_count);
        let (recording, integrity) = read::<Event>(&written(&ticks)).expect("a good header");
        assert_eq!(integrity, Integrity::Whole, "{tick_count} ticks");
        assert_eq!(recording.header, header());
        assert_eq!(recording.ticks, ticks, "{tick_count} ticks");
    }
}

#[test]
fn commands_at_the_ends_of_their_ranges_come_back() {
    let hand = |tip, rotation, jaw| HandCommand { tip: [tip; 3], rotation: [rotation; 4], jaw };
    let least = hand(i32::MIN, i16::MIN, 0);
    let most = hand(i32::MAX, i16::MAX, u16::MAX);
    let tick = |right, left| RecordedTick {
        command: TickCommand { right, left, events: Vec::new() },
        digest: None,
        events: Vec::new(),
        sample: None,
    };
    let ticks: Vec<_> = (0..70).map(|n| if n % 2 == 0 { tick(least, most) } else { tick(most, least) }).collect();
    let (recording, integrity) = read::<Event>(&written(&ticks)).expect("a good header");
    assert_eq!((recording.ticks, integrity), (ticks, Integrity::Whole));
}

#[test]
fn digests_are_listed_with_their_ticks() {
    let (recording, _) = read::<Event>(&written(&attempt(100))).expect("a good header");
    let ticks: Vec<Tick> = recording.digests().into_iter().map(|(tick, _)| tick).collect();
    assert_eq!(ticks, [0, 59, 99].map(Tick));
    assert!(!digest_due(Tick(99)), "the last one is beyond what is due");
}

#[test]
#[should_panic(expected = "the scenario's hash is not of its text")]
fn a_header_with_a_foreign_hash_is_not_written() {
    let mut header = header();
    header.scenario_text.push(' ');
    let _ = knotwright::record::AttemptWriter::<_, Event>::new(Vec::new(), &header);
}

/// The numbers of events in recordings that were made before teeth could be marked, by hand from the list of then.
#[test]
fn an_event_is_stored_by_its_place_so_that_older_recordings_still_read() {
    let tooth = |number: u8| HandEvent::Mark { tooth: Tooth::try_from(number).ok() };
    let cases: [(&[u8], HandEvent); 6] = [
        // Whole numbers go zigzag: 1, -1 and 0 are 2, 1 and 0.
        (&[0, 2, 1, 0], HandEvent::Cut { at: [1, -1, 0] }),
        (&[1], HandEvent::Finish),
        (&[2], HandEvent::Arm),
        (&[3, 1, 35], tooth(35)),
        (&[3, 0], tooth(0)),
        (&[4], HandEvent::Mirror),
    ];
    for (bytes, event) in cases {
        assert_eq!(postcard::from_bytes::<HandEvent>(bytes), Ok(event));
        assert_eq!(postcard::to_allocvec(&event).as_deref(), Ok(bytes));
    }
    assert!(postcard::from_bytes::<HandEvent>(&[3, 1, 39]).is_err(), "there is no tooth 39");
}
