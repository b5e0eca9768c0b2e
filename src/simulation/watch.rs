//! What is noted of an attempt while it runs, because its end does not show it.

use super::World;
use super::thread_watch::ThreadWatch;
use crate::analysis::findings::{FlapPlace, Measured, Side};
use crate::analysis::reading::{StitchCurve, read};
use crate::math::DVec2;
use crate::quantity::{TICKS_PER_SECOND, Tick};
use crate::tissue;
use crate::topology::HalfKnot;
use crate::topology::closure::identify_open;

/// Ticks between two looks at the knot; a change that two looks in a row show was not just passing.
const LOOK_EVERY: u32 = TICKS_PER_SECOND / 4;

/// Paling is measured again this long after a throw was laid.
const PERSISTING_AFTER: u32 = 5 * TICKS_PER_SECOND;

/// Unbalanced force [mN] that must not last: a tenth of what tightens a knot; estimate.
const RESIDUAL_MAX: f64 = 200.0;

/// Ticks for which it may last.
const RESIDUAL_TICKS: u32 = TICKS_PER_SECOND / 2;

/// Forces below this do not count as the largest one acting [mN]: in a slack thread all forces are small.
const FORCE_MIN: f64 = 100.0;

/// Facts of an attempt over time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Watch {
    /// Of each stitch, in the order in which they were begun.
    pub stitches: Vec<StitchWatch>,
    /// Largest pale area [mm2].
    pub blanched_peak: Measured,
    /// Pale area 5 s after the last throw [mm2].
    pub persisting: Option<Measured>,
    /// For each bite: when it began to slit, and when it tore through.
    pub tears: Vec<[Option<Tick>; 2]>,
    /// Ticks at which something impossible happened.
    pub invalid: Vec<Tick>,
    /// Largest unbalanced force as a share of the largest force then acting.
    pub residual: Measured,
    /// Sub-steps that were solved, not slept through.
    pub substeps: u32,
    /// How many of them ended above the solver's tolerance.
    pub substeps_above_tolerance: u32,
    /// What was done to the thread.
    pub thread: ThreadWatch,
    /// Where the pale area was when it was largest, and 5 s after the last throw.
    pub pale_places: [Option<FlapPlace>; 2],
    /// How far the membrane lies from where it was [mm], and when it last moved.
    pub membrane_dragged: Option<Measured>,
    membrane_centre: DVec2,
    unbalanced_ticks: u32,
}

/// Facts of one stitch over time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StitchWatch {
    /// Determinants of the knot, each with the tick from which it was so; a throw multiplies it.
    pub knots: Vec<(Tick, i64)>,
    /// The throws as last read, in notation; empty if there are none, or none that can be read.
    pub notation: String,
    /// The same throws, the one nearest to the tissue first.
    pub half_knots: Vec<HalfKnot>,
    /// Largest loop tension since the first throw [mN].
    pub loop_peak: Option<Measured>,
    seen: Option<(Tick, i64)>,
}

impl StitchWatch {
    /// Whether a throw has been laid.
    #[must_use]
    pub fn is_tied(&self) -> bool {
        self.knots.iter().any(|&(_, determinant)| determinant > 1)
    }

    /// What to show of the throws: their notation, `unclear` if something is tied that cannot be read, or nothing.
    #[must_use]
    pub fn throws(&self) -> String {
        if self.is_tied() && self.notation.is_empty() { "unclear".into() } else { self.notation.clone() }
    }

    fn observe(&mut self, world: &World, stitch: usize) {
        if world.tick.0.is_multiple_of(LOOK_EVERY) {
            self.look_at_knot(world, stitch);
        }
        if self.is_tied() {
            let tension = world.loop_tension(stitch);
            if self.loop_peak.is_none_or(|peak| tension > peak.value) {
                self.loop_peak = Some(Measured::new(tension, world.tick));
            }
        }
    }

    fn look_at_knot(&mut self, world: &World, stitch: usize) {
        let Some(curve) = world.stitch_curve(stitch) else { return };
        let Some(found) = identify_open(&curve.points, 9, 1) else { return };
        let before = self.knots.last().map_or(1, |&(_, determinant)| determinant);
        if found.determinant == before {
            self.seen = None;
            // What could not be read while it was loose may be clear by now.
            if self.is_tied() && self.notation.is_empty() {
                self.read_throws(&curve);
            }
            return;
        }
        match self.seen {
            Some((since, determinant)) if determinant == found.determinant => {
                self.knots.push((since, determinant));
                self.read_throws(&curve);
                self.seen = None;
            }
            _ => self.seen = Some((world.tick, found.determinant)),
        }
    }

    fn read_throws(&mut self, curve: &StitchCurve) {
        let reading = read(curve);
        self.half_knots = reading.half_knots().collect();
        self.notation = reading.notation;
    }
}

impl Watch {
    /// Looks at the world after a tick.
    pub fn observe(&mut self, world: &World) {
        self.stitches.resize(world.stitch_count(), StitchWatch::default());
        for (index, stitch) in self.stitches.iter_mut().enumerate() {
            stitch.observe(world, index);
        }
        self.thread.observe(world);
        self.look_at_gum(world);
        self.look_at_solver(world);
    }

    fn look_at_gum(&mut self, world: &World) {
        let (now, pale) = (world.tick, world.gum.flaps.blanched_area_mm2());
        if pale > self.blanched_peak.value {
            self.blanched_peak = Measured::new(pale, now);
            self.pale_places[0] = world.pale_place();
        }
        // A throw that is laid after it puts an end to what was measured.
        let last = self.stitches.iter().filter_map(|stitch| stitch.knots.last()).max_by_key(|knot| knot.0);
        if let Some(&(laid, determinant)) = last {
            if determinant > 1 && now.0 == laid.0 + PERSISTING_AFTER {
                self.persisting = Some(Measured::new(pale, now));
                self.pale_places[1] = world.pale_place();
            }
            self.persisting = self.persisting.filter(|measured| measured.tick >= laid);
        }
        let centre = world.gum.membrane.centre();
        if centre != self.membrane_centre {
            self.membrane_centre = centre;
            self.membrane_dragged = Some(Measured::new(centre.length(), now));
        }
        self.tears.resize(world.taken.len(), [None; 2]);
        for (noted, (_, taken)) in self.tears.iter_mut().zip(&world.taken) {
            let tear = world.gum.flaps.tear(taken.bite);
            for (noted, happened) in noted.iter_mut().zip([tear.slit_mm > 0.0, tear.torn_through]) {
                if happened && noted.is_none() {
                    *noted = Some(now);
                }
            }
        }
    }

    fn look_at_solver(&mut self, world: &World) {
        let now = world.tick;
        if world.reports.iter().any(|r| r.passed_through || r.broken) {
            self.invalid.push(now);
        }
        for report in world.reports.iter().filter(|report| !report.asleep) {
            self.substeps += 1;
            self.substeps_above_tolerance += u32::from(report.residual > world.settings.tolerance);
        }
        let left = world.reports.last().map_or(0.0, |r| r.residual);
        let share = left / world.largest_force().max(FORCE_MIN);
        if share > self.residual.value {
            self.residual = Measured::new(share, now);
        }
        let all_unbalanced = world.reports.iter().all(|r| r.residual > RESIDUAL_MAX);
        self.unbalanced_ticks = if all_unbalanced { self.unbalanced_ticks + 1 } else { 0 };
        if self.unbalanced_ticks == RESIDUAL_TICKS {
            self.invalid.push(now);
        }
    }
}

impl World {
    /// Middle of the pale area of the flap that has more of it, if any is pale.
    #[must_use]
    pub fn pale_place(&self) -> Option<FlapPlace> {
        let of = |side| self.gum.flaps.flap(side).blood().pale_middle().map(|(area, middle)| (area, side, middle));
        let (cheek, tongue) = (of(tissue::Side::Cheek), of(tissue::Side::Tongue));
        let more =
            if tongue.map_or(0.0, |found| found.0) > cheek.map_or(0.0, |found| found.0) { tongue } else { cheek };
        more.map(|(_, side, middle)| FlapPlace {
            flap: match side {
                tissue::Side::Cheek => Side::Cheek,
                tissue::Side::Tongue => Side::Tongue,
            },
            along_wound_mm: middle.x,
            from_edge_mm: middle.y,
        })
    }

    /// The largest force anywhere: in the thread, on it, or of a hand [mN].
    #[must_use]
    pub fn largest_force(&self) -> f64 {
        let tensions = (0..self.rod.rest_lengths.len()).map(|i| self.rod.tension(i).abs());
        let touches = self.memory.touches.iter().map(|t| t.force);
        let hands = self.around.tools.iter().filter_map(|tool| {
            tool.hand.map(|hand| (hand.stiffness * tool.position.distance(hand.target)).min(hand.force_max))
        });
        tensions.chain(touches).chain(hands).fold(0.0, f64::max)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn throws_are_shown_as_read_or_as_unclear_but_never_as_none_once_something_is_tied() {
        let watch = |knots: &[(Tick, i64)], notation: &str| StitchWatch {
            knots: knots.to_vec(),
            notation: notation.into(),
            ..StitchWatch::default()
        };
        for (knots, notation, shown) in
            [(&[][..], "", ""), (&[(Tick(60), 5)], "2", "2"), (&[(Tick(60), 5), (Tick(90), 15)], "", "unclear")]
        {
            assert_eq!(watch(knots, notation).throws(), shown, "{knots:?}, {notation:?}");
        }
    }
}
