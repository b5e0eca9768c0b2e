//! Stretch, bending and weight of a thread at rest.

use super::lay::GUT;
use super::{Bench, Case, check, line};
use knotwright::math::{DVec3, acos};
use knotwright::rod::Section;
use std::f64::consts::PI;

const ELASTICA: &str =
    "Bisshopp & Drucker 1945, Quart. Appl. Math. 3:272; their curves as numbers by elliptic integrals";

const CASES: &[Case] = &[
    Case {
        law: "strain of 150 mm of thread under 5 N over F / EA",
        source: "Hooke's law",
        expected: 1.0,
        tolerance: 0.005,
        reason: "asked for; the drag left after 2 s is below 1e-6 of it",
        measure: end_load_strain,
    },
    Case {
        law: "cantilever, P L^2 / B = 1: drop / L",
        source: ELASTICA,
        expected: 0.301_721,
        tolerance: 0.001,
        reason: "60 edges: of second order in the edge, (1/60)^2 times a few",
        measure: || tip(1.0).0,
    },
    Case {
        law: "cantilever, P L^2 / B = 3: drop / L",
        source: ELASTICA,
        expected: 0.603_253,
        tolerance: 0.001,
        reason: "as above",
        measure: || tip(3.0).0,
    },
    Case {
        law: "cantilever, P L^2 / B = 10: drop / L",
        source: ELASTICA,
        expected: 0.810_609,
        tolerance: 0.001,
        reason: "as above",
        measure: || tip(10.0).0,
    },
    Case {
        law: "cantilever, P L^2 / B = 10: reach / L",
        source: ELASTICA,
        expected: 0.445_004,
        tolerance: 0.001,
        reason: "as above",
        measure: || tip(10.0).1,
    },
    Case {
        law: "moment 2 pi B / L rolls a straight thread to a circle: turn / 2 pi",
        source: "Euler and Bernoulli: curvature is moment over stiffness",
        expected: 1.0,
        tolerance: 0.003,
        reason: "60 corners of 6 degrees: sine for angle, 0.18 %",
        measure: rolled_turn,
    },
    Case {
        law: "chain of length 1.5 spans: sag / span",
        source: "catenary, Huygens, Leibniz and Bernoulli 1691, closed form",
        expected: 0.502_633,
        tolerance: 0.002,
        reason: "60 edges: of second order",
        measure: || hung().0,
    },
    Case {
        law: "chain of length 1.5 spans: level tension / weight of a span",
        source: "catenary, closed form",
        expected: 0.308_236,
        tolerance: 0.002,
        reason: "60 edges: of second order",
        measure: || hung().1,
    },
];

#[test]
fn a_thread_at_rest_obeys_the_strength_of_materials() {
    check(CASES);
}

#[test]
fn a_straight_thread_without_load_stays_exactly_where_it_is() {
    let section = Section { weight: 0.0, ..GUT };
    let mut bench = Bench::new(section, line(DVec3::ZERO, DVec3::new(0.6, 0.0, 0.8), 0.45, 100));
    let before = bench.rod.positions.clone();
    bench.run(50, 2.0);
    let moved = before.iter().zip(&bench.rod.positions).map(|(a, b)| a.distance(*b)).fold(0.0, f64::max);
    // Rounding of the edges' lengths, 1e-16, against a stiffness of EA.
    assert!(moved < 1e-12, "moved by {moved} mm");
}

fn end_load_strain() -> f64 {
    let load = 5000.0;
    let mut bench = Bench::new(Section { weight: 0.0, ..GUT }, line(DVec3::ZERO, DVec3::X, 1.5, 100));
    bench.hold(&[0]);
    bench.around.loads = vec![(100, DVec3::X * load)];
    bench.run(20, 100.0);
    let strain = bench.rod.positions[100].x / 150.0 - 1.0;
    strain / (load / GUT.axial_stiffness)
}

/// Two held nodes clamp a thread half an edge before the second: its bending is spread half an edge to each side.
const CLAMPED_EDGES: usize = 60;
const CLAMPED_LENGTH: f64 = 20.0;

fn clamped(mesh: f64) -> Bench {
    let thin = Section { weight: 0.0, radius: 1e-3, ..GUT };
    let mut bench = Bench::new(thin, line(DVec3::X * (-0.5 * mesh), DVec3::X, mesh, CLAMPED_EDGES + 1));
    bench.hold(&[0, 1]);
    bench
}

/// Drop and reach of the loaded tip, over the length.
fn tip(load: f64) -> (f64, f64) {
    let mesh = CLAMPED_LENGTH / (CLAMPED_EDGES as f64 + 0.5);
    let mut bench = clamped(mesh);
    let force = load * GUT.bending_stiffness / (CLAMPED_LENGTH * CLAMPED_LENGTH);
    bench.around.loads = vec![(bench.last(), DVec3::Z * -force)];
    bench.run(30, 1e6);
    let tip = bench.rod.positions[bench.last()];
    (-tip.z / CLAMPED_LENGTH, tip.x / CLAMPED_LENGTH)
}

/// Turn of a thread under an end moment, a couple of two forces on its last edge that follow it.
fn rolled_turn() -> f64 {
    let mesh = CLAMPED_LENGTH / CLAMPED_EDGES as f64;
    let mut bench = clamped(mesh);
    let moment = 2.0 * PI * GUT.bending_stiffness / CLAMPED_LENGTH;
    let last = bench.last();
    let steps = 400;
    for k in 0..steps {
        let share = ((k + 1) as f64 / 300.0).min(1.0);
        let edge = bench.rod.positions[last] - bench.rod.positions[last - 1];
        let side = edge.normalize().cross(DVec3::Y) * (-share * moment / mesh);
        bench.around.loads = vec![(last, side), (last - 1, -side)];
        bench.run(1, 100.0);
    }
    let corner = |p: &[DVec3]| acos((p[1] - p[0]).normalize().dot((p[2] - p[1]).normalize()));
    bench.rod.positions.windows(3).map(corner).sum::<f64>() / (2.0 * PI)
}

/// Sag over span, and level tension over the weight of a span, of a limp thread hung from both ends.
fn hung() -> (f64, f64) {
    let (edges, span) = (60, 40.0);
    let limp = Section { bending_stiffness: 1e-4, twist_stiffness: 1e-4, ..GUT };
    let half = 0.5 * span;
    // Half of 60 mm on each arm of a V.
    let depth = (30.0_f64 * 30.0 - half * half).sqrt();
    let points = (0..=edges).map(|k| {
        let x = span * k as f64 / edges as f64 - half;
        DVec3::new(x, 0.0, -depth * (1.0 - x.abs() / half))
    });
    let mut bench = Bench::new(limp, points.collect());
    bench.hold(&[0, edges]);
    bench.settings.tolerance = 1e-7;
    bench.run(60, 1e7);
    let middle = bench.rod.positions[edges / 2];
    let level = bench.pull_on_edge(edges / 2).x;
    (-middle.z / span, level / (GUT.weight * span))
}
