//! Loose overhand knots in an elastic thread, against the matched asymptotics of Audoly, Clauvelin and Neukirch.
//!
//! With thread radius h, loop radius R and eps = sqrt(h / R) their law is F h^2 / B = eps^4 / 2 +- mu sigma eps^3 to leading order
//! in eps, sigma = 0.492: the contact forces add up to sigma eps^3 B / h^2, and friction adds mu times that.

use super::Bench;
use super::lay::GUT;
use super::several::{FEW, longer, members};
use crate::slow;
use knotwright::math::{DVec3, pow};
use knotwright::pull::{Throw, looped};
use knotwright::rod::Section;
use std::f64::consts::PI;

const SOURCE: &str = "Audoly, Clauvelin & Neukirch 2007, Phys. Rev. Lett. 99:164301";
const SIGMA: f64 = 0.492;

const RADIUS: f64 = 0.1;
const BENDING: f64 = 100.0;
/// B / h^2, the unit of force [mN].
const UNIT: f64 = BENDING / (RADIUS * RADIUS);
/// Drag per length [mN ms/mm^2], so small that what it adds to a pull over hours is not seen.
const DRAG: f64 = 0.1;

/// An overhand knot with straight tails, at rest without friction.
struct Overhand {
    bench: Bench,
    /// The scale of the braid, sqrt(h R) [mm].
    inner: f64,
    /// The time in which the loop comes to rest by drag [ms].
    rest_ms: f64,
}

impl Overhand {
    /// A loop of about sqrt(radius / loop radius) = `eps` and a braid of so many wraps, laid with its braid spread out and let come to rest.
    fn at_rest(eps: f64, wraps: usize) -> Overhand {
        Overhand::laid_at_rest(eps, wraps, 1.0)
    }

    /// The same, laid so many times as long.
    fn laid_at_rest(eps: f64, wraps: usize, longer: f64) -> Overhand {
        let ring = RADIUS / (eps * eps);
        let inner = (RADIUS * ring).sqrt();
        let section = Section {
            radius: RADIUS,
            // So stiff along itself that it does not count beside the loop.
            axial_stiffness: 1e6,
            bending_stiffness: BENDING,
            twist_stiffness: 0.77 * BENDING,
            yield_curvature: f64::INFINITY,
            friction_thread: 0.0,
            weight: 0.0,
            ..GUT
        };
        let mut bench = Bench::new(section, laid(ring, inner, wraps).into_iter().map(|place| place * longer).collect());
        let last = bench.last();
        bench.hold(&[0, last]);
        bench.settings.iterations_max = 60;
        bench.settings.drag = DRAG;
        bench.settings.tolerance = 5e-4 * BENDING / (ring * ring);
        let rest_ms = DRAG * ring * ring * ring * ring / BENDING;
        for (steps, share) in [(40, 5e-4), (40, 0.4), (40, 40.0), (5, 400.0)] {
            bench.run(steps, share * rest_ms);
        }
        let left = bench.report.residual;
        assert!(left < bench.settings.tolerance, "eps {eps}: {left} mN out of balance");
        Overhand { bench, inner, rest_ms }
    }

    /// Pull on the ends [mN].
    fn pull(&self) -> f64 {
        let last = self.bench.last();
        (1..5).map(|i| self.bench.rod.tension(last - i)).sum::<f64>() / 4.0
    }

    /// Sum of all contact forces [mN].
    fn pressing(&self) -> f64 {
        self.bench.memory.touches.iter().map(|touch| touch.force).sum()
    }

    /// What the loop has drawn in: length of thread less the distance of its ends [mm].
    fn shortening(&self) -> f64 {
        let places = &self.bench.rod.positions;
        self.bench.rod.rest_lengths.iter().sum::<f64>() - places[0].distance(places[self.bench.last()])
    }

    /// Draws one end out by `by` [mm], slowly; the mean pull over the last sixth of the way [mN].
    fn drawn(&mut self, by: f64) -> f64 {
        let (steps, averaged) = (120, 20);
        let last = self.bench.last();
        let outward = (self.bench.rod.positions[last] - self.bench.rod.positions[0]).normalize();
        let mut sum = 0.0;
        for k in 0..steps {
            self.bench.rod.positions[last] += outward * (by / steps as f64);
            self.bench.run(1, 40.0 * self.rest_ms);
            if k >= steps - averaged {
                sum += self.pull();
            }
        }
        sum / averaged as f64
    }
}

/// A throw with the loop that closes it, its braid drawn out to about what it will be; meshed by a quarter of the
/// braid's scale where strands meet, and coarser away from there.
fn laid(ring: f64, inner: f64, wraps: usize) -> Vec<DVec3> {
    let (scale, half_braid, tail) = (1.5 * inner, 0.4 * (2 * wraps + 1) as f64, 4.0 * ring);
    let arc = 2.0 * PI * ring / (PI + 2.0) / scale + 0.3 * half_braid;
    let points: Vec<DVec3> = looped(&[Throw { wraps, hand: 1.0 }], arc - half_braid, tail / scale)
        .iter()
        .map(|point| *point * scale)
        .collect();
    let total: f64 = points.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let first = tail + half_braid * scale;
    let mesh = |s: f64| {
        let away = ((s - first).abs().min((s - total + first).abs()) - 5.2 * inner).max(0.0);
        (0.25 * inner + 0.2 * away).min(0.06 * ring)
    };
    let (mut out, mut gone, mut next) = (vec![points[0]], 0.0, mesh(0.0));
    for pair in points.windows(2) {
        let length = pair[0].distance(pair[1]);
        while gone + length >= next {
            out.push(pair[0].lerp(pair[1], (next - gone) / length));
            next += mesh(next);
        }
        gone += length;
    }
    out
}

/// The parabola through three points, at zero.
fn at_zero(points: [(f64, f64); 3]) -> f64 {
    let weight = |k: usize| {
        let others = (0..3).filter(|&other| other != k);
        others.map(|other| points[other].0 / (points[other].0 - points[k].0)).product::<f64>()
    };
    (0..3).map(|k| points[k].1 * weight(k)).sum()
}

#[test]
fn the_contact_forces_of_a_loose_overhand_knot_come_to_the_sigma_of_the_asymptotics() {
    let points = [0.07, 0.1, 0.2].map(|eps| {
        let knot = Overhand::at_rest(eps, 1);
        // By the pull and not by the loop, whose radius is known only to leading order.
        let eps = (2.0 * knot.pull() / UNIT).sqrt().sqrt();
        (eps, knot.pressing() / UNIT / (eps * eps * eps))
    });
    let sigma = at_zero(points);
    // 5 % is asked for. The law is of leading order: at 0.07, 0.1 and 0.2 it is 0.60, 0.65 and 0.82, a parabola to 1 %.
    assert!((sigma / SIGMA - 1.0).abs() < 0.05, "sigma {sigma} from {points:?}, {SIGMA} by {SOURCE}");
}

#[test]
fn friction_adds_its_coefficient_times_the_contact_forces_when_a_loose_knot_is_drawn_and_takes_it_when_let_back() {
    let friction = 0.03;
    for eps in [0.1, 0.2] {
        let mut knot = Overhand::at_rest(eps, 1);
        let pressing = knot.pressing();
        knot.bench.rod.section.friction_thread = friction;
        let way = 0.4 * knot.inner;
        let (drawn, let_back) = (knot.drawn(way), knot.drawn(-way));
        let found = 0.5 * (drawn - let_back) / (friction * pressing);
        // 5 %: the loop is smaller by 1 % when the first is read, and 3 % of friction change the contact forces by as much.
        assert!((found - 1.0).abs() < 0.05, "eps {eps}: {found} of {SOURCE}; {drawn} and {let_back} mN");
    }
}

#[test]
fn a_loose_knot_let_go_opens_below_the_friction_that_locks_it_and_stays_above() {
    let eps = 0.1;
    let lock = eps / (2.0 * SIGMA);
    // To leading order; a rod model with a measured lock found 0.77 of it at eps 0.13 (Choi, Tong, Jawed & Joo 2021, J. Appl.
    // Mech. 88:051010). Ours locks where pull and friction balance, at 0.75 of it.
    for (share, stays) in [(0.5, false), (1.5, true)] {
        let mut knot = Overhand::at_rest(eps, 1);
        knot.bench.rod.section.friction_thread = share * lock;
        knot.drawn(0.4 * knot.inner);
        let last = knot.bench.last();
        let before = knot.shortening();
        knot.bench.rod.free[last] = true;
        knot.bench.memory.topology_changed();
        knot.bench.run(300, 0.1 * knot.rest_ms);
        let grown = knot.shortening() / before;
        // It goes on opening until its friction locks it, at four times the radius; what stays only gives a little.
        assert_eq!(grown < 1.02, stays, "at {share} of the lock's friction the loop grew to {grown} of what it was");
        assert!(stays || grown > 1.1, "the loop only grew to {grown} of what it was");
    }
}

/// Complete elliptic integrals of the first and second kind by the arithmetic-geometric mean (textbook).
fn elliptic(m: f64) -> [f64; 2] {
    let (mut a, mut b) = (1.0, (1.0 - m).sqrt());
    let (mut sum, mut weight) = (0.5 * m, 1.0);
    for _ in 0..8 {
        let c: f64 = 0.5 * (a - b);
        (a, b) = (0.5 * (a + b), (a * b).sqrt());
        sum += weight * c * c;
        weight *= 2.0;
    }
    let first = 0.5 * PI / a;
    [first, first * (1.0 - sum)]
}

/// By the law of long knots, the contact forces [mN] of so many wraps that have drawn in `shortening` [mm]: a braid of helices of
/// wave number (sqrt(12) h R)^(-1/2) and length l, closed by a loop, an elastica of length lambda:
/// n^2 h / e = x^2 / (x + lambda / R) / (8 sqrt(3) pi^2), n^2 F h^2 / B = x^3 / (96 sqrt(3) pi^2), x = l / R.
fn long_knot(wraps: usize, shortening: f64) -> f64 {
    let turns = (wraps * wraps) as f64;
    let shape = |m: f64| {
        let [first, second] = elliptic(m);
        (8.0 * (first - second) / m - 4.0 * first, 4.0 * first)
    };
    let wanted = 8.0 * 3.0_f64.sqrt() * PI * PI * turns * RADIUS / shortening;
    let (mut low, mut high) = (1e-9, 1.0 - 1e-9);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let (braid, ring) = shape(middle);
        if braid * braid / (braid + ring) < wanted { low = middle } else { high = middle }
    }
    pow(shape(low).0, 3.0) / (96.0 * 3.0_f64.sqrt() * PI * PI) * UNIT / turns
}

#[test]
fn each_wrap_of_a_long_knot_adds_what_the_helix_of_its_braid_presses() {
    if !slow::wanted() {
        return;
    }
    // Jawed, Dieleman, Audoly & Reis 2015, Phys. Rev. Lett. 115:118302: contact forces of n wraps come to n 2 pi / 12^(3/4) eps^3
    // B / h^2. Ends of the braid take a part off, the same for every n, so the slope in n is the law's.
    let slope = 2.0 * PI / pow(12.0, 0.75);
    let all = members(FEW, |member| {
        [1, 3].map(|wraps| {
            let [small, large] = [0.05, 0.07].map(|eps| {
                let knot = Overhand::laid_at_rest(eps, wraps, longer(member));
                (eps, knot.pressing() / long_knot(wraps, knot.shortening()))
            });
            let share = small.1 + (small.1 - large.1) * small.0 / (large.0 - small.0);
            share * wraps as f64 * slope
        })
    });
    for sums in all {
        let found = 0.5 * (sums[1] - sums[0]);
        // 5 % as for sigma: a line through two knots for what goes with eps. Alone they have 0.41 or 0.42 and 0.39 of the law for
        // one wrap, 0.70 and 0.65 for three.
        assert!((found / slope - 1.0).abs() < 0.05, "{found} a wrap from {sums:?}, by the law {slope}");
        // Our own solution of the braid's contact problem. One wrap's, sigma, is not met so: by such a line it is 0.458 where the
        // braid lies evenly and 0.484 where corners of the mesh hold it.
        assert!((sums[1] / 2.44 - 1.0).abs() < 0.05, "{sums:?}, 2.44 for three wraps");
    }
}
