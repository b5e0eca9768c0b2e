//! `read`: the throws of stitches, from a table of points or from a recording.

use super::again::verified;
use super::arguments::ReadArguments;
use super::output::{json, say};
use super::{Failure, Status};
use crate::analysis::centrelines::{self, Strand};
use crate::analysis::evident_loop::evident_loop;
use crate::analysis::reading::{self, StitchCurve};
use crate::record::is_recording;
use crate::report::{ReadStitch, crossing_diagram, stitches_json, stitches_text};
use std::fs;
use std::path::{Path, PathBuf};

pub(super) fn read(arguments: &ReadArguments) -> Result<Status, Failure> {
    let stitches = stitches(&arguments.file)?;
    if let Some(picture) = &arguments.picture {
        draw(picture, &stitches)?;
    }
    let text = if arguments.json { json(&stitches_json(&stitches))? } else { stitches_text(&stitches) };
    say(&text)?;
    Ok(Status::Done)
}

fn stitches(path: &Path) -> Result<Vec<ReadStitch>, Failure> {
    let name = path.display().to_string();
    let unreadable = |why: String| Failure::new(Status::AttemptUnreadable, why);
    let bytes = fs::read(path).map_err(|error| unreadable(format!("{name}: {error}")))?;
    if is_recording(&bytes) {
        return Ok(ReadStitch::numbered(verified(path)?.outcome.view.stitches));
    }
    stitches_of(&name, bytes)
}

/// The stitches of a table; `name` is how messages call it.
pub(super) fn stitches_of(name: &str, bytes: Vec<u8>) -> Result<Vec<ReadStitch>, Failure> {
    let unreadable = |why: String| Failure::new(Status::AttemptUnreadable, why);
    let text = String::from_utf8(bytes)
        .map_err(|error| unreadable(format!("{name}: byte {} is not UTF-8 text", error.utf8_error().valid_up_to())))?;
    let strands = centrelines::parse(name, &text).map_err(unreadable)?;
    Ok(strands.into_iter().map(of_strand).collect())
}

fn of_strand(strand: Strand) -> ReadStitch {
    let Strand { name, points, holes } = strand;
    match holes.map_or_else(|| evident_loop(&points), Ok) {
        Ok((loop_start, loop_end)) => ReadStitch::of(name, StitchCurve { points, loop_start, loop_end }),
        Err(reason) => {
            // Nothing can be said of limbs that are not known.
            let curve = StitchCurve { loop_start: 0, loop_end: points.len() - 1, points };
            ReadStitch { name, curve, reading: reading::Reading::unclear(reason) }
        }
    }
}

/// Draws each stitch; the only one into the file named, several into files numbered in order.
fn draw(picture: &Path, stitches: &[ReadStitch]) -> Result<(), Failure> {
    for (number, stitch) in stitches.iter().enumerate() {
        let file = if stitches.len() == 1 { picture.to_owned() } else { numbered(picture, number + 1) };
        fs::write(&file, crossing_diagram(stitch))
            .map_err(|error| Failure::new(Status::Usage, format!("{}: {error}", file.display())))?;
    }
    Ok(())
}

/// `knot.svg` with a number is `knot_2.svg`.
fn numbered(path: &Path, number: usize) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let numbered = format!("{stem}_{number}");
    match path.extension() {
        Some(extension) => path.with_file_name(numbered).with_extension(extension),
        None => path.with_file_name(numbered),
    }
}
