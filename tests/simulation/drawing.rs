//! Thread drawn through the gum, and the forces once it rests.

use super::{NEEDLE, begin, perform};
use knotwright::input::script;
use knotwright::math::DVec3;
use knotwright::record::Digest;
use knotwright::rod::surroundings::{Host, Tissue};
use knotwright::simulation::needle::State;
use knotwright::simulation::{LEFT, World};

fn digest_of(text: &str) -> String {
    let mut attempt = begin();
    let mut digest = Digest::new();
    perform(&mut attempt, text, |attempt| {
        let parts = attempt.state_digest_parts();
        let parts: Vec<&[f64]> = parts.iter().map(Vec::as_slice).collect();
        digest.add(attempt.world.tick, &parts).expect("every value is a number");
    });
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
    let (strand, tail) = world.loop_nodes().expect("thread runs through the holes");
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
    let drive = "drive bite 2.5 mm out 2.4 mm\nregrip\n";
    assert_eq!(digest_of(drive), digest_of(drive));
    assert_ne!(digest_of(drive), digest_of("drive bite 2.501 mm out 2.4 mm\nregrip\n"));
}

#[test]
fn gum_and_hand_bear_what_the_thread_pulls() {
    let mut attempt = begin();
    perform(&mut attempt, &format!("{NEEDLE}wait for 1 s\n"), |_| {});
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

#[test]
fn the_shipped_demonstrations_have_no_faults() {
    for (name, text) in [
        ("first_stitch.hands", include_str!("../../scenarios/hands/first_stitch.hands")),
        ("bench_throws.hands", include_str!("../../scenarios/hands/bench_throws.hands")),
    ] {
        assert_eq!(script::parse(name, text).err(), None);
    }
}
