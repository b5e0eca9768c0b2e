//! Rows as a figure.

use super::outcome::Outcome;
use plotters::prelude::*;

const SIZE: (u32, u32) = (900, 600);

/// The figure as SVG text: the columns that the experiment names, or all of them over time.
///
/// # Errors
/// What the drawing library says; there is nothing to draw without two rows.
pub fn svg(outcome: &Outcome) -> Result<String, String> {
    let (x, columns) = chosen(outcome);
    let abscissa = |row: usize| x.map_or(outcome.rows[row].time_ms, |x| outcome.rows[row].values[x]);
    let line = |column: usize| -> Vec<(f64, f64)> {
        let points = (0..outcome.rows.len()).map(|row| (abscissa(row), outcome.rows[row].values[column]));
        points.filter(|(x, y)| x.is_finite() && y.is_finite()).collect()
    };
    let lines: Vec<Vec<(f64, f64)>> = columns.iter().map(|&column| line(column)).collect();
    let all = || lines.iter().flatten();
    let (xs, ys) = (range(all().map(|p| p.0))?, range(all().map(|p| p.1))?);
    let names: Vec<String> = columns.iter().map(|&c| outcome.columns[c].title()).collect();
    let under = x.map_or("time [ms]".to_owned(), |x| outcome.columns[x].title());
    let beside = if names.len() == 1 { names[0].as_str() } else { "" };
    let mut text = String::new();
    draw(&mut text, outcome, &lines, &names, (xs, ys), [&under, beside]).map_err(|error| error.to_string())?;
    Ok(text)
}

/// The column of the abscissa, `None` for time, and those of the lines.
fn chosen(outcome: &Outcome) -> (Option<usize>, Vec<usize>) {
    let at = |name: &str| outcome.columns.iter().position(|c| c.name == name);
    match &outcome.plot {
        Some(plot) => (at(&plot.x), plot.y.iter().filter_map(|name| at(name)).collect()),
        None => (None, (0..outcome.columns.len()).collect()),
    }
}

/// Least and greatest, with a twentieth of room.
fn range(values: impl Iterator<Item = f64>) -> Result<std::ops::Range<f64>, String> {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    if low > high {
        return Err("there is no number to plot".to_owned());
    }
    let room = 0.05 * (high - low).max(1e-9 + 1e-6 * high.abs());
    Ok(low - room..high + room)
}

fn draw(
    text: &mut String,
    outcome: &Outcome,
    lines: &[Vec<(f64, f64)>],
    names: &[String],
    (xs, ys): (std::ops::Range<f64>, std::ops::Range<f64>),
    [under, beside]: [&str; 2],
) -> Result<(), Box<dyn std::error::Error>> {
    let area = SVGBackend::with_string(text, SIZE).into_drawing_area();
    area.fill(&WHITE)?;
    let mut chart = ChartBuilder::on(&area)
        .caption(&outcome.title, ("sans-serif", 18))
        .margin(12)
        .x_label_area_size(45)
        .y_label_area_size(75)
        .build_cartesian_2d(xs, ys)?;
    chart.configure_mesh().light_line_style(WHITE).x_desc(under).y_desc(beside).draw()?;
    for (k, (line, name)) in lines.iter().zip(names).enumerate() {
        let color = Palette99::pick(k).to_rgba();
        let drawn = chart.draw_series(LineSeries::new(line.iter().copied(), color.stroke_width(2)))?;
        drawn.label(name).legend(move |(x, y)| PathElement::new([(x, y), (x + 18, y)], color.stroke_width(2)));
    }
    if names.len() > 1 {
        chart.configure_series_labels().background_style(WHITE.mix(0.8)).border_style(BLACK).draw()?;
    }
    area.present()?;
    Ok(())
}
