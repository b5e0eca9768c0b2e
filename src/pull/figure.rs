//! Pulls as a figure: force over extension, so that it can be read without colour.

use super::outcome::{End, Point, Pull, SLIP_MAX};
use crate::quantity::MN_PER_N;
use plotters::element::DashedPathElement;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

const SIZE: (u32, u32) = (1000, 560);
/// Width of what stands beside the axes [px].
const WORDS_WIDTH: u32 = 300;
/// Slip from one dot on a line to the next [mm].
const DOTS_EVERY: f64 = 0.5;

/// Colours that are told apart with any colour vision (Okabe & Ito 2008, from memory).
const COLOURS: [RGBColor; 4] =
    [RGBColor(0, 114, 178), RGBColor(213, 94, 0), RGBColor(0, 158, 115), RGBColor(204, 121, 167)];
/// Lengths of dash and gap [px]; no gap is a whole line.
const DASHES: [(u32, u32); 4] = [(1, 0), (14, 6), (3, 4), (26, 4)];
/// Widths of lines [px].
const WIDTHS: [u32; 2] = [2, 4];

/// How many lines a figure tells apart.
pub const LINES_MAX: usize = DASHES.len() * WIDTHS.len();

/// One pull of a figure.
#[derive(Debug, Clone, Copy)]
pub struct Line<'a> {
    /// What was pulled.
    pub name: &'a str,
    /// What came of it.
    pub pull: &'a Pull,
}

/// How a line is drawn.
#[derive(Clone, Copy)]
struct Style {
    colour: RGBColor,
    dash: (u32, u32),
    width: u32,
}

impl Style {
    fn of(number: usize) -> Style {
        let kind = number % DASHES.len();
        Style { colour: COLOURS[kind], dash: DASHES[kind], width: WIDTHS[number / DASHES.len() % WIDTHS.len()] }
    }

    fn line(&self) -> ShapeStyle {
        self.colour.stroke_width(self.width)
    }
}

/// The figure as SVG text, with a line across at `load` [mN] if there is one.
///
/// # Errors
/// What the drawing library says.
pub fn figure(title: &str, lines: &[Line], load: Option<f64>) -> Result<String, String> {
    let mut text = String::new();
    draw(&mut text, title, lines, load).map_err(|error| error.to_string())?;
    Ok(text)
}

type Drawn = Result<(), Box<dyn std::error::Error>>;

fn draw(text: &mut String, title: &str, lines: &[Line], load: Option<f64>) -> Drawn {
    let area = SVGBackend::with_string(text, SIZE).into_drawing_area();
    area.fill(&WHITE)?;
    let (axes, words) = area.titled(title, ("sans-serif", 18))?.split_horizontally(SIZE.0 - WORDS_WIDTH);
    let newtons = |load: f64| load / MN_PER_N;
    let points = || lines.iter().flat_map(|line| &line.pull.curve);
    let right = points().map(|point| point.extension).fold(1.0, f64::max);
    let top = points().map(|point| point.force).chain(load).map(newtons).fold(0.1, f64::max);
    let mut chart = ChartBuilder::on(&axes)
        .margin(12)
        .x_label_area_size(45)
        .y_label_area_size(60)
        .build_cartesian_2d(0.0..1.04 * right, 0.0..1.08 * top)?;
    let mesh = &mut chart.configure_mesh();
    mesh.light_line_style(WHITE).x_desc("extension [mm]").y_desc("force [N]").draw()?;
    if let Some(load) = load.map(newtons) {
        let across = [(0.0, load), (1.04 * right, load)];
        chart.draw_series([PathElement::new(across, BLACK.stroke_width(1))])?;
        // Above the line's right end, where curves seldom are.
        let font = ("sans-serif", 13).into_text_style(&axes).pos(Pos::new(HPos::Right, VPos::Bottom));
        chart.draw_series([Text::new(format!("asked: {load} N"), (1.03 * right, load), font)])?;
    }
    for (number, line) in lines.iter().enumerate() {
        let (style, curve) = (Style::of(number), &line.pull.curve);
        let place = |point: &Point| (point.extension, newtons(point.force));
        let places: Vec<(f64, f64)> = curve.iter().map(place).collect();
        let (dash, gap) = style.dash;
        if gap == 0 {
            chart.draw_series(LineSeries::new(places, style.line()))?;
        } else {
            chart.draw_series(DashedLineSeries::new(places, dash, gap, style.line()))?;
        }
        let dots = slips(line.pull).map(|point| Circle::new(place(point), 3, style.colour.filled()));
        chart.draw_series(dots)?;
        let slipped = curve.iter().find(|point| point.slip > line.pull.slip_limit);
        chart.draw_series(slipped.map(|point| Circle::new(place(point), 7, style.colour.stroke_width(2))))?;
        let broke = curve.last().filter(|_| matches!(line.pull.end, End::Broke(_)));
        chart.draw_series(broke.map(|point| Cross::new(place(point), 7, style.colour.stroke_width(2))))?;
    }
    explain(&words, lines)?;
    area.present()?;
    Ok(())
}

/// Where a pull first had slipped by each whole number of [`DOTS_EVERY`], up to its limit.
fn slips(pull: &Pull) -> impl Iterator<Item = &Point> {
    let wanted = (1_u32..).map(|k| f64::from(k) * DOTS_EVERY).take_while(|&slip| slip < pull.slip_limit);
    wanted.filter_map(|slip| pull.curve.iter().find(|point| point.slip >= slip))
}

/// Which line is which, and what the marks on them mean.
fn explain(words: &DrawingArea<SVGBackend, plotters::coord::Shift>, lines: &[Line]) -> Drawn {
    let say = |at: (i32, i32), size: i32, text: &str| words.draw(&Text::new(text.to_owned(), at, ("sans-serif", size)));
    let mut y = 25;
    for (number, line) in lines.iter().enumerate() {
        let style = Style::of(number);
        let sample = [(5, y), (55, y)];
        match style.dash {
            (_, 0) => words.draw(&PathElement::new(sample, style.line()))?,
            (dash, gap) => words.draw(&DashedPathElement::new(sample, dash, gap, style.line()))?,
        }
        say((63, y - 8), 14, line.name)?;
        say((63, y + 9), 13, &result(line.pull))?;
        y += 46;
    }
    let black = BLACK.stroke_width(2);
    words.draw(&Circle::new((30, y), 3, BLACK.filled()))?;
    say((63, y - 7), 13, &format!("each {DOTS_EVERY} mm of slip"))?;
    words.draw(&Circle::new((30, y + 22), 7, black))?;
    let limit = lines.first().map_or(SLIP_MAX, |line| line.pull.slip_limit);
    say((63, y + 15), 13, &format!("slipped by {limit} mm"))?;
    words.draw(&Cross::new((30, y + 44), 7, black))?;
    say((63, y + 37), 13, "the thread broke")?;
    Ok(())
}

fn result(pull: &Pull) -> String {
    let force = pull.holding_force / MN_PER_N;
    match pull.end {
        End::BrokeTying => "broke while it was drawn tight".to_owned(),
        End::Broke(_) => format!("broke, held {force:.2} N"),
        End::Slipped | End::Opened => format!("slipped, held {force:.2} N"),
    }
}
