//! Attempts by the shipped hands, each simulated once however many tests ask for it.
//!
//! What is simulated depends on the site, the thread and the hands, and not on what is asked for or how it is marked: an
//! attempt at one case is, number for number, one at another that differs in its rubric only.

use knotwright::cli::Case;
use knotwright::cli::session::{Hands, Outcome, Session};
use knotwright::input::script;
use knotwright::performer::{Performer, Unsteadiness};
use knotwright::scenario::{Closure, Interval, Reading, Rubric, Scenario, Source, Task, read_extending};
use knotwright::score::{Score, score};
use std::collections::BTreeMap;
use std::fs;
use std::sync::{Arc, Mutex, OnceLock};

/// A shipped file, by its place below the folder of scenarios.
fn shipped(name: &str) -> String {
    fs::read_to_string(format!("scenarios/{name}")).unwrap_or_else(|error| panic!("scenarios/{name}: {error}"))
}

/// A shipped scenario with all that it extends.
pub(super) fn case(name: &str) -> Case {
    let source = Source { name: format!("{name}.ron"), text: shipped(&format!("{name}.ron")) };
    let Reading { text, problems, .. } =
        read_extending(&source, &mut |_, asked| Ok(Source { name: asked.to_owned(), text: shipped(asked) }));
    assert!(!problems.has_errors(), "{name}: {problems}");
    Case::read(name, &text).unwrap_or_else(|failure| panic!("{}", failure.message))
}

/// All of a scenario that decides what is simulated and measured.
fn simulated(scenario: &Scenario) -> String {
    let mut same = scenario.clone();
    for words in [&mut same.title, &mut same.case_text, &mut same.demonstration] {
        words.clear();
    }
    (same.fault, same.course, same.aids) = (None, None, Default::default());
    same.rubric = Rubric { pass_mark: 0.0, criteria: Vec::new(), critical: Vec::new() };
    let (tail_mm, closure) = (Interval { min: 0.0, max: 0.0 }, Closure::OpenHealing);
    same.task = Task { throws: Vec::new(), tail_mm, closure, ..same.task };
    serde_json::to_string(&same).expect("plain data")
}

/// One simulation, made by whoever asks first.
type Once = Arc<OnceLock<Arc<Outcome>>>;
static TIED: Mutex<BTreeMap<(String, String), Once>> = Mutex::new(BTreeMap::new());

/// What came of these hands, by their path below the folder of scenarios, at a case; its marks are those of the case that
/// asked first. Every knot is pulled.
pub(super) fn tied(case: &Case, hands: &str) -> Arc<Outcome> {
    let once = {
        let mut tied = TIED.lock().expect("nobody fails while holding it");
        tied.entry((simulated(&case.scenario), hands.to_owned())).or_default().clone()
    };
    once.get_or_init(|| Arc::new(tie(case, hands))).clone()
}

/// The marks of these hands at a case.
pub(super) fn marked(case: &Case, hands: &str) -> Score {
    score(&tied(case, hands).findings, &case.order, &case.rubric)
}

fn tie(case: &Case, hands: &str) -> Outcome {
    let script = script::parse(hands, &shipped(hands)).unwrap_or_else(|faults| panic!("{}", faults[0]));
    let mut session = Session::begin(&pulling(case), None).expect("the case begins");
    let mut hands = Hands::Scripted(Box::new(Performer::new(script, session.world(), Unsteadiness::default())));
    while session.advance(&mut hands).expect("every state is a number").is_some() {}
    session.close(&pulling(case)).expect("nothing is recorded")
}

/// The case with a rubric that has the knot pulled, in case another asks for it.
fn pulling(case: &Case) -> Case {
    Case { rubric: self::case("assessment_one_stitch").rubric, ..case.clone() }
}
