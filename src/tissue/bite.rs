//! One hole through a flap: where it is, what it does to the sheet under unit forces, how far it has torn.

use serde::{Deserialize, Serialize};

use super::flap::Side;
use super::flap_settings::FlapSettings;
use super::grid::Grid;
use super::sheet::{Sheet, Spread, Stress, mean_over};
use super::tearing::{Tear, TearLimit};
use crate::math::DVec2;

/// Width s of the blob exp(-r^2 / 2 s^2) through which a hole loads the sheet [mm].
///
/// A point load has no finite give on any mesh; half a millimetre is a hole with the tissue it drags along (estimate).
pub const HOLE_WIDTH: f64 = 0.5;

/// Names one hole for the whole attempt; indices count up per flap and are never used again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct BiteId {
    /// The flap.
    pub side: Side,
    /// Count of holes made in that flap before this one.
    pub index: usize,
}

/// A hole to be made.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BiteSpec {
    /// The flap.
    pub side: Side,
    /// Place along the wound [mm], 0 at the flap's middle.
    pub x_mm: f64,
    /// Distance from the free edge at rest [mm].
    pub edge_distance_mm: f64,
    /// Diameter of the thread in it [mm].
    pub thread_diameter_mm: f64,
}

/// A hole in a flap and its elastic fields.
#[derive(Debug, Clone)]
pub(super) struct Bite {
    pub(super) spec: BiteSpec,
    pub(super) tear: Tear,
    pub(super) limit: TearLimit,
    /// Whether a thread runs through it and can load it.
    pub(super) bears: bool,
    pub(super) fields: BiteFields,
}

impl Bite {
    /// Where the thread sits in the flap's own coordinates [mm]: along the wound, and inward from the edge.
    pub(super) fn seat(&self) -> DVec2 {
        DVec2::new(self.spec.x_mm, (self.spec.edge_distance_mm - self.tear.advance()).max(0.0))
    }
}

/// Answers of the sheet to unit forces of 1 mN, in the flap's own coordinates.
///
/// Index 0 is a force along the wound at the hole, 1 a force inward (away from the edge) at the hole,
/// 2 a force inward on the free edge in front of the hole.
#[derive(Debug, Clone)]
pub(super) struct BiteFields {
    /// Seat for which the fields were solved [mm].
    pub(super) seat: DVec2,
    /// Displacement of the sheet's nodes [mm/mN].
    pub(super) displacement: [Vec<DVec2>; 3],
    /// Stress at the perfusion spots [kPa/mN].
    pub(super) stress: [Vec<Stress>; 3],
    pub(super) edge: EdgeAnswer,
    hole: Spread,
}

impl BiteFields {
    pub(super) fn solve(sheet: &Sheet, spots: &Grid, seat: DVec2, settings: &FlapSettings) -> Self {
        let edge = sheet.border_blob(seat.x, (edge_press_width(settings.poisson) * seat.y).max(HOLE_WIDTH));
        let hole = sheet.blob(seat, HOLE_WIDTH);
        let displacement = [
            sheet.solve_spread(&hole, DVec2::X),
            sheet.solve_spread(&hole, DVec2::Y),
            sheet.solve_spread(&edge, DVec2::Y),
        ];
        let stress = [0, 1, 2].map(|unit| spot_stress(sheet, spots, &displacement[unit]));
        let at_edge = [0, 1, 2].map(|unit| mean_over(&edge, &displacement[unit]).y);
        let at_hole = [0, 1].map(|unit| mean_over(&hole, &displacement[unit]));
        let edge = EdgeAnswer::new(at_edge, at_hole, settings);
        Self { seat, displacement, stress, edge, hole }
    }

    /// Displacement of this hole [mm] per unit force on `other`, along the wound and inward; one column a force.
    pub(super) fn compliance(&self, other: &Self) -> [DVec2; 2] {
        [0, 1].map(|unit| mean_over(&self.hole, &other.displacement[unit]))
    }
}

/// How the edge in front of a hole moves inward, averaged over the press of the other edge.
///
/// The uniform modulus of the sheet stands for the give of the whole flap. What lies between hole and edge is rim
/// gingiva and deforms less, by the ratio of the moduli: both how far the edge lags behind the hole and how far it
/// dents are scaled by it.
#[derive(Debug, Clone, Copy)]
pub(super) struct EdgeAnswer {
    /// Displacement of the edge per displacement of the thread's node in the hole.
    pub(super) slope: DVec2,
    /// Displacement of the edge per force on it, with the thread's node held [mm/mN].
    pub(super) compliance: f64,
    /// Displacement of the edge per force on the hole [mm/mN], and per force on itself.
    from_hole: DVec2,
    own: f64,
    /// Displacement of the edge per displacement of the tissue at the hole.
    rim_slope: DVec2,
    /// The same, and edge per force on the hole and per force on itself with the hole held, in the uniform sheet.
    sheet_slope: DVec2,
    sheet_from_hole: DVec2,
    sheet_dent: f64,
}

impl EdgeAnswer {
    /// `at_edge` is the edge's displacement per unit force, `at_hole` the hole's, one column a force on the hole.
    fn new(at_edge: [f64; 3], at_hole: [DVec2; 2], settings: &FlapSettings) -> Self {
        let sheet_from_hole = DVec2::new(at_edge[0], at_edge[1]);
        let sheet_slope = solve_symmetric(at_hole, sheet_from_hole);
        let sheet_dent = at_edge[2] - sheet_from_hole.dot(sheet_slope);
        let rim_slope = DVec2::Y + (sheet_slope - DVec2::Y) * settings.rim_share();
        let from_hole = at_hole[0] * rim_slope.x + at_hole[1] * rim_slope.y;
        let own = rim_slope.dot(from_hole) + sheet_dent * settings.rim_share();
        let local = settings.hole_compliance();
        let slope = solve_symmetric([at_hole[0] + DVec2::X * local, at_hole[1] + DVec2::Y * local], from_hole);
        let compliance = own - from_hole.dot(slope);
        Self { slope, compliance, from_hole, own, rim_slope, sheet_slope, sheet_from_hole, sheet_dent }
    }

    /// Factors of the three unit displacement fields under a pull on the hole and a press on the edge [mN].
    ///
    /// The tissue at the hole and the edge then move as said here; between them the sheet's own fields interpolate.
    pub(super) fn drawn(&self, pull: DVec2, press: f64) -> [f64; 3] {
        let at_hole = pull + self.rim_slope * press;
        let wanted = self.from_hole.dot(pull) + self.own * press;
        let at_edge = (wanted - self.sheet_from_hole.dot(at_hole)) / self.sheet_dent;
        let at_hole = at_hole - self.sheet_slope * at_edge;
        [at_hole.x, at_hole.y, at_edge]
    }
}

/// Width s of the press between two edges that meet, per distance of the holes from them.
///
/// Two opposed forces P in an endless sheet of thickness t, each e from the line between them, press on that line by
/// 2 (3 + nu) P / (4 pi e t) at most (Kelvin's solution in the plane: Timoshenko & Goodier, Theory of Elasticity,
/// 3rd ed., article 42; from memory); a blob exp(-x^2 / 2 s^2) of the same sum and the same peak has
/// s = sqrt(2 pi) e / (3 + nu).
fn edge_press_width(poisson: f64) -> f64 {
    std::f64::consts::TAU.sqrt() / (3.0 + poisson)
}

/// Solution of the symmetric 2 x 2 system with the given columns.
fn solve_symmetric([a, b]: [DVec2; 2], right_side: DVec2) -> DVec2 {
    let determinant = a.x * b.y - b.x * b.x;
    DVec2::new(right_side.x * b.y - right_side.y * b.x, right_side.y * a.x - right_side.x * b.x) / determinant
}

fn spot_stress(sheet: &Sheet, spots: &Grid, displacement: &[DVec2]) -> Vec<Stress> {
    spots.each_cell().map(|spot| sheet.stress(displacement, sheet.grid().place(spots.cell_centre(spot)))).collect()
}
