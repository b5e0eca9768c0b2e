//! Writes a recording as the attempt happens.

use super::block::{BLOCK_TICKS, Coder, HASH_LEN, Payload, chain_hash};
use super::header::{FORMAT, Header, scenario_hash};
use super::tick::RecordedTick;
use serde::Serialize;
use std::io::{self, Write};

/// What every recording begins with. The last four bytes show a file that was sent as text: line ends get rewritten.
pub(super) const MAGIC: [u8; 8] = *b"KWA\x89\r\n\x1a\n";

/// Writes one attempt to a sink, a block a second.
///
/// Dropping it leaves a recording without its trailer and without the second begun last, as a crash does.
#[derive(Debug)]
pub struct AttemptWriter<W, E> {
    sink: W,
    chain: [u8; HASH_LEN],
    coder: Coder,
    pending: Vec<RecordedTick<E>>,
    tick_count: u32,
    failed: bool,
}

impl<W: Write, E: Serialize> AttemptWriter<W, E> {
    /// Begins a recording: writes and flushes the header.
    ///
    /// # Errors
    /// If the sink does not take the header.
    ///
    /// # Panics
    /// If the header's format is not [`FORMAT`] or its scenario hash is not that of its scenario text.
    pub fn new(mut sink: W, header: &Header) -> io::Result<AttemptWriter<W, E>> {
        assert!(header.format == FORMAT, "format {} in a header, but this program writes {FORMAT}", header.format);
        assert!(header.scenario_hash == scenario_hash(&header.scenario_text), "the scenario's hash is not of its text");
        let json = serde_json::to_vec(header)?;
        let chain = *blake3::hash(&json).as_bytes();
        sink.write_all(&[&MAGIC, length(&json)?.as_slice(), &json, &chain].concat())?;
        sink.flush()?;
        Ok(AttemptWriter { sink, chain, coder: Coder::default(), pending: Vec::new(), tick_count: 0, failed: false })
    }

    /// Adds the next tick; every sixtieth closes a block, which is written and flushed.
    ///
    /// # Errors
    /// If the sink does not take a block. The recording then ends there: no later block is written either.
    ///
    /// # Panics
    /// If a sample has a piece of 65536 nodes or more.
    pub fn push_tick(&mut self, tick: RecordedTick<E>) -> io::Result<()> {
        self.tick_count += 1;
        self.pending.push(tick);
        if self.pending.len() < BLOCK_TICKS { Ok(()) } else { self.write_pending() }
    }

    /// Writes what is pending and the trailer, and gives the sink back.
    ///
    /// # Errors
    /// If the sink does not take it, or did not take a block before.
    pub fn finish(mut self) -> io::Result<W> {
        if !self.pending.is_empty() {
            self.write_pending()?;
        }
        self.write_block(&Payload::End { tick_count: self.tick_count })?;
        Ok(self.sink)
    }

    fn write_pending(&mut self) -> io::Result<()> {
        let ticks = std::mem::take(&mut self.pending);
        let payload = self.coder.pack(ticks);
        self.write_block(&payload)
    }

    fn write_block(&mut self, payload: &Payload<E>) -> io::Result<()> {
        // A block after one that was written in part could never be read.
        if std::mem::replace(&mut self.failed, true) {
            return Err(io::Error::other("a block of this recording could not be written before"));
        }
        let payload = postcard::to_allocvec(payload).map_err(io::Error::other)?;
        self.chain = chain_hash(self.chain, &payload);
        self.sink.write_all(&[length(&payload)?.as_slice(), &payload, &self.chain].concat())?;
        self.sink.flush()?;
        self.failed = false;
        Ok(())
    }
}

/// What checks a length: no byte of it can change alone without being noticed. A length is all that no hash stands for,
/// and a wrong one would look like the end of a recording that a crash cut off.
pub(super) fn length_check([a, b, c]: [u8; 3]) -> u8 {
    a ^ b ^ c ^ 0x5a
}

fn length(bytes: &[u8]) -> io::Result<[u8; 4]> {
    match u32::try_from(bytes.len()).map(u32::to_le_bytes) {
        Ok([a, b, c, 0]) => Ok([a, b, c, length_check([a, b, c])]),
        _ => Err(io::Error::other(format!("{} bytes in one block, allowed less than 2^24", bytes.len()))),
    }
}
