//! Thread drawn through the gum, and the forces once it rests.

use super::{NEEDLE, begin, hold, perform, shipped};
use knotwright::input::{HandCommand, script};
use knotwright::math::DVec3;
use knotwright::performer::{Performer, Unsteadiness};
use knotwright::record::Digest;
use knotwright::rod::surroundings::{Host, Tissue};
use knotwright::simulation::attempt::Attempt;
use knotwright::simulation::needle::State;
use knotwright::simulation::watch::Watch;
use knotwright::simulation::{LEFT, World};

/// Digest over a drive of the needle, one hand `shift` [mm] off its way.
fn digest_of_drive(shift: DVec3) -> String {
    const TICKS: u32 = 60;
    let mut attempt = begin();
    let mut digest = Digest::new();
    let script = script::parse("test.hands", "drive bite 2.5 mm out 2.4 mm\n").expect("the script has no faults");
    let mut performer = Performer::new(script, &attempt.world, Unsteadiness::default());
    while attempt.world.tick.0 < TICKS {
        let Some(mut command) = performer.command(&attempt.world) else { break };
        let mut pose = command.left.pose();
        pose.position += shift;
        command.left = HandCommand::new(pose, command.left.jaw_opening());
        attempt.tick(&command);
        let parts = attempt.state_digest_parts();
        let parts: Vec<&[f64]> = parts.iter().map(Vec::as_slice).collect();
        digest.add(attempt.world.tick, &parts).expect("every value is a number");
    }
    digest.digest_hex()
}

fn pull_on(world: &World, bite: usize) -> DVec3 {
    world.around.sleeves.iter().filter(|s| s.host == Host::Bite(bite)).map(|s| s.force).sum()
}

#[test]
fn the_thread_is_drawn_until_the_tail_has_its_length() {
    let mut attempt = begin();
    perform(&mut attempt, NEEDLE, |_| {});
    let world = &attempt.world;
    let (strand, tail) = world.loop_nodes(0).expect("thread runs through the holes");
    let material = &world.rod.material;
    let tail_length = material[material.len() - 1] - material[tail];
    assert!((tail_length - 22.0).abs() < 1.0, "tail of {tail_length} mm");
    let held = world.strand_hold(LEFT).expect("the left hand holds the strand").material;
    assert!((material[strand] - held - 48.0).abs() < 2.0, "{} mm of free strand", material[strand] - held);
    assert_eq!(world.needle.as_ref().map(|n| n.state), Some(State::InPalm));
    assert!(attempt.findings().validity.invalid_ticks.is_empty());
}

#[test]
fn the_same_hands_give_the_same_bits_and_others_do_not() {
    assert_eq!(digest_of_drive(DVec3::ZERO), digest_of_drive(DVec3::ZERO));
    assert_ne!(digest_of_drive(DVec3::ZERO), digest_of_drive(DVec3::X * 0.001), "a micrometre is another attempt");
}

#[test]
fn gum_and_hand_bear_what_the_thread_pulls() {
    let mut attempt = begin();
    perform(&mut attempt, NEEDLE, |_| {});
    let (strand, _) = attempt.world.loop_nodes(0).expect("thread runs through the holes");
    let mut taut = hold(&attempt, DVec3::ZERO, 0.0);
    let mut left = taut.left.pose();
    left.position += (left.position - attempt.world.rod.positions[strand]).normalize() * 3.0;
    taut.left = HandCommand::new(left, 0.0);
    (0..90).for_each(|_| attempt.tick(&taut));
    let world = &attempt.world;
    // The solver leaves 3 mN at a node; a sleeve's force is shared by two.
    let tolerance = 10.0;
    for bite in 0..2 {
        let (pull, answer) = (pull_on(world, bite), world.gum.respond(bite, world.around.bites[bite]).gradient);
        assert!(pull.length() > 5.0 * tolerance, "bite {bite} is pulled by {pull}");
        assert!((pull - answer).length() < tolerance, "bite {bite}: thread {pull}, gum {answer} mN");
    }
    let tool = &world.around.tools[LEFT];
    let hand = tool.hand.expect("a hand holds it");
    let hand_pull = (hand.target - tool.position).length() * hand.stiffness;
    let tension = world.strand_tension();
    assert!(tension > 100.0 && (hand_pull - tension).abs() < tolerance, "hand {hand_pull}, strand {tension} mN");
}

/// The first throw of the bench's demonstration, drawn up and still in both hands.
fn one_throw() -> Attempt {
    let script = include_str!("../../scenarios/hands/bench_throws.hands");
    let throw = script.split("say Throw two").next().expect("a first throw").replace("lay\nrelease\n", "");
    let (watch, scenario) = (Watch::default(), shipped());
    let world = World::threaded_bench();
    let thread = world.rod.section;
    let mut attempt =
        Attempt { world, scenario, thread, watch, marks: Vec::new(), finished: false, refused: Vec::new() };
    perform(&mut attempt, &throw, |_| {});
    attempt
}

#[test]
fn a_throw_is_noted_when_it_is_made_and_its_ends_are_measured_from_the_knot() {
    let mut attempt = one_throw();
    // Two wraps make the determinant 2 * 2 + 1.
    assert_eq!(attempt.watch.stitches[0].knots.last().map(|knot| knot.1), Some(5));
    assert!(attempt.watch.stitches[0].loop_peak.is_some());
    assert_eq!(attempt.world.cut_ends(0), [None, None], "nothing is cut");
    let (strand, tail) = attempt.world.knot_span(0).expect("the throw is drawn up");
    let place = |world: &World, material: f64| {
        let node = world.rod.material.partition_point(|&s| s < material);
        0.5 * (world.rod.positions[node] + world.rod.positions[node - 1])
    };
    assert!(attempt.world.cut(place(&attempt.world, tail + 4.0)));
    assert!(attempt.world.cut(place(&attempt.world, strand - 5.0)));
    let [on_strand, on_tail] = attempt.world.cut_ends(0).map(|end| end.expect("it is cut"));
    // An edge is cut as a whole, and no edge here is longer than 0.9 mm.
    assert!((on_tail - 4.0).abs() < 0.9 && (on_strand - 5.0).abs() < 0.9, "strand {on_strand}, tail {on_tail} mm");
}

#[test]
fn the_shipped_demonstrations_have_no_faults() {
    for (name, text) in [
        ("first_stitch.hands", include_str!("../../scenarios/hands/first_stitch.hands")),
        ("bench_throws.hands", include_str!("../../scenarios/hands/bench_throws.hands")),
    ] {
        assert_eq!(script::parse(name, text).err(), None);
    }
}
