//! Where words go.

use super::{Failure, Status};
use std::io::{self, Write};

/// Prints a result on the standard output. A reader that has gone away has read enough.
pub(super) fn say(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(Failure::new(Status::Internal, format!("the standard output does not take the result: {error}")))
        }
        _ => Ok(()),
    }
}

/// Prints a problem, or what is no result, on the standard error; if that is gone, nobody is there to be told.
pub(super) fn complain(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{text}");
}

/// An object as JSON text, indented, ending with a line break.
pub(super) fn json(value: &impl serde::Serialize) -> Result<String, Failure> {
    let text = serde_json::to_string_pretty(value).map_err(|error| Failure::new(Status::Internal, error))?;
    Ok(text + "\n")
}
