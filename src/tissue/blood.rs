//! The blood in one flap: a fine map of spots, their pressure and their paling.
//!
//! The spots lie closer together than the halo of a pinching thread is wide, so areas do not depend on where
//! a hole lies between them.

use super::grid::Grid;
use super::perfusion::{PALE, Perfusion, PerfusionSettings};
use super::pressure::{Halo, in_plane_pressure};
use super::sheet::Stress;
use crate::math::DVec2;

/// Radius round each hole within which paling is not counted [mm]: every stitch pales its own hole (estimate).
pub const HOLE_DISC_RADIUS: f64 = 1.0;

/// The map of one flap; spots are the cells of [`spots`](Self::spots), column by column.
#[derive(Debug, Clone)]
pub struct Blood {
    spots: Grid,
    perfusion: Vec<Perfusion>,
    pressure: Vec<f64>,
    counted_area: Vec<f64>,
    /// Pale area outside the discs round the holes [mm^2]: asked for several times in a tick.
    blanched_area: f64,
}

impl Blood {
    /// Rosy gum without pressure.
    #[must_use]
    pub fn rosy(spots: Grid) -> Self {
        let count = spots.each_cell().count();
        let area = spots.spacing().x * spots.spacing().y;
        Self {
            spots,
            perfusion: vec![Perfusion::default(); count],
            pressure: vec![0.0; count],
            counted_area: vec![area; count],
            blanched_area: 0.0,
        }
    }

    /// The grid whose cells are the spots, in the flap's own coordinates (along the wound, inward from the edge).
    #[must_use]
    pub fn spots(&self) -> &Grid {
        &self.spots
    }

    /// State of each spot, shape `[spot_count]`.
    #[must_use]
    pub fn perfusion(&self) -> &[Perfusion] {
        &self.perfusion
    }

    /// Pressure on the blood of each spot in the last tick [kPa], shape `[spot_count]`.
    #[must_use]
    pub fn pressure(&self) -> &[f64] {
        &self.pressure
    }

    /// Pale area outside the discs round the holes [mm^2].
    #[must_use]
    pub fn blanched_area(&self) -> f64 {
        self.blanched_area
    }

    fn count_blanched(&mut self) {
        let shares = self.spots.each_cell().zip(&self.counted_area);
        self.blanched_area = shares.fold(0.0, |sum, (cell, area)| sum + self.pale_share(cell) * area);
    }

    /// Pale area, holes and all [mm^2].
    #[must_use]
    pub fn pale_area(&self) -> f64 {
        let area = self.spots.spacing().x * self.spots.spacing().y;
        self.spots.each_cell().fold(0.0, |sum, cell| sum + self.pale_share(cell) * area)
    }

    /// Pale area outside the discs round the holes [mm^2], and its middle in the flap's own coordinates [mm]; `None` if
    /// nothing is pale.
    #[must_use]
    pub fn pale_middle(&self) -> Option<(f64, DVec2)> {
        let (mut total, mut moment) = (0.0, DVec2::ZERO);
        for (cell, area) in self.spots.each_cell().zip(&self.counted_area) {
            let pale = self.pale_share(cell) * area;
            total += pale;
            moment += self.spots.cell_centre(cell) * pale;
        }
        (total > 0.0).then(|| (total, moment / total))
    }

    /// Share of a spot's area that is pale: the border of a pale patch may run through it.
    ///
    /// The blanch is taken as a plane through the spot and its neighbours; counting whole spots would make the area of
    /// a small patch depend on where it lies between them.
    fn pale_share(&self, [column, row]: [usize; 2]) -> f64 {
        let [columns, rows] = self.spots.cells();
        let blanch = |column: usize, row: usize| self.perfusion[self.number([column, row])].blanch;
        let excess = blanch(column, row) - PALE;
        let (west, east) = (column.saturating_sub(1), (column + 1).min(columns - 1));
        let (south, north) = (row.saturating_sub(1), (row + 1).min(rows - 1));
        let along = (blanch(east, row) - blanch(west, row)) / (east - west) as f64;
        let across = (blanch(column, north) - blanch(column, south)) / (north - south) as f64;
        let change = along.abs() + across.abs();
        if 2.0 * excess.abs() < change {
            0.5 + excess / change
        } else if excess > 0.0 {
            1.0
        } else {
            0.0
        }
    }

    /// Means of blanch and of visible redness over the spots whose middle is within half of `size` [mm] of `centre`
    /// [mm].
    #[must_use]
    pub fn mean_around(&self, centre: DVec2, size: DVec2) -> [f64; 2] {
        let (mut blanch, mut redness, mut count) = (0.0, 0.0, 0.0);
        let [columns, rows] = self.spots.cells_near(centre, 0.5 * size.max_element());
        for column in columns {
            for row in rows.clone() {
                let offset = (self.spots.cell_centre([column, row]) - centre).abs();
                if offset.x < 0.5 * size.x && offset.y < 0.5 * size.y {
                    let spot = &self.perfusion[self.number([column, row])];
                    blanch += spot.blanch;
                    redness += spot.visible_redness();
                    count += 1.0;
                }
            }
        }
        if count > 0.0 { [blanch / count, redness / count] } else { [0.0, 0.0] }
    }

    /// Leaves the discs round holes out of the count; a slit widens its disc to all points within reach of `[hole,
    /// seat]` [mm].
    pub(super) fn leave_out(&mut self, slits: &[[DVec2; 2]]) {
        let spacing = self.spots.spacing();
        for (area, cell) in self.counted_area.iter_mut().zip(self.spots.each_cell()) {
            let point = self.spots.cell_centre(cell);
            *area = spacing.x * spacing.y;
            for slit in slits {
                let outside = 0.5 + (distance_to_segment(point, *slit) - HOLE_DISC_RADIUS) / spacing.max_element();
                *area *= outside.clamp(0.0, 1.0);
            }
        }
        self.count_blanched();
    }

    /// Sets the pressure of every spot from its stress and the halos over it.
    pub(super) fn press(&mut self, stress: &[Stress], halos: &[Halo], tension_share: f64) {
        for (pressure, stress) in self.pressure.iter_mut().zip(stress) {
            *pressure = in_plane_pressure(stress, tension_share);
        }
        for halo in halos.iter().filter(|halo| halo.force > 0.0) {
            let [columns, rows] = self.spots.cells_near(halo.centre, halo.reach());
            for column in columns {
                for row in rows.clone() {
                    let number = self.number([column, row]);
                    self.pressure[number] += halo.pressure(self.spots.cell_centre([column, row]));
                }
            }
        }
    }

    /// Lets the pressure act for `tick_s` seconds.
    pub(super) fn step(&mut self, settings: &PerfusionSettings, tick_s: f64) {
        for (spot, pressure) in self.perfusion.iter_mut().zip(&self.pressure) {
            spot.step(*pressure, settings, tick_s);
        }
        self.count_blanched();
    }

    fn number(&self, [column, row]: [usize; 2]) -> usize {
        column * self.spots.cells()[1] + row
    }
}

fn distance_to_segment(point: DVec2, [from, to]: [DVec2; 2]) -> f64 {
    let along = to - from;
    let length_squared = along.length_squared();
    let share = if length_squared > 0.0 { ((point - from).dot(along) / length_squared).clamp(0.0, 1.0) } else { 0.0 };
    point.distance(from + along * share)
}
