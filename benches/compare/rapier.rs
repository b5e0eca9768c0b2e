//! The usual way to do a thread in a rigid-body engine: a chain of capsules.
//!
//! As near to the thread as its joints allow: between two capsules one locked pair of axes across, and springs (implicit, of
//! force, not of acceleration) of the thread's own EA, GJ and EI over the segment along the thread, about it and across.
//! Joint and contact are as hard as the engine takes them; lengths in mm, times in s, masses in mg.

use crate::run::{Run, Sample, core_seconds, memory_mib};
use crate::task::{Kind, Task, steps_a_sample};
use knotwright::math::{DQuat, DVec3, rotation_between};
use rapier3d::prelude::*;

/// What is tried: the step [ms], solver iterations (each a substep) and how much heavier the thread is made than it is.
#[derive(Debug, Clone, Copy)]
struct Choice {
    step_ms: f32,
    iterations: usize,
    mass_scale: f32,
}

/// A run is stopped after so long [s].
const LIMIT_S: f64 = 20.0;
/// 1 mN in mg mm / s^2.
const MN: f32 = 1e6;
/// How hard joints and contacts are [Hz]: harder than the engine resolves.
const HARD: SpringCoefficients<Real> = SpringCoefficients { natural_frequency: 1e6, damping_ratio: 1.0 };
/// Times as heavy as the thread is. Its mass plays no part in these slow tasks, and sweeps over a chain of joints come the
/// nearer to its balance the heavier the capsules are beside the springs.
const HEAVIER: [f32; 4] = [1.0, 1e4, 1e5, 1e6];

struct Chain {
    pipeline: PhysicsPipeline,
    parameters: IntegrationParameters,
    islands: IslandManager,
    broad_phase: BroadPhaseBvh,
    narrow_phase: NarrowPhase,
    bodies: RigidBodySet,
    colliders: ColliderSet,
    joints: ImpulseJointSet,
    multibody: MultibodyJointSet,
    ccd: CCDSolver,
    capsules: Vec<RigidBodyHandle>,
    half: f32,
}

fn vector(v: DVec3) -> Vector {
    Vector::new(v.x as f32, v.y as f32, v.z as f32)
}

/// Turns from the x axis along each edge, carried on from edge to edge without twist.
fn frames(points: &[DVec3]) -> Vec<DQuat> {
    let mut before = DVec3::X;
    let mut turn = DQuat::IDENTITY;
    points
        .windows(2)
        .map(|pair| {
            let tangent = (pair[1] - pair[0]).normalize();
            turn = (rotation_between(before, tangent) * turn).normalize();
            before = tangent;
            turn
        })
        .collect()
}

/// The springs of one joint.
fn springs(task: &Task, half: f32) -> GenericJoint {
    let thread = &task.thread;
    let over = |stiffness: f64| (stiffness / task.segment_mm) as f32 * MN;
    let mut joint = GenericJointBuilder::new(JointAxesMask::LIN_Y | JointAxesMask::LIN_Z)
        .contacts_enabled(false)
        .local_anchor1(Vector::new(half, 0.0, 0.0))
        .local_anchor2(Vector::new(-half, 0.0, 0.0));
    for (axis, stiffness) in [
        (JointAxis::LinX, thread.axial_stiffness_mn),
        (JointAxis::AngX, thread.twist_stiffness_mn_mm2),
        (JointAxis::AngY, thread.bending_stiffness_mn_mm2),
        (JointAxis::AngZ, thread.bending_stiffness_mn_mm2),
    ] {
        joint = joint.motor_model(axis, MotorModel::ForceBased).motor_position(axis, 0.0, over(stiffness), 0.0);
    }
    joint.build()
}

impl Chain {
    fn new(task: &Task, choice: Choice) -> Chain {
        let half = 0.5 * task.segment_mm as f32;
        let parameters = IntegrationParameters {
            dt: 1e-3 * choice.step_ms,
            num_solver_iterations: choice.iterations,
            // Its lengths are tuned for bodies of about one unit: a segment is about a millimetre.
            length_unit: 1.0,
            contact_softness: HARD,
            static_contact_softness: HARD,
            friction_model: FrictionModel::Coulomb,
            friction_in_bias_pass: true,
            warmstart_joints: true,
            contact_recycling: false,
            ..IntegrationParameters::default()
        };
        let mut chain = Chain {
            pipeline: PhysicsPipeline::new(),
            parameters,
            islands: IslandManager::new(),
            broad_phase: BroadPhaseBvh::new(),
            narrow_phase: NarrowPhase::new(),
            bodies: RigidBodySet::new(),
            colliders: ColliderSet::new(),
            joints: ImpulseJointSet::new(),
            multibody: MultibodyJointSet::new(),
            ccd: CCDSolver::new(),
            capsules: Vec::new(),
            half,
        };
        chain.lay(task, choice.mass_scale);
        chain
    }

    fn lay(&mut self, task: &Task, mass_scale: f32) {
        let (thread, half) = (&task.thread, self.half);
        let mass = thread.mass_mg_per_mm as f32 * 2.0 * half * mass_scale;
        // Drag over mass [1/s].
        let damping = (thread.drag_mn_ms_per_mm2 / thread.mass_mg_per_mm) as f32 * 1e3 / mass_scale;
        for (pair, turn) in task.points_mm.windows(2).zip(frames(&task.points_mm)) {
            let turn = Rotation::from_xyzw(turn.x as f32, turn.y as f32, turn.z as f32, turn.w as f32);
            let body = RigidBodyBuilder::dynamic()
                .pose(Pose::from_parts(vector((pair[0] + pair[1]) * 0.5), turn))
                .linear_damping(damping)
                .angular_damping(damping)
                .can_sleep(false);
            let body = self.bodies.insert(body);
            let capsule =
                ColliderBuilder::capsule_x(half, thread.radius_mm as f32).friction(thread.friction as f32).mass(mass);
            self.colliders.insert_with_parent(capsule, body, &mut self.bodies);
            if let Some(&before) = self.capsules.last() {
                let mut joint = springs(task, half);
                joint.softness = HARD;
                self.joints.insert(before, body, joint, true);
            }
            self.capsules.push(body);
        }
        let ground = self.bodies.insert(RigidBodyBuilder::fixed());
        if task.first_load_mn.is_none() {
            let pin = GenericJointBuilder::new(JointAxesMask::LIN_AXES)
                .local_anchor1(vector(task.points_mm[0]))
                .local_anchor2(Vector::new(-half, 0.0, 0.0))
                .softness(HARD);
            self.joints.insert(ground, self.capsules[0], pin.build(), true);
        }
        if let Some(radius) = task.drum_radius_mm {
            let upright = Rotation::from_rotation_arc(Vector::Y, Vector::Z);
            let drum = ColliderBuilder::cylinder(20.0, radius as f32)
                .friction(thread.friction as f32)
                .position(Pose::from_parts(Vector::ZERO, upright));
            self.colliders.insert_with_parent(drum, ground, &mut self.bodies);
        }
    }

    /// The place of a capsule's end on its axis.
    fn end(&self, capsule: usize, side: f32) -> Vector {
        let body = &self.bodies[self.capsules[capsule]];
        body.translation() + *body.rotation() * Vector::new(side * self.half, 0.0, 0.0)
    }

    /// The nodes, from where two capsules meet.
    fn points(&self) -> Vec<DVec3> {
        let last = self.capsules.len();
        let wide = |v: Vector| DVec3::new(f64::from(v.x), f64::from(v.y), f64::from(v.z));
        let node = |k: usize| match k {
            0 => wide(self.end(0, -1.0)),
            k if k == last => wide(self.end(last - 1, 1.0)),
            k => (wide(self.end(k - 1, 1.0)) + wide(self.end(k, -1.0))) * 0.5,
        };
        (0..=last).map(node).collect()
    }

    fn pull(&mut self, capsule: usize, side: f32, force_mn: DVec3) {
        let at = self.end(capsule, side);
        let body = &mut self.bodies[self.capsules[capsule]];
        body.reset_forces(true);
        body.reset_torques(true);
        body.add_force_at_point(vector(force_mn) * MN, at, true);
    }

    fn step(&mut self) {
        self.pipeline.step(
            Vector::ZERO,
            &self.parameters,
            &mut self.islands,
            &mut self.broad_phase,
            &mut self.narrow_phase,
            &mut self.bodies,
            &mut self.colliders,
            &mut self.joints,
            &mut self.multibody,
            &mut self.ccd,
            &(),
            &(),
        );
    }
}

fn run(task: &Task, choice: Choice) -> Run {
    let start_mib = memory_mib("VmHWM");
    let mut chain = Chain::new(task, choice);
    let steps = steps_a_sample(task, f64::from(choice.step_ms));
    let dt = task.sample_ms / steps as f64;
    chain.parameters.dt = 1e-3 * dt as f32;
    let (mut time, mut core_s, mut samples) = (0.0, 0.0, Vec::new());
    let mut note = String::new();
    while time < task.duration_ms() - 0.5 * dt {
        let began = core_seconds();
        for _ in 0..steps {
            time += dt;
            if let Some(load) = task.first_load_mn {
                chain.pull(0, -1.0, load);
            }
            chain.pull(chain.capsules.len() - 1, 1.0, task.way * task.pull_mn(time));
            chain.step();
        }
        core_s += core_seconds() - began;
        let points_mm = chain.points();
        let gone = !points_mm.iter().all(|p| p.is_finite() && p.length() < 1e4);
        let off = task.points_mm[0].distance(points_mm[0]) > task.ends_after_mm;
        samples.push(Sample { time_ms: time, points_mm });
        if gone || off {
            break;
        }
        if core_s > LIMIT_S {
            note = format!("stopped after {time:.0} of {:.0} ms", task.duration_ms());
            break;
        }
    }
    Run {
        solver: "rapier".to_owned(),
        settings: format!("step {dt:.3} ms, {} iterations, mass x {}, f32", choice.iterations, choice.mass_scale),
        samples,
        pace: 1.0,
        simulated_ms: time,
        core_s,
        peak_mib: memory_mib("VmHWM"),
        start_mib,
        note,
    }
}

/// Runs of all choices: from what a game would take to what is far slower than real time.
pub(crate) fn runs(task: &Task) -> Vec<Run> {
    let choices: &[(f32, usize)] = match task.kind {
        Kind::EndLoad | Kind::Capstan => &[(16.667, 4), (2.083, 4), (2.083, 32), (0.25, 32)],
        Kind::Overhand | Kind::Hold => &[(16.667, 4), (2.083, 4), (0.5, 8)],
    };
    let all = choices
        .iter()
        .flat_map(|&(step_ms, iterations)| HEAVIER.map(|mass_scale| Choice { step_ms, iterations, mass_scale }));
    all.map(|choice| run(task, choice)).collect()
}
