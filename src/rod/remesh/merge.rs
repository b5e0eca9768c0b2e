//! A node that goes, so that its two edges become one.

use super::amounts::Parting;
use super::contacts::{join_pairs, join_resting};
use crate::math::rotation_between;
use crate::rod::Rod;
use crate::rod::step::Memory;
use crate::rod::surroundings::Surroundings;

/// Takes node `node` away: edges `node - 1` and `node` become edge `node - 1`, and the numbers of all nodes and edges beyond
/// fall by one. Material coordinates, unstretched length, linking and the sums of set and friction stay. The new edge is
/// straight: where the thread is bent at the node it is shorter by the bend, and so is less tense.
///
/// # Panics
/// If the node may not go, see [`super::may_merge`].
pub fn merge(rod: &mut Rod, memory: &mut Memory, around: &mut Surroundings, node: usize) {
    assert!(node > 0 && node + 1 < rod.node_count() && rod.free[node], "node {node} cannot go");
    assert!(rod.live(node - 1) && rod.live(node), "node {node} is not between live edges");
    let everywhere = parting(rod, node, [true, true]);
    let share = everywhere.share;
    join_rod(rod, node);
    for index in
        around.grips.iter_mut().map(|grip| &mut grip.node).chain(around.loads.iter_mut().map(|load| &mut load.0))
    {
        *index -= usize::from(*index > node);
    }
    join_pairs(memory, node);
    join_resting(memory, node, &everywhere);
    for list in [&mut memory.places, &mut memory.velocity] {
        if list.len() > node {
            list.remove(node);
        }
    }
    if memory.spin_velocity.len() > node {
        let after = memory.spin_velocity.remove(node);
        let before = &mut memory.spin_velocity[node - 1];
        *before = *before * share + after * (1.0 - share);
    }
    memory.topology_changed();
}

/// How the edge that comes of two is parted by their node.
fn parting(rod: &Rod, node: usize, has: [bool; 2]) -> Parting {
    let [before, after] = [rod.rest_lengths[node - 1], rod.rest_lengths[node]];
    let beyond = [
        if node > 1 { rod.rest_lengths[node - 2] } else { 0.0 },
        rod.rest_lengths.get(node + 1).copied().unwrap_or(0.0),
    ];
    Parting::new(before + after, before / (before + after), beyond, has)
}

fn join_rod(rod: &mut Rod, node: usize) {
    let edge = node - 1;
    let has = [rod.resists(edge), rod.resists(node + 1)];
    let parting = parting(rod, node, has);
    let twists = parting.gathered([edge, node, node + 1].map(|i| rod.twist(i)));
    let set = parting.gathered([rod.set[edge], rod.set[node], rod.set[node + 1]]);
    let [first, last] = [edge, node].map(|e| rod.positions[e + 1] - rod.positions[e]);
    let (tangent, chord) = (first.normalize(), (first + last).normalize());
    let carried = rotation_between(tangent, chord) * rod.directors[edge];
    let wanted = [rod.reference_twist[edge], rod.reference_twist[node] + rod.reference_twist[node + 1]];
    let between = parting.share * rod.spin[edge] + (1.0 - parting.share) * rod.spin[node];
    rod.positions.remove(node);
    rod.material.remove(node);
    rod.rest_lengths[edge] += rod.rest_lengths.remove(node);
    rod.whole.remove(node);
    rod.free.remove(node);
    rod.carried.remove(node);
    rod.set.remove(node);
    rod.set[edge] = set[0];
    rod.set[node] = set[1];
    rod.directors.remove(node);
    rod.directors[edge] = (carried - chord * carried.dot(chord)).normalize();
    rod.reference_twist.remove(node);
    rod.spin.remove(node);
    for (i, wanted) in [edge, node].into_iter().zip(wanted) {
        if i > 0 && i < rod.rest_lengths.len() {
            let tangents = [i - 1, i].map(|e| (rod.positions[e + 1] - rod.positions[e]).normalize());
            rod.reference_twist[i] = rod.frame_turn(i, tangents, wanted);
        }
    }
    // What the frames' own turn takes or gives goes to the far end: linking stays.
    rod.spin[edge] = match has {
        [true, _] => twists[0] + rod.spin[edge - 1] - rod.reference_twist[edge],
        [false, true] => rod.spin[node] + rod.reference_twist[node] - twists[1],
        [false, false] => between,
    };
}
