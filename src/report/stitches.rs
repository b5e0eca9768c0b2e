//! What was read of one or more stitches, for people and for programs.

use super::wrap;
use crate::analysis::reading::{Form, Limb, Reading, StitchCurve, Votes, read};
use crate::topology::writhe;
use serde_json::{Value, json as object};
use std::fmt::Write;

/// A stitch that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadStitch {
    /// What it is called.
    pub name: String,
    /// Its centreline.
    pub curve: StitchCurve,
    /// What was read of it.
    pub reading: Reading,
}

impl ReadStitch {
    /// Reads a stitch.
    #[must_use]
    pub fn of(name: String, curve: StitchCurve) -> ReadStitch {
        let reading = read(&curve);
        ReadStitch { name, curve, reading }
    }

    /// Reads stitches and calls them by their numbers.
    #[must_use]
    pub fn numbered(curves: Vec<StitchCurve>) -> Vec<ReadStitch> {
        (1..).zip(curves).map(|(number, curve): (u32, _)| ReadStitch::of(number.to_string(), curve)).collect()
    }

    /// Name, notation, form and doubt in one line.
    pub(super) fn headline(&self) -> String {
        let reading = &self.reading;
        let notation = if reading.notation.is_empty() { "no throw" } else { &reading.notation };
        let form = self.form().map_or_else(String::new, |form| format!(", {form}"));
        let clear = if reading.clear { "clear" } else { "UNCLEAR" };
        format!("Stitch {}: {notation}{form}, {clear}", self.name)
    }

    /// A throw's wraps and hand.
    pub(super) fn throw_words(&self, number: usize) -> String {
        let throw = &self.reading.throws[number];
        let plural = if throw.wraps == 1 { "" } else { "s" };
        format!("{} wrap{plural}, {}-handed", throw.wraps, hand(throw.handedness))
    }

    /// How a throw lies to the one below it: parallel as in a square knot, or crossed as in a granny.
    pub(super) fn relation(&self, number: usize) -> Option<&'static str> {
        let throws = &self.reading.throws;
        let below = throws.get(number.checked_sub(1)?)?;
        Some(if below.handedness == throws[number].handedness { "crossed" } else { "parallel" })
    }

    fn form(&self) -> Option<&'static str> {
        self.reading.form.map(|form| match form {
            Form::Flat => "flat",
            Form::Sliding => "sliding",
        })
    }

    /// The limb that the other is hitched round, if the knot is a sliding one.
    fn post(&self) -> Option<&'static str> {
        self.reading.post.map(|limb| match limb {
            Limb::A => "A",
            Limb::B => "B",
        })
    }
}

/// All stitches in words, one paragraph each.
#[must_use]
pub fn stitches_text(stitches: &[ReadStitch]) -> String {
    if stitches.is_empty() {
        return "No thread runs through the tissue: there is no stitch to read\n".to_owned();
    }
    stitches.iter().map(paragraph).collect::<Vec<_>>().join("\n")
}

fn paragraph(stitch: &ReadStitch) -> String {
    let reading = &stitch.reading;
    let mut lines = vec![stitch.headline()];
    if let Some(reason) = &reading.reason {
        wrap("  ", "  ", reason, &mut lines);
    }
    for (number, throw) in reading.throws.iter().enumerate() {
        let below = stitch.relation(number).map_or_else(String::new, |how| format!(", {how} to the one below"));
        let (words, turns) = (stitch.throw_words(number), throw.gauss_integral);
        lines.push(format!("  throw {}: {words}{below}; winds {turns:.2} turns", number + 1));
    }
    if let Some(form) = stitch.form() {
        let asymmetry = reading.curvature_asymmetry;
        let post = stitch.post().map_or_else(String::new, |post| format!(" round limb {post}"));
        lines.push(format!("  {form}{post}: the limbs share the bending with an asymmetry of {asymmetry:.2}"));
    }
    if let Some(centre) = reading.knot_centre {
        lines.push(format!("  knot at ({:.2}, {:.2}, {:.2}) mm", centre.x, centre.y, centre.z));
    }
    if let (Some(determinant), Some(signature)) = (reading.determinant, reading.signature) {
        let polynomial = polynomial(&reading.alexander);
        let closed =
            format!("closed: determinant {determinant}, signature {signature}, Alexander polynomial {polynomial}");
        wrap("  ", "    ", &closed, &mut lines);
    }
    let Votes { agreeing, cast } = reading.sequence_votes;
    if let Some(margin) = reading.gauss_margin {
        lines.push(format!("  sure by {agreeing} of {cast} looks and a margin of {margin:.2} turns"));
    }
    lines.join("\n") + "\n"
}

fn hand(handedness: i8) -> &'static str {
    if handedness < 0 { "left" } else { "right" }
}

/// A polynomial in t, constant term first in `coefficients`.
fn polynomial(coefficients: &[i64]) -> String {
    let mut text = String::new();
    for (power, &coefficient) in coefficients.iter().enumerate().filter(|&(_, &coefficient)| coefficient != 0) {
        let sign = if coefficient < 0 { "-" } else { "+" };
        let size = match (coefficient.abs(), power) {
            (1, 1..) => String::new(),
            (size, _) => size.to_string(),
        };
        let variable = match power {
            0 => String::new(),
            1 => "t".to_owned(),
            _ => format!("t^{power}"),
        };
        let joint =
            if text.is_empty() { if coefficient < 0 { "-" } else { "" }.to_owned() } else { format!(" {sign} ") };
        let _ = write!(text, "{joint}{size}{variable}");
    }
    text
}

/// All stitches as one object: `stitches[].{name,notation,form,clear,reason,throws[],...}`.
#[must_use]
pub fn stitches_json(stitches: &[ReadStitch]) -> Value {
    object!({ "stitches": stitches.iter().map(stitch_json).collect::<Vec<_>>() })
}

fn votes(votes: Votes) -> Value {
    object!({ "agreeing": votes.agreeing, "cast": votes.cast })
}

fn stitch_json(stitch: &ReadStitch) -> Value {
    let reading = &stitch.reading;
    let throws: Vec<Value> = (reading.throws.iter().enumerate())
        .map(|(number, throw)| {
            object!({
                "wraps": throw.wraps,
                "handedness": hand(throw.handedness),
                "to_the_one_below": stitch.relation(number),
                "gauss_turns": throw.gauss_integral,
                "limb_a_points": [throw.limb_a.0, throw.limb_a.1],
                "limb_b_points": [throw.limb_b.0, throw.limb_b.1],
            })
        })
        .collect();
    object!({
        "name": stitch.name,
        "notation": reading.notation,
        "form": stitch.form(),
        "clear": reading.clear,
        "reason": reading.reason,
        "throws": throws,
        "curvature_asymmetry": reading.curvature_asymmetry,
        "post": stitch.post(),
        "knot_centre_mm": reading.knot_centre.map(|centre| centre.to_array()),
        "loop_points": [stitch.curve.loop_start, stitch.curve.loop_end],
        "determinant": reading.determinant,
        "alexander": reading.alexander,
        "signature": reading.signature,
        "agrees_with_catalogue": reading.agrees_with_catalogue,
        "knot_votes": votes(reading.knot_votes),
        "sequence_votes": votes(reading.sequence_votes),
        "gauss_margin_turns": reading.gauss_margin,
        "gauss_turns": stitch.curve.gauss_total(),
        "writhe": writhe(&stitch.curve.points),
    })
}

#[cfg(test)]
mod tests {
    use super::polynomial;

    #[test]
    fn a_polynomial_is_written_as_people_write_it() {
        let table: [(&[i64], &str); 4] =
            [(&[1], "1"), (&[1, -1, 1], "1 - t + t^2"), (&[-1, 3, -1], "-1 + 3t - t^2"), (&[2, 0, -3], "2 - 3t^2")];
        for (coefficients, text) in table {
            assert_eq!(polynomial(coefficients), text);
        }
    }
}
