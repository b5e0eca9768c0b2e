//! What was measured in an attempt, from its end and from what was noted on the way.

use super::attempt::Attempt;
use super::needle::{State, Taken};
use crate::analysis::findings::{
    Bite, Blanching, Direction, EdgeStation, Edges, Findings, Form, Handedness, Knot, LoopTension, Measured,
    MembraneCover, NeedleEvent, NeedleEventKind, Side, Stitch, Tails, Tear, ThreadBreak, Throw, Tissue, Validity,
};
use crate::analysis::reading::{self, Reading};
use crate::math::{DVec3, atan2};
use crate::quantity::{MN_PER_N, Tick};
use crate::scenario::KnotSide;
use crate::tissue;

impl Attempt {
    /// Everything measured up to now.
    #[must_use]
    pub fn findings(&self) -> Findings {
        let stitches = (0..self.watch.stitches.len()).map(|index| self.stitch(index)).collect();
        Findings {
            duration: self.world.tick,
            site: self.site_check(),
            stitches,
            tissue: self.tissue(),
            needle: self.needle_events(),
            thread_use: self.thread_use(),
            thread_breaks: self.thread_breaks(),
            validity: Validity {
                invalid_ticks: self.watch.invalid.clone(),
                residual: self.watch.residual,
                substeps: self.watch.substeps,
                substeps_above_tolerance: self.watch.substeps_above_tolerance,
            },
        }
    }

    fn now(&self, value: f64) -> Measured {
        Measured::new(value, self.world.tick)
    }

    fn stitch(&self, index: usize) -> Stitch {
        let noted = &self.watch.stitches[index];
        let knot = self.knot(index);
        let undone = noted.knots.last().filter(|&&(_, determinant)| determinant == 1 && noted.is_tied());
        let taken = self.world.taken.iter().filter(|(_, taken)| taken.stitch == index);
        Stitch {
            bites: taken.map(|&(tick, taken)| bite(tick, &taken)).collect(),
            knot_undone: if knot.is_none() { undone.map(|&(tick, _)| tick) } else { None },
            knot,
            loop_tension: noted.loop_peak.map(|peak_mn| {
                let now_mn = self.now(self.world.loop_tension(index));
                LoopTension { now_mn, peak_mn }
            }),
            tails: self.tails(index),
        }
    }

    fn knot(&self, stitch: usize) -> Option<Knot> {
        let reading = reading::read(&self.world.stitch_curve(stitch)?);
        let untied = reading.determinant == Some(1) && reading.clear;
        let centre = reading.knot_centre.or_else(|| self.world.knot_middle(stitch));
        let centre = centre.filter(|_| !untied)?;
        Some(Knot {
            notation: notation(&reading),
            throws: self.throws(stitch, &reading),
            form: match reading.form {
                Some(reading::Form::Sliding) => Form::Sliding,
                _ => Form::Flat,
            },
            form_measure: reading.curvature_asymmetry.abs(),
            unclear: if reading.clear { None } else { reading.reason.clone() },
            determinant: reading.determinant.and_then(|d| u64::try_from(d).ok()),
            from_wound_line_mm: self.now(centre.y),
            outside_socket_mm: self.now(self.outside_socket(centre)),
            holding: None,
        })
    }

    /// Distance of a place beyond the ordered flap's edge, as the edge lies now [mm].
    fn outside_socket(&self, place: DVec3) -> f64 {
        let side = match self.scenario.task.knot_side {
            KnotSide::Cheek => tissue::Side::Cheek,
            KnotSide::Tongue => tissue::Side::Tongue,
        };
        side.sign() * (place.y - self.world.gum.flaps.flap(side).edge_y(place.x))
    }

    fn throws(&self, stitch: usize, reading: &Reading) -> Vec<Throw> {
        let mut determinant = 1;
        let throws = reading.throws.iter().map(|throw| {
            determinant *= 2 * i64::from(throw.wraps) + 1;
            Throw {
                wraps: throw.wraps,
                handedness: if throw.handedness < 0 { Handedness::Left } else { Handedness::Right },
                direction: match throw.direction {
                    reading::Direction::Away => Direction::Away,
                    reading::Direction::Toward => Direction::Toward,
                },
                tick: self.laid_at(stitch, determinant),
            }
        });
        throws.collect()
    }

    /// Since when the knot has had at least this determinant; now, if no look has shown it yet. A later throw that
    /// came and went leaves the ones below it alone.
    fn laid_at(&self, stitch: usize, determinant: i64) -> Tick {
        let lasting =
            self.watch.stitches[stitch].knots.iter().rev().take_while(|&&(_, seen)| seen >= determinant).last();
        lasting.map_or(self.world.tick, |&(tick, _)| tick)
    }

    /// What was left beyond the knot on either side, along the thread.
    fn tails(&self, stitch: usize) -> Tails {
        let [strand_mm, tail_mm] = self.world.cut_ends(stitch).map(|end| end.map(|length| self.now(length)));
        Tails { tail_mm, strand_mm }
    }

    fn tissue(&self) -> Tissue {
        let (world, watch) = (&self.world, &self.watch);
        let flaps = &world.gum.flaps;
        let gap = |x: f64| flaps.flap(tissue::Side::Cheek).edge_y(x) - flaps.flap(tissue::Side::Tongue).edge_y(x);
        let gaps = world.taken.iter().map(|(_, taken)| gap(taken.seat.x).max(0.0));
        Tissue {
            blanching: Some(Blanching {
                end_mm2: self.now(flaps.blanched_area_mm2()),
                peak_mm2: watch.blanched_peak,
                integral_mm2_s: self.now(flaps.blanched_mm2_s()),
                persisting_mm2: watch.persisting,
                peak_place: watch.pale_places[0],
                lasting_place: if watch.persisting.is_some() { watch.pale_places[1] } else { world.pale_place() },
            }),
            tears: self.tears(),
            edges_gap_mm: gaps.reduce(f64::max).map(|gap| self.now(gap)),
            edges: Some(self.edges()),
            membrane: Some(self.membrane()),
        }
    }

    fn membrane(&self) -> MembraneCover {
        let overlap = self.world.gum.membrane.least_overlap_mm(&self.world.gum.flaps);
        let pierced = self.world.needle_events.iter().filter(|(_, kind, _)| *kind == NeedleEventKind::PiercedMembrane);
        MembraneCover {
            under_cheek_mm: self.now(overlap.cheek_mm),
            under_tongue_mm: self.now(overlap.tongue_mm),
            pierced: pierced.map(|&(tick, ..)| tick).collect(),
            dragged_mm: self.watch.membrane_dragged,
        }
    }

    fn edges(&self) -> Edges {
        let stations = self.world.gum.flaps.gap_profile().into_iter().map(|station| EdgeStation {
            along_wound_mm: station.x_mm,
            gap_mm: station.gap_mm(),
            step_mm: station.step_mm,
        });
        Edges { stations: stations.collect(), tick: self.world.tick }
    }

    fn tears(&self) -> Vec<Tear> {
        let number = |index: usize| u32::try_from(index).unwrap_or(u32::MAX);
        let taken = &self.world.taken;
        let noted = taken.iter().enumerate().zip(&self.watch.tears);
        let mut tears: Vec<Tear> = noted
            .filter_map(|((index, (_, bite)), ticks)| {
                let tear = self.world.gum.flaps.tear(bite.bite);
                let tick = ticks[1].or(ticks[0])?;
                let in_stitch = taken[..index].iter().filter(|(_, other)| other.stitch == bite.stitch).count();
                let (stitch, bite) = (number(bite.stitch), number(in_stitch));
                Some(Tear { stitch, bite, slit_mm: tear.slit_mm, through: tear.torn_through, tick })
            })
            .collect();
        tears.sort_by_key(|tear| tear.tick);
        tears
    }

    fn thread_breaks(&self) -> Vec<ThreadBreak> {
        let broke = self.world.thread_breaks.iter().map(|&(tick, found)| ThreadBreak {
            from_swage_mm: found.material,
            tension_n: found.tension / MN_PER_N,
            load_n: found.load / MN_PER_N,
            tick,
        });
        broke.collect()
    }

    fn needle_events(&self) -> Vec<NeedleEvent> {
        let event =
            |tick, kind, at: DVec3| NeedleEvent { kind, along_wound_mm: at.x, across_mm: at.y, force_n: None, tick };
        let happened = self.world.needle_events.iter().map(|&(tick, kind, at)| event(tick, kind, at));
        let lost = self.world.needle.as_ref().and_then(|needle| match needle.state {
            State::Resting(pose) => Some(event(self.world.tick, NeedleEventKind::Lost, needle.point(&pose, 0.0))),
            _ => None,
        });
        let met = self.world.meetings.iter().chain(self.world.needle.iter().flat_map(|needle| &needle.meeting));
        let met = met.map(|meeting| NeedleEvent {
            force_n: Some(meeting.push / MN_PER_N),
            ..event(meeting.tick, meeting.kind(), meeting.place)
        });
        let mut events: Vec<NeedleEvent> = happened.chain(met).chain(lost).collect();
        events.sort_by_key(|event| event.tick);
        events
    }
}

fn bite(tick: Tick, taken: &Taken) -> Bite {
    let forward = taken.forward;
    let level = (forward.x * forward.x + forward.y * forward.y).sqrt();
    Bite {
        flap: match taken.bite.side {
            tissue::Side::Cheek => Side::Cheek,
            tissue::Side::Tongue => Side::Tongue,
        },
        along_wound_mm: taken.along_wound,
        distance_from_edge_mm: taken.distance_from_edge,
        depth_mm: taken.depth,
        angle_deg: atan2(forward.z.abs(), level).to_degrees(),
        tick,
    }
}

fn notation(reading: &Reading) -> String {
    let sliding = reading.form == Some(reading::Form::Sliding);
    if sliding { format!("S{}", reading.notation) } else { reading.notation.clone() }
}
