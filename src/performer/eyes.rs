//! What scripted hands can see: where the tail is, how tight a strand is, what lies round the holder.
//!
//! A person tying has this by looking and feeling; nothing here changes the world.

use crate::math::{DVec3, Pose};
use crate::rod::contact::Partner;
use crate::rod::surroundings::{Host, Sleeve};
use crate::simulation::{LEFT, RIGHT, World};
use crate::topology::closure::identify_open;
use crate::topology::gauss::{gauss_between, winding_about_axis};
use std::ops::Range;

/// Distance from the tail's end at which it is looked at and grasped [mm]; estimate: no more than the jaws cover, or
/// loops would hang on the end that stands out of them.
pub const TAIL_GRASP: f64 = 0.7;

/// Eyes on a world.
#[derive(Clone, Copy)]
pub struct Eyes<'a> {
    world: &'a World,
}

impl<'a> Eyes<'a> {
    /// Looks at this world.
    #[must_use]
    pub fn on(world: &'a World) -> Eyes<'a> {
        Eyes { world }
    }

    /// The piece of thread that is being sewn with: the current stitch's.
    fn piece(&self) -> Range<usize> {
        self.world.stitch_piece(self.world.current_stitch())
    }

    /// Material coordinate of the tail's end [mm].
    #[must_use]
    pub fn tail_end(&self) -> f64 {
        self.world.rod.material[self.piece().end - 1]
    }

    /// Holes the current stitch runs through, from the strand's side to the tail's.
    #[must_use]
    pub fn holes(&self) -> Vec<&'a Sleeve> {
        let (world, stitch) = (self.world, self.world.current_stitch());
        let current = |sleeve: &&Sleeve| matches!(sleeve.host, Host::Bite(bite) if world.stitch_of(bite) == stitch);
        let mut holes: Vec<&Sleeve> = world.around.sleeves.iter().filter(current).collect();
        holes.sort_by(|a, b| a.material.total_cmp(&b.material));
        holes
    }

    /// Material coordinates [mm] where the strand and the tail leave the tissue; `None` if no thread runs through it, or
    /// the loop in it is cut through.
    #[must_use]
    pub fn loop_ends(&self) -> Option<(f64, f64)> {
        let (holes, piece) = (self.holes(), self.piece());
        let (strand, tail) = (holes.first()?.material, holes.last()?.material);
        let whole = [strand, tail].iter().all(|&at| piece.contains(&self.world.rod.node_at(at)));
        whole.then_some((strand, tail))
    }

    /// Place and direction of the tail a little before its end.
    #[must_use]
    pub fn tail(&self) -> (DVec3, DVec3) {
        let i = self.world.rod.node_at(self.tail_end() - TAIL_GRASP).min(self.piece().end - 2);
        let p = &self.world.rod.positions;
        (p[i], (p[i + 1] - p[i - 1]).normalize())
    }

    /// Length of the tail from the tissue to its end [mm].
    #[must_use]
    pub fn tail_length(&self) -> f64 {
        self.loop_ends().map_or(0.0, |(_, tail)| self.tail_end() - tail)
    }

    /// Strand and tail, each from the tissue outward; the strand ends where the left hand holds it.
    #[must_use]
    pub fn limbs(&self) -> (Vec<DVec3>, Vec<DVec3>) {
        let Some((strand, tail)) = self.loop_ends() else { return (Vec::new(), Vec::new()) };
        let p = &self.world.rod.positions;
        let held = self.world.strand_hold(LEFT).map_or(0.0, |s| s.material);
        let (first, from) = (self.world.rod.node_at(held), self.world.rod.node_at(strand));
        let long = (first..from).rev().map(|i| p[i]).collect();
        let short = p[self.world.rod.node_at(tail)..self.piece().end].to_vec();
        (long, short)
    }

    /// Free strand between the tissue and the left hand [mm].
    #[must_use]
    pub fn free_strand(&self) -> f64 {
        let held = self.world.strand_hold(LEFT).map_or(0.0, |s| s.material);
        self.loop_ends().map_or(0.0, |(strand, _)| strand - held)
    }

    /// Tension of the strand near the left hand [mN].
    #[must_use]
    pub fn strand_tension(&self) -> f64 {
        self.world.strand_tension()
    }

    /// Tension of the tail next to the holder's jaws [mN], 0 when they hold none.
    #[must_use]
    pub fn tail_tension(&self) -> f64 {
        let held = self.world.around.grips.iter().filter(|g| g.tool == RIGHT).map(|g| g.node).min();
        held.filter(|&n| n > 7).map_or(0.0, |n| self.world.mean_tension(n - 6..n - 1))
    }

    /// Turns of the strand about the holder, signed: over the top away from the operator is negative for a holder
    /// that comes from the right.
    #[must_use]
    pub fn winding(&self) -> f64 {
        let (long, _) = self.limbs();
        if long.len() < 2 {
            return 0.0;
        }
        let pose = self.world.pose(RIGHT);
        winding_about_axis(&long, pose.position, pose.direction(DVec3::X), -1.0, 40.0)
    }

    /// Gauss integral between the limbs.
    #[must_use]
    pub fn gauss(&self) -> f64 {
        let (long, short) = self.limbs();
        if long.len() < 2 || short.len() < 2 { 0.0 } else { gauss_between(&long, &short) }
    }

    /// Determinant of the closed-up thread from the tail's end to the left hand: 1 when nothing is tied, and times
    /// 2n + 1 with each throw of n wraps.
    #[must_use]
    pub fn determinant(&self) -> Option<i64> {
        let held = self.world.strand_hold(LEFT).map_or(0.0, |s| s.material);
        let points = &self.world.rod.positions[self.world.rod.node_at(held)..self.piece().end];
        identify_open(points, 25, 1).map(|found| found.determinant)
    }

    /// How many nodes of the tail the holder's jaws have, and whether they have anything else.
    #[must_use]
    pub fn grasped(&self) -> (usize, usize) {
        let (tail, piece) = (self.loop_ends().map_or(f64::INFINITY, |(_, tail)| tail), self.piece());
        let mut counts = (0, 0);
        for grip in self.world.around.grips.iter().filter(|g| g.tool == RIGHT) {
            if self.world.rod.material[grip.node] > tail && grip.node < piece.end {
                counts.0 += 1;
            } else {
                counts.1 += 1;
            }
        }
        counts
    }

    /// Where the strand leaves the tissue.
    #[must_use]
    pub fn strand_hole(&self) -> DVec3 {
        self.loop_ends().map_or(DVec3::ZERO, |(strand, _)| self.world.rod.positions[self.world.rod.node_at(strand)])
    }

    /// Where the tail leaves the tissue.
    #[must_use]
    pub fn tail_hole(&self) -> DVec3 {
        self.loop_ends().map_or(DVec3::ZERO, |(_, tail)| self.world.rod.positions[self.world.rod.node_at(tail)])
    }

    /// Middle of the knot: where strand and tail press on each other near the tissue.
    #[must_use]
    pub fn knot(&self) -> Option<DVec3> {
        let (strand, tail) = self.loop_ends()?;
        let material = &self.world.rod.material;
        let (reach, end) = (22.0, self.tail_end());
        let mut sum = DVec3::ZERO;
        let mut count = 0.0;
        for touch in &self.world.memory.touches {
            let Partner::Edge(other) = touch.partner else { continue };
            let (a, b) = (material[touch.edge], material[other]);
            if a < strand && a > strand - reach && b > tail && b < end.min(tail + reach) {
                sum += touch.place;
                count += 1.0;
            }
        }
        (count > 0.0).then(|| sum / count)
    }

    /// Mean distance behind the holder's tip at which the strand touches it [mm].
    #[must_use]
    pub fn loops_behind_tip(&self) -> Option<f64> {
        let pose = self.world.pose(RIGHT);
        let tail = self.loop_ends()?.1;
        let mut sum = 0.0;
        let mut count = 0.0;
        for touch in &self.world.memory.touches {
            if matches!(touch.partner, Partner::Shape(RIGHT, _)) && self.world.rod.material[touch.edge] < tail {
                sum += pose.local(touch.place).x;
                count += 1.0;
            }
        }
        (count > 0.0).then(|| sum / count)
    }

    /// The pose of an instrument.
    #[must_use]
    pub fn pose(&self, hand: usize) -> Pose {
        self.world.pose(hand)
    }
}
