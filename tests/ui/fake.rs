//! A stage without a simulation: a knot-like curve, two instruments, two flaps with a pale patch.

use knotwright::app::Stage;
use knotwright::input::{HandCommand, HandEvent, TickCommand};
use knotwright::instruments::{Kind, shapes};
use knotwright::math::{DVec3, Pose, cos, exp, rotation_between, sin};
use knotwright::quantity::Tick;
use knotwright::said::Said;
use knotwright::scenario::schema::Scenario;
use knotwright::score::{CriterionMark, Score};
use knotwright::simulation::snapshot::{FlapView, Readout, Snapshot, ToolView};
use knotwright::tooth::Tooth;
use knotwright::topology::HalfKnot;
use std::sync::{Arc, Mutex};

/// The shipped first case.
pub(crate) fn scenario() -> Scenario {
    knotwright::scenario::parse("first_stitch.ron", include_str!("../../scenarios/first_stitch.ron"))
        .expect("the shipped case is valid")
}

/// Where the cheek's flap is pale, and how far around [mm].
pub(crate) const PALE_AT: DVec3 = DVec3::new(0.0, 4.6, 0.0);
const PALE_WIDTH: f64 = 1.6;

/// Middle of the knot.
const KNOT: DVec3 = DVec3::new(0.0, 3.3, 0.45);

/// Tips of the needle holder and the forceps.
const TIPS: [DVec3; 2] = [DVec3::new(10.0, -2.0, 9.0), DVec3::new(-11.0, 5.0, 10.0)];

/// A stage that moves its instruments and knows no physics.
pub(crate) struct Fake {
    tick: u32,
    tools: [Pose; 2],
    opening: [f64; 2],
    finished: bool,
    marked: Option<Tooth>,
    /// Codes of the languages that it was to remember.
    pub(crate) languages: Arc<Mutex<Vec<String>>>,
}

impl Fake {
    pub(crate) fn new() -> Fake {
        let back = [DVec3::new(0.60, -0.52, 0.61), DVec3::new(-0.66, -0.45, 0.60)];
        let tools = [0, 1]
            .map(|hand| Pose { position: TIPS[hand], rotation: rotation_between(DVec3::X, back[hand].normalize()) });
        Fake { tick: 0, tools, opening: [0.05, 0.0], finished: false, marked: None, languages: Arc::default() }
    }
}

impl Stage for Fake {
    fn tick(&mut self, hands: Option<&TickCommand>) {
        self.tick += 1;
        let Some(command) = hands else {
            let angle = f64::from(self.tick) * 0.05;
            self.tools[0].position = TIPS[0] + DVec3::new(cos(angle) - 1.0, 0.0, sin(angle));
            return;
        };
        self.tools = [command.right.pose(), command.left.pose()];
        self.opening = [command.right.jaw_opening(), command.left.jaw_opening()];
        for event in &command.events {
            if let HandEvent::Mark { tooth } = event {
                self.marked = *tooth;
            }
        }
        self.finished |= command.events.contains(&HandEvent::Finish);
    }

    fn snapshot(&self) -> Snapshot {
        let kinds = [Kind::NeedleHolder, Kind::Forceps];
        let tools = [0, 1].map(|hand| {
            let (kind, pose) = (kinds[hand], self.tools[hand]);
            let gap = self.opening[hand] * kind.design().gap_max;
            let cones = shapes(kind, gap).iter().map(|cone| cone.placed(pose.position, pose.rotation)).collect();
            ToolView { kind, pose, gap, cones }
        });
        Snapshot {
            tick: Tick(self.tick),
            strands: vec![strand(self.tools[0].position, self.tools[1].position)],
            thread_radius: 0.1125,
            tools,
            needle: needle(),
            needle_radius: 0.25,
            flaps: [flap(1.0), flap(-1.0)],
            readout: Readout {
                loop_tension_mn: 120.0,
                strand_tension_mn: 840.0,
                tail_tension_mn: 610.0,
                throws: "2=1".to_owned(),
                half_knots: vec![HalfKnot { wraps: 2, handedness: -1 }, HalfKnot { wraps: 1, handedness: 1 }],
                blanched_area_mm2: 3.4,
                marked: self.marked,
                bitten: false,
                bites: 2,
                phase: "Third throw: draw the tail through, away from you".to_owned(),
            },
        }
    }

    fn current_command(&self) -> TickCommand {
        let command = |hand: usize| HandCommand::new(self.tools[hand], self.opening[hand]);
        TickCommand { right: command(0), left: command(1), events: Vec::new() }
    }

    fn finished(&self) -> Option<Score> {
        self.finished.then(score)
    }

    fn remember_language(&mut self, code: &str) {
        self.languages.lock().expect("one at a time").push(code.to_owned());
    }
}

/// A straight piece of curve.
fn line(from: DVec3, to: DVec3, pieces: u32, sag: f64) -> Vec<DVec3> {
    (0..pieces)
        .map(|i| {
            let t = f64::from(i) / f64::from(pieces);
            from.lerp(to, t) - DVec3::Z * (4.0 * sag * t * (1.0 - t))
        })
        .collect()
}

/// Half of a throw: a helix about the knot's axis.
fn helix(phase: f64, forward: bool) -> Vec<DVec3> {
    let at = |i: i32| {
        let t = f64::from(i) / 30.0 - 0.5;
        let angle = phase + t * 3.0 * std::f64::consts::TAU * if forward { 1.0 } else { -1.0 };
        KNOT + DVec3::new(t * if forward { 1.9 } else { -1.9 }, 0.17 * cos(angle), 0.17 * sin(angle))
    };
    (0..=30).map(at).collect()
}

/// From the needle holder through the knot, under the wound, through the knot again, to the forceps and the needle.
fn strand(right: DVec3, left: DVec3) -> Vec<DVec3> {
    let (cheek, tongue) = (DVec3::new(0.0, 4.6, -0.1), DVec3::new(0.0, -4.6, -0.1));
    let (first, second) = (helix(0.0, false), helix(std::f64::consts::PI, true));
    let mut curve = line(right, first[0], 24, 1.5);
    curve.extend(&first);
    curve.extend(line(first[30], tongue + DVec3::Z * 0.3, 14, -0.15));
    curve.extend(line(tongue, cheek, 16, 1.2));
    curve.extend(line(cheek + DVec3::Z * 0.2, second[0], 3, 0.0));
    curve.extend(&second);
    curve.extend(line(second[30], left, 24, 1.0));
    curve.extend(line(left, needle()[0], 30, 4.0));
    curve.push(needle()[0]);
    curve
}

/// Three eighths of a circle lying on the lip's side.
fn needle() -> Vec<DVec3> {
    (0..=20)
        .map(|i| {
            let angle = 0.4 + f64::from(i) / 20.0 * 0.75 * std::f64::consts::PI;
            DVec3::new(-19.0 + 8.06 * cos(angle), -16.5 + 8.06 * sin(angle), 1.2)
        })
        .collect()
}

/// A flap at rest whose cheek side is pale about its bite.
fn flap(side: f64) -> FlapView {
    let (columns, rows, step) = (17, 9, 1.25);
    let mut flap =
        FlapView { columns, rows, points: Vec::new(), blanch: Vec::new(), redness: Vec::new(), thickness: 1.4 };
    for column in 0..columns {
        for row in 0..rows {
            let at = DVec3::new(column as f64 * step - 10.0, side * (2.0 + row as f64 * step), 0.0);
            let near = |width: f64, x: f64| {
                let away = at - DVec3::new(x, PALE_AT.y, 0.0);
                exp(-away.length_squared() / (2.0 * width * width))
            };
            flap.points.push(at + DVec3::Z * (0.25 * near(1.5, 0.0)));
            flap.blanch.push(if side > 0.0 { 1.2 * near(PALE_WIDTH, 0.0) } else { 0.0 });
            flap.redness.push(if side > 0.0 { near(1.8, -5.5) } else { 0.0 });
        }
    }
    flap.blanch.iter_mut().for_each(|blanch| *blanch = blanch.min(1.0));
    flap
}

/// Marks with one fault.
pub(crate) fn score() -> Score {
    let mark = |id: &str, title: &str, weight: f64, mark: f64, evidence: &str, advice: &str| CriterionMark {
        id: id.to_owned(),
        title: title.to_owned(),
        weight,
        mark,
        required: false,
        fails_below: 0.0,
        failed: false,
        fault: mark < 1.0,
        evidence: Said::plain(evidence),
        advice: Said::plain(advice),
        band: Said::plain("…"),
        source: String::new(),
        value: None,
        unit: String::new(),
        tick: (mark < 1.0).then_some(Tick(1272)),
        seconds: (mark < 1.0).then_some(21.2),
    };
    Score {
        total: 77.4,
        pass_mark: 70.0,
        passed: true,
        reasons: Vec::new(),
        criteria: vec![
            mark("throws", "Throws as ordered", 10.0, 1.0, "Read 2=1=1, ordered 2=1=1.", ""),
            mark("laid_square", "Laid square", 15.0, 1.0, "All throws lie flat.", ""),
            mark(
                "blanching",
                "Blanching",
                20.0,
                0.35,
                "6.1 mm2 of gum stayed pale 5 s after the last throw.",
                "Stop pulling when the edges meet.",
            ),
        ],
        critical: Vec::new(),
        site: None,
        one_thing_to_change: Said::plain("Stop pulling when the edges meet."),
    }
}
