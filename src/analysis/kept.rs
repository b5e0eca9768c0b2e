//! Findings kept in a file, so that an attempt can be marked again without being carried out again.
//!
//! A file of findings has a line for each attempt, and nothing else:
//!
//! ```text
//! BLAKE3 of the rest of the line, 64 hexadecimal digits
//! | a space, the versions of measuring and of simulation with a point between
//! | | a space, and the findings as RON
//! 5f0c...91 1.3 (program_version:"0.1.0",recording_hash:"ab12...",findings:(duration:(3078),...),...)
//! ```
//!
//! What is kept was measured; marks are not kept, so none has to be believed. The hash finds a line that was cut off or
//! altered by accident. Against a forger it is no help: whoever can write the file can write the hash. Numbers come back
//! with the same bits, and so do those that are not finite.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::findings::Findings;
use super::view::View;

/// Goes up whenever the same states may give other findings, or findings have other fields.
pub const MEASURING_VERSION: u32 = 4;

/// What made findings; others may not be compared with them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Versions {
    /// Of what measures: [`MEASURING_VERSION`].
    pub measuring: u32,
    /// Of the simulation.
    pub simulation: u32,
}

/// What was measured in one attempt, and of which recording.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// Version of the program that measured, for people.
    pub program_version: String,
    /// BLAKE3 of the recording's file, 64 hexadecimal digits.
    pub recording_hash: String,
    /// The recording's pseudonymous key of its student; empty if it names none, as in files of before there were any.
    #[serde(default)]
    pub student_key: String,
    /// BLAKE3 of the scenario's text, 64 hexadecimal digits.
    pub scenario_hash: String,
    /// The scenario's whole text.
    pub scenario_text: String,
    /// How much of the recording is whole, in words.
    pub integrity: String,
    /// Digest of all states.
    pub digest: String,
    /// What was measured.
    pub findings: Findings,
    /// What is drawn.
    pub view: View,
}

/// Why a line is not taken.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LineProblem {
    /// It is not as it was written.
    #[error("the line was cut off or altered")]
    Altered,
    /// Another program measured, or another simulation made it.
    #[error(
        "measured by version {}.{} (of measuring and simulation), allowed {}.{}",
        found.measuring, found.simulation, allowed.measuring, allowed.simulation
    )]
    OtherVersion {
        /// Versions that the line names.
        found: Versions,
        /// The present ones.
        allowed: Versions,
    },
    /// Its findings cannot be read.
    #[error("the findings cannot be read: {0}")]
    Unreadable(String),
}

impl Kept {
    /// The attempt as a line of a file, with its end.
    ///
    /// # Panics
    /// Never: everything in it has a form in RON.
    #[must_use]
    pub fn line(&self, versions: Versions) -> String {
        let findings = ron::to_string(self).expect("structs, numbers and texts have a form in RON");
        let rest = format!("{}.{} {findings}", versions.measuring, versions.simulation);
        format!("{} {rest}\n", blake3::hash(rest.as_bytes()).to_hex())
    }

    /// The attempt of a line, with or without its end.
    ///
    /// # Errors
    /// If the line is not as it was written, names other versions or cannot be read.
    pub fn of_line(line: &str, allowed: Versions) -> Result<Kept, LineProblem> {
        let line = line.strip_suffix('\n').unwrap_or(line);
        let (hash, rest) = line.split_once(' ').ok_or(LineProblem::Altered)?;
        if blake3::hash(rest.as_bytes()).to_hex().as_str() != hash {
            return Err(LineProblem::Altered);
        }
        let (versions, findings) = rest.split_once(' ').ok_or(LineProblem::Altered)?;
        let number = |text: &str| text.parse::<u32>().ok();
        let found = versions.split_once('.').and_then(|(measuring, simulation)| {
            Some(Versions { measuring: number(measuring)?, simulation: number(simulation)? })
        });
        let found = found.ok_or_else(|| LineProblem::Unreadable(format!("no versions: `{versions}`")))?;
        if found != allowed {
            return Err(LineProblem::OtherVersion { found, allowed });
        }
        ron::from_str(findings).map_err(|error| LineProblem::Unreadable(error.to_string()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::findings::Measured;
    use crate::analysis::reading::StitchCurve;
    use crate::analysis::view::Moment;
    use crate::math::DVec3;
    use crate::quantity::Tick;
    use rand::{Rng, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    const VERSIONS: Versions = Versions { measuring: 1, simulation: 3 };

    fn kept(numbers: &[f64]) -> Kept {
        let mut findings: Findings =
            ron::from_str(include_str!("../../tests/scoring/faultless.ron")).expect("the example is valid");
        findings.validity.residual = Measured::new(numbers[0], Tick(4260));
        let moment = |&loop_tension_mn| Moment { tick: Tick(6), loop_tension_mn, pale_mm2: 0.0 };
        let curve = StitchCurve {
            points: numbers.iter().map(|&x| DVec3::new(x, 0.0, -x)).collect(),
            loop_start: 1,
            loop_end: 2,
        };
        Kept {
            program_version: "0.1.0".into(),
            recording_hash: "ab".repeat(32),
            student_key: "k-0817".into(),
            scenario_hash: "cd".repeat(32),
            scenario_text: "( // \"quoted\", \\ and\n\ta second line: ü\r\n)".into(),
            integrity: "whole".into(),
            digest: "0123456789abcdef".into(),
            findings,
            view: View { course: numbers.iter().map(moment).collect(), stitches: vec![curve], ..View::default() },
        }
    }

    /// The bits of all numbers that `kept` made.
    fn bits(kept: &Kept) -> Vec<u64> {
        let course = kept.view.course.iter().map(|moment| moment.loop_tension_mn);
        let points = kept.view.stitches.iter().flat_map(|curve| curve.points.iter().flat_map(|p| [p.x, p.z]));
        let residual = kept.findings.validity.residual.value;
        [residual].into_iter().chain(course).chain(points).map(f64::to_bits).collect()
    }

    #[test]
    fn every_number_comes_back_with_the_same_bits() {
        let edges =
            [0.0, -0.0, f64::MIN_POSITIVE, 5e-324, f64::MAX, f64::MIN, 0.1, 1.0 / 3.0, 1e21, 123_456_789.123_456_79];
        let endless = [f64::INFINITY, f64::NEG_INFINITY];
        let mut random = ChaCha8Rng::seed_from_u64(17);
        let drawn = (0..20_000).map(|_| f64::from_bits(random.random())).filter(|number| !number.is_nan());
        let numbers: Vec<f64> = edges.into_iter().chain(endless).chain(drawn).collect();
        let kept = kept(&numbers);
        let back = Kept::of_line(&kept.line(VERSIONS), VERSIONS).expect("it was just written");
        assert_eq!(back, kept);
        // Equal numbers may differ in their bits: 0.0 and -0.0.
        assert_eq!(bits(&back), bits(&kept));
    }

    #[test]
    fn what_is_not_a_number_comes_back_as_such() {
        let back = Kept::of_line(&kept(&[f64::NAN, 1.0]).line(VERSIONS), VERSIONS).expect("it was just written");
        assert!(back.findings.validity.residual.value.is_nan());
    }

    #[test]
    fn an_attempt_is_one_line_whatever_its_texts_hold() {
        let line = kept(&[1.0]).line(VERSIONS);
        assert_eq!((line.matches('\n').count(), line.ends_with('\n')), (1, true));
    }

    #[test]
    fn a_line_that_was_altered_or_is_of_another_version_is_refused() {
        let line = kept(&[1.0]).line(VERSIONS);
        let other = Versions { measuring: 1, simulation: 4 };
        assert_eq!(
            Kept::of_line(&line, other).map_err(|problem| problem.to_string()),
            Err("measured by version 1.3 (of measuring and simulation), allowed 1.4".into())
        );
        for altered in [&line.replace("4260", "4261"), &line[..line.len() / 2], &line.replace(" 1.3 ", " 1.4 "), ""] {
            assert_eq!(Kept::of_line(altered, VERSIONS), Err(LineProblem::Altered), "{altered:.80}");
        }
    }
}
