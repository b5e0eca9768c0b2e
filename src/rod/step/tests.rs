//! The step's energy, gradient and balance.

use super::*;
use crate::math::{DQuat, rotation};
use crate::rod::surroundings::{Floor, Grip, Hand, Host, NoTissue, Plane, RoundCone, Sleeve, Tool};
use crate::rod::tests::{bent, gut};
use rand::{Rng, SeedableRng};

fn peg(from: DVec3, to: DVec3, radius: f64) -> Tool {
    let cone = RoundCone { start: DVec3::ZERO, end: to - from, start_radius: radius, end_radius: 0.7 * radius };
    Tool {
        position: from,
        rotation: DQuat::IDENTITY,
        rotation_before: rotation(DVec3::Z, -0.002),
        shapes: vec![cone],
        shapes_before: vec![cone],
        hand: Some(Hand { target: from, stiffness: 2000.0, force_max: 5000.0, damping: 20_000.0 }),
        friction: None,
    }
}

/// A crumpled thread that touches itself, a hand-held peg and the floor, runs through a sleeve and hangs in a grip.
pub(in crate::rod) fn tangle() -> (Rod, Surroundings) {
    let mut rod = bent(gut(), 30);
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(3);
    let mut vector = |size: f64| DVec3::from(std::array::from_fn(|_| size * (random.random::<f64>() - 0.5)));
    // The second half comes back across the first, just touching.
    for k in 15..30 {
        rod.positions[k] = rod.positions[29 - k] + DVec3::new(0.1, 0.05, 0.19) + vector(0.05);
    }
    for k in 1..29 {
        rod.set[k] = vector(0.6);
        rod.spin[k] = vector(0.5).x;
    }
    let (before, spin) = (rod.positions.clone(), rod.spin.clone());
    rod.transport(&before, &spin);
    let around = Surroundings {
        tools: vec![peg(
            rod.positions[18] + DVec3::new(0.1, -1.0, 0.3),
            rod.positions[18] + DVec3::new(0.2, 1.5, 0.32),
            0.3,
        )],
        floor: Some(Floor { height: 0.0, stiffness: 2000.0, adhesion: 0.2 }),
        planes: vec![Plane {
            point: rod.positions[22] - DVec3::new(0.05, 0.02, 0.06),
            normal: DVec3::new(0.6, 0.0, 0.8),
            shift: DVec3::new(0.01, 0.002, 0.0),
            stiffness: 3000.0,
            friction: 0.3,
        }],
        sleeves: vec![Sleeve {
            host: Host::Tool(0),
            rest: DVec3::new(1.0, 0.5, 0.3),
            material: rod.material[6] + 0.1,
            stiffness: 2e4,
            friction: 0.25,
            drag: 30.0,
            anchor: 0.001,
            force: DVec3::ZERO,
        }],
        grips: vec![Grip {
            node: 29,
            tool: 0,
            place: DVec3::new(0.2, 0.1, 0.5),
            stiffness: 1e5,
            limit: 900.0,
            spin: 0.1,
        }],
        collars: Vec::new(),
        bites: Vec::new(),
        loads: vec![(3, DVec3::new(20.0, -10.0, 5.0))],
    };
    (rod, around)
}

#[test]
fn the_gradient_is_the_slope_of_the_energy_with_everything_in_touch() {
    let (rod, around) = tangle();
    let mut memory = Memory::default();
    let settings = Settings { drag: 2.0, ..Settings::default() };
    let mut solve = Solve::new(&rod, &around, &NoTissue, &mut memory, &settings, 2.0);
    let touching = solve.frictions.len();
    assert!(touching >= 6 && !solve.floor_frictions.is_empty(), "only {touching} pairs touch");
    assert!(!solve.plane_frictions.is_empty(), "nothing lies on the plane");
    assert!(solve.frictions.iter().any(|((_, partner), _)| matches!(partner, Partner::Shape(..))));
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(5);
    for block in 0..solve.blocks {
        let shift = DVec3::from(std::array::from_fn(|_| 4e-3 * (random.random::<f64>() - 0.5)));
        solve.places[block] += shift;
        if block < solve.nodes {
            solve.spin[block] += 0.05 * (random.random::<f64>() - 0.5);
        }
    }
    solve.cones = solve.placed(&solve.places);
    let near: Vec<usize> = (0..memory.candidates.pairs().len()).collect();
    let pairs = memory.candidates.pairs().to_vec();
    let active: Vec<Active> = pairs
        .iter()
        .filter(|&&(i, partner)| !solve.ignored(i, partner))
        .map(|&(i, partner)| (i, partner, solve.closest(i, partner, &solve.places, &solve.cones)))
        .filter(|(_, _, closest)| closest.overlap > 0.0)
        .collect();
    let near: Vec<usize> = near.into_iter().filter(|&k| !solve.ignored(pairs[k].0, pairs[k].1)).collect();
    let mut probe = Equations { gradient_only: true, ..Equations::default() };
    let turns = solve.turns_at(&solve.places, &solve.spin);
    solve.assemble(&solve.places, &solve.spin, &turns, &active, &mut probe);
    let step = 1e-6;
    for block in 0..solve.blocks {
        for axis in 0..4 {
            let at = |sign: f64| {
                let (mut places, mut spin) = (solve.places.clone(), solve.spin.clone());
                if axis < 3 {
                    places[block][axis] += sign * step;
                } else {
                    spin[block] += sign * step;
                }
                solve.energy(&pairs, &near, &places, &spin, &solve.turns_at(&places, &spin))
            };
            let slope = (at(1.0) - at(-1.0)) / (2.0 * step);
            let found = probe.gradient[block][axis];
            // Central differences err by the third derivative times step^2 (1e-6 of these forces) and by rounding,
            // the energy's 1e3 times 1e-16 over the step: 1e-7.
            let allowed = 1e-4 * (1.0 + found.abs());
            assert!((slope - found).abs() < allowed, "block {block} axis {axis}: {found}, differences say {slope}");
        }
    }
}

#[test]
fn the_tangent_of_a_thread_that_pulls_aside_in_a_sleeve_is_the_slope_of_its_gradient() {
    let line: Vec<DVec3> = (0..7).map(|k| DVec3::new(0.45 * f64::from(k), 0.0, 0.0)).collect();
    let rod = Rod::at_rest(gut(), line);
    let sleeve = Sleeve {
        host: Host::Bite(0),
        // Beside the middle of an edge, so far that the thread presses with a newton.
        rest: DVec3::new(1.55, 0.05, 0.02),
        material: 1.55,
        stiffness: 2e4,
        // Enough to hold: a friction without limit has no tangent.
        friction: 0.25,
        drag: 30.0,
        anchor: 0.0,
        force: DVec3::ZERO,
    };
    let around = Surroundings { sleeves: vec![sleeve], bites: vec![DVec3::ZERO], ..Surroundings::default() };
    let mut memory = Memory::default();
    let settings = Settings { drag: 2.0, ..Settings::default() };
    let solve = Solve::new(&rod, &around, &NoTissue, &mut memory, &settings, 2.0);
    solve.ensure_pattern(&mut memory, &[]);
    let mut equations = Equations { exact: true, ..std::mem::take(&mut memory.equations) };
    let turns = solve.turns_at(&solve.places, &solve.spin);
    solve.assemble(&solve.places, &solve.spin, &turns, &[], &mut equations);
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(9);
    let way: Vec<Quad> = (0..solve.blocks).map(|_| std::array::from_fn(|_| random.random::<f64>() - 0.5)).collect();
    let step = 1e-6;
    let gradient = |sign: f64| {
        let trial = solve.moved(&way, sign * step);
        let mut probe = Equations { gradient_only: true, ..Equations::default() };
        solve.assemble(&trial.places, &trial.spin, &trial.turned, &[], &mut probe);
        probe.gradient
    };
    let (ahead, behind) = (gradient(1.0), gradient(-1.0));
    for (block, found) in equations.matrix.times(&way).iter().enumerate().take(solve.nodes) {
        for axis in 0..3 {
            let slope = (ahead[block][axis] - behind[block][axis]) / (2.0 * step);
            // Central differences err by rounding of forces of a newton over the step, 1e-7, and by the third derivative.
            let allowed = 1e-3 * (1.0 + slope.abs()).sqrt();
            assert!(
                (slope - found[axis]).abs() < allowed,
                "block {block} axis {axis}: {}, differences say {slope}",
                found[axis]
            );
        }
    }
}

/// Two straight strands of one thread that cross at right angles, `height` apart; the lower one's first half is held.
fn crossing(height: f64) -> Rod {
    let lower = (0..11).map(|k| DVec3::new(f64::from(k) - 5.0, 0.0, 0.0));
    let upper = (0..11).map(|k| DVec3::new(0.3, f64::from(k) - 5.3, height));
    let mut rod = Rod::at_rest(gut(), lower.chain(upper).collect());
    rod.whole[10] = false;
    rod.free[..4].fill(false);
    rod.free[18..].fill(false);
    rod
}

#[test]
fn a_strand_that_its_holder_carries_through_another_is_seen() {
    for (carried, passes) in [(0.1, false), (1.0, true)] {
        let mut rod = crossing(0.5);
        let (mut around, mut memory) = (Surroundings::default(), Memory::default());
        let mut go = |rod: &mut Rod| step(rod, &mut around, &NoTissue, &mut memory, &Settings::default(), 2.0);
        assert!(!go(&mut rod).passed_through);
        for place in &mut rod.positions[11..] {
            place.z -= carried;
        }
        assert_eq!(go(&mut rod).passed_through, passes, "carried down by {carried} mm");
    }
}

#[test]
fn thread_between_two_stitches_is_inside_of_neither() {
    let mut rod = Rod::at_rest(gut(), (0..40).map(|k| DVec3::X * f64::from(k)).collect());
    rod.whole[19] = false;
    let hole = |material| Sleeve {
        host: Host::Bite(0),
        rest: DVec3::X * material,
        material,
        stiffness: 1.0,
        friction: 0.0,
        drag: 0.0,
        anchor: 0.0,
        force: DVec3::ZERO,
    };
    let around = Surroundings {
        sleeves: [5.0, 8.0, 30.0, 33.0].map(hole).to_vec(),
        bites: vec![DVec3::ZERO],
        ..Surroundings::default()
    };
    let solve = Solve::new(&rod, &around, &NoTissue, &mut Memory::default(), &Settings::default(), 2.0);
    let inside: Vec<usize> = (0..40).filter(|&node| solve.inside[node]).collect();
    assert_eq!(inside, [5, 6, 7, 8, 30, 31, 32, 33]);
}
