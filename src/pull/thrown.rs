//! Knots thrown on the bench, throw upon throw, by what two hands do to the ends of the strands.
//!
//! One strand, the post, is held upright and leans over to where the other comes from. The other's end is carried round
//! it, each turn nearer to the knot than the one before and so through the loop that the strand has made; n wraps are n
//! turns and a half. Then both ends are drawn apart, which lays the throw flat, or for a sliding knot the post is kept
//! straight and the other end alone is drawn. While the next throw is wound other fingers keep the strands as they
//! were drawn, near the knot.

use super::bench::Bench;
use super::knot::{Fault, Knot};
use super::notation::{Throw, notation};
use super::running::Running;
use super::test::Test;
use super::tie::centreline;
use crate::analysis::reading::{Form, Reading, read};
use crate::math::{DVec3, cos, sin};
use core::f64::consts::PI;

/// Strand that a throw needs beyond the holes, or beyond the fingers at the knot: for the way to the post and back, and
/// for each turn [mm]. All lengths here suit a thread of radius [`LAID_RADIUS`](super::LAID_RADIUS).
const STRAND: (f64, f64) = (14.0, 11.0);
/// Strand that the first throw takes with its limb and the fingers' distance, and every further throw [mm].
const TAKEN: (f64, f64) = (17.0, 4.0);
/// How far from the knot other fingers take the strands [mm].
const FINGERS: f64 = 5.0;
/// How far the post leans toward the other strand [1], 27 degrees.
const LEAN: f64 = 0.5;
/// Heights along the post of the first turn and the last [mm].
const HEIGHTS: (f64, f64) = (9.0, 3.0);
/// The end is carried round at this distance from the post [mm], one after the other tried; it comes in at twice that.
const WINDINGS: [f64; 3] = [2.0, 2.6, 1.6];
/// Corners of a turn.
const CORNERS: u32 = 8;
/// Ends are drawn apart so far above the holes, or the other fingers [mm]: a throw comes down to there.
const LIFT: f64 = 5.0;
/// Force that keeps a post upright and draws slack out [mN]; the hand that winds gives way to half of it.
const LIGHT: f64 = 60.0;
/// Force of a hand that brings a slack strand to its place [mN].
const FIRM: f64 = 1000.0;
/// Share of the pretension by which the winding strand of a sliding knot is drawn; estimate: less than the post's, so
/// that this stays straight.
const SLIDING_SHARE: f64 = 0.3;
/// Steps in which a pull grows.
const GROWING_STEPS: u32 = 100;

/// Why a knot could not be thrown.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Untied {
    /// A step could not be done soundly.
    #[error("throw {throw}: {fault}")]
    Unsound {
        /// Which throw, from 1.
        throw: usize,
        /// What went wrong.
        fault: Fault,
    },
    /// The thread broke.
    #[error("throw {throw}: the thread breaks while it is drawn down")]
    Broke {
        /// Which throw, from 1.
        throw: usize,
    },
    /// The throw did not become what was asked for.
    #[error("throw {throw}: the thread then reads {found}, asked for was {wanted}")]
    Misthrown {
        /// Which throw, from 1.
        throw: usize,
        /// What the thread reads.
        found: String,
        /// What it was to read.
        wanted: String,
    },
    /// The throws were right until the ends were let go.
    #[error("with its ends let go and cut it reads {found}, asked for was {wanted}")]
    CameLoose {
        /// What the thread reads.
        found: String,
        /// What it was to read.
        wanted: String,
    },
}

/// A knot with the ends still drawn.
pub(super) struct Thrown {
    bench: Bench,
    /// Where the strands ran when it was tight.
    pub(super) tight: Option<[Running; 2]>,
}

impl Thrown {
    /// The knot with its ends let go.
    pub(super) fn released(mut self) -> Knot {
        self.bench.release();
        self.bench.knot
    }
}

/// Throws the knot, throw upon throw; a throw that does not read as it should is taken back and thrown again otherwise.
///
/// # Errors
/// Which throw did not come out, and how.
pub(super) fn thrown(test: &Test, mesh: f64, form: Form) -> Result<Thrown, Untied> {
    let mut bench = Bench::new(test.section, mesh, strand(&test.throws, 0));
    if form == Form::Sliding {
        bench.open_below();
    }
    for number in 0..test.throws.len() {
        let mut tried = WINDINGS.iter().map(|&winding| {
            let mut bench = bench.clone();
            Hands::at(&mut bench, test, number, form).throw(winding);
            judged(&bench, test, number, form).map(|()| bench)
        });
        let first = tried.next().expect("there are windings");
        bench = first.or_else(|first| tried.find_map(Result::ok).ok_or(first))?;
    }
    let tight = Running::of(&bench.knot, test.wraps_max());
    Ok(Thrown { bench, tight })
}

/// Strand that throw `number` and those after it need beyond the holes or the fingers [mm].
fn strand(throws: &[Throw], number: usize) -> f64 {
    let need = |(later, throw): (usize, &Throw)| {
        let taken = match (number, later) {
            (_, 0) => 0.0,
            (0, later) => TAKEN.0 + TAKEN.1 * (later - 1) as f64,
            (_, later) => TAKEN.1 * later as f64,
        };
        STRAND.0 + STRAND.1 * throw.wraps as f64 + taken
    };
    throws[number..].iter().enumerate().map(need).fold(0.0, f64::max)
}

/// Whether the thread reads as the throws so far.
fn judged(bench: &Bench, test: &Test, number: usize, form: Form) -> Result<(), Untied> {
    let throw = number + 1;
    if let Some(fault) = bench.knot.fault {
        return Err(Untied::Unsound { throw, fault });
    }
    if bench.knot.thread_break.is_some() {
        return Err(Untied::Broke { throw });
    }
    let (found, wanted) = (read(&centreline(&bench.knot)), in_words(&test.throws[..throw], form));
    let found = said(&found);
    if found == wanted { Ok(()) } else { Err(Untied::Misthrown { throw, found, wanted }) }
}

/// A knot and its form as a reading says it.
pub(super) fn in_words(throws: &[Throw], form: Form) -> String {
    words(&notation(throws), Some(form))
}

/// What a reading says.
pub(super) fn said(reading: &Reading) -> String {
    if reading.clear { words(&reading.notation, reading.form) } else { "unclear".to_owned() }
}

fn words(notation: &str, form: Option<Form>) -> String {
    match form {
        Some(Form::Flat) => format!("`{notation}`, flat"),
        Some(Form::Sliding) => format!("`{notation}`, sliding"),
        None => "no throw".to_owned(),
    }
}

/// Where the hands go for one throw.
struct Hands<'bench> {
    bench: &'bench mut Bench,
    throw: Throw,
    form: Form,
    pretension: f64,
    /// The strand that winds; the other is the post.
    winder: usize,
    /// The side the winder comes from, -1 for left.
    side: f64,
    /// Foot of the post [mm].
    foot: DVec3,
    /// Free length of the strands [mm].
    free: f64,
}

impl Hands<'_> {
    /// Both strands in hand for throw `number`, with fingers at the knot if there is one.
    fn at<'bench>(bench: &'bench mut Bench, test: &Test, number: usize, form: Form) -> Hands<'bench> {
        let leftmost = usize::from(bench.end(1).x < bench.end(0).x);
        let winder = if number == 0 || form == Form::Sliding { 0 } else { leftmost };
        let side = if bench.end(winder).x < bench.end(1 - winder).x || number == 0 { -1.0 } else { 1.0 };
        let free = strand(&test.throws, number) * bench.scale;
        let mut foot = bench.knot.rod.positions[bench.knot.limbs[1 - winder]];
        if let Some(running) = Running::of(&bench.knot, test.wraps_max()) {
            for (strand, Running { exit, .. }) in running.into_iter().enumerate() {
                let node = bench.node_at(strand, exit + FINGERS * bench.scale);
                let is_straight_post = form == Form::Sliding && strand != winder;
                if !is_straight_post {
                    let depth = bench.length(strand).min(exit + FINGERS * bench.scale + free);
                    bench.pinch(node);
                    bench.shorten(strand, bench.node_at(strand, depth));
                }
                if strand != winder {
                    let at = if is_straight_post { bench.node_at(strand, exit) } else { node };
                    foot = bench.knot.rod.positions[at];
                }
            }
        }
        Hands { bench, throw: test.throws[number], form, pretension: test.pretension, winder, side, foot, free }
    }

    /// One throw, from both strands in hand to drawn down.
    fn throw(&mut self, winding: f64) {
        self.raise_post();
        self.wind(winding);
        self.draw();
        self.bench.let_go();
    }

    /// Along the post: leaning to the winder's side, or as at first where the post stays as it is.
    fn up(&self) -> DVec3 {
        let side = if self.form == Form::Sliding { -1.0 } else { self.side };
        DVec3::new(side * LEAN, 0.0, 1.0).normalize()
    }

    /// Where the post's hand pulls to, out of reach.
    fn post(&self) -> DVec3 {
        self.foot + self.up() * (1.3 * self.free.max(self.bench.length(1 - self.winder)))
    }

    fn both(&self, winder: DVec3, post: DVec3) -> [DVec3; 2] {
        if self.winder == 0 { [winder, post] } else { [post, winder] }
    }

    fn carry(&mut self, winder: DVec3, post: DVec3) {
        self.bench.carry(self.both(winder, post), self.winder);
    }

    fn light(&self) -> f64 {
        LIGHT * self.bench.scale * self.bench.scale
    }

    /// A place beside the middle, on `side`, so far out and up [mm] from the height of the post's foot.
    fn beside(&self, side: f64, out: f64, up: f64) -> DVec3 {
        DVec3::new(side * out, 0.0, self.foot.z + up)
    }

    /// Brings the post upright, and the winder's end to its side, low, so that the slack of the strand makes a loop there.
    fn raise_post(&mut self) {
        let (w, scale) = (self.winder, self.bench.scale);
        let straight = self.form == Form::Sliding;
        let post_force = if straight { self.pretension } else { self.light() };
        self.bench.hold(1 - w, post_force);
        if !straight {
            let (here, reach) = (self.bench.end(w), 0.7 * self.free);
            self.carry(here, self.beside(-self.side, reach, reach));
        }
        self.bench.hold(w, FIRM);
        let aside = DVec3::Y * (self.direction() * 4.0 * scale);
        let low = self.beside(self.side, 0.45 * self.free, 4.0 * scale) + aside;
        self.carry(low, self.post());
    }

    /// Which way round the post, seen from where the post goes; the winder passes on the side -y first if positive.
    fn direction(&self) -> f64 {
        -self.throw.hand * self.side
    }

    /// Carries the winder's end round the post, from its own side to the other.
    fn wind(&mut self, winding: f64) {
        let (post, scale) = (self.post(), self.bench.scale);
        let up = self.up();
        let out = DVec3::new(self.side * up.z, 0.0, -self.side * up.x);
        self.bench.hold(self.winder, 0.5 * self.light());
        let corners = self.throw.wraps as f64 * f64::from(CORNERS) + f64::from(CORNERS / 2);
        let mut corner = 0.0;
        while corner <= corners {
            let angle = 2.0 * PI * corner / f64::from(CORNERS);
            let height = HEIGHTS.0 + (HEIGHTS.1 - HEIGHTS.0) * corner / corners;
            let reach = if corner < 2.0 { 2.0 * winding } else { winding };
            let round = out * cos(angle) - DVec3::Y * (self.direction() * sin(angle));
            self.carry(self.foot + (up * height + round * reach) * scale, post);
            corner += 1.0;
        }
        self.carry(self.beside(-self.side, 0.4 * self.free, 4.0 * scale), post);
    }

    /// Draws the slack out, then the throw down.
    fn draw(&mut self) {
        let (w, side) = (self.winder, self.side);
        let reach = self.bench.length(0).max(self.bench.length(1));
        let straight = self.form == Form::Sliding;
        self.bench.hold(w, self.light());
        for share in [0.7, 1.3] {
            let away = |side: f64| self.beside(side, share * reach, LIFT * self.bench.scale);
            let post = if straight { self.post() } else { away(side) };
            self.carry(away(-side), post);
        }
        self.bench.let_go();
        let (light, most) = (self.light(), if straight { SLIDING_SHARE } else { 1.0 } * self.pretension);
        for k in 1..=GROWING_STEPS {
            let force = light + (most - light) * f64::from(k) / f64::from(GROWING_STEPS);
            self.bench.hold(w, force);
            if !straight {
                self.bench.hold(1 - w, force);
            }
            self.bench.wait(1);
        }
        self.bench.settle();
    }
}
