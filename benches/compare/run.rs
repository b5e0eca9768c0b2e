//! What a solver hands back, whichever it is.

use crate::task::Task;
use knotwright::math::DVec3;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;
use std::time::Instant;

/// Where the nodes were at a time.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Sample {
    /// Time of the task; a run in shorter time has gone `pace` times as far [ms].
    pub(crate) time_ms: f64,
    pub(crate) points_mm: Vec<DVec3>,
}

/// One run of one solver through one task.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Run {
    pub(crate) solver: String,
    /// Steps, iterations and what else was chosen.
    pub(crate) settings: String,
    pub(crate) samples: Vec<Sample>,
    /// Simulated time over the task's time: explicit codes go through the same loads in less of it.
    pub(crate) pace: f64,
    pub(crate) simulated_ms: f64,
    /// Time on a core of stepping alone, without start-up, compilation and sampling [s].
    pub(crate) core_s: f64,
    /// Most memory of the process so far [MiB], and what of it was there before the first step.
    pub(crate) peak_mib: f64,
    pub(crate) start_mib: f64,
    /// What must be said beside the numbers.
    pub(crate) note: String,
}

impl Run {
    /// The last sample, if the run went through the whole task.
    pub(crate) fn complete(&self, task: &Task) -> Option<&Sample> {
        self.samples.last().filter(|s| s.time_ms > task.duration_ms() - 1.5 * task.sample_ms)
    }

    /// Simulated time over time on a core.
    pub(crate) fn real_time_factor(&self) -> f64 {
        1e-3 * self.simulated_ms / self.core_s
    }
}

/// A line of `/proc/self/status` [MiB]; zero where there is no such file.
pub(crate) fn memory_mib(field: &str) -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with(field));
    let kib = line.and_then(|line| line.split_whitespace().nth(1)).and_then(|kib| kib.parse::<f64>().ok());
    kib.unwrap_or(0.0) / 1024.0
}

/// Time that this process has had a core so far [s]; since the first call by the clock, where the system does not say.
pub(crate) fn core_seconds() -> f64 {
    static START: OnceLock<Instant> = OnceLock::new();
    let text = std::fs::read_to_string("/proc/self/schedstat").unwrap_or_default();
    let nanoseconds = text.split_whitespace().next().and_then(|field| field.parse::<f64>().ok());
    nanoseconds.map_or_else(|| START.get_or_init(Instant::now).elapsed().as_secs_f64(), |ns| 1e-9 * ns)
}
