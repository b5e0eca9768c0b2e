//! What earlier attempts at the same case were worth.

/// An attempt among others at the same case, by the rubric that it was tied under.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// Day of the attempt, `YYYY-MM-DD`, UTC.
    pub day: String,
    /// Total, 0 to 100.
    pub total: f64,
    /// Whether it passed.
    pub passed: bool,
    /// Id and mark of each criterion, 0 to 1, in the order of the ids.
    pub marks: Vec<(String, f64)>,
}

impl Past {
    /// The mark of a criterion; `None` if it had none then.
    #[must_use]
    pub fn mark(&self, id: &str) -> Option<f64> {
        self.marks.iter().find(|(marked, _)| marked == id).map(|(_, mark)| *mark)
    }
}
