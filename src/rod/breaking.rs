//! Where a thread breaks: where tension and bending together ask more of the outermost fibre than it bears.
//!
//! Called between steps; what breaks is cut there. A fibre at the radius `r` of a bend bears `T / A + E r kappa`, textbook
//! beam; as a force over the whole section, with `E` from the bending stiffness `B`, that is `T + 4 B kappa / r`. Only
//! elastic curvature bears stress, and no more of it than at first yield: past that the outermost fibre flows and the
//! inner ones take up what the bend still gains (elastic, perfectly plastic beam).

use super::{FULLY_PLASTIC, Rod, bend};

/// Share of the strength that may be out of balance at most when a break is judged: a tension that is not in balance
/// belongs to no state of the thread.
const UNBALANCED_MAX: f64 = 0.01;

/// A break of the thread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Break {
    /// The edge that broke.
    pub edge: usize,
    /// Its middle, from the swaged end along the thread [mm].
    pub material: f64,
    /// Tension there [mN].
    pub tension: f64,
    /// What it bore, tension and bending [mN].
    pub load: f64,
}

impl Rod {
    /// What the outermost fibre of edge `i` bears, times the section's area [mN].
    #[must_use]
    pub fn fibre_load(&self, i: usize) -> f64 {
        let last = self.node_count() - 1;
        let curvature = [i, i + 1]
            .into_iter()
            .filter(|&node| node > 0 && node < last && self.bends(node))
            .map(|node| bend::elastic_curvature(self, node))
            .fold(0.0, f64::max)
            .min(self.section.yield_curvature / FULLY_PLASTIC);
        self.tension(i) + 4.0 * self.section.bending_stiffness * curvature / self.section.radius
    }

    /// Whether what a step left out of balance, `residual` [mN], is so little that its tensions are those of a state of
    /// the thread.
    #[must_use]
    pub fn is_balanced(&self, residual: f64) -> bool {
        residual <= UNBALANCED_MAX * self.section.strength
    }

    /// Breaks the thread where it bears most, if that is more than its strength; `residual` [mN] is what the step before
    /// left out of balance.
    pub fn break_overloaded(&mut self, residual: f64) -> Option<Break> {
        let strength = self.section.strength;
        if strength.is_infinite() || !self.is_balanced(residual) {
            return None;
        }
        let loads = (0..self.rest_lengths.len()).filter(|&i| self.live(i)).map(|i| (i, self.fibre_load(i)));
        // The first of equals, so that it is always the same one.
        let (edge, load) = loads.reduce(|most, next| if next.1 > most.1 { next } else { most })?;
        if load <= strength {
            return None;
        }
        let found = Break {
            edge,
            material: 0.5 * (self.material[edge] + self.material[edge + 1]),
            tension: self.tension(edge),
            load,
        };
        self.whole[edge] = false;
        Some(found)
    }
}
