//! A new node on an edge.

use super::amounts::Parting;
use super::contacts::{part_pairs, part_resting};
use crate::rod::Rod;
use crate::rod::step::Memory;
use crate::rod::surroundings::Surroundings;

/// Splits edge `edge` at `share` of its length: node `edge + 1` is new, and the numbers of all nodes and edges beyond rise
/// by one. Tensions, linking, the set per length and the forces of friction stay.
///
/// # Panics
/// If the edge may not be split, see [`super::may_split`], or the share is not between 0 and 1.
pub fn split(rod: &mut Rod, memory: &mut Memory, around: &mut Surroundings, edge: usize, share: f64) {
    assert!(rod.live(edge) && share > 0.0 && share < 1.0, "edge {edge} cannot be split at {share} of its length");
    let node = edge + 1;
    let everywhere = parting(rod, edge, share, [true, true]);
    part_rod(rod, edge, share);
    for index in
        around.grips.iter_mut().map(|grip| &mut grip.node).chain(around.loads.iter_mut().map(|load| &mut load.0))
    {
        *index += usize::from(*index >= node);
    }
    part_pairs(rod, memory, around, edge);
    part_resting(memory, edge, &everywhere);
    for list in [&mut memory.places, &mut memory.velocity] {
        if list.len() > node {
            list.insert(node, list[edge].lerp(list[node], share));
        }
    }
    if memory.spin_velocity.len() > node {
        memory.spin_velocity.insert(node, memory.spin_velocity[edge]);
    }
    memory.topology_changed();
}

/// How an edge is parted, with the edges beyond it.
fn parting(rod: &Rod, edge: usize, share: f64, has: [bool; 2]) -> Parting {
    let beyond = [
        if edge > 0 { rod.rest_lengths[edge - 1] } else { 0.0 },
        rod.rest_lengths.get(edge + 1).copied().unwrap_or(0.0),
    ];
    Parting::new(rod.rest_lengths[edge], share, beyond, has)
}

fn part_rod(rod: &mut Rod, edge: usize, share: f64) {
    let node = edge + 1;
    let parting = parting(rod, edge, share, [rod.resists(edge), rod.resists(node)]);
    let given = [rod.twist(edge) * parting.of_ends[0], rod.twist(node) * parting.of_ends[1]];
    let (length, spin) = (rod.rest_lengths[edge], rod.spin[edge]);
    let set = parting.shared([rod.set[edge], rod.set[node]]);
    rod.positions.insert(node, rod.positions[edge].lerp(rod.positions[node], share));
    rod.material.insert(node, rod.material[edge] + share * length);
    rod.rest_lengths[edge] = share * length;
    rod.rest_lengths.insert(node, length - share * length);
    rod.whole.insert(node, true);
    rod.free.insert(node, true);
    rod.carried.insert(node, false);
    rod.directors.insert(node, rod.directors[edge]);
    rod.reference_twist.insert(node, 0.0);
    // The two parts lie on one line: twist is the difference of their spins alone.
    rod.spin[edge] = spin - given[0];
    rod.spin.insert(node, spin + given[1]);
    rod.set.insert(node, set[1]);
    rod.set[edge] = set[0];
    rod.set[node + 1] = set[2];
}
