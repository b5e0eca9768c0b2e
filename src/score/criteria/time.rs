//! Time: how long the attempt took, from its first moment until it was handed in.

use crate::analysis::findings::Findings;
use crate::said::{Said, measure, said};
use crate::score::TaskOrder;
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, tenth};
use crate::score::curve::Curve;

/// Judges the time of the whole attempt.
#[derive(Debug, Clone, Copy)]
pub struct InTime;

const TIME_FULL: Band = Band {
    id: "time_full_s",
    default: 103.0,
    unit: "s",
    min: 1.0,
    max: 1000.0,
    doc: "longest time that earns everything",
    source: "a stitch in 63 to 103 s: half the times that separated competent operators from novices in a study of two \
             intra-oral stitches, n = 38 (from memory)",
};
const TIME_NONE: Band = Band {
    id: "time_none_s",
    default: 206.0,
    unit: "s",
    min: 1.0,
    max: 1000.0,
    doc: "time from which it earns nothing",
    source: COMMON_PRACTICE,
};

impl Criterion for InTime {
    fn id(&self) -> &'static str {
        "time"
    }

    fn title(&self) -> &'static str {
        "In good time"
    }

    fn doc(&self) -> &'static str {
        "A mouth cannot be held open for long. The time from the first moment to the last is marked, and only where \
         something was tied: haste that ties nothing is not good time."
    }

    fn source(&self) -> &'static str {
        "times of competent operators and novices: see the bands"
    }

    fn bands(&self) -> &'static [Band] {
        &[TIME_FULL, TIME_NONE]
    }

    fn assess(&self, findings: &Findings, _order: &TaskOrder, bands: &Bands) -> Assessment {
        if findings.knots().next().is_none() {
            return Assessment::missing(
                said!("mark-time-no-knot", "No knot was tied in any time."),
                said!("mark-tie-the-knot", "Tie the knot that the task asks for."),
            );
        }
        let Some(time) = tenth(findings.duration.seconds()) else {
            return Assessment::unmeasured(said!("mark-time-unmeasured", "The time was not measured."));
        };
        let curve = Curve::RampDown { full: bands.of(&TIME_FULL), none: bands.of(&TIME_NONE) };
        let mark = curve.mark(time);
        let fault = mark < 1.0;
        Assessment {
            mark,
            evidence: said!("mark-time-took", "The attempt took {time}.", time = measure(time, 1, "s")),
            value: Some((time, "s")),
            band: curve.describe("s"),
            advice: if fault {
                said!(
                    "mark-time-advice",
                    "Plan where each hand goes before it moves, and take no way twice; haste is not needed."
                )
            } else {
                Said::default()
            },
            tick: Some(findings.duration),
            fault,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Tick;
    use crate::score::example::{check, findings};

    #[test]
    fn time_is_marked_along_its_ramp_and_only_where_something_is_tied() {
        check(&InTime, &findings(), "1.00", "The attempt took 90.0 s.");
        let mut slow = findings();
        slow.duration = Tick(60 * 154 + 30);
        check(&InTime, &slow, "0.50", "The attempt took 154.5 s.");
        slow.stitches[0].knot = None;
        check(&InTime, &slow, "0.00", "No knot was tied in any time.");
    }
}
