//! Crashes, faulty disks and edits: noticed, told apart and located, without a panic.

use super::{Event, attempt, header, written};
use knotwright::quantity::Tick;
use knotwright::record::{AttemptWriter, Header, Integrity, ReadError, Recording, read};
use std::io::{self, Write};

fn read_blocks(bytes: &[u8]) -> (Recording<Event>, Integrity) {
    read(bytes).expect("a good header")
}

/// A content with its length and the length's check before it and its hash after it.
fn frame(content: &[u8], hash: blake3::Hash) -> Vec<u8> {
    let [a, b, c, _] = u32::try_from(content.len()).expect("short").to_le_bytes();
    [&[a, b, c, a ^ b ^ c ^ 0x5a], content, hash.as_bytes()].concat()
}

/// Where each frame of a recording (header, blocks, trailer) ends.
fn frame_ends(bytes: &[u8]) -> Vec<usize> {
    let mut ends = Vec::new();
    let mut end = 8;
    while let Some(length) = bytes.get(end..end + 4) {
        end += 4 + u32::from_le_bytes([length[0], length[1], length[2], 0]) as usize + 32;
        ends.push(end);
    }
    ends
}

/// The start of a recording whose header says anything.
fn with_header(json: &str) -> Vec<u8> {
    [&written(&[])[..8], &frame(json.as_bytes(), blake3::hash(json.as_bytes()))].concat()
}

#[test]
fn a_recording_cut_anywhere_is_torn_and_keeps_every_whole_second() {
    let ticks = attempt(200);
    let bytes = written(&ticks);
    let ends = frame_ends(&bytes);
    for len in 0..bytes.len() {
        let blocks = ends.iter().filter(|&&end| end <= len).count();
        match read::<Event>(&bytes[..len]) {
            Err(ReadError::NotARecording) => assert_eq!(len, 0),
            Err(ReadError::HeaderTorn { len: said }) => assert_eq!((blocks, said), (0, len)),
            Err(other) => panic!("cut at {len}: {other}"),
            Ok((recording, integrity)) => {
                let kept = ticks.len().min(60 * (blocks - 1));
                assert_eq!(
                    integrity,
                    Integrity::TornAfter { tick: Tick(u32::try_from(kept).expect("few")) },
                    "cut at {len}"
                );
                assert_eq!(recording.ticks, ticks[..kept], "cut at {len}");
            }
        }
    }
}

#[test]
fn a_changed_byte_anywhere_is_noticed_and_nothing_wrong_is_read() {
    let ticks = attempt(130);
    let bytes = written(&ticks);
    for place in 0..bytes.len() {
        for change in [0x01, 0x80, 0xff] {
            let mut changed = bytes.clone();
            changed[place] ^= change;
            if let Ok((recording, integrity)) = read::<Event>(&changed) {
                // Not torn either: what a crash cut off is marked as far as it goes, and this must not be.
                assert!(
                    matches!(integrity, Integrity::Damaged { .. }),
                    "byte {place} changed by {change:#x}: {integrity}"
                );
                assert_eq!(recording.header, header(), "byte {place} changed by {change:#x}");
                assert_eq!(recording.ticks, ticks[..recording.ticks.len()], "byte {place} changed by {change:#x}");
            }
        }
    }
}

#[test]
fn damage_is_located() {
    let ticks = attempt(200);
    let bytes = written(&ticks);
    let ends = frame_ends(&bytes);
    let mut changed = bytes.clone();
    changed[ends[1] + 10] ^= 1;
    let (recording, integrity) = read_blocks(&changed);
    assert_eq!(recording.ticks, ticks[..60]);
    assert_eq!(integrity.to_string(), "damaged in block 1, from tick 60 (1.0 s) on: its bytes do not match its hash");
}

#[test]
fn blocks_cannot_be_left_out_swapped_repeated_or_taken_from_another_attempt() {
    let bytes = written(&attempt(200));
    let ends = frame_ends(&bytes);
    let part = |n: usize| &bytes[ends[n - 1]..ends[n]];
    let start = &bytes[..ends[0]];
    let other = written(&attempt(201)[1..]);
    let cases = [
        ("left out", [start, part(1), part(3), part(4), part(5)].concat(), 1),
        ("swapped", [start, part(2), part(1), part(3), part(4), part(5)].concat(), 0),
        ("repeated", [start, part(1), part(1), part(2), part(3), part(4), part(5)].concat(), 1),
        ("last one taken from another", [&bytes[..ends[3]], &other[frame_ends(&other)[3]..]].concat(), 3),
        ("trailer moved up", [start, part(1), part(2), part(5)].concat(), 2),
        ("something after the trailer", [&bytes, part(1)].concat(), 4),
    ];
    for (name, changed, expected) in cases {
        let (_, integrity) = read_blocks(&changed);
        assert!(matches!(integrity, Integrity::Damaged { block, .. } if block == expected), "{name}: {integrity}");
    }
}

/// A recording of these payloads with right hashes around them.
fn with_payloads(payloads: &[&[u8]]) -> Vec<u8> {
    let mut bytes = written(&[]);
    bytes.truncate(frame_ends(&bytes)[0]);
    for payload in payloads {
        let before = &bytes[bytes.len() - 32..];
        let hash = blake3::hash(&[before, payload].concat());
        bytes.extend(frame(payload, hash));
    }
    bytes
}

/// The payload of a block with this many ticks in which every column of the commands stays as it was.
fn still(tick_count: u8) -> Vec<u8> {
    // As postcard writes it: variant 0, tick count, commands, then no hand events, digests, events and samples. Commands
    // here: a bit 0, it stays as it was, for each column and each 15 ticks.
    let bytes = (16 * tick_count.div_ceil(15)).div_ceil(8);
    [&[0, tick_count, bytes], vec![0; usize::from(bytes)].as_slice(), &[0, 0, 0, 0]].concat()
}

#[test]
fn a_block_with_right_hashes_around_nonsense_is_damaged() {
    let last = |changed: &[u8]| [&still(1)[..5], changed].concat();
    let end = |tick_count: u8| vec![1, tick_count];
    let cases: [(&str, &[Vec<u8>]); 15] = [
        ("empty", &[vec![]]),
        ("no such variant", &[vec![2]]),
        ("no tick", &[still(0)]),
        ("61 ticks", &[still(61)]),
        ("no commands", &[vec![0, 60, 0, 0, 0, 0, 0]]),
        ("commands of another predictor", &[vec![0, 1, 2, 5 << 1 | 1, 0, 0, 0, 0, 0]]),
        ("a length of 2^32 - 1", &[vec![0, 60, 0xff, 0xff, 0xff, 0xff, 0x0f]]),
        ("a hand event in no tick of the block", &[last(&[1, 1, 1, 0, 0, 0])]),
        ("a digest in no tick of the block", &[last(&[0, 1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0])]),
        ("two samples in one tick", &[last(&[0, 0, 0, 2, 0, 0, 0, 0, 0, 0])]),
        ("a sample of 65535 nodes out of no bytes", &[last(&[0, 0, 0, 1, 0, 1, 0xff, 0xff, 0x03, 0])]),
        ("a sample with a byte too many", &[last(&[0, 0, 0, 1, 0, 0, 1, 0])]),
        ("a byte after the block", &[last(&[0, 0, 0, 0, 0])]),
        ("a trailer of another number of ticks", &[end(60)]),
        ("a trailer with more after it", &[vec![1, 0, 0]]),
    ];
    for (name, payloads) in cases {
        let payloads: Vec<&[u8]> = payloads.iter().map(Vec::as_slice).collect();
        let (recording, integrity) = read_blocks(&with_payloads(&payloads));
        assert!(matches!(integrity, Integrity::Damaged { block: 0, tick: Tick(0), .. }), "{name}: {integrity}");
        assert!(recording.ticks.is_empty(), "{name}");
    }
    // A second has sixty ticks, but for the last one.
    let (_, integrity) = read_blocks(&with_payloads(&[&still(60), &still(59), &still(1), &end(120)]));
    assert!(matches!(integrity, Integrity::Damaged { block: 2, tick: Tick(119), .. }), "{integrity}");
    // And what is made here is read where nothing is wrong with it.
    let (recording, integrity) = read_blocks(&with_payloads(&[&still(60), &still(59), &end(119)]));
    assert_eq!((recording.ticks.len(), integrity), (119, Integrity::Whole));
}

#[test]
fn an_event_type_that_is_not_the_recorded_one_is_damage_not_a_panic() {
    let (recording, integrity) = read::<[u64; 4]>(&written(&attempt(70))).expect("a good header");
    assert!(recording.ticks.is_empty());
    assert!(matches!(integrity, Integrity::Damaged { block: 0, .. }), "{integrity}");
}

#[test]
fn a_crash_loses_at_most_the_last_second() {
    /// Notes how much was safe whenever the writer flushed.
    struct Disk<'a>(&'a mut Vec<u8>, &'a mut usize);
    impl Write for Disk<'_> {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.write(bytes)
        }
        fn flush(&mut self) -> io::Result<()> {
            *self.1 = self.0.len();
            Ok(())
        }
    }
    let ticks = attempt(179);
    let (mut disk, mut safe) = (Vec::new(), 0);
    let mut writer = AttemptWriter::new(Disk(&mut disk, &mut safe), &header()).expect("room");
    ticks.iter().for_each(|tick| writer.push_tick(tick.clone()).expect("room"));
    drop(writer);
    let (recording, integrity) = read_blocks(&disk[..safe]);
    assert_eq!(integrity.to_string(), "torn: ends before its trailer, after 120 ticks (2.0 s)");
    assert_eq!(recording.ticks, ticks[..120]);
}

#[test]
fn a_block_that_could_not_be_written_is_told_and_ends_the_recording() {
    /// Fails once, in the middle of a write, when it holds so many bytes.
    struct Faulty<'a>(&'a mut Vec<u8>, Option<usize>);
    impl Write for Faulty<'_> {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            let room = self.1.map_or(usize::MAX, |room| room - self.0.len());
            if room == 0 {
                self.1 = None;
                return Err(io::ErrorKind::StorageFull.into());
            }
            self.0.write(&bytes[..room.min(bytes.len())])
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }
    let ticks = attempt(200);
    let room = frame_ends(&written(&ticks))[1] + 5;
    let mut disk = Vec::new();
    let mut writer = AttemptWriter::new(Faulty(&mut disk, Some(room)), &header()).expect("room for the header");
    let failures = ticks.iter().filter(|tick| writer.push_tick((*tick).clone()).is_err()).count();
    assert_eq!(failures, 2, "neither the second second nor the third");
    assert!(writer.finish().is_err());
    assert_eq!(disk.len(), room);
    assert_eq!(read_blocks(&disk).1, Integrity::TornAfter { tick: Tick(60) });
}

#[test]
fn a_newer_format_is_refused_by_name() {
    let json = serde_json::to_string(&header()).expect("plain data").replace("\"format\":2", "\"format\":3");
    let error = read::<Event>(&with_header(&json)).expect_err("a newer format");
    assert_eq!(
        error.to_string(),
        "the recording has format 3, but this program reads formats up to 2: \
         read it with the program that recorded it or a newer one (it was recorded by version 0.1.0)"
    );
    // A newer header may lack what this one has.
    let error = read::<Event>(&with_header("{\"format\":9}")).expect_err("a newer format");
    assert_eq!(error, ReadError::NewerFormat { found: 9, newest: 2, program_version: None });
}

#[test]
fn an_older_format_is_refused_by_name() {
    let json = serde_json::to_string(&header()).expect("plain data").replace("\"format\":2", "\"format\":1");
    let error = read::<Event>(&with_header(&json)).expect_err("an older format");
    assert_eq!(
        error.to_string(),
        "the recording has format 1, but this program reads format 2: \
         read it with the program that recorded it (it was recorded by version 0.1.0)"
    );
}

#[test]
fn a_header_that_contradicts_itself_is_damaged() {
    let other_text = Header { scenario_text: "(pass_mark: 0.1)".into(), ..header() };
    let other_text = serde_json::to_string(&other_text).expect("plain data");
    let cases = ["", "[]", "{\"format\":2}", "{\"format\":-1}", &"[".repeat(10_000), &other_text];
    for json in cases {
        let error = read::<Event>(&with_header(json)).expect_err("a bad header");
        assert!(matches!(error, ReadError::HeaderDamaged { .. }), "{json}: {error}");
    }
}

#[test]
fn what_is_no_recording_is_said_to_be_none() {
    for bytes in [&b""[..], b"PK\x03\x04", b"KWA\x89\n\x1a\n", &[0; 4096]] {
        assert_eq!(read::<Event>(bytes).expect_err("no recording"), ReadError::NotARecording);
    }
}
