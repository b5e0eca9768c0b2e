//! The knot of a table of points: as it was tied where the table keeps the thread's state, else by its shape.

use super::kept::Kept;
use super::stitch::TiedStitch;
use crate::analysis::reading::{Reading, StitchCurve};
use crate::rod::Section;

/// A knot of which a table of points is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Tabled {
    /// Its centreline.
    pub curve: StitchCurve,
    /// The thread's state; `None` if the shape alone is known.
    pub kept: Option<Kept>,
    /// As of [`Reading::wraps_apart`].
    wraps: usize,
}

impl Tabled {
    /// A knot that reads so.
    #[must_use]
    pub fn new(curve: StitchCurve, reading: &Reading, kept: Option<Kept>) -> Tabled {
        Tabled { curve, kept, wraps: reading.wraps_apart() }
    }

    /// The knot in a thread of this section; `None` if it does not come to rest soundly.
    #[must_use]
    pub fn stitch(&self, section: Section) -> Option<TiedStitch> {
        match &self.kept {
            Some(kept) => kept.stitch(&self.curve, section, self.wraps),
            None => TiedStitch::of_curve(&self.curve, section, self.wraps),
        }
    }
}
