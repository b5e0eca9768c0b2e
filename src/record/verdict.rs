//! What carrying an attempt out again says about its recording.

use super::{Header, Integrity, StateDigest, scenario_hash};
use crate::quantity::{TICKS_PER_SECOND, Tick};
use std::fmt;

/// The outcome of carrying a recording's commands out again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// The same states came out: what the recording shows follows from its hand movements.
    Verified,
    /// Other states came out.
    DivergedAt {
        /// The first tick whose digests differ, or that one side holds no digest of.
        tick: Tick,
    },
    /// It is an attempt at another scenario than the one it is graded by.
    WrongScenario {
        /// Hash of the scenario it was made with.
        recorded: String,
        /// Hash of the scenario it is graded by.
        expected: String,
    },
    /// Another simulation made it, so other states prove nothing.
    OtherVersion {
        /// The simulation's version that made it.
        recorded: u32,
        /// This simulation's version.
        present: u32,
    },
    /// It cannot be carried out again as it was.
    Damaged {
        /// What is wrong with it.
        why: String,
    },
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Verdict::Verified => write!(f, "verified"),
            Verdict::DivergedAt { tick } => write!(f, "diverged at tick {} ({:.1} s)", tick.0, tick.seconds()),
            Verdict::WrongScenario { recorded, expected } => {
                write!(f, "wrong scenario: recorded with {recorded}, graded by {expected}")
            }
            Verdict::OtherVersion { recorded, present } => {
                write!(f, "other simulation version: recorded with {recorded}, this is {present}")
            }
            Verdict::Damaged { why } => write!(f, "damaged: {why}"),
        }
    }
}

/// Why a recording is not to be carried out again at all, if there is a reason.
///
/// A torn recording is no reason: a crash is nobody's fault, and what is left can be carried out.
#[must_use]
pub fn refusal(
    header: &Header,
    integrity: &Integrity,
    scenario_text: &str,
    simulation_version: u32,
) -> Option<Verdict> {
    if let Integrity::Damaged { .. } = integrity {
        return Some(Verdict::Damaged { why: integrity.to_string() });
    }
    let expected = scenario_hash(scenario_text);
    if header.scenario_hash != expected {
        return Some(Verdict::WrongScenario { recorded: header.scenario_hash.clone(), expected });
    }
    if header.simulation_version != simulation_version {
        return Some(Verdict::OtherVersion { recorded: header.simulation_version, present: simulation_version });
    }
    if header.ticks_per_second != TICKS_PER_SECOND {
        let why = format!("it says {} ticks a second, but must say {TICKS_PER_SECOND}", header.ticks_per_second);
        return Some(Verdict::Damaged { why });
    }
    None
}

/// Compares the digests a recording holds with those of its commands carried out again.
///
/// Both lists are to be complete: `replayed` holds every tick that is [due](super::digest_due) and every other tick
/// that the recording has a digest of. So a recording whose digests were taken out diverges at the first of them.
#[must_use]
pub fn compare(recorded: &[(Tick, StateDigest)], replayed: &[(Tick, StateDigest)]) -> Verdict {
    if recorded.is_empty() && replayed.is_empty() {
        return Verdict::Damaged { why: "it holds no tick at all".into() };
    }
    let differing = recorded.iter().zip(replayed).find(|(a, b)| a != b).map(|(a, b)| a.0.min(b.0));
    let common = recorded.len().min(replayed.len());
    let unmatched = || recorded.get(common).or(replayed.get(common)).map(|&(tick, _)| tick);
    match differing.or_else(unmatched) {
        Some(tick) => Verdict::DivergedAt { tick },
        None => Verdict::Verified,
    }
}
