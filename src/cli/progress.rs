//! What is shown while one waits, on the standard error and only to people.

use super::session::Session;
use crate::quantity::TICKS_PER_SECOND;
use indicatif::{ProgressBar, ProgressStyle};
use std::io::{IsTerminal, stderr};

/// The bar of one attempt, whose length nobody knows before.
pub(super) struct AttemptProgress(ProgressBar);

impl AttemptProgress {
    pub(super) fn new() -> AttemptProgress {
        let bar = if stderr().is_terminal() { ProgressBar::new_spinner() } else { ProgressBar::hidden() };
        AttemptProgress(bar)
    }

    /// Shows where the attempt is, four times in each of its seconds.
    pub(super) fn show(&self, session: &Session, phase: &str) {
        let tick = session.tick_count();
        if tick.0.is_multiple_of(TICKS_PER_SECOND / 4) {
            self.0.set_message(format!("{:6.1} s  {phase}", tick.seconds()));
            self.0.tick();
        }
    }
}

impl Drop for AttemptProgress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}

/// The bar of several attempts.
pub(super) fn runs(count: u32) -> ProgressBar {
    bar(u64::from(count), "{bar:40} {pos}/{len} attempts, {eta} left")
}

/// The bar of several pulls.
pub(super) fn pulls(count: u64) -> ProgressBar {
    bar(count, "{bar:40} {pos}/{len} pulls, {eta} left")
}

/// The bar of one task of which a share is done.
pub(super) struct ShareProgress(ProgressBar);

impl ShareProgress {
    const LENGTH: u64 = 1000;

    pub(super) fn new() -> ShareProgress {
        ShareProgress(bar(Self::LENGTH, "{bar:40} {percent} %, {eta} left"))
    }

    /// Shows that this share is done, 0..=1.
    pub(super) fn show(&self, share: f64) {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of the bar")]
        self.0.set_position((share * Self::LENGTH as f64) as u64);
    }
}

impl Drop for ShareProgress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}

fn bar(length: u64, template: &str) -> ProgressBar {
    if !stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let style = ProgressStyle::with_template(template);
    ProgressBar::new(length).with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()))
}
