//! How benchmarks time a frame, and what they say of many.

use std::hint::black_box;
use std::time::Instant;

/// Time that something takes [ms].
pub(crate) fn timed(what: impl FnOnce()) -> f64 {
    let started = Instant::now();
    what();
    started.elapsed().as_secs_f64() * 1e3
}

/// About half a millisecond of arithmetic that nothing can shorten.
pub(crate) fn fixed_arithmetic() {
    let mut x = 1.0_f64;
    for _ in 0..black_box(100_000) {
        x = x.sqrt() * 1.5 + 0.1;
    }
    black_box(x);
}

/// Costs of many frames [ms], ascending.
pub(crate) struct Costs(Vec<f64>);

impl Costs {
    /// Costs in any order.
    pub(crate) fn of(mut costs: Vec<f64>) -> Costs {
        costs.sort_by(f64::total_cmp);
        Costs(costs)
    }

    /// Their mean [ms].
    pub(crate) fn mean(&self) -> f64 {
        self.0.iter().sum::<f64>() / self.0.len() as f64
    }

    /// Mean, median, 99th percentile and worst, in words.
    pub(crate) fn text(&self) -> String {
        let count = self.0.len();
        let at = |percent: usize| self.0[(count * percent / 100).min(count - 1)];
        format!(
            "mean {:6.2}, median {:6.2}, p99 {:6.2}, worst {:6.2} ms",
            self.mean(),
            at(50),
            at(99),
            self.0[count - 1]
        )
    }
}
