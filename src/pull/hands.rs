//! Where two hands go for one throw on the bench.
//!
//! One strand, the post, is held upright and leans over to where the other comes from. The other's end is carried round
//! it, each turn nearer to the knot than the one before and so through the loop that the strand has made; n wraps are n
//! turns and a half. Then both ends are drawn apart, which lays the throw flat, or for a sliding knot the post is kept
//! straight and the other end alone is drawn. While the next throw is wound other fingers keep the strands as they
//! were drawn, near the knot.
//!
//! A sliding knot's hitches are run down with a knot pusher on the post (common practice, no source): the winder is drawn
//! meanwhile, so that no slack stays below, and the hitch is drawn close under the pusher.

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
/// Ways to run a hitch down, one after the other tried; all shares are estimates, found by trying, as is which comes first.
const DRAWINGS: [Drawing; 4] = [
    Drawing { slack: 4.0, push: 0.3, press: 0.5, draw: 0.5 },
    Drawing { slack: 1.0, push: 0.5, press: 1.0, draw: 0.8 },
    Drawing { slack: 12.0, push: 0.15, press: 0.5, draw: 0.5 },
    Drawing { slack: 6.0, push: 0.15, press: 1.0, draw: 1.0 },
];
/// A hitch's top is where the winder is last so near to the post [radii of the thread], open as it may be.
const BESIDE: f64 = 12.0;
/// The pusher is threaded on the post so far above a hitch, and led down to so far above what is below it [radii]; estimate:
/// a hitch is two threads high, and the pusher one from its middle to its underside.
const PUSHER: (f64, f64) = (8.0, 6.0);
/// A hitch is run down if it is no higher than this for each of its wraps and once for its crossing [radii]; estimate: three
/// diameters, for a stiff thread's turns stand as open as that.
const HITCH: f64 = 6.0;
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

/// How a hitch of a sliding knot is run down: slack is drawn out as it is pushed, then it is closed under the pusher.
#[derive(Debug, Clone, Copy)]
pub(super) struct Drawing {
    /// How many times the force that draws slack out of other throws draws the winder meanwhile.
    slack: f64,
    /// Share of the pretension with which the pusher pushes at most.
    push: f64,
    /// Share with which it stays on the hitch.
    press: f64,
    /// Share by which the winder is drawn then; the post by all of it, so that it stays straight.
    draw: f64,
}

/// What is done otherwise with a whole knot when its throws did not come out [mm for a thread of the laid radius].
#[derive(Debug, Clone, Copy)]
pub(super) struct Way {
    /// Distance of the fingers from the knot, see [`FINGERS`].
    pub(super) fingers: f64,
    /// Strand beyond what a flat knot needs.
    pub(super) more: f64,
    /// Whether a hitch that is not run down does not count.
    pub(super) run_down: bool,
}

impl Way {
    /// Ways to throw a knot, one after the other tried.
    pub(super) fn all(form: Form) -> impl Iterator<Item = Way> {
        let (strands, strict): (&[f64], &[bool]) = match form {
            Form::Flat => (&[0.0], &[false]),
            Form::Sliding => (&SLIDING_MORE, &[true, false]),
        };
        strict.iter().flat_map(move |&run_down| {
            strands.iter().flat_map(move |&more| FINGERS.map(|fingers| Way { fingers, more, run_down }))
        })
    }
}

/// Ways to draw a throw down that was wound, one after the other tried; a flat one has no other.
pub(super) fn drawings(form: Form) -> Vec<Option<Drawing>> {
    match form {
        Form::Flat => vec![None],
        Form::Sliding => DRAWINGS.map(Some).to_vec(),
    }
}

/// Where the hands go for one throw.
#[derive(Debug, Clone)]
pub(super) struct Hands {
    bench: Bench,
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
}

impl Hands {
    /// Both strands in hand for throw `number`, with fingers at the knot if there is one, to wind at `winding`
    /// (see [`WINDINGS`]) from the post.
    pub(super) fn at(bench: &Bench, test: &Test, number: usize, form: Form, way: Way, winding: f64) -> Hands {
        let mut bench = bench.clone();
        let (winding, fingers) = (winding * bench.scale, way.fingers * bench.scale);
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
        }
    }

    /// The knot as it is.
    pub(super) fn knot(&self) -> &Knot {
        &self.bench.knot
    }

    /// Both hands as they are.
    pub(super) fn bench(self) -> Bench {
        self.bench
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
        let post_force = if straight { self.pretension } else { self.light() };
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
        if self.form == Form::Flat {
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
    pub(super) fn draw(&mut self, drawing: Option<Drawing>) {
        let (w, side) = (self.winder, self.side);
        let reach = self.bench.length(0).max(self.bench.length(1));
        let straight = self.form == Form::Sliding;
        let slack = self.bending().max(self.light());
        self.bench.hold(w, slack);
        self.hold_post(slack);
        let up = if straight && self.bench.pinched().is_some() { 0.0 } else { LIFT * self.bench.scale };
        for share in [0.7, 1.3] {
            let away = |side: f64| self.beside(side, share * reach, up);
            let post = if straight { self.post() } else { away(side) };
            self.carry(away(-side), post);
        }
        self.bench.let_go();
        match drawing {
            None => self.grow(slack, self.pretension),
            Some(Drawing { slack: times, push, press, draw }) => {
                self.bench.hold(w, times * slack);
                self.push_down(push * self.pretension);
                self.bench.press(press * self.pretension);
                self.grow(times * slack, draw * self.pretension);
            }
        }
        self.bench.settle();
    }

    /// Draws harder and harder, between these forces [mN].
    fn grow(&mut self, from: f64, to: f64) {
        for k in 1..=GROWING_STEPS {
            let force = from + (to - from) * f64::from(k) / f64::from(GROWING_STEPS);
            self.bench.hold(self.winder, force);
            self.hold_post(force);
            self.bench.wait(1);
        }
    }

    /// Pushes the hitch down its post to what is below, with `force` [mN]. The pusher stays there, as a finger does, until the
    /// next hitch comes down or the knot is cut.
    fn push_down(&mut self, force: f64) {
        self.bench.take_pusher();
        let (post, radius) = (1 - self.winder, self.bench.knot.rod.section.radius);
        let Some(top) = self.bench.last_beside(post, BESIDE * radius) else { return };
        let from = self.bench.knot.rod.positions[self.bench.node_at(post, top + PUSHER.0 * radius)];
        let down = self.foot - from;
        if down.length() > PUSHER.1 * radius {
            self.bench.push(from, self.foot - down.normalize() * (PUSHER.1 * radius), force);
        }
    }

    /// How far a hitch is from what is below it and how far it may be [mm], if that is farther than what is run down.
    pub(super) fn stands_open(&self) -> Option<(f64, f64)> {
        let pusher = self.bench.pusher()?;
        let height = pusher.distance(self.foot);
        let allowed = (PUSHER.1 + HITCH * (1 + self.throw.wraps) as f64) * self.bench.knot.rod.section.radius;
        (height > allowed).then_some((height, allowed))
    }

    /// Holds the post as the winder is drawn with `force` [mN]: alike for a flat throw, as it was for a straight post.
    fn hold_post(&mut self, force: f64) {
        if self.form == Form::Flat {
            self.bench.hold(1 - self.winder, force);
        }
    }
}
