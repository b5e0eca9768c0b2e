//! What hands do, as data: one command a tick for each hand, quantised, the same from every device.

pub mod bindings;
pub mod script;

use crate::math::{DQuat, DVec3, Pose};
use crate::tooth::Tooth;
use serde::{Deserialize, Serialize};

/// Steps of a position in a command, per mm: 1 micrometre.
pub const STEPS_PER_MM: f64 = 1000.0;

/// Steps of a quaternion component, and of a jaw opening, over the range 0..=1.
pub const STEPS_PER_UNIT: f64 = 32767.0;

/// Where one hand wants its instrument, in whole steps, so that a stored command is the command that was simulated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct HandCommand {
    /// Wanted tip position [micrometre], operator's frame (x right, y away, z up).
    pub tip: [i32; 3],
    /// Wanted rotation, quaternion x, y, z, w [1/32767].
    pub rotation: [i16; 4],
    /// Wanted jaw opening, 0 = closed with full force, 32767 = fully open.
    pub jaw: u16,
}

impl HandCommand {
    /// Quantises a wanted tip pose and jaw opening (0..=1).
    #[must_use]
    pub fn new(pose: Pose, jaw_opening: f64) -> HandCommand {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "rounded and far inside the range: the site is centimetres wide"
        )]
        let step = |mm: f64| (mm * STEPS_PER_MM).round() as i32;
        #[expect(clippy::cast_possible_truncation, reason = "clamped to -1..=1 first")]
        let unit = |q: f64| (q.clamp(-1.0, 1.0) * STEPS_PER_UNIT).round() as i16;
        let q = pose.rotation;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 0..=1 first")]
        let jaw = (jaw_opening.clamp(0.0, 1.0) * STEPS_PER_UNIT).round() as u16;
        HandCommand {
            tip: [step(pose.position.x), step(pose.position.y), step(pose.position.z)],
            rotation: [unit(q.x), unit(q.y), unit(q.z), unit(q.w)],
            jaw,
        }
    }

    /// The wanted tip pose, back in mm and as a unit quaternion.
    #[must_use]
    pub fn pose(&self) -> Pose {
        let [x, y, z] = self.tip.map(|step| f64::from(step) / STEPS_PER_MM);
        let [qx, qy, qz, qw] = self.rotation.map(f64::from);
        Pose { position: DVec3::new(x, y, z), rotation: DQuat::from_xyzw(qx, qy, qz, qw).normalize() }
    }

    /// The wanted jaw opening, 0..=1.
    #[must_use]
    pub fn jaw_opening(&self) -> f64 {
        f64::from(self.jaw) / STEPS_PER_UNIT
    }
}

/// Something a hand does at one instant.
///
/// Recordings hold these by their place in this list: what is new comes last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum HandEvent {
    /// Cut the thread between the blades of the scissors held ready: the strand nearest this point [micrometre].
    Cut {
        /// Place of the blades [micrometre].
        at: [i32; 3],
    },
    /// The attempt is handed in.
    Finish,
    /// Fingers set the needle in the holder's closed jaws and lay its thread out, off the wound.
    Arm,
    /// A tooth is marked on the arch as the site, in place of what was marked before. It takes no time and moves nothing.
    Mark {
        /// The tooth; `None` wipes off what was marked.
        tooth: Option<Tooth>,
    },
    /// The field is seen in a mirror, as it lies for the left hand: teeth that differ change places, so that the mirror shows each
    /// where it belongs. It is true for the whole attempt, from its first tick on.
    Mirror,
}

/// Everything both hands did in one tick.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TickCommand {
    /// The hand with the needle holder.
    pub right: HandCommand,
    /// The hand with the tissue forceps, which also carries the long strand.
    pub left: HandCommand,
    /// What happened at this instant, in order.
    pub events: Vec<HandEvent>,
}
