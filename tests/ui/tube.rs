//! The thread's tube: closed, round, of one topology, with frames that do not spin.

use bevy::math::Vec3;

use knotwright::app::view::tube::{Tube, frames};

const TUBE: Tube = Tube { sides: 8, rings: 3, radius: 0.11, taper: 1.0 };

fn helix(pitch: f32) -> Vec<Vec3> {
    (0..60)
        .map(|i| {
            let angle = i as f32 * 0.2;
            Vec3::new(2.0 * angle.cos(), pitch * angle, 2.0 * angle.sin())
        })
        .collect()
}

#[test]
fn topology_stays_while_the_thread_moves() {
    let one = TUBE.surface(&[helix(0.1)], 256, Vec3::ONE);
    let other = TUBE.surface(&[helix(0.4)], 256, Vec3::ONE);
    assert_eq!(one.corners, other.corners);
    assert_eq!(one.points.len(), 256 * 8);
    assert_ne!(one.points, other.points);
}

#[test]
fn every_point_of_a_ring_is_a_radius_away() {
    let nodes: Vec<Vec3> = (0..10).map(|i| Vec3::X * i as f32).collect();
    let surface = TUBE.surface(&[nodes], 30, Vec3::ONE);
    for ring in 1..29 {
        for side in 0..8 {
            let point = surface.points[ring * 8 + side];
            let away = Vec3::new(0.0, point.y, point.z).length();
            assert!((away - 0.11).abs() < 1e-6, "ring {ring}: {away}");
        }
    }
}

#[test]
fn normals_point_outward() {
    let nodes: Vec<Vec3> = (0..10).map(|i| Vec3::X * i as f32).collect();
    let surface = TUBE.surface(&[nodes], 30, Vec3::ONE);
    let normals = surface.normals();
    for ring in 2..28 {
        for side in 0..8 {
            let (point, normal) = (surface.points[ring * 8 + side], normals[ring * 8 + side]);
            assert!(normal.dot(Vec3::new(0.0, point.y, point.z)) > 0.1, "ring {ring}, side {side}");
        }
    }
}

#[test]
fn two_pieces_are_not_joined_by_anything_with_an_area() {
    let near: Vec<Vec3> = (0..5).map(|i| Vec3::X * i as f32).collect();
    let far: Vec<Vec3> = (0..5).map(|i| Vec3::new(i as f32, 50.0, 0.0)).collect();
    let strands = [near, far];
    let surface = TUBE.surface(&strands, TUBE.ring_count(&strands), Vec3::ONE);
    for triangle in surface.corners.chunks_exact(3) {
        let [a, b, c] = [0, 1, 2].map(|i| surface.points[triangle[i] as usize]);
        let spans = (a.y - b.y).abs().max((b.y - c.y).abs()) > 1.0;
        let area = (b - a).cross(c - a).length();
        assert!(!spans || area < 1e-4, "a triangle of area {area} joins two pieces");
    }
}

#[test]
fn frames_are_square_and_follow_the_curve() {
    let curve = helix(0.3);
    for (i, [first, second]) in frames(&curve).into_iter().enumerate().skip(1).take(curve.len() - 2) {
        let along = (curve[i + 1] - curve[i - 1]).normalize();
        assert!(first.dot(second).abs() < 1e-5 && first.dot(along).abs() < 1e-4, "frame {i}");
        assert!((first.length() - 1.0).abs() < 1e-5 && (second.length() - 1.0).abs() < 1e-5, "frame {i}");
    }
}

/// A frame that turns as little as can be changes only along the tangent.
///
/// Source: Bishop 1975, Am. Math. Monthly 82:246, the definition of a relatively parallel field.
#[test]
fn frames_change_only_along_the_tangent() {
    let curve = helix(0.3);
    let frames = frames(&curve);
    // The end points' tangents are one-sided, so the first and last step are left out.
    for i in 1..curve.len() - 2 {
        let along = (curve[i + 1] - curve[i]).normalize();
        for (before, after) in frames[i].into_iter().zip(frames[i + 1]) {
            let change = after - before;
            let sideways = (change - along * change.dot(along)).length();
            // The tangent turns by 0.2 rad a step; the error of a step is of its third power.
            assert!(sideways < 0.008, "frame {i} turns by {sideways}");
        }
    }
}

/// A frame that turns as little as can be comes back, after a closed plane curve, as it went; the same curve followed
/// by its own normal would have turned once.
///
/// Source: Bishop 1975, Am. Math. Monthly 82:246 (relatively parallel fields of a plane curve).
#[test]
fn frames_do_not_spin_on_a_plane_circle() {
    let circle: Vec<Vec3> = (0..=200)
        .map(|i| {
            let angle = i as f32 / 200.0 * std::f32::consts::TAU;
            Vec3::new(angle.cos(), 0.0, angle.sin())
        })
        .collect();
    let frames = frames(&circle);
    let out_of_plane = frames[1][0].y;
    for (i, [first, _]) in frames.iter().enumerate().skip(1) {
        // Double reflection errs with the fourth power of the step of 0.03 rad: far below this.
        assert!((first.y - out_of_plane).abs() < 1e-3, "frame {i}: {} and not {out_of_plane}", first.y);
    }
}
