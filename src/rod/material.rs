//! What a thread is made of: the numbers of a thread's material, size and wetness that the rod needs.
//!
//! A thread is taken as a solid round section of the middle diameter of its pharmacopoeia size. Stiffnesses follow
//! from that diameter and Young's modulus by the formulae of the straight beam. Every number says where it is from:
//! a published source, `from memory` (of the source named), or `estimate` (a choice of ours, with its reason).
//!
//! Plain and chromic gut have the same numbers here: the sources give one row for both, and what tanning with
//! chromium salts changes is how long gut lasts in tissue, not how it handles on the day.

use std::f64::consts::PI;

/// A thread's material in one size, wet or dry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Generic name.
    pub name: &'static str,
    /// Pharmacopoeia size, such as `4-0`.
    pub size: &'static str,
    /// Soaked (`true`) or as it dries (`false`).
    pub wet: bool,
    /// Diameter [mm], the middle of the pharmacopoeia's band.
    pub diameter: f64,
    /// Young's modulus [kPa].
    pub young_modulus: f64,
    /// Force per strain when stretched, `E A` [mN].
    pub axial_stiffness: f64,
    /// Moment per curvature, `E I` [mN mm^2].
    pub bending_stiffness: f64,
    /// Torque per twist rate, `G J` [mN mm^2].
    pub twist_stiffness: f64,
    /// Curvature beyond which bending leaves a set [1/mm].
    pub yield_curvature: f64,
    /// Coulomb friction of thread on thread [1].
    pub friction_thread: f64,
    /// Coulomb friction of thread on an instrument's steel [1].
    pub friction_steel: f64,
    /// Coulomb friction of thread in tissue [1].
    pub friction_tissue: f64,
    /// Least force that breaks a knotted strand, by pharmacopoeia [mN], the mean of a batch; not a measured strength.
    pub knot_pull_min: f64,
    /// Mass per length [mg/mm].
    pub linear_density: f64,
}

/// What a pharmacopoeia size of gut is.
///
/// USP, table of collagen sutures (from memory; the European Pharmacopoeia's monograph 0317 agrees within 3 %, from
/// memory): limits of the average diameter, measured on gut fresh from its fluid, and least average knot pull.
struct Size {
    name: &'static str,
    /// Least and greatest average diameter [mm].
    diameter_band: [f64; 2],
    /// Least average knot pull [mN].
    knot_pull_min: f64,
}

const SIZES: &[Size] = &[
    // 1.25 kgf
    Size { name: "3-0", diameter_band: [0.300, 0.339], knot_pull_min: 12_300.0 },
    // 0.77 kgf
    Size { name: "4-0", diameter_band: [0.200, 0.249], knot_pull_min: 7_550.0 },
    // 0.38 kgf
    Size { name: "5-0", diameter_band: [0.150, 0.199], knot_pull_min: 3_730.0 },
];

/// What wetness changes.
struct Condition {
    wet: bool,
    /// Young's modulus [kPa].
    young_modulus: f64,
    /// Strain of the outermost fibre at which it stops springing back [1].
    yield_strain: f64,
    friction_thread: f64,
    friction_steel: f64,
    friction_tissue: f64,
}

const CONDITIONS: &[Condition] = &[
    Condition {
        wet: false,
        // 2.4 GPa: Ratner et al., Biomaterials Science, table of sutures (from memory).
        young_modulus: 2.4e6,
        // Estimate: polymers of this stiffness give way at 2 to 4 %.
        yield_strain: 0.03,
        // From memory, order of magnitude; friction falls as tension rises: Gupta, Wolf, Postlethwait 1985, Surg
        // Gynecol Obstet 161:12.
        friction_thread: 0.25,
        // Estimate: polished steel grips no better than thread.
        friction_steel: 0.20,
        // The middle of 0.1 to 0.4, wet tissue (from memory); rises with speed and falls with load: Zhang et al. 2017,
        // Tribol Lett 65. The tissue wets a dry thread.
        friction_tissue: 0.25,
    },
    Condition {
        wet: true,
        // 0.3 to 1.0 GPa (from memory, weak); 0.8 is our choice within it.
        young_modulus: 0.8e6,
        // Estimate: soaked gut stretches 25 to 40 % against 15 to 35 % dry before it breaks, and is suppler.
        yield_strain: 0.05,
        // From memory, order of magnitude: swollen and tacky.
        friction_thread: 0.35,
        // Estimate: the wet film between thread and steel makes up for the tackiness.
        friction_steel: 0.20,
        friction_tissue: 0.25,
    },
];

/// Generic names, all of gut.
const NAMES: &[&str] = &["plain gut", "chromic gut"];

/// Density of gut [mg/mm^3], dry collagen (from memory). Wet gut is taken as no heavier, since the pharmacopoeia's
/// diameter is that of a strand in its fluid already.
const DENSITY: f64 = 1.30;

/// Poisson's ratio of gut [1]. Estimate between 0.3 (dry polymers) and 0.5 (wet, hence incompressible).
const POISSON_RATIO: f64 = 0.4;

/// Greatest elastic share of bending, over the curvature of first yield: a round section that yields through and
/// through carries 16 / (3 pi) times the moment at which its outermost fibre first yields (textbook, elastic and
/// perfectly plastic beam).
const FULLY_PLASTIC: f64 = 16.0 / (3.0 * PI);

/// The material called `name` in pharmacopoeia size `size`, wet or dry; `None` if it is not known.
#[must_use]
pub fn find(name: &str, size: &str, wet: bool) -> Option<Material> {
    let name = NAMES.iter().find(|known| **known == name)?;
    let size = SIZES.iter().find(|known| known.name == size)?;
    let condition = CONDITIONS.iter().find(|condition| condition.wet == wet)?;
    Some(derive(name, size, condition))
}

/// The names that [`find`] knows.
#[must_use]
pub fn names() -> Vec<&'static str> {
    NAMES.to_vec()
}

/// The sizes that [`find`] knows for `name`, thickest first; none if it does not know the name.
#[must_use]
pub fn sizes(name: &str) -> Vec<&'static str> {
    if NAMES.contains(&name) { SIZES.iter().map(|size| size.name).collect() } else { Vec::new() }
}

fn derive(name: &'static str, size: &Size, condition: &Condition) -> Material {
    let [min, max] = size.diameter_band;
    let diameter = 0.5 * (min + max);
    let square = diameter * diameter;
    let area = PI * square / 4.0;
    let second_moment = PI * square * square / 64.0;
    let bending_stiffness = condition.young_modulus * second_moment;
    Material {
        name,
        size: size.name,
        wet: condition.wet,
        diameter,
        young_modulus: condition.young_modulus,
        axial_stiffness: condition.young_modulus * area,
        bending_stiffness,
        // G J with G = E / (2 (1 + nu)) and J = 2 I.
        twist_stiffness: bending_stiffness / (1.0 + POISSON_RATIO),
        yield_curvature: FULLY_PLASTIC * condition.yield_strain / (0.5 * diameter),
        friction_thread: condition.friction_thread,
        friction_steel: condition.friction_steel,
        friction_tissue: condition.friction_tissue,
        knot_pull_min: size.knot_pull_min,
        linear_density: DENSITY * area,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `(size, wet, bending stiffness [N mm^2], axial stiffness [N], linear density [mg/mm])`, worked out by hand from
    /// the modulus and the middle diameter 0.175, 0.225 and 0.32 mm, printed with two or three figures.
    const BY_HAND: &[(&str, bool, f64, f64, f64)] = &[
        ("5-0", false, 0.11, 58.0, 0.031),
        ("5-0", true, 0.037, 19.0, 0.031),
        ("4-0", false, 0.30, 95.0, 0.052),
        ("4-0", true, 0.10, 32.0, 0.052),
        ("3-0", false, 1.24, 193.0, 0.105),
        ("3-0", true, 0.41, 64.0, 0.105),
    ];

    /// Rounding to two figures is off by up to 5 %; the exact middle of the bands, at most 0.3 % thinner than the
    /// diameters above, adds 1.2 % in bending, which no rounded number here needs.
    const TOLERANCE: f64 = 0.05;

    fn all() -> impl Iterator<Item = Material> {
        NAMES.iter().flat_map(|name| {
            SIZES.iter().flat_map(move |size| [true, false].map(|wet| find(name, size.name, wet).expect("it is known")))
        })
    }

    #[test]
    fn stiffness_and_mass_follow_from_modulus_and_diameter() {
        for (size, wet, bending, axial, density) in BY_HAND {
            let gut = find("chromic gut", size, *wet).expect("it is known");
            for (what, found, expected) in [
                ("bending", gut.bending_stiffness / 1000.0, bending),
                ("axial", gut.axial_stiffness / 1000.0, axial),
                ("density", gut.linear_density, density),
            ] {
                let error = (found / expected - 1.0).abs();
                assert!(error < TOLERANCE, "{what} of {size}, wet {wet}: {found}, by hand {expected}");
            }
        }
    }

    #[test]
    fn every_diameter_lies_in_its_pharmacopoeia_band() {
        for gut in all() {
            let size = SIZES.iter().find(|size| size.name == gut.size).expect("it is known");
            assert!(size.diameter_band[0] <= gut.diameter && gut.diameter <= size.diameter_band[1], "{gut:?}");
        }
    }

    #[test]
    fn a_thicker_thread_is_stronger_and_stiffer_and_a_wet_one_is_limper() {
        for name in names() {
            for pair in sizes(name).windows(2) {
                let [thick, thin] = [pair[0], pair[1]].map(|size| find(name, size, true).expect("it is known"));
                assert!(thick.knot_pull_min > thin.knot_pull_min && thick.bending_stiffness > thin.bending_stiffness);
            }
            for size in sizes(name) {
                let [wet, dry] = [true, false].map(|wet| find(name, size, wet).expect("it is known"));
                assert!(wet.bending_stiffness < dry.bending_stiffness && wet.yield_curvature > dry.yield_curvature);
            }
        }
    }

    /// The estimates of the yield strain must at least do what gut is seen to do (common practice, no source): keep
    /// the shape of a knot, bent to about its own diameter, and lose that of a loop in the hand.
    #[test]
    fn a_knot_tight_bend_takes_a_set_and_a_hand_wide_one_does_not() {
        for gut in all() {
            let tight = 1.0 / gut.diameter;
            let wide = 1.0 / 10.0;
            assert!(wide < gut.yield_curvature && gut.yield_curvature < tight, "{gut:?}");
        }
    }

    #[test]
    fn an_unknown_name_or_size_is_not_found() {
        assert_eq!(find("catgut deluxe", "4-0", true), None);
        assert_eq!(find("plain gut", "9-0", true), None);
        assert!(sizes("catgut deluxe").is_empty());
    }
}
