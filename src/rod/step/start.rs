//! What is fixed when a step begins: where everything was, which way friction acts and how much it can hold.

use super::{Memory, Settings, Solve, Solved, pressing};
use crate::math::{DMat3, DVec3};
use crate::rod::bend::{self, Turns};
use crate::rod::contact::friction::{Friction, Lever, tangential};
use crate::rod::contact::gap::Pressing;
use crate::rod::contact::{Closest, Partner, closest_cone, closest_edges, nearest_on_edge};
use crate::rod::stretch::outer;
use crate::rod::surroundings::{Floor, Host, PlacedCone, RoundCone, Sleeve, Surroundings, Tissue, Tool};
use crate::rod::{Rod, twist};
use std::ops::Range;

impl<'a> Solve<'a> {
    pub(super) fn new(
        rod: &'a Rod,
        around: &'a Surroundings,
        tissue: &'a dyn Tissue,
        memory: &mut Memory,
        settings: &Settings,
        dt: f64,
    ) -> Solve<'a> {
        let nodes = rod.node_count();
        let tools = around.tools.len();
        let blocks = nodes + tools + around.bites.len();
        let mut start = rod.positions.clone();
        start.extend(around.tools.iter().map(|t| t.position));
        start.extend(&around.bites);
        let mut start_spin = rod.spin.clone();
        start_spin.resize(blocks, 0.0);
        let mut lengths: Vec<f64> = (0..nodes)
            .map(|i| {
                let before = if i > 0 { rod.rest_lengths[i - 1] } else { 0.0 };
                let after = if i + 1 < nodes { rod.rest_lengths[i] } else { 0.0 };
                0.5 * (before + after)
            })
            .collect();
        lengths.resize(blocks, 0.0);
        let mut gripped_edge = vec![vec![false; rod.rest_lengths.len()]; tools];
        for grip in &around.grips {
            for edge in [grip.node.wrapping_sub(1), grip.node] {
                if let Some(flag) = gripped_edge[grip.tool].get_mut(edge) {
                    *flag = true;
                }
            }
        }
        let mut solve = Solve {
            solved: solved(rod, around),
            rod,
            around,
            tissue,
            settings: *settings,
            dt,
            nodes,
            blocks,
            places: start.clone(),
            spin: start_spin.clone(),
            start,
            start_spin,
            cones: Vec::new(),
            gradients: twist::gradients(rod),
            tangents: bend::tangents(rod),
            turned: Turns::default(),
            frictions: Vec::new(),
            floor_frictions: Vec::new(),
            plane_frictions: Vec::new(),
            sleeve_edges: Vec::new(),
            sleeve_frictions: Vec::new(),
            gripped_edge,
            inside: vec![false; nodes],
            self_pressing: pressing(&rod.section, Partner::Edge(0)),
            tool_pressing: pressing(&rod.section, Partner::Shape(0, 0)),
            lengths,
            passed_through: false,
        };
        solve.mark_inside();
        solve.freeze_sleeves();
        solve.freeze_frictions(memory);
        solve.freeze_floor(memory);
        solve.freeze_planes(memory);
        solve.cones = solve.placed(&solve.places);
        solve
    }

    /// Nodes inside or near the tissue do not lie on its surface, nor on the surface round their own hole.
    pub(super) fn mark_inside(&mut self) {
        for piece in self.rod.pieces() {
            let holes = self.around.sleeves.iter().filter(|s| matches!(s.host, Host::Bite(_))).map(|s| s.material);
            let holes = holes.filter(|&s| piece.contains(&self.rod.node_at(s)));
            let Some(first) = holes.clone().reduce(f64::min) else { continue };
            let last = holes.fold(first, f64::max);
            for i in piece.clone() {
                let s = self.rod.material[i];
                self.inside[i] = s > first - 1.0 && s < last + 1.0;
            }
        }
        for collar in &self.around.collars {
            for (edge, flag) in self.gripped_edge[collar.tool].iter_mut().enumerate() {
                *flag = self.inside[edge] || self.inside[edge + 1];
            }
        }
    }

    pub(super) fn placed(&self, places: &[DVec3]) -> Vec<Vec<PlacedCone>> {
        self.around
            .tools
            .iter()
            .enumerate()
            .map(|(t, tool)| tool.shapes.iter().map(|s| s.placed(places[self.nodes + t], tool.rotation)).collect())
            .collect()
    }

    pub(super) fn ignored(&self, i: usize, partner: Partner) -> bool {
        match partner {
            Partner::Shape(t, _) => self.gripped_edge[t][i],
            Partner::Edge(_) => false,
        }
    }

    pub(super) fn closest(&self, i: usize, partner: Partner, places: &[DVec3], cones: &[Vec<PlacedCone>]) -> Closest {
        let radius = self.rod.section.radius;
        match partner {
            Partner::Edge(j) => closest_edges(places[i], places[i + 1], places[j], places[j + 1], radius),
            Partner::Shape(t, k) => closest_cone(places[i], places[i + 1], radius, &cones[t][k]),
        }
    }

    pub(super) fn pressing(&self, partner: Partner) -> &Pressing {
        match partner {
            Partner::Edge(_) => &self.self_pressing,
            Partner::Shape(..) => &self.tool_pressing,
        }
    }

    /// Freezes the friction of every pair that touches at the start of the step, with tools where they were then.
    pub(super) fn freeze_frictions(&mut self, memory: &mut Memory) {
        let before: Vec<Vec<PlacedCone>> = self
            .around
            .tools
            .iter()
            .map(|tool| tool.shapes_before.iter().map(|s| s.placed(tool.position, tool.rotation_before)).collect())
            .collect();
        if memory.places.len() == self.nodes {
            self.passed_through = memory.candidates.any_crossed(self.rod, &memory.places, &self.start);
        }
        let held_moved = |i: usize| memory.places.get(i).map_or(0.0, |p| p.distance(self.start[i]));
        memory.candidates.moved(held_moved, |_| 0.0);
        memory.candidates.refresh(self.rod, &self.places, &before, 0.0);
        for (i, partner, closest) in self.touching(&mut memory.candidates, &self.start, &before) {
            let anchor = found(&memory.anchors, (i, partner));
            let force = self.pressing(partner).at(closest.overlap).force;
            self.frictions.push(((i, partner), self.friction(i, partner, &closest, force, anchor)));
        }
    }

    pub(super) fn friction(
        &self,
        i: usize,
        partner: Partner,
        closest: &Closest,
        force: f64,
        anchor: DVec3,
    ) -> Friction {
        let normal = closest.normal;
        let across = DMat3::IDENTITY - outer(normal, normal);
        // Both surfaces are moved at the middle of their overlap, so that what one gets the other gets back, couple and all.
        let arm = self.rod.section.radius - 0.5 * closest.overlap;
        let mut levers = Vec::with_capacity(5);
        self.edge_levers(&mut levers, i, closest.along, normal, across, arm, 1.0);
        let mut anchor = tangential(anchor, normal);
        match partner {
            Partner::Edge(j) => self.edge_levers(&mut levers, j, closest.along_partner, normal, across, arm, -1.0),
            Partner::Shape(t, k) => {
                let tool = &self.around.tools[t];
                levers.push(Lever { block: self.nodes + t, by_position: -across, by_spin: DVec3::ZERO });
                let at = |s: &RoundCone| s.start + (s.end - s.start) * closest.along_partner;
                let centre_before = at(&tool.shapes_before[k]);
                let reach = tool.shapes[k].start_radius * (1.0 - closest.along_partner)
                    + tool.shapes[k].end_radius * closest.along_partner;
                let surface = tool.rotation_before.conjugate() * (normal * reach);
                let moved =
                    tool.rotation * (at(&tool.shapes[k]) + surface) - tool.rotation_before * (centre_before + surface);
                anchor -= tangential(moved, normal);
            }
        }
        let coefficient = self.friction_coefficient(partner, force);
        Friction { anchor, normal, limit: coefficient * force, stiffness: self.pressing(partner).stiffness, levers }
    }

    /// Coulomb friction of the thread on what it touches with `force` [mN].
    pub(super) fn friction_coefficient(&self, partner: Partner, force: f64) -> f64 {
        let section = &self.rod.section;
        let coefficient = match partner {
            Partner::Edge(_) => section.friction_thread,
            Partner::Shape(t, _) => self.around.tools[t].friction.unwrap_or(section.friction_steel),
        };
        coefficient * section.friction_load.share(force)
    }

    /// How edge `i` moves its surface where it is touched: with its centreline, and by turning, about its own axis
    /// and with its direction. `side` is +1 for the edge the normal points to, -1 for its partner.
    #[expect(clippy::too_many_arguments, reason = "one contact's geometry, used twice")]
    pub(super) fn edge_levers(
        &self,
        levers: &mut Vec<Lever>,
        i: usize,
        along: f64,
        normal: DVec3,
        across: DMat3,
        arm: f64,
        side: f64,
    ) {
        let edge = self.start[i + 1] - self.start[i];
        let length = edge.length();
        let tangent = edge / length;
        // The touching point lies at -side arm n from the centreline. Turning the edge moves it by (t x dt) x arm n; both
        // signs of `side` (which end of the arm, which end of the slip) cancel.
        let flat = DMat3::IDENTITY - outer(tangent, tangent);
        let turning = across * (outer(tangent, normal) - DMat3::IDENTITY * tangent.dot(normal)) * flat * (arm / length);
        let spinning = tangent.cross(normal) * -arm;
        levers.push(Lever { block: i, by_position: across * (side * (1.0 - along)) - turning, by_spin: spinning });
        levers.push(Lever { block: i + 1, by_position: across * (side * along) + turning, by_spin: DVec3::ZERO });
    }

    pub(super) fn freeze_floor(&mut self, memory: &Memory) {
        let Some(floor) = self.around.floor else { return };
        for i in 0..self.nodes {
            let overlap = self.floor_overlap(&floor, i, self.start[i]);
            if overlap > 0.0 && self.rod.free[i] && !self.inside[i] {
                let limit = self.floor_limit(&floor, overlap);
                let across = DMat3::from_diagonal(DVec3::new(1.0, 1.0, 0.0));
                let lever = Lever { block: i, by_position: across, by_spin: DVec3::ZERO };
                let anchor = found(&memory.floor_anchors, i);
                let friction =
                    Friction { anchor, normal: DVec3::Z, limit, stiffness: floor.stiffness, levers: vec![lever] };
                self.floor_frictions.push((i, friction));
            }
        }
    }

    pub(super) fn floor_overlap(&self, floor: &Floor, _node: usize, place: DVec3) -> f64 {
        floor.height + self.rod.section.radius - place.z
    }

    pub(super) fn sleeve_place(&self, k: usize, places: &[DVec3]) -> DVec3 {
        let sleeve = &self.around.sleeves[k];
        let host = places[self.host_block(sleeve.host)];
        match sleeve.host {
            Host::Bite(_) => sleeve.rest + host,
            Host::Tool(t) => host + self.around.tools[t].rotation * sleeve.rest,
        }
    }

    pub(super) fn host_block(&self, host: Host) -> usize {
        match host {
            Host::Bite(b) => self.nodes + self.around.tools.len() + b,
            Host::Tool(t) => self.nodes + t,
        }
    }

    pub(super) fn freeze_sleeves(&mut self) {
        for (k, sleeve) in self.around.sleeves.iter().enumerate() {
            let range = sleeve_edges(self.rod, sleeve);
            if let Host::Tool(t) = sleeve.host {
                // What lies in the palm, between the pads and just in front of them does not touch the tool's outside.
                self.gripped_edge[t][..beside_pads(self.rod, &range)].fill(true);
            }
            self.sleeve_edges.push(range);
            let (edge, along, _) = self.sleeve_closest(k, &self.start);
            let tangent = (self.start[edge + 1] - self.start[edge]).normalize();
            let axial = outer(tangent, tangent);
            let host = self.host_block(sleeve.host);
            let levers = vec![
                Lever { block: edge, by_position: axial * (1.0 - along), by_spin: DVec3::ZERO },
                Lever { block: edge + 1, by_position: axial * along, by_spin: DVec3::ZERO },
                Lever { block: host, by_position: -axial, by_spin: DVec3::ZERO },
            ];
            self.sleeve_frictions.push(Friction {
                anchor: tangent * sleeve.anchor,
                normal: tangent,
                limit: self.sleeve_limit(k, &self.start),
                stiffness: sleeve.stiffness,
                levers,
            });
        }
    }

    /// What holds the thread in a sleeve [mN].
    pub(super) fn sleeve_limit(&self, k: usize, places: &[DVec3]) -> f64 {
        let sleeve = &self.around.sleeves[k];
        let (edge, along, centre) = self.sleeve_closest(k, places);
        let tangent = (places[edge + 1] - places[edge]).normalize();
        let point = places[edge].lerp(places[edge + 1], along);
        let pressed = sleeve.stiffness * tangential(point - centre, tangent).length();
        sleeve.friction * self.rod.section.friction_load.share(pressed) * pressed + sleeve.drag
    }

    /// The edge nearest a sleeve's centre, the place on it, and the centre.
    pub(super) fn sleeve_closest(&self, k: usize, places: &[DVec3]) -> (usize, f64, DVec3) {
        let centre = self.sleeve_place(k, places);
        let mut best = (f64::INFINITY, 0, 0.0);
        for i in self.sleeve_edges[k].clone() {
            let edge = places[i + 1] - places[i];
            let along = nearest_on_edge(centre, places[i], edge);
            let distance = (places[i] + edge * along).distance_squared(centre);
            if distance < best.0 {
                best = (distance, i, along);
            }
        }
        (best.1, best.2, centre)
    }
}

/// What is solved for of each block: nodes, tools, bites.
fn solved(rod: &Rod, around: &Surroundings) -> Vec<Solved> {
    let both = |solved| Solved { place: solved, spin: solved };
    let next = rod.free.iter().skip(1).chain([&false]);
    let nodes = rod.free.iter().zip(next).map(|(&free, &next)| Solved { place: free, spin: free || next });
    let held = |(t, tool): (usize, &Tool)| tool.hand.is_some() || around.collars.iter().any(|c| c.tool == t);
    let tools = around.tools.iter().enumerate().map(held).map(both);
    nodes.chain(tools).chain(around.bites.iter().map(|_| both(true))).collect()
}

/// The edges that may be in a sleeve.
pub(in crate::rod) fn sleeve_edges(rod: &Rod, sleeve: &Sleeve) -> Range<usize> {
    let edges = rod.rest_lengths.len();
    let at = rod.material.partition_point(|&s| s <= sleeve.material).clamp(1, edges) - 1;
    let carried = rod.carried.iter().take_while(|&&c| c).count();
    at.saturating_sub(2).max(carried.min(at))..(at + 3).min(edges)
}

/// The first edge that may touch the outside of a tool between whose pads the edges of `range` are.
pub(in crate::rod) fn beside_pads(rod: &Rod, range: &Range<usize>) -> usize {
    (range.end + 3).min(rod.rest_lengths.len())
}

/// What an ascending list keeps under a key; zero if nothing.
pub(super) fn found<K: Ord + Copy>(list: &[(K, DVec3)], key: K) -> DVec3 {
    list.binary_search_by(|(k, _)| k.cmp(&key)).map_or(DVec3::ZERO, |at| list[at].1)
}
