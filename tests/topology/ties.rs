//! Knots tied in the simulation, as tables of points: what another program makes of them, and flat from sliding.

use knotwright::analysis::centrelines::parse;
use knotwright::analysis::reading::{Form, StitchCurve, read};

/// A simulated tie and what is known of it.
struct Tie {
    name: &'static str,
    notation: &'static str,
    form: Form,
    alexander: &'static [i64],
    signature: i32,
}

/// Polynomials and signatures: SnapPy 3.3.2, `Link.knot_floer_homology` of each table closed from 25 sides, the result of
/// most of them. The polynomial is the Euler characteristic of its ranks (Ozsvath and Szabo 2004, Adv. Math. 186, 58-116),
/// and -2 tau is the signature of an alternating knot (Ozsvath and Szabo 2003, Geom. Topol. 7, 615-639), as all of these are.
///
/// The first seven were written by `knotwright tie NOTATION [--sliding] --size 4-0`, in nylon the one that slides with
/// three throws and in silk the others. The last two lie on the gum: one drawn down on its hole, and one whose limbs pass the
/// second and the third throw in different orders, so that the winding has to say which came first.
const TIES: &[Tie] = &[
    Tie { name: "square_flat", notation: "1=1", form: Form::Flat, alexander: &[1, -2, 3, -2, 1], signature: 0 },
    Tie { name: "square_sliding", notation: "1=1", form: Form::Sliding, alexander: &[1, -2, 3, -2, 1], signature: 0 },
    Tie { name: "granny_flat", notation: "1x1", form: Form::Flat, alexander: &[1, -2, 3, -2, 1], signature: 4 },
    Tie { name: "granny_sliding", notation: "1x1", form: Form::Sliding, alexander: &[1, -2, 3, -2, 1], signature: 4 },
    Tie { name: "three_flat", notation: "1=1=1", form: Form::Flat, alexander: &[1, -3, 6, -7, 6, -3, 1], signature: 2 },
    Tie {
        name: "three_sliding",
        notation: "1=1=1",
        form: Form::Sliding,
        alexander: &[1, -3, 6, -7, 6, -3, 1],
        signature: 2,
    },
    Tie {
        name: "double_first_flat",
        notation: "2=1",
        form: Form::Flat,
        alexander: &[1, -2, 3, -3, 3, -2, 1],
        signature: 2,
    },
    Tie {
        name: "on_its_hole",
        notation: "2=1=1",
        form: Form::Flat,
        alexander: &[1, -3, 6, -8, 9, -8, 6, -3, 1],
        signature: -4,
    },
    Tie {
        name: "orders_differ",
        notation: "2=1=1",
        form: Form::Flat,
        alexander: &[1, -3, 6, -8, 9, -8, 6, -3, 1],
        signature: -4,
    },
];

#[test]
fn simulated_ties_are_the_knots_that_another_program_finds_and_lie_as_they_were_tied() {
    for tie in TIES {
        let path = format!("tests/topology/ties/{}.csv", tie.name);
        let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
        let strand = parse(&path, &text).unwrap_or_else(|faults| panic!("{faults}")).remove(0);
        let (loop_start, loop_end) = strand.holes.expect("the table marks the holes");
        let reading = read(&StitchCurve { points: strand.points, loop_start, loop_end });
        assert_eq!((&*reading.alexander, reading.signature), (tie.alexander, Some(tie.signature)), "{}", tie.name);
        assert!(reading.clear, "{}: {:?}", tie.name, reading.reason);
        assert_eq!(reading.notation, tie.notation, "{}", tie.name);
        assert_eq!(reading.form, Some(tie.form), "{}: asymmetry {}", tie.name, reading.curvature_asymmetry);
    }
}
