//! The tutorial's tasks end by what is measured in the world, and by nothing else.

use knotwright::app::Stage;
use knotwright::app::tutorial::{TASKS, Tutorial, turns_round};
use knotwright::math::{DVec3, cos, sin};
use knotwright::simulation::snapshot::Snapshot;
use knotwright::simulation::{LEFT, RIGHT};

use super::fake::Fake;

/// A world with its instruments in the air and its thread far away.
fn world() -> Snapshot {
    let mut world = Fake::new().snapshot();
    world.strands = vec![(0..100).map(|k| DVec3::new(f64::from(k), 200.0, 0.0)).collect()];
    world.readout.strand_tension_mn = 0.0;
    for tool in &mut world.tools {
        tool.gap = 3.0;
        tool.pose.position.z = 10.0;
    }
    world
}

/// Two turns and some more of thread round the holder's shaft.
fn wound(world: &mut Snapshot, turns: f64) {
    let shaft = world.tools[RIGHT].pose;
    let at = |k: u32| {
        let share = f64::from(k) / 100.0;
        let angle = core::f64::consts::TAU * turns * share;
        shaft.point(DVec3::new(5.0 + 3.0 * share, 2.0 * cos(angle), 2.0 * sin(angle)))
    };
    world.strands = vec![(0..=100).map(at).collect()];
}

type Act = fn(&mut Snapshot);

/// What has to be so in the world for each task to be done.
const ACTS: [Act; 6] = [
    |world| world.tools[RIGHT].pose.position.z = 0.5,
    |world| world.tools[RIGHT].pose.position.z = 16.0,
    |world| world.tools[LEFT].pose.position.x -= 6.0,
    |world| {
        let tip = world.tools[LEFT].pose.point(DVec3::X);
        world.tools[LEFT].gap = 0.2;
        world.strands = vec![(-50..50).map(|k| tip + DVec3::Z.cross(tip).normalize() * f64::from(k)).collect()];
    },
    |world| wound(world, 2.0),
    |world| world.readout.strand_tension_mn = 600.0,
];

fn at_task(task: usize) -> Tutorial {
    let mut tutorial = Tutorial::default();
    for act in &ACTS[..task] {
        do_it(&mut tutorial, *act);
    }
    assert_eq!(tutorial.task(), Some(task));
    tutorial
}

fn do_it(tutorial: &mut Tutorial, act: Act) {
    tutorial.look(&world());
    let mut done = world();
    act(&mut done);
    // Jaws have to stay shut for a second.
    (0..60).for_each(|_| {
        let before = tutorial.task();
        tutorial.look(&done);
        if tutorial.task() != before {
            done = world();
        }
    });
}

#[test]
fn each_task_is_ended_by_its_own_act_and_by_no_other() {
    for task in 0..TASKS.len() {
        for (other, act) in ACTS.iter().enumerate() {
            let mut tutorial = at_task(task);
            do_it(&mut tutorial, *act);
            let expected = if other == task { Some(task + 1).filter(|next| *next < TASKS.len()) } else { Some(task) };
            assert_eq!(tutorial.task(), expected, "task {task}, act {other}");
        }
    }
}

#[test]
fn forceps_that_move_with_the_holder_are_no_change_of_hands() {
    let mut tutorial = at_task(2);
    do_it(&mut tutorial, |world| {
        world.tools[LEFT].pose.position.x -= 6.0;
        world.tools[RIGHT].pose.position.x -= 6.0;
    });
    assert_eq!(tutorial.task(), Some(2));
}

#[test]
fn wraps_are_counted_by_the_way_the_thread_goes_round() {
    for turns in [-2.25, -1.0, 0.5, 1.0, 3.0] {
        let mut world = world();
        wound(&mut world, turns);
        let found = turns_round(&world.tools[RIGHT].pose, &world);
        assert!((found.abs() - f64::abs(turns)).abs() < 1e-9, "{found} of {turns}");
        assert_eq!(found > 0.0, turns > 0.0, "{found} of {turns}");
    }
    assert!(turns_round(&world().tools[RIGHT].pose, &world()).abs() < 1e-12);
}
