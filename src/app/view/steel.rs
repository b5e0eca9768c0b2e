//! Needle holder and forceps as polished steel: two halves each, which turn about their joint as the jaws open.
//!
//! Sizes follow the simulated shapes where thread can touch them; the rest is for the eye.

use bevy::math::Vec3;

use super::ground::place;
use super::surface::Surface;
use crate::instruments::{Design, Kind};

/// Points around a bar.
const AROUND: u32 = 16;

const STEEL: Vec3 = Vec3::new(0.62, 0.63, 0.65);
const DULL: Vec3 = Vec3::new(0.36, 0.37, 0.39);
const GOLD: Vec3 = Vec3::new(0.83, 0.61, 0.26);

/// A cut across a bar that runs along x: where, how high its middle is, its half widths across and up [mm].
struct Cut {
    x: f32,
    z: f32,
    half: [f32; 2],
}

const fn cut(x: f32, z: f32, across: f32, up: f32) -> Cut {
    Cut { x, z, half: [across, up] }
}

/// An instrument's moving halves and where they turn.
pub(super) struct Halves {
    /// The half whose jaw is above, and the other, in the instrument's frame with closed jaws.
    pub(super) halves: [Surface; 2],
    /// Distance of the joint from the tip [mm].
    pub(super) joint: f32,
}

/// Angle of each half [rad] at a jaw gap [mm].
pub(super) fn angle(joint: f32, gap: f32) -> f32 {
    (0.5 * gap / joint).atan()
}

/// The halves of an instrument.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
pub(super) fn halves(kind: Kind) -> Halves {
    let design = kind.design();
    match kind {
        Kind::NeedleHolder => {
            Halves { halves: [1.0, -1.0].map(|side| holder(&design, side)), joint: design.pivot as f32 }
        }
        Kind::Forceps => {
            let joint = (design.pivot + design.shaft) as f32;
            Halves { halves: [1.0, -1.0].map(|side| blade(&design, side)), joint }
        }
    }
}

/// Half of a needle holder: jaw, box joint, shank crossing to the other side, finger ring.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn holder(design: &Design, side: f32) -> Surface {
    let (pivot, end) = (design.pivot as f32, (design.pivot + design.shaft) as f32);
    let (tip, root) = (design.jaw_radius.0 as f32, design.jaw_radius.1 as f32);
    let mut surface = Surface::default();
    jaw(&mut surface, side, [tip, root], pivot, design.pad_length as f32);
    let other = -side;
    let shank = [
        cut(pivot - 4.5, side * 0.3, 1.15, 1.0),
        cut(pivot - 2.0, 0.0, 1.75, 1.45),
        cut(pivot + 2.0, 0.0, 1.75, 1.45),
        cut(pivot + 5.0, other * 0.7, 1.45, 0.95),
        cut(pivot + 14.0, other * 1.15, 1.25, 0.95),
        cut(end - 45.0, other * 1.5, 1.2, 0.95),
        cut(end - 22.0, other * 3.2, 1.25, 1.05),
        cut(end - 9.0, other * 7.6, 1.3, 1.15),
        cut(end - 2.0, other * 10.2, 1.3, 1.3),
    ];
    bar(&mut surface, &shank, |_| STEEL, None);
    let ratchet = [cut(end - 22.0, other * 2.4, 0.9, 2.4), cut(end - 18.5, other * 2.6, 0.9, 2.4)];
    bar(&mut surface, &ratchet, |_| DULL, None);
    screw(&mut surface, pivot, side);
    ring(&mut surface, Vec3::new(end + 7.5, 0.0, other * 11.5), [11.5, 9.0], 1.55, GOLD);
    surface
}

/// A jaw, flat inside, round outside, with cross-cut pads.
fn jaw(surface: &mut Surface, side: f32, radius: [f32; 2], pivot: f32, pads: f32) {
    let steps = 24;
    let mut cuts = vec![cut(0.02, 0.0, radius[0] * 0.45, radius[0] * 0.7)];
    for step in 0..=steps {
        let share = step as f32 / steps as f32;
        let x = 0.25 + share * (pivot - 0.25);
        let thick = radius[0] + (radius[1] - radius[0]) * share;
        cuts.push(cut(x, 0.0, thick, 1.55 * thick));
    }
    let cross_cut = move |x: f32| if x < pads && (x * 4.2).sin() > 0.0 { DULL } else { STEEL };
    bar(surface, &cuts, cross_cut, Some(side));
}

/// Half of a forceps: a long springy blade with a grip.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn blade(design: &Design, side: f32) -> Surface {
    let (pivot, end) = (design.pivot as f32, (design.pivot + design.shaft) as f32);
    let tip = design.jaw_radius.0 as f32;
    let mut surface = Surface::default();
    jaw(&mut surface, side, [tip, tip * 2.1], 14.0, design.pad_length as f32);
    let mut cuts = vec![cut(13.0, side * 0.65, tip * 2.0, 0.6), cut(24.0, side * 1.2, 1.3, 0.6)];
    let grooves = 32;
    for step in 0..=grooves {
        let x = pivot - 26.0 + step as f32 / grooves as f32 * 34.0;
        let groove = if step % 2 == 0 { 0.0 } else { 0.16 };
        cuts.push(cut(x, side * (1.75 + 0.012 * (x - pivot)), 2.5 - groove, 0.72 - groove));
    }
    cuts.push(cut(pivot + 18.0, side * 1.8, 2.6, 0.7));
    cuts.push(cut(end - 8.0, side * 1.3, 2.3, 0.75));
    cuts.push(cut(end, side * 0.55, 1.9, 0.75));
    bar(&mut surface, &cuts, |_| STEEL, None);
    surface
}

/// A closed bar through cuts; with `flat`, only its part on that side of the middle plane.
fn bar(surface: &mut Surface, cuts: &[Cut], colour: impl Fn(f32) -> Vec3, flat: Option<f32>) {
    let first = surface.next_number();
    for section in cuts {
        for i in 0..AROUND {
            let angle = i as f32 / AROUND as f32 * std::f32::consts::TAU;
            let (up, across) = angle.sin_cos();
            let mut z = section.z + section.half[1] * up;
            if let Some(side) = flat {
                z = side * (side * z).max(0.0);
            }
            surface.point(place(section.x, section.half[0] * across, z), colour(section.x));
        }
    }
    let rings = u32::try_from(cuts.len()).expect("few cuts");
    for ring in 1..rings {
        surface.join(first + (ring - 1) * AROUND, first + ring * AROUND, AROUND, true);
    }
    let (front, back) = (&cuts[0], &cuts[cuts.len() - 1]);
    let lift = |section: &Cut| flat.map_or(section.z, |side| side * 0.4 * section.half[1]);
    let middle = surface.point(place(front.x, 0.0, lift(front)), colour(front.x));
    surface.fan(first, AROUND, middle, false);
    let middle = surface.point(place(back.x, 0.0, lift(back)), colour(back.x));
    surface.fan(first + (rings - 1) * AROUND, AROUND, middle, true);
}

/// The screw of a box joint, on one side.
fn screw(surface: &mut Surface, pivot: f32, side: f32) {
    let first = surface.next_number();
    for (radius, across) in [(0.85, 1.6), (0.85, 1.85), (0.7, 1.95)] {
        for i in 0..AROUND {
            let angle = side * i as f32 / AROUND as f32 * std::f32::consts::TAU;
            surface.point(place(pivot + radius * angle.sin(), side * across, radius * angle.cos()), DULL);
        }
    }
    for ring in 1..3 {
        surface.join(first + (ring - 1) * AROUND, first + ring * AROUND, AROUND, true);
    }
    let middle = surface.point(place(pivot, side * 1.95, 0.0), DULL);
    surface.fan(first + 2 * AROUND, AROUND, middle, true);
}

/// A finger ring lying in the plane in which the jaws open.
fn ring(surface: &mut Surface, middle: Vec3, half: [f32; 2], thick: f32, colour: Vec3) {
    let (around, sides) = (36_u32, 10_u32);
    let first = surface.next_number();
    for i in 0..around {
        let (s, c) = (i as f32 / around as f32 * std::f32::consts::TAU).sin_cos();
        let out = Vec3::new(c, 0.0, s);
        for k in 0..sides {
            let (up, outward) = (k as f32 / sides as f32 * std::f32::consts::TAU).sin_cos();
            let at = middle + Vec3::new(half[0] * c, 0.0, half[1] * s) + (out * outward + Vec3::Y * up) * thick;
            surface.point(place(at.x, at.y, at.z), colour);
        }
    }
    for i in 0..around {
        let next = (i + 1) % around;
        surface.join(first + i * sides, first + next * sides, sides, true);
    }
}
