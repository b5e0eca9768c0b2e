//! In-plane elasticity of a flat sheet: plane stress on bilinear rectangles, small strains.
//!
//! The stiffness is factored once; after that each load costs one back-substitution.
//! Knows nothing of flaps, holes or thread. The element is the four-node rectangle with 2 x 2 Gauss points:
//! Zienkiewicz & Taylor, The Finite Element Method, volume 1, chapters 4 and 8 (from memory).

use super::band::{BandCholesky, BandMatrix};
use super::grid::{CORNERS, Grid, Place, shares};
use crate::math::{DVec2, exp};

/// Thickness and elastic constants of a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetMaterial {
    /// Thickness [mm].
    pub thickness: f64,
    /// Young's modulus [kPa].
    pub modulus: f64,
    /// Poisson's ratio, 0 to below 0.5.
    pub poisson: f64,
}

/// Stress averaged over the thickness [kPa], tension positive.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stress {
    /// Along the first axis.
    pub xx: f64,
    /// Along the second axis.
    pub yy: f64,
    /// Shear.
    pub xy: f64,
}

impl Stress {
    /// Adds `other` times `factor`.
    pub fn add_scaled(&mut self, other: &Self, factor: f64) {
        self.xx += other.xx * factor;
        self.yy += other.yy * factor;
        self.xy += other.xy * factor;
    }

    /// Mean of the three principal stresses [kPa]; the one across the sheet is zero.
    #[must_use]
    pub fn mean(&self) -> f64 {
        (self.xx + self.yy) / 3.0
    }

    /// The greater in-plane principal stress [kPa].
    #[must_use]
    pub fn greatest(&self) -> f64 {
        let half_difference = 0.5 * (self.xx - self.yy);
        0.5 * (self.xx + self.yy) + (half_difference * half_difference + self.xy * self.xy).sqrt()
    }
}

/// A load or an average spread over nodes: node and share, the shares adding up to 1.
pub type Spread = Vec<(usize, f64)>;

/// A sheet with some of its nodes held, ready to be loaded.
#[derive(Debug, Clone)]
pub struct Sheet {
    grid: Grid,
    material: SheetMaterial,
    element: [[f64; 8]; 8],
    held: Vec<[bool; 2]>,
    factor: BandCholesky,
}

impl Sheet {
    /// Builds and factors the sheet; `held` says for a node's column and row which of its two directions are held.
    ///
    /// # Panics
    /// If the sheet is not held against moving as a whole.
    pub fn new(grid: Grid, material: SheetMaterial, held: impl Fn([usize; 2]) -> [bool; 2]) -> Self {
        let held: Vec<[bool; 2]> = grid.nodes().map(held).collect();
        let element = element_stiffness(grid.spacing(), material);
        let factor = match assemble(&grid, &element, &held).factor() {
            Ok(factor) => factor,
            Err(problem) => panic!("the sheet is not held well enough: {problem}"),
        };
        Self { grid, material, element, held, factor }
    }

    /// The grid of the sheet's nodes.
    #[must_use]
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Displacement of every node [mm] under a force on every node [mN]; forces on held directions go to the support.
    #[must_use]
    pub fn solve(&self, forces: &[DVec2]) -> Vec<DVec2> {
        let mut values: Vec<f64> = Vec::with_capacity(2 * forces.len());
        for (force, held) in forces.iter().zip(&self.held) {
            values.push(if held[0] { 0.0 } else { force.x });
            values.push(if held[1] { 0.0 } else { force.y });
        }
        self.factor.solve(&mut values);
        values.chunks_exact(2).map(|pair| DVec2::new(pair[0], pair[1])).collect()
    }

    /// Displacement of every node [mm] under `force` [mN] shared out over `spread`.
    #[must_use]
    pub fn solve_spread(&self, spread: &Spread, force: DVec2) -> Vec<DVec2> {
        let mut forces = vec![DVec2::ZERO; self.grid.node_count()];
        for &(node, share) in spread {
            forces[node] += force * share;
        }
        self.solve(&forces)
    }

    /// Force that each node needs from outside [mN] to stay at its displacement [mm]; at held nodes the reaction.
    #[must_use]
    pub fn outside_forces(&self, displacement: &[DVec2]) -> Vec<DVec2> {
        let mut forces = vec![DVec2::ZERO; self.grid.node_count()];
        for cell in self.grid.each_cell() {
            let corners = self.grid.corners(cell);
            for (rows, &node) in self.element.chunks_exact(2).zip(&corners) {
                for (column, &other) in corners.iter().enumerate() {
                    let u = displacement[other];
                    forces[node].x += rows[0][2 * column] * u.x + rows[0][2 * column + 1] * u.y;
                    forces[node].y += rows[1][2 * column] * u.x + rows[1][2 * column + 1] * u.y;
                }
            }
        }
        forces
    }

    /// Stress [kPa] at a place of the displaced sheet.
    #[must_use]
    pub fn stress(&self, displacement: &[DVec2], place: Place) -> Stress {
        let slopes = slopes(self.grid.spacing(), place.local);
        let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
        for (node, slope) in self.grid.corners(place.cell).into_iter().zip(slopes) {
            let u = displacement[node];
            xx += slope.x * u.x;
            yy += slope.y * u.y;
            xy += slope.y * u.x + slope.x * u.y;
        }
        let [direct, cross, shear] = plane_stress(self.material);
        Stress { xx: direct * xx + cross * yy, yy: cross * xx + direct * yy, xy: shear * xy }
    }

    /// A round blob exp(-r^2 / 2 s^2) about `centre` [mm], s = `width` [mm], as the work-equivalent shares of the
    /// nodes.
    ///
    /// What falls outside the sheet is left out and the rest made up to 1.
    #[must_use]
    pub fn blob(&self, centre: DVec2, width: f64) -> Spread {
        const POINTS_PER_CELL: usize = 4;
        let points = self.grid.refined(POINTS_PER_CELL);
        let [columns, rows] = points.cells_near(centre, 5.0 * width);
        let mut shares_by_node = vec![0.0; self.grid.node_count()];
        for column in columns {
            for row in rows.clone() {
                let point = points.cell_centre([column, row]);
                let weight = exp(-0.5 * (point - centre).length_squared() / (width * width));
                self.share_out(point, weight, &mut shares_by_node);
            }
        }
        normalised(&shares_by_node)
    }

    /// The same blob along the low border of the second axis only, about the first coordinate `centre` [mm].
    #[must_use]
    pub fn border_blob(&self, centre: f64, width: f64) -> Spread {
        const POINTS_PER_CELL: usize = 4;
        let points = self.grid.refined(POINTS_PER_CELL);
        let border = self.grid.node_position(0, 0).y;
        let [columns, _] = points.cells_near(DVec2::new(centre, border), 5.0 * width);
        let mut shares_by_node = vec![0.0; self.grid.node_count()];
        for column in columns {
            let point = DVec2::new(points.cell_centre([column, 0]).x, border);
            let offset = (point.x - centre) / width;
            self.share_out(point, exp(-0.5 * offset * offset), &mut shares_by_node);
        }
        normalised(&shares_by_node)
    }

    fn share_out(&self, point: DVec2, weight: f64, shares_by_node: &mut [f64]) {
        let place = self.grid.place(point);
        for (node, share) in self.grid.corners(place.cell).into_iter().zip(shares(place.local)) {
            shares_by_node[node] += weight * share;
        }
    }
}

/// Mean of a field given at the nodes, weighted by a spread.
#[must_use]
pub fn mean_over(spread: &Spread, field: &[DVec2]) -> DVec2 {
    let mut mean = DVec2::ZERO;
    for &(node, share) in spread {
        mean += field[node] * share;
    }
    mean
}

fn normalised(shares_by_node: &[f64]) -> Spread {
    let total: f64 = shares_by_node.iter().sum();
    assert!(total > 0.0, "a blob lies wholly outside the sheet");
    shares_by_node.iter().enumerate().filter(|(_, share)| **share > 0.0).map(|(n, share)| (n, share / total)).collect()
}

/// Direct, cross and shear stiffness of plane stress [kPa].
fn plane_stress(material: SheetMaterial) -> [f64; 3] {
    let direct = material.modulus / (1.0 - material.poisson * material.poisson);
    [direct, direct * material.poisson, 0.5 * direct * (1.0 - material.poisson)]
}

/// Slope of each corner's bilinear share along both axes [1/mm].
fn slopes(spacing: DVec2, local: DVec2) -> [DVec2; 4] {
    CORNERS.map(|corner| {
        DVec2::new(
            0.5 * corner.x * (1.0 + corner.y * local.y) / spacing.x,
            0.5 * corner.y * (1.0 + corner.x * local.x) / spacing.y,
        )
    })
}

/// Stiffness of one rectangle [mN/mm], rows and columns ordered x, y by corner.
fn element_stiffness(spacing: DVec2, material: SheetMaterial) -> [[f64; 8]; 8] {
    let [direct, cross, shear] = plane_stress(material);
    let gauss = (1.0_f64 / 3.0).sqrt();
    let volume = 0.25 * spacing.x * spacing.y * material.thickness;
    let mut element = [[0.0; 8]; 8];
    for point in CORNERS {
        let slopes = slopes(spacing, point * gauss);
        for (a, at) in slopes.iter().enumerate() {
            for (b, other) in slopes.iter().enumerate() {
                element[2 * a][2 * b] += volume * (direct * at.x * other.x + shear * at.y * other.y);
                element[2 * a][2 * b + 1] += volume * (cross * at.x * other.y + shear * at.y * other.x);
                element[2 * a + 1][2 * b] += volume * (cross * at.y * other.x + shear * at.x * other.y);
                element[2 * a + 1][2 * b + 1] += volume * (direct * at.y * other.y + shear * at.x * other.x);
            }
        }
    }
    element
}

fn assemble(grid: &Grid, element: &[[f64; 8]; 8], held: &[[bool; 2]]) -> BandMatrix {
    let half_band = 2 * (grid.cells()[1] + 2) + 1;
    let mut stiffness = BandMatrix::zero(2 * grid.node_count(), half_band);
    for cell in grid.each_cell() {
        let corners = grid.corners(cell);
        for (a, values) in element.iter().enumerate() {
            for (b, value) in values.iter().enumerate() {
                let (row, column) = (2 * corners[a / 2] + a % 2, 2 * corners[b / 2] + b % 2);
                let free = !held[row / 2][row % 2] && !held[column / 2][column % 2];
                if free && column <= row {
                    stiffness.add(row, column, *value);
                }
            }
        }
    }
    for (row, held) in held.iter().flatten().enumerate() {
        if *held {
            stiffness.add(row, row, 1.0);
        }
    }
    stiffness
}
