//! Force, work and energy between thread, instruments and gum.

use knotwright::experiment::{Outcome, PointFiles, parse, run};
use knotwright::input::{HandCommand, TickCommand};
use knotwright::math::{DVec3, Pose};
use knotwright::rod::contact::Partner;
use knotwright::rod::step::forces;
use knotwright::rod::surroundings::{Host, Tissue};
use knotwright::simulation::{LEFT, RIGHT, World};

/// A thread through a hole 2.5 mm from a flap's edge, its end led across the wound and held.
fn pulled(grip_n: f64, motion: &str, time: &str) -> Outcome {
    let text = format!(
        r#"(
        format: 1, title: "A pull", about: "A thread's end is led across the wound.",
        section: Numbers(
            radius_mm: 0.075, axial_stiffness_n: 60.0, bending_stiffness_n_mm2: 0.03, twist_stiffness_n_mm2: 0.02,
        ),
        threads: [(name: "thread", shape: Straight(from_mm: (0, 18.5, 0), to_mm: (0, -7.5, 0)), segment_mm: 1.0)],
        tissue: (
            edge_gap_mm: 20.0,
            flap: (thickness_mm: 1.4, height_mm: 10.0, length_mm: 20.0, modulus_kpa: 154.0, quality: 0.7),
            holes: [(
                name: "hole", flap: Cheek, along_wound_mm: 0.0, edge_distance_mm: 2.5, diameter_mm: 0.15,
                threads: [(thread: "thread", place: At(along_mm: 6.0), grip_n: {grip_n})],
            )],
        ),
        holds: [(name: "hand", thread: "thread", place: End, kind: Pin, motion: [{motion}])],
        time: ({time}),
        measures: [
            (name: "shift", of: HoldShift(hold: "hand", along: (0, -1, 0))),
            (name: "pull", of: HoldForce(hold: "hand", along: (0, 1, 0))),
            (name: "way", of: HoleDisplacement(hole: "hole", along: (0, -1, 0))),
            (name: "at_hole", of: HoleForce(hole: "hole", along: (0, -1, 0))),
            (name: "gum", of: TissueEnergy),
            (name: "thread", of: Energy(of: All)),
        ],
    )"#
    );
    let experiment = parse("pull", &text).unwrap_or_else(|problems| panic!("{problems}"));
    run(&experiment, &PointFiles::new(), |_| {}).expect("it can be laid")
}

/// One column of all rows.
fn column(outcome: &Outcome, name: &str) -> Vec<f64> {
    let at = outcome.columns.iter().position(|column| column.name == name).expect("it is measured");
    outcome.rows.iter().map(|row| row.values[at]).collect()
}

/// Work of `force` along `way` up to each row, by trapezoids.
fn work(force: &[f64], way: &[f64]) -> Vec<f64> {
    let mut sum = 0.0;
    let steps = force.windows(2).zip(way.windows(2)).map(|(force, way)| {
        sum += 0.5 * (force[0] + force[1]) * (way[1] - way[0]);
        sum
    });
    std::iter::once(0.0).chain(steps).collect()
}

/// What the play of the thread in its hole stores [N mm] under each force: a spring of 20 N/mm, along the thread and
/// aside.
fn play(force: &[f64]) -> Vec<f64> {
    force.iter().map(|force| force * force / (2.0 * 20.0)).collect()
}

/// 3 mm in 2 s, 1 s of rest, and back in 2 s; a row for each step.
const OUT_AND_BACK: &str = "(at_ms: 2000, shift_mm: (0, -3, 0)), (at_ms: 3000, shift_mm: (0, -3, 0)), \
                            (at_ms: 5000, shift_mm: (0, 0, 0))";
const FIVE_SECONDS: &str = "duration_ms: 5000, step_ms: 25";

#[test]
fn what_a_hand_does_is_stored_in_gum_and_thread_and_comes_back() {
    let outcome = pulled(100.0, OUT_AND_BACK, FIVE_SECONDS);
    let [shift, pull, way, at_hole, gum, thread] =
        ["shift", "pull", "way", "at_hole", "gum", "thread"].map(|name| column(&outcome, name));
    let (by_hand, at_gum, play) = (work(&pull, &shift), work(&at_hole, &way), play(&at_hole));
    let most = gum.iter().copied().fold(0.0, f64::max);
    // Half of 0.21 N/mm over the 3 mm squared, less what the thread gives.
    assert!((0.8..1.0).contains(&most), "{most} N mm are stored");
    for row in 0..gum.len() {
        let stored = gum[row] + thread[row] + play[row];
        // 1 % of the most that is stored: drag of thread that moves, and trapezoids of a straight line.
        assert!((by_hand[row] - stored).abs() < 0.01 * most, "row {row}: {} done, {stored} stored", by_hand[row]);
        assert!((at_gum[row] - gum[row]).abs() < 0.01 * most, "row {row}: {} done, {} stored", at_gum[row], gum[row]);
        assert!((pull[row] - at_hole[row]).abs() < 0.01 * pull[row].abs() + 1e-3, "row {row}: {} N", pull[row]);
    }
    let [first, last] = [0, gum.len() - 1].map(|row| gum[row] + thread[row]);
    assert!((last - first).abs() < 0.01 * most, "{first} N mm before, {last} after");
}

#[test]
fn a_thread_that_slides_through_its_hole_loses_work_and_never_gains_any() {
    let outcome = pulled(0.2, OUT_AND_BACK, FIVE_SECONDS);
    let [shift, pull, at_hole, gum, thread] =
        ["shift", "pull", "at_hole", "gum", "thread"].map(|name| column(&outcome, name));
    let (done, play) = (work(&pull, &shift), play(&at_hole));
    let lost: Vec<f64> = (0..done.len()).map(|row| done[row] - gum[row] - thread[row] - play[row]).collect();
    let total = lost[lost.len() - 1];
    for pair in lost.windows(2) {
        assert!(pair[1] > pair[0] - 0.01 * total, "{} lost, then {}", pair[0], pair[1]);
    }
    // Of 3 mm the hole gives 0.2 N over 0.21 N/mm, the thread slides the rest under 0.2 N; back it slides no way, for it
    // is slack.
    let slid = 3.0 - 0.2 / 0.21;
    assert!((total - 0.2 * slid).abs() < 0.05 * total, "{total} N mm lost, {} by friction", 0.2 * slid);
}

#[test]
fn gum_and_thread_at_rest_gain_no_energy_in_ten_minutes() {
    let minutes = if crate::slow::wanted() { 10 } else { 1 };
    let time = format!("duration_ms: {}, step_ms: 16.666666666666668", minutes * 60_000);
    let outcome = pulled(100.0, "(at_ms: 1000, shift_mm: (0, -3, 0))", &time);
    let stored: Vec<f64> = column(&outcome, "gum").iter().zip(column(&outcome, "thread")).map(|(a, b)| a + b).collect();
    // The rows from 2 s on: the hand rests by then.
    let resting: Vec<f64> =
        outcome.rows.iter().zip(&stored).filter(|(row, _)| row.time_ms > 2000.0).map(|(_, &stored)| stored).collect();
    assert!(resting.len() > 50 && resting[0] > 0.5, "{} rows, {} N mm", resting.len(), resting[0]);
    for &later in &resting {
        // The solver leaves 1e-7 N at a node: over the gum's 0.2 N/mm that is 1e-13 N mm.
        assert!(later < resting[0] + 1e-9, "{} N mm became {later}", resting[0]);
    }
}

/// The gum's own force on each bite [mN] where the solver has put them.
fn answers(world: &World) -> Vec<DVec3> {
    let bites = &world.around.bites;
    let mut answers: Vec<DVec3> = (0..bites.len()).map(|bite| world.gum.respond(bite, bites[bite]).gradient).collect();
    for meeting in world.gum.meet(bites) {
        for (bite, gradient) in meeting.bites.into_iter().zip(meeting.gradient) {
            answers[bite] += gradient;
        }
    }
    answers
}

/// What thread in the hole and on the surface round it pushes a bite with [mN].
fn pushes(world: &World, bite: usize) -> DVec3 {
    let holes = world.around.sleeves.iter().filter(|sleeve| sleeve.host == Host::Bite(bite));
    let collars = || world.around.collars.iter().filter(|collar| collar.bite == bite);
    let touches = world.memory.touches.iter().filter(|touch| match touch.partner {
        Partner::Shape(tool, _) => collars().any(|collar| collar.tool == tool),
        Partner::Edge(_) => false,
    });
    let on_thread = touches.map(|touch| touch.normal * touch.force + touch.friction).sum::<DVec3>();
    holes.map(|hole| hole.force).sum::<DVec3>() - on_thread
}

#[test]
fn once_a_hand_rests_thread_pulls_gum_as_gum_pulls_thread_in_every_tick_and_every_piece_is_in_balance() {
    let mut world = World::threaded_bench();
    let still = HandCommand::new(world.pose(RIGHT), 0.0);
    let start = world.pose(LEFT);
    let (mut most, mut unsolved) = (0.0_f64, 0);
    // Ticks of motion, and half a second in which what was drawn taut comes to rest.
    const RESTS: u32 = 60 + 30;
    for tick in 0..180_u32 {
        // The strand hand goes away until the strand is taut and the gum gives, and rests.
        let way = f64::from(tick.min(60)) * 0.5;
        let away = Pose { position: start.position + DVec3::new(-0.4, -0.6, 0.2) * way, ..start };
        world.step(&TickCommand { right: still, left: HandCommand::new(away, 0.0), events: Vec::new() });
        let solved = |world: &World| world.reports.iter().all(|report| report.residual <= world.settings.tolerance);
        unsolved += u32::from(!solved(&world));
        for (bite, answer) in answers(&world).into_iter().enumerate() {
            let push = pushes(&world, bite);
            most = most.max(push.length());
            // While it moves, what has let go of the surface within a sub-step held on to it by friction, and is not noted.
            if tick < RESTS {
                continue;
            }
            // 1 % of the force, and what the solver left.
            let left = world.reports.last().map_or(0.0, |report| report.residual).max(world.settings.tolerance);
            let allowed = 0.01 * push.length() + left;
            assert!((push - answer).length() < allowed, "tick {tick}, bite {bite}: {push} mN against {answer} mN");
        }
    }
    assert!(most > 100.0, "the gum was pulled, by {most} mN");
    // Where thread snaps taut a step may end above the solver's tolerance, which is then what is allowed; 34 are found.
    assert!(unsolved < 45, "{unsolved} of 180 ticks were not solved to the tolerance");
    let left = forces(&world.rod, &world.around, &world.gum, &mut world.memory, &world.settings);
    let most_held = world.largest_force();
    let free = |node: &usize| world.rod.free[*node];
    for node in (0..world.rod.node_count()).filter(free) {
        assert!(left.nodes[node].length() < 0.01 * most_held, "node {node}: {} mN of {most_held}", left.nodes[node]);
    }
    for hand in [RIGHT, LEFT] {
        assert!(left.tools[hand].length() < 0.01 * most_held, "hand {hand}: {} mN of {most_held}", left.tools[hand]);
    }
}
