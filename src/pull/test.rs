//! One pull: tie, cut, let go, then draw the loop open, quasi-statically, until the knot has slipped or the thread breaks.

use super::frame::{Frame, Look, STEPS_A_FRAME};
use super::knot::{Fault, Knot};
use super::mesh::FINER;
use super::notation::Throw;
use super::outcome::{End, Place, Point, Pull};
use super::running::Running;
use crate::analysis::reading::Form;
use crate::rod::Section;
use crate::rod::breaking::Break;

/// Edge length in radii: two diameters.
const EDGE_RADII: f64 = 4.0;
/// How much longer than asked for the tails are laid, so that there is something to cut [mm].
const TO_CUT: f64 = 2.0;
/// Pull at which the slack counts as out and the extension begins [mN]; estimate: enough to straighten the limbs.
const PRELOAD: f64 = 50.0;
/// The limbs' ends go apart by so much in a step [mm]: a thousandth of what is between them.
const STEP: f64 = 0.012;
/// Length of a step [ms]: 3 mm/s, as slow as a tensile bench, and drag takes less than a millinewton.
pub(super) const STEP_MS: f64 = 4.0;
/// Steps in which a knot comes to rest when its tails are cut.
pub(super) const SETTLE_STEPS: usize = 30;

/// A thread is bent where its outermost fibre bears so many times its tension.
const BENT: f64 = 1.01;

/// What is tied and how.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// The knot.
    pub throws: Vec<Throw>,
    /// The thread.
    pub section: Section,
    /// Pull on each end while tying [mN].
    pub pretension: f64,
    /// Length of the tails as cut [mm], to the nearest node.
    pub tail: f64,
    /// Slip at which the knot counts as slipped [mm].
    pub slip_limit: f64,
}

impl Test {
    /// Most wraps of a throw.
    pub(super) fn wraps_max(&self) -> usize {
        self.throws.iter().map(|throw| throw.wraps).max().unwrap_or(0)
    }

    /// As of [`Form::wraps_apart`], after so many throws; at least the most of a throw.
    pub(super) fn wraps_apart(&self, form: Form, made: usize) -> usize {
        form.wraps_apart(self.throws[..made].iter().map(|throw| throw.wraps)).max(self.wraps_max())
    }
}

/// Lays a knot, draws it tight, cuts its tails and pulls its loop open.
///
/// The loop stays as long as it was tied, as about a bench's pins, while the tails are let go and cut. Slip counts from the
/// knot drawn tight.
///
/// # Errors
/// Where a step cannot be done soundly, see [`Fault`].
pub fn pull(test: &Test) -> Result<Pull, Fault> {
    pull_in_edges(test, edge_length(test.section))
}

/// The same with edges half as long, from tying on: what is different comes of the mesh, see [`super::mesh_error`].
///
/// # Errors
/// As of [`pull`].
pub fn pull_refined(test: &Test) -> Result<Pull, Fault> {
    pull_in_edges(test, edge_length(test.section) / f64::from(FINER))
}

/// Length of the edges in which a thread is tied and pulled [mm].
#[must_use]
pub fn edge_length(section: Section) -> f64 {
    EDGE_RADII * section.radius
}

fn pull_in_edges(test: &Test, edge_length: f64) -> Result<Pull, Fault> {
    let (mut knot, cut) = tight_in_edges(test, edge_length);
    let pull = opened(&mut knot, test, cut);
    knot.fault.map_or(Ok(pull), Err)
}

fn opened(knot: &mut Knot, test: &Test, cut: Option<Cut>) -> Pull {
    let mut pull = Pull::of_tails([0.0; 2], test.slip_limit);
    if knot.thread_break.is_some() {
        pull.end = End::BrokeTying;
    } else if let Some(Cut { tight, tails }) = cut {
        pull.tails = tails;
        draw_open(knot, test.wraps_max(), tight, &mut pull, None);
    }
    pull
}

/// A knot that was drawn tight and cut.
pub(super) struct Cut {
    /// Where the strands ran when it was tight.
    pub(super) tight: [Running; 2],
    /// Lengths of the tails beyond it [mm].
    tails: [f64; 2],
}

impl Cut {
    fn of(knot: &mut Knot, test: &Test, tight: [Running; 2]) -> Cut {
        Cut { tight, tails: cut_tails(knot, test, tight) }
    }
}

/// The knot laid and drawn tight, its tails let go and cut, unless the thread broke or the knot came open.
pub(super) fn tight_and_cut(test: &Test) -> (Knot, Option<Cut>) {
    tight_in_edges(test, edge_length(test.section))
}

fn tight_in_edges(test: &Test, mesh: f64) -> (Knot, Option<Cut>) {
    let mut knot = Knot::drawn_tight(&test.throws, test.section, mesh, test.pretension, test.tail + TO_CUT);
    let tight = if knot.thread_break.is_none() { Running::of(&knot, test.wraps_max()) } else { None };
    let cut = tight.map(|tight| {
        knot.hold_limbs();
        knot.release(test.pretension);
        Cut::of(&mut knot, test, tight)
    });
    (knot, cut)
}

/// Cuts the tails; their lengths beyond the knot as it was drawn tight [mm].
fn cut_tails(knot: &mut Knot, test: &Test, tight: [Running; 2]) -> [f64; 2] {
    let limbs = knot.limbs.map(|node| knot.rod.material[node]);
    let ends = [
        limbs[0] - knot.cut_tail(0, limbs[0] - tight[0].exit - test.tail),
        knot.cut_tail(1, limbs[1] + tight[1].exit + test.tail) - limbs[1],
    ];
    knot.run(SETTLE_STEPS, STEP_MS);
    [0, 1].map(|k| ends[k] - tight[k].exit)
}

/// Draws the loop open until the thread breaks or the tails have run through; `look` is given how that looks.
pub(super) fn draw_open(knot: &mut Knot, wraps: usize, tight: [Running; 2], pull: &mut Pull, mut look: Option<Look>) {
    let [held, drawn] = knot.limbs;
    knot.drawn = (knot.rod.positions[drawn] - knot.rod.positions[held]).normalize() * (STEP / STEP_MS);
    let (mut slack_out, mut running) = (None, tight);
    // How far the limbs were drawn since the strands last pressed on each other [mm].
    let mut apart = 0.0;
    let mut show = |knot: &Knot, pull: &Pull| {
        if let Some(look) = look.as_mut() {
            look(Frame::of(knot, pull.curve.last().copied()));
        }
    };
    for step in 0.. {
        let over = apart >= pull.tails[0] + pull.tails[1];
        if over || step % STEPS_A_FRAME == 0 {
            show(knot, pull);
        }
        if over {
            break;
        }
        knot.run(1, STEP_MS);
        let slip = gained(tight, running, |strand| strand.exit);
        if let Some(found) = knot.thread_break {
            pull.end = if slip > pull.slip_limit { End::Slipped } else { End::Broke(place(&found)) };
            show(knot, pull);
            return;
        }
        match Running::of(knot, wraps) {
            Some(now) => (running, apart) = (now, 0.0),
            None => apart += STEP,
        }
        let slip = gained(tight, running, |strand| strand.exit);
        let force = 0.5 * (knot.rod.tension(held - 1) + knot.rod.tension(drawn + 1));
        if slip <= pull.slip_limit {
            pull.holding_force = pull.holding_force.max(force);
        }
        if slack_out.is_none() && force >= PRELOAD {
            slack_out = Some(knot.separation());
        }
        if let Some(from) = slack_out {
            let given = gained(tight, running, |strand| strand.entry);
            pull.curve.push(Point { extension: knot.separation() - from, force, slip, given });
        }
    }
}

/// What a place along the strands has gained on both together [mm].
fn gained(then: [Running; 2], now: [Running; 2], place: fn(Running) -> f64) -> f64 {
    (0..2).map(|k| place(now[k]) - place(then[k])).sum()
}

/// Limbs are straight but where they enter the knot.
fn place(found: &Break) -> Place {
    if found.load > BENT * found.tension { Place::Knot } else { Place::Limb }
}
