//! Friction and contact of the thread with tools: rolling, sliding, balance; and that only relative places matter.

use super::lay::{GUT, MESH, SURGEONS};
use super::{Bench, line};
use knotwright::math::{DVec3, rotation};
use knotwright::pull::Knot;
use knotwright::rod::Section;
use knotwright::rod::surroundings::{Hand, RoundCone, Tool};

fn rail(y: f64, radius: f64) -> RoundCone {
    RoundCone::capsule(DVec3::new(-20.0, y, -radius), DVec3::new(20.0, y, -radius), radius)
}

/// A short straight thread along y, lying across two rails along x and pressed on them by `press` [mN] at each node.
pub(super) fn across_rails(section: Section, press: f64) -> Bench {
    let mut bench =
        Bench::new(Section { weight: 0.0, ..section }, line(DVec3::new(0.0, -1.75, 0.1125), DVec3::Y, 0.5, 7));
    bench.around.tools = vec![Tool::new(DVec3::ZERO, vec![rail(-1.0, 2.0), rail(1.0, 2.0)], None)];
    bench.around.loads = (0..8).map(|k| (k, DVec3::Z * -press)).collect();
    bench.run(10, 10.0);
    bench
}

pub(super) fn push(bench: &mut Bench, force: DVec3) {
    for (_, load) in &mut bench.around.loads {
        let down = DVec3::new(0.0, 0.0, load.z);
        *load = down + force;
    }
}

#[test]
fn a_thread_pushed_across_rails_rolls_and_does_not_slip() {
    let mut bench = across_rails(GUT, 1.0);
    let before = bench.rod.clone();
    push(&mut bench, DVec3::X * 0.005);
    bench.run(200, 10.0);
    let rolled = bench.rod.positions[3].x - before.positions[3].x;
    let spun = bench.rod.spin[3] - before.spin[3];
    assert!(rolled > 1.0, "it only moved by {rolled} mm");
    // The overlap under 4 mN shortens the arm by 1e-4 of it.
    assert!((spun * GUT.radius / rolled - 1.0).abs() < 0.005, "rolled {rolled} mm but spun by {spun} rad");
}

#[test]
fn a_thread_pulled_along_itself_holds_below_the_friction_limit_and_slides_above() {
    // Coulomb: 8 nodes pressed by 5 mN each.
    let press = 5.0;
    for (share, slides) in [(0.98, false), (1.02, true)] {
        let mut bench = across_rails(GUT, press);
        push(&mut bench, DVec3::Y * (share * GUT.friction_steel * press));
        bench.run(5, 100.0);
        let early = bench.rod.positions[3].y;
        bench.run(600, 100.0);
        let crept = bench.rod.positions[3].y - early;
        // Below the limit the spring does not move at all in a minute: rounding and the tolerance of 1e-4 mN over 2e5 mN/mm.
        assert_eq!(crept > 1e-6, slides, "at {share} of the limit it moved by {crept} mm");
    }
}

#[test]
fn what_the_thread_pushes_a_tool_with_is_what_pulls_on_the_thread() {
    let peg = RoundCone {
        start: DVec3::new(0.0, -5.0, 0.0),
        end: DVec3::new(0.0, 5.0, 0.0),
        start_radius: 1.5,
        end_radius: 1.0,
    };
    let hand = Hand { target: DVec3::ZERO, stiffness: 2000.0, force_max: 5000.0, damping: 1000.0 };
    let half = |k: usize| {
        let angle = std::f64::consts::PI * k as f64 / 16.0;
        DVec3::new(-knotwright::math::cos(angle), 0.0, knotwright::math::sin(angle)) * 1.37
    };
    let mut points = line(half(0), DVec3::new(0.0, 0.0, -1.0), 0.27, 20);
    points.reverse();
    points.extend((1..=16).map(half));
    points.extend(line(half(16), DVec3::new(0.0, 0.0, -1.0), 0.27, 20).into_iter().skip(1));
    let mut bench = Bench::new(Section { weight: 0.0, ..GUT }, points);
    let last = bench.last();
    bench.around.tools = vec![Tool::new(DVec3::ZERO, vec![peg], Some(hand))];
    bench.hold(&[last]);
    let load = DVec3::new(-120.0, 30.0, -400.0);
    bench.around.loads = vec![(0, load)];
    bench.run(60, 50.0);
    let on_thread = load - bench.pull_on_edge(last - 1) * -1.0;
    let on_tool = (bench.around.tools[0].position - hand.target) * hand.stiffness;
    // The couple of the clamp-free end adds no force; left are the tolerance and the drag of what still moves.
    assert!((on_thread - on_tool).length() < 0.01, "thread is pulled by {on_thread:?}, tool pushed by {on_tool:?}");
    let touched: DVec3 = bench.memory.touches.iter().map(|t| t.normal * -t.force).sum();
    let along = on_tool.normalize();
    assert!(touched.dot(along) > 0.7 * on_tool.length(), "most of it presses: {touched:?} of {on_tool:?}");
}

#[test]
fn a_knot_turned_and_moved_as_a_whole_tightens_the_same_way() {
    let turn = rotation(DVec3::new(0.3, -0.5, 0.8).normalize(), 1.1);
    let shift = DVec3::new(3.0, -7.0, 2.0);
    let section = Section { weight: 0.0, ..GUT };
    let run = |placed: bool| {
        let mut knot = Knot::laid(SURGEONS, section, MESH, 3.0, 6.0);
        let last = knot.rod.node_count() - 1;
        let mut loads: Vec<(usize, DVec3)> =
            [0, last, knot.limbs[1]].map(|end| (end, DVec3::X * (300.0 * knot.rod.positions[end].x.signum()))).to_vec();
        if placed {
            let (whole, limbs) = (knot.rod.whole.clone(), knot.limbs);
            let positions = knot.rod.positions.iter().map(|p| turn * *p + shift).collect();
            knot.rod = knotwright::rod::Rod::at_rest(section, positions);
            knot.rod.whole = whole;
            knot.limbs = limbs;
            for (_, load) in &mut loads {
                *load = turn * *load;
            }
        }
        knot.rod.free[knot.limbs[0]] = false;
        knot.around.loads = loads;
        knot.run(25, 2.0);
        knot.rod.positions
    };
    let (plain, placed) = (run(false), run(true));
    let apart = plain.iter().zip(&placed).map(|(a, b)| (turn * *a + shift).distance(*b)).fold(0.0, f64::max);
    // Rounding, 1e-15 of 30 mm, grown by 25 steps of a few iterations each.
    assert!(apart < 1e-7, "they came to lie {apart} mm apart");
}
