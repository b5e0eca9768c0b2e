//! The elastic sheet by itself: patch test, balance of forces, convergence.

use knotwright::math::DVec2;
use knotwright::tissue::Side;
use knotwright::tissue::grid::Grid;
use knotwright::tissue::sheet::{Sheet, mean_over};

use super::{GUM, cantilever_ratio, flaps_with};

#[test]
fn a_linear_displacement_is_held_by_no_inner_force_and_has_one_stress() {
    // The patch test (Irons; Zienkiewicz & Taylor, volume 1, chapter 10, from memory).
    let grid = Grid::new(DVec2::ZERO, DVec2::new(5.0, 3.0), [7, 5]);
    let sheet = Sheet::new(grid.clone(), GUM, |[column, _]| [column == 0; 2]);
    let moved: Vec<DVec2> = grid
        .nodes()
        .map(|[column, row]| {
            let at = grid.node_position(column, row);
            DVec2::new(0.1 + 0.02 * at.x - 0.03 * at.y, -0.2 + 0.01 * at.x + 0.04 * at.y)
        })
        .collect();
    let forces = sheet.outside_forces(&moved);
    for [column, row] in grid.nodes().filter(|[c, r]| *c > 0 && *c < 7 && *r > 0 && *r < 5) {
        let force = forces[grid.node(column, row)].length();
        assert!(force < 1e-11, "node {column}, {row} needs {force} mN");
    }
    let direct = GUM.modulus / (1.0 - GUM.poisson * GUM.poisson);
    let shear = GUM.modulus / (2.0 * (1.0 + GUM.poisson));
    let expected = [direct * (0.02 + GUM.poisson * 0.04), direct * (0.04 + GUM.poisson * 0.02), shear * (0.01 - 0.03)];
    for point in [DVec2::new(0.3, 0.2), DVec2::new(2.6, 1.4), DVec2::new(4.9, 2.9)] {
        let stress = sheet.stress(&moved, grid.place(point));
        for (found, expected) in [stress.xx, stress.yy, stress.xy].into_iter().zip(expected) {
            assert!((found - expected).abs() < 1e-10, "at {point}: {found} kPa, expected {expected}");
        }
    }
}

#[test]
fn the_support_bears_the_whole_load() {
    let (flaps, _) = flaps_with(6.0, &[]);
    let sheet = flaps.flap(Side::Cheek).sheet();
    let load = DVec2::new(30.0, -200.0);
    let blob = sheet.blob(DVec2::new(1.3, 2.5), 0.5);
    let forces = sheet.outside_forces(&sheet.solve_spread(&blob, load));
    // With nothing but the load and the reactions acting, all forces together vanish.
    let sum = forces.iter().fold(DVec2::ZERO, |sum, force| sum + *force);
    let on_blob = blob.iter().fold(DVec2::ZERO, |sum, (node, _)| sum + forces[*node]);
    assert!(sum.length() < 1e-8, "rest {sum} mN");
    assert!((on_blob - load).length() < 1e-8, "the blob carries {on_blob} mN of {load}");
}

#[test]
fn bending_settles_with_the_square_of_the_spacing() {
    let [coarse, middle, fine] = [4, 8, 16].map(cantilever_ratio);
    let ratio = (middle - coarse) / (fine - middle);
    // Bilinear elements: errors fall fourfold a halving; the singular corners of the clamped end take some of it away.
    assert!(ratio > 3.0 && ratio < 5.0, "errors fall by {ratio} a halving");
}

#[test]
fn the_give_through_a_blob_settles_with_the_mesh() {
    let give = |cells: [usize; 2]| {
        let grid = Grid::new(DVec2::new(-10.0, 0.0), DVec2::new(20.0, 10.0), cells);
        let sheet = Sheet::new(grid, GUM, move |[c, r]| [c == 0 || c == cells[0] || r == cells[1]; 2]);
        let blob = sheet.blob(DVec2::new(0.0, 2.5), 0.5);
        mean_over(&blob, &sheet.solve_spread(&blob, DVec2::Y)).y
    };
    let (used, finer) = (give([64, 32]), give([128, 64]));
    // Half a percent of the give is far inside what one published load says about it.
    assert!((used / finer - 1.0).abs() < 0.005, "0.31 mm cells give {used}, 0.16 mm cells {finer} mm/mN");
}
