//! The membrane under the flaps, and numbers that are refused.

use knotwright::math::DVec2;
use knotwright::tissue::{BiteSpec, Membrane, Side};

use super::{flaps_with, hold, toward_wound};

#[test]
fn the_membrane_is_covered_more_as_the_flaps_come_forward() {
    let (mut flaps, bites) = flaps_with(6.0, &[(Side::Cheek, 0.0, 2.5)]);
    let mut membrane = Membrane::new(DVec2::ZERO, DVec2::new(8.0, 11.0));
    let rest = membrane.least_overlap_mm(&flaps);
    assert_eq!((rest.cheek_mm, rest.tongue_mm), (2.5, 2.5));
    hold(&mut flaps, &[toward_wound(bites[0], 200.0)], 0.1);
    let drawn = membrane.least_overlap_mm(&flaps);
    assert!(drawn.cheek_mm > 2.6 && drawn.tongue_mm == 2.5, "{drawn:?}");
    hold(&mut flaps, &[toward_wound(bites[0], -800.0)], 0.1);
    let retracted = membrane.least_overlap_mm(&flaps);
    assert!(retracted.least_mm() < 0.0 && retracted.tongue_mm == 2.5, "bare: {retracted:?}");
    hold(&mut flaps, &[], 0.1);
    membrane.slide(DVec2::new(0.0, 1.0));
    let slid = membrane.least_overlap_mm(&flaps);
    assert_eq!((slid.cheek_mm, slid.tongue_mm), (3.5, 1.5));
    assert!(!membrane.pierce(DVec2::new(0.0, 7.0)) && !membrane.is_pierced());
    assert!(membrane.pierce(DVec2::new(3.0, -4.0)) && membrane.is_pierced());
}

#[test]
fn a_bite_out_of_range_is_refused_with_every_number_named() {
    let (mut flaps, _) = flaps_with(6.0, &[]);
    let spec = BiteSpec { side: Side::Cheek, x_mm: 12.0, edge_distance_mm: f64::NAN, thread_diameter_mm: 0.15 };
    let problems: Vec<String> =
        flaps.add_bite(spec).expect_err("out of range").iter().map(ToString::to_string).collect();
    assert_eq!(
        problems,
        [
            "`bite.x_mm` is 12 mm, but must be between -9 and 9 mm",
            "`bite.edge_distance_mm` is NaN mm, but must be between 0.3 and 8.5 mm",
        ]
    );
}
