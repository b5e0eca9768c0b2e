//! Colours of living and made things, and the mottle that keeps them from looking like plastic.
//!
//! All colours are linear RGB and from memory of what is seen under a warm lamp; none is scored.

use bevy::math::{Vec2, Vec3};

/// Attached gum, well supplied.
pub(super) const GUM: Vec3 = Vec3::new(0.56, 0.125, 0.12);
/// Loose lining of the fold and cheek.
pub(super) const LINING: Vec3 = Vec3::new(0.40, 0.065, 0.065);
/// Gum without blood.
pub(super) const PALE: Vec3 = Vec3::new(0.86, 0.70, 0.60);
/// Gum into which blood has come back.
pub(super) const RED: Vec3 = Vec3::new(0.56, 0.045, 0.05);
/// The cut face of a flap.
pub(super) const WOUND: Vec3 = Vec3::new(0.40, 0.035, 0.04);
/// Collagen membrane, soaked.
pub(super) const MEMBRANE: Vec3 = Vec3::new(0.74, 0.62, 0.47);
/// Membrane over graft, which shows through.
pub(super) const MEMBRANE_OVER_GRAFT: Vec3 = Vec3::new(0.50, 0.29, 0.20);
/// Enamel at the cusps and at the neck.
pub(super) const ENAMEL: [Vec3; 2] = [Vec3::new(0.80, 0.75, 0.63), Vec3::new(0.66, 0.53, 0.34)];
/// Lip.
pub(super) const LIP: Vec3 = Vec3::new(0.44, 0.16, 0.145);
/// Drape.
pub(super) const DRAPE: Vec3 = Vec3::new(0.055, 0.19, 0.20);

/// Colour of a gum point.
///
/// `blanch` and `redness` are 0..=1; what is pale cannot be red.
#[must_use]
pub fn gum(blanch: f32, redness: f32) -> Vec3 {
    let blanch = blanch.clamp(0.0, 1.0);
    let redness = redness.clamp(0.0, 1.0) * (1.0 - blanch);
    GUM.lerp(RED, 0.75 * redness).lerp(PALE, blanch)
}

/// Colour of a thread by its generic material.
#[must_use]
pub fn thread(material: &str) -> Vec3 {
    match material {
        "plain gut" => Vec3::new(0.42, 0.25, 0.08),
        "silk" => Vec3::new(0.012, 0.012, 0.016),
        "polypropylene" | "nylon" => Vec3::new(0.02, 0.07, 0.35),
        "polyglactin 910" => Vec3::new(0.13, 0.02, 0.22),
        "PTFE" => Vec3::new(0.85, 0.85, 0.83),
        // Chromic gut is brown from its tanning.
        _ => Vec3::new(0.085, 0.032, 0.012),
    }
}

/// A smooth random number 0..=1 over the plane, features about 1 wide.
#[must_use]
pub fn mottle(place: Vec2) -> f32 {
    let cell = place.floor();
    let within = place - cell;
    let ease = within * within * (Vec2::splat(3.0) - 2.0 * within);
    let corner = |x: f32, y: f32| chance(cell + Vec2::new(x, y));
    let near = corner(0.0, 0.0) + (corner(1.0, 0.0) - corner(0.0, 0.0)) * ease.x;
    let far = corner(0.0, 1.0) + (corner(1.0, 1.0) - corner(0.0, 1.0)) * ease.x;
    near + (far - near) * ease.y
}

/// Mottle of several sizes, 0..=1.
#[must_use]
pub(super) fn rough(place: Vec2) -> f32 {
    0.5 * mottle(place) + 0.3 * mottle(place * 2.3 + 7.0) + 0.2 * mottle(place * 5.1 + 3.0)
}

/// A number 0..=1 that belongs to a cell of the grid and looks like chance.
fn chance(cell: Vec2) -> f32 {
    let mixed = (cell.x * 127.1 + cell.y * 311.7).sin() * 43_758.547;
    mixed - mixed.floor()
}
