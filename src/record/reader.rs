//! Reads a recording back, as far as it can be trusted, and says how far that is.

use super::block::{BLOCK_TICKS, Coder, HASH_LEN, Payload, chain_hash};
use super::digest::StateDigest;
use super::header::{FORMAT, Header, scenario_hash};
use super::tick::RecordedTick;
use super::writer::{MAGIC, length_check};
use crate::quantity::Tick;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::fmt;
use thiserror::Error;

/// An attempt, read back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recording<E> {
    /// What the attempt was.
    pub header: Header,
    /// Every tick that could be read, from tick 0 on.
    pub ticks: Vec<RecordedTick<E>>,
}

impl<E> Recording<E> {
    /// The digests it holds, each with the tick after which it was taken.
    #[must_use]
    pub fn digests(&self) -> Vec<(Tick, StateDigest)> {
        (0..).map(Tick).zip(&self.ticks).filter_map(|(tick, recorded)| Some((tick, recorded.digest?))).collect()
    }
}

/// How much of a recording's bytes is as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Integrity {
    /// All of it, to the trailer.
    Whole,
    /// It ends before its trailer, as after a crash: all ticks before `tick` are there and as they were written.
    TornAfter {
        /// The first tick that is missing.
        tick: Tick,
    },
    /// A block is not as it was written; neither it nor anything after it was read.
    Damaged {
        /// Place of the block, from 0.
        block: u32,
        /// The first tick that was not read.
        tick: Tick,
        /// What is wrong with it.
        why: String,
    },
}

impl fmt::Display for Integrity {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Integrity::Whole => write!(f, "whole"),
            Integrity::TornAfter { tick } => {
                write!(f, "torn: ends before its trailer, after {} ticks ({:.1} s)", tick.0, tick.seconds())
            }
            Integrity::Damaged { block, tick, why } => {
                write!(f, "damaged in block {block}, from tick {} ({:.1} s) on: {why}", tick.0, tick.seconds())
            }
        }
    }
}

/// Why nothing of a recording can be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ReadError {
    /// It does not begin as recordings do.
    #[error("not a recording of an attempt: it does not begin with the mark that every recording begins with")]
    NotARecording,
    /// It ends inside the header.
    #[error("the recording ends inside its header, after {len} bytes")]
    HeaderTorn {
        /// Bytes there are.
        len: usize,
    },
    /// The header is not as it was written.
    #[error("the recording's header is damaged: {why}")]
    HeaderDamaged {
        /// What is wrong with it.
        why: String,
    },
    /// An older program wrote it.
    #[error(
        "the recording has format {found}, but this program reads format {read}: \
         read it with the program that recorded it{}",
        version(program_version)
    )]
    OlderFormat {
        /// Its format.
        found: u32,
        /// The format that can be read.
        read: u32,
        /// The program that recorded it, if it says so.
        program_version: Option<String>,
    },
    /// A newer program wrote it.
    #[error(
        "the recording has format {found}, but this program reads formats up to {newest}: \
         read it with the program that recorded it or a newer one{}",
        version(program_version)
    )]
    NewerFormat {
        /// Its format.
        found: u32,
        /// The newest format that can be read.
        newest: u32,
        /// The program that recorded it, if it says so.
        program_version: Option<String>,
    },
}

fn version(program_version: &Option<String>) -> String {
    program_version.as_ref().map_or(String::new(), |version| format!(" (it was recorded by version {version})"))
}

/// What every header says, however new.
#[derive(Deserialize)]
struct AnyHeader {
    format: u32,
    program_version: Option<String>,
}

/// Whether bytes begin as a recording does, however damaged the rest may be.
#[must_use]
pub fn is_recording(bytes: &[u8]) -> bool {
    bytes.starts_with(&MAGIC)
}

/// Reads a recording from all its bytes. Takes any bytes at all without a panic and without allocating more than a
/// fixed multiple of their number and a few megabytes.
///
/// # Errors
/// If the header cannot be read. Whatever is wrong after it is told by the [`Integrity`], with the ticks before it.
pub fn read<E: DeserializeOwned>(bytes: &[u8]) -> Result<(Recording<E>, Integrity), ReadError> {
    let Some(mut rest) = bytes.strip_prefix(&MAGIC) else {
        let torn = !bytes.is_empty() && MAGIC.starts_with(bytes);
        return Err(if torn { ReadError::HeaderTorn { len: bytes.len() } } else { ReadError::NotARecording });
    };
    let frame = take_frame(&mut rest).map_err(|WrongLength| ReadError::HeaderDamaged { why: WRONG_LENGTH.into() })?;
    let (json, chain) = frame.ok_or(ReadError::HeaderTorn { len: bytes.len() })?;
    if *blake3::hash(json).as_bytes() != chain {
        return Err(ReadError::HeaderDamaged { why: "its bytes do not match its hash".into() });
    }
    let mut recording = Recording { header: read_header(json)?, ticks: Vec::new() };
    let integrity = read_blocks(rest, chain, &mut recording.ticks);
    Ok((recording, integrity))
}

fn read_header(json: &[u8]) -> Result<Header, ReadError> {
    let damaged = |error: serde_json::Error| ReadError::HeaderDamaged { why: error.to_string() };
    let AnyHeader { format, program_version } = serde_json::from_slice(json).map_err(damaged)?;
    if format > FORMAT {
        return Err(ReadError::NewerFormat { found: format, newest: FORMAT, program_version });
    }
    if format < FORMAT {
        return Err(ReadError::OlderFormat { found: format, read: FORMAT, program_version });
    }
    let header: Header = serde_json::from_slice(json).map_err(damaged)?;
    let hash = scenario_hash(&header.scenario_text);
    if header.scenario_hash != hash {
        let why = format!("it says its scenario has hash `{}`, but the text in it has `{hash}`", header.scenario_hash);
        return Err(ReadError::HeaderDamaged { why });
    }
    Ok(header)
}

fn read_blocks<E: DeserializeOwned>(
    mut rest: &[u8],
    mut chain: [u8; HASH_LEN],
    ticks: &mut Vec<RecordedTick<E>>,
) -> Integrity {
    let mut coder = Coder::default();
    for block in 0.. {
        let tick = tick_count(ticks);
        let (payload, hash) = match take_frame(&mut rest) {
            Ok(Some(frame)) => frame,
            Ok(None) => return Integrity::TornAfter { tick },
            Err(WrongLength) => return Integrity::Damaged { block, tick, why: WRONG_LENGTH.into() },
        };
        chain = chain_hash(chain, payload);
        let next = if chain == hash {
            unpack(&mut coder, payload, ticks)
        } else {
            Err("its bytes do not match its hash".into())
        };
        match next {
            Ok(Next::Ticks(more)) => ticks.extend(more),
            Ok(Next::Trailer) if rest.is_empty() => return Integrity::Whole,
            Ok(Next::Trailer) => {
                let why = format!("{} bytes after the trailer", rest.len());
                return Integrity::Damaged { block, tick, why };
            }
            Err(why) => return Integrity::Damaged { block, tick, why },
        }
    }
    unreachable!("every block takes bytes, and there are fewer than 2^32 times its shortest")
}

enum Next<E> {
    Ticks(Vec<RecordedTick<E>>),
    Trailer,
}

fn unpack<E: DeserializeOwned>(
    coder: &mut Coder,
    payload: &[u8],
    before: &[RecordedTick<E>],
) -> Result<Next<E>, String> {
    match postcard::take_from_bytes::<Payload<E>>(payload) {
        Err(error) => Err(format!("it cannot be decoded: {error}")),
        Ok((_, rest)) if !rest.is_empty() => Err(format!("{} bytes after its end", rest.len())),
        Ok((Payload::End { tick_count: said }, _)) => {
            let found = tick_count(before).0;
            if said == found {
                Ok(Next::Trailer)
            } else {
                Err(format!("the trailer says {said} ticks, but there are {found}"))
            }
        }
        Ok(_) if !before.len().is_multiple_of(BLOCK_TICKS) => {
            Err("it follows a block that is shorter than a second".into())
        }
        Ok((payload, _)) => coder.unpack(payload).map(Next::Ticks),
    }
}

/// A length that is not as it was written.
struct WrongLength;

const WRONG_LENGTH: &str = "its length does not match its check";

/// What was between a length and its hash, and the hash.
type Frame<'a> = (&'a [u8], [u8; HASH_LEN]);

/// Takes a length, that many bytes and their hash; `None`, and nothing taken, if there are not that many.
fn take_frame<'a>(rest: &mut &'a [u8]) -> Result<Option<Frame<'a>>, WrongLength> {
    let Some((&[a, b, c, check], after)) = rest.split_first_chunk() else { return Ok(None) };
    if length_check([a, b, c]) != check {
        return Err(WrongLength);
    }
    let length = usize::from(a) | usize::from(b) << 8 | usize::from(c) << 16;
    let frame = after.split_at_checked(length).and_then(|(content, after)| {
        let (hash, after) = after.split_first_chunk()?;
        Some((content, *hash, after))
    });
    Ok(frame.map(|(content, hash, after)| {
        *rest = after;
        (content, hash)
    }))
}

fn tick_count<E>(ticks: &[RecordedTick<E>]) -> Tick {
    Tick(u32::try_from(ticks.len()).expect("2^32 ticks are two years"))
}
