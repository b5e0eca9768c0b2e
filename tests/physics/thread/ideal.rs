//! A closed trefoil of limp thread without friction, drawn tight until it cannot get shorter: an ideal knot.

use super::Bench;
use super::lay::GUT;
use crate::slow;
use knotwright::math::{DVec3, cos, sin};
use knotwright::pull::resampled;
use knotwright::rod::Section;
use knotwright::topology::writhe;
use std::f64::consts::PI;

/// Length over diameter: Gilbert's Fourier shapes, 16.371637; Ashton, Cantarella, Piatek & Rawdon 2011, Exp. Math. 20:57, half of
/// 32.7436.
const ROPELENGTH: f64 = 16.3716;
/// Of shapes as tight as that: 3.394 (Katritch et al. 1996, Nature 384:142, from memory) to 3.415 (a published polygon of
/// 328 edges).
const WRITHE: [f64; 2] = [3.394, 3.415];

/// Tension [mN]: bending is a thousandth of it over the square of the diameter, and contacts give 1e-4 of the diameter.
const TENSION: f64 = 1000.0;
const AXIAL: f64 = 1e5;

fn length(points: &[DVec3]) -> f64 {
    points.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
}

/// A trefoil on a torus, the shortest of that shape, a little longer than it need be; in diameters.
fn on_torus(edges: usize) -> Vec<DVec3> {
    let on = |k: usize| {
        let angle = 2.0 * PI * k as f64 / 3000.0;
        let away = 1.0 + 0.44 * cos(3.0 * angle);
        DVec3::new(away * cos(2.0 * angle), away * sin(2.0 * angle), 0.44 * sin(3.0 * angle))
    };
    let points: Vec<DVec3> = (0..=3000).map(on).collect();
    let whole = length(&points);
    resampled(&points, whole / edges as f64).iter().map(|place| *place * (17.7 / whole)).collect()
}

/// Length over diameter and writhe, without sign, of a trefoil of so many edges drawn tight.
fn tight(edges: usize) -> [f64; 2] {
    let section = Section {
        radius: 0.5,
        axial_stiffness: AXIAL,
        bending_stiffness: 1.0,
        twist_stiffness: 1.0,
        yield_curvature: f64::INFINITY,
        friction_thread: 0.0,
        contact_stiffness: 1e7,
        weight: 0.0,
        ..GUT
    };
    let mut bench = Bench::new(section, on_torus(edges));
    let last = bench.last();
    bench.rod.positions[last] = bench.rod.positions[0];
    bench.rod.ring = true;
    bench.hold(&[0, last]);
    bench.settings.tolerance = 1e-5 * TENSION;
    bench.settings.drag = 0.01;
    for rest in &mut bench.rod.rest_lengths {
        *rest *= 0.965;
    }
    for _ in 0..60 {
        let tension = (0..last).map(|edge| bench.rod.tension(edge)).sum::<f64>() / last as f64;
        let longer = ((tension - TENSION) / AXIAL).clamp(-2e-3, 2e-3);
        for rest in &mut bench.rod.rest_lengths {
            *rest *= 1.0 + longer;
        }
        bench.run(1, 1000.0);
    }
    assert!(bench.report.residual < bench.settings.tolerance, "{edges} edges: {} mN are left", bench.report.residual);
    [length(&bench.rod.positions), writhe(&bench.rod.positions[1..]).abs()]
}

#[test]
fn a_closed_trefoil_drawn_tight_has_the_length_and_the_writhe_of_the_ideal_one() {
    let meshes: &[[usize; 2]] = if slow::wanted() { &[[36, 48], [72, 96]] } else { &[[36, 48]] };
    for &[coarse, fine] in meshes {
        let (first, second) = (tight(coarse), tight(fine));
        // Of second order in the edge: chords within a tube, and the corners of one strand on the chords of the other.
        let square = (fine as f64 / coarse as f64) * (fine as f64 / coarse as f64) - 1.0;
        let [ropelength, writhe] = [0, 1].map(|k| second[k] + (second[k] - first[k]) / square);
        // 48 edges are 0.35 diameters long and come to 1.4 %, 96 to 0.3 %; of that the next order leaves a tenth.
        assert!(
            (ropelength / ROPELENGTH - 1.0).abs() < 0.002 && second[0] > ROPELENGTH,
            "{fine} edges: {second:?}, at no mesh {ropelength}, not {ROPELENGTH}"
        );
        // Published shapes differ by 0.6 % themselves.
        let within = WRITHE[0] - 0.01..WRITHE[1] + 0.01;
        assert!(within.contains(&writhe), "{fine} edges: writhe {writhe} at no mesh, published {WRITHE:?}");
    }
}
