//! What is wrong with a scenario: where, what was found and what is allowed, in one sentence each.

use std::fmt;

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// The scenario cannot be used.
    Error,
    /// It can, but its author should know.
    Warning,
}

/// One thing that is wrong with a scenario.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// How bad it is.
    pub severity: Severity,
    /// Name of the file, as the caller gave it.
    pub file: String,
    /// Line of the value, from 1.
    pub line: usize,
    /// Column of the value in characters, from 1.
    pub column: usize,
    /// Path of the field, such as `task.throws[1].wraps`; `scenario` for the whole.
    pub field: String,
    /// What stands there.
    pub found: String,
    /// What may stand there, with its unit.
    pub allowed: String,
    /// Why, or what to do about it; may be empty.
    pub hint: String,
}

impl Problem {
    /// What is wrong, without where.
    #[must_use]
    pub fn verdict(&self) -> String {
        let Problem { found, allowed, hint, .. } = self;
        let hint = if hint.is_empty() { String::new() } else { format!(" ({hint})") };
        format!("is {found}, allowed {allowed}{hint}")
    }

    /// The line of `text` that it points at, with a mark below the place; each line begins with a line break. Nothing, if
    /// the text has no such line.
    #[must_use]
    pub fn excerpt(&self, text: &str) -> String {
        let Some(line) = text.lines().nth(self.line - 1) else { return String::new() };
        let number = self.line.to_string();
        // A long line is cut so that the place stays in sight.
        let skipped = self.column.saturating_sub(EXCERPT_CHARS);
        let shown: String = line.chars().skip(skipped).take(EXCERPT_CHARS + 20).collect();
        let (margin, before) = (" ".repeat(number.len()), " ".repeat(self.column - 1 - skipped));
        format!("\n  {number} | {shown}\n  {margin} | {before}^")
    }
}

/// Characters of a line that are shown before the place of a problem, at most.
const EXCERPT_CHARS: usize = 100;

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Problem { file, line, column, field, .. } = self;
        let warning = if self.severity == Severity::Warning { "warning: " } else { "" };
        write!(f, "{file}:{line}:{column}: {warning}{field} {}", self.verdict())
    }
}

/// Every problem of one scenario, in the order of the text; one a line when shown.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problems(pub Vec<Problem>);

impl Problems {
    /// Whether any of them makes the scenario unusable.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.0.iter().any(|problem| problem.severity == Severity::Error)
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.0.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            problem.fmt(f)?;
        }
        Ok(())
    }
}

impl std::error::Error for Problems {}
