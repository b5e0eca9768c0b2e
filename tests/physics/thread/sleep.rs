//! A thread at rest sleeps: it costs nothing, hides no creep, and wakes with what happens near it.

use super::SUB_STEP_MS;
use super::lay::{GUT, MESH, SURGEONS};
use knotwright::math::DVec3;
use knotwright::pull::Knot;
use knotwright::rod::Section;
use knotwright::rod::surroundings::{Floor, Hand, RoundCone, Tool};

/// A surgeon's knot with two more throws, its loop under 0.5 N, after two seconds under that load.
fn held(section: Section, sleeps: bool) -> Knot {
    // Without weight: its tails would swing down for a minute.
    let mut knot = Knot::tied(SURGEONS, Section { weight: 0.0, ..section }, MESH, 2000.0, 8.0);
    knot.around.tools = vec![pin(DVec3::new(0.0, 40.0, 0.0))];
    knot.ramp(|knot, share| knot.load_limb(500.0 * share), 250, 2.0);
    knot.run(960, SUB_STEP_MS);
    knot.settings.sleeps = sleeps;
    knot
}

/// A needle holder's tip, in a hand.
fn pin(place: DVec3) -> Tool {
    let shape = RoundCone { start: DVec3::ZERO, end: DVec3::Y * 15.0, start_radius: 0.5, end_radius: 1.5 };
    let hand = Hand { target: place, stiffness: 2000.0, force_max: 5000.0, damping: 20_000.0 };
    Tool::new(place, vec![shape], Some(hand))
}

fn asleep(section: Section) -> Knot {
    let mut knot = held(section, true);
    for _ in 0..2000 {
        knot.run(1, SUB_STEP_MS);
        if knot.report.asleep {
            return knot;
        }
    }
    panic!("it does not fall asleep");
}

#[test]
fn a_held_knot_sleeps_through_all_but_four_steps_a_second() {
    let mut knot = asleep(GUT);
    let solves = knot.solves;
    let steps = 480 * 5;
    knot.run(steps, SUB_STEP_MS);
    // It turns over each quarter of a second, 20 times, in a few iterations of a few solves.
    let solved = knot.solves - solves;
    assert!(solved < 20 * 12, "{solved} solves in {steps} steps");
}

#[test]
fn sleep_hides_no_creep() {
    // What fades creeps: by some micrometres a second with a relaxation time of a minute.
    let fading = Section { set_relaxation: 60_000.0, ..GUT };
    let [mut waking, mut sleeping] = [false, true].map(|sleeps| held(fading, sleeps));
    let (before, solves) = (waking.separation(), [waking.solves, sleeping.solves]);
    for knot in [&mut waking, &mut sleeping] {
        knot.run(480 * 10, SUB_STEP_MS);
    }
    let [crept, slept] = [&waking, &sleeping].map(|knot| knot.separation() - before);
    let [awake, asleep] = [waking.solves - solves[0], sleeping.solves - solves[1]];
    assert!(asleep < awake / 4, "it sleeps: {asleep} solves, awake {awake}");
    // Of a turn's length is what the one is behind the other; and friction's limits lag by a step, of 2 or of 250 ms.
    assert!((slept - crept).abs() < 1e-3 + 0.1 * crept.abs(), "awake it creeps by {crept} mm, asleep by {slept} mm");
}

/// What happens, in words and in fact.
type Change = (&'static str, fn(&mut Knot));

#[test]
fn whatever_happens_to_a_sleeping_thread_wakes_it_at_once() {
    let sleeping = asleep(GUT);
    let changes: [Change; 7] = [
        ("nothing", |_| {}),
        ("a load", |knot| knot.around.loads[0].1.x *= 1.0 + 1e-12),
        ("a floor", |knot| knot.around.floor = Some(Floor { height: -90.0, stiffness: 1.0, adhesion: 0.0 })),
        ("a held node", |knot| knot.rod.positions[knot.limbs[0]].x -= 1e-12),
        ("a cut", |knot| knot.rod.whole[3] = false),
        ("a tool that comes near", |knot| knot.around.tools[0].position = knot.rod.positions[10] + DVec3::Y),
        ("a finer solution", |knot| knot.settings.tolerance = 1.0),
    ];
    for (what, change) in changes {
        let mut knot = sleeping.clone();
        change(&mut knot);
        knot.run(1, SUB_STEP_MS);
        assert_eq!(knot.report.asleep, what == "nothing", "{what}");
    }
}

#[test]
fn a_thread_that_wakes_goes_on_as_if_it_had_not_slept() {
    let [mut waking, mut sleeping] = [false, true].map(|sleeps| held(GUT, sleeps));
    for knot in [&mut waking, &mut sleeping] {
        knot.run(480, SUB_STEP_MS);
        knot.ramp(|knot, share| knot.load_limb(500.0 + 1000.0 * share), 480, SUB_STEP_MS);
        knot.run(240, SUB_STEP_MS);
    }
    let apart = waking.rod.positions.iter().zip(&sleeping.rod.positions);
    let apart = apart.map(|(a, b)| a.distance(*b)).fold(0.0, f64::max);
    // The tolerance of a step, 3 mN over the 1e3 mN/mm of a slack limb.
    assert!(apart < 3e-3, "they came to lie {apart} mm apart");
}

#[test]
fn an_instrument_far_away_follows_its_hand_and_does_not_wake_the_thread_until_it_comes_near() {
    let mut knot = asleep(GUT);
    let mut free = pin(knot.around.tools[0].position);
    let start = free.position;
    let mut awake = 0;
    let mut woke = None;
    for k in 0..300 {
        let target = start - DVec3::Y * (0.15 * k as f64);
        knot.around.tools[0].hand = Some(Hand { target, ..knot.around.tools[0].hand.expect("it has one") });
        knot.run(1, SUB_STEP_MS);
        // Without a thread: the spring's force is the damper's, k (target - x) = c (x - before) / dt, up to the hand's limit.
        let hand = knot.around.tools[0].hand.expect("it has one");
        let lag = target - free.position;
        let sprung = lag * (hand.stiffness / (hand.stiffness + hand.damping / SUB_STEP_MS));
        let most = hand.force_max * SUB_STEP_MS / hand.damping;
        free.position +=
            if hand.stiffness * (lag - sprung).length() > hand.force_max { lag.normalize() * most } else { sprung };
        // One step alone is a turn in its sleep.
        awake = if knot.report.asleep { 0 } else { awake + 1 };
        if awake == 2 {
            // The tip comes from above the knot, and is what comes nearest.
            let tip = knot.around.tools[0].position;
            let centre = knot.rod.positions.iter().map(|node| node.distance(tip)).fold(f64::INFINITY, f64::min);
            woke = Some(centre - 0.5 - GUT.radius);
            break;
        }
        let off = knot.around.tools[0].position.distance(free.position);
        // Steps in which the thread turns over leave the tool to the same law.
        assert!(off < 1e-9, "step {k}: {off} mm from where its hand has it");
    }
    // It sleeps on to 2 mm, wakes in the step in which the tip comes nearer, and the next one is seen here: two steps of 0.15 mm.
    let woke = woke.expect("it wakes");
    assert!(woke < 2.0 && woke > 2.0 - 0.3, "it woke with the tip {woke} mm away");
}
