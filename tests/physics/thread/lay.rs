//! The thread that the pull tests of the thread's own checks take, and a knot in it.

use knotwright::pull::Throw;
use knotwright::rod::Section;
use knotwright::rod::contact::friction::LoadLaw;
use knotwright::rod::stretch::ForceStrain;
use std::f64::consts::PI;

/// Wet chromic gut of size 4-0, the numbers of the material table rounded, without the laws that go with load and time.
pub(crate) const GUT: Section = Section {
    radius: 0.1125,
    axial_stiffness: 32_000.0,
    force_strain: ForceStrain::HOOKE,
    strength: f64::INFINITY,
    bending_stiffness: 100.0,
    twist_stiffness: 71.0,
    yield_curvature: 0.44 * 16.0 / (3.0 * PI),
    set_relaxation: f64::INFINITY,
    friction_thread: 0.35,
    friction_steel: 0.2,
    friction_tissue: 0.25,
    friction_load: LoadLaw::COULOMB,
    weight: 5e-4,
    contact_stiffness: 2e5,
};

/// Edge length that suits a knot in [`GUT`], two diameters [mm].
pub(crate) const MESH: f64 = 0.45;

/// One throw of one wrap, of the given hand.
pub(crate) const fn single(hand: f64) -> Throw {
    Throw { wraps: 1, hand }
}

/// Surgeon's throw and two more, square: `2=1=1`.
pub(crate) const SURGEONS: &[Throw] = &[Throw { wraps: 2, hand: 1.0 }, single(-1.0), single(1.0)];
