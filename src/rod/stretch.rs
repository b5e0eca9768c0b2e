//! Stretching energy of the rod: one spring per edge, `l0 W(strain)`, whose slope is the tension.
//!
//! Without a curve the spring is Hooke's, `W = EA/2 strain^2`. With one, tension is a monotone cubic of strain through its
//! points, so that energy is its exact integral, smooth to the second derivative, and every tangent is positive.
//!
//! Source of the slopes at the points: Fritsch & Butland 1984, SIAM J. Sci. Stat. Comput. 5:300, which is monotone by
//! Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17:238.

use super::equations::Equations;
use super::{Rod, Section};
use crate::math::{DMat3, DVec3};

/// How many points beside rest a curve of force over strain may have.
pub const POINTS_MAX: usize = 7;

/// The greatest first slope over the first secant with which the curve stays monotone (Fritsch & Carlson 1980).
const SLOPE_MAX: f64 = 3.0;

/// Tension over strain of a straight strand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForceStrain {
    /// The curve's pieces, in order; the first `count` count.
    pieces: [Piece; POINTS_MAX],
    count: usize,
}

/// From one point of the curve to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Piece {
    /// Strain at which it begins, and its width.
    start: f64,
    width: f64,
    /// Energy per length [mN], force [mN] and its slope [mN] where it begins.
    energy: f64,
    force: f64,
    slope: f64,
    /// Coefficients of the square and the cube of the strain past its beginning [mN].
    square: f64,
    cube: f64,
}

impl Piece {
    const NONE: Piece = Piece { start: 0.0, width: 0.0, energy: 0.0, force: 0.0, slope: 0.0, square: 0.0, cube: 0.0 };

    /// The law so far into the piece.
    fn at(&self, past: f64) -> Stretched {
        let Piece { energy, force, slope, square, cube, .. } = *self;
        Stretched {
            energy: energy + past * (force + past * (slope / 2.0 + past * (square / 3.0 + past * cube / 4.0))),
            force: force + past * (slope + past * (square + past * cube)),
            tangent: slope + past * (2.0 * square + past * 3.0 * cube),
        }
    }
}

/// Energy per length, force and tangent of a strain [mN].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretched {
    /// Energy per unstretched length [mN].
    pub energy: f64,
    /// Tension [mN].
    pub force: f64,
    /// Tension per strain [mN].
    pub tangent: f64,
}

impl ForceStrain {
    /// Hooke's law, by the section's axial stiffness alone.
    pub const HOOKE: ForceStrain = ForceStrain { pieces: [Piece::NONE; POINTS_MAX], count: 0 };

    /// The curve that leaves rest with the slope `stiffness` [mN] and goes through `points` of strain [1] and force [mN],
    /// rest left out; past the last of them it goes on straight, and in compression it keeps its first slope.
    ///
    /// `None` if there are more than [`POINTS_MAX`] points, if strains or forces do not rise from zero, or if the first
    /// slope is more than three times that to the first point. No points give Hooke's law.
    #[must_use]
    pub fn through(stiffness: f64, points: &[[f64; 2]]) -> Option<ForceStrain> {
        let mut curve = ForceStrain::HOOKE;
        curve.count = points.len();
        if points.len() > POINTS_MAX {
            return None;
        }
        let mut from = [0.0, 0.0];
        for (piece, to) in curve.pieces.iter_mut().zip(points) {
            *piece = Piece { start: from[0], width: to[0] - from[0], force: from[1], ..Piece::NONE };
            let rises = piece.width > 0.0 && to[1] > from[1];
            if !rises {
                return None;
            }
            from = *to;
        }
        let secants: Vec<f64> = (0..points.len())
            .map(|k| {
                let before = if k > 0 { points[k - 1] } else { [0.0, 0.0] };
                (points[k][1] - before[1]) / (points[k][0] - before[0])
            })
            .collect();
        if secants.first().is_some_and(|first| !(stiffness > 0.0 && stiffness <= SLOPE_MAX * first)) {
            return None;
        }
        let mut energy = 0.0;
        for k in 0..points.len() {
            let slope = |at: usize| match (at, secants.get(at)) {
                (0, _) => stiffness,
                (_, None) => secants[at - 1],
                (_, Some(after)) => {
                    harmonic(curve.pieces[at - 1].width, secants[at - 1], curve.pieces[at].width, *after)
                }
            };
            let (first, last, secant, width) = (slope(k), slope(k + 1), secants[k], curve.pieces[k].width);
            let piece = &mut curve.pieces[k];
            piece.energy = energy;
            piece.slope = first;
            piece.square = (3.0 * secant - 2.0 * first - last) / width;
            piece.cube = (first + last - 2.0 * secant) / (width * width);
            energy = piece.at(width).energy;
        }
        Some(curve)
    }

    /// The law at a strain, of a section with this axial stiffness [mN].
    #[must_use]
    pub fn at(&self, stiffness: f64, strain: f64) -> Stretched {
        let pieces = &self.pieces[..self.count];
        let Some(last) = pieces.last().filter(|_| strain > 0.0) else {
            let force = stiffness * strain;
            return Stretched { energy: 0.5 * force * strain, force, tangent: stiffness };
        };
        let within = pieces.iter().find(|piece| strain <= piece.start + piece.width);
        if let Some(piece) = within {
            return piece.at(strain - piece.start);
        }
        let (end, past) = (last.at(last.width), strain - last.start - last.width);
        Stretched {
            energy: end.energy + past * (end.force + 0.5 * past * end.tangent),
            force: end.force + past * end.tangent,
            tangent: end.tangent,
        }
    }
}

/// Slope at a point between two pieces: the weighted harmonic mean of the slopes to either side.
fn harmonic(width: f64, secant: f64, next_width: f64, next_secant: f64) -> f64 {
    let (weight, next_weight) = (2.0 * next_width + width, next_width + 2.0 * width);
    (weight + next_weight) / (weight / secant + next_weight / next_secant)
}

/// Energy [mN mm], tension [mN] and tangent [mN/mm] of an edge of unstretched length `rest` [mm] stretched by `stretch`.
fn spring(section: &Section, rest: f64, stretch: f64) -> Stretched {
    if section.force_strain.count == 0 {
        let stiffness = section.axial_stiffness / rest;
        let force = stiffness * stretch;
        return Stretched { energy: 0.5 * force * stretch, force, tangent: stiffness };
    }
    let law = section.force_strain.at(section.axial_stiffness, stretch / rest);
    Stretched { energy: law.energy * rest, force: law.force, tangent: law.tangent / rest }
}

/// Energy of all edges [mN mm] at the trial positions.
#[must_use]
pub fn energy(rod: &Rod, positions: &[DVec3]) -> f64 {
    let mut sum = 0.0;
    for i in 0..rod.rest_lengths.len() {
        if rod.live(i) {
            let stretch = positions[i].distance(positions[i + 1]) - rod.rest_lengths[i];
            sum += spring(&rod.section, rod.rest_lengths[i], stretch).energy;
        }
    }
    sum
}

/// Adds gradient and tangent. Unless the true tangent is wanted, a slack edge keeps only its axial stiffness, so that
/// the tangent stays positive. Returns the energy.
#[inline(always)]
pub(crate) fn assemble(rod: &Rod, positions: &[DVec3], equations: &mut Equations) -> f64 {
    let mut sum = 0.0;
    for i in 0..rod.rest_lengths.len() {
        if !rod.live(i) {
            continue;
        }
        let along = positions[i + 1] - positions[i];
        let length = along.length();
        let tangent = along / length;
        let spring = spring(&rod.section, rod.rest_lengths[i], length - rod.rest_lengths[i]);
        sum += spring.energy;
        equations.add_force(i, tangent * spring.force);
        equations.add_force(i + 1, -tangent * spring.force);
        if equations.gradient_only() {
            continue;
        }
        let outer = outer(tangent, tangent);
        let bow = spring.force / length;
        let across = if equations.exact() { bow } else { bow.max(0.0) };
        let block = outer * spring.tangent + (DMat3::IDENTITY - outer) * across;
        equations.add_stiffness(i, i, block);
        equations.add_stiffness(i + 1, i + 1, block);
        equations.add_stiffness(i, i + 1, -block);
    }
    sum
}

/// a b^T
#[must_use]
#[inline(always)]
pub fn outer(a: DVec3, b: DVec3) -> DMat3 {
    DMat3::from_cols(a * b.x, a * b.y, a * b.z)
}

#[cfg(test)]
mod tests {
    use super::*;

    const POINTS: [[f64; 2]; 3] = [[0.05, 1580.0], [0.15, 4350.0], [0.325, 8950.0]];
    const STIFFNESS: f64 = 31_700.0;

    fn curve() -> ForceStrain {
        ForceStrain::through(STIFFNESS, &POINTS).expect("it rises")
    }

    #[test]
    fn a_curve_goes_through_its_points_and_leaves_rest_with_the_axial_stiffness() {
        for [strain, force] in POINTS {
            let found = curve().at(STIFFNESS, strain).force;
            assert!((found / force - 1.0).abs() < 1e-12, "{strain}: {found}, not {force}");
        }
        let rest = curve().at(STIFFNESS, 0.0);
        assert_eq!((rest.energy, rest.force, rest.tangent), (0.0, 0.0, STIFFNESS));
    }

    #[test]
    fn force_is_the_slope_of_energy_and_tangent_the_positive_slope_of_force() {
        let step = 1e-6;
        for k in -20..=80 {
            // No strain is nearer than a step to a point of the curve, where the third derivative jumps.
            let strain = 0.005 * f64::from(k) + 0.0013;
            let [low, mid, high] = [strain - step, strain, strain + step].map(|s| curve().at(STIFFNESS, s));
            let force = (high.energy - low.energy) / (2.0 * step);
            let tangent = (high.force - low.force) / (2.0 * step);
            // Central differences err by rounding of the energy over the step, 1e-7 mN, and by the third derivative.
            assert!((force - mid.force).abs() < 1e-5, "strain {strain}: {force} against {}", mid.force);
            assert!((tangent - mid.tangent).abs() < 1e-2, "strain {strain}: {tangent} against {}", mid.tangent);
            assert!(mid.tangent > 0.0, "strain {strain}: {}", mid.tangent);
        }
    }

    #[test]
    fn neither_energy_nor_force_nor_tangent_jumps_at_a_point() {
        for [strain, _] in [[0.0, 0.0]].into_iter().chain(POINTS) {
            let [below, above] = [-1e-13, 1e-13].map(|s| curve().at(STIFFNESS, strain + s));
            assert!((below.energy - above.energy).abs() < 1e-8, "{strain}: {below:?}, {above:?}");
            assert!((below.force - above.force).abs() < 1e-8, "{strain}: {below:?}, {above:?}");
            assert!((below.tangent - above.tangent).abs() < 1e-6, "{strain}: {below:?}, {above:?}");
        }
    }

    #[test]
    fn a_curve_that_falls_or_begins_too_steep_is_none() {
        assert_eq!(ForceStrain::through(STIFFNESS, &[[0.05, 1580.0], [0.15, 1500.0]]), None);
        assert_eq!(ForceStrain::through(STIFFNESS, &[[0.05, 1580.0], [0.05, 1600.0]]), None);
        assert_eq!(ForceStrain::through(STIFFNESS, &[[0.05, 500.0]]), None);
        assert_eq!(ForceStrain::through(STIFFNESS, &[]), Some(ForceStrain::HOOKE));
    }
}
