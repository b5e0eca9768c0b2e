//! The strand between the pads of the left hand: paid out and gathered.

use knotwright::input::{HandCommand, TickCommand};
use knotwright::instruments::Kind;
use knotwright::math::{DVec3, Pose};
use knotwright::simulation::{LEFT, RIGHT, World, opening_that_holds};

/// Leads the left hand there in `ticks`, its pads letting the strand run above `tension` [mN].
fn lead(world: &mut World, to: DVec3, tension: f64, ticks: u32) {
    let from = world.pose(LEFT);
    let right = HandCommand::new(world.pose(RIGHT), 0.0);
    for tick in 1..=ticks {
        let position = from.position.lerp(to, f64::from(tick) / f64::from(ticks));
        let opening = opening_that_holds(Kind::Forceps, tension);
        let left = HandCommand::new(Pose { position, ..from }, opening);
        world.step(&TickCommand { right, left, events: Vec::new() });
    }
}

fn held(world: &World) -> f64 {
    world.strand_hold(LEFT).expect("the left hand holds the strand").material
}

/// How far behind the pads the next node lies [mm].
fn next_node(world: &World) -> f64 {
    let (material, held) = (&world.rod.material, held(world));
    held - material[material.partition_point(|&s| s < held) - 1]
}

#[test]
fn slack_runs_into_the_palm_where_edges_are_longer_than_fingers_and_pads_are_apart() {
    let mut world = World::threaded_bench();
    let (start, home) = (held(&world), world.pose(LEFT).position);
    let outward = home.normalize();
    let mut paid_out = 20.0;
    lead(&mut world, home + outward * paid_out, 50.0, 30);
    while next_node(&world) < 1.02 {
        paid_out += 0.05;
        lead(&mut world, home + outward * paid_out, 50.0, 5);
        assert!(
            paid_out < 23.0,
            "edges of 1.2 mm are in the pads, so that some node is farther away: {}",
            next_node(&world)
        );
    }
    // Gum gives and the thread stretches: not all of the hand's way is paid out.
    let out = held(&world);
    assert!(start - out > 15.0, "of {paid_out} mm {:.1} are paid out", start - out);
    // The strand leaves the pads towards the palm's side of the hand: a pull into the palm on the strand in front of the
    // pads would draw it out of them.
    let beyond = DVec3::new(25.0, -20.0, 10.0);
    lead(&mut world, beyond, 50.0, 40);
    // Less than half an edge of 1.2 mm: as good as nothing beside the 20 mm that a strand runs which is not held.
    assert!((held(&world) - out).abs() < 0.5, "a strand that is held stays out while it is slack");
    lead(&mut world, beyond, 0.0, 60);
    // The strand may be taut before all is back, but it goes into the palm and not out of it.
    let back = held(&world) - out;
    assert!(back > 10.0, "of {:.1} mm paid out {back:.1} are gathered", start - out);
}
