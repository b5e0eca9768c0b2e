//! A knot from a table as the window sees it: alone on a bench, with its reading and its pull.

use crate::app::words::Text;
use crate::app::{Stage, ToPull};
use crate::input::{HandCommand, TickCommand};
use crate::instruments::Kind;
use crate::material::Material;
use crate::math::{DQuat, DVec3, Pose};
use crate::pull::Tabled;
use crate::quantity::Tick;
use crate::report::ReadStitch;
use crate::score::Score;
use crate::simulation::snapshot::{FlapView, Readout, Snapshot, ToolView};

/// Radius of a thread that nobody said anything of, as it is drawn [mm]: a 4-0 of the middle of its class.
const RADIUS: f64 = 0.09;
/// How far behind the middle of the picture the knot lies [mm]: the panel of its pull is before it.
const AWAY: f64 = 7.0;

/// A knot on the bench.
pub(crate) struct Bench {
    stitch: ReadStitch,
    knot: Tabled,
    thread: Option<Material>,
    snapshot: Snapshot,
}

impl Bench {
    /// A stitch as it reads and as its table has it, in a thread, if one was named.
    pub(crate) fn new((stitch, knot): (ReadStitch, Tabled), thread: Option<Material>) -> Bench {
        let radius = thread.as_ref().map_or(RADIUS, |thread| 0.5 * thread.diameter());
        let snapshot = Snapshot {
            tick: Tick(0),
            strands: vec![laid_down(&stitch.curve.points, radius)],
            thread_radius: radius,
            tools: [Kind::NeedleHolder, Kind::Forceps].map(nowhere),
            needle: Vec::new(),
            needle_radius: 0.0,
            flaps: [(); 2].map(|()| no_flap()),
            readout: Readout {
                throws: stitch.reading.notation.clone(),
                half_knots: stitch.reading.half_knots().collect(),
                ..Readout::default()
            },
        };
        Bench { stitch, knot, thread, snapshot }
    }
}

/// The thread resting on the bench, clear of the panel below it.
fn laid_down(points: &[DVec3], radius: f64) -> Vec<DVec3> {
    let start = (DVec3::INFINITY, DVec3::NEG_INFINITY);
    let (least, most) = points.iter().fold(start, |(least, most), point| (least.min(*point), most.max(*point)));
    let middle = 0.5 * (least + most);
    let down = DVec3::new(middle.x, middle.y - AWAY, least.z - radius);
    points.iter().map(|point| *point - down).collect()
}

/// An instrument that is not there; a bench draws none.
fn nowhere(kind: Kind) -> ToolView {
    ToolView { kind, pose: Pose { position: DVec3::ZERO, rotation: DQuat::IDENTITY }, gap: 0.0, cones: Vec::new() }
}

fn no_flap() -> FlapView {
    FlapView { columns: 0, rows: 0, points: Vec::new(), blanch: Vec::new(), redness: Vec::new(), thickness: 0.0 }
}

impl Stage for Bench {
    fn tick(&mut self, _hands: Option<&TickCommand>) {}

    fn snapshot(&self) -> Snapshot {
        self.snapshot.clone()
    }

    fn current_command(&self) -> TickCommand {
        let [right, left] = self.snapshot.tools.each_ref().map(|tool| HandCommand::new(tool.pose, 0.0));
        TickCommand { right, left, events: Vec::new() }
    }

    fn finished(&self) -> Option<Score> {
        None
    }

    fn to_pull(&mut self) -> Vec<ToPull> {
        let Some(thread) = &self.thread else {
            return vec![ToPull::Nothing { radius: self.snapshot.thread_radius, why: Text::of("stage-name-thread") }];
        };
        vec![ToPull::Table { knot: Box::new(self.knot.clone()), section: Box::new(thread.section) }]
    }

    fn reading(&self) -> Option<&ReadStitch> {
        Some(&self.stitch)
    }
}
