//! An attempt on disk: what both hands did, tick by tick, in a form that survives a crash and shows damage.
//!
//! A recording is independent of the device that made it: it holds quantised commands, and what the simulation made of
//! them only as digests, events and, where somebody asks for them, sampled centrelines. Two uses: what happened is read from it, and the commands are
//! carried out again to see whether the same state comes out ([`compare`]).
//!
//! ```text
//! file    = magic (8 bytes)  header length  header (JSON)  BLAKE3 of the header
//!           block*  trailer
//! block   = payload length  payload (postcard)  BLAKE3 of (hash before it + payload)
//! trailer = a block that holds the number of ticks
//! length  = 3 bytes, little endian, and their exclusive or with 0x5a
//! ```
//!
//! One block holds one second and is written and flushed when that second is over, so a crash loses at most the last
//! second. The chain of hashes shows a torn end, a fault of the disk or a careless edit. It is no signature: whoever
//! rewrites every hash after an edit gets a file that reads as whole. That a score follows from the recorded hand
//! movements is shown by carrying them out again; whose hands moved is shown by nothing here.
//!
//! This module knows no file and no clock: it writes to any [`std::io::Write`] and reads bytes. What an event is, is
//! the caller's choice of type.

mod block;
mod codec;
mod digest;
mod header;
mod reader;
mod tick;
mod verdict;
mod writer;

pub use digest::{Digest, NotANumber, StateDigest, digest_due};
pub use header::{FORMAT, Header, scenario_hash};
pub use reader::{Integrity, ReadError, Recording, is_recording, read};
pub use tick::{RecordedTick, Sample};
pub use verdict::{Verdict, compare, refusal};
pub use writer::AttemptWriter;
