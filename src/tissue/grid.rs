//! A regular grid of rectangles over a flat rectangle, with bilinear interpolation between its nodes.

use crate::math::DVec2;

/// Columns run along the first axis, rows along the second; nodes are numbered row by row within a column.
#[derive(Debug, Clone)]
pub struct Grid {
    cells: [usize; 2],
    low: DVec2,
    spacing: DVec2,
}

/// A place inside one cell of a grid.
#[derive(Debug, Clone, Copy)]
pub struct Place {
    /// Column and row of the cell.
    pub cell: [usize; 2],
    /// Coordinates inside the cell, each in -1..=1.
    pub local: DVec2,
}

impl Grid {
    /// Grid of `cells` rectangles over the rectangle at `low` [mm] of the given `size` [mm].
    #[must_use]
    pub fn new(low: DVec2, size: DVec2, cells: [usize; 2]) -> Self {
        Self { cells, low, spacing: DVec2::new(size.x / cells[0] as f64, size.y / cells[1] as f64) }
    }

    /// The same rectangle with `times` as many cells each way.
    #[must_use]
    pub fn refined(&self, times: usize) -> Self {
        Self { cells: self.cells.map(|count| count * times), low: self.low, spacing: self.spacing / times as f64 }
    }

    /// Cells along each axis.
    #[must_use]
    pub fn cells(&self) -> [usize; 2] {
        self.cells
    }

    /// Cell sizes [mm].
    #[must_use]
    pub fn spacing(&self) -> DVec2 {
        self.spacing
    }

    /// Number of nodes.
    #[must_use]
    pub fn node_count(&self) -> usize {
        (self.cells[0] + 1) * (self.cells[1] + 1)
    }

    /// Number of the node in a column and row.
    #[must_use]
    pub fn node(&self, column: usize, row: usize) -> usize {
        column * (self.cells[1] + 1) + row
    }

    /// Position of the node in a column and row [mm].
    #[must_use]
    pub fn node_position(&self, column: usize, row: usize) -> DVec2 {
        self.low + self.spacing * DVec2::new(column as f64, row as f64)
    }

    /// Column and row of every node, in the order of their numbers.
    pub fn nodes(&self) -> impl Iterator<Item = [usize; 2]> + use<> {
        let [columns, rows] = self.cells;
        (0..=columns).flat_map(move |column| (0..=rows).map(move |row| [column, row]))
    }

    /// Column and row of every cell, column by column.
    pub fn each_cell(&self) -> impl Iterator<Item = [usize; 2]> + use<> {
        let [columns, rows] = self.cells;
        (0..columns).flat_map(move |column| (0..rows).map(move |row| [column, row]))
    }

    /// Middle of a cell [mm].
    #[must_use]
    pub fn cell_centre(&self, cell: [usize; 2]) -> DVec2 {
        self.low + self.spacing * DVec2::new(cell[0] as f64 + 0.5, cell[1] as f64 + 0.5)
    }

    /// Columns and rows of the cells whose middle may lie within `reach` [mm] of `point` [mm].
    #[must_use]
    pub fn cells_near(&self, point: DVec2, reach: f64) -> [std::ops::Range<usize>; 2] {
        let low = (point - self.low - reach) / self.spacing;
        let high = (point - self.low + reach) / self.spacing;
        [
            floor_index(low.x, self.cells[0])..floor_index(high.x + 1.0, self.cells[0]),
            floor_index(low.y, self.cells[1])..floor_index(high.y + 1.0, self.cells[1]),
        ]
    }

    /// The cell that holds `point` [mm] and where in it; points outside are taken to the nearest border.
    #[must_use]
    pub fn place(&self, point: DVec2) -> Place {
        let scaled = (point - self.low) / self.spacing;
        let cell = [floor_index(scaled.x, self.cells[0] - 1), floor_index(scaled.y, self.cells[1] - 1)];
        let inside = scaled - DVec2::new(cell[0] as f64, cell[1] as f64);
        Place { cell, local: (inside * 2.0 - 1.0).clamp(DVec2::splat(-1.0), DVec2::splat(1.0)) }
    }

    /// The four nodes of a cell, counter-clockwise from its low corner.
    #[must_use]
    pub fn corners(&self, [column, row]: [usize; 2]) -> [usize; 4] {
        [self.node(column, row), self.node(column + 1, row), self.node(column + 1, row + 1), self.node(column, row + 1)]
    }

    /// Value at `point` [mm] of a field given at the nodes.
    #[must_use]
    pub fn interpolate(&self, field: &[DVec2], point: DVec2) -> DVec2 {
        let place = self.place(point);
        let mut value = DVec2::ZERO;
        for (node, share) in self.corners(place.cell).into_iter().zip(shares(place.local)) {
            value += field[node] * share;
        }
        value
    }
}

/// Corner of each of a cell's nodes in its local coordinates.
pub(super) const CORNERS: [DVec2; 4] =
    [DVec2::new(-1.0, -1.0), DVec2::new(1.0, -1.0), DVec2::new(1.0, 1.0), DVec2::new(-1.0, 1.0)];

/// Bilinear share of each corner at a local place.
#[must_use]
pub(super) fn shares(local: DVec2) -> [f64; 4] {
    CORNERS.map(|corner| 0.25 * (1.0 + corner.x * local.x) * (1.0 + corner.y * local.y))
}

#[expect(clippy::cast_possible_truncation, reason = "clamped to the grid's own count, which is small")]
fn floor_index(value: f64, most: usize) -> usize {
    value.floor().clamp(0.0, most as f64) as usize
}
