//! Arguments in, library, exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(knotwright::cli::run(std::env::args_os()))
}
