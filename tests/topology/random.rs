//! Stitches at random: any throws, laid loosely or drawn up, with tails that wander, warped, noisy, resampled, turned.
//!
//! Whatever is done to a stitch keeps its throws, and [`is_kept`] proves it for each: what would pass strand through
//! strand is drawn again.

use core::f64::consts::PI;

use knotwright::analysis::reading::StitchCurve;
use knotwright::math::{DQuat, DVec3, cos, sin};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::stacks::{Layout, Turn, stitch, turns_on_a_post, twisted_limbs};
use super::tighten::{closest_parts, tightened};

/// Distance between the points that stand for the exact curve [mm].
const FINE: f64 = 0.05;
/// Threads of size 4-0 and 5-0 [mm].
const DIAMETERS: [f64; 2] = [0.3, 0.225];
/// Distances between nodes [mm].
const MESHES: core::ops::Range<f64> = 0.3..0.6;

/// A stitch and what was tied.
pub(super) struct Tied {
    pub(super) curve: StitchCurve,
    /// Wraps and handedness of each throw, the lowest first.
    pub(super) throws: Vec<(u32, i8)>,
}

/// The random numbers of one stitch.
pub(super) struct Chance(ChaCha8Rng);

impl Chance {
    pub(super) fn seeded(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    fn within(&mut self, range: core::ops::Range<f64>) -> f64 {
        range.start + (range.end - range.start) * self.0.random::<f64>()
    }

    fn below(&mut self, count: u32) -> u32 {
        self.0.random_range(0..count)
    }

    /// A vector no longer than 1.
    fn in_ball(&mut self) -> DVec3 {
        loop {
            let point = DVec3::new(self.within(-1.0..1.0), self.within(-1.0..1.0), self.within(-1.0..1.0));
            if point.length_squared() <= 1.0 {
                return point;
            }
        }
    }

    fn throws(&mut self, count_max: u32) -> Vec<(u32, i8)> {
        let count = 1 + self.below(count_max);
        (0..count).map(|_| (1 + self.below(3), if self.below(2) == 0 { 1 } else { -1 })).collect()
    }
}

/// A loose stitch, laid by formula.
pub(super) fn laid(chance: &mut Chance) -> Tied {
    loop {
        let (exact, throws) = if chance.below(10) == 0 { hitched(chance) } else { stacked(chance) };
        let exact = warped(&exact, chance);
        let diameter = DIAMETERS[chance.below(2) as usize];
        let mesh = chance.within(MESHES);
        let (coarse, cut_off) = thinned(&exact, mesh, chance);
        let (noisy, noise) = shaken(&coarse, diameter, chance);
        let strays: Vec<f64> = cut_off.iter().map(|stray| stray + noise).collect();
        if is_kept(&noisy.points, &strays) {
            return Tied { curve: turned(&noisy, chance), throws };
        }
    }
}

/// One stitch more and more drawn up, each stage disturbed in a number of ways.
pub(super) fn drawn_up(chance: &mut Chance, stages: &[usize], ways: usize) -> Vec<Tied> {
    // Long stacks take longest and do not tighten all the way in the rounds there are.
    let throws = chance.throws(4);
    let diameter = DIAMETERS[chance.below(2) as usize];
    let layout = Layout {
        spacing: chance.within(0.3..0.5),
        tails: [chance.within(4.0..9.0), chance.within(9.0..20.0)],
        ..Layout::LOOSE
    };
    let mut curve = super::stacks::flat_stack(&throws, layout);
    let mut tied = Vec::new();
    for &rounds in stages {
        curve = tightened(&curve, diameter, rounds);
        for _ in 0..ways {
            tied.push(loop {
                let (noisy, noise) = shaken(&curve, diameter, chance);
                if is_kept(&noisy.points, &vec![noise; noisy.points.len() - 1]) {
                    break Tied { curve: turned(&noisy, chance), throws: throws.clone() };
                }
            });
        }
    }
    tied
}

/// Flat throws with tails that wander.
fn stacked(chance: &mut Chance) -> (StitchCurve, Vec<(u32, i8)>) {
    let throws = chance.throws(6);
    let radius = chance.within(0.25..0.7);
    let layout = Layout {
        half_width: chance.within(1.0..2.4),
        radius,
        pitch: 2.0 * radius + chance.within(0.35..1.5),
        tails: [chance.within(3.0..15.0), chance.within(8.0..60.0)],
        spacing: FINE,
    };
    let (mut limbs, sides, top) = twisted_limbs(&throws, layout);
    let way = chance.below(3);
    for i in 0..2 {
        let exit = DVec3::new(sides[i] * layout.half_width, 0.0, top);
        let tail = match way {
            0 => sideways(exit, sides[i], layout.tails[i], chance),
            1 => rising(exit, sides[i], layout.tails[i], chance),
            _ if i == 0 => rising(exit, sides[i], layout.tails[i].min(8.0), chance),
            _ => falling(exit, sides[i], layout.tails[i], chance),
        };
        limbs[i].push(exit);
        limbs[i].extend(tail);
    }
    let (a, b) = if chance.below(2) == 0 { (&limbs[0], &limbs[1]) } else { (&limbs[1], &limbs[0]) };
    (stitch(a, b, FINE), throws)
}

/// Single hitches on a straight post.
fn hitched(chance: &mut Chance) -> (StitchCurve, Vec<(u32, i8)>) {
    let throws: Vec<(u32, i8)> = chance.throws(6).into_iter().map(|(_, handedness)| (1, handedness)).collect();
    let turns: Vec<(Turn, i8)> = throws.iter().map(|&(_, handedness)| (Turn::Hitch, handedness)).collect();
    (turns_on_a_post(&turns, FINE), throws)
}

/// Leads from the exit to a place from which the tail is free: above the stack and out to the side.
fn first_rise(exit: DVec3, side: f64) -> DVec3 {
    exit + DVec3::new(1.2 * side, 0.0, 1.2)
}

/// Ever farther out to the tail's own side, and up and down and to and fro: no tail comes near the other.
fn sideways(exit: DVec3, side: f64, length: f64, chance: &mut Chance) -> Vec<DVec3> {
    let mut path = vec![first_rise(exit, side), exit + DVec3::new(2.7 * side, 0.0, 1.4)];
    let mut gone = 0.0;
    while gone < length {
        let step = DVec3::new(side * chance.within(0.7..2.0), chance.within(-2.0..2.0), chance.within(-1.5..1.8));
        gone += step.length();
        path.push(path[path.len() - 1] + step);
    }
    path
}

/// Ever higher, and wandering sideways: the tails may go round each other, but neither can be tucked.
fn rising(exit: DVec3, side: f64, length: f64, chance: &mut Chance) -> Vec<DVec3> {
    let mut path = vec![first_rise(exit, side)];
    let mut gone = 0.0;
    while gone < length {
        let (from, wish) = (path[path.len() - 1], 6.0 * chance.in_ball());
        let step = DVec3::new(wish.x, wish.y, 0.0).clamp_length_max(3.0);
        // Back to the middle where it has gone far.
        let back = -0.1 * DVec3::new(from.x, from.y, 0.0);
        gone += step.length();
        path.push(from + step + back + chance.within(0.4..1.2) * DVec3::Z);
    }
    path
}

/// Up over everything, far out, and down again round the stitch.
fn falling(exit: DVec3, side: f64, length: f64, chance: &mut Chance) -> Vec<DVec3> {
    let above = exit.z + 12.0;
    let start = if side > 0.0 { 0.0 } else { PI };
    let mut path =
        vec![first_rise(exit, side), DVec3::new(side * 4.0, 0.0, above), DVec3::new(side * 16.0, 0.0, above)];
    let steps = 1 + chance.below(if length > 30.0 { 8 } else { 3 });
    let turn = chance.within(-0.7..0.7);
    for step in 1..=steps {
        let angle = start + turn * f64::from(step);
        let radius = chance.within(15.0..20.0);
        let height = above * (1.0 - f64::from(step) / f64::from(steps)) + chance.within(0.0..0.5);
        path.push(DVec3::new(radius * cos(angle), radius * sin(angle), height));
    }
    path
}

/// Bends all of space by long waves: amplitudes times wave numbers add up to less than 1, so nothing passes through.
fn warped(curve: &StitchCurve, chance: &mut Chance) -> StitchCurve {
    let waves: Vec<(DVec3, DVec3, f64)> =
        (0..3).map(|_| (chance.in_ball(), 0.25 * chance.in_ball(), chance.within(0.0..2.0 * PI))).collect();
    let bent = |&p: &DVec3| p + waves.iter().map(|&(size, wave, phase)| size * sin(wave.dot(p) + phase)).sum::<DVec3>();
    StitchCurve { points: curve.points.iter().map(bent).collect(), ..curve.clone() }
}

/// Fewer points, unevenly about `mesh` [mm] apart, and how far each new segment is from what it stands for [mm].
fn thinned(curve: &StitchCurve, mesh: f64, chance: &mut Chance) -> (StitchCurve, Vec<f64>) {
    let mut kept = vec![0];
    let (mut gone, mut wanted) = (0.0, mesh);
    let (mut loop_start, mut loop_end) = (0, 0);
    for place in 1..curve.points.len() {
        gone += curve.points[place].distance(curve.points[place - 1]);
        let fixed = place == curve.loop_start || place == curve.loop_end || place == curve.points.len() - 1;
        if gone < wanted && !fixed {
            continue;
        }
        kept.push(place);
        (gone, wanted) = (0.0, mesh * chance.within(0.85..1.15));
        if place == curve.loop_start {
            loop_start = kept.len() - 1;
        }
        if place == curve.loop_end {
            loop_end = kept.len() - 1;
        }
    }
    let stray = |ends: &[usize]| {
        let (from, to) = (curve.points[ends[0]], curve.points[ends[1]]);
        let part = |place: usize| (place - ends[0]) as f64 / (ends[1] - ends[0]) as f64;
        (ends[0]..ends[1]).map(|i| curve.points[i].distance(from.lerp(to, part(i)))).fold(0.0, f64::max)
    };
    let strays = kept.windows(2).map(stray).collect();
    (StitchCurve { points: kept.iter().map(|&i| curve.points[i]).collect(), loop_start, loop_end }, strays)
}

/// Every point moved, partly by itself and partly in waves along the thread; and the farthest that one may go [mm].
fn shaken(curve: &StitchCurve, diameter: f64, chance: &mut Chance) -> (StitchCurve, f64) {
    let noise = chance.within(0.0..diameter / 3.0);
    let share = chance.within(0.0..1.0);
    let waves: Vec<(DVec3, f64, f64)> =
        (0..3).map(|_| (chance.in_ball() / 3.0, chance.within(0.02..0.5), chance.within(0.0..2.0 * PI))).collect();
    let mut moved = |(index, &point): (usize, &DVec3)| {
        let smooth: DVec3 = waves.iter().map(|&(size, wave, phase)| size * sin(wave * index as f64 + phase)).sum();
        point + noise * (share * chance.in_ball() + (1.0 - share) * smooth)
    };
    let points = curve.points.iter().enumerate().map(&mut moved).collect();
    (StitchCurve { points, ..curve.clone() }, noise)
}

/// Turned any way.
fn turned(curve: &StitchCurve, chance: &mut Chance) -> StitchCurve {
    let [x, y, z, w] = core::array::from_fn(|_| chance.within(-1.0..1.0));
    let rotation = DQuat::from_xyzw(x, y, z, w + 1e-3).normalize();
    StitchCurve { points: curve.points.iter().map(|&point| rotation * point).collect(), ..curve.clone() }
}

/// Whether no strand can have passed through another on the straight way to where it is now.
///
/// Each point of segment i has come at most `strays[i]` [mm], shape `[point_count - 1]`. Two segments that are farther
/// apart now than they strayed together have not met. Segments next but two cannot make a knot by themselves: that
/// takes six.
fn is_kept(points: &[DVec3], strays: &[f64]) -> bool {
    let segments: Vec<(DVec3, f64)> =
        points.windows(2).map(|ends| (0.5 * (ends[0] + ends[1]), 0.5 * ends[0].distance(ends[1]))).collect();
    for i in 0..segments.len() {
        for j in i + 3..segments.len() {
            let need = strays[i] + strays[j];
            let reach = need + segments[i].1 + segments[j].1;
            if segments[i].0.distance_squared(segments[j].0) > reach * reach {
                continue;
            }
            let [p0, p1, q0, q1] = [i, i + 1, j, j + 1].map(|k| points[k]);
            let (on_p, on_q) = closest_parts(p0, p1, q0, q1);
            if p0.lerp(p1, on_p).distance(q0.lerp(q1, on_q)) <= need {
                return false;
            }
        }
    }
    true
}
