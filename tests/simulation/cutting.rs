//! The thread cut, and what goes away with the hand.

use super::{NEEDLE, begin, hold, perform};
use knotwright::input::{HandEvent, STEPS_PER_MM};
use knotwright::math::DVec3;
use knotwright::simulation::LEFT;
use knotwright::simulation::attempt::{Attempt, Refusal};
use knotwright::simulation::needle::State;

fn cut_at(attempt: &mut Attempt, at: DVec3) {
    let mut command = hold(attempt, DVec3::ZERO, 0.0);
    #[expect(clippy::cast_possible_truncation, reason = "rounded, and the site is small")]
    let at = at.to_array().map(|mm| (mm * STEPS_PER_MM).round() as i32);
    command.events.push(HandEvent::Cut { at });
    attempt.tick(&command);
}

#[test]
fn what_runs_through_gum_or_hangs_from_the_needle_stays_and_the_cut_tail_goes_away() {
    let mut attempt = begin();
    perform(&mut attempt, NEEDLE, |_| {});
    let (strand, tail) = attempt.world.loop_nodes(0).expect("thread runs through the holes");
    let (on_strand, on_tail) = (strand - 12, tail + 12);
    let place = |attempt: &Attempt, edge: usize| {
        0.5 * (attempt.world.rod.positions[edge] + attempt.world.rod.positions[edge + 1])
    };
    let at = place(&attempt, on_strand);
    cut_at(&mut attempt, at);
    assert!(attempt.world.holds_thread(LEFT), "the rest of the strand is still in the hand, with the needle");
    assert_eq!(attempt.world.needle.as_ref().map(|n| n.state), Some(State::InPalm));
    assert_eq!(attempt.world.stitch_piece(0), on_strand + 1..attempt.world.rod.node_count());
    let at = place(&attempt, on_tail);
    cut_at(&mut attempt, at);
    assert_eq!(attempt.world.stitch_piece(0), on_strand + 1..on_tail + 1);
    let rest = hold(&attempt, DVec3::ZERO, 0.0);
    (0..30).for_each(|_| attempt.tick(&rest));
    let strands = attempt.snapshot("").strands;
    assert_eq!(strands.len(), 2, "the rest of the strand and the stitch are in the field");
    assert_eq!(strands[1].len(), on_tail - on_strand);
    assert!(attempt.findings().validity.invalid_ticks.is_empty());
    assert_eq!(attempt.findings().stitches[0].knot, None);
}

#[test]
fn scripted_hands_go_on_when_the_loop_in_the_gum_is_cut_through() {
    let mut attempt = begin();
    perform(&mut attempt, NEEDLE, |_| {});
    let (strand, tail) = attempt.world.loop_nodes(0).expect("thread runs through the holes");
    let at = attempt.world.rod.positions[usize::midpoint(strand, tail)];
    cut_at(&mut attempt, at);
    assert_eq!(attempt.world.stitch_curve(0), None, "half a loop is no stitch");
    perform(&mut attempt, "clear\nplan strand near wraps 1 wraps\ncut leaving 5 mm\n", |_| {});
    assert!(attempt.findings().validity.invalid_ticks.is_empty());
}

#[test]
fn scissors_away_from_the_thread_cut_nothing_and_the_attempt_says_so_for_a_tick() {
    let mut attempt = begin();
    cut_at(&mut attempt, DVec3::new(40.0, 0.0, 40.0));
    assert!(attempt.world.rod.whole.iter().all(|&whole| whole));
    assert_eq!(attempt.refused, [Refusal::Cut]);
    let rest = hold(&attempt, DVec3::ZERO, 0.0);
    attempt.tick(&rest);
    assert_eq!(attempt.refused, []);
}
