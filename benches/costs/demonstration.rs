//! The beginning of a scenario's demonstration, for benchmarks that look at a whole attempt.

use knotwright::input::script;
use knotwright::performer::{Performer, Unsteadiness};
use knotwright::scenario;
use knotwright::simulation::attempt::Attempt;
use std::path::Path;

/// The scenario in a file, and the hands that demonstrate it.
pub(crate) fn begin(file: &Path) -> (Attempt, Performer) {
    let text = |file: &Path| std::fs::read_to_string(file).expect("the file can be read");
    let case = scenario::parse("scenario", &text(file)).expect("the scenario is in order");
    let hands = text(&file.with_file_name(&case.demonstration));
    let script = script::parse("hands", &hands).expect("the script is in order");
    let attempt = Attempt::begin(&case).expect("the scenario can begin");
    let performer = Performer::new(script, &attempt.world, Unsteadiness::default());
    (attempt, performer)
}
