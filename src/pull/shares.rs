//! Shares that hold as a figure: a dot and its interval for each, one below the other.

use super::samples::Share;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

const WIDTH: u32 = 1000;
/// Height of one share, and of what is above and below them [px].
const HEIGHTS: [u32; 2] = [50, 120];
/// Half the height of an interval's ends, as a share of a row.
const END: f64 = 0.15;

/// One row of the figure.
#[derive(Debug, Clone, Copy)]
pub struct ShareRow<'a> {
    /// What was pulled.
    pub name: &'a str,
    /// How many held, of how many.
    pub counts: [usize; 2],
    /// Their share, with its interval.
    pub share: Share,
}

/// The figure as SVG text.
///
/// # Errors
/// What the drawing library says.
pub fn shares_figure(title: &str, rows: &[ShareRow]) -> Result<String, String> {
    let mut text = String::new();
    draw(&mut text, title, rows).map_err(|error| error.to_string())?;
    Ok(text)
}

fn draw(text: &mut String, title: &str, rows: &[ShareRow]) -> Result<(), Box<dyn std::error::Error>> {
    let height = rows.iter().fold(HEIGHTS[1], |height, _| height + HEIGHTS[0]);
    let area = SVGBackend::with_string(text, (WIDTH, height)).into_drawing_area();
    area.fill(&WHITE)?;
    let titled = area.titled(title, ("sans-serif", 18))?;
    let count = rows.len() as f64;
    let mut chart =
        ChartBuilder::on(&titled).margin(20).x_label_area_size(45).build_cartesian_2d(0.0..100.0, 0.0..count)?;
    let mesh = &mut chart.configure_mesh();
    mesh.disable_y_axis().disable_y_mesh().light_line_style(WHITE).x_desc("threads that hold [%]").draw()?;
    let line = BLACK.stroke_width(2);
    for (number, row) in rows.iter().enumerate() {
        let middle = count - number as f64 - 0.65;
        let [low, high] = row.share.interval.map(|end| 100.0 * end);
        let end = |at: f64| PathElement::new([(at, middle - END), (at, middle + END)], line);
        chart.draw_series([PathElement::new([(low, middle), (high, middle)], line), end(low), end(high)])?;
        chart.draw_series([Circle::new((100.0 * row.share.share, middle), 5, BLACK.filled())])?;
        // Above the interval, on the side where there is room.
        let (at, side) = if low + high > 100.0 { (100.0, HPos::Right) } else { (0.0, HPos::Left) };
        let font = ("sans-serif", 14).into_text_style(&area).pos(Pos::new(side, VPos::Bottom));
        let [holding, all] = row.counts;
        chart.draw_series([Text::new(format!("{}: {holding} of {all}", row.name), (at, middle + 1.5 * END), font)])?;
    }
    area.present()?;
    Ok(())
}
