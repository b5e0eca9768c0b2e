//! What does not give way: the bone under flaps and membrane, and the crowns beside the socket.
//!
//! Left out: the jaw's slopes beyond the ridge, the bottom of the socket, which no needle reaches through the graft, and bone that
//! stands a membrane's thickness higher where no membrane lies on it.

use super::neighbours::{Crown, crowns};
use crate::math::DVec3;
use crate::scenario::Scenario;

/// Half the length and half the width of the ridge [mm]: longer and wider than any raised flap; common practice, no source.
pub const RIDGE_HALF: [f64; 2] = [45.0, 18.0];

/// What something sharp may come upon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Substance {
    /// The jaw's bone.
    Bone,
    /// A tooth's crown.
    Tooth,
}

/// How a place lies to the surface of something hard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depth {
    /// Of what it is.
    pub of: Substance,
    /// How deep the place is in it [mm], to first order; negative outside.
    pub depth: f64,
    /// Unit vector out of it, where the surface is nearest.
    pub normal: DVec3,
}

/// The ridge's bone: level, with the socket's mouth sunk into it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Bone {
    /// Height of its top [mm].
    top: f64,
    /// Half widths of the mouth [mm], an ellipse.
    mouth: [f64; 2],
}

/// Bone and teeth of a site; none by default.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hard {
    bone: Option<Bone>,
    crowns: Vec<Crown>,
    mirrored: bool,
}

impl Hard {
    /// Bone and teeth of this scenario, its bone `bed` [mm] below the flaps' surface.
    #[must_use]
    pub fn of(scenario: &Scenario, bed: f64) -> Hard {
        let socket = &scenario.site.socket;
        let mouth = [0.5 * socket.mesiodistal_mm, 0.5 * socket.buccolingual_mm];
        Hard { bone: Some(Bone { top: -bed, mouth }), crowns: crowns(scenario).to_vec(), mirrored: false }
    }

    /// Teeth change places, as in [`HandEvent::Mirror`](crate::input::HandEvent::Mirror); said twice it is no more than said once.
    pub fn mirror(&mut self) {
        if !self.mirrored {
            self.crowns.iter_mut().for_each(Crown::mirror);
            self.mirrored = true;
        }
    }

    /// How a place [mm] lies to each of them.
    pub fn depths(&self, place: DVec3) -> impl Iterator<Item = Depth> {
        let bone = self.bone.iter().map(move |bone| bone.depth(place));
        bone.chain(self.crowns.iter().map(move |crown| depth_in_crown(crown, place)))
    }
}

impl Bone {
    fn depth(&self, place: DVec3) -> Depth {
        let (in_mouth, out_of_mouth) = in_oval(self.mouth, place, 1.0, 0.0);
        let faces = [
            (self.top - place.z, DVec3::Z),
            // The mouth is where there is no bone.
            (-in_mouth, -out_of_mouth),
            (RIDGE_HALF[0] - place.x.abs(), DVec3::X * place.x.signum()),
            (RIDGE_HALF[1] - place.y.abs(), DVec3::Y * place.y.signum()),
        ];
        nearest(Substance::Bone, faces)
    }
}

fn depth_in_crown(crown: &Crown, place: DVec3) -> Depth {
    let local = place - crown.middle;
    let [neck, bulge, rim] = crown.rings();
    let (low, high) = if local.z < bulge.0 { (neck, bulge) } else { (bulge, rim) };
    // Below its neck it stands upright.
    let slope = if local.z < neck.0 { 0.0 } else { (high.1 - low.1) / (high.0 - low.0) };
    let share = low.1 + slope * (local.z - low.0);
    nearest(Substance::Tooth, [(rim.0 - local.z, DVec3::Z), in_oval(crown.half, local, share, slope)])
}

/// How deep a place [mm] is in an oval about the vertical, to first order, and the way out of it; on the place's level it has
/// `share` of these half widths [mm], and `slope` [1/mm] is how that grows upward.
fn in_oval(half: [f64; 2], place: DVec3, share: f64, slope: f64) -> (f64, DVec3) {
    let scaled = DVec3::new(place.x / half[0], place.y / half[1], 0.0);
    let out = scaled.length();
    // In the very middle any way out will do.
    let level =
        if out < 1e-9 { DVec3::X / half[0] } else { DVec3::new(scaled.x / half[0], scaled.y / half[1], 0.0) / out };
    let gradient = level - DVec3::Z * slope;
    ((share - out) / gradient.length(), gradient.normalize())
}

fn nearest<const FACES: usize>(of: Substance, faces: [(f64, DVec3); FACES]) -> Depth {
    let (depth, normal) = faces.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).expect("a solid has faces");
    Depth { of, depth, normal }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hard() -> Hard {
        let scenario = crate::scenario::parse("first_stitch.ron", include_str!("../../scenarios/first_stitch.ron"));
        Hard::of(&scenario.expect("it is shipped"), 1.7)
    }

    struct Case {
        place: DVec3,
        of: Substance,
        depth: f64,
        normal: DVec3,
    }

    /// A socket of 5.5 x 7.5 mm, bone 1.7 mm down; to its right, 2.75 * 1.35 + 0.3 = 4.0125 mm from the middle, a premolar of
    /// 7 mm and 8.5 mm high, its bulge at 3.57 mm and its top at 7.48 mm: arithmetic.
    const CASES: &[(&str, Case)] = &[
        (
            "bone under a flap",
            Case { place: DVec3::new(0.0, 6.0, -2.0), of: Substance::Bone, depth: 0.3, normal: DVec3::Z },
        ),
        ("over bone", Case { place: DVec3::new(0.0, 6.0, -1.0), of: Substance::Bone, depth: -0.7, normal: DVec3::Z }),
        (
            "the socket's wall",
            Case { place: DVec3::new(0.0, 4.0, -5.0), of: Substance::Bone, depth: 0.25, normal: DVec3::NEG_Y },
        ),
        (
            "in the socket",
            Case { place: DVec3::new(0.0, 3.0, -5.0), of: Substance::Bone, depth: -0.75, normal: DVec3::NEG_Y },
        ),
        (
            "a bulge",
            Case { place: DVec3::new(4.2125, 0.0, 3.57), of: Substance::Tooth, depth: 0.2, normal: DVec3::NEG_X },
        ),
        (
            "beside it",
            Case { place: DVec3::new(3.5125, 0.0, 3.57), of: Substance::Tooth, depth: -0.5, normal: DVec3::NEG_X },
        ),
        ("a top", Case { place: DVec3::new(7.5125, 0.0, 7.38), of: Substance::Tooth, depth: 0.1, normal: DVec3::Z }),
    ];

    #[test]
    fn a_place_is_as_deep_in_bone_and_teeth_as_geometry_says() {
        let hard = hard();
        for (name, case) in CASES {
            let found =
                hard.depths(case.place).filter(|depth| depth.of == case.of).max_by(|a, b| a.depth.total_cmp(&b.depth));
            let found = found.expect("there is one");
            // At the bulge the side leans by 0.38 / 3.91 mm of 3.5 mm: depth and way out are right to its square and to it.
            assert!((found.depth - case.depth).abs() < 0.07 * case.depth.abs(), "{name}: {found:?}");
            assert!(
                found.normal.dot(case.normal) > 0.93 && (found.normal.length() - 1.0).abs() < 1e-12,
                "{name}: {found:?}"
            );
        }
    }

    #[test]
    fn in_a_mirrored_field_teeth_are_as_deep_as_they_were_on_the_other_side() {
        let (plain, mut mirrored) = (hard(), hard());
        for _ in 0..2 {
            mirrored.mirror();
        }
        let teeth = |hard: &Hard, place: DVec3| -> Vec<f64> {
            hard.depths(place).filter(|depth| depth.of == Substance::Tooth).map(|depth| depth.depth).collect()
        };
        // A premolar on one side and a molar on the other.
        let (here, across) = (DVec3::new(5.0, 0.4, 2.0), DVec3::new(-5.0, 0.4, 2.0));
        assert_ne!(teeth(&plain, here), teeth(&plain, across));
        assert_eq!(teeth(&mirrored, here), teeth(&plain, across));
        assert_eq!(teeth(&mirrored, across), teeth(&plain, here));
    }

    #[test]
    fn the_way_out_is_how_the_depth_falls() {
        let hard = hard();
        let step = 1e-6;
        for place in [
            DVec3::new(4.5, 1.2, 1.0),
            DVec3::new(5.0, -1.5, 5.5),
            DVec3::new(-5.5, 2.0, 4.0),
            DVec3::new(-9.0, 4.6, -1.0),
        ] {
            let tooth = |place: DVec3| {
                let all = hard.depths(place).filter(|depth| depth.of == Substance::Tooth);
                all.max_by(|a, b| a.depth.total_cmp(&b.depth)).expect("there are crowns")
            };
            let here = tooth(place);
            let fall = DVec3::from_array(
                [DVec3::X, DVec3::Y, DVec3::Z]
                    .map(|axis| (tooth(place - axis * step).depth - tooth(place + axis * step).depth) / (2.0 * step)),
            );
            // To first order in depth: a depth of a millimetre in a crown of 3.5 mm and more.
            assert!((fall - here.normal).length() < 0.35, "{place}: {fall} and {here:?}");
        }
    }
}
