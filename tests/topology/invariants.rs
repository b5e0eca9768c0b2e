//! Determinant, Alexander polynomial and signature against published tables.

use core::f64::consts::PI;

use knotwright::math::{DVec3, cos, sin};
use knotwright::topology::closure::{Directions, identify_closed, identify_open};
use knotwright::topology::{Diagram, HalfKnot, Invariants, Shadow, alexander, catalogue};

use super::stacks::{Layout, flat_stack, throws_of};

/// A closed curve from its formula, as a polyline.
fn ring(count: u32, point: impl Fn(f64) -> DVec3) -> Vec<DVec3> {
    (0..count).map(|sample| point(2.0 * PI * f64::from(sample) / f64::from(count))).collect()
}

/// T(2, q) on a torus, right-handed for positive `q`.
fn torus_knot(q: i32) -> Vec<DVec3> {
    ring(160, |t| {
        let radius = 2.0 + cos(f64::from(q) * t);
        DVec3::new(radius * cos(2.0 * t), radius * sin(2.0 * t), -sin(f64::from(q) * t))
    })
}

fn figure_eight() -> Vec<DVec3> {
    ring(120, |t| {
        let radius = 2.0 + cos(2.0 * t);
        DVec3::new(radius * cos(3.0 * t), radius * sin(3.0 * t), sin(4.0 * t))
    })
}

struct Case {
    name: &'static str,
    points: Vec<DVec3>,
    alexander: Vec<i64>,
    determinant: i64,
    signature: i32,
}

/// Source of all rows: Rolfsen 1976, Knots and Links, appendix C (polynomials, determinants); signatures from KnotInfo
/// (Livingston and Moore), with the sign that gives the right-handed trefoil -2.
fn table() -> Vec<Case> {
    let case = |name, points, alexander: &[i64], determinant, signature| Case {
        name,
        points,
        alexander: alexander.to_vec(),
        determinant,
        signature,
    };
    vec![
        case("0_1", ring(30, |t| DVec3::new(cos(t), sin(t), 0.3 * sin(3.0 * t))), &[1], 1, 0),
        case("3_1 right-handed", torus_knot(3), &[1, -1, 1], 3, -2),
        case("3_1 left-handed", torus_knot(-3), &[1, -1, 1], 3, 2),
        case("4_1", figure_eight(), &[1, -3, 1], 5, 0),
        case("5_1", torus_knot(5), &[1, -1, 1, -1, 1], 5, -4),
        case("7_1", torus_knot(7), &[1, -1, 1, -1, 1, -1, 1], 7, -6),
        case("9_1 left-handed", torus_knot(-9), &[1, -1, 1, -1, 1, -1, 1, -1, 1], 9, 8),
    ]
}

#[test]
fn known_knots_have_the_tabulated_invariants_from_every_side() {
    for case in table() {
        let wanted =
            Invariants { determinant: case.determinant, alexander: case.alexander.clone(), signature: case.signature };
        let mut closed = case.points.clone();
        closed.push(closed[0]);
        for (number, toward) in Directions::seeded(7).take(50).enumerate() {
            let shadow = Shadow::cast(&closed, toward);
            let plain = shadow.close_over(0.0, shadow.end());
            let before = plain.crossing_count();
            let simplified = plain.clone().simplified();
            assert!(simplified.crossing_count() <= before);
            assert_eq!(Invariants::of(&plain).as_ref(), Some(&wanted), "{}, seed 7, view {number}, plain", case.name);
            assert_eq!(Invariants::of(&simplified).as_ref(), Some(&wanted), "{}, seed 7, view {number}", case.name);
            assert_eq!(
                alexander::fingerprint(&simplified),
                alexander::fingerprint_of(&wanted.alexander),
                "{}, seed 7, view {number}",
                case.name
            );
        }
        assert_eq!(identify_closed(&case.points).as_ref(), Some(&wanted), "{}", case.name);
    }
}

#[test]
fn an_open_curve_is_the_knot_of_most_of_its_closures() {
    // A trefoil cut open where it lies outermost, the ends a little apart.
    let open = &torus_knot(3)[..158];
    let found = identify_open(open, 21, 3).expect("most views agree");
    assert_eq!((found.determinant, found.signature), (3, -2));
    let straight = [DVec3::ZERO, DVec3::X, 3.0 * DVec3::X];
    assert_eq!(identify_open(&straight, 21, 3).map(|found| found.determinant), Some(1));
}

#[test]
fn a_code_that_cannot_be_drawn_in_the_plane_has_no_invariants() {
    // The smallest code without a plane drawing: 1 over, 2 over, 1 under, 2 under (Kauffman 1999, virtual trefoil).
    let visit = |crossing, over| knotwright::topology::diagram::Visit { crossing, over };
    let code = vec![visit(0, true), visit(1, true), visit(0, false), visit(1, false)];
    assert_eq!(Invariants::of(&Diagram::new(code, vec![1, 1])), None);
}

/// Throws, determinant, Alexander coefficients, |signature|: connected sums of T(2, 2n + 1), polynomials multiplied and
/// signatures added (Lickorish 1997, An Introduction to Knot Theory, chapters 6 and 8); confirmed with SnapPy 3.3.2.
#[expect(clippy::type_complexity, reason = "a table of plain values")]
const STACKS: &[(&[(u32, i8)], i64, &[i64], i32)] = &[
    (&[(1, 1)], 3, &[1, -1, 1], 2),
    (&[(2, 1)], 5, &[1, -1, 1, -1, 1], 4),
    (&[(3, 1)], 7, &[1, -1, 1, -1, 1, -1, 1], 6),
    (&[(1, 1), (1, -1)], 9, &[1, -2, 3, -2, 1], 0),
    (&[(1, 1), (1, 1)], 9, &[1, -2, 3, -2, 1], 4),
    (&[(2, 1), (1, -1)], 15, &[1, -2, 3, -3, 3, -2, 1], 2),
    (&[(2, 1), (1, 1)], 15, &[1, -2, 3, -3, 3, -2, 1], 6),
    (&[(2, 1), (2, -1)], 25, &[1, -2, 3, -4, 5, -4, 3, -2, 1], 0),
    (&[(2, 1), (2, 1)], 25, &[1, -2, 3, -4, 5, -4, 3, -2, 1], 8),
    (&[(3, 1), (1, -1)], 21, &[1, -2, 3, -3, 3, -3, 3, -2, 1], 4),
    (&[(3, 1), (1, 1)], 21, &[1, -2, 3, -3, 3, -3, 3, -2, 1], 8),
    (&[(1, 1), (1, -1), (1, 1)], 27, &[1, -3, 6, -7, 6, -3, 1], 2),
    (&[(1, 1), (1, 1), (1, 1)], 27, &[1, -3, 6, -7, 6, -3, 1], 6),
    (&[(2, 1), (1, -1), (1, 1)], 45, &[1, -3, 6, -8, 9, -8, 6, -3, 1], 4),
    (&[(2, 1), (1, 1), (1, -1)], 45, &[1, -3, 6, -8, 9, -8, 6, -3, 1], 4),
    (&[(2, 1), (1, -1), (1, -1)], 45, &[1, -3, 6, -8, 9, -8, 6, -3, 1], 0),
    (&[(2, 1), (1, 1), (1, 1)], 45, &[1, -3, 6, -8, 9, -8, 6, -3, 1], 8),
    (&[(3, 1), (1, -1), (1, 1)], 63, &[1, -3, 6, -8, 9, -9, 9, -8, 6, -3, 1], 6),
    (&[(3, 1), (1, 1), (1, 1)], 63, &[1, -3, 6, -8, 9, -9, 9, -8, 6, -3, 1], 10),
    (&[(3, 1), (1, -1), (1, -1)], 63, &[1, -3, 6, -8, 9, -9, 9, -8, 6, -3, 1], 2),
    (&[(1, 1), (1, -1), (1, 1), (1, -1)], 81, &[1, -4, 10, -16, 19, -16, 10, -4, 1], 0),
    (&[(2, 1), (1, -1), (1, 1), (1, -1)], 135, &[1, -4, 10, -17, 23, -25, 23, -17, 10, -4, 1], 2),
];

#[test]
fn stacks_of_throws_close_to_connected_sums_of_torus_knots() {
    for &(throws, determinant, alexander, signature) in STACKS {
        let half_knots: Vec<HalfKnot> =
            throws.iter().map(|&(wraps, handedness)| HalfKnot { wraps, handedness }).collect();
        let expected = catalogue::expected(&half_knots);
        assert_eq!(expected.determinant, determinant, "{throws:?}");
        assert_eq!(expected.alexander, alexander, "{throws:?}");
        assert_eq!(expected.signature.abs(), signature, "{throws:?}");
        let curve = flat_stack(throws, Layout::LOOSE);
        assert_eq!(identify_open(&curve.points, 9, 5), Some(expected), "{throws:?} drawn as a curve");
    }
}

#[test]
fn a_polynomial_tells_the_wraps_but_not_their_order() {
    for &(throws, _, alexander, _) in STACKS {
        let mut wraps: Vec<u32> = throws.iter().map(|&(wraps, _)| wraps).collect();
        wraps.sort_unstable_by(|a, b| b.cmp(a));
        assert_eq!(catalogue::wraps_of(alexander), Some(wraps), "{throws:?}");
    }
    // Four wraps share a factor with one wrap, and are not mistaken for it.
    assert_eq!(catalogue::wraps_of(&catalogue::alexander_of([4, 1])), Some(vec![4, 1]));
    assert_eq!(catalogue::wraps_of(&[1]), Some(vec![]));
    // 4_1, and 6_1 with the determinant of a square knot (Rolfsen's table).
    assert_eq!(catalogue::wraps_of(&[1, -3, 1]), None);
    assert_eq!(catalogue::wraps_of(&[2, -5, 2]), None);
}

#[test]
fn only_the_signature_tells_square_from_granny() {
    let read = |notation: &str| {
        let curve = flat_stack(&throws_of(notation), Layout::LOOSE);
        identify_open(&curve.points, 9, 5).expect("most views agree")
    };
    let (square, granny) = (read("1=1"), read("1x1"));
    assert_eq!(square.determinant, granny.determinant);
    assert_eq!(square.alexander, granny.alexander);
    // 3_1 # m3_1 and 3_1 # 3_1 (KnotInfo: |signature| of 3_1 is 2; it adds, with sign).
    assert_eq!((square.signature, granny.signature.abs()), (0, 4));
}
