//! Threads whose edges become finer where they are in contact.

use super::build::Bench;
use crate::math::DVec3;
use crate::rod::remesh::{Renumbering, adapt};

impl Bench {
    /// After a step: brings the edges of every thread that asks for it to the lengths that it wants where it now is.
    pub(super) fn adapt(&mut self) {
        for k in 0..self.spans.len() {
            let Some(lengths) = self.spans[k].edge_lengths else { continue };
            let nodes = &self.spans[k].nodes;
            let range = self.rod.material[nodes.start]..self.rod.material[nodes.end - 1];
            let former = self.rod.material.clone();
            let renumbering = adapt(&mut self.rod, &mut self.memory, &mut self.around, range, lengths);
            if !renumbering.is_none() {
                self.renumber(&renumbering, &former);
            }
        }
    }

    /// Carries over everything that knows nodes by number; `former` are the material coordinates before [mm].
    fn renumber(&mut self, renumbering: &Renumbering, former: &[f64]) {
        let now = |node: usize| renumbering.now(node).expect("ends and held nodes stay");
        for span in &mut self.spans {
            span.nodes = now(span.nodes.start)..now(span.nodes.end - 1) + 1;
        }
        for holder in &mut self.drive.holders {
            holder.nodes.iter_mut().for_each(|node| *node = now(*node));
        }
        let place = |node: usize| match renumbering.former(node) {
            Some(old) => self.origin[old],
            None => interpolated(former, &self.origin, self.rod.material[node]),
        };
        self.origin = (0..self.rod.node_count()).map(place).collect();
    }
}

/// The place at a material coordinate, between those of the nodes beside it.
fn interpolated(material: &[f64], places: &[DVec3], at: f64) -> DVec3 {
    let after = material.partition_point(|&s| s <= at).clamp(1, material.len() - 1);
    let share = (at - material[after - 1]) / (material[after] - material[after - 1]);
    places[after - 1].lerp(places[after], share)
}
