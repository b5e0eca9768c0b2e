//! A number over the time of an attempt.

use maud::{Markup, html};

use super::{label, number, picture, px, rule};
use crate::math::DVec2;
use crate::report::course::peak;

const SIZE: DVec2 = DVec2::new(860.0, 240.0);
/// Room for the numbers of the events above, for the axes left and below.
const LOW: DVec2 = DVec2::new(52.0, 62.0);
const HIGH: DVec2 = DVec2::new(846.0, 198.0);
/// Events nearer than this would write their numbers over each other [px].
const LABEL_WIDTH: f64 = 20.0;
/// Rows for the events' numbers.
const ROWS: usize = 3;

/// What is drawn over time.
pub(super) struct Chart<'a> {
    /// Its own on the page.
    pub(super) id: &'a str,
    pub(super) title: &'a str,
    pub(super) unit: &'a str,
    /// Time [s] and value, in order of time.
    pub(super) points: &'a [(f64, f64)],
    /// Times [s] of the events that are numbered 1, 2, ... in order of time.
    pub(super) events: &'a [f64],
    /// End of the attempt [s].
    pub(super) end: f64,
}

impl Chart<'_> {
    pub(super) fn markup(&self) -> Markup {
        let Some(peak) = peak(self.points) else { return html! {} };
        let step = round_step(peak.1.max(0.01) / 4.0);
        let top = step * (peak.1.max(0.01) / step).ceil();
        let place = |(time, value): (f64, f64)| self.place(time, value / top);
        let line: Vec<String> = self.points.iter().map(|&point| corner(place(point))).collect();
        let [from, to] = [0, self.points.len() - 1].map(|end| corner(place((self.points[end].0, 0.0))));
        let largest = format!("largest {} {} at {:.1} s", number(peak.1), self.unit, peak.0);
        let description =
            format!("From 0 to {:.1} s; {largest}. Numbers above are the events of the table below.", self.end);
        let content = html! {
            @for mark in steps(step, top) {
                (rule(place((0.0, mark)), place((self.end, mark)), "grid"))
                (label(place((0.0, mark)) + DVec2::new(-6.0, 4.0), "tick end", &number(mark)))
            }
            @for mark in steps(round_step(self.end / 8.0), self.end) {
                (label(place((mark, 0.0)) + DVec2::new(0.0, 17.0), "tick middle", &number(mark)))
            }
            (label(DVec2::new(HIGH.x, HIGH.y + 33.0), "tick end", "time [s]"))
            (label(DVec2::new(0.0, 14.0), "title", &format!("{} [{}]", self.title, self.unit)))
            (label(DVec2::new(HIGH.x, 14.0), "tick end", &largest))
            (self.event_lines())
            polygon.area points=(format!("{from} {} {to}", line.join(" "))) {}
            polyline.curve points=(line.join(" ")) {}
            circle.peak cx=(px(place(peak).x)) cy=(px(place(peak).y)) r="4" {}
        };
        picture(self.id, SIZE, &format!("{} over time", self.title), &description, &content)
    }

    fn place(&self, time: f64, share: f64) -> DVec2 {
        let across = if self.end > 0.0 { time / self.end } else { 0.0 };
        DVec2::new(LOW.x + across * (HIGH.x - LOW.x), HIGH.y - share * (HIGH.y - LOW.y))
    }

    /// A line at each event, its number in the lowest row that is free there.
    fn event_lines(&self) -> Markup {
        let mut taken = [f64::NEG_INFINITY; ROWS];
        let placed: Vec<(usize, f64, usize)> = (self.events.iter().enumerate())
            .map(|(index, &time)| {
                let x = self.place(time, 0.0).x;
                let row = taken.iter().position(|&last| x - last >= LABEL_WIDTH).unwrap_or(ROWS - 1);
                taken[row] = x;
                (index + 1, x, row)
            })
            .collect();
        html! {
            @for (number, x, row) in placed {
                @let y = LOW.y - 6.0 - 13.0 * row as f64;
                (rule(DVec2::new(x, y + 2.0), DVec2::new(x, HIGH.y), "event"))
                (label(DVec2::new(x, y), "tick middle", &number.to_string()))
            }
        }
    }
}

fn corner(at: DVec2) -> String {
    format!("{},{}", px(at.x), px(at.y))
}

/// The least of 1, 2 and 5 times a power of ten that is not below `least` > 0.
pub(super) fn round_step(least: f64) -> f64 {
    let mut power = 1.0;
    while power > least {
        power /= 10.0;
    }
    while 10.0 * power < least {
        power *= 10.0;
    }
    [1.0, 2.0, 5.0, 10.0].map(|times| times * power).into_iter().find(|&step| step >= least).unwrap_or(10.0 * power)
}

/// 0 and every whole number of steps up to `top`.
fn steps(step: f64, top: f64) -> impl Iterator<Item = f64> {
    (0..1000).map(move |count| step * f64::from(count)).take_while(move |&mark| mark <= top * (1.0 + 1e-9))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round() {
        for (least, step) in [(0.013, 0.02), (0.2, 0.2), (0.21, 0.5), (0.7, 1.0), (1.0, 1.0), (7.0, 10.0), (44.0, 50.0)]
        {
            assert!((round_step(least) - step).abs() < 1e-12 * step, "{least}: {}", round_step(least));
        }
    }
}
