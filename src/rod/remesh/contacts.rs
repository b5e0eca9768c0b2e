//! Friction and touch, when edges are parted and joined.

use super::amounts::Parting;
use crate::math::DVec3;
use crate::rod::Rod;
use crate::rod::contact::{Closest, Partner, closest_cone, closest_edges};
use crate::rod::step::{Memory, Touch, pressing};
use crate::rod::surroundings::Surroundings;

type Pair = (usize, Partner);

/// After edge `edge` was parted into itself and the next: pairs keep their forces, those of the parted edge shared by its
/// parts as they press.
pub(super) fn part_pairs(rod: &Rod, memory: &mut Memory, around: &Surroundings, edge: usize) {
    let anchors = std::mem::take(&mut memory.anchors);
    for (pair, anchor) in anchors {
        let parts = parted(rod, around, edge, pair);
        memory.anchors.extend(parts.into_iter().map(|(pair, share, _)| (pair, anchor * share)));
    }
    memory.anchors.sort_by_key(|&(pair, _)| pair);
    let touches = std::mem::take(&mut memory.touches);
    for touch in touches {
        for ((i, partner), share, closest) in parted(rod, around, edge, (touch.edge, touch.partner)) {
            let place = closest.map_or(touch.place, |at| rod.positions[i].lerp(rod.positions[i + 1], at.along));
            let (force, friction) = (touch.force * share, touch.friction * share);
            memory.touches.push(Touch { edge: i, partner, place, force, friction, ..touch });
        }
    }
    memory.touches.sort_by_key(|touch| (touch.edge, touch.partner));
}

/// What a pair of the numbering before becomes: the pairs of its parts that press, each with its share of the whole, and
/// where they meet if the pair is parted.
fn parted(rod: &Rod, around: &Surroundings, edge: usize, (i, partner): Pair) -> Vec<(Pair, f64, Option<Closest>)> {
    let now = |k: usize| k + usize::from(k > edge);
    let pairs: Vec<Pair> = match partner {
        Partner::Edge(j) if i == edge => [edge, edge + 1].map(|part| (part, Partner::Edge(now(j)))).to_vec(),
        Partner::Edge(j) if j == edge => [edge, edge + 1].map(|part| (now(i), Partner::Edge(part))).to_vec(),
        Partner::Shape(..) if i == edge => [edge, edge + 1].map(|part| (part, partner)).to_vec(),
        Partner::Edge(j) => return vec![((now(i), Partner::Edge(now(j))), 1.0, None)],
        Partner::Shape(..) => return vec![((now(i), partner), 1.0, None)],
    };
    let met: Vec<(Pair, Closest)> = pairs.into_iter().map(|pair| (pair, closest(rod, around, pair))).collect();
    let force = |(pair, closest): &(Pair, Closest)| pressing(&rod.section, pair.1).at(closest.overlap).force;
    let whole: f64 = met.iter().map(force).sum();
    if whole > 0.0 {
        let pressed = met.iter().filter(|part| force(part) > 0.0);
        return pressed.map(|part| (part.0, force(part) / whole, Some(part.1))).collect();
    }
    // Held moved what touched, or it only just did: it stays with the part that is nearer.
    let nearer = usize::from(met[1].1.overlap > met[0].1.overlap);
    vec![(met[nearer].0, 1.0, Some(met[nearer].1))]
}

fn closest(rod: &Rod, around: &Surroundings, (i, partner): Pair) -> Closest {
    let (at, radius) = (&rod.positions, rod.section.radius);
    match partner {
        Partner::Edge(j) => closest_edges(at[i], at[i + 1], at[j], at[j + 1], radius),
        Partner::Shape(t, k) => {
            let tool = &around.tools[t];
            closest_cone(at[i], at[i + 1], radius, &tool.shapes[k].placed(tool.position, tool.rotation))
        }
    }
}

/// After node `node` went: pairs of the two edges that became one are one, with their forces together.
pub(super) fn join_pairs(memory: &mut Memory, node: usize) {
    let now = |k: usize| k - usize::from(k >= node);
    let joined = |(i, partner): Pair| match partner {
        Partner::Edge(j) => (now(i), Partner::Edge(now(j))),
        Partner::Shape(..) => (now(i), partner),
    };
    let mut anchors: Vec<(Pair, DVec3)> = memory.anchors.iter().map(|&(pair, u)| (joined(pair), u)).collect();
    anchors.sort_by_key(|&(pair, _)| pair);
    memory.anchors = together(anchors, |last, next| {
        let same = last.0 == next.0;
        last.1 += if same { next.1 } else { DVec3::ZERO };
        same
    });
    let mut touches = std::mem::take(&mut memory.touches);
    for touch in &mut touches {
        (touch.edge, touch.partner) = joined((touch.edge, touch.partner));
    }
    touches.sort_by_key(|touch| (touch.edge, touch.partner));
    memory.touches = together(touches, |last, next| {
        let same = (last.edge, last.partner) == (next.edge, next.partner);
        if same {
            last.force += next.force;
            last.place = last.place.lerp(next.place, next.force / last.force.max(f64::MIN_POSITIVE));
            last.friction += next.friction;
            last.slips &= next.slips;
        }
        same
    });
}

/// A list in which each entry that `join` took into the one before is gone.
fn together<T>(list: Vec<T>, join: impl Fn(&mut T, &T) -> bool) -> Vec<T> {
    let mut kept: Vec<T> = Vec::with_capacity(list.len());
    for next in list {
        if !kept.last_mut().is_some_and(|last| join(last, &next)) {
            kept.push(next);
        }
    }
    kept
}

/// After a node came onto edge `edge`: nodes keep their friction on floor and planes, and one between two that lie there has
/// its share of theirs.
pub(super) fn part_resting(memory: &mut Memory, edge: usize, parting: &Parting) {
    let node = edge + 1;
    renumber(memory, |k| k + usize::from(k >= node));
    share_rest(&mut memory.floor_anchors, |k| k, edge, parting);
    let planes: Vec<usize> = memory.plane_anchors.iter().map(|&((plane, _), _)| plane).collect();
    for plane in unique(planes) {
        share_rest(&mut memory.plane_anchors, |k| (plane, k), edge, parting);
    }
}

/// After node `node` went: its friction goes to its neighbours.
pub(super) fn join_resting(memory: &mut Memory, node: usize, parting: &Parting) {
    gather_rest(&mut memory.floor_anchors, |k| k, node, parting);
    let planes: Vec<usize> = memory.plane_anchors.iter().map(|&((plane, _), _)| plane).collect();
    for plane in unique(planes) {
        gather_rest(&mut memory.plane_anchors, |k| (plane, k), node, parting);
    }
    memory.plane_touches.retain(|touch| touch.node != node);
    renumber(memory, |k| k - usize::from(k > node));
}

fn unique(mut planes: Vec<usize>) -> Vec<usize> {
    planes.dedup();
    planes
}

fn renumber(memory: &mut Memory, now: impl Fn(usize) -> usize) {
    memory.floor_anchors.iter_mut().for_each(|(node, _)| *node = now(*node));
    memory.plane_anchors.iter_mut().for_each(|((_, node), _)| *node = now(*node));
    memory.plane_touches.iter_mut().for_each(|touch| touch.node = now(touch.node));
}

fn share_rest<K: Ord>(list: &mut Vec<(K, DVec3)>, key: impl Fn(usize) -> K, edge: usize, parting: &Parting) {
    let find = |node: usize| list.binary_search_by(|(at, _)| at.cmp(&key(node))).ok();
    let (Some(before), Some(after)) = (find(edge), find(edge + 2)) else { return };
    let parts = parting.shared([list[before].1, list[after].1]);
    list[before].1 = parts[0];
    list[after].1 = parts[2];
    list.insert(after, (key(edge + 1), parts[1]));
}

fn gather_rest<K: Ord>(list: &mut Vec<(K, DVec3)>, key: impl Fn(usize) -> K, node: usize, parting: &Parting) {
    let find = |list: &[(K, DVec3)], node: usize| list.binary_search_by(|(at, _)| at.cmp(&key(node))).ok();
    let Some(between) = find(list, node) else { return };
    let between = list.remove(between).1;
    let ends = [node - 1, node + 1].map(|end| find(list, end));
    match ends {
        [Some(before), Some(after)] => {
            let [first, last] = parting.gathered([list[before].1, between, list[after].1]);
            list[before].1 = first;
            list[after].1 = last;
        }
        [Some(end), None] | [None, Some(end)] => list[end].1 += between,
        [None, None] => {}
    }
}
