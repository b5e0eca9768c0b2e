//! The needle's way through the gum.

use super::{NEEDLE, aimed, begin, hold, lead, perform, shipped};
use knotwright::analysis::findings::{NeedleEventKind, Side};
use knotwright::math::{DVec3, cos, sin};
use knotwright::rod::surroundings::Host;
use knotwright::simulation::RIGHT;
use knotwright::simulation::attempt::{Attempt, BeginError};

#[test]
fn one_pass_of_the_needle_takes_both_bites_as_wide_as_meant() {
    let mut attempt = begin();
    perform(&mut attempt, NEEDLE.lines().next().expect("a line"), |_| {});
    let bites = attempt.findings().stitches[0].bites.clone();
    assert_eq!(bites.iter().map(|b| b.flap).collect::<Vec<_>>(), [Side::Cheek, Side::Tongue]);
    let thickness = attempt.scenario.draw().flap_thickness_mm;
    for bite in bites {
        // The hand lags its target and eyes take most of that back: 0.07 mm are left, and as much for a harder point.
        assert!((bite.distance_from_edge_mm - 2.5).abs() < 0.15, "{bite:?}");
        assert!(bite.depth_mm > 0.5 && bite.depth_mm <= thickness, "{bite:?}");
        // An arc of radius 8.06 mm through two holes 8 mm apart meets the surface at asin(4.0 / 8.06) = 30 degrees.
        assert!((bite.angle_deg - 30.0).abs() < 4.0, "{bite:?}");
    }
    let kinds: Vec<_> = attempt.findings().needle.iter().map(|event| event.kind).collect();
    use NeedleEventKind::{Entered, Exited};
    assert_eq!(kinds, [Entered, Exited, Entered, Exited]);
    assert!(!attempt.world.gum.membrane.is_pierced());
}

#[test]
fn thread_comes_into_the_holes_in_the_order_in_which_the_swage_passes_them() {
    let mut attempt = begin();
    let mut active = vec![0];
    perform(&mut attempt, NEEDLE, |attempt| {
        let holes = attempt.world.around.sleeves.iter().filter(|s| matches!(s.host, Host::Bite(_))).count();
        let filled = attempt.world.needle.as_ref().map_or(0, |n| n.filled);
        if active.last() != Some(&(holes - filled)) {
            active.push(holes - filled);
        }
    });
    assert_eq!(active, [0, 1, 2, 3, 4]);
    let holes: Vec<_> = attempt.world.around.sleeves.iter().filter(|s| matches!(s.host, Host::Bite(_))).collect();
    assert_eq!(holes.iter().map(|s| s.host).collect::<Vec<_>>(), [1, 1, 0, 0].map(Host::Bite));
    assert!(holes.windows(2).all(|pair| pair[0].material < pair[1].material), "the strand's hole comes first");
}

#[test]
fn a_needle_that_is_not_over_a_flap_makes_no_bite() {
    // Beyond the fold, beside the end of the flaps, and between the edges.
    for (shift, pierces) in [
        (DVec3::new(0.0, 25.0, -14.0), false),
        (DVec3::new(40.0, 0.0, -14.0), false),
        (DVec3::new(0.0, -6.5, -13.0), true),
    ] {
        let mut attempt = begin();
        let aside = hold(&attempt, DVec3::new(shift.x, shift.y, 0.0), 0.0);
        let down = hold(&attempt, shift, 0.0);
        for command in [aside, down] {
            (0..60).for_each(|_| attempt.tick(&command));
        }
        let point = attempt.world.needle.as_ref().expect("there is a needle").tip_before;
        // Bone stops it 1.7 mm down where there is any.
        assert!(point.z < -1.5, "the point is below the gum's surface, at {point}");
        let findings = attempt.findings();
        assert!(findings.stitches.is_empty(), "shift {shift}");
        let entered = findings.needle.iter().any(|event| event.kind == NeedleEventKind::Entered);
        assert!(!entered, "shift {shift}: {:?}", findings.needle);
        assert_eq!(attempt.world.gum.membrane.is_pierced(), pierces, "shift {shift}");
    }
}

#[test]
fn opened_jaws_drop_the_needle_and_a_needle_left_lying_is_lost() {
    let mut attempt = begin();
    let open = hold(&attempt, DVec3::ZERO, 0.7);
    (0..120).for_each(|_| attempt.tick(&open));
    let kinds: Vec<_> = attempt.findings().needle.iter().map(|event| event.kind).collect();
    assert_eq!(kinds, [NeedleEventKind::Dropped, NeedleEventKind::Lost]);
    let needle = attempt.world.needle.as_ref().expect("there is a needle");
    let pose = attempt.world.needle_pose().expect("it lies in the field");
    let point = needle.point(&pose, 0.0);
    for event in attempt.findings().needle {
        let off = DVec3::new(event.along_wound_mm, event.across_mm, point.z) - point;
        assert!(off.length() < 1e-9, "{event:?}, and it lies with its point at {point}");
    }
    let lowest = needle.centreline(&pose).iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
    assert!((lowest - 0.5 * needle.wire).abs() < 1e-9, "it lies on the gum: {lowest}");
}

#[test]
fn the_gum_gives_before_it_lets_the_point_through() {
    let mut attempt = begin();
    let mut dents = Vec::new();
    perform(&mut attempt, NEEDLE.lines().next().expect("a line"), |attempt| {
        let passage = attempt.world.needle.as_ref().and_then(|n| n.passage);
        dents.extend(passage.filter(|p| !p.pierced).map(|p| p.way));
    });
    assert!(!dents.is_empty(), "the point dents the gum first");
    let most = dents.iter().copied().fold(0.0, f64::max);
    // 600 mN over 2000 mN/mm straight in, both of the needle's own law, and twice as much at the 28 degrees of the first bite.
    assert!(most < 0.3 / sin(28_f64.to_radians()), "and is through at {most} mm");
}

/// How hard the hand's own spring pushes the holder this way [mN].
fn push_of_hand(attempt: &Attempt, way: DVec3) -> f64 {
    let tool = &attempt.world.around.tools[RIGHT];
    let hand = tool.hand.expect("it is in a hand");
    hand.stiffness * (hand.target - tool.position).dot(way)
}

#[test]
fn a_hand_pushes_harder_the_blunter_the_point_and_the_more_aslant_it_comes() {
    // Degrees from the surface, sharpness, and how many times the 600 mN of a new point straight in.
    for (angle, sharpness, times) in [(90.0, 1.0, 1.0), (45.0, 1.0, 1.414), (30.0, 1.0, 2.0), (90.0, 0.5, 2.0)] {
        let mut attempt = begin();
        let needle = attempt.world.needle.as_mut().expect("there is a needle");
        needle.sharpness = sharpness;
        let (radius, angle) = (needle.radius, f64::to_radians(angle));
        let pose = |way: f64| {
            let forward = DVec3::new(0.0, -cos(angle), -sin(angle));
            aimed(radius, DVec3::new(0.0, 5.0, 0.0) + forward * way, angle)
        };
        let forward = pose(1.0).direction(DVec3::NEG_Y);
        (0..120).for_each(|_| attempt.tick(&lead(&attempt, &pose(-4.0))));
        // A millimetre a second: what its damper and the thread take is there before the point touches anything.
        let mut pushes = Vec::new();
        let mut before = None;
        for tick in 0..480 {
            attempt.tick(&lead(&attempt, &pose(-1.0 + f64::from(tick) / 60.0)));
            let passage = attempt.world.needle.as_ref().and_then(|needle| needle.passage);
            match passage {
                None if tick > 30 => before = Some(push_of_hand(&attempt, forward)),
                Some(passage) if passage.pierced => break,
                Some(_) => pushes.push(push_of_hand(&attempt, forward)),
                None => {}
            }
        }
        let most = pushes.into_iter().fold(0.0, f64::max) - before.expect("it comes from above");
        // The last tick before it gives moves the point by up to 1/60 mm, 33 mN; the hand gives way aside by as much.
        assert!((most - 600.0 * times).abs() < 0.08 * 600.0 * times, "{angle} rad, sharpness {sharpness}: {most} mN");
    }
}

#[test]
fn a_scenario_that_cannot_begin_says_what_is_allowed() {
    let mut scenario = shipped();
    scenario.thread.material = "wire".to_owned();
    let message = match Attempt::begin(&scenario) {
        Err(error @ BeginError::Thread { .. }) => error.to_string(),
        _ => String::new(),
    };
    assert!(message.contains("`wire`") && message.contains("chromic gut"), "{message}");
    let mut scenario = shipped();
    scenario.needle.length_mm = 8.0;
    assert!(matches!(Attempt::begin(&scenario), Err(BeginError::Needle { .. })));
}
