//! What pulls on every piece between two steps: for whoever measures.

use super::{Memory, Settings, Solve};
use crate::math::DVec3;
use crate::rod::Rod;
use crate::rod::equations::Equations;
use crate::rod::surroundings::{Surroundings, Tissue};

/// The sum of all forces but its holder's on each piece: zero, up to what a step leaves, on what is free; on what is
/// held, what its holder has to bear.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Forces {
    /// Force on each node [mN], shape [node_count].
    pub nodes: Vec<DVec3>,
    /// Torque about each edge's tangent [mN mm], shape [node_count]; that of a held edge its holder bears.
    pub spins: Vec<f64>,
    /// Force on each tool [mN], of the thread with friction, and of its hand, shape [tool_count].
    pub tools: Vec<DVec3>,
}

/// The forces in the state that a step left; nothing moves, so that drag has no part in them.
#[must_use]
pub fn forces(
    rod: &Rod,
    around: &Surroundings,
    tissue: &dyn Tissue,
    memory: &mut Memory,
    settings: &Settings,
) -> Forces {
    let solve = Solve::new(rod, around, tissue, memory, settings, 1.0);
    let active = solve.touching(&mut memory.candidates, &solve.places, &solve.cones);
    let mut equations = Equations { gradient_only: true, ..Equations::default() };
    equations.clear(solve.blocks);
    let turns = solve.turns_at(&solve.places, &solve.spin);
    solve.assemble_smooth(&solve.places, &solve.spin, &turns, &active, &mut equations);
    solve.assemble_frictions(&solve.places, &solve.spin, None, &mut equations);
    let force = |g: &[f64; 4]| -DVec3::new(g[0], g[1], g[2]);
    let (nodes, rest) = equations.gradient.split_at(solve.nodes);
    Forces {
        nodes: nodes.iter().map(force).collect(),
        spins: nodes.iter().map(|g| -g[3]).collect(),
        tools: rest[..around.tools.len()].iter().map(force).collect(),
    }
}
