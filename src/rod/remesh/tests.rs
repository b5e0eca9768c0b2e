//! What splitting and merging keep, with everything in touch.

use super::*;
use crate::math::DVec3;
use crate::rod::contact::Partner;
use crate::rod::step::{Memory, Settings, step, tests::tangle};
use crate::rod::surroundings::NoTissue;
use crate::rod::tests::gut;

/// What splits and merges give back errs by rounding only; places and lengths are some millimetres, and so are spins in
/// radians.
const ROUNDING: f64 = 1e-12;

/// The tangle after some steps, so that there are anchors, touches and motions.
fn tangled() -> (Rod, Memory, Surroundings) {
    let ((mut rod, mut around), mut memory) = (tangle(), Memory::default());
    // So short that drag keeps it from flying apart.
    for _ in 0..4 {
        step(&mut rod, &mut around, &NoTissue, &mut memory, &Settings::default(), 1e-3);
    }
    (rod, memory, around)
}

fn same(what: &str, edge: usize, a: &[DVec3], b: &[DVec3]) {
    assert_eq!(a.len(), b.len(), "{what}, edge {edge}");
    for (k, (a, b)) in a.iter().zip(b).enumerate() {
        assert!((*a - *b).length() < ROUNDING, "{what} {k} of edge {edge}: {a} is not {b}");
    }
}

fn numbers(list: &[f64]) -> Vec<DVec3> {
    list.iter().map(|&v| DVec3::X * v).collect()
}

#[test]
fn a_split_that_is_merged_again_leaves_everything_as_it_was() {
    let (rod, memory, around) = tangled();
    let kinds = [memory.anchors.len(), memory.floor_anchors.len(), memory.plane_anchors.len(), memory.velocity.len()];
    assert!(kinds.iter().all(|&count| count > 0), "{kinds:?}");
    let edges: Vec<usize> = (0..rod.rest_lengths.len()).filter(|&e| may_split(&rod, &around, e)).collect();
    assert!(edges.len() >= 10, "{edges:?}");
    for (edge, share) in edges.into_iter().flat_map(|edge| [(edge, 0.5), (edge, 0.2)]) {
        let (mut r, mut m, mut a) = (rod.clone(), memory.clone(), around.clone());
        split(&mut r, &mut m, &mut a, edge, share);
        assert_eq!(r.node_count(), rod.node_count() + 1);
        assert!(may_merge(&r, &a, edge + 1));
        merge(&mut r, &mut m, &mut a, edge + 1);
        assert_eq!((a, &r.whole, &r.free, &r.carried), (around.clone(), &rod.whole, &rod.free, &rod.carried));
        same("place", edge, &r.positions, &rod.positions);
        same("set", edge, &r.set, &rod.set);
        same("director", edge, &r.directors, &rod.directors);
        same("velocity", edge, &m.velocity, &memory.velocity);
        same("place at the last step's end", edge, &m.places, &memory.places);
        for (what, is, was) in [
            ("spin", &r.spin, &rod.spin),
            ("length", &r.rest_lengths, &rod.rest_lengths),
            ("material", &r.material, &rod.material),
            ("reference twist", &r.reference_twist, &rod.reference_twist),
            ("spin velocity", &m.spin_velocity, &memory.spin_velocity),
        ] {
            same(what, edge, &numbers(is), &numbers(was));
        }
        let keys = |m: &Memory| -> Vec<_> { m.anchors.iter().map(|a| a.0).collect() };
        assert_eq!(keys(&m), keys(&memory), "edge {edge}");
        let values = |m: &Memory| -> Vec<DVec3> {
            let pairs = m.anchors.iter().map(|a| a.1).chain(m.floor_anchors.iter().map(|a| a.1));
            pairs.chain(m.plane_anchors.iter().map(|a| a.1)).collect()
        };
        same("anchor", edge, &values(&m), &values(&memory));
        assert_eq!(m.touches.len(), memory.touches.len(), "edge {edge}");
        for (is, was) in m.touches.iter().zip(&memory.touches) {
            assert_eq!((is.edge, is.partner), (was.edge, was.partner));
            assert!((is.force - was.force).abs() < ROUNDING * (1.0 + was.force), "{is:?} is not {was:?}");
            assert!((is.friction - was.friction).length() < ROUNDING * (1.0 + was.force), "{is:?} is not {was:?}");
        }
    }
}

#[test]
fn refinement_keeps_lengths_tensions_torques_and_the_forces_that_were_transferred() {
    let (rod, memory, around) = tangled();
    let (mut r, mut m, mut a) = (rod.clone(), memory.clone(), around.clone());
    let all = 0.0..rod.material[rod.node_count() - 1];
    let renumbering = refine(&mut r, &mut m, &mut a, all, 0.13);
    let near = |is: f64, was: f64, what: &str| {
        assert!((is - was).abs() < 1e-9 * (1.0 + was.abs()), "{what}: {is}, was {was}");
    };
    let mut parent = 0;
    for edge in 0..r.rest_lengths.len() {
        let split = may_split(&rod, &around, parent);
        assert!(!split || r.rest_lengths[edge] <= 0.13 + 1e-12, "edge {edge} of {} mm", r.rest_lengths[edge]);
        near(r.tension(edge), rod.tension(parent), "tension");
        parent += usize::from(renumbering.now(parent + 1) == Some(edge + 1));
    }
    assert_eq!(parent, rod.rest_lengths.len());
    for node in 1..rod.node_count() - 1 {
        let now = renumbering.now(node).expect("no node went");
        near(r.material[now], rod.material[node], "material");
        let torque = |rod: &Rod, i: usize| rod.twist(i) / crate::rod::bend::voronoi_length(rod, i);
        near(torque(&r, now), torque(&rod, node), "twist per length");
        let density = |rod: &Rod, i: usize| rod.set[i] / crate::rod::bend::voronoi_length(rod, i);
        assert!((density(&r, now) - density(&rod, node)).length() < 1e-9, "set per length of node {node}");
    }
    let total = |list: &[DVec3]| list.iter().copied().sum::<DVec3>();
    let friction = |m: &Memory| total(&m.anchors.iter().map(|a| a.1).collect::<Vec<_>>());
    let pressing = |m: &Memory, own: bool| -> f64 {
        m.touches.iter().filter(|t| matches!(t.partner, Partner::Edge(_)) == own).map(|t| t.force).sum()
    };
    assert!((friction(&m) - friction(&memory)).length() < ROUNDING, "{} was {}", friction(&m), friction(&memory));
    assert!((total(&r.set) - total(&rod.set)).length() < 1e-9);
    near(pressing(&m, true), pressing(&memory, true), "self contact");
    near(pressing(&m, false), pressing(&memory, false), "contact with tools");
    assert!(m.anchors.is_sorted_by_key(|a| a.0) && m.anchors.len() > memory.anchors.len());
    assert_eq!(a.grips[0].node, r.node_count() - 1);
    assert_eq!(renumbering.carried(&rod.free, &true).len(), r.node_count());
}

/// Two strands of one thread, cut between them, that cross at right angles and press on each other; all ends are held.
fn crossing() -> (Rod, Memory, Surroundings) {
    let along = |k: u32| 0.5 * f64::from(k) - 5.0;
    let lower = (0..21).map(|k| DVec3::new(along(k), 0.0, 0.0));
    let upper = (0..21).map(|k| DVec3::new(0.1, along(k), 0.22));
    let mut rod = Rod::at_rest(gut(), lower.chain(upper).collect());
    rod.whole[20] = false;
    for end in [0, 1, 19, 20, 21, 22, 40, 41] {
        rod.free[end] = false;
    }
    (rod, Memory::default(), Surroundings::default())
}

#[test]
fn edges_become_short_where_strands_press_and_long_again_when_they_part() {
    let (mut rod, mut memory, mut around) = crossing();
    let nodes = rod.node_count();
    let all = 0.0..rod.material[nodes - 1];
    let lengths = EdgeLengths { in_contact: 0.2, free: 0.5 };
    let mut go = |rod: &mut Rod, memory: &mut Memory| {
        step(rod, &mut around, &NoTissue, memory, &Settings::default(), 2.0);
        let renumbering = adapt(rod, memory, &mut around, all.clone(), lengths);
        renumbering.is_none()
    };
    assert!(!go(&mut rod, &mut memory), "nothing was split");
    for (edge, length) in rod.rest_lengths.iter().enumerate() {
        // Fine is what lies within 0.8 mm of the pressing edges' middles, and these are within 0.25 mm of the crossing.
        let middle = 0.5 * (rod.positions[edge] + rod.positions[edge + 1]);
        let near = middle.truncate().length() < 0.8;
        let far = middle.truncate().length() > 2.0;
        assert!(!near || *length < 0.26, "edge {edge} at {middle} is {length} mm long");
        assert!(!far || *length > 0.4, "edge {edge} at {middle} is {length} mm long");
    }
    for round in 0..5 {
        assert!(go(&mut rod, &mut memory), "nodes come and go in round {round}, though nothing changes");
    }
    let split = rod.whole.iter().position(|whole| !whole).expect("it is cut");
    for (node, place) in rod.positions.iter_mut().enumerate() {
        place.z = if node <= split { -3.0 } else { 0.22 };
    }
    memory = Memory::default();
    for _ in 0..5 {
        go(&mut rod, &mut memory);
    }
    assert_eq!(rod.node_count(), nodes, "{:?}", rod.rest_lengths);
}

#[test]
fn what_something_has_hold_of_is_neither_split_nor_merged() {
    let (rod, _, around) = tangled();
    let held = |edge: usize| edge >= 28 || edge < beside_pads(&rod, &sleeve_edges(&rod, &around.sleeves[0]));
    for edge in 0..rod.rest_lengths.len() {
        assert_eq!(may_split(&rod, &around, edge), !held(edge), "edge {edge}");
    }
    let loaded = Surroundings { loads: vec![(20, DVec3::Z)], sleeves: Vec::new(), ..around };
    for node in 0..rod.node_count() {
        let free = node > 0 && node < 28 && node != 20;
        assert_eq!(may_merge(&rod, &loaded, node), free, "node {node}");
    }
}
