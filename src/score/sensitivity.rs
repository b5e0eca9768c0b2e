//! How far a mark moves with what is known of the thread within a range only.
//!
//! The same hands are carried out again in threads drawn from the ranges that are published for the material. What comes
//! out is no other attempt: hands that repeat what they did do not react to what they feel, so that the error said here is
//! rather too large than too small.

use super::Score;
use crate::said::{Said, number, said};

/// One attempt's marks in threads that were drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// Total of the attempt in its own thread [%].
    pub own: f64,
    /// Whether that one passes.
    pub passes: bool,
    /// Seed of the threads.
    pub seed: u64,
    /// Total [%] in each drawn thread and whether it passes, in the order of drawing; `None` where it could not be carried
    /// out to its end.
    pub drawn: Vec<Option<(f64, bool)>>,
}

impl Sensitivity {
    /// The marks of an attempt in its own thread and in those drawn.
    #[must_use]
    pub fn of(own: &Score, seed: u64, drawn: Vec<Option<(f64, bool)>>) -> Sensitivity {
        Sensitivity { own: own.total, passes: own.passed, seed, drawn }
    }

    fn totals(&self) -> impl Iterator<Item = f64> {
        self.drawn.iter().flatten().map(|(total, _)| *total)
    }

    /// Root of the mean square by which the total in a drawn thread differs from the attempt's own [%]; `None` if none was
    /// carried out.
    #[must_use]
    pub fn error(&self) -> Option<f64> {
        let count = self.totals().count();
        let squares: f64 = self.totals().map(|total| (total - self.own) * (total - self.own)).sum();
        (count > 0).then(|| (squares / count as f64).sqrt())
    }

    /// Least and greatest total in a drawn thread [%].
    #[must_use]
    pub fn range(&self) -> Option<[f64; 2]> {
        Some([self.totals().reduce(f64::min)?, self.totals().reduce(f64::max)?])
    }

    /// In how many of the drawn threads the attempt passes.
    #[must_use]
    pub fn passing(&self) -> usize {
        self.drawn.iter().flatten().filter(|(_, passed)| *passed).count()
    }

    /// In how many it could not be carried out to its end.
    #[must_use]
    pub fn missing(&self) -> usize {
        self.drawn.iter().filter(|one| one.is_none()).count()
    }

    /// Whether it passes in one thread and fails in another.
    #[must_use]
    pub fn flips(&self) -> bool {
        self.drawn.iter().flatten().any(|(_, passed)| *passed != self.passes)
    }

    /// All of it in a sentence.
    #[must_use]
    pub fn sentence(&self) -> Said {
        let count = self.drawn.len();
        let (Some(error), Some([least, greatest])) = (self.error(), self.range()) else {
            return said!(
                "mark-drawn-none",
                "In none of {count} threads drawn from the material's ranges could it be carried out.",
                count
            );
        };
        let missing = match self.missing() {
            0 => Said::default(),
            missing => {
                said!("mark-drawn-missing", ", {missing} could not be carried out to the end", missing)
            }
        };
        let verdict = match (self.flips(), self.passes) {
            (false, true) => said!("mark-drawn-passes", "and passes in all of them"),
            (false, false) => said!("mark-drawn-fails", "and fails in all of them"),
            (true, true) => said!("mark-drawn-pass-hangs", "and the pass hangs on the thread"),
            (true, false) => said!("mark-drawn-fail-hangs", "and the fail hangs on the thread"),
        };
        said!(
            "mark-drawn",
            "{own} plus or minus {error}: the same hands earn {least} to {greatest} in {count} threads drawn from the \
             material's ranges of friction and stiffness (seed {seed}){missing}; {passing} pass, {verdict}.",
            own = number(self.own, 1),
            error = number(error, 1),
            least = number(least, 1),
            greatest = number(greatest, 1),
            count,
            seed = Said::plain(self.seed.to_string()),
            missing,
            passing = self.passing(),
            verdict
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(totals: &[(f64, bool)]) -> Sensitivity {
        Sensitivity { own: 80.0, passes: true, seed: 3, drawn: totals.iter().copied().map(Some).collect() }
    }

    #[test]
    fn the_error_is_the_root_of_the_mean_square_distance_from_the_own_mark() {
        // Distances of 3 and 4: the root of (9 + 16) / 2.
        let found = drawn(&[(83.0, true), (76.0, true)]);
        assert!((found.error().expect("two were drawn") - 12.5_f64.sqrt()).abs() < 1e-12);
        assert_eq!((found.range(), found.passing(), found.flips()), (Some([76.0, 83.0]), 2, false));
        assert_eq!(
            found.sentence(),
            "80.0 plus or minus 3.5: the same hands earn 76.0 to 83.0 in 2 threads drawn from the material's ranges of \
             friction and stiffness (seed 3); 2 pass, and passes in all of them."
        );
    }

    #[test]
    fn a_verdict_that_hangs_on_the_thread_and_threads_without_a_mark_are_said() {
        let mut found = drawn(&[(83.0, true), (60.0, false)]);
        found.drawn.push(None);
        assert_eq!((found.passing(), found.missing(), found.flips()), (1, 1, true));
        let sentence = found.sentence();
        assert!(
            sentence.contains("1 could not be carried out to the end; 1 pass, and the pass hangs on"),
            "{sentence}"
        );
        found.drawn = vec![None];
        assert_eq!((found.error(), found.range(), found.flips()), (None, None, false));
        assert!(found.sentence().starts_with("In none of 1 threads"), "{}", found.sentence());
    }
}
