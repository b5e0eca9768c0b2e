//! One second of a recording as bytes: commands and centrelines by columns, the rest as it is.

use super::codec::{BitReader, BitWriter, CHUNK_LEN, History, decode_chunk, encode_chunk};
use super::{RecordedTick, Sample, StateDigest};
use crate::input::{HandCommand, HandEvent, TickCommand};
use serde::{Deserialize, Serialize};

/// Ticks in one block: one second.
pub(super) const BLOCK_TICKS: usize = 60;

/// Ticks of a column that are coded together: a quarter of a second, because a reach begins and ends within a second. For
/// a closure's commands 60 cost 226 bytes a second, 30 cost 200, 15 cost 185 and 10 cost 180; hands that never rest pay
/// nine bits more for each.
const RUN_TICKS: usize = 15;

/// Bytes of a BLAKE3 hash.
pub(super) const HASH_LEN: usize = 32;

/// Columns of a tick's command: three of position, four of rotation and one of the jaw for each hand.
const COLUMN_COUNT: usize = 16;

/// What a block holds. Every number beside an item is its tick's place in the block.
#[derive(Debug, Serialize, Deserialize)]
pub(super) enum Payload<E> {
    /// One second, or the rest of the last one.
    Ticks {
        tick_count: u8,
        commands: Vec<u8>,
        hand_events: Vec<(u8, HandEvent)>,
        digests: Vec<(u8, StateDigest)>,
        events: Vec<(u8, E)>,
        samples: Vec<(u8, PackedSample)>,
    },
    /// The trailer: nothing comes after it.
    End { tick_count: u32 },
}

#[derive(Debug, Serialize, Deserialize)]
pub(super) struct PackedSample {
    node_counts: Vec<u16>,
    positions: Vec<u8>,
}

/// The hash of a block, which stands for everything up to it.
pub(super) fn chain_hash(before: [u8; HASH_LEN], payload: &[u8]) -> [u8; HASH_LEN] {
    let mut hasher = blake3::Hasher::new();
    hasher.update(&before);
    hasher.update(payload);
    *hasher.finalize().as_bytes()
}

/// What the next block is told relative to. Writer and reader take it through the same blocks.
#[derive(Debug, Default)]
pub(super) struct Coder {
    columns: [History; COLUMN_COUNT],
    sample: Sample,
}

impl Coder {
    /// Packs at most [`BLOCK_TICKS`] ticks.
    pub(super) fn pack<E>(&mut self, ticks: Vec<RecordedTick<E>>) -> Payload<E> {
        let commands = self.pack_commands(&ticks);
        let (mut hand_events, mut digests, mut events, mut samples) = (vec![], vec![], vec![], vec![]);
        for (place, tick) in (0u8..).zip(&ticks) {
            hand_events.extend(tick.command.events.iter().map(|&event| (place, event)));
            digests.extend(tick.digest.map(|digest| (place, digest)));
            samples.extend(tick.sample.as_ref().map(|sample| (place, self.pack_sample(sample))));
        }
        let tick_count = u8::try_from(ticks.len()).expect("a block holds one second");
        for (place, tick) in (0u8..).zip(ticks) {
            events.extend(tick.events.into_iter().map(|event| (place, event)));
        }
        Payload::Ticks { tick_count, commands, hand_events, digests, events, samples }
    }

    fn pack_commands<E>(&mut self, ticks: &[RecordedTick<E>]) -> Vec<u8> {
        let rows: Vec<[i32; COLUMN_COUNT]> = ticks.iter().map(|tick| row(&tick.command)).collect();
        let mut bits = BitWriter::default();
        for (column, history) in self.columns.iter_mut().enumerate() {
            let values: Vec<i32> = rows.iter().map(|row| row[column]).collect();
            values.chunks(RUN_TICKS).for_each(|run| encode_chunk(&mut bits, run, history));
        }
        bits.into_bytes()
    }

    fn pack_sample(&mut self, sample: &Sample) -> PackedSample {
        let mut bits = BitWriter::default();
        let mut node_counts = Vec::new();
        for (piece, nodes) in sample.pieces.iter().enumerate() {
            let before = same_length(self.sample.pieces.get(piece), nodes.len());
            node_counts.push(u16::try_from(nodes.len()).expect("a piece of thread has fewer than 65536 nodes"));
            for axis in 0..3 {
                let moved = |node: usize| nodes[node][axis].wrapping_sub(before.map_or(0, |before| before[node][axis]));
                let values: Vec<i32> = (0..nodes.len()).map(moved).collect();
                let mut history = History::default();
                values.chunks(CHUNK_LEN).for_each(|chunk| encode_chunk(&mut bits, chunk, &mut history));
            }
        }
        self.sample = sample.clone();
        PackedSample { node_counts, positions: bits.into_bytes() }
    }

    /// Unpacks a block's ticks; the error says what in it cannot be so.
    pub(super) fn unpack<E>(&mut self, payload: Payload<E>) -> Result<Vec<RecordedTick<E>>, String> {
        let Payload::Ticks { tick_count, commands, hand_events, digests, events, samples } = payload else {
            return Ok(Vec::new());
        };
        let tick_count = usize::from(tick_count);
        if !(1..=BLOCK_TICKS).contains(&tick_count) {
            return Err(format!("the block holds {tick_count} ticks, but must hold 1 to {BLOCK_TICKS}"));
        }
        let mut ticks = self.unpack_commands(&commands, tick_count)?;
        for (place, event) in hand_events {
            at(&mut ticks, place, "hand event")?.command.events.push(event);
        }
        for (place, digest) in digests {
            put(&mut at(&mut ticks, place, "digest")?.digest, digest, "digests")?;
        }
        for (place, event) in events {
            at(&mut ticks, place, "event")?.events.push(event);
        }
        for (place, packed) in samples {
            put(&mut at(&mut ticks, place, "sample")?.sample, self.unpack_sample(&packed)?, "samples")?;
        }
        Ok(ticks)
    }

    fn unpack_commands<E>(&mut self, commands: &[u8], tick_count: usize) -> Result<Vec<RecordedTick<E>>, String> {
        let mut bits = BitReader::new(commands);
        let mut rows = vec![[0; COLUMN_COUNT]; tick_count];
        for (column, history) in self.columns.iter_mut().enumerate() {
            for run in rows.chunks_mut(RUN_TICKS) {
                let values = decode_chunk(&mut bits, run.len(), history).ok_or("the commands cannot be decoded")?;
                run.iter_mut().zip(values).for_each(|(row, value)| row[column] = value);
            }
        }
        if !bits.is_spent() {
            return Err("the commands are longer than their ticks".into());
        }
        let command = |row| command(row).ok_or_else(|| "a rotation or jaw is outside 16 bits".into());
        let tick = |command| RecordedTick { command, digest: None, events: Vec::new(), sample: None };
        rows.into_iter().map(|row| command(row).map(tick)).collect()
    }

    fn unpack_sample(&mut self, packed: &PackedSample) -> Result<Sample, String> {
        let mut bits = BitReader::new(&packed.positions);
        let mut sample = Sample::default();
        for (piece, &node_count) in packed.node_counts.iter().enumerate() {
            let node_count = usize::from(node_count);
            let before = same_length(self.sample.pieces.get(piece), node_count);
            let mut axes: [Vec<i32>; 3] = Default::default();
            for (axis, values) in axes.iter_mut().enumerate() {
                let mut history = History::default();
                while values.len() < node_count {
                    let count = CHUNK_LEN.min(node_count - values.len());
                    values.extend(decode_chunk(&mut bits, count, &mut history).ok_or("a sample cannot be decoded")?);
                }
                let before = before.into_iter().flatten();
                values.iter_mut().zip(before).for_each(|(value, before)| *value = value.wrapping_add(before[axis]));
            }
            let [x, y, z] = axes;
            sample.pieces.push((0..node_count).map(|node| [x[node], y[node], z[node]]).collect());
        }
        if !bits.is_spent() {
            return Err("a sample is longer than its nodes".into());
        }
        self.sample = sample.clone();
        Ok(sample)
    }
}

/// The piece's nodes one sample earlier, if it had as many: a piece that was cut or meshed anew starts afresh.
fn same_length(before: Option<&Vec<[i32; 3]>>, node_count: usize) -> Option<&Vec<[i32; 3]>> {
    before.filter(|before| before.len() == node_count)
}

fn at<'a, E>(ticks: &'a mut [RecordedTick<E>], place: u8, what: &str) -> Result<&'a mut RecordedTick<E>, String> {
    let tick_count = ticks.len();
    let missing = || format!("{what} at place {place} of a block of {tick_count} ticks");
    ticks.get_mut(usize::from(place)).ok_or_else(missing)
}

fn put<T>(slot: &mut Option<T>, value: T, what: &str) -> Result<(), String> {
    match slot.replace(value) {
        None => Ok(()),
        Some(_) => Err(format!("two {what} in one tick")),
    }
}

fn row(command: &TickCommand) -> [i32; COLUMN_COUNT] {
    let hand = |hand: &HandCommand| {
        let [x, y, z] = hand.tip;
        let [qx, qy, qz, qw] = hand.rotation.map(i32::from);
        [x, y, z, qx, qy, qz, qw, i32::from(hand.jaw)]
    };
    let mut row = [0; COLUMN_COUNT];
    row[..8].copy_from_slice(&hand(&command.right));
    row[8..].copy_from_slice(&hand(&command.left));
    row
}

fn command(row: [i32; COLUMN_COUNT]) -> Option<TickCommand> {
    let hand = |hand: &[i32]| {
        let component = |column: usize| i16::try_from(hand[column]).ok();
        Some(HandCommand {
            tip: [hand[0], hand[1], hand[2]],
            rotation: [component(3)?, component(4)?, component(5)?, component(6)?],
            jaw: u16::try_from(hand[7]).ok()?,
        })
    };
    Some(TickCommand { right: hand(&row[..8])?, left: hand(&row[8..])?, events: Vec::new() })
}
