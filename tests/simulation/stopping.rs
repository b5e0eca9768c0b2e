//! Bone and teeth stop the needle and blunt its point.

use super::{aimed, begin, lead, shipped};
use knotwright::analysis::findings::NeedleEventKind;
use knotwright::input::{HandEvent, TickCommand};
use knotwright::math::{DVec3, cos, sin};
use knotwright::simulation::RIGHT;
use knotwright::simulation::attempt::Attempt;
use knotwright::site::hard::Substance;
use knotwright::site::neighbours::crowns;

/// How deep the hard things of the site have the needle's point in them [mm].
fn depth_of_point(attempt: &Attempt, of: Substance) -> f64 {
    let needle = attempt.world.needle.as_ref().expect("there is a needle");
    let Some(pose) = attempt.world.needle_pose() else { return f64::NEG_INFINITY };
    let point = needle.point(&pose, 0.0);
    let depths = attempt.world.hard.depths(point).filter(|depth| depth.of == of);
    depths.map(|depth| depth.depth).fold(f64::NEG_INFINITY, f64::max)
}

/// Leads the needle, its point this far [rad] below the level, along these places of its point at this speed [mm/s]; `each` sees
/// every tick.
fn go(attempt: &mut Attempt, angle: f64, places: &[DVec3], speed: f64, mut each: impl FnMut(&Attempt)) {
    let radius = attempt.world.needle.as_ref().expect("there is a needle").radius;
    for pair in places.windows(2) {
        let ticks = (pair[0].distance(pair[1]) / speed * 60.0).ceil();
        let mut tick = 0.0;
        while tick < ticks {
            tick += 1.0;
            attempt.tick(&lead(attempt, &aimed(radius, pair[0].lerp(pair[1], tick / ticks), angle)));
            each(attempt);
        }
    }
}

/// A point pushed straight down on the top of the crown to the right, until the hand is 0.3 mm too deep, held there and taken
/// away again.
fn pushed_on_tooth() -> (Attempt, f64, DVec3) {
    let mut attempt = begin();
    let crown = crowns(&shipped()).into_iter().find(|crown| crown.middle.x > 0.0).expect("there is one on the right");
    let top = crown.middle + DVec3::Z * crown.rings()[2].0;
    let (above, wanted) = (top + DVec3::Z * 3.0, top - DVec3::Z * 0.3);
    let start = attempt.world.needle.as_ref().expect("there is a needle").tip_before;
    let over = top + DVec3::Z * 14.0;
    let straight = std::f64::consts::FRAC_PI_2;
    go(&mut attempt, straight, &[start, over, above], 20.0, |_| {});
    let mut deepest = 0.0_f64;
    let mut look = |attempt: &Attempt| deepest = deepest.max(depth_of_point(attempt, Substance::Tooth));
    go(&mut attempt, straight, &[above, wanted], 3.0, &mut look);
    (0..30).for_each(|_| {
        let needle = aimed(attempt.world.needle.as_ref().expect("there is a needle").radius, wanted, straight);
        attempt.tick(&lead(&attempt, &needle));
        look(&attempt);
    });
    (attempt, deepest, top)
}

#[test]
fn a_tooth_stops_the_point_with_what_the_hand_pushes_with_and_blunts_it() {
    let (mut attempt, deepest, top) = pushed_on_tooth();
    let tool = &attempt.world.around.tools[RIGHT];
    let hand = tool.hand.expect("it is in a hand");
    let push = hand.stiffness * (tool.position.z - hand.target.z);
    // 0.3 mm of a hand of 2000 mN/mm, less what the thread hangs on it.
    assert!((push - 600.0).abs() < 30.0, "the hand pushes with {push} mN");
    // 600 mN on 50 000 mN/mm, and a third more while it comes at 3 mm/s.
    assert!(deepest > 0.0 && deepest < 0.02, "the point is {deepest} mm deep");
    let sharpness = attempt.world.needle.as_ref().expect("there is a needle").sharpness;
    // A flat of 0.225 mm bears a third of the 1800 mN that one of 0.346 mm does: 0.55 of the way from there to 0.127 mm.
    assert!((sharpness - 0.55).abs() < 0.03, "sharpness {sharpness}");
    go(&mut attempt, std::f64::consts::FRAC_PI_2, &[top, top + DVec3::Z * 4.0], 10.0, |_| {});
    let met = attempt.findings().needle;
    assert_eq!(met.iter().map(|event| event.kind).collect::<Vec<_>>(), [NeedleEventKind::MetTooth]);
    let force = met[0].force_n.expect("it was measured");
    assert!((force - 0.6).abs() < 0.04, "{force} N");
    assert!((met[0].along_wound_mm - top.x).abs() < 0.05 && (met[0].across_mm - top.y).abs() < 0.05, "{met:?}");
    assert!(attempt.world.meetings.len() == 1 && met[0].tick < attempt.world.tick, "it has left the tooth: {met:?}");
}

#[test]
fn bone_stops_a_point_that_goes_too_deep_through_a_flap() {
    let mut attempt = begin();
    let bone = 1.7;
    let place = DVec3::new(0.0, 6.0, 0.0);
    let start = attempt.world.needle.as_ref().expect("there is a needle").tip_before;
    let mut deepest = f64::NEG_INFINITY;
    let path = [start, place + DVec3::Z * 8.0, place - DVec3::Z * 3.0];
    go(&mut attempt, std::f64::consts::FRAC_PI_2, &path, 8.0, |attempt| {
        deepest = deepest.max(depth_of_point(attempt, Substance::Bone));
    });
    // A hand 1.3 mm too deep: 2600 mN and the damper's 160 mN on 50 000 mN/mm.
    assert!(deepest > 0.03 && deepest < 0.07, "the point is {deepest} mm in bone");
    let needle = attempt.world.needle.as_ref().expect("there is a needle");
    assert!((needle.tip_before.z + bone).abs() < 0.07, "it stands on bone, at {}", needle.tip_before);
    assert!(needle.sharpness < 1e-9, "more than 1800 mN blunt it wholly: {}", needle.sharpness);
    let kinds: Vec<_> = attempt.findings().needle.iter().map(|event| event.kind).collect();
    use NeedleEventKind::{Entered, Exited, MetBone, PiercedMembrane};
    // Through the flap, onto the membrane that lies on bone there, and while it is still pressed on bone.
    assert!(kinds.starts_with(&[Entered, Exited]) && kinds.contains(&MetBone), "{kinds:?}");
    assert!(kinds.iter().all(|kind| [Entered, Exited, MetBone, PiercedMembrane].contains(kind)), "{kinds:?}");
}

#[test]
fn a_needle_that_goes_its_arc_through_both_flaps_meets_nothing_hard_and_stays_sharp() {
    let mut attempt = begin();
    super::perform(&mut attempt, super::NEEDLE, |attempt| {
        assert!(depth_of_point(attempt, Substance::Bone) < 0.0, "at {}", attempt.world.tick.0);
    });
    let needle = attempt.world.needle.as_ref().expect("there is a needle");
    assert_eq!((needle.sharpness.to_bits(), attempt.world.meetings.len()), (1.0_f64.to_bits(), 0));
}

#[test]
fn a_tooth_stops_the_needles_body_and_does_not_blunt_its_point() {
    let mut attempt = begin();
    let crown = crowns(&shipped()).into_iter().find(|crown| crown.middle.x > 0.0).expect("there is one on the right");
    let needle = attempt.world.needle.as_ref().expect("there is a needle");
    let (start, radius, wire, middle) = (needle.tip_before, needle.radius, needle.wire, 0.5 * needle.arc);
    // The arc hangs across the wound, its middle lowest and a millimetre below the bulge, its point far outside the crown's width.
    let [neck, bulge, _] = crown.rings();
    let level = bulge.0 - 1.0;
    let share = neck.1 + (bulge.1 - neck.1) * (level - neck.0) / (bulge.0 - neck.0);
    let side = DVec3::new(crown.middle.x - crown.half[0] * share, 0.0, level);
    let point = |x: f64| {
        let out = DVec3::new(0.0, -sin(middle), -cos(middle)) * radius;
        side + DVec3::X * x + DVec3::Z * radius + out
    };
    // It is turned high above everything, and lowered beside the crown.
    go(&mut attempt, 0.0, &[start, start + DVec3::Z * 12.0], 20.0, |_| {});
    let beside = point(-2.0);
    let path = [start + DVec3::Z * 12.0, beside + DVec3::Z * 12.0, beside, point(0.5)];
    go(&mut attempt, -middle, &path, 10.0, |_| {});
    let wanted = aimed(radius, point(0.5), -middle);
    (0..30).for_each(|_| attempt.tick(&lead(&attempt, &wanted)));
    let needle = attempt.world.needle.as_ref().expect("there is a needle");
    let lowest = needle.point(&attempt.world.needle_pose().expect("it is held"), middle);
    let tool = &attempt.world.around.tools[RIGHT];
    let hand = tool.hand.expect("it is in a hand");
    let push = hand.stiffness * (hand.target.x - tool.position.x);
    // Half a millimetre and the wire's radius of 0.25 mm on the hand's 2000 mN/mm, less 0.03 mm by which the crown is narrower half
    // a millimetre beside its middle, where the nearest places are; the side leans by 0.14 mm a millimetre, 2 % of the push.
    assert!((push - 0.98 * 0.72 * 2000.0).abs() < 60.0, "{push} mN");
    assert!((lowest.x - (side.x - 0.5 * wire)).abs() < 0.06, "the body is at {lowest}, the side at {side}");
    assert_eq!((needle.sharpness.to_bits(), attempt.world.meetings.len()), (1.0_f64.to_bits(), 0));
    assert!(needle.meeting.is_none());
}

#[test]
fn in_a_mirrored_field_the_needle_meets_the_teeth_that_the_mirror_shows() {
    let mut attempt = begin();
    let plain = attempt.world.hard.clone();
    let mut mirrored = plain.clone();
    mirrored.mirror();
    let still = lead(&attempt, &attempt.world.needle_pose().expect("it is held"));
    attempt.tick(&still);
    assert_eq!(attempt.world.hard, plain);
    attempt.tick(&TickCommand { events: vec![HandEvent::Mirror], ..still });
    assert_eq!(attempt.world.hard, mirrored);
    assert_ne!(mirrored, plain);
}
