//! Loads on the flaps: what pales, what moves, where edges meet.

use knotwright::math::{DVec2, DVec3, ln};
use knotwright::quantity::TICK_MS;
use knotwright::tissue::perfusion::{ONSET_PRESSURE, PALE_PRESSURE, Perfusion, PerfusionSettings};
use knotwright::tissue::tearing::Tear;
use knotwright::tissue::{HoleLoad, Side, SurfaceLoad, TickLoads};

use super::{assert_near, flaps_with, hold, limit, refill_s, toward_wound};

#[test]
fn without_load_nothing_moves_and_nothing_pales() {
    let (mut flaps, bites) = flaps_with(6.0, &[(Side::Cheek, 0.0, 2.5), (Side::Tongue, 0.0, 2.5)]);
    hold(&mut flaps, &[], 5.0);
    assert_eq!(flaps.blanched_area_mm2(), 0.0);
    assert_eq!(flaps.blanched_mm2_s(), 0.0);
    assert!(bites.iter().all(|bite| flaps.hole_displacement(*bite) == DVec3::ZERO));
    assert!(flaps.gap_profile().iter().all(|station| station.gap_mm() == 6.0));
    let points = flaps.flap(Side::Cheek).surface_points();
    assert_eq!(points.len(), 17 * 9);
    assert!(points.iter().all(|point| point.blanch == 0.0 && point.redness == 0.0 && point.position.z == 0.0));
}

/// Blanched area [mm^2] after 5 s of loop tension `tension_mn`; each hole is pulled with twice the loop's tension.
fn blanched_by(tension_mn: f64, gap_mm: f64, x: f64) -> f64 {
    let (mut flaps, bites) = flaps_with(gap_mm, &[(Side::Cheek, x, 2.5), (Side::Tongue, x, 2.5)]);
    let holes: Vec<_> = bites.iter().map(|bite| toward_wound(*bite, 2.0 * tension_mn)).collect();
    hold(&mut flaps, &holes, 5.0);
    flaps.blanched_area_mm2()
}

#[test]
fn more_tension_pales_more_gum() {
    // 0.1 N is where published wound closures begin to fail (Burkhardt & Lang 2010, Clin Oral Implants Res 21:50).
    for gap_mm in [0.0, 6.0, 20.0] {
        let areas = [0.0, 20.0, 50.0, 100.0, 200.0, 400.0, 700.0, 1000.0].map(|mn| blanched_by(mn, gap_mm, 0.0));
        assert!(areas.is_sorted(), "gap {gap_mm}: {areas:?}");
        assert!(areas[2] < 1.0 && areas[7] > 50.0, "0.05 N leaves the gum rosy, 1 N does not: {areas:?}");
    }
}

#[test]
fn the_blanched_area_does_not_depend_on_where_the_grid_lies() {
    for (tension_mn, gap_mm) in [(400.0, 6.0), (700.0, 6.0), (200.0, 0.0)] {
        let areas = [0.0, 0.1, 0.25, 0.4, 0.7, 1.0].map(|x| blanched_by(tension_mn, gap_mm, x));
        let mean = areas.iter().sum::<f64>() / areas.len() as f64;
        for area in areas {
            // The patch's border is placed to a few hundredths of a spot (0.31 mm); 3 % is a fortieth of a mm.
            assert_near(area, mean, 0.03 * mean, "blanched area [mm^2]");
        }
    }
}

/// Sum of pressure over area [mN], pale area and counted area [mm^2] at a hole pinched by 500 mN for 10 s.
fn pinched(x: f64, edge_distance: f64) -> [f64; 3] {
    let (mut flaps, bites) = flaps_with(6.0, &[(Side::Cheek, x, edge_distance)]);
    let pinch = HoleLoad { bite: bites[0], force: DVec3::ZERO, pressing_mn: 500.0 };
    hold(&mut flaps, &[pinch], 10.0);
    let blood = flaps.flap(Side::Cheek).blood();
    let spot = blood.spots().spacing().x * blood.spots().spacing().y;
    [blood.pressure().iter().sum::<f64>() * spot, blood.pale_area(), blood.blanched_area()]
}

#[test]
fn the_halo_of_a_pinch_does_not_depend_on_where_the_grid_lies() {
    // The disc where F/(6 pi s^2) exp(-r^2/2s^2), s = 0.3 mm, is above the half-way pressure.
    let peak = 500.0 / (6.0 * std::f64::consts::PI * 0.09);
    let disc = std::f64::consts::TAU * 0.09 * ln(peak / (0.5 * (ONSET_PRESSURE + PALE_PRESSURE)));
    let places = [(0.0, 2.5), (0.08, 2.55), (0.15, 2.65), (0.31, 2.71), (-3.17, 3.03), (5.0, 1.66)];
    let found = places.map(|(x, edge_distance)| pinched(x, edge_distance));
    for [sum, pale, counted] in found {
        // The kernel's own integral is a third of the force; a grid of its own width sums a Gaussian to 1e-6.
        assert_near(sum, 500.0 / 3.0, 1e-3, "pressure over area [mN]");
        // The disc is only five spots across and its border narrower than a spot; this area is drawn, but not counted.
        assert_near(pale, disc, 0.15 * disc, "pale area at a hole [mm^2]");
        assert!(counted < 0.01, "all of it lies in the disc that is not counted, but {counted} mm^2");
    }
}

#[test]
fn what_lies_on_a_flap_pales_it_there_and_only_there() {
    // The disc where F/(6 pi s^2) exp(-r^2/2s^2), s = 0.5 mm, is above the half-way pressure.
    let half_way = 0.5 * (ONSET_PRESSURE + PALE_PRESSURE);
    let disc = std::f64::consts::TAU * 0.25 * ln(500.0 / (6.0 * std::f64::consts::PI * 0.25) / half_way);
    for (x, y) in [(-4.0, 8.0), (-4.1, 8.0), (0.15, 8.15), (0.04, 7.06), (3.33, 6.9), (2.9, 7.33)] {
        let (mut flaps, _) = flaps_with(6.0, &[]);
        let press = SurfaceLoad { point: DVec3::new(x, y, 0.0), force_mn: 500.0 };
        for _ in 0..600 {
            flaps.update(&TickLoads { holes: &[], presses: &[press] }, TICK_MS);
        }
        // The disc is six spots across and its border about as wide as a spot.
        assert_near(flaps.blanched_area_mm2(), disc, 0.05 * disc, "pale area [mm^2]");
        assert_eq!(flaps.flap(Side::Tongue).blood().blanched_area(), 0.0);
        let (area, middle) = flaps.flap(Side::Cheek).blood().pale_middle().expect("it is pale");
        assert_near(area, flaps.blanched_area_mm2(), 1e-12, "pale area [mm^2]");
        // Half of the gap of 6 mm lies between the wound's line and the edge; a spot is 0.31 mm.
        assert!((middle - DVec2::new(x, y - 3.0)).length() < 0.1, "pressed at {x}, {y}, pale about {middle}");
        let points = flaps.flap(Side::Cheek).surface_points();
        let palest = points.iter().max_by(|a, b| a.blanch.total_cmp(&b.blanch)).expect("points").position;
        assert!(palest.distance(press.point) < 1.25, "pressed at {}, palest at {palest}", press.point);
    }
}

#[test]
fn blanch_and_redness_stay_between_0_and_1() {
    let (mut flaps, bites) = flaps_with(2.0, &[(Side::Cheek, 0.0, 2.5), (Side::Tongue, 0.0, 2.5)]);
    let presses = [SurfaceLoad { point: DVec3::new(0.0, 6.0, 0.0), force_mn: 20_000.0 }];
    for second in 0..40 {
        let force = if second % 4 < 2 { 3000.0 } else { 0.0 };
        let holes: Vec<_> = bites.iter().map(|bite| toward_wound(*bite, force)).collect();
        for tick_ms in [1.0, TICK_MS, 982.0] {
            flaps.update(&TickLoads { holes: &holes, presses: &presses }, tick_ms);
            for spot in flaps.flap(Side::Cheek).blood().perfusion() {
                assert!(
                    (0.0..=1.0).contains(&spot.blanch) && (0.0..=1.0).contains(&spot.visible_redness()),
                    "{spot:?}"
                );
            }
        }
    }
}

/// Pale area over time after 2 s of growing tension and 2 s of rest, at `rate` ticks a second.
fn paling_history(rate: u32) -> f64 {
    let (mut flaps, bites) = flaps_with(6.0, &[(Side::Cheek, 0.0, 2.5), (Side::Tongue, 0.0, 2.5)]);
    for tick in 1..=4 * rate {
        let time = f64::from(tick) / f64::from(rate);
        let force = if time < 2.0 { 1000.0 * time } else { 0.0 };
        let holes: Vec<_> = bites.iter().map(|bite| toward_wound(*bite, force)).collect();
        flaps.update(&TickLoads { holes: &holes, presses: &[] }, 1000.0 / f64::from(rate));
    }
    flaps.blanched_mm2_s()
}

#[test]
fn the_length_of_a_tick_does_not_matter() {
    let (coarse, fine) = (paling_history(60), paling_history(120));
    assert_near(coarse / fine, 1.0, 0.01, "pale area over time at 60 over 120 ticks a second");
    let torn = [60_u32, 120].map(|rate| {
        let mut tear = Tear::default();
        for _ in 0..rate {
            tear.step(9000.0, 2.5, &limit(0.7, 0.15), 1000.0 / f64::from(rate));
        }
        tear.advance()
    });
    assert_near(torn[0] / torn[1], 1.0, 0.01, "torn length at 60 over 120 ticks a second");
    assert!(torn[0] > 0.5, "a slit should have grown, found {torn:?} mm");
}

#[test]
fn refill_is_slower_and_redder_after_a_long_press() {
    // Direction: Akazawa & Sakurai 2002, J Oral Rehabil: refill time grows with the length of the load, 5 to 60 s.
    let refills = [1.0, 5.0, 20.0, 60.0].map(refill_s);
    assert!(refills.is_sorted() && refills[3] > 2.0 * refills[0], "{refills:?}");
    let redness = [2, 60].map(|press_s| {
        let (mut spot, settings) = (Perfusion::default(), PerfusionSettings::default());
        spot.step(2.0 * PALE_PRESSURE, &settings, 5.0);
        for _ in 0..press_s * 60 {
            spot.step(2.0 * PALE_PRESSURE, &settings, 1.0 / 60.0);
        }
        (0..240)
            .map(|_| {
                spot.step(0.0, &settings, 1.0 / 60.0);
                spot.visible_redness()
            })
            .fold(0.0, f64::max)
    });
    assert!(redness[0] < 0.1 && redness[1] > 0.3, "after 2 s and 60 s: {redness:?}");
}

#[test]
fn a_lifted_bite_leaves_a_step_between_the_edges_and_a_level_pull_does_not() {
    for (side, sign) in [(Side::Cheek, 1.0), (Side::Tongue, -1.0)] {
        let (mut flaps, bites) = flaps_with(6.0, &[(side, 0.0, 2.5)]);
        let middle = |flaps: &knotwright::tissue::Flaps| {
            let profile = flaps.gap_profile();
            let ends = [profile[0].step_mm, profile[profile.len() - 1].step_mm];
            assert!(ends.iter().all(|step| step.abs() < 0.05), "far from the bite the edges are level: {ends:?}");
            profile[profile.len() / 2].step_mm
        };
        hold(&mut flaps, &[toward_wound(bites[0], 200.0)], 0.1);
        assert_eq!(middle(&flaps), 0.0);
        let lift = HoleLoad { bite: bites[0], force: DVec3::Z * 60.0, pressing_mn: 0.0 };
        hold(&mut flaps, &[lift], 0.1);
        let height = flaps.hole_displacement(bites[0]).z;
        let step = sign * middle(&flaps);
        assert!(step > 0.2 * height && step < height, "the hole stands {height} mm high, the step is {step} mm");
    }
}

#[test]
fn edges_that_are_drawn_together_meet_and_do_not_cross() {
    for tension_mn in [100.0, 300.0, 1000.0, 2000.0] {
        let (mut flaps, bites) = flaps_with(3.0, &[(Side::Cheek, 0.0, 2.5), (Side::Tongue, 0.0, 2.5)]);
        let holes: Vec<_> = bites.iter().map(|bite| toward_wound(*bite, 2.0 * tension_mn)).collect();
        hold(&mut flaps, &holes, 0.1);
        let moved = bites.iter().map(|bite| flaps.hole_displacement(*bite)).collect::<Vec<_>>();
        let contact = flaps.edge_contact(&flaps.edge_pairs()[0], moved[0], moved[1]);
        // A dent of rim tissue only: 5 MPa gives below 0.4 mm/N for each edge.
        assert!(contact.gap > -0.0004 * 2.0 * tension_mn, "{tension_mn} mN: gap {}", contact.gap);
        assert_eq!(contact.force > 0.0, contact.gap < 0.0);
        // Closing takes k g/4 of loop tension, k = 0.21 N/mm: 0.16 N for 3 mm.
        assert_eq!(contact.gap < 0.0, tension_mn > 160.0, "{tension_mn} mN: gap {}", contact.gap);
    }
}

#[test]
fn the_two_flaps_are_mirror_images() {
    let (mut flaps, bites) = flaps_with(6.0, &[(Side::Cheek, 1.7, 2.3), (Side::Tongue, 1.7, 2.3)]);
    let holes: Vec<_> = bites.iter().map(|bite| toward_wound(*bite, 300.0)).collect();
    hold(&mut flaps, &holes, 1.0);
    let [cheek, tongue] = Side::BOTH.map(|side| flaps.flap(side).surface_points());
    for (far, near) in cheek.iter().zip(&tongue) {
        assert_eq!(far.position * DVec3::new(1.0, -1.0, 1.0), near.position);
        assert_eq!(far.blanch, near.blanch);
    }
}

#[test]
fn the_same_loads_give_the_same_bits() {
    let run = || {
        let (mut flaps, bites) = flaps_with(1.0, &[(Side::Cheek, 0.3, 2.5), (Side::Tongue, 0.1, 2.2)]);
        let holes: Vec<_> = bites.iter().map(|bite| toward_wound(*bite, 777.0)).collect();
        hold(&mut flaps, &holes, 1.0);
        let blood: Vec<u64> = flaps.flap(Side::Tongue).blood().perfusion().iter().map(|s| s.blanch.to_bits()).collect();
        (flaps.blanched_mm2_s().to_bits(), blood)
    };
    assert_eq!(run(), run());
}
