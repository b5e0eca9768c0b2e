//! The flaps as the thread's solver and the tick see them.

use crate::math::{DMat3, DVec3};
use crate::rod::surroundings::{Meeting, Response, Tissue};
use crate::tissue::{BiteId, Flaps, Membrane};

/// Both flaps, the membrane under them, and the bites taken so far in the order they were taken.
#[derive(Debug, Clone)]
pub struct Gum {
    /// The flaps.
    pub flaps: Flaps,
    /// The membrane.
    pub membrane: Membrane,
    /// The bites; the thread's solver names them by their place in this list.
    pub bites: Vec<BiteId>,
}

/// Keeps a bite that bears nothing from leaving its equations empty [mN/mm].
const SLACK_STIFFNESS: f64 = 1e-3;

impl Tissue for Gum {
    fn bite_count(&self) -> usize {
        self.bites.len()
    }

    fn respond(&self, bite: usize, displacement: DVec3) -> Response {
        let answer = self.flaps.bite_energy(self.bites[bite], displacement);
        Response {
            energy: answer.energy + 0.5 * SLACK_STIFFNESS * displacement.length_squared(),
            gradient: answer.gradient + displacement * SLACK_STIFFNESS,
            tangent: answer.hessian + DMat3::IDENTITY * SLACK_STIFFNESS,
        }
    }

    fn meet(&self, displacements: &[DVec3]) -> Vec<Meeting> {
        let place = |id: BiteId| self.bites.iter().position(|&b| b == id);
        self.flaps
            .edge_pairs()
            .iter()
            .filter_map(|pair| {
                let (cheek, tongue) = (place(pair.cheek)?, place(pair.tongue)?);
                let contact = self.flaps.edge_contact(pair, displacements[cheek], displacements[tongue]);
                Some(Meeting {
                    bites: [cheek, tongue],
                    energy: contact.energy,
                    gradient: contact.gradient,
                    hessian: contact.hessian,
                })
            })
            .collect()
    }
}
