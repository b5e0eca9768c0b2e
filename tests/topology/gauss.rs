//! Gauss integral, writhe and winding against known values.

use core::f64::consts::PI;

use knotwright::math::{DVec3, atan2, cos, sin};
use knotwright::topology::{GaussTable, gauss_between, winding_about_axis, writhe};

fn circle(centre: DVec3, right: DVec3, up: DVec3, count: u32) -> Vec<DVec3> {
    (0..=count)
        .map(|sample| {
            let phase = 2.0 * PI * f64::from(sample % count) / f64::from(count);
            centre + cos(phase) * right + sin(phase) * up
        })
        .collect()
}

#[test]
fn linked_circles_have_gauss_integral_1_and_unlinked_ones_0() {
    // Gauss's theorem: between closed curves the integral is their linking number.
    let flat = circle(DVec3::ZERO, DVec3::X, DVec3::Y, 60);
    // The upright circle crosses the flat one's disc at (0, 0, 0), where it runs toward -z: linking number -1.
    let linked = circle(DVec3::X, DVec3::X, DVec3::Z, 60);
    let unlinked = circle(3.0 * DVec3::X, DVec3::X, DVec3::Z, 60);
    let backwards: Vec<DVec3> = linked.iter().rev().copied().collect();
    // Exact for polygons; the tolerance is rounding.
    assert!((gauss_between(&flat, &linked) + 1.0).abs() < 1e-12);
    assert!((gauss_between(&flat, &backwards) - 1.0).abs() < 1e-12);
    assert!(gauss_between(&flat, &unlinked).abs() < 1e-12);
}

#[test]
fn perpendicular_segments_have_the_gauss_integral_of_their_solid_angle() {
    // Half length L, crossing at mid-points at distance d: (1/pi) arctan(L^2 / (d sqrt(d^2 + 2 L^2))), the solid angle
    // of a square of side 2 L at height d over 4 pi; L/d = 1 is a cube's face, 1/6.
    // (rounding is all that differs).
    for half_length in [1.0, 2.0, 10.0] {
        let area: f64 = half_length * half_length;
        let expected = atan2(area, (1.0 + 2.0 * area).sqrt()) / PI;
        let below = [-half_length * DVec3::X, half_length * DVec3::X];
        let above = [-half_length * DVec3::Y + DVec3::Z, half_length * DVec3::Y + DVec3::Z];
        let found = gauss_between(&above, &below);
        // The upper strand (+y) turns clockwise into the lower one (+x): left-handed.
        assert!((found + expected).abs() < 1e-12, "L/d = {half_length}: {found}");
        let split = [below[0], -0.3 * DVec3::X, below[1]];
        assert!((gauss_between(&above, &split) - found).abs() < 1e-12, "a point more on the line changes nothing");
    }
}

#[test]
fn polylines_wind_where_they_pass_each_other() {
    // The solid angle of a rectangle from above its middle: between perpendicular lines at distance 1, half lengths s and
    // L, the Gauss integral goes as arctan(s L / sqrt(s^2 + L^2 + 1)). A tenth is left out at either end, so the stretch
    // from -s to s has four fifths of it.
    const HALF_LENGTH: f64 = 20.0;
    const STEP: f64 = 0.1;
    let line = |along: DVec3, from: DVec3| -> Vec<DVec3> {
        (-200..=200).map(|step| from + STEP * f64::from(step) * along).collect()
    };
    let (below, above) = (line(DVec3::X, DVec3::ZERO), line(DVec3::Y, DVec3::Z));
    let turns = |s: f64| atan2(s * HALF_LENGTH, (s * s + HALF_LENGTH * HALF_LENGTH + 1.0).sqrt());
    let wound = GaussTable::new(&below, &above).wound(0.1).expect("they wind");
    for (from, to) in [wound.on_a, wound.on_b] {
        let (from, to) = (STEP * from - HALF_LENGTH, STEP * to - HALF_LENGTH);
        assert!((from + to).abs() < 1e-9, "{from} to {to} is no middle part");
        let share = turns(to) / turns(HALF_LENGTH);
        // Within a segment the share is taken as even: its change of slope there is below 1e-4.
        assert!((share - 0.8).abs() < 1e-4, "{from} to {to} has a share of {share}");
    }
    assert!(wound.centre.distance(0.5 * DVec3::Z) < 1e-9, "half way between: {}", wound.centre);
    assert_eq!(GaussTable::new(&below, &line(DVec3::Y, DVec3::ZERO)[..1]).wound(0.1), None, "a point does not wind");
}

#[test]
fn segments_that_touch_or_lie_in_a_plane_have_no_gauss_integral() {
    let first = [DVec3::ZERO, DVec3::X];
    for second in
        [[DVec3::X, DVec3::new(2.0, 1.0, 0.0)], [DVec3::Y, DVec3::new(1.0, 1.0, 0.0)], [DVec3::X, DVec3::ZERO]]
    {
        assert!(gauss_between(&first, &second).abs() < 1e-15);
    }
    assert!(gauss_between(&first, &[DVec3::Z]).abs() < 1e-15, "one point is no curve");
    // Places whose differences are rounded.
    let [a, b, c] = [DVec3::new(0.1, -0.7, 1.3), DVec3::new(0.43, 0.21, -0.9), DVec3::new(-1.7, 0.33, 0.61)];
    for second in [[b, c], [c, b], [a, c], [c, a]] {
        assert!(gauss_between(&[a, b], &second).abs() < 1e-15, "{second:?}");
    }
}

#[test]
fn each_turn_of_a_long_helix_has_the_writhe_of_its_pitch() {
    // Fuller 1971, PNAS 68, 815-819: 1 - sin(pitch angle) a turn. Ends cancel between 12 and 6 turns.
    let helix = |angle: f64, turns: u32| -> Vec<DVec3> {
        let rise = sin(angle) / cos(angle);
        (0..=60 * turns)
            .map(|sample| {
                let phase = 2.0 * PI * f64::from(sample) / 60.0;
                DVec3::new(cos(phase), sin(phase), rise * phase)
            })
            .collect()
    };
    for (degrees, expected) in [(30.0, 0.5), (45.0, 0.292_893), (60.0, 0.133_975)] {
        let angle: f64 = degrees * PI / 180.0;
        let a_turn = (writhe(&helix(angle, 12)) - writhe(&helix(angle, 6))) / 6.0;
        // End effects left over at 6 turns and the polygon's own pitch: below 2e-3.
        assert!((a_turn - expected).abs() < 2e-3, "{degrees} degrees: {a_turn}");
    }
    assert!(writhe(&circle(DVec3::ZERO, DVec3::X, DVec3::Y, 40)).abs() < 1e-12, "a plane curve has none");
}

#[test]
fn winding_counts_signed_turns_within_the_axial_limits() {
    let helix: Vec<DVec3> = (0..=400)
        .map(|sample| {
            let phase = 2.0 * PI * f64::from(sample) / 100.0;
            DVec3::new(1.0 + 0.2 * cos(phase), -2.0 + 0.2 * sin(phase), f64::from(sample) / 100.0)
        })
        .collect();
    let axis = DVec3::new(1.0, -2.0, 0.0);
    let turns = |direction: DVec3, low: f64, high: f64| winding_about_axis(&helix, axis, direction, low, high);
    // One turn a millimetre of rise, by construction; the tolerance is rounding.
    assert!((turns(DVec3::Z, -1.0, 9.0) - 4.0).abs() < 1e-9);
    assert!((turns(2.0 * DVec3::Z, 1.0, 2.5) - 1.5).abs() < 1e-9);
    assert!(
        (turns(-DVec3::Z, -4.0, 0.0) + 4.0).abs() < 1e-9,
        "along the reversed axis a right-handed helix goes backwards"
    );
    assert!(
        winding_about_axis(&helix, DVec3::ZERO, DVec3::Z, -1.0, 9.0).abs() < 0.01,
        "about another line there is none"
    );
}

#[test]
fn the_table_of_first_parts_agrees_with_the_integrals_themselves() {
    let flat = circle(DVec3::ZERO, DVec3::X, DVec3::Y, 14);
    let linked = circle(DVec3::X, DVec3::X, DVec3::Z, 11);
    let table = GaussTable::new(&flat, &linked);
    let lead = DVec3::new(3.0, -50.0, 20.0);
    let (a_counts, b_counts) = ([0, 5, 14], [0, 3, 7, 11]);
    let mut led = table.led_on(&a_counts, &b_counts, lead);
    for (row, column) in (0..a_counts.len()).flat_map(|row| (0..b_counts.len()).map(move |column| (row, column))) {
        let (i, j) = (a_counts[row], b_counts[column]);
        let led_on = |points: &[DVec3]| -> Vec<DVec3> {
            points.iter().copied().chain([points[points.len() - 1] + lead]).collect()
        };
        let expected = gauss_between(&led_on(&flat[..=i]), &led_on(&linked[..=j]));
        assert!((led.turns(row, column) - expected).abs() < 1e-12, "{i} and {j} segments");
    }
}
