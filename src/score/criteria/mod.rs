//! The criteria, one a file: what it judges, where its thresholds come from, how it marks, and its tests.

pub mod bite;
pub mod blanching;
pub mod cut_ends;
pub mod edges;
pub mod holds;
pub mod knot_aside;
pub mod laid_square;
pub mod membrane_cover;
pub mod needle_care;
pub mod snug;
pub mod spacing;
pub mod tearing;
pub mod thread_care;
pub mod throws;
pub mod time;

use super::criterion::Criterion;

/// Every criterion, in the order in which a report lists them.
pub const CRITERIA: &[&dyn Criterion] = &[
    &throws::Throws,
    &laid_square::LaidSquare,
    &blanching::BlanchedGum,
    &tearing::Tearing,
    &knot_aside::KnotAside,
    &bite::BitePlacement,
    &spacing::Spacing,
    &membrane_cover::MembraneCover,
    &edges::Edges,
    &needle_care::NeedleCare,
    &thread_care::ThreadCare,
    &cut_ends::CutEnds,
    &holds::KnotHolds,
    &snug::Snug,
    &time::InTime,
];

/// The criterion called `id`, if there is one.
#[must_use]
pub fn named(id: &str) -> Option<&'static dyn Criterion> {
    CRITERIA.iter().copied().find(|criterion| criterion.id() == id)
}
