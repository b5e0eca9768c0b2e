//! Several knots alike, and what most or all of them do: where friction holds a knot or lets it slip, the last bits of how it is
//! laid can decide, so that one knot says little.

use crate::slow::runs;
use knotwright::rod::Section;

/// How many knots alike are tied: usually, when slow tests are required, and when all are wanted. Odd, so that one is the median.
pub(super) const MEMBERS: [u64; 3] = [3, 5, 9];
/// Fewer, where each takes some seconds.
pub(super) const FEW: [u64; 3] = [3, 3, 9];
/// By how much of its length each is laid longer than the one before it: no law knows of so little, but rounding is less, so that no
/// two go the same way wherever chance decides.
const LONGER: f64 = 1e-12;

/// The lengths of a knot's member of this number over those of the first.
pub(super) fn longer(member: u64) -> f64 {
    1.0 + LONGER * member as f64
}

/// What `one` gives for every member, of as many as are [asked for](runs).
pub(super) fn members<T: Send>(counts: [u64; 3], one: impl Fn(u64) -> T + Sync) -> Vec<T> {
    spread(runs(counts), one)
}

/// What `one` gives for several threads like this one, each thicker than the one before it by [`LONGER`]: a knot is laid in
/// lengths that go with its thread's radius.
pub(super) fn alike<T: Send>(counts: [u64; 3], section: Section, one: impl Fn(Section) -> T + Sync) -> Vec<T> {
    members(counts, |member| one(Section { radius: section.radius * longer(member), ..section }))
}

/// What `one` gives for every number below `count`, in their order, spread over the machine's cores.
pub(super) fn spread<T: Send>(count: u64, one: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let workers = std::thread::available_parallelism().map_or(1, usize::from) as u64;
    let share =
        |worker| (0..count).filter(move |number| number % workers == worker).map(|number| (number, one(number)));
    let mut found: Vec<(u64, T)> = std::thread::scope(|scope| {
        let share = &share;
        let all: Vec<_> = (0..workers).map(|w| scope.spawn(move || share(w).collect::<Vec<_>>())).collect();
        all.into_iter().flat_map(|part| part.join().expect("no run panics")).collect()
    });
    found.sort_by_key(|&(number, _)| number);
    found.into_iter().map(|(_, found)| found).collect()
}

/// The middle one of an odd number of values.
pub(super) fn median(values: impl IntoIterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.into_iter().collect();
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}
