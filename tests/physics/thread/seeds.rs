//! Seeded variations of one run, spread over the machine's cores.

/// Runs `one` for every seed below `count` and fails with the first few that went wrong.
pub(super) fn all_go_right(count: u64, one: fn(u64) -> Result<(), String>) {
    let workers = std::thread::available_parallelism().map_or(1, usize::from) as u64;
    let share = |worker| (0..count).filter(move |seed| seed % workers == worker).filter_map(|seed| one(seed).err());
    let wrong: Vec<String> = std::thread::scope(|scope| {
        let share = &share;
        let all: Vec<_> = (0..workers).map(|w| scope.spawn(move || share(w).collect::<Vec<_>>())).collect();
        all.into_iter().flat_map(|part| part.join().expect("no run panics")).collect()
    });
    let first = wrong[..wrong.len().min(5)].join("\n");
    assert!(wrong.is_empty(), "{} of {count} went wrong, first:\n{first}", wrong.len());
}
