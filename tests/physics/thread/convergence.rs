//! How the thread's numbers come to their laws as meshes and steps get finer: with the order that the discretisation should
//! have, not only near enough.
//!
//! The order between two sizes h and k with errors e and f against a closed form is ln(e / f) / ln(h / k) (Roache 1994, J.
//! Fluids Eng. 116:405, from memory). Chords and their corners stand for a curve with an error of second order: the energy
//! of bending takes 2 sin(a / 2) for a corner a, a series in a^2, and the mid-point rule between nodes is even in h too.
//! Time is stepped by implicit Euler, of first order where drag decides.
//!
//! What does not hang on the step at all is here, too, but for relaxation, which each step does exactly (`material.rs`).

use super::capstan::{LIMP, Wrap, exponent, with_couple};
use super::lay::GUT;
use super::{Bench, line};
use knotwright::math::{DVec3, cos, exp, ln, pow, sin};
use knotwright::rod::Section;
use knotwright::rod::step::forces;
use knotwright::rod::surroundings::{NoTissue, Plane};
use std::f64::consts::PI;

const LENGTH: f64 = 20.0;

/// So thin that it touches nothing, so stiff along itself that its stretch does not count.
const STIFF: Section = Section { weight: 0.0, radius: 1e-3, axial_stiffness: 1e8, ..GUT };

/// So thin that it touches nothing, so weak along itself that a small bow between fixed ends draws no tension: a bow of
/// `BOW` stretches by (pi BOW / 2 L)^2 = 6e-9.
const WEAK: Section = Section { axial_stiffness: 1e3, ..STIFF };
const BOW: f64 = 1e-3;

/// A law that is met at no size, and by which order its error goes with the size.
struct Refined {
    law: &'static str,
    source: &'static str,
    limit: f64,
    order: f64,
    /// How far the order between two neighbouring sizes may be from it.
    within: f64,
    reason: &'static str,
    /// Into how many parts a length, an angle or a time is divided; ascending.
    parts: &'static [usize],
    /// Size of a part, in any unit, and what is found with it.
    measure: fn(usize) -> (f64, f64),
}

const SPACE: &[Refined] = &[
    Refined {
        law: "cantilever, P L^2 / B = 3: drop / L",
        source: "Bisshopp & Drucker 1945, Quart. Appl. Math. 3:272; the elliptic integrals worked out anew",
        limit: 0.603_253_441,
        order: 2.0,
        within: 0.1,
        reason: "the next term is of fourth order",
        parts: &[7, 22, 67],
        measure: cantilever,
    },
    Refined {
        law: "elastica between pins with end slopes of 60 degrees: F L^2 / B = 4 K(sin 30)^2",
        source: "Euler 1744; Love (textbook, elliptic integrals)",
        limit: 11.367_017_035,
        order: 2.0,
        within: 0.1,
        reason: "the next term is of fourth order",
        parts: &[10, 20, 40],
        measure: elastica,
    },
    Refined {
        law: "clamped straight thread without tension: it buckles at M L / B",
        source: "Greenhill 1883 (from memory; the root of tan(x / 2) = x / 2)",
        limit: 8.986_818_916,
        order: 2.0,
        within: 0.1,
        reason: "the next term is of fourth order",
        parts: &[20, 40, 80],
        measure: greenhill,
    },
    Refined {
        law: "limp thread half round a cylinder of a hundred radii: exponent over that of the law with the thread's thickness",
        source: "Euler; Eytelwein (textbook); the couple of friction as in capstan.rs",
        limit: 1.0,
        order: 2.0,
        within: 0.1,
        reason: "the next term is of fourth order; drag of the slow sliding is 1e-4",
        parts: &[6, 12, 24],
        measure: capstan,
    },
];

#[test]
fn finer_meshes_come_to_the_law_with_second_order() {
    check(SPACE);
}

fn check(cases: &[Refined]) {
    for Refined { law, source, limit, order, within, reason, parts, measure } in cases {
        let found: Vec<(f64, f64)> = parts.iter().map(|&count| measure(count)).collect();
        for pair in found.windows(2) {
            let [(coarse, first), (fine, second)] = [pair[0], pair[1]];
            let seen = ln((first - limit) / (second - limit)) / ln(coarse / fine);
            assert!(
                (seen - order).abs() <= *within,
                "{law}: order {seen}, not {order} +- {within} ({reason}); {found:?} toward {limit}; {source}"
            );
        }
    }
}

fn cantilever(edges: usize) -> (f64, f64) {
    // Two held nodes clamp it half an edge before the second.
    let mesh = LENGTH / (edges as f64 + 0.5);
    let mut bench = Bench::new(STIFF, line(DVec3::X * (-0.5 * mesh), DVec3::X, mesh, edges + 1));
    bench.hold(&[0, 1]);
    bench.settings.tolerance = 1e-8;
    bench.around.loads = vec![(bench.last(), DVec3::Z * (-3.0 * GUT.bending_stiffness / (LENGTH * LENGTH)))];
    bench.run(30, 1e6);
    (mesh, -bench.rod.positions[bench.last()].z / LENGTH)
}

fn elastica(edges: usize) -> (f64, f64) {
    let mesh = LENGTH / edges as f64;
    let mut points = vec![DVec3::ZERO];
    for k in 0..edges {
        let slope = PI / 3.0 * cos(PI * (k as f64 + 0.5) / edges as f64);
        points.push(points[k] + DVec3::new(cos(slope), 0.0, sin(slope)) * mesh);
    }
    let mut bench = Bench::new(STIFF, points);
    let last = bench.last();
    bench.rod.rest_lengths = vec![mesh; edges];
    bench.hold(&[0, last]);
    bench.settings.tolerance = 1e-7;
    let way = 0.741_019_606 * LENGTH - bench.rod.positions[last].x;
    for _ in 0..20 {
        bench.rod.positions[last] += DVec3::X * (way / 20.0);
        bench.run(1, 1e6);
    }
    bench.run(20, 1e6);
    let thrust = forces(&bench.rod, &bench.around, &NoTissue, &mut bench.memory, &bench.settings).nodes[last].x;
    (mesh, thrust * LENGTH * LENGTH / GUT.bending_stiffness)
}

/// The twisting moment at which a small bow neither grows nor fades, found by halving.
fn greenhill(edges: usize) -> (f64, f64) {
    let mesh = LENGTH / (edges - 1) as f64;
    let grows = |moment: f64| {
        let mut bench = Bench::new(WEAK, line(DVec3::ZERO, DVec3::X, mesh, edges));
        bench.hold(&[0, 1, edges - 1, edges]);
        bench.settings.tolerance = 1e-9;
        for k in 2..edges - 1 {
            bench.rod.positions[k].y = BOW * sin(PI * (k - 1) as f64 / (edges - 2) as f64);
        }
        // Between the middles of the clamped edges, on which the spin is held.
        let turn = moment * GUT.bending_stiffness / (GUT.twist_stiffness * LENGTH) * mesh * (edges - 1) as f64;
        bench.rod.spin[edges - 1] = turn;
        // Near its own time against drag, some milliseconds: where a bow grows, steps of many such times make it fade instead, as
        // implicit Euler does.
        let step = 10.0;
        let bow = |bench: &Bench| bench.rod.positions.iter().map(|p| p.y * p.y + p.z * p.z).sum::<f64>();
        bench.run(30, step);
        let early = bow(&bench);
        bench.run(30, step);
        bow(&bench) > early
    };
    let (mut low, mut high) = (7.0, 12.0);
    for _ in 0..20 {
        let middle = 0.5 * (low + high);
        if grows(middle) { high = middle } else { low = middle }
    }
    (mesh, 0.5 * (low + high))
}

fn capstan(corners: usize) -> (f64, f64) {
    let corner_degrees = 180.0 / corners as f64;
    let (radius_ratio, friction) = (100.0, 0.2);
    let wrap = Wrap { radius_ratio, turns: 0.5, friction, tautness: 10.0 * LIMP, corner_degrees };
    (corner_degrees, exponent(wrap) / (with_couple(radius_ratio, friction) * PI))
}

/// A thread that is pressed on a table, edges and force at each of its free nodes [mN].
const EDGES: usize = 20;
const PRESS: f64 = 5.0;

const TIME: &[Refined] = &[Refined {
    law: "a bowed thread between pins goes straight against drag: share left when exp(-1) is",
    source: "B y'''' = -c y' (textbook)",
    limit: 0.0,
    order: 1.0,
    within: 0.1,
    reason: "implicit Euler",
    parts: &[16, 32, 64],
    measure: fading,
}];

#[test]
fn shorter_steps_come_to_the_law_of_drag_with_first_order() {
    check(TIME);
}

fn fading(steps: usize) -> (f64, f64) {
    let edges = 40;
    let mesh = LENGTH / edges as f64;
    let mut bench = Bench::new(WEAK, line(DVec3::ZERO, DVec3::X, mesh, edges));
    bench.hold(&[0, edges]);
    bench.settings.tolerance = 1e-9;
    let wave = |k: usize| sin(PI * k as f64 / edges as f64);
    for k in 1..edges {
        bench.rod.positions[k].y = BOW * wave(k);
    }
    // B k^4 of a chain: (2 sin(k h / 2) / h)^2 for k^2.
    let chain = 2.0 * sin(0.5 * PI / edges as f64) / mesh;
    let time = bench.settings.drag / (GUT.bending_stiffness * pow(chain, 4.0));
    bench.run(steps, time / steps as f64);
    let left = bench.rod.positions[edges / 2].y / BOW;
    (1.0 / steps as f64, left - exp(-1.0))
}

#[test]
fn a_thread_falls_through_drag_at_weight_over_drag_whatever_the_step() {
    for (steps, dt) in [(1000, 1.0), (10, 100.0), (1, 1000.0)] {
        let section = Section { weight: GUT.weight, ..WEAK };
        let mut bench = Bench::new(section, line(DVec3::ZERO, DVec3::X, 0.5, 20));
        bench.settings.tolerance = 1e-9;
        bench.run(steps, dt);
        let fallen = -bench.rod.positions[10].z;
        // No inertia, so it falls evenly from the first moment: weight over drag per length.
        let law = GUT.weight / bench.settings.drag * 1000.0;
        assert!((fallen / law - 1.0).abs() < 1e-5, "{steps} steps of {dt} ms: {fallen} mm, not {law}");
    }
}

#[test]
fn stick_and_slip_come_out_the_same_in_one_step_as_in_a_hundred() {
    // Friction springs with a limit are integrated exactly while what presses stays the same (return mapping).
    let fine = stick_slip(100);
    let limit = 0.3 * PRESS * EDGES as f64;
    // The first node bends up to the held one, which lies higher by what presses the others in, 2.5e-5 mm: a corner of 5e-5
    // takes 1e-4 of its pressing away, and changes a little as the end is drawn. The same for the steps: 1.5e-5 were seen.
    assert!((fine[0] / limit - 1.0).abs() < 1e-3, "it slides at {} mN, not {limit}", fine[0]);
    for steps in [1, 3, 10] {
        let found = stick_slip(steps);
        let off = [0, 1].map(|k| (found[k] - fine[k]).abs() / limit);
        assert!(off[0].max(off[1]) < 1e-4, "{steps} steps: {found:?} mN, in a hundred {fine:?}");
    }
}

/// Pull [mN] on the end of a thread on a table: when it was drawn until all of it slides, and when it was then let back
/// until a part of it slides the other way.
fn stick_slip(steps: usize) -> [f64; 2] {
    let mut bench = Bench::new(GUT, line(DVec3::Z * GUT.radius, DVec3::X, 0.5, EDGES));
    let ground = Plane { point: DVec3::ZERO, normal: DVec3::Z, shift: DVec3::ZERO, stiffness: 2e5, friction: 0.3 };
    bench.around.planes = vec![ground];
    bench.around.loads = (1..=EDGES).map(|node| (node, DVec3::Z * -PRESS)).collect();
    bench.hold(&[0]);
    bench.settings.tolerance = 1e-8;
    bench.run(10, 1e6);
    [-0.02, 0.002].map(|way| {
        for _ in 0..steps {
            bench.rod.positions[0].x += way / steps as f64;
            bench.run(1, 1e6);
        }
        let forces = forces(&bench.rod, &bench.around, &NoTissue, &mut bench.memory, &bench.settings);
        forces.nodes[0].x
    })
}
