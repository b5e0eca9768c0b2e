//! The needle armed again, and the stitches that follow with the same thread.

use super::{NEEDLE, begin, hold, perform};
use knotwright::math::DVec3;
use knotwright::simulation::arming::NotArmed;
use knotwright::simulation::attempt::Attempt;
use knotwright::simulation::needle::State;
use knotwright::simulation::{LEFT, RIGHT};

/// Where the second stitch is made [mm]: the neighbour tooth begins 4 mm from the middle.
const BESIDE: f64 = 3.0;

/// A thread through both flaps, its strand cut off.
fn first_stitch() -> Attempt {
    let mut attempt = begin();
    perform(&mut attempt, NEEDLE, |_| {});
    // The holder has let the needle go and shuts.
    let rest = hold(&attempt, DVec3::ZERO, 0.0);
    (0..30).for_each(|_| attempt.tick(&rest));
    let (strand, _) = attempt.world.loop_nodes(0).expect("thread runs through the holes");
    assert!(attempt.world.cut(attempt.world.rod.positions[strand - 12]));
    attempt
}

#[test]
fn bites_after_a_cut_are_a_new_stitch_and_leave_the_first_one_alone() {
    let mut attempt = first_stitch();
    let points = attempt.world.stitch_curve(0).expect("it runs through the gum").points.len();
    perform(&mut attempt, &format!("arm at {BESIDE} mm\n{NEEDLE}"), |_| {});
    let taken: Vec<usize> = attempt.world.taken.iter().map(|(_, taken)| taken.stitch).collect();
    assert_eq!((taken, attempt.world.stitch_count(), attempt.world.current_stitch()), (vec![0, 0, 1, 1], 2, 1));
    assert_eq!(attempt.world.stitch_curve(0).map(|curve| curve.points.len()), Some(points));
    let found = attempt.findings();
    for (stitch, place) in found.stitches.iter().zip([0.0, BESIDE]) {
        assert_eq!(stitch.bites.len(), 2);
        for bite in &stitch.bites {
            // The gum gives by some tenths of a millimetre under the point.
            assert!((bite.along_wound_mm - place).abs() < 0.3, "{bite:?} is meant for {place} mm");
        }
    }
    assert!(found.validity.invalid_ticks.is_empty());
    // The tail of the second stitch stays above the gum.
    let rest = hold(&attempt, DVec3::ZERO, 0.0);
    (0..30).for_each(|_| attempt.tick(&rest));
    let (_, hole) = attempt.world.loop_nodes(1).expect("thread runs through the holes");
    let tail = hole + 4..attempt.world.stitch_piece(1).end;
    let lowest = attempt.world.rod.positions[tail].iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
    assert!(lowest > -0.05, "the tail hangs down to {lowest} mm");
}

#[test]
fn an_armed_needle_has_its_thread_behind_it_without_stretch_and_the_holder_as_at_the_start() {
    let fresh = begin();
    let held = |attempt: &Attempt| match attempt.world.needle.as_ref().map(|needle| needle.state) {
        Some(State::Held { tool, local }) => (tool, local),
        state => panic!("the needle is {state:?}"),
    };
    let mut attempt = first_stitch();
    assert_eq!(attempt.world.arm(), Ok(()));
    let ((tool, local), (tool_before, local_before)) = (held(&attempt), held(&fresh));
    assert_eq!((tool, tool_before), (RIGHT, RIGHT));
    assert!((local.position - local_before.position).length() < 1e-9);
    assert!(local.rotation.dot(local_before.rotation).abs() > 1.0 - 1e-12);
    assert!(!attempt.world.holds_thread(LEFT), "the fingers that set the needle have let go of the strand");
    let piece = attempt.world.rod.pieces()[0].clone();
    for edge in 2..piece.end - 1 {
        let strain = attempt.world.rod.strain(edge);
        assert!(strain.abs() < 1e-9, "edge {edge} is strained by {strain}");
    }
}

#[test]
fn nothing_is_armed_and_the_reason_given_while_thread_is_in_the_gum_or_jaws_are_open_or_something_is_in_the_way() {
    type Spoil = fn(&mut Attempt);
    let cases: [(NotArmed, Spoil); 3] = [
        (NotArmed::JawsOpen, |attempt| attempt.world.instruments[RIGHT].gap = 2.0),
        (NotArmed::ThreadInGum, |attempt| {
            attempt.world.rod.whole.fill(true);
        }),
        (NotArmed::InTheWay, |attempt| {
            let mut armed = first_stitch();
            assert_eq!(armed.world.arm(), Ok(()));
            let piece = armed.world.rod.pieces()[0].clone();
            let tip = attempt.world.around.tools[LEFT].shapes[0].start;
            let turned = attempt.world.around.tools[LEFT].rotation * tip;
            attempt.world.around.tools[LEFT].position = armed.world.rod.positions[piece.end / 2] - turned;
        }),
    ];
    for (why, spoil) in cases {
        let mut attempt = first_stitch();
        spoil(&mut attempt);
        let before = (attempt.world.rod.clone(), attempt.world.needle.clone(), attempt.world.around.clone());
        assert_eq!(attempt.world.arm(), Err(why));
        let after = (attempt.world.rod.clone(), attempt.world.needle.clone(), attempt.world.around.clone());
        assert!(before == after, "{why}: a refused arming changes nothing");
    }
}
