//! How a thread lies: from a shape to evenly spaced points.

use super::schema::{Lie, Piece, Thread, Vector};
use crate::math::{DVec3, rotation};
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Points of the files that an experiment names [mm], by the file's name as the experiment writes it.
pub type PointFiles = BTreeMap<String, Vec<DVec3>>;

/// A vector of the file as one to reckon with.
pub(super) fn vector(v: Vector) -> DVec3 {
    DVec3::from_array(v)
}

/// Places of a thread's nodes [mm]; `None` if its shape has no length, or its file is not there.
pub(super) fn nodes(thread: &Thread, files: &PointFiles) -> Option<Vec<DVec3>> {
    let mesh = thread.segment_mm;
    let mut points = match &thread.shape {
        Lie::Straight { from_mm, to_mm } => line(vector(*from_mm), vector(*to_mm) - vector(*from_mm), mesh)?,
        Lie::Ring { centre_mm, start_mm, axis } => {
            let mut ring = Turn::new(vector(*centre_mm), vector(*start_mm), vector(*axis))?.points(0.0, 1.0, mesh);
            ring.push(*ring.get(1)?);
            let last = ring.len() - 2;
            ring[last] = ring[0];
            ring
        }
        Lie::Helix { centre_mm, start_mm, axis, pitch_mm, turns, lead_in_mm, lead_out_mm } => {
            let turn = Turn::new(vector(*centre_mm), vector(*start_mm), vector(*axis))?;
            let mut points = turn.points(*pitch_mm, *turns, mesh);
            let (into, out) = (turn.tangent(*pitch_mm, 0.0), turn.tangent(*pitch_mm, *turns));
            if *lead_in_mm > 0.0 {
                let mut lead = line(points[0], -into * *lead_in_mm, mesh)?;
                lead.reverse();
                lead.pop();
                lead.append(&mut points);
                points = lead;
            }
            if *lead_out_mm > 0.0 {
                points.extend(line(points[points.len() - 1], out * *lead_out_mm, mesh)?.into_iter().skip(1));
            }
            points
        }
        Lie::Arcs { start_mm, toward, pieces } => arcs(vector(*start_mm), vector(*toward), pieces, mesh)?,
        Lie::Points { file } => resampled(files.get(file)?, mesh)?,
    };
    points.dedup_by(|a, b| a == b);
    (points.len() >= 2).then_some(points)
}

fn line(from: DVec3, way: DVec3, mesh: f64) -> Option<Vec<DVec3>> {
    let count = edges(way.length(), mesh);
    (way.length() > 0.0).then(|| (0..=count).map(|k| from + way * (k as f64 / count as f64)).collect())
}

/// The nearest whole number of edges in a length, at least one.
fn edges(length: f64, mesh: f64) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "the table bounds lengths and edges")]
    let count = (length / mesh).round() as usize;
    count.max(1)
}

/// A motion round an axis.
struct Turn {
    centre: DVec3,
    axis: DVec3,
    out: DVec3,
}

impl Turn {
    /// `None` if the start lies on the axis or there is none. What of the start lies along the axis moves the centre.
    fn new(centre: DVec3, start: DVec3, axis: DVec3) -> Option<Turn> {
        let axis = axis.try_normalize()?;
        let along = axis * (start - centre).dot(axis);
        let out = start - centre - along;
        (out.length() > 1e-9).then_some(Turn { centre: centre + along, axis, out })
    }

    fn place(&self, pitch: f64, turns: f64) -> DVec3 {
        self.centre + rotation(self.axis, 2.0 * PI * turns) * self.out + self.axis * (pitch * turns)
    }

    fn tangent(&self, pitch: f64, turns: f64) -> DVec3 {
        let out = rotation(self.axis, 2.0 * PI * turns) * self.out;
        (self.axis.cross(out) * (2.0 * PI) + self.axis * pitch).normalize()
    }

    fn points(&self, pitch: f64, turns: f64, mesh: f64) -> Vec<DVec3> {
        let round = 2.0 * PI * self.out.length();
        let count = edges((round * round + pitch * pitch).sqrt() * turns, mesh);
        (0..=count).map(|k| self.place(pitch, turns * k as f64 / count as f64)).collect()
    }
}

fn arcs(start: DVec3, toward: DVec3, pieces: &[Piece], mesh: f64) -> Option<Vec<DVec3>> {
    let mut points = vec![start];
    let mut tangent = toward.try_normalize()?;
    for piece in pieces {
        let from = points[points.len() - 1];
        match piece {
            Piece::Line { length_mm } => points.extend(line(from, tangent * *length_mm, mesh)?.into_iter().skip(1)),
            Piece::Arc { radius_mm, angle_deg, axis } => {
                let axis = vector(*axis);
                let axis = (axis - tangent * axis.dot(tangent)).try_normalize()?;
                // The centre lies to the side to which a right-handed turn bends.
                let turn = Turn::new(from + axis.cross(tangent) * *radius_mm, from, axis)?;
                let turns = angle_deg / 360.0;
                points.extend(turn.points(0.0, turns, mesh).into_iter().skip(1));
                tangent = turn.tangent(0.0, turns);
            }
        }
    }
    Some(points)
}

/// Evenly spaced points along a polyline.
fn resampled(points: &[DVec3], mesh: f64) -> Option<Vec<DVec3>> {
    let mut along = vec![0.0];
    for pair in points.windows(2) {
        along.push(along[along.len() - 1] + pair[0].distance(pair[1]));
    }
    let length = *along.last()?;
    if points.len() < 2 || length <= 0.0 {
        return None;
    }
    let count = edges(length, mesh);
    let place = |s: f64| {
        let at = along.partition_point(|&a| a <= s).clamp(1, points.len() - 1);
        let (from, to) = (along[at - 1], along[at]);
        points[at - 1].lerp(points[at], if to > from { (s - from) / (to - from) } else { 0.0 })
    };
    Some((0..=count).map(|k| place(length * k as f64 / count as f64)).collect())
}

/// Reads a table `x_mm,y_mm,z_mm`: points, or what is wrong with each line; `name` is the file's for messages.
///
/// # Errors
/// Every line that is not three numbers.
pub fn parse_points(name: &str, text: &str) -> Result<Vec<DVec3>, String> {
    let mut lines = (1..).zip(text.lines());
    let head = lines.next().map_or("", |(_, head)| head.trim());
    if head != "x_mm,y_mm,z_mm" {
        return Err(format!("{name}:1:1: head is {head:?}, allowed \"x_mm,y_mm,z_mm\""));
    }
    let (mut points, mut wrong) = (Vec::new(), Vec::new());
    for (number, line) in lines.filter(|(_, line)| !line.trim().is_empty()) {
        let numbers: Option<Vec<f64>> =
            line.split(',').map(|cell| cell.trim().parse().ok().filter(|x: &f64| x.is_finite())).collect();
        match numbers.as_deref() {
            Some(&[x, y, z]) => points.push(DVec3::new(x, y, z)),
            _ => wrong.push(format!("{name}:{number}:1: line is {line:?}, allowed three numbers")),
        }
    }
    if points.len() < 2 && wrong.is_empty() {
        wrong.push(format!("{name}:2:1: table is of {} points, allowed 2 or more", points.len()));
    }
    if wrong.is_empty() { Ok(points) } else { Err(wrong.join("\n")) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::experiment::schema::StressFree;

    fn laid(shape: Lie) -> Vec<DVec3> {
        let thread = Thread {
            name: "a".into(),
            shape,
            segment_mm: 0.1,
            contact_segment_mm: None,
            stress_free: StressFree::Straight,
        };
        nodes(&thread, &PointFiles::new()).expect("it has a length")
    }

    #[test]
    fn an_arc_of_a_quarter_turn_after_a_line_ends_where_geometry_says() {
        let points = laid(Lie::Arcs {
            start_mm: [1.0, 0.0, 0.0],
            toward: [1.0, 0.0, 0.0],
            pieces: vec![
                Piece::Line { length_mm: 2.0 },
                Piece::Arc { radius_mm: 3.0, angle_deg: 90.0, axis: [0.0, 0.0, 1.0] },
                Piece::Line { length_mm: 1.0 },
            ],
        });
        let end = points[points.len() - 1];
        assert!((end - DVec3::new(6.0, 4.0, 0.0)).length() < 1e-9, "{end:?}");
    }

    #[test]
    fn a_helix_rises_by_its_pitch_and_its_leads_are_straight() {
        let points = laid(Lie::Helix {
            centre_mm: [0.0; 3],
            start_mm: [2.0, 0.0, 0.0],
            axis: [0.0, 0.0, 1.0],
            pitch_mm: 0.5,
            turns: 1.5,
            lead_in_mm: 1.0,
            lead_out_mm: 2.0,
        });
        let wound = points.iter().filter(|p| ((p.x * p.x + p.y * p.y).sqrt() - 2.0).abs() < 1e-9).collect::<Vec<_>>();
        assert!((wound[wound.len() - 1].z - wound[0].z - 0.75).abs() < 1e-9);
        let length: f64 = points.windows(2).map(|p| p[0].distance(p[1])).sum();
        let expected = 3.0 + 1.5 * (16.0 * PI * PI + 0.25).sqrt();
        // Chords of 0.1 mm on a radius of 2 mm are 1e-4 shorter than their arcs.
        assert!((length / expected - 1.0).abs() < 2e-4, "{length}, {expected}");
    }

    #[test]
    fn a_ring_lays_its_last_edge_on_its_first() {
        let ring = laid(Lie::Ring { centre_mm: [0.0; 3], start_mm: [1.0, 0.0, 0.0], axis: [0.0, 0.0, 1.0] });
        let last = ring.len() - 1;
        assert_eq!((ring[last - 1], ring[last]), (ring[0], ring[1]));
    }

    #[test]
    fn a_table_that_is_not_one_says_every_line() {
        let text = "x_mm,y_mm,z_mm\n1,2,3\n1,2\n4,5,x\n";
        let wrong = parse_points("a.csv", text).expect_err("two lines are wrong");
        assert_eq!(wrong.lines().count(), 2, "{wrong}");
        assert!(wrong.starts_with("a.csv:3:1: line is \"1,2\""), "{wrong}");
    }
}
