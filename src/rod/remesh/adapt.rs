//! Nodes where they are needed: finer where the thread presses on itself or bends sharply, coarser where it runs free.

use super::{Renumbering, may_merge, may_split, merge, parts, split};
use crate::math::{DVec3, acos};
use crate::rod::Rod;
use crate::rod::contact::{Partner, closest_cone, closest_edges};
use crate::rod::step::Memory;
use crate::rod::surroundings::Surroundings;
use std::ops::Range;

/// Turn from one edge to the next above which both are to be fine [rad], 30 degrees; estimate: a corner of so much stands 1 %
/// of its bend's radius off it.
const SHARP: f64 = 0.5;
/// Edges longer than this many times what is wanted are split: short enough to keep halves from being split again.
const TOO_LONG: f64 = 1.3;
/// Edges are fine up to this many edge lengths wanted from a touch, and become coarse beyond twice as many.
const REACH: f64 = 4.0;
/// Only what is farther than this from everything becomes coarse [thread diameters].
const CLEAR: f64 = 3.0;
/// Parts of an edge may add up to a little more than it [mm].
const ROUNDING: f64 = 1e-9;
/// A node goes only if that changes tension by less than this [mN]: a third of what a step may leave out of balance.
const TENSION_KEPT: f64 = 1.0;

/// How long edges are to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeLengths {
    /// Where the thread presses on itself or bends sharply [mm].
    pub in_contact: f64,
    /// Elsewhere, at most [mm]: longer edges are left as they are, shorter ones are merged up to it.
    pub free: f64,
}

/// Brings the edges in a range of material coordinates [mm] nearer to the lengths wanted, where nothing has hold of them.
///
/// # Panics
/// If a length is not above zero.
pub fn adapt(
    rod: &mut Rod,
    memory: &mut Memory,
    around: &mut Surroundings,
    range_mm: Range<f64>,
    lengths: EdgeLengths,
) -> Renumbering {
    assert!(lengths.in_contact > 0.0 && lengths.free > 0.0, "edge lengths are above zero, not {lengths:?}");
    let mut renumbering = Renumbering::none(rod.node_count());
    let within = |from: f64, to: f64| from < range_mm.end && to > range_mm.start;
    let pressed = pressed(rod, memory);
    let reach = REACH * lengths.in_contact;
    let touched = |from: f64, to: f64, reach: f64| {
        let first = pressed.partition_point(|&s| s < from - reach);
        pressed.get(first).is_some_and(|&s| s <= to + reach)
    };
    for node in (1..rod.node_count().saturating_sub(1)).rev() {
        let (from, to) = (rod.material[node - 1], rod.material[node + 1]);
        let sharp = [node.saturating_sub(1), node, node + 1].into_iter().any(|near| turn(rod, near) > 0.5 * SHARP);
        let apart =
            within(from, to) && !sharp && !touched(from, to, 2.0 * reach) && to - from <= lengths.free + ROUNDING;
        if apart && may_merge(rod, around, node) && keeps_tension(rod, node) && is_clear(rod, around, node) {
            merge(rod, memory, around, node);
            renumbering.former.remove(node);
        }
    }
    let wanted: Vec<usize> = (0..rod.rest_lengths.len())
        .filter(|&e| rod.rest_lengths[e] > TOO_LONG * lengths.in_contact && may_split(rod, around, e))
        .filter(|&e| {
            let (from, to) = (rod.material[e], rod.material[e + 1]);
            within(from, to) && (touched(from, to, reach) || turn(rod, e) > SHARP || turn(rod, e + 1) > SHARP)
        })
        .collect();
    for edge in wanted.into_iter().rev() {
        for left in (1..parts(rod.rest_lengths[edge], lengths.in_contact)).rev() {
            split(rod, memory, around, edge, left as f64 / (left + 1) as f64);
            renumbering.former.insert(edge + 1, None);
        }
    }
    renumbering
}

/// Material coordinates at which the thread presses on itself [mm], ascending.
fn pressed(rod: &Rod, memory: &Memory) -> Vec<f64> {
    let middle = |e: usize| 0.5 * (rod.material[e] + rod.material[e + 1]);
    let mut places = Vec::new();
    for touch in memory.touches.iter().filter(|touch| touch.force > 0.0) {
        if let Partner::Edge(other) = touch.partner {
            places.extend([middle(touch.edge), middle(other)]);
        }
    }
    places.sort_by(f64::total_cmp);
    places
}

/// Turn from the edge before a node to the edge after it [rad]; none at ends and where the thread is cut.
fn turn(rod: &Rod, node: usize) -> f64 {
    if node == 0 || node + 1 >= rod.node_count() || !rod.bends(node) {
        return 0.0;
    }
    let [before, after] = edges(rod, node);
    acos(before.dot(after) / (before.length() * after.length()))
}

fn edges(rod: &Rod, node: usize) -> [DVec3; 2] {
    [rod.positions[node] - rod.positions[node - 1], rod.positions[node + 1] - rod.positions[node]]
}

/// Whether the edge that comes when a node goes bears what the two bear.
fn keeps_tension(rod: &Rod, node: usize) -> bool {
    let [before, after] = edges(rod, node);
    let strain = (before + after).length() / (rod.rest_lengths[node - 1] + rod.rest_lengths[node]) - 1.0;
    let tension = rod.section.force_strain.at(rod.section.axial_stiffness, strain).force;
    [node - 1, node].into_iter().all(|edge| (rod.tension(edge) - tension).abs() <= TENSION_KEPT)
}

/// Whether nothing is near the two edges at a node, so that one between their ends touches nothing and goes through nothing.
fn is_clear(rod: &Rod, around: &Surroundings, node: usize) -> bool {
    let (at, radius) = (&rod.positions, rod.section.radius);
    let clear = -CLEAR * 2.0 * radius;
    let reach = crate::rod::contact::candidates::neighbour_length(rod) - 2.0 * clear;
    [node - 1, node].into_iter().all(|i| {
        let strands = (0..rod.rest_lengths.len()).filter(|&j| {
            rod.live(j)
                && (rod.material[j] > rod.material[i + 1] + reach || rod.material[j + 1] < rod.material[i] - reach)
        });
        let mut strands = strands.map(|j| closest_edges(at[i], at[i + 1], at[j], at[j + 1], radius).overlap);
        let mut tools = around.tools.iter().flat_map(|tool| tool.shapes.iter().map(move |shape| (tool, shape)));
        strands.all(|overlap| overlap < clear)
            && tools.all(|(tool, shape)| {
                closest_cone(at[i], at[i + 1], radius, &shape.placed(tool.position, tool.rotation)).overlap < clear
            })
    })
}
