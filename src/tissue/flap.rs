//! One raised gum flap: a flat elastic rectangle, held at its fold and both ends, with the holes made in it.
//!
//! Its own coordinates are along the wound (x, 0 in the middle) and inward from the free edge (0) to the fold; the two
//! flaps are mirror images. The curvature of the ridge is left out: at rest the upper surface is the plane z = 0.
//! The sheet is linear, so its answer to any load is a sum of fields solved when a hole is made.

use serde::{Deserialize, Serialize};

use super::band::BandMatrix;
use super::bite::{Bite, BiteFields, BiteId, BiteSpec};
use super::blood::Blood;
use super::flap_settings::FlapSettings;
use super::grid::Grid;
use super::lift::Lift;
use super::perfusion::PerfusionSettings;
use super::pressure::Halo;
use super::problem::{Check, OutOfRange};
use super::sheet::{Sheet, SheetMaterial, Stress};
use super::tearing::{Tear, TearLimit};
use crate::math::{DMat3, DVec2, DVec3, exp};

/// Spacing of the drawn surface points [mm].
pub const SURFACE_SPACING: f64 = 1.25;
/// Elastic cells per drawn cell each way. Each cell is one perfusion spot: 0.31 mm, about the width of the halo of a
/// pinching thread, so that neither stress nor area depends on where a hole lies between the nodes.
const ELASTIC_REFINEMENT: usize = 4;
/// Width s of the bump exp(-r^2 / 2 s^2) drawn where a bite is lifted [mm] (estimate, for the eye only).
const LIFT_BUMP_WIDTH: f64 = 3.0;
/// How far a seat may move before its fields are solved anew [mm]: a fifth of the blob's width.
const SEAT_TOLERANCE: f64 = 0.1;

/// Which flap: names its place in the mouth and its side of the wound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Side {
    /// Cheek side, the far one (+y).
    Cheek,
    /// Tongue side, the near one (-y).
    Tongue,
}

impl Side {
    /// Both sides, in the order in which they are always visited.
    pub const BOTH: [Self; 2] = [Self::Cheek, Self::Tongue];

    /// +1 for the cheek side, -1 for the tongue side.
    #[must_use]
    pub fn sign(self) -> f64 {
        match self {
            Self::Cheek => 1.0,
            Self::Tongue => -1.0,
        }
    }
}

/// Energy of one bite's displacement and its derivatives, in the operator's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BiteEnergy {
    /// Energy [mN mm].
    pub energy: f64,
    /// Slope by the displacement [mN].
    pub gradient: DVec3,
    /// Second derivatives [mN/mm], symmetric and positive definite.
    pub hessian: DMat3,
}

/// The elastic link between two bites of one flap: it adds `displacement_a . stiffness displacement_b` to the energy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coupling {
    /// First bite.
    pub a: BiteId,
    /// Second bite, of a higher index.
    pub b: BiteId,
    /// Mixed second derivatives [mN/mm], rows by a, columns by b; nothing across the flap.
    pub stiffness: DMat3,
}

/// A drawn point of the flap's upper surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfacePoint {
    /// Where it is now [mm].
    pub position: DVec3,
    /// Blanch, mean over the point's own 1.25 mm square, 0 to 1.
    pub blanch: f64,
    /// Visible redness, likewise.
    pub redness: f64,
}

/// In-plane forces on a flap in its own coordinates, one entry a bite.
#[derive(Debug, Clone, Default)]
pub(super) struct FlapForces {
    /// Pull of the thread [mN], along the wound and inward.
    pub(super) pull: Vec<DVec2>,
    /// Upward force of the thread [mN].
    pub(super) lift: Vec<f64>,
    /// Press of the other edge on the edge in front, inward [mN].
    pub(super) edge: Vec<f64>,
}

/// One flap.
#[derive(Debug, Clone)]
pub struct Flap {
    side: Side,
    half_gap: f64,
    settings: FlapSettings,
    surface: Grid,
    sheet: Sheet,
    lift: Lift,
    pub(super) bites: Vec<Bite>,
    /// Bites that bear a thread, two rows each of the matrices below.
    bearing: Vec<usize>,
    /// Displacement per force [mm/mN] and its inverse, shape [2 bearing, 2 bearing].
    compliance: Vec<f64>,
    stiffness: Vec<f64>,
    displacement: Vec<DVec2>,
    hole_displacement: Vec<DVec3>,
    stress: Vec<Stress>,
    blood: Blood,
}

impl Flap {
    /// A flap at rest; `settings` must have been checked.
    pub(super) fn new(side: Side, length: f64, half_gap: f64, settings: FlapSettings) -> Self {
        let size = DVec2::new(length, settings.height_mm);
        let cells = [size.x, size.y].map(|extent| cell_count(extent / SURFACE_SPACING));
        let surface = Grid::new(DVec2::new(-0.5 * length, 0.0), size, cells);
        let elastic = surface.refined(ELASTIC_REFINEMENT);
        let spots = elastic.clone();
        let [last_column, last_row] = elastic.cells();
        let material = SheetMaterial {
            thickness: settings.thickness_mm,
            modulus: settings.modulus_kpa,
            poisson: settings.poisson,
        };
        let sheet =
            Sheet::new(elastic, material, |[column, row]| [column == 0 || column == last_column || row == last_row; 2]);
        Self {
            side,
            half_gap,
            lift: Lift::new(&settings.lift, settings.thickness_mm),
            settings,
            surface,
            bites: Vec::new(),
            bearing: Vec::new(),
            compliance: Vec::new(),
            stiffness: Vec::new(),
            displacement: vec![DVec2::ZERO; sheet.grid().node_count()],
            hole_displacement: Vec::new(),
            stress: vec![Stress::default(); spots.each_cell().count()],
            blood: Blood::rosy(spots),
            sheet,
        }
    }

    /// Which flap this is.
    #[must_use]
    pub fn side(&self) -> Side {
        self.side
    }

    /// Size and tissue.
    #[must_use]
    pub fn settings(&self) -> &FlapSettings {
        &self.settings
    }

    /// The fine map of pressure and paling.
    #[must_use]
    pub fn blood(&self) -> &Blood {
        &self.blood
    }

    /// The grid of drawn points; see [`surface_points`](Self::surface_points) for their order.
    #[must_use]
    pub fn surface(&self) -> &Grid {
        &self.surface
    }

    /// The elastic sheet, for checks against closed forms.
    #[must_use]
    pub fn sheet(&self) -> &Sheet {
        &self.sheet
    }

    /// In-plane displacement of the sheet's nodes in the last tick [mm], in the flap's own coordinates.
    #[must_use]
    pub fn displacement(&self) -> &[DVec2] {
        &self.displacement
    }

    /// The drawn points, shape `[columns along the wound, rows from edge to fold]`, column by column.
    #[must_use]
    pub fn surface_points(&self) -> Vec<SurfacePoint> {
        let points = self.surface.nodes().map(|[column, row]| {
            let rest = self.surface.node_position(column, row);
            let [blanch, redness] = self.blood.mean_around(rest, self.surface.spacing());
            SurfacePoint { position: self.displaced(rest), blanch, redness }
        });
        points.collect()
    }

    /// Where the point of the upper surface that rests at `rest` [mm], in the flap's own coordinates, is now [mm].
    #[must_use]
    pub fn displaced(&self, rest: DVec2) -> DVec3 {
        let moved = rest + self.sheet.grid().interpolate(&self.displacement, rest);
        self.to_world(moved, self.bump(rest))
    }

    /// Where the point of the free edge that rests at `x` [mm] is now [mm].
    #[must_use]
    pub fn edge(&self, x: f64) -> DVec3 {
        self.displaced(DVec2::new(x, 0.0))
    }

    /// Where the free edge is now at `x` [mm]: its y [mm].
    #[must_use]
    pub fn edge_y(&self, x: f64) -> f64 {
        self.edge(x).y
    }

    pub(super) fn check_bite(&self, spec: &BiteSpec) -> Result<(), Vec<OutOfRange>> {
        let half_length = -self.surface.node_position(0, 0).x;
        let mut check = Check::default();
        check.range("bite.x_mm", spec.x_mm, [1.0 - half_length, half_length - 1.0], "mm");
        check.range("bite.edge_distance_mm", spec.edge_distance_mm, [0.3, self.settings.height_mm - 1.5], "mm");
        check.range("bite.thread_diameter_mm", spec.thread_diameter_mm, [0.02, 1.0], "mm");
        check.finish()
    }

    /// Makes a hole that has been checked.
    pub(super) fn add_bite(&mut self, spec: BiteSpec) -> BiteId {
        let seat = DVec2::new(spec.x_mm, spec.edge_distance_mm);
        self.bites.push(Bite {
            spec,
            tear: Tear::default(),
            limit: TearLimit {
                thickness: self.settings.thickness_mm,
                thread_diameter: spec.thread_diameter_mm,
                settings: self.settings.tear,
            },
            bears: true,
            fields: BiteFields::solve(&self.sheet, self.blood.spots(), seat, &self.settings),
        });
        self.hole_displacement.push(DVec3::ZERO);
        self.renew();
        BiteId { side: self.side, index: self.bites.len() - 1 }
    }

    /// The hole stays, but nothing runs through it any more.
    pub(super) fn release(&mut self, index: usize) {
        self.bites[index].bears = false;
        self.renew();
    }

    /// Where the seat of a bite rests [mm].
    pub(super) fn rest_point(&self, index: usize) -> DVec3 {
        self.to_world(self.bites[index].seat(), 0.0)
    }

    /// Displacement of a bite in the last tick [mm].
    pub(super) fn hole_displacement(&self, index: usize) -> DVec3 {
        self.hole_displacement[index]
    }

    pub(super) fn bite_energy(&self, index: usize, displacement: DVec3) -> BiteEnergy {
        let Some(slot) = self.slot(index) else {
            return BiteEnergy { energy: 0.0, gradient: DVec3::ZERO, hessian: DMat3::ZERO };
        };
        let [lift_energy, lift_force, lift_stiffness] = self.lift.at(displacement.z);
        let mut hessian = self.stiffness_block(slot, slot);
        let in_plane = hessian * displacement;
        hessian.z_axis.z = lift_stiffness;
        BiteEnergy {
            energy: 0.5 * displacement.dot(in_plane) + lift_energy,
            gradient: in_plane + DVec3::Z * lift_force,
            hessian,
        }
    }

    pub(super) fn couplings(&self) -> Vec<Coupling> {
        let mut couplings = Vec::new();
        for (slot, &a) in self.bearing.iter().enumerate() {
            for (later, &b) in self.bearing.iter().enumerate().skip(slot + 1) {
                let [a, b] = [a, b].map(|index| BiteId { side: self.side, index });
                couplings.push(Coupling { a, b, stiffness: self.stiffness_block(slot, later) });
            }
        }
        couplings
    }

    /// Displacements of all bites [mm] under pulls on all bites [mN], in the flap's own coordinates.
    pub(super) fn hole_answers(&self, pulls: &[DVec2]) -> Vec<DVec2> {
        let mut answers = vec![DVec2::ZERO; pulls.len()];
        let rows = 2 * self.bearing.len();
        for (slot, &index) in self.bearing.iter().enumerate() {
            for (other, &from) in self.bearing.iter().enumerate() {
                let at = 2 * slot * rows + 2 * other;
                let (first, second) = (&self.compliance[at..at + 2], &self.compliance[at + rows..at + rows + 2]);
                let pull = pulls[from];
                answers[index].x += first[0] * pull.x + first[1] * pull.y;
                answers[index].y += second[0] * pull.x + second[1] * pull.y;
            }
        }
        answers
    }

    /// Displacements and stresses under `forces`, by adding up unit fields.
    pub(super) fn deform(&mut self, forces: &FlapForces) {
        self.displacement.fill(DVec2::ZERO);
        self.stress.fill(Stress::default());
        let mut carried = forces.pull.clone();
        for (index, bite) in self.bites.iter().enumerate().filter(|(_, bite)| bite.bears) {
            let (pull, edge) = (forces.pull[index], forces.edge[index]);
            carried[index] += bite.fields.edge.slope * edge;
            let factors = bite.fields.edge.drawn(pull, edge);
            for (units, factor) in bite.fields.displacement.iter().zip(factors) {
                add_scaled(&mut self.displacement, units, factor);
            }
            // Stress follows from the forces alone, whatever the modulus.
            for (units, factor) in bite.fields.stress.iter().zip([pull.x, pull.y, edge]) {
                if factor != 0.0 {
                    self.stress.iter_mut().zip(units).for_each(|(sum, unit)| sum.add_scaled(unit, factor));
                }
            }
        }
        for (index, answer) in self.hole_answers(&carried).into_iter().enumerate() {
            let height = self.lift.height(forces.lift[index]);
            self.hole_displacement[index] = DVec3::new(answer.x, self.side.sign() * answer.y, height);
        }
    }

    /// Stress at each spot in the last tick [kPa], thickness mean, in the flap's own coordinates, shape `[spot_count]`.
    #[must_use]
    pub fn stress(&self) -> &[Stress] {
        &self.stress
    }

    /// Sets the pressure on the blood from stress and `halos`, and lets it act for `tick_s` seconds.
    pub(super) fn press(&mut self, halos: &[Halo], tension_share: f64, perfusion: &PerfusionSettings, tick_s: f64) {
        self.blood.press(&self.stress, halos, tension_share);
        self.blood.step(perfusion, tick_s);
    }

    /// Lets the pulls act on the holes; `true` if a bite has changed by it.
    pub(super) fn tear(&mut self, forces: &FlapForces, tick_ms: f64) -> bool {
        let mut changed = false;
        for (index, bite) in self.bites.iter_mut().enumerate().filter(|(_, bite)| bite.bears) {
            let toward_edge = (-forces.pull[index].y).max(0.0);
            let upward = forces.lift[index].max(0.0);
            let pull = (toward_edge * toward_edge + upward * upward).sqrt();
            bite.tear.step(pull, bite.spec.edge_distance_mm, &bite.limit, tick_ms);
            if bite.tear.torn_through {
                bite.bears = false;
                changed = true;
            } else if bite.fields.seat.distance(bite.seat()) > SEAT_TOLERANCE {
                bite.fields = BiteFields::solve(&self.sheet, self.blood.spots(), bite.seat(), &self.settings);
                changed = true;
            }
        }
        if changed {
            self.renew();
        }
        changed
    }

    /// A world point [mm] in the flap's own coordinates [mm], where the tissue now there rests.
    pub(super) fn material_point(&self, point: DVec3) -> DVec2 {
        const STEPS: usize = 3;
        let now = DVec2::new(point.x, self.side.sign() * point.y - self.half_gap);
        let mut rest = now;
        for _ in 0..STEPS {
            rest = now - self.sheet.grid().interpolate(&self.displacement, rest);
        }
        rest
    }

    /// A world vector in the flap's own in-plane coordinates.
    pub(super) fn own_vector(&self, vector: DVec3) -> DVec2 {
        DVec2::new(vector.x, self.side.sign() * vector.y)
    }

    /// An own in-plane vector in the world.
    pub(super) fn world_vector(&self, vector: DVec2) -> DVec3 {
        DVec3::new(vector.x, self.side.sign() * vector.y, 0.0)
    }

    fn to_world(&self, own: DVec2, z: f64) -> DVec3 {
        DVec3::new(own.x, self.side.sign() * (self.half_gap + own.y), z)
    }

    /// Height of the drawn surface [mm] over the point that rests at `rest`: a smooth bump about each lifted bite, none
    /// at the fold.
    fn bump(&self, rest: DVec2) -> f64 {
        let fold = self.settings.height_mm;
        let mut height = 0.0;
        for (bite, displacement) in self.bites.iter().zip(&self.hole_displacement) {
            if displacement.z != 0.0 {
                let seat = bite.seat();
                let reach = 2.0 * LIFT_BUMP_WIDTH * LIFT_BUMP_WIDTH;
                let taper = (fold - rest.y) / (fold - seat.y);
                height += displacement.z * taper * exp(-(rest - seat).length_squared() / reach);
            }
        }
        height
    }

    fn slot(&self, index: usize) -> Option<usize> {
        self.bearing.iter().position(|bearing| *bearing == index)
    }

    /// The stiffness between two bearing bites in the operator's frame, nothing across the flap.
    fn stiffness_block(&self, row: usize, column: usize) -> DMat3 {
        let rows = 2 * self.bearing.len();
        let entry = |r: usize, c: usize| self.stiffness[(2 * row + r) * rows + 2 * column + c];
        let sign = self.side.sign();
        DMat3::from_cols(
            DVec3::new(entry(0, 0), sign * entry(1, 0), 0.0),
            DVec3::new(sign * entry(0, 1), entry(1, 1), 0.0),
            DVec3::ZERO,
        )
    }

    /// Brings matrices and counted areas up to date with the bites.
    fn renew(&mut self) {
        self.bearing = (0..self.bites.len()).filter(|index| self.bites[*index].bears).collect();
        let rows = 2 * self.bearing.len();
        self.compliance = vec![0.0; rows * rows];
        for (slot, &index) in self.bearing.iter().enumerate() {
            for (other, &from) in self.bearing.iter().enumerate().take(slot + 1) {
                let block = self.bites[index].fields.compliance(&self.bites[from].fields);
                for (c, column) in block.iter().enumerate() {
                    for (r, value) in [column.x, column.y].into_iter().enumerate() {
                        self.compliance[(2 * slot + r) * rows + 2 * other + c] = value;
                        self.compliance[(2 * other + c) * rows + 2 * slot + r] = value;
                    }
                }
            }
        }
        for row in 0..rows {
            self.compliance[row * rows + row] += self.settings.hole_compliance();
        }
        self.stiffness = inverse(&self.compliance, rows);
        let slits: Vec<[DVec2; 2]> = self
            .bites
            .iter()
            .map(|bite| [DVec2::new(bite.spec.x_mm, bite.spec.edge_distance_mm), bite.seat()])
            .collect();
        self.blood.leave_out(&slits);
        let rested = self.bites.iter().zip(&mut self.hole_displacement).filter(|(bite, _)| !bite.bears);
        rested.for_each(|(_, displacement)| *displacement = DVec3::ZERO);
    }
}

fn add_scaled(sum: &mut [DVec2], field: &[DVec2], factor: f64) {
    for (sum, value) in sum.iter_mut().zip(field) {
        *sum += *value * factor;
    }
}

/// Inverse of a small symmetric positive definite matrix.
fn inverse(matrix: &[f64], rows: usize) -> Vec<f64> {
    if rows == 0 {
        return Vec::new();
    }
    let mut lower = BandMatrix::zero(rows, rows - 1);
    for row in 0..rows {
        for column in 0..=row {
            lower.add(row, column, matrix[row * rows + column]);
        }
    }
    let factor = match lower.factor() {
        Ok(factor) => factor,
        Err(problem) => panic!("the compliance of a held sheet: {problem}"),
    };
    let mut inverse = vec![0.0; rows * rows];
    for (row, values) in inverse.chunks_exact_mut(rows).enumerate() {
        values[row] = 1.0;
        factor.solve(values);
    }
    symmetric(inverse, rows)
}

/// Evens out the last bits, so that the energy has one Hessian.
fn symmetric(mut matrix: Vec<f64>, rows: usize) -> Vec<f64> {
    for row in 0..rows {
        for column in 0..row {
            let mean = 0.5 * (matrix[row * rows + column] + matrix[column * rows + row]);
            matrix[row * rows + column] = mean;
            matrix[column * rows + row] = mean;
        }
    }
    matrix
}

#[expect(clippy::cast_possible_truncation, reason = "a checked flap has at most some tens of cells each way")]
fn cell_count(ratio: f64) -> usize {
    ratio.round().max(1.0) as usize
}
