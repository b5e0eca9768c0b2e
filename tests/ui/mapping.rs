//! Frames: nothing is mirrored, and turns stay turns.
#![expect(clippy::float_cmp, reason = "a turn by quarter circles and a product of signs are exact")]

use knotwright::app::frame::{from_scene, to_scene, to_scene_rotation, to_scene_transform};
use knotwright::app::plan::mesial_side;
use knotwright::math::{DVec3, Pose, rotation};
use knotwright::scenario::schema::OperatorSide::{Far, Near};

#[test]
fn up_is_up_and_away_is_into_the_picture() {
    assert_eq!(to_scene(DVec3::X).to_array(), [1.0, 0.0, 0.0]);
    assert_eq!(to_scene(DVec3::Y).to_array(), [0.0, 0.0, -1.0]);
    assert_eq!(to_scene(DVec3::Z).to_array(), [0.0, 1.0, 0.0]);
}

#[test]
fn the_frames_are_of_the_same_hand() {
    let crossed = to_scene(DVec3::X).cross(to_scene(DVec3::Y));
    assert_eq!(crossed, to_scene(DVec3::Z));
}

#[test]
fn a_point_comes_back() {
    let point = DVec3::new(1.5, -2.25, 3.0);
    assert_eq!(from_scene(to_scene(point)), point);
}

#[test]
fn a_body_point_lands_where_core_puts_it() {
    let axis = DVec3::new(0.48, -0.6, 0.64);
    let pose = Pose { position: DVec3::new(3.0, -4.0, 5.0), rotation: rotation(axis, 1.1) };
    let local = DVec3::new(7.0, -1.0, 2.0);
    let through_scene = to_scene_transform(&pose).transform_point(to_scene(local));
    // Single precision at 10 mm resolves a millionth of a millimetre.
    assert!((through_scene - to_scene(pose.point(local))).length() < 1e-5);
    let turned = to_scene_rotation(pose.rotation) * to_scene(local);
    assert!((turned - to_scene(pose.direction(local))).length() < 1e-5);
}

#[test]
fn the_midline_is_where_anatomy_puts_it() {
    // Lower left, seen across the tongue from the patient's right: the front of the mouth is to the right.
    assert_eq!(mesial_side(35, Far), 1.0);
    assert_eq!(mesial_side(35, Near), -1.0);
    // Lower right with the cheek near: the operator stands on that side and looks across; the front is to the right.
    assert_eq!(mesial_side(45, Near), 1.0);
    assert_eq!(mesial_side(45, Far), -1.0);
    // Upper jaws hang: the same side of the mouth is mirrored.
    assert_eq!(mesial_side(25, Far), -1.0);
    assert_eq!(mesial_side(15, Far), 1.0);
}
