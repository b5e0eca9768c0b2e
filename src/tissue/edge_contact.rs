//! The two free edges pressing on each other where a stitch has drawn them together.

use crate::math::{DMat3, DVec3};

/// One stitch's meeting of edges: how the two bites' displacements close the gap, and how stiffly the edges answer.
///
/// Energy `k/2 max(0, closing)^2` with `closing = slope_cheek . u_cheek + slope_tongue . u_tongue - gap`: one-sided,
/// with a continuous slope. Slopes and stiffness come from the elastic sheets: condensing out the edges of two elastic
/// bodies that touch along a line leaves exactly this form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeLaw {
    /// Closing of the gap per displacement of the cheek bite and of the tongue bite.
    pub slopes: [DVec3; 2],
    /// Gap at rest [mm].
    pub gap: f64,
    /// Force per closing beyond the gap [mN/mm].
    pub stiffness: f64,
}

/// Energy of one meeting of edges and its derivatives; index 0 is the cheek bite, 1 the tongue bite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeContact {
    /// Gap left [mm]; negative where the edges are dented.
    pub gap: f64,
    /// Force between the edges [mN], not negative.
    pub force: f64,
    /// Energy [mN mm].
    pub energy: f64,
    /// Slope of the energy by each bite's displacement [mN].
    pub gradient: [DVec3; 2],
    /// Second derivatives [mN/mm], positive semi-definite as a whole; `hessian[a][b]` is by bite a, then by bite b.
    pub hessian: [[DMat3; 2]; 2],
}

impl EdgeLaw {
    /// The law's value at the two bites' displacements [mm].
    #[must_use]
    pub fn at(&self, cheek: DVec3, tongue: DVec3) -> EdgeContact {
        let [a, b] = self.slopes;
        let closing = a.dot(cheek) + b.dot(tongue) - self.gap;
        let stiffness = if closing > 0.0 { self.stiffness } else { 0.0 };
        let force = stiffness * closing;
        EdgeContact {
            gap: -closing,
            force: force.max(0.0),
            energy: 0.5 * force * closing,
            gradient: [a * force, b * force],
            hessian: [
                [outer(a, a, stiffness), outer(a, b, stiffness)],
                [outer(b, a, stiffness), outer(b, b, stiffness)],
            ],
        }
    }
}

fn outer(column: DVec3, row: DVec3, factor: f64) -> DMat3 {
    DMat3::from_cols(column * (row.x * factor), column * (row.y * factor), column * (row.z * factor))
}
