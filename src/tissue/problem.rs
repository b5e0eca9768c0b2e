//! What can be wrong with the numbers a flap or a bite is made from.

/// One number out of its range; a check reports every one it finds.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("`{place}` is {found} {unit}, but must be between {min} and {max} {unit}")]
pub struct OutOfRange {
    /// Which number, as a path.
    pub place: String,
    /// The value found.
    pub found: f64,
    /// Least value allowed.
    pub min: f64,
    /// Greatest value allowed.
    pub max: f64,
    /// Unit of all three.
    pub unit: &'static str,
}

/// Collects the numbers that are out of range.
#[derive(Debug, Default)]
pub(super) struct Check {
    problems: Vec<OutOfRange>,
}

impl Check {
    pub(super) fn range(&mut self, place: &str, found: f64, [min, max]: [f64; 2], unit: &'static str) {
        let inside = found >= min && found <= max;
        if !inside {
            self.problems.push(OutOfRange { place: place.to_owned(), found, min, max, unit });
        }
    }

    pub(super) fn finish(self) -> Result<(), Vec<OutOfRange>> {
        if self.problems.is_empty() { Ok(()) } else { Err(self.problems) }
    }
}
