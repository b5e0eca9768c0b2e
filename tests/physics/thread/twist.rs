//! Twist: linking is kept, and a twisted thread buckles when it should.

use super::lay::GUT;
use super::{Bench, line};
use knotwright::math::DVec3;
use knotwright::rod::{Rod, Section};
use knotwright::topology::writhe;
use std::f64::consts::PI;

/// Twist of the material over the whole thread [turns].
pub(super) fn twist(rod: &Rod) -> f64 {
    let nodes = 1..rod.node_count() - 1;
    nodes.map(|i| rod.spin[i] - rod.spin[i - 1] + rod.reference_twist[i]).sum::<f64>() / (2.0 * PI)
}

/// Writhe of the thread led out straight along x at both ends and closed far away in a plane.
pub(super) fn closed_writhe(rod: &Rod) -> f64 {
    let far = 1e5;
    let out = |end: DVec3, side: f64| {
        let straight = end + DVec3::X * (side * far);
        [straight, straight + DVec3::Y * far]
    };
    let (first, last) = (rod.positions[0], rod.positions[rod.node_count() - 1]);
    let [near, corner] = out(first, -1.0);
    let mut ring = vec![corner, near];
    ring.extend(&rod.positions);
    ring.extend(out(last, 1.0));
    ring.push(corner);
    writhe(&ring)
}

#[test]
fn linking_is_twist_plus_writhe_and_stays_while_an_end_is_moved() {
    // Calugareanu 1961, White 1969, Fuller 1971: linking = twist + writhe.
    let section = Section { weight: 0.0, ..GUT };
    let mut bench = Bench::new(section, line(DVec3::ZERO, DVec3::X, 0.6, 100));
    let last = bench.last();
    for (k, place) in bench.rod.positions.iter_mut().enumerate().skip(2).take(last - 3) {
        place.y += 1e-3 * (k as f64 * 0.7 - 35.0);
    }
    bench.hold(&[0, 1, last - 1, last]);
    bench.settings.tolerance = 0.05;
    bench.settings.drag = 30.0;
    let turns = 3.0;
    for _ in 0..200 {
        bench.rod.spin[last - 1] += turns * 2.0 * PI / 200.0;
        bench.run(1, 2.0);
    }
    assert!((twist(&bench.rod) + closed_writhe(&bench.rod) - turns).abs() < 1e-3);
    let mut writhe_max: f64 = 0.0;
    for k in 0..300 {
        for node in [last - 1, last] {
            bench.rod.positions[node].x -= 0.06;
        }
        bench.run(1, 2.0);
        if k % 20 == 19 {
            let (twist, writhe) = (twist(&bench.rod), closed_writhe(&bench.rod));
            writhe_max = writhe_max.max(writhe.abs());
            // What the far closure adds is the thread's size over its distance, 1e-3.
            assert!((twist + writhe - turns).abs() < 2e-3, "step {k}: twist {twist} + writhe {writhe}, not {turns}");
        }
    }
    assert!(writhe_max > 0.5, "the thread stayed straight: writhe at most {writhe_max}");
}

/// Moment times length over bending stiffness, for a straight thread clamped at both ends and twisted so far; and how far
/// it has bowed out after a small push [mm].
fn twisted(turn: f64) -> (f64, f64) {
    let thin = Section { weight: 0.0, radius: 1e-3, ..GUT };
    let (edges, mesh) = (42, 0.5);
    let mut bench = Bench::new(thin, line(DVec3::ZERO, DVec3::X, mesh, edges));
    bench.hold(&[0, 1, edges - 1, edges]);
    bench.settings.tolerance = 1e-6;
    for k in 2..edges - 1 {
        let share = (k - 1) as f64 / (edges - 2) as f64;
        bench.rod.positions[k].y = 1e-4 * knotwright::math::sin(PI * share);
    }
    bench.rod.spin[edges - 1] = turn;
    bench.run(200, 1e4);
    let middle = edges / 2;
    let rate = (bench.rod.spin[middle] - bench.rod.spin[middle - 1] + bench.rod.reference_twist[middle]) / mesh;
    let length = mesh * (edges - 1) as f64;
    let bow = bench.rod.positions.iter().map(|p| (p.y * p.y + p.z * p.z).sqrt()).fold(0.0, f64::max);
    (rate * GUT.twist_stiffness * length / GUT.bending_stiffness, bow)
}

#[test]
fn a_clamped_straight_thread_buckles_under_the_twist_that_greenhill_found() {
    // Greenhill 1883, clamped ends without tension: M L / B = 8.9868 (from memory; the root of tan(x/2) = x/2).
    let critical = 8.9868;
    let per_turn = twisted(0.1).0 / 0.1;
    for (share, buckles) in [(0.97, false), (1.03, true)] {
        let (_, bow) = twisted(share * critical / per_turn);
        // Pushed out by 1e-4 mm: each of 200 steps takes it on by its share of the limit, 1.03^200 = 370.
        assert_eq!(bow > 1e-3, buckles, "at {share} of the limit it bowed out by {bow} mm");
    }
}
