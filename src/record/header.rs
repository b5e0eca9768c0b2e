//! The header of a recording: everything needed to carry the attempt out again, and under what circumstances it was made.

use serde::{Deserialize, Serialize};

/// The layout of the file that this program writes; it reads this one and no other.
///
/// 1: two digests and ten centrelines a second, commands coded a second at a time. 2: a digest a second, at its end;
/// centrelines only where somebody asks for them; commands coded a quarter of a second at a
/// time; a length has a check.
pub const FORMAT: u32 = 2;

/// What an attempt was and how it was made. Stored as JSON, so that any text viewer shows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Header {
    /// Layout of the file, [`FORMAT`].
    pub format: u32,
    /// Version of the program that recorded, for people.
    pub program_version: String,
    /// Version of the simulation: two of them may make different states from the same commands.
    pub simulation_version: u32,
    /// Name of the scenario, for people.
    pub scenario_name: String,
    /// [`scenario_hash`] of the text below.
    pub scenario_hash: String,
    /// The scenario's whole text: a recording can be carried out again without the file it came from.
    pub scenario_text: String,
    /// Seed of everything the scenario draws at random.
    pub seed: u64,
    /// Ticks in one second of the attempt.
    pub ticks_per_second: u32,
    /// What the hands held, such as `mouse` or `gamepad`, for people.
    pub device: String,
    /// Aids that were on, such as `ghost hands`.
    pub aids: Vec<String>,
    /// A pseudonymous key, never a name: who it stands for is known to the instructor's roster only.
    pub student_key: String,
}

/// BLAKE3 of a scenario's text, 64 hexadecimal digits.
#[must_use]
pub fn scenario_hash(scenario_text: &str) -> String {
    blake3::hash(scenario_text.as_bytes()).to_hex().to_string()
}
