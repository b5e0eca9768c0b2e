//! The world and an attempt in it: needle, thread through gum, cutting, and that it is the same each time.

mod arming;
mod cutting;
mod dragging;
mod drawing;
mod gathering;
mod marking;
mod needle;
mod picture;
mod site;
mod stopping;
mod tearing;

use knotwright::input::{HandCommand, TickCommand, script};
use knotwright::math::{DVec3, Pose, rotation};
use knotwright::performer::{Performer, Unsteadiness};
use knotwright::scenario::{self, Scenario};
use knotwright::simulation::attempt::Attempt;
use knotwright::simulation::needle::State;
use knotwright::simulation::{LEFT, RIGHT};

/// The verbs before the first throw, as the shipped demonstration has them.
const NEEDLE: &str = "drive bite 2.5 mm out 2.4 mm speed 12 mm/s\nregrip\ndraw tail 22 mm\ntake_strand free 48 mm\n";

fn shipped() -> Scenario {
    scenario::parse("first_stitch.ron", include_str!("../../scenarios/first_stitch.ron")).expect("it is in order")
}

fn begin() -> Attempt {
    Attempt::begin(&shipped()).expect("the shipped scenario can begin")
}

/// Lets a script run to its end; `each` sees the attempt after every tick.
fn perform(attempt: &mut Attempt, text: &str, mut each: impl FnMut(&Attempt)) {
    let script = script::parse("test.hands", text).expect("the script has no faults");
    let mut performer = Performer::new(script, &attempt.world, Unsteadiness::default());
    while let Some(command) = performer.command(&attempt.world) {
        attempt.tick(&command);
        each(attempt);
    }
}

/// Both hands still, the right one `shift` [mm] from where it is, its jaws so far open.
fn hold(attempt: &Attempt, shift: DVec3, jaw: f64) -> TickCommand {
    let right = attempt.world.pose(RIGHT);
    let right = Pose { position: right.position + shift, rotation: right.rotation };
    TickCommand {
        right: HandCommand::new(right, jaw),
        left: HandCommand::new(attempt.world.pose(LEFT), 0.0),
        events: Vec::new(),
    }
}

/// The pose of a needle of this radius whose point is at `point` and goes toward the operator and down, `angle` [rad] below the
/// level.
fn aimed(radius: f64, point: DVec3, angle: f64) -> Pose {
    let rotation = rotation(DVec3::X, angle);
    Pose { position: point - rotation * (DVec3::NEG_Z * radius), rotation }
}

/// The needle led to `pose` by the hand that holds it, the left hand still.
fn lead(attempt: &Attempt, pose: &Pose) -> TickCommand {
    let needle = attempt.world.needle.as_ref().expect("there is a needle");
    let State::Held { local, .. } = needle.state else { panic!("it is held") };
    let rotation = pose.rotation * local.rotation.conjugate();
    let right = Pose { position: pose.position - rotation * local.position, rotation };
    TickCommand {
        right: HandCommand::new(right, 0.0),
        left: HandCommand::new(attempt.world.pose(LEFT), 0.0),
        events: Vec::new(),
    }
}
