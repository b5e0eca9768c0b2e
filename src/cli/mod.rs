//! The command line: it reads arguments, opens files and prints; everything it prints was made by the stages before.
//!
//! Results go to the standard output, everything else (progress, problems) to the standard error.

mod again;
mod arguments;
mod case;
mod check;
mod class;
mod compare;
mod compared;
mod demo;
mod doctor;
mod experiment;
mod files;
mod grade;
mod handover;
mod history;
#[cfg(feature = "window")]
mod keep;
mod keys;
mod marked;
mod material;
#[cfg(feature = "window")]
mod opened;
mod output;
mod pages;
mod progress;
mod pull;
mod pull_attempt;
mod pull_table;
mod pulled;
mod read;
mod regrade;
mod replay;
mod runs;
mod scenarios;
mod sensitive;
pub mod session;
#[cfg(feature = "window")]
mod stage;
mod status;
mod store;
mod tabled;
mod tie;
mod window;

use clap::Parser;
use std::ffi::OsString;
use std::panic::{AssertUnwindSafe, catch_unwind};

use self::arguments::{Arguments, Command, ScenarioCommand};
pub use self::case::Case;
pub use self::status::{Failure, Status};

/// Carries out what the arguments say, the program's own name first, and gives the exit code of [`Status`].
#[must_use]
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> u8 {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(message) => {
            // Help and the version arrive as errors as well, and go to the standard output. Nowhere to print is no error.
            let status = if message.use_stderr() { Status::Usage } else { Status::Done };
            let _ = message.print();
            return status.code();
        }
    };
    // A panic has printed its message and place by then; what is left to give is an exit code that says whose fault it was.
    let done = catch_unwind(AssertUnwindSafe(|| carry_out(&arguments)));
    match done {
        Ok(Ok(status)) => status.code(),
        Ok(Err(failure)) => {
            output::complain(&failure.message);
            failure.status.code()
        }
        Err(_) => {
            output::complain("this is a fault of the program: please report it with the message above");
            Status::Internal.code()
        }
    }
}

fn carry_out(arguments: &Arguments) -> Result<Status, Failure> {
    match &arguments.command {
        None => window::open_window(&arguments.window),
        Some(Command::Window(asked)) => window::open_file(asked),
        Some(Command::Demo(demo)) if demo.runs.is_some() => runs::runs(demo),
        Some(Command::Demo(demo)) => demo::demo(demo),
        Some(Command::Replay(replay)) => replay::replay(replay),
        Some(Command::Grade(grade)) => grade::grade(grade),
        Some(Command::Regrade(regrade)) => regrade::regrade(regrade),
        Some(Command::Scenario { command }) => match command {
            ScenarioCommand::New { file, from } => scenarios::new(file, from.as_deref()),
            ScenarioCommand::Check { files } => check::check(files),
            ScenarioCommand::Explain { file } => scenarios::explain(file),
            ScenarioCommand::List { folder } => scenarios::list(folder.as_deref()),
            ScenarioCommand::Schema => scenarios::schema(),
        },
        Some(Command::Gradebook(asked)) => handover::gradebook(asked),
        Some(Command::Results(asked)) => handover::results(asked),
        Some(Command::Statements(asked)) => handover::statements(asked),
        Some(Command::History(asked)) => history::history(asked),
        Some(Command::Material(asked)) => material::material(asked),
        Some(Command::Experiment(experiment)) => experiment::experiment(experiment),
        Some(Command::Read(asked)) => read::read(asked),
        Some(Command::Tie(tie)) => tie::tie_knot(tie),
        Some(Command::Pull(asked)) => pull::pull(asked),
        Some(Command::Compare(asked)) => compare::compare(asked),
        Some(Command::Keys(asked)) => keys::keys(asked),
        Some(Command::Doctor(asked)) => doctor::doctor(asked),
    }
}
