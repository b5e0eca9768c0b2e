//! The gum's surface round a hole: it moves with its bite and keeps a knot from being drawn into the hole.

use super::World;
use crate::math::DVec3;
use crate::rod::surroundings::{Collar, RoundCone, Tool};

/// Half the breadth of the surface kept round a hole [mm]; estimate: wider than any knot.
const REACH: f64 = 1.2;
/// Radius of the shapes that stand for it [mm].
const RADIUS: f64 = 0.6;

impl World {
    /// Lays a collar round a hole whose mouth is at `mouth` [mm] when the tissue is at rest.
    pub fn add_collar(&mut self, bite: usize, mouth: DVec3) {
        let along = |way: DVec3| RoundCone::capsule(DVec3::Z * -RADIUS - way, DVec3::Z * -RADIUS + way, RADIUS);
        let shapes = vec![along(DVec3::X * REACH), along(DVec3::Y * REACH)];
        let position = mouth + self.around.bites[bite];
        self.around.collars.push(Collar { tool: self.around.tools.len(), bite, rest: mouth });
        self.around.tools.push(Tool::new(position, shapes, None));
        self.memory.topology_changed();
    }
}
