//! What an attempt does to its thread: where steel closed on it, how hard it was pulled, what it sawed through.

use super::World;
use super::attempt::Attempt;
use crate::analysis::findings::{Crush, PeakTension, Sawing, ThreadUse};
use crate::quantity::{MN_PER_N, Tick};
use crate::rod::surroundings::Host;

/// What is noted of the thread on the way.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ThreadWatch {
    /// The largest tension [mN], its place along the thread from the swaged end [mm], and when.
    pub peak: Option<(f64, f64, Tick)>,
    /// Of each bite, in the order in which they were taken.
    pub saws: Vec<Saw>,
}

/// Thread on its way through one bite.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Saw {
    /// What lay in each of the bite's two holes, along the thread from the swaged end [mm].
    last: [Option<f64>; 2],
    /// Way through each hole times the tension there [mN mm].
    work: [f64; 2],
    /// The most of it in one tick [mN mm], and which.
    most: (f64, Tick),
}

impl ThreadWatch {
    /// Looks at the thread after a tick.
    pub(super) fn observe(&mut self, world: &World) {
        let rod = &world.rod;
        let balanced = rod.is_balanced(world.reports.last().map_or(0.0, |report| report.residual));
        for edge in (0..rod.rest_lengths.len()).filter(|&edge| balanced && rod.live(edge)) {
            let tension = rod.tension(edge);
            if tension > self.peak.map_or(0.0, |peak| peak.0) {
                self.peak = Some((tension, 0.5 * (rod.material[edge] + rod.material[edge + 1]), world.tick));
            }
        }
        self.saws.resize(world.taken.len(), Saw::default());
        let filled = world.needle.as_ref().map_or(0, |needle| needle.filled);
        let mut hole_of = vec![0; world.taken.len()];
        for (index, sleeve) in world.around.sleeves.iter().enumerate() {
            let Host::Bite(bite) = sleeve.host else { continue };
            let Some(saw) = self.saws.get_mut(bite) else { continue };
            let hole = hole_of[bite];
            hole_of[bite] = 1;
            if index < filled {
                continue;
            }
            let node = rod.node_at(sleeve.material);
            let beside = [node.checked_sub(1), Some(node)].into_iter().flatten();
            let tension =
                beside.filter(|&edge| balanced && rod.live(edge)).map(|edge| rod.tension(edge)).fold(0.0, f64::max);
            saw.draw(hole, sleeve.material, tension, world.tick);
        }
    }
}

impl Saw {
    fn draw(&mut self, hole: usize, material: f64, tension: f64, now: Tick) {
        let way = self.last[hole].map_or(0.0, |last| (material - last).abs());
        self.last[hole] = Some(material);
        let work = way * tension;
        self.work[hole] += work;
        if work > self.most.0 {
            self.most = (work, now);
        }
    }

    /// Way times tension [mN mm] at the hole that had more of it.
    #[must_use]
    pub fn work(&self) -> f64 {
        self.work[0].max(self.work[1])
    }
}

impl Attempt {
    /// What was done to the thread that may weaken it.
    pub(super) fn thread_use(&self) -> ThreadUse {
        let strength = self.world.rod.section.strength;
        ThreadUse {
            crushed: self.world.crushed.iter().filter_map(|&(tick, place)| self.crush(tick, place)).collect(),
            peak: self.watch.thread.peak.map(|(tension, from_swage_mm, tick)| PeakTension {
                tension_n: tension / MN_PER_N,
                share: tension / strength,
                from_swage_mm,
                tick,
            }),
            sawing: self.sawing(),
        }
    }

    /// A grip, if the thread that was gripped is still in a stitch.
    fn crush(&self, tick: Tick, from_swage_mm: f64) -> Option<Crush> {
        let world = &self.world;
        let gripped = |stitch: &usize| world.is_at(from_swage_mm, &world.stitch_piece(*stitch));
        let stitch = (0..world.stitch_count()).filter(gripped).find(|&stitch| world.loop_nodes(stitch).is_some())?;
        let (strand, tail) = world.knot_span(stitch).or_else(|| {
            let (strand, tail) = world.loop_nodes(stitch)?;
            Some((world.rod.material[strand], world.rod.material[tail]))
        })?;
        let beyond_knot_mm = (strand - from_swage_mm).max(from_swage_mm - tail).max(0.0);
        Some(Crush { stitch: number(stitch), from_swage_mm, beyond_knot_mm, tick })
    }

    fn sawing(&self) -> Vec<Sawing> {
        let taken = &self.world.taken;
        let each = taken.iter().zip(&self.watch.thread.saws).enumerate().map(|(index, ((_, bite), saw))| Sawing {
            stitch: number(bite.stitch),
            bite: number(taken[..index].iter().filter(|(_, other)| other.stitch == bite.stitch).count()),
            work_n_mm: saw.work() / MN_PER_N,
            tick: saw.most.1,
        });
        each.collect()
    }
}

fn number(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn way_counts_both_ways_times_the_tension_it_was_drawn_under() {
        let mut saw = Saw::default();
        for (tick, material, tension) in [(1, 10.0, 500.0), (2, 12.0, 100.0), (3, 11.0, 400.0), (4, 11.0, 900.0)] {
            saw.draw(0, material, tension, Tick(tick));
        }
        assert!((saw.work() - (2.0 * 100.0 + 1.0 * 400.0)).abs() < 1e-9, "{saw:?}");
        assert_eq!(saw.most.1, Tick(3));
    }
}
