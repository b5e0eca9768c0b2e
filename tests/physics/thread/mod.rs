//! The thread against closed forms and published results: strength of materials, elastica, capstan, friction, twist,
//! and knots that hold.

mod bends;
mod capstan;
mod convergence;
mod drift;
mod holding;
mod ideal;
mod knots;
mod lay;
mod limits;
mod material;
mod meshing;
mod opening;
mod passing;
mod seeds;
mod several;
mod sleep;
mod statics;
mod strength;
mod throwing;
mod thrown;
mod touch;
mod twist;

use knotwright::math::DVec3;
use knotwright::rod::step::{Memory, Report, Settings, step};
use knotwright::rod::surroundings::{NoTissue, Surroundings};
use knotwright::rod::{Rod, Section};

/// A sub-step of an attempt: an eighth of 1/60 s [ms].
const SUB_STEP_MS: f64 = 1000.0 / 480.0;

/// A measured number: what, by which law, what it should be, how near and why.
struct Case {
    law: &'static str,
    source: &'static str,
    expected: f64,
    tolerance: f64,
    reason: &'static str,
    measure: fn() -> f64,
}

fn check(cases: &[Case]) {
    for case in cases {
        let found = (case.measure)();
        assert!(
            (found - case.expected).abs() <= case.tolerance,
            "{}: found {found}, expected {} +- {} ({}); {}",
            case.law,
            case.expected,
            case.tolerance,
            case.reason,
            case.source
        );
    }
}

/// A thread with what is around it, solved to a tenth of a micronewton unless told otherwise.
struct Bench {
    rod: Rod,
    around: Surroundings,
    memory: Memory,
    settings: Settings,
    report: Report,
}

impl Bench {
    /// A thread at rest along the given points, weightless unless the section says otherwise.
    fn new(section: Section, points: Vec<DVec3>) -> Bench {
        Bench {
            rod: Rod::at_rest(section, points),
            around: Surroundings::default(),
            memory: Memory::default(),
            settings: Settings { iterations_max: 40, tolerance: 1e-4, yields: false, ..Settings::default() },
            report: Report::default(),
        }
    }

    fn hold(&mut self, nodes: &[usize]) {
        for &node in nodes {
            self.rod.free[node] = false;
        }
    }

    /// `steps` steps of `dt` [ms].
    fn run(&mut self, steps: usize, dt: f64) {
        for _ in 0..steps {
            self.report = step(&mut self.rod, &mut self.around, &NoTissue, &mut self.memory, &self.settings, dt);
            assert!(!self.report.broken, "the equations have no solution");
        }
    }

    fn last(&self) -> usize {
        self.rod.node_count() - 1
    }

    /// Sum of the forces a held node would need to stay, from the tension of the edge beside it [mN].
    fn pull_on_edge(&self, i: usize) -> DVec3 {
        (self.rod.positions[i + 1] - self.rod.positions[i]).normalize() * self.rod.tension(i)
    }
}

/// Points on a straight line from `from`, `count` edges of `mesh` along `toward`.
fn line(from: DVec3, toward: DVec3, mesh: f64, count: usize) -> Vec<DVec3> {
    (0..=count).map(|k| from + toward * (mesh * k as f64)).collect()
}
