//! The energies that the thread's solver sees: slopes, curvatures, and their balance with the update.

use knotwright::math::{DMat3, DVec3};
use knotwright::tissue::lift::{Lift, LiftSettings};
use knotwright::tissue::{BiteId, Side};

use super::{assert_near, flaps_with, hold, toward_wound};

/// Central differences of `energy` and of its gradient about `at` must give its gradient and Hessian.
fn check_derivatives(at: DVec3, value: impl Fn(DVec3) -> (f64, DVec3, DMat3)) {
    const STEP: f64 = 1e-5;
    let (_, gradient, hessian) = value(at);
    for axis in 0..3 {
        let mut step = DVec3::ZERO;
        step[axis] = STEP;
        let (above, below) = (value(at + step), value(at - step));
        let slope = (above.0 - below.0) / (2.0 * STEP);
        // The step's own error is about step^2 times the third derivative, and rounding 1e-16 of the energy over it.
        assert_near(gradient[axis], slope, 1e-5 * (1.0 + slope.abs()), "gradient");
        let column = (above.1 - below.1) / (2.0 * STEP);
        assert!((hessian.col(axis) - column).length() < 1e-4 * (1.0 + column.length()), "{hessian} against {column}");
    }
}

const DISPLACEMENTS: [DVec3; 5] = [
    DVec3::new(0.1, -0.2, 0.3),
    DVec3::new(-1.0, -3.0, 5.0),
    DVec3::new(0.0, 0.4, -0.05),
    DVec3::new(2.0, 1.0, -0.3),
    DVec3::new(0.0, -0.01, 0.02),
];

#[test]
fn the_force_on_a_bite_is_the_slope_of_its_energy() {
    let (flaps, bites) =
        flaps_with(6.0, &[(Side::Cheek, 4.0, 2.5), (Side::Cheek, 0.0, 2.0), (Side::Tongue, -7.0, 3.0)]);
    for bite in bites {
        for at in DISPLACEMENTS {
            check_derivatives(at, |u| {
                let value = flaps.bite_energy(bite, u);
                (value.energy, value.gradient, value.hessian)
            });
        }
    }
}

#[test]
fn the_force_between_edges_is_the_slope_of_its_energy() {
    let (flaps, _) = flaps_with(1.0, &[(Side::Cheek, 1.0, 2.5), (Side::Tongue, 2.0, 2.0)]);
    let [pair] = flaps.edge_pairs() else { panic!("one pair") };
    for (cheek, tongue) in [(-0.2, 0.3), (-0.6, 0.6), (-1.5, 0.2)] {
        let tongue = DVec3::new(0.1, tongue, 0.0);
        let cheek = DVec3::new(0.0, cheek, 0.0);
        check_derivatives(cheek, |u| {
            let value = flaps.edge_contact(pair, u, tongue);
            (value.energy, value.gradient[0], value.hessian[0][0])
        });
        check_derivatives(tongue, |u| {
            let value = flaps.edge_contact(pair, cheek, u);
            (value.energy, value.gradient[1], value.hessian[1][1])
        });
    }
    assert_eq!(flaps.edge_contact(pair, DVec3::ZERO, DVec3::ZERO).force, 0.0, "no force across an open gap");
}

#[test]
fn the_hessian_of_a_bite_is_symmetric_and_positive_definite() {
    let (flaps, bites) = flaps_with(6.0, &[(Side::Cheek, 8.0, 1.0), (Side::Cheek, 5.0, 2.5), (Side::Tongue, 0.0, 2.5)]);
    for bite in bites {
        for at in DISPLACEMENTS {
            let hessian = flaps.bite_energy(bite, at).hessian;
            assert_eq!(hessian, hessian.transpose());
            let (x, y) = (hessian.x_axis, hessian.y_axis);
            let minors = [x.x, x.x * y.y - x.y * y.x, hessian.determinant()];
            assert!(minors.iter().all(|minor| *minor > 0.0), "leading minors {minors:?}");
        }
    }
}

#[test]
fn where_the_update_puts_the_bites_the_energies_balance_the_pull() {
    // Two stitches over a narrow gap: both pairs of edges meet, and bites of one flap feel each other.
    let places =
        [(Side::Cheek, -2.0, 2.5), (Side::Cheek, 3.0, 2.0), (Side::Tongue, -2.5, 3.0), (Side::Tongue, 3.0, 2.5)];
    let (mut flaps, bites) = flaps_with(2.0, &places);
    let pulls = [400.0, 300.0, 400.0, 300.0];
    let mut holes: Vec<_> = bites.iter().zip(pulls).map(|(bite, pull)| toward_wound(*bite, pull)).collect();
    holes[1].force += DVec3::new(15.0, 0.0, 40.0);
    hold(&mut flaps, &holes, 0.1);
    let moved: Vec<DVec3> = bites.iter().map(|bite| flaps.hole_displacement(*bite)).collect();
    let at = |id: BiteId| bites.iter().position(|bite| *bite == id).expect("a known bite");
    let mut forces: Vec<DVec3> =
        bites.iter().zip(&moved).map(|(bite, u)| flaps.bite_energy(*bite, *u).gradient).collect();
    for coupling in flaps.couplings() {
        let (a, b) = (at(coupling.a), at(coupling.b));
        forces[a] += coupling.stiffness * moved[b];
        forces[b] += coupling.stiffness.transpose() * moved[a];
    }
    let mut least_press = f64::INFINITY;
    for pair in flaps.edge_pairs() {
        let (a, b) = (at(pair.cheek), at(pair.tongue));
        let contact = flaps.edge_contact(pair, moved[a], moved[b]);
        forces[a] += contact.gradient[0];
        forces[b] += contact.gradient[1];
        least_press = least_press.min(contact.force);
    }
    assert!(flaps.edge_pairs().len() == 2 && least_press > 20.0, "both edges should press, found {least_press} mN");
    for (force, load) in forces.iter().zip(&holes) {
        // Rounding over the stiffness of the edges, some 4 N/mm.
        assert!((*force - load.force).length() < 1e-6, "{force} mN against {} mN", load.force);
    }
}

#[test]
fn a_lifted_bite_rises_to_where_its_spring_balances() {
    let lift = Lift::new(&LiftSettings::default(), 1.4);
    // Large-strain elements of the same flap gave these heights (estimate); the cubic was fitted to within 8 % of
    // force.
    for (force, height) in [(10.0, 0.67), (120.0, 3.33), (300.0, 5.16)] {
        let [_, balanced, _] = lift.at(lift.height(force));
        assert_near(balanced, force, 1e-9 * force, "force at the height found");
        assert_near(lift.at(height)[1], force, 0.08 * force, "force at the height expected");
    }
    assert_near(lift.height(-100.0), -0.05, 1e-12, "sinking on graft and bone");
}
