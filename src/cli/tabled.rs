//! A knot of a table of points, with its reading: what `pull`, `compare` and the window take.

use super::again::unreadable;
use super::pull::usage;
use super::read::stitches_of;
use super::{Failure, Status};
use crate::pull::{Kept, Tabled, TiedStitch};
use crate::report::ReadStitch;
use crate::rod::Section;

/// Stitch `number` of a table, from 1, as it reads and as it may be pulled. `name` is how messages call the table.
pub(super) fn open(name: &str, bytes: Vec<u8>, number: usize) -> Result<(ReadStitch, Tabled), Failure> {
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let stitches = stitches_of(name, bytes)?;
    let count = stitches.len();
    let beyond = || usage(&[format!("{name}: stitch is {number}, but the table has {count}")]);
    let stitch = stitches.into_iter().nth(number - 1).ok_or_else(beyond)?;
    // A thread's state is kept of one stitch alone.
    let kept = if count == 1 { Kept::parse(name, &text, &stitch.curve) } else { Ok(None) };
    let kept = kept.map_err(|problems| Failure::new(Status::AttemptUnreadable, problems))?;
    let knot = Tabled::new(stitch.curve.clone(), &stitch.reading, kept);
    Ok((stitch, knot))
}

/// The knot in a thread of this section, come to rest.
pub(super) fn at_rest(name: &str, knot: &Tabled, section: Section) -> Result<TiedStitch, Failure> {
    let restless = || unreadable(name, &"its thread does not come to rest in this material and size");
    knot.stitch(section).ok_or_else(restless)
}
