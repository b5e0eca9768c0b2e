//! Where two hands go for one throw on the bench.
//!
//! One strand, the post, is held upright and leans over to where the other comes from. The other's end is carried round
//! it, each turn nearer to the knot than the one before and so through the loop that the strand has made; n wraps are n
//! turns and a half. Then both ends are drawn apart, which lays the throw flat, or for a sliding knot the post is kept
//! straight and the other end alone is drawn. While the next throw is wound other fingers keep the strands as they
//! were drawn, near the knot.
//!
//! What is left out: the hitches of a sliding knot are not slid down to each other. They lock where they were drawn, some
//! millimetres apart on the post.

use super::bench::Bench;
use super::knot::Knot;
use super::notation::Throw;
use super::running::Running;
use super::test::Test;
use crate::analysis::reading::Form;
use crate::math::{DVec3, cos, sin};
use core::f64::consts::PI;

/// Strand that a throw needs beyond the holes, or beyond the fingers at the knot: for the way to the post and back, and
/// for each turn [mm]. All lengths here suit a thread of radius [`LAID_RADIUS`](super::LAID_RADIUS).
const STRAND: (f64, f64) = (14.0, 11.0);
/// Strand that the first throw takes with its limb and the fingers' distance, and every further throw [mm].
const TAKEN: (f64, f64) = (17.0, 4.0);
/// More strand for a sliding knot, whose turns are farther from the fingers, and which stays up on its post; the longer ones
/// for wraps and hitches that take more than those of a limp thread [mm].
const SLIDING_MORE: [f64; 3] = [16.0, 26.0, 36.0];
/// How far from the knot other fingers take the strands [mm], one after the other tried: nearer to it the hitches of a stiff
/// thread open less.
const FINGERS: [f64; 2] = [5.0, 2.0];
/// How far a flat knot's post leans toward the other strand [1], 27 degrees.
const LEAN: f64 = 0.5;
/// Heights along the post of the first turn and the last [mm].
const HEIGHTS: (f64, f64) = (9.0, 3.0);
/// The end is carried round at this distance from the post [mm], one after the other tried; it comes in at twice that.
pub(super) const WINDINGS: [f64; 5] = [2.0, 2.6, 1.6, 3.2, 2.3];
/// Corners of a turn.
const CORNERS: u32 = 8;
/// Ends are drawn apart so far above the holes, or the other fingers [mm]: a throw comes down to there.
const LIFT: f64 = 5.0;
/// Force that keeps a post upright and draws slack out [mN]; the hand that winds gives way to half of it.
const LIGHT: f64 = 60.0;
/// A strand is wound, and its slack drawn out, with so many times the force that bends it to the turn's radius at an arm
/// of that length (B / R^2, textbook beam); with less a stiff end stays behind the hand's way and misses its loop.
const BENDING: f64 = 4.0;
/// A post is held so many times as firmly as is wound round it: it gives way by 14 degrees.
const POST: f64 = 4.0;
/// Force of a hand that brings a slack strand to its place [mN].
const FIRM: f64 = 1000.0;
/// Ways to draw a sliding knot's strands; estimates, found by trying, as is which of them come first. A stiff and slippery
/// thread's hitches slide off the one before if they are drawn down steeply.
const LEVEL: Drawing = Drawing { lean: LEAN, down: 0.0, post_yields: false };
/// The same for wraps that stand open all the same.
const UPRIGHT: Drawing = Drawing { lean: 0.2, down: -0.2, post_yields: false };
/// The same for a thread that is drawn out of its hitch by a firm post.
const POST_YIELDS: Drawing = Drawing { lean: 0.2, down: -0.2, post_yields: true };
/// The same for hitches that slip off two wraps.
const UPWARD: Drawing = Drawing { lean: LEAN, down: -0.4, post_yields: false };
/// Share of the pretension by which a sliding knot's winding strand is drawn: less than the post, so that this stays straight, and
/// firmly, for the hitches of a stiff thread stand open otherwise; estimate.
const SLIDING_SHARE: f64 = 0.5;
/// How many times the winding strand's force pulls on a post that yields; estimate: a post that is pulled much harder draws
/// a slippery thread out of its hitch, for round a turn friction holds no more than exp(2 pi mu), 1.9 at 0.1.
const POST_RATIO: f64 = 2.0;
/// Steps in which a pull grows.
const GROWING_STEPS: u32 = 100;

/// Strand that throw `number` and those after it need beyond the holes or the fingers [mm].
pub(super) fn strand(throws: &[Throw], number: usize, way: Way) -> f64 {
    let need = |(later, throw): (usize, &Throw)| {
        let taken = match (number, later) {
            (_, 0) => 0.0,
            (0, later) => TAKEN.0 + TAKEN.1 * (later - 1) as f64,
            (_, later) => TAKEN.1 * later as f64,
        };
        STRAND.0 + STRAND.1 * throw.wraps as f64 + taken
    };
    throws[number..].iter().enumerate().map(need).fold(0.0, f64::max) + way.more
}

/// How the strands of a sliding knot are drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Drawing {
    /// How far the post leans toward where the winding strand comes from [1].
    lean: f64,
    /// How steeply the winding strand of later throws is drawn downward [1]; upward if negative.
    down: f64,
    /// Whether the post is pulled with [`POST_RATIO`] times the winding strand's force only.
    post_yields: bool,
}

/// What is done otherwise when a throw did not come out [mm for a thread of the laid radius].
#[derive(Debug, Clone, Copy)]
pub(super) struct Way {
    /// Distance from the post at which is wound, see [`WINDINGS`].
    pub(super) winding: f64,
    /// Distance of the fingers from the knot, see [`FINGERS`].
    pub(super) fingers: f64,
    /// Strand beyond what a flat knot needs.
    pub(super) more: f64,
    /// What a sliding knot's strands are drawn with; a flat knot's are drawn alike.
    pub(super) drawing: Drawing,
}

impl Way {
    /// Ways to throw a knot, one after the other tried.
    pub(super) fn all(form: Form) -> impl Iterator<Item = Way> {
        let strands: &[(f64, Drawing)] = match form {
            Form::Flat => &[(0.0, LEVEL)],
            Form::Sliding => &[
                (SLIDING_MORE[0], LEVEL),
                (SLIDING_MORE[1], UPRIGHT),
                (SLIDING_MORE[2], POST_YIELDS),
                (SLIDING_MORE[2], UPWARD),
            ],
        };
        strands
            .iter()
            .flat_map(|&(more, drawing)| FINGERS.map(|fingers| Way { winding: WINDINGS[0], fingers, more, drawing }))
    }
}

/// Where the hands go for one throw.
pub(super) struct Hands<'bench> {
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
    /// Distance from the post at which is wound [mm].
    winding: f64,
    /// As in [`Way`].
    drawing: Drawing,
}

impl Hands<'_> {
    /// Both strands in hand for throw `number`, with fingers at the knot if there is one.
    pub(super) fn at<'bench>(
        bench: &'bench mut Bench,
        test: &Test,
        number: usize,
        form: Form,
        way: Way,
    ) -> Hands<'bench> {
        let (winding, fingers) = (way.winding * bench.scale, way.fingers * bench.scale);
        let leftmost = usize::from(bench.end(1).x < bench.end(0).x);
        let winder = if number == 0 || form == Form::Sliding { 0 } else { leftmost };
        let side = if bench.end(winder).x < bench.end(1 - winder).x || number == 0 { -1.0 } else { 1.0 };
        let free = strand(&test.throws, number, way) * bench.scale;
        let mut foot = bench.knot.rod.positions[bench.knot.limbs[1 - winder]];
        if let Some(running) = Running::of(&bench.knot, test.wraps_apart(form, number)) {
            for (strand, Running { exit, .. }) in running.into_iter().enumerate() {
                let node = bench.node_at(strand, exit + fingers);
                let is_straight_post = form == Form::Sliding && strand != winder;
                if !is_straight_post {
                    let depth = bench.length(strand).min(exit + fingers + free);
                    bench.pinch(node);
                    bench.shorten(strand, bench.node_at(strand, depth));
                }
                if strand != winder {
                    let at = if is_straight_post { bench.node_at(strand, exit) } else { node };
                    foot = bench.knot.rod.positions[at];
                }
            }
        }
        Hands {
            bench,
            throw: test.throws[number],
            form,
            pretension: test.pretension,
            winder,
            side,
            foot,
            free,
            winding,
            drawing: way.drawing,
        }
    }

    /// The knot as it is.
    pub(super) fn knot(&self) -> &Knot {
        &self.bench.knot
    }

    /// Along the post: leaning to the winder's side, or as at first where the post stays as it is.
    fn up(&self) -> DVec3 {
        let side = if self.form == Form::Sliding { -1.0 } else { self.side };
        DVec3::new(side * self.drawing.lean, 0.0, 1.0).normalize()
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

    /// Force that bends the strand round the post [mN].
    fn bending(&self) -> f64 {
        BENDING * self.bench.knot.rod.section.bending_stiffness / (self.winding * self.winding)
    }

    /// A place beside the middle, on `side`, so far out and up [mm] from the height of the post's foot.
    fn beside(&self, side: f64, out: f64, up: f64) -> DVec3 {
        DVec3::new(side * out, 0.0, self.foot.z + up)
    }

    /// Brings the post upright, and the winder's end to its side, low, so that the slack of the strand makes a loop there.
    pub(super) fn raise_post(&mut self) {
        let (w, scale) = (self.winder, self.bench.scale);
        let straight = self.form == Form::Sliding;
        let post_force = if straight && !self.drawing.post_yields { self.pretension } else { self.light() };
        self.bench.hold(1 - w, post_force);
        if !straight {
            let (here, reach) = (self.bench.end(w), 0.7 * self.free);
            self.carry(here, self.beside(-self.side, reach, reach));
        }
        self.bench.hold(w, FIRM);
        if straight && let Some(held) = self.bench.pinched() {
            // Upright too, for the slack of a stiff strand would hang below the turns.
            let way = DVec3::new(0.45 * self.side, 0.0, 1.0).normalize();
            self.carry(held + way * (0.95 * self.free), self.post());
            return;
        }
        let aside = DVec3::Y * (self.direction() * 4.0 * scale);
        let low = self.beside(self.side, 0.45 * self.free, 4.0 * scale) + aside;
        self.carry(low, self.post());
    }

    /// Which way round the post, seen from where the post goes; the winder passes on the side -y first if positive.
    fn direction(&self) -> f64 {
        -self.throw.hand * self.side
    }

    /// Carries the winder's end round the post, from its own side to the other.
    pub(super) fn wind(&mut self) {
        let (post, scale) = (self.post(), self.bench.scale);
        let up = self.up();
        let out = DVec3::new(self.side * up.z, 0.0, -self.side * up.x);
        let force = self.bending().max(0.5 * self.light());
        self.bench.hold(self.winder, force);
        if self.form == Form::Flat || self.drawing.post_yields {
            self.bench.hold(1 - self.winder, self.light().max(POST * force));
        }
        let corners = self.throw.wraps as f64 * f64::from(CORNERS) + f64::from(CORNERS / 2);
        let mut corner = 0.0;
        while corner <= corners {
            let angle = 2.0 * PI * corner / f64::from(CORNERS);
            let height = HEIGHTS.0 + (HEIGHTS.1 - HEIGHTS.0) * corner / corners;
            let reach = if corner < 2.0 { 2.0 } else { 1.0 } * self.winding;
            let round = out * cos(angle) - DVec3::Y * (self.direction() * sin(angle));
            self.carry(self.foot + up * (height * scale) + round * reach, post);
            corner += 1.0;
        }
        self.carry(self.beside(-self.side, 0.4 * self.free, 4.0 * scale), post);
    }

    /// Draws the slack out, then the throw down.
    pub(super) fn draw(&mut self) {
        let (w, side) = (self.winder, self.side);
        let reach = self.bench.length(0).max(self.bench.length(1));
        let straight = self.form == Form::Sliding;
        let slack = self.bending().max(self.light());
        self.bench.hold(w, slack);
        self.hold_post(slack);
        let slides_down = straight && self.bench.pinched().is_some();
        for share in [0.7, 1.3] {
            let up = if slides_down { -self.drawing.down * share * reach } else { LIFT * self.bench.scale };
            let away = |side: f64| self.beside(side, share * reach, up);
            let post = if straight { self.post() } else { away(side) };
            self.carry(away(-side), post);
        }
        self.bench.let_go();
        let share = match self.form {
            Form::Flat => 1.0,
            Form::Sliding => SLIDING_SHARE,
        };
        let most = share * self.pretension;
        for k in 1..=GROWING_STEPS {
            let force = slack + (most - slack) * f64::from(k) / f64::from(GROWING_STEPS);
            self.bench.hold(w, force);
            self.hold_post(force);
            self.bench.wait(1);
        }
        self.bench.settle();
    }

    /// Holds the post as the winder is drawn with `force` [mN]: alike for a flat throw, as it was for a straight post.
    fn hold_post(&mut self, force: f64) {
        let post = 1 - self.winder;
        if self.drawing.post_yields {
            self.bench.hold(post, (POST_RATIO * force).min(self.pretension));
        } else if self.form == Form::Flat {
            self.bench.hold(post, force);
        }
    }
}
