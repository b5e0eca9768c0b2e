//! The site is marked before the first bite, which moves nothing and is measured.

use super::{NEEDLE, perform, shipped};
use knotwright::input::HandEvent;
use knotwright::quantity::Tick;
use knotwright::score::{Rubric, Score, TaskOrder, score};
use knotwright::simulation::attempt::{Attempt, Refusal};
use knotwright::tooth::Tooth;

/// The first two verbs of a stitch, whose first takes both bites.
fn drive() -> &'static str {
    &NEEDLE[..NEEDLE.find("draw").expect("the thread is drawn")]
}

/// An attempt whose bites are taken after these marks; also every state on the way, and what was refused.
fn bitten(marks: &str) -> (Attempt, Vec<Vec<Vec<f64>>>, Vec<Refusal>) {
    let mut attempt = Attempt::begin(&shipped()).expect("the shipped scenario can begin");
    let (mut states, mut refused) = (Vec::new(), Vec::new());
    perform(&mut attempt, &format!("{marks}\n{}", drive()), |attempt| {
        states.push(attempt.state_digest_parts());
        refused.extend(&attempt.refused);
    });
    (attempt, states, refused)
}

fn marked(attempt: &Attempt) -> Score {
    let rubric = Rubric::try_from(&shipped().rubric).expect("it is shipped");
    score(&attempt.findings(), &TaskOrder::from(&shipped()), &rubric)
}

fn numbers(attempt: &Attempt) -> Vec<(Option<u8>, u32)> {
    let marks = attempt.findings().site.marks;
    marks.iter().map(|mark| (mark.tooth.map(Tooth::number), mark.tick.0)).collect()
}

#[test]
fn a_mark_takes_no_time_and_moves_nothing() {
    let (without, states, _) = bitten("");
    let (with, marked_states, refused) = bitten("mark 45\nmark none\nmark ordered");
    assert!(states == marked_states, "every state is the same, bit for bit");
    assert_eq!((without.world.tick, refused.len()), (with.world.tick, 0));
    assert_eq!((numbers(&without), numbers(&with)), (vec![], vec![(Some(45), 0), (None, 0), (Some(35), 0)]));
    let [without, with] = [&without, &with].map(|attempt| attempt.findings().site);
    assert!(without.first_bite.is_some_and(|bite| bite > Tick(0)) && without.first_bite == with.first_bite);
}

#[test]
fn a_bite_with_the_other_side_marked_or_with_nothing_marked_is_at_a_wrong_site() {
    let cases =
        [("mark ordered", None), ("mark 35", None), ("mark 45", Some("tooth 45 (lower")), ("", Some("no tooth"))];
    for (marks, wrong) in cases {
        let (attempt, ..) = bitten(marks);
        let score = marked(&attempt);
        let found = score.critical.iter().find(|fault| fault.id == "wrong_site");
        assert_eq!(found.is_some(), wrong.is_some(), "{marks}: {:?}", score.critical);
        let (Some(found), Some(words)) = (found, wrong) else { continue };
        assert!(found.evidence.contains(words), "{}", found.evidence);
        assert!(found.evidence.contains("The order names tooth 35 (lower left second premolar"), "{}", found.evidence);
        assert_eq!(Some(found.tick), attempt.findings().site.first_bite);
        assert!(!score.passed && score.reasons[0].starts_with("critical fault `wrong_site`"), "{:?}", score.reasons);
        assert_eq!(score.one_thing_to_change, found.advice);
    }
}

#[test]
fn once_the_first_bite_is_begun_a_mark_counts_no_more_and_that_is_said() {
    let (mut attempt, ..) = bitten("mark 45");
    let seen = attempt.snapshot("").readout;
    assert!(seen.bitten && seen.marked.map(Tooth::number) == Some(45), "{seen:?}");
    let mut command = super::hold(&attempt, knotwright::math::DVec3::ZERO, 0.0);
    command.events.push(HandEvent::Mark { tooth: Tooth::try_from(35).ok() });
    attempt.tick(&command);
    assert_eq!(attempt.refused, [Refusal::Mark]);
    assert_eq!(attempt.snapshot("").readout.marked.map(Tooth::number), Some(45));
    assert_eq!(numbers(&attempt).len(), 2, "what was marked later is kept as well");
    assert!(marked(&attempt).critical.iter().any(|fault| fault.id == "wrong_site"));
}

#[test]
fn a_case_whose_rubric_does_not_list_the_fault_has_no_check() {
    let (attempt, ..) = bitten("");
    let mut scenario = shipped();
    scenario.rubric.critical.retain(|id| id != "wrong_site");
    assert!(!scenario.checks_site());
    let rubric = Rubric::try_from(&scenario.rubric).expect("a list may be shorter");
    let score = score(&attempt.findings(), &TaskOrder::from(&scenario), &rubric);
    assert!(score.site.is_none() && score.critical.is_empty(), "{:?}", score.critical);
}
