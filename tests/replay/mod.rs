//! Recordings: what goes in comes out, and whatever happened to the bytes is noticed.

mod digest;
mod integrity;
mod round_trip;
mod size;
mod verdict;

use knotwright::input::{HandCommand, HandEvent, TickCommand};
use knotwright::math::{DVec3, Pose, rotation, sin};
use knotwright::quantity::{TICKS_PER_SECOND, Tick};
use knotwright::record::{AttemptWriter, Digest, FORMAT, Header, RecordedTick, Sample, digest_due, scenario_hash};
use knotwright::tooth::Tooth;
use serde::{Deserialize, Serialize};

/// Stands for what a simulation reports: a recording takes any type.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
enum Event {
    Pierced { at: [i32; 3] },
    Dropped(String),
}

fn header() -> Header {
    let scenario_text = "(name: \"one stitch\", pass_mark: 0.6)";
    Header {
        format: FORMAT,
        program_version: "0.1.0".into(),
        simulation_version: 7,
        scenario_name: "one stitch".into(),
        scenario_hash: scenario_hash(scenario_text),
        scenario_text: scenario_text.into(),
        seed: 42,
        ticks_per_second: TICKS_PER_SECOND,
        device: "mouse".into(),
        aids: vec!["ghost hands".into()],
        student_key: "k-0817".into(),
    }
}

/// An attempt in which everything that can be recorded occurs.
fn attempt(tick_count: u32) -> Vec<RecordedTick<Event>> {
    let mut digest = Digest::new();
    (0..tick_count).map(|tick| recorded_tick(tick, tick_count, &mut digest)).collect()
}

fn recorded_tick(tick: u32, tick_count: u32, digest: &mut Digest) -> RecordedTick<Event> {
    let time = Tick(tick).seconds();
    let tip = DVec3::new(20.0 * sin(3.0 * time), 15.0 * sin(2.0 * time), 8.0);
    let right = Pose { position: tip, rotation: rotation(DVec3::Y, 0.6 * sin(time)) };
    let left = Pose { position: DVec3::new(-10.0, 4.0, 12.0), rotation: rotation(DVec3::X, 0.3) };
    let cut = HandEvent::Cut { at: [1000, -2000, i32::from(i16::MAX)] };
    let mark = |tooth| HandEvent::Mark { tooth: Tooth::try_from(tooth).ok() };
    let hand_events = [
        (tick == 0, mark(45)),
        (tick == 3, mark(0)),
        (tick == 7, cut),
        (tick == 7, cut),
        (tick + 1 == tick_count, HandEvent::Finish),
    ];
    let events = [(tick == 61, Event::Pierced { at: [0, -1, 2] }), (tick % 50 == 49, Event::Dropped("needle".into()))];
    // The piece grows by a node halfway, as a mesh does, and a second piece appears when the first is cut.
    let nodes = |count: u32| (0..count).map(|n| tip + f64::from(n) * DVec3::new(0.6, 0.1, -0.2)).collect::<Vec<_>>();
    let (long, short) = (nodes(70 + u32::from(tick > 40)), nodes(3));
    let pieces: &[&[DVec3]] = if tick > 90 { &[&long, &short] } else { &[&long] };
    digest.add(Tick(tick), &[&tip.to_array(), &[time]]).expect("no NaN");
    RecordedTick {
        command: TickCommand {
            right: HandCommand::new(right, 0.5 + 0.5 * sin(time)),
            left: HandCommand::new(left, if tick > 30 { 0.0 } else { 1.0 }),
            events: hand_events.into_iter().filter_map(|(happens, event)| happens.then_some(event)).collect(),
        },
        digest: (digest_due(Tick(tick)) || tick + 1 == tick_count).then(|| digest.value()),
        events: events.into_iter().filter_map(|(happens, event)| happens.then_some(event)).collect(),
        sample: tick.is_multiple_of(6).then(|| Sample::new(pieces)),
    }
}

/// The bytes of a whole recording.
fn written(ticks: &[RecordedTick<Event>]) -> Vec<u8> {
    let mut writer = AttemptWriter::new(Vec::new(), &header()).expect("memory takes everything");
    ticks.iter().for_each(|tick| writer.push_tick(tick.clone()).expect("memory takes everything"));
    writer.finish().expect("memory takes everything")
}
