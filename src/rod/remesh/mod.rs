//! Other nodes for the same thread: edges are split and merged while it is under load.
//!
//! A new node lies on its edge, so that no place of the thread moves, both parts bear the edge's tension and nothing can be
//! gone through. What belongs to nodes (set, twist, friction on floor and planes) is an amount per length there: a new
//! node gets its neighbours' densities, by its distance from them, and they keep the rest, so that the densities at old
//! nodes and all sums stay. What belongs to pairs in touch goes to the parts in the ratio in which they press. Merging is
//! the inverse.
//!
//! Places stay, but their balance does not: a corner that is now shared by shorter edges is a sharper one, and pairs that
//! press with two parts press harder. The next step brings that into balance, or [`settle`](super::step::settle) before it,
//! which keeps friction whole meanwhile; how far it moves is the coarser mesh's error.

mod adapt;
mod amounts;
mod contacts;
mod merge;
mod split;
#[cfg(test)]
mod tests;

use super::Rod;
use super::step::{Memory, beside_pads, sleeve_edges};
use super::surroundings::{Host, Surroundings};
pub use adapt::{EdgeLengths, adapt};
pub use merge::merge;
pub use split::split;
use std::ops::Range;

/// Which node is which after nodes came and went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Renumbering {
    /// The former number of each node; `None` for a new one.
    former: Vec<Option<usize>>,
}

impl Renumbering {
    /// Nothing has changed yet.
    #[must_use]
    pub fn none(node_count: usize) -> Renumbering {
        Renumbering { former: (0..node_count).map(Some).collect() }
    }

    /// The number of a node that was `former`; `None` if it is no more.
    #[must_use]
    pub fn now(&self, former: usize) -> Option<usize> {
        self.former.iter().position(|&node| node == Some(former))
    }

    /// The former number of node `now`; `None` for a new one.
    #[must_use]
    pub fn former(&self, now: usize) -> Option<usize> {
        self.former[now]
    }

    /// A list with an entry for each node, carried over; new nodes get `new`.
    #[must_use]
    pub fn carried<T: Clone>(&self, list: &[T], new: &T) -> Vec<T> {
        self.former.iter().map(|former| former.map_or_else(|| new.clone(), |node| list[node].clone())).collect()
    }

    /// Whether every node is what it was.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.former.iter().enumerate().all(|(now, former)| *former == Some(now))
    }
}

/// Splits the edges in a range of material coordinates [mm] into equal parts no longer than `edge_length_mm`. Edges that
/// something has hold of stay whole, see [`may_split`].
///
/// # Panics
/// If `edge_length_mm` is not above zero.
pub fn refine(
    rod: &mut Rod,
    memory: &mut Memory,
    around: &mut Surroundings,
    range_mm: Range<f64>,
    edge_length_mm: f64,
) -> Renumbering {
    assert!(edge_length_mm > 0.0, "an edge length is above zero, not {edge_length_mm}");
    let mut renumbering = Renumbering::none(rod.node_count());
    // What holds an edge is looked up before any is split: some hold by number.
    let wanted: Vec<usize> = (0..rod.rest_lengths.len())
        .filter(|&e| rod.material[e] < range_mm.end && rod.material[e + 1] > range_mm.start)
        .filter(|&e| may_split(rod, around, e))
        .collect();
    for edge in wanted.into_iter().rev() {
        for left in (1..parts(rod.rest_lengths[edge], edge_length_mm)).rev() {
            split(rod, memory, around, edge, left as f64 / (left + 1) as f64);
            renumbering.former.insert(edge + 1, None);
        }
    }
    renumbering
}

/// How many equal parts of `length` are no longer than `edge_length`; rounding makes no part more.
fn parts(length: f64, edge_length: f64) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "lengths are positive and few")]
    let count = (length / edge_length - 1e-9).ceil().max(1.0) as usize;
    count
}

/// Whether edge `edge` may be split: it is live, and neither grip nor sleeve has hold of it.
#[must_use]
pub fn may_split(rod: &Rod, around: &Surroundings, edge: usize) -> bool {
    rod.live(edge) && !is_held(rod, around, edge)
}

/// Whether node `node` may go: it is free between two live edges that nothing has hold of, and bears no load.
#[must_use]
pub fn may_merge(rod: &Rod, around: &Surroundings, node: usize) -> bool {
    let inside = node > 0 && node + 1 < rod.node_count();
    inside
        && rod.free[node]
        && [node - 1, node].into_iter().all(|edge| may_split(rod, around, edge))
        && around.loads.iter().all(|&(loaded, _)| loaded != node)
}

/// Whether a grip or a sleeve has hold of an edge, or the solver takes it for one that lies beside pads.
fn is_held(rod: &Rod, around: &Surroundings, edge: usize) -> bool {
    around.grips.iter().any(|grip| grip.node == edge || grip.node == edge + 1)
        || around.sleeves.iter().any(|sleeve| {
            let range = sleeve_edges(rod, sleeve);
            match sleeve.host {
                Host::Bite(_) => range.contains(&edge),
                Host::Tool(_) => edge < beside_pads(rod, &range),
            }
        })
}
