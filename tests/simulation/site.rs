//! The site of a scenario, and how the thread lies before the first bite.

use super::{begin, shipped};
use knotwright::math::DVec3;
use knotwright::site::{Site, laid_thread, thread_mesh};
use knotwright::tissue::Side;

#[test]
fn the_gum_is_as_the_scenario_says() {
    let scenario = shipped();
    let site = Site::of(&scenario).expect("the shipped scenario is in range");
    for side in Side::BOTH {
        let flap = site.flaps.flap(side);
        assert!((side.sign() * flap.edge_y(0.0) - 1.5).abs() < 1e-12, "half of the gap of 3 mm");
        assert!((flap.settings().modulus_kpa - 200.0).abs() < 1e-12);
        assert!((flap.settings().thickness_mm - 1.4).abs() < 1e-12);
    }
    // A mouth of 5.5 x 7.5 mm and 2.5 mm past it on every side, under flaps that begin 1.5 mm from the middle.
    assert!((site.membrane.size().x - 10.5).abs() < 1e-12 && (site.membrane.size().y - 12.5).abs() < 1e-12);
    assert!((site.membrane.least_overlap_mm(&site.flaps).least_mm() - 4.75).abs() < 1e-9);
}

#[test]
fn the_thread_lies_on_the_far_side_without_a_kink() {
    let (start, way) = (DVec3::new(0.0, -1.3, 22.7), DVec3::new(0.0, -0.98, -0.17));
    let nodes = laid_thread(&thread_mesh(140.0, 1), start, way, 0.1);
    assert!(nodes.iter().all(|p| p.z >= 0.1), "no node is below the gum's surface");
    let edges: Vec<DVec3> = nodes.windows(2).map(|p| p[1] - p[0]).collect();
    let length: f64 = edges.iter().map(|e| e.length()).sum();
    assert!((length - 140.0).abs() < 0.5, "length {length}");
    for pair in edges.windows(2) {
        let cosine = pair[0].normalize().dot(pair[1].normalize());
        // Bent round a radius of 11 mm an edge of 1.1 mm turns by 0.1 rad; half as much again where it touches down.
        assert!(cosine > 0.988, "cosine {cosine}");
    }
    let last = nodes[nodes.len() - 1];
    assert!(last.y > 50.0 && last.z < 0.3, "the end lies far away on the gum: {last}");
}

#[test]
fn the_thread_is_fine_where_it_will_be_knotted() {
    let attempt = begin();
    let rod = &attempt.world.rod;
    let length = rod.material[rod.node_count() - 1];
    assert!((length - attempt.scenario.thread.length_mm).abs() < 0.5, "length {length}");
    for (edge, rest) in rod.rest_lengths.iter().enumerate() {
        let most = if rod.material[edge] > length - 76.0 { 0.51 } else { 1.21 };
        assert!(*rest < most, "edge {edge} of {rest} mm");
    }
}
