//! Generator of stitches as centrelines: stacks of flat throws, hitches on a post, wraps that were never tucked.
//!
//! Frame: x along the cross direction, z out of the tissue, holes on the x axis.

use core::f64::consts::PI;

use knotwright::analysis::reading::StitchCurve;
use knotwright::math::{DQuat, DVec3, cos, sin};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Distance of each hole from the middle of the wound [mm].
const HOLE: f64 = 2.5;

/// How a stack of throws is laid out [mm].
#[derive(Debug, Clone, Copy)]
pub(crate) struct Layout {
    /// Half the length of a throw along x.
    pub(crate) half_width: f64,
    /// Radius of the twist about x.
    pub(crate) radius: f64,
    /// Height of one throw.
    pub(crate) pitch: f64,
    /// Length of each tail.
    pub(crate) tails: [f64; 2],
    /// Distance between points.
    pub(crate) spacing: f64,
}

impl Layout {
    pub(crate) const LOOSE: Self =
        Self { half_width: 2.0, radius: 0.5, pitch: 2.0, tails: [12.0, 40.0], spacing: 0.45 };
}

/// Wraps and handedness of each throw from its notation; the first throw is left-handed (away).
pub(crate) fn throws_of(notation: &str) -> Vec<(u32, i8)> {
    let mut throws = Vec::new();
    let mut handedness = -1;
    for symbol in notation.chars() {
        match symbol {
            '=' => handedness = -handedness,
            'x' => {}
            digit => throws.push((digit.to_digit(10).expect("a figure"), handedness)),
        }
    }
    throws
}

/// Limbs that rise left and right, twist by 2n + 1 half turns a throw, and run out as straight tails to their sides.
pub(crate) fn flat_stack(throws: &[(u32, i8)], layout: Layout) -> StitchCurve {
    let (limbs, sides, top) = twisted_limbs(throws, layout);
    let tails = [0, 1].map(|i| {
        let (side, length) = (sides[i], layout.tails[i]);
        let mut limb = limbs[i].clone();
        let exit = DVec3::new(side * layout.half_width, 0.0, top);
        limb.extend([exit, exit + length * DVec3::new(0.8 * side, 0.0, 0.6)]);
        limb
    });
    stitch(&tails[0], &tails[1], layout.spacing)
}

/// The same, but the tails cross each other two times far above the knot, without a tuck.
pub(crate) fn stack_with_crossing_tails(throws: &[(u32, i8)], layout: Layout) -> StitchCurve {
    let (limbs, sides, top) = twisted_limbs(throws, layout);
    let tails = [0, 1].map(|i| {
        let side = sides[i];
        let depth = if i == 0 { 1.5 } else { -1.5 };
        let mut limb = limbs[i].clone();
        limb.extend([
            DVec3::new(side * layout.half_width, 0.0, top),
            DVec3::new(side * 6.0, depth, top + 2.0),
            DVec3::new(-side * 8.0, depth, top + 6.0),
            DVec3::new(-side * 9.0, depth, 1.0),
            DVec3::new(side * 9.0, 3.0 * depth, 0.6),
            DVec3::new(side * 15.0, -12.0, 0.4),
        ]);
        limb
    });
    stitch(&tails[0], &tails[1], layout.spacing)
}

/// The same, but a hand has drawn one tail back through the last throw: it goes through as before and comes back beside
/// itself, nearer to the axis of the twist.
pub(crate) fn stack_with_a_tail_drawn_back(throws: &[(u32, i8)], which: usize, layout: Layout) -> StitchCurve {
    let (limbs, sides, top) = twisted_limbs(throws, layout);
    let (_, sides_before, _) = twisted_limbs(&throws[..throws.len() - 1], layout);
    let inner = Layout { radius: 0.5 * layout.radius, ..layout };
    let back = |i: usize| {
        let (through, ..) = twisted_limbs(&throws[throws.len() - 1..], inner);
        // A throw of its own begins on its limb's side; the limb may come to the last one from the other.
        let own = usize::from(sides_before[i] > 0.0);
        let rise = top - layout.pitch - 0.5 * layout.pitch - inner.radius;
        let path = through[own][1..].iter().rev();
        path.map(|place| *place + DVec3::new(0.0, 0.0, rise)).collect::<Vec<DVec3>>()
    };
    let tails = [0, 1].map(|i| {
        let out = |side: f64, far: f64, up: f64| DVec3::new(side * (layout.half_width + far), 0.0, top + up);
        let mut limb = limbs[i].clone();
        limb.push(out(sides[i], 0.0, 0.0));
        if i == which {
            limb.push(out(sides[i], 2.0, 0.3));
            limb.push(out(sides[i], 2.0, -0.3));
            limb.extend(back(i));
            limb.push(out(sides_before[i], layout.tails[i], 0.5 - layout.pitch));
        } else {
            limb.push(out(sides[i], 0.8 * layout.tails[i], 0.6 * layout.tails[i]));
        }
        limb
    });
    stitch(&tails[0], &tails[1], layout.spacing)
}

/// Both limbs through all throws, the side (-1 left, +1 right) each comes out at, and the height there.
pub(super) fn twisted_limbs(throws: &[(u32, i8)], layout: Layout) -> ([Vec<DVec3>; 2], [f64; 2], f64) {
    let mut limbs = [-1.0, 1.0].map(|side| vec![DVec3::new(side * HOLE, 0.0, 0.0)]);
    let mut sides = [-1.0, 1.0];
    let mut height = 0.5 * layout.pitch + layout.radius;
    for &(wraps, handedness) in throws {
        let half_turns = f64::from(2 * wraps + 1);
        // Limbs that run against each other on a right-handed helix cross left-handed.
        let helix = -f64::from(handedness);
        let sample_count = 16 * (2 * wraps + 1);
        for (limb, side) in limbs.iter_mut().zip(&mut sides) {
            for sample in 0..=sample_count {
                let along = f64::from(sample) / f64::from(sample_count);
                // The limb from the right is half a turn ahead at the same x, and meets x from the other end.
                let from_left = if *side < 0.0 { along } else { 1.0 - along };
                let ahead = if *side < 0.0 { 0.0 } else { PI };
                let phase = -0.5 * PI + helix * PI * half_turns * from_left + ahead;
                limb.push(DVec3::new(
                    layout.half_width * (2.0 * from_left - 1.0),
                    layout.radius * cos(phase),
                    height + layout.radius * sin(phase),
                ));
            }
            *side = -*side;
        }
        height += layout.pitch;
    }
    (limbs, sides, height)
}

/// How a strand goes round a straight post.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Turn {
    /// Round the post and under itself: a half hitch.
    Hitch,
    /// The same turn, but passed behind itself: nothing holds it.
    Untucked,
}

/// Limb A is a straight post; limb B goes round it once for each entry, mirrored for -1.
pub(crate) fn turns_on_a_post(turns: &[(Turn, i8)], spacing: f64) -> StitchCurve {
    let post_height = 4.0 + 2.5 * turns.len() as f64;
    let post = [DVec3::ZERO, DVec3::new(0.0, 0.0, post_height + 10.0)];
    let mut hitching = vec![DVec3::new(2.0 * HOLE, 0.0, 0.0)];
    let mut base = 2.0;
    for &(turn, handedness) in turns {
        let front = 0.6 * f64::from(handedness);
        let pass = if turn == Turn::Hitch { front } else { -front };
        hitching.extend(
            [
                (1.0, 0.0, -0.5),
                (1.0, 0.0, 1.0),
                (0.0, front, 1.2),
                (-1.0, 0.0, 1.0),
                (-1.0, 0.0, 0.0),
                (0.0, -front, -0.1),
                (1.0, pass, 0.0),
                (2.0, 0.0, 0.0),
                (2.0, 0.0, 1.8),
            ]
            .map(|(x, y, z)| DVec3::new(x, y, base + z)),
        );
        base += 2.5;
    }
    hitching.extend([DVec3::new(6.0, 0.0, base + 2.0), DVec3::new(25.0, 3.0, base + 4.0)]);
    stitch(&post, &hitching, spacing)
}

/// A post with a strand wound round it as a plain spiral.
pub(crate) fn spiral_on_a_post(turns: f64, spacing: f64) -> StitchCurve {
    let post = [DVec3::ZERO, DVec3::new(0.0, 0.0, 20.0)];
    let mut winding = vec![DVec3::new(2.0 * HOLE, 0.0, 0.0)];
    winding.extend((0..=64).map(|sample| {
        let part = f64::from(sample) / 64.0;
        let phase = 2.0 * PI * turns * part;
        DVec3::new(0.7 * cos(phase), 0.7 * sin(phase), 2.0 + 3.0 * part)
    }));
    winding.push(DVec3::new(30.0, 0.0, 12.0));
    stitch(&post, &winding, spacing)
}

/// An overhand knot in limb B alone; the limbs do not touch each other.
pub(crate) fn knot_in_one_limb(spacing: f64) -> StitchCurve {
    let a = [DVec3::new(-HOLE, 0.0, 0.0), DVec3::new(-10.0, 0.0, 10.0)];
    let mut b = vec![DVec3::new(HOLE, 0.0, 0.0)];
    b.extend(
        [(4.0, 0.0, 2.0), (8.0, 0.5, 4.0), (6.0, 0.0, 7.0), (4.0, -0.5, 4.0), (8.0, -0.5, 2.5), (9.0, 0.0, 6.0)]
            .map(|(x, y, z)| DVec3::new(x, y, z)),
    );
    b.extend([DVec3::new(5.6, 0.8, 5.8), DVec3::new(5.6, -0.8, 4.9), DVec3::new(5.8, -8.0, 5.0)]);
    stitch(&a, &b, spacing)
}

/// Joins both limbs (tissue to end) by a half circle through the tissue and resamples.
pub(super) fn stitch(a: &[DVec3], b: &[DVec3], spacing: f64) -> StitchCurve {
    let (start, end) = (a[0], b[0]);
    let middle = 0.5 * (start + end);
    let radius = 0.5 * start.distance(end);
    let tissue: Vec<DVec3> = (0..=16)
        .map(|sample| {
            let phase = PI * f64::from(sample) / 16.0;
            let along = (end - start).normalize();
            middle - radius * cos(phase) * along - radius * sin(phase) * DVec3::Z
        })
        .collect();
    let mut points: Vec<DVec3> = resample(a, spacing).into_iter().rev().collect();
    let loop_start = points.len() - 1;
    points.extend(resample(&tissue, spacing).into_iter().skip(1));
    let loop_end = points.len() - 1;
    points.extend(resample(b, spacing).into_iter().skip(1));
    StitchCurve { points, loop_start, loop_end }
}

/// Points at equal distances along a polyline, as near to `spacing` [mm] as divides it.
pub(crate) fn resample(path: &[DVec3], spacing: f64) -> Vec<DVec3> {
    let lengths: Vec<f64> = path.windows(2).map(|ends| ends[0].distance(ends[1])).collect();
    let total: f64 = lengths.iter().sum();
    let mut count = 1;
    while f64::from(count) * spacing < total {
        count += 1;
    }
    let mut points = vec![path[0]];
    let (mut segment, mut passed) = (0, 0.0);
    for number in 1..count {
        let wanted = total * f64::from(number) / f64::from(count);
        while passed + lengths[segment] < wanted {
            passed += lengths[segment];
            segment += 1;
        }
        points.push(path[segment].lerp(path[segment + 1], (wanted - passed) / lengths[segment]));
    }
    points.push(path[path.len() - 1]);
    points
}

/// A seeded random rotation of the whole stitch and a shift of each point by up to `jitter` [mm] along each axis.
pub(crate) fn disturbed(curve: &StitchCurve, seed: u64, jitter: f64) -> StitchCurve {
    let mut generator = ChaCha8Rng::seed_from_u64(seed);
    let mut symmetric = |size: f64| size * (2.0 * generator.random::<f64>() - 1.0);
    let [x, y, z, w] = core::array::from_fn(|_| symmetric(1.0));
    let rotation = DQuat::from_xyzw(x, y, z, w + 1e-3).normalize();
    let points = curve
        .points
        .iter()
        .map(|&point| rotation * point + DVec3::new(symmetric(jitter), symmetric(jitter), symmetric(jitter)))
        .collect();
    StitchCurve { points, ..curve.clone() }
}

/// The same stitch seen in a mirror.
pub(crate) fn mirrored(curve: &StitchCurve) -> StitchCurve {
    StitchCurve { points: curve.points.iter().map(|p| DVec3::new(p.x, -p.y, p.z)).collect(), ..curve.clone() }
}

/// The same stitch with the limbs' names exchanged.
pub(crate) fn reversed(curve: &StitchCurve) -> StitchCurve {
    let last = curve.points.len() - 1;
    StitchCurve {
        points: curve.points.iter().rev().copied().collect(),
        loop_start: last - curve.loop_end,
        loop_end: last - curve.loop_start,
    }
}
