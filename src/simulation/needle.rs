//! The needle: a rigid arc that an instrument holds, that rests, or that lies in a palm, and its way through the gum.
//!
//! Its own frame: the middle of the arc is the origin, the arc lies in the y-z plane, the point at (0, 0, -radius) and
//! the swaged end `arc` further round toward +y. Left out: the needle's body does not press on gum or thread, a grip on it
//! never turns, and gum alone does not blunt it.

use super::stopping::Meeting;
use crate::math::{DQuat, DVec3, Pose, cos, sin};
use crate::site::hard::Substance;
use crate::tissue::{BiteId, Side};

/// Push at which a new point goes straight through the surface of gum [mN].
///
/// Estimate: no force in newtons is published for a cutting suture needle and human gum.
pub const PIERCING_FORCE: f64 = 600.0;

/// How many times that push a wholly blunt point takes, and at most one that comes aslant; from memory: two to three times.
const HARDER_MAX: f64 = 3.0;

/// Push per depth of the dent before the point goes through [mN/mm]; estimate.
const DENT_STIFFNESS: f64 = 2000.0;

/// Drag on a needle that moves through gum [mN]; estimate, a third of what piercing takes.
const BODY_DRAG: f64 = 200.0;

/// Speed at which the drag is fully there [mm/ms]: it must not push a needle that stands still.
const DRAG_SPEED: f64 = 0.03;

/// Who has the needle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum State {
    /// An instrument, in whose frame the needle stands so.
    Held {
        /// The instrument.
        tool: usize,
        /// The needle's pose in its frame.
        local: Pose,
    },
    /// Nobody: it sticks in the gum or lies on it.
    Resting(Pose),
    /// The left palm, with the rest of the strand.
    InPalm,
}

/// The point's way into a flap, until it comes out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passage {
    /// The flap.
    pub side: Side,
    /// Where the point met it [mm].
    pub entry: DVec3,
    /// Which way the point went there.
    pub entry_forward: DVec3,
    /// Deepest place so far, below the surface [mm].
    pub depth: f64,
    /// Way since it met the flap [mm].
    pub way: f64,
    /// Push at which the point goes through [mN].
    pub push: f64,
    /// Whether the point is through the surface; before, it only dents it.
    pub pierced: bool,
}

/// A bite as the needle took it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taken {
    /// Its name in the flaps.
    pub bite: BiteId,
    /// The stitch it belongs to, by the order in which stitches were begun.
    pub stitch: usize,
    /// Place of the hole in the upper surface along the wound, when it was made [mm].
    pub along_wound: f64,
    /// From the hole in the upper surface to the flap's edge [mm].
    pub distance_from_edge: f64,
    /// Deepest place of the way, below the surface [mm].
    pub depth: f64,
    /// Which way the point went through the upper surface.
    pub forward: DVec3,
    /// Where the bite's seat rests now [mm].
    pub seat: DVec3,
}

/// A curved needle, swaged to the thread's first node.
#[derive(Debug, Clone, PartialEq)]
pub struct Needle {
    /// Radius of the arc [mm].
    pub radius: f64,
    /// Angle of the arc [rad].
    pub arc: f64,
    /// Diameter of the wire [mm].
    pub wire: f64,
    /// Depth below the surface at which the point is through the membrane [mm].
    pub membrane_depth: f64,
    /// Sharpness of its point, 0..=1: 1 when new, 0 when wholly blunt.
    pub sharpness: f64,
    /// Who has it.
    pub state: State,
    /// What its point presses on in this sub-step, and how hard [mN]; `None` if on nothing hard.
    pub pressed: Option<(Substance, f64)>,
    /// The bone or tooth that its point is on.
    pub meeting: Option<Meeting>,
    /// The flap its point is in.
    pub passage: Option<Passage>,
    /// How many of the holes it still fills, so that no thread is in them: the first ones of the sleeves.
    pub filled: usize,
    /// Where its point was at the end of the last step [mm].
    pub tip_before: DVec3,
    /// Its point's speed forward in the last step [mm/ms].
    pub speed: f64,
}

impl Needle {
    /// A needle of this arc, held by an instrument.
    #[must_use]
    pub fn held(radius: f64, arc: f64, wire: f64, tool: usize, tool_pose: &Pose, pose: &Pose) -> Needle {
        let mut needle = Needle::in_palm(radius, arc, wire);
        needle.tip_before = needle.point(pose, 0.0);
        needle.state = State::Held { tool, local: relative(tool_pose, pose) };
        needle
    }

    /// A needle of this arc in the left palm, after its work is done.
    #[must_use]
    pub fn in_palm(radius: f64, arc: f64, wire: f64) -> Needle {
        Needle {
            radius,
            arc,
            wire,
            membrane_depth: f64::INFINITY,
            sharpness: 1.0,
            state: State::InPalm,
            pressed: None,
            meeting: None,
            passage: None,
            filled: 0,
            tip_before: DVec3::ZERO,
            speed: 0.0,
        }
    }

    /// The place [mm] on the needle in `pose` at `angle` [rad] from its point.
    #[must_use]
    pub fn point(&self, pose: &Pose, angle: f64) -> DVec3 {
        pose.point(DVec3::new(0.0, sin(angle), -cos(angle)) * self.radius)
    }

    /// The direction along the needle, to its point, at `angle` [rad] from its point.
    #[must_use]
    pub fn forward(&self, pose: &Pose, angle: f64) -> DVec3 {
        pose.direction(DVec3::new(0.0, -cos(angle), -sin(angle)))
    }

    /// Force of the gum on the needle [mN], when its point goes `forward`.
    #[must_use]
    pub fn resistance(&self, forward: DVec3) -> DVec3 {
        match self.passage {
            Some(passage) if !passage.pierced => forward * (-DENT_STIFFNESS * passage.way.max(0.0)),
            None if self.filled == 0 => DVec3::ZERO,
            _ => forward * (-BODY_DRAG * (self.speed / DRAG_SPEED).clamp(-1.0, 1.0)),
        }
    }

    /// Whether the gum holds it when nobody does.
    #[must_use]
    pub fn sticks(&self) -> bool {
        self.filled > 0 || self.passage.is_some_and(|p| p.pierced)
    }

    /// The centreline [mm] from swage to point.
    #[must_use]
    pub fn centreline(&self, pose: &Pose) -> Vec<DVec3> {
        const PIECES: u32 = 24;
        (0..=PIECES).map(|k| self.point(pose, self.arc * (1.0 - f64::from(k) / f64::from(PIECES)))).collect()
    }
}

impl Passage {
    /// Whether the point goes through a flap of this `thickness` [mm] that it has dented so far: a dent cannot be deeper than
    /// the flap, which lies on bone or membrane.
    #[must_use]
    pub fn gives_way(&self, thickness: f64) -> bool {
        DENT_STIFFNESS * self.way >= self.push || self.depth >= thickness
    }
}

/// Push [mN] at which a point of this `sharpness` (0..=1) goes through gum, if the cosine between its way and the way straight
/// in is `cosine` (-1..=1).
///
/// Only the share of the push that goes straight in opens the surface, so that the push grows as 1 / cosine, up to where a
/// point that comes aslant skids; and it grows evenly as the point gets blunt. Estimates within [`HARDER_MAX`].
#[must_use]
pub fn piercing_force(cosine: f64, sharpness: f64) -> f64 {
    let aslant = 1.0 / cosine.max(1.0 / HARDER_MAX);
    let blunt = HARDER_MAX + (1.0 - HARDER_MAX) * sharpness;
    PIERCING_FORCE * aslant * blunt
}

/// `pose` as seen from `frame`.
#[must_use]
pub fn relative(frame: &Pose, pose: &Pose) -> Pose {
    let back: DQuat = frame.rotation.conjugate();
    Pose { position: back * (pose.position - frame.position), rotation: (back * pose.rotation).normalize() }
}

/// The pose in the world of what stands at `local` in `frame`.
#[must_use]
pub fn placed(frame: &Pose, local: &Pose) -> Pose {
    Pose { position: frame.point(local.position), rotation: (frame.rotation * local.rotation).normalize() }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Case {
        name: &'static str,
        /// Between the needle's way and the surface [deg].
        angle: f64,
        sharpness: f64,
        /// In multiples of what a new point takes straight in.
        times: f64,
    }

    /// Two to three times for a needle that is blunt or off its axis is from memory, 1 / sine of the angle with the surface the
    /// law of the share that goes straight in.
    const CASES: &[Case] = &[
        Case { name: "new, straight in", angle: 90.0, sharpness: 1.0, times: 1.0 },
        Case { name: "new, half the push goes in", angle: 30.0, sharpness: 1.0, times: 2.0 },
        Case { name: "new, at 45 degrees", angle: 45.0, sharpness: 1.0, times: std::f64::consts::SQRT_2 },
        Case { name: "new, skidding", angle: 5.0, sharpness: 1.0, times: 3.0 },
        Case { name: "new, along the surface", angle: 0.0, sharpness: 1.0, times: 3.0 },
        Case { name: "new, drawn away from it", angle: -40.0, sharpness: 1.0, times: 3.0 },
        Case { name: "half blunt, straight in", angle: 90.0, sharpness: 0.5, times: 2.0 },
        Case { name: "blunt, straight in", angle: 90.0, sharpness: 0.0, times: 3.0 },
        Case { name: "blunt and aslant", angle: 30.0, sharpness: 0.0, times: 6.0 },
    ];

    #[test]
    fn a_blunt_or_slanting_point_takes_two_to_three_times_the_push() {
        for Case { name, angle, sharpness, times } in CASES {
            let push = piercing_force(sin(angle.to_radians()), *sharpness);
            // Rounding of the sine alone.
            assert!((push - times * PIERCING_FORCE).abs() < 1e-9 * push, "{name}: {push} mN");
        }
        assert_eq!(piercing_force(1.0, 1.0).to_bits(), PIERCING_FORCE.to_bits(), "straight in nothing is added");
    }
}
