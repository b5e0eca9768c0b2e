//! How a command ended, as other programs see it.

use std::fmt::Display;

/// How a command ended; the number is the exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// It did what it was asked.
    Done = 0,
    /// A fault of the program or of the machine under it.
    Internal = 1,
    /// The arguments make no sense.
    Usage = 2,
    /// A scenario, hand script, experiment or keys file is not in order.
    ScenarioInvalid = 3,
    /// A recording or a table of points cannot be read.
    AttemptUnreadable = 4,
    /// A recording was carried out again and is not verified.
    NotVerified = 5,
    /// A scenario's own demonstration, by steady hands, did not pass.
    DemonstrationFailed = 6,
    /// An experiment did not come out as it expects.
    ExpectationNotMet = 7,
}

/// The exit codes as the help lists them.
pub(super) const EXIT_CODES: &str = "\
Exit codes:
  0  done
  1  a fault of the program or the machine
  2  the arguments make no sense
  3  a scenario, hand script, experiment or keys file is not in order
  4  a recording or a table of points cannot be read
  5  a recording was carried out again and is not verified
  6  a scenario's own demonstration, by steady hands, did not pass
  7  an experiment did not come out as it expects";

impl Status {
    /// The exit code.
    #[must_use]
    pub fn code(self) -> u8 {
        self as u8
    }
}

/// Why a command could not be carried out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct Failure {
    /// The exit code that goes with it.
    pub status: Status,
    /// What is wrong, in words; several problems have a line each.
    pub message: String,
}

impl Failure {
    /// A failure and what to say about it.
    pub fn new(status: Status, message: impl Display) -> Failure {
        Failure { status, message: message.to_string() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_help_lists_every_exit_code() {
        let all = [
            Status::Done,
            Status::Internal,
            Status::Usage,
            Status::ScenarioInvalid,
            Status::AttemptUnreadable,
            Status::NotVerified,
            Status::DemonstrationFailed,
            Status::ExpectationNotMet,
        ];
        let listed: Vec<&str> = EXIT_CODES.lines().skip(1).collect();
        assert_eq!(listed.len(), all.len());
        for (line, status) in listed.iter().zip(all) {
            assert!(line.trim_start().starts_with(&status.code().to_string()), "{status:?}: {line}");
        }
    }
}
