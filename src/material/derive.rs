//! From a material's cells to the numbers of the thread's equations.
//!
//! A thread is taken as a round section of its size's diameter. Stiffnesses follow from that diameter and Young's
//! modulus by the formulae of the straight beam, times the share that a braid keeps of them.

use super::schema::{Chosen, Condition, Entry, Size, SizeClass, Table, Wetness};
use crate::quantity::{MN_PER_N, MS_PER_S};
use crate::rod::contact::friction::LoadLaw;
use crate::rod::stretch::ForceStrain;
use crate::rod::{FULLY_PLASTIC, Section};
use std::f64::consts::PI;

/// Acceleration of free fall [mm/ms^2]: ISO 80000-3, standard value.
const GRAVITY: f64 = 9.806_65e-3;

const KPA_PER_GPA: f64 = 1.0e6;
const KPA_PER_MPA: f64 = 1.0e3;

/// A thread's material in one size, wet or dry.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Generic name.
    pub name: &'static str,
    /// Pharmacopoeia size, such as `4-0`.
    pub size: &'static str,
    /// Soaked (`true`) or dry (`false`).
    pub wet: bool,
    /// What the rod's equations need.
    pub section: Section,
    /// Mass per length [mg/mm].
    pub linear_density: f64,
    /// Least force that breaks a knotted strand, by pharmacopoeia [mN], the mean of a batch; `None` where there is no
    /// rule. Not a measured strength.
    pub knot_pull_min: Option<f64>,
    /// Force that breaks a straight strand [mN].
    pub straight_strength: f64,
    /// Force that breaks a knotted strand [mN].
    ///
    /// Strengths of handbooks are stresses over a wide band of diameters, and in thin sizes fall below what the
    /// pharmacopoeia asks of every thread on sale: what breaks sooner as tested is raised to that minimum, and the other
    /// condition in proportion.
    pub knotted_strength: f64,
    /// Strain [1] and force [mN] of a straight strand, from rest to break.
    pub force_strain: Vec<[f64; 2]>,
}

impl Material {
    /// Diameter [mm].
    #[must_use]
    pub fn diameter(&self) -> f64 {
        2.0 * self.section.radius
    }
}

/// What a thread of `entry` in `size` is.
pub(super) fn derive(table: &Table, entry: &'static Entry, size: &'static Size, wetness: Wetness) -> Material {
    named(&entry.name, &size.size, table, entry, size, wetness)
}

/// What a thread of `entry` in `size` is whose diameter and friction on thread lie at these shares of their ranges, 0 to 1.
pub(super) fn derive_within(
    table: &Table,
    entry: &'static Entry,
    size: &'static Size,
    wetness: Wetness,
    [diameter, friction]: [f64; 2],
) -> Material {
    let (mut of, mut sized) = (entry.clone(), size.clone());
    let condition = match wetness {
        Wetness::Dry => &mut of.dry,
        Wetness::Wet => &mut of.wet,
    };
    for (cell, share) in [(&mut condition.friction_on_thread, friction), (&mut sized.diameter_mm, diameter)] {
        cell.chosen = Some(Chosen { value: within(cell.low, cell.high, share), from: cell.from.clone() });
    }
    named(&entry.name, &size.size, table, &of, &sized, wetness)
}

/// How far along its range each number lies that is known within a range only and decides how a thread ties, 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Friction on thread.
    pub friction_on_thread: f64,
    /// Friction in tissue.
    pub friction_in_tissue: f64,
    /// Young's modulus, of bending and twisting.
    pub stiffness: f64,
}

/// What a thread of `entry` in `size` is whose frictions and stiffness lie at these shares of their ranges.
///
/// Its curve of force over strain stays: that was measured with its own ends, and a thread that ties is hardly stretched.
pub(super) fn derive_varied(
    table: &Table,
    entry: &'static Entry,
    size: &'static Size,
    wetness: Wetness,
    shares: Shares,
) -> Material {
    let mut of = entry.clone();
    let condition = match wetness {
        Wetness::Dry => &mut of.dry,
        Wetness::Wet => &mut of.wet,
    };
    let frictions = [
        (&mut condition.friction_on_thread, shares.friction_on_thread),
        (&mut condition.friction_in_tissue, shares.friction_in_tissue),
    ];
    for (cell, share) in frictions {
        cell.chosen = Some(Chosen { value: within(cell.low, cell.high, share), from: cell.from.clone() });
    }
    let mut varied = named(&entry.name, &size.size, table, &of, size, wetness);
    let modulus = &entry.condition(wetness).young_modulus_gpa;
    let factor = within(modulus.low, modulus.high, shares.stiffness) / modulus.used();
    varied.section.bending_stiffness *= factor;
    varied.section.twist_stiffness *= factor;
    varied
}

fn within(low: f64, high: f64, share: f64) -> f64 {
    (low * (1.0 - share) + high * share).clamp(low, high)
}

fn named(
    name: &'static str,
    size_name: &'static str,
    table: &Table,
    entry: &Entry,
    size: &Size,
    wetness: Wetness,
) -> Material {
    let condition = entry.condition(wetness);
    let area = area(size);
    Material {
        name,
        size: size_name,
        wet: wetness == Wetness::Wet,
        section: section(entry, size, wetness),
        linear_density: linear_density(entry, size),
        knot_pull_min: size.knot_pull_min_n.as_ref().map(|least| least.used() * MN_PER_N),
        straight_strength: straight_strength(condition, area),
        knotted_strength: knotted_strength(entry, &table.size_classes[&entry.size_class], size, wetness),
        force_strain: force_strain(condition, area),
    }
}

fn straight_strength(condition: &Condition, area: f64) -> f64 {
    KPA_PER_MPA * condition.straight_strength_mpa.used() * area
}

fn force_strain(condition: &Condition, area: f64) -> Vec<[f64; 2]> {
    let curve = condition.stress_strain_curve().into_iter();
    curve.map(|[strain, stress]| [strain, KPA_PER_MPA * stress * area]).collect()
}

fn area(size: &Size) -> f64 {
    let diameter = size.diameter_mm.used();
    PI * (diameter * diameter) / 4.0
}

/// 1 g/cm^3 is 1 mg/mm^3.
fn linear_density(entry: &Entry, size: &Size) -> f64 {
    entry.density_g_per_cm3.used() * entry.fill_share.used() * area(size)
}

fn section(entry: &Entry, size: &Size, wetness: Wetness) -> Section {
    let condition = entry.condition(wetness);
    let diameter = size.diameter_mm.used();
    let square = diameter * diameter;
    let second_moment = PI * square * square / 64.0;
    let modulus = condition.young_modulus_gpa.used() * KPA_PER_GPA;
    let solid = modulus * second_moment;
    let axial_stiffness = modulus * area(size);
    let curve = force_strain(condition, area(size));
    Section {
        radius: 0.5 * diameter,
        axial_stiffness,
        force_strain: ForceStrain::through(axial_stiffness, &curve[1..]).expect("checked: it rises from the modulus"),
        strength: straight_strength(condition, area(size)),
        bending_stiffness: solid * entry.bending_share.used(),
        // G J with G = E / (2 (1 + nu)) and J = 2 I.
        twist_stiffness: solid / (1.0 + entry.poisson_ratio.used()) * entry.twist_share.used(),
        yield_curvature: FULLY_PLASTIC * condition.yield_strain.used() / (0.5 * diameter),
        set_relaxation: condition.set_relaxation_s.used() * MS_PER_S,
        friction_thread: condition.friction_on_thread.used(),
        friction_steel: condition.friction_on_steel.used(),
        friction_tissue: condition.friction_in_tissue.used(),
        friction_load: friction_load(entry, condition),
        weight: linear_density(entry, size) * GRAVITY,
        contact_stiffness: entry.contact_stiffness_n_per_mm.used() * MN_PER_N,
    }
}

/// Friction on other threads has the range that was measured; what is known of its fall with load was measured there.
fn friction_load(entry: &Entry, condition: &Condition) -> LoadLaw {
    let measured = &condition.friction_on_thread;
    LoadLaw {
        exponent: entry.friction_load_exponent.used(),
        load: entry.friction_load_n.used() * MN_PER_N,
        shares: [measured.low / measured.used(), measured.high / measured.used()],
    }
}

fn knotted_strength(entry: &Entry, class: &SizeClass, size: &Size, wetness: Wetness) -> f64 {
    let by_stress = |wetness| KPA_PER_MPA * entry.condition(wetness).knotted_strength_mpa.used() * area(size);
    let least = size.knot_pull_min_n.as_ref().map_or(0.0, |least| least.used() * MN_PER_N);
    by_stress(wetness) * (least / by_stress(class.tested)).max(1.0)
}

#[cfg(test)]
mod tests {
    use super::super::{find, names, sizes};
    use super::*;

    /// `(material, size, wet, bending stiffness [N mm^2], axial stiffness [N], linear density [mg/mm])`, worked out by
    /// hand from the modulus and diameters of 0.175, 0.225 and 0.32 mm, printed with two or three figures. Silk is a
    /// braid: 0.035 of 0.40 N mm^2, and 0.8 of 1.3 mg/mm^3.
    const BY_HAND: &[(&str, &str, bool, f64, f64, f64)] = &[
        ("chromic gut", "5-0", false, 0.11, 58.0, 0.031),
        ("chromic gut", "5-0", true, 0.037, 19.0, 0.031),
        ("chromic gut", "4-0", false, 0.30, 95.0, 0.052),
        ("chromic gut", "4-0", true, 0.10, 32.0, 0.052),
        ("chromic gut", "3-0", false, 1.24, 193.0, 0.105),
        ("chromic gut", "3-0", true, 0.41, 64.0, 0.105),
        ("silk", "4-0", false, 0.014, 209.0, 0.025),
    ];

    /// Rounding to two figures is off by up to 5 %; the exact middle of the bands, at most 0.3 % thinner than the
    /// diameters above, adds 1.2 % in bending, which no rounded number here needs.
    const TOLERANCE: f64 = 0.05;

    fn all() -> impl Iterator<Item = Material> {
        names().into_iter().flat_map(|name| {
            let sizes = sizes(name).into_iter();
            sizes.flat_map(move |size| [true, false].map(|wet| find(name, size, wet).expect("it is known")))
        })
    }

    #[test]
    fn stiffness_and_mass_follow_from_modulus_diameter_and_construction() {
        for (name, size, wet, bending, axial, density) in BY_HAND {
            let thread = find(name, size, *wet).expect("it is known");
            for (what, found, expected) in [
                ("bending", thread.section.bending_stiffness / 1000.0, bending),
                ("axial", thread.section.axial_stiffness / 1000.0, axial),
                ("density", thread.linear_density, density),
            ] {
                let error = (found / expected - 1.0).abs();
                assert!(error < TOLERANCE, "{what} of {name} {size}, wet {wet}: {found}, by hand {expected}");
            }
        }
    }

    #[test]
    fn a_thicker_thread_is_stronger_and_stiffer_and_a_wet_one_is_no_stiffer() {
        for name in names() {
            for pair in sizes(name).windows(2) {
                let [thick, thin] = [pair[0], pair[1]].map(|size| find(name, size, true).expect("it is known"));
                assert!(thick.knotted_strength > thin.knotted_strength, "{thick:?} {thin:?}");
                assert!(thick.straight_strength > thin.straight_strength, "{thick:?} {thin:?}");
                assert!(thick.section.bending_stiffness > thin.section.bending_stiffness, "{thick:?} {thin:?}");
            }
            for size in sizes(name) {
                let [wet, dry] = [true, false].map(|wet| find(name, size, wet).expect("it is known"));
                assert!(wet.section.bending_stiffness <= dry.section.bending_stiffness, "{wet:?}");
                assert!(wet.section.yield_curvature >= dry.section.yield_curvature, "{wet:?}");
            }
        }
    }

    /// The estimates of the yield strain must at least do what threads are seen to do (common practice, no source): keep
    /// the shape of a knot, bent to about their own diameter, and lose that of a loop in the hand.
    #[test]
    fn a_knot_tight_bend_takes_a_set_and_a_hand_wide_one_does_not() {
        for thread in all() {
            let tight = 1.0 / thread.diameter();
            let wide = 1.0 / 10.0;
            let yields = thread.section.yield_curvature;
            assert!(wide < yields && yields < tight, "{thread:?}");
        }
    }

    #[test]
    fn a_force_strain_curve_begins_with_the_axial_stiffness_and_ends_at_the_break() {
        for thread in all() {
            let curve = &thread.force_strain;
            assert!(curve[0].iter().all(|start| start.abs() < f64::MIN_POSITIVE), "{thread:?}");
            assert!(curve.windows(2).all(|pair| pair[0][0] < pair[1][0] && pair[0][1] < pair[1][1]), "{thread:?}");
            let end = curve[curve.len() - 1][1];
            assert_eq!(end.to_bits(), thread.straight_strength.to_bits(), "{thread:?}");
            let slope = curve[1][1] / curve[1][0];
            assert!((slope / thread.section.axial_stiffness - 1.0).abs() < 0.05, "{slope} of {thread:?}");
        }
    }

    #[test]
    fn a_knot_weakens_every_thread_and_none_falls_below_its_minimum_as_tested() {
        for thread in all() {
            assert!(thread.knotted_strength < thread.straight_strength, "{thread:?}");
            let gut = thread.name.ends_with("gut");
            if let Some(least) = thread.knot_pull_min
                && thread.wet == gut
            {
                // The factor that raises a strength to the minimum is rounded once.
                assert!(thread.knotted_strength >= least * (1.0 - 1e-12), "{thread:?}");
            }
        }
    }

    #[test]
    fn an_unknown_name_or_size_is_not_found() {
        assert_eq!(find("catgut deluxe", "4-0", true), None);
        assert_eq!(find("plain gut", "9-0", true), None);
        assert!(sizes("catgut deluxe").is_empty());
    }
}
