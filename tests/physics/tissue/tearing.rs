//! Holes that give way.

use knotwright::math::DVec3;
use knotwright::quantity::TICK_MS;
use knotwright::tissue::Side;
use knotwright::tissue::tearing::Tear;

use super::{assert_near, flaps_with, hold, limit, toward_wound};

#[test]
fn a_torn_hole_stays_torn_and_moves_to_the_edge() {
    let (mut flaps, bites) = flaps_with(6.0, &[(Side::Cheek, 0.0, 1.0)]);
    let bite = bites[0];
    let rest = flaps.rest_point(bite);
    let start = flaps.tear_force(bite);
    hold(&mut flaps, &[toward_wound(bite, 0.4 * start)], 1.0);
    assert_eq!(flaps.tear(bite), Tear::default(), "below half of the tear force nothing lasts");
    hold(&mut flaps, &[toward_wound(bite, 0.8 * start)], 0.01);
    assert!(flaps.tear(bite).elongation_mm > 0.0 && flaps.tear(bite).slit_mm == 0.0);
    hold(&mut flaps, &[toward_wound(bite, 1.5 * start)], 0.15);
    let torn = flaps.tear(bite);
    assert!(torn.slit_mm > 0.05 && !torn.torn_through, "{torn:?}");
    assert_near(flaps.rest_point(bite).y, rest.y - torn.advance(), 1e-12, "seat of the thread");
    assert!(flaps.tear_force(bite) < start);
    hold(&mut flaps, &[], 60.0);
    assert_eq!(flaps.tear(bite), torn, "nothing heals");
    hold(&mut flaps, &[toward_wound(bite, 1.5 * start)], 2.0);
    assert!(flaps.tear(bite).torn_through);
    assert_eq!(flaps.bite_energy(bite, DVec3::ONE).energy, 0.0, "nothing is left to hold the thread");
    assert_eq!(flaps.flap(Side::Cheek).edge_y(0.0), 3.0, "and the flap goes back");
}

#[test]
fn a_soft_pull_runs_through_and_a_stiff_one_stops() {
    // The tear force falls as the slit nears the edge; the pull falls by its own stiffness times what the slit yields.
    // Above that fall a slit is stable (energy balance: Griffith 1921; from memory), below it runs through.
    let limit = limit(1.0, 0.22);
    let torn = [1.0, 20.0].map(|stiffness_n_per_mm| {
        let (mut tear, start) = (Tear::default(), 1.3 * limit.force(2.0));
        for _ in 0..600 {
            tear.step(start - 1000.0 * stiffness_n_per_mm * tear.advance(), 2.0, &limit, TICK_MS);
        }
        tear
    });
    assert!(torn[0].torn_through, "{:?}", torn[0]);
    assert!(!torn[1].torn_through && torn[1].advance() > 0.1, "{:?}", torn[1]);
}
