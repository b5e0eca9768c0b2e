//! The two flaps of one wound, what the thread does to them, and what is to be seen and scored of it.

use serde::{Deserialize, Serialize};

use super::bite::{BiteId, BiteSpec};
use super::edge_contact::{EdgeContact, EdgeLaw};
use super::flap::{BiteEnergy, Coupling, Flap, FlapForces, Side};
use super::flap_settings::FlapSettings;
use super::perfusion::PerfusionSettings;
use super::pressure::{Halo, PressureSettings};
use super::problem::{Check, OutOfRange};
use super::tearing::Tear;
use crate::math::{DVec2, DVec3};

/// Bites of the two flaps this near to each other along the wound [mm] belong to one stitch and draw their edges
/// together.
const PAIR_REACH: f64 = 2.5;

/// Sizes, tissue and laws of both flaps.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FlapsSettings {
    /// Length of both flaps along the wound [mm].
    pub length_mm: f64,
    /// Distance between their free edges at rest [mm].
    pub gap_mm: f64,
    /// Cheek flap.
    pub cheek: FlapSettings,
    /// Tongue flap.
    pub tongue: FlapSettings,
    /// How forces press on blood.
    pub pressure: PressureSettings,
    /// How blood answers.
    pub perfusion: PerfusionSettings,
}

impl Default for FlapsSettings {
    /// A flap over one premolar and half of each neighbour; the gap is an estimate of an open socket's.
    fn default() -> Self {
        Self {
            length_mm: 20.0,
            gap_mm: 6.0,
            cheek: FlapSettings::default(),
            tongue: FlapSettings::default(),
            pressure: PressureSettings::default(),
            perfusion: PerfusionSettings::default(),
        }
    }
}

impl FlapsSettings {
    /// Every number that is out of its range.
    pub fn check(&self) -> Result<(), Vec<OutOfRange>> {
        let mut check = Check::default();
        check.range("length_mm", self.length_mm, [5.0, 60.0], "mm");
        check.range("gap_mm", self.gap_mm, [0.0, 20.0], "mm");
        self.cheek.check(Side::Cheek, &mut check);
        self.tongue.check(Side::Tongue, &mut check);
        check.range("pressure.tension_share", self.pressure.tension_share, [0.0, 0.5], "(ratio)");
        check.range("pressure.pinch_width_mm", self.pressure.pinch_width_mm, [0.1, 2.0], "mm");
        check.range("pressure.press_width_mm", self.pressure.press_width_mm, [0.1, 5.0], "mm");
        let times = &self.perfusion;
        check.range("perfusion.paling_s", times.paling_s, [0.01, 60.0], "s");
        check.range("perfusion.refill_s", times.refill_s, [0.01, 60.0], "s");
        check.range("perfusion.refill_slowing_s", times.refill_slowing_s, [0.0, 60.0], "s");
        check.range("perfusion.long_press_s", times.long_press_s, [1.0, 3600.0], "s");
        check.range("perfusion.recovery_s", times.recovery_s, [0.1, 3600.0], "s");
        check.range("perfusion.full_redness_s", times.full_redness_s, [1.0, 3600.0], "s");
        check.finish()
    }
}

/// What the thread does to one hole during a tick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoleLoad {
    /// The hole.
    pub bite: BiteId,
    /// Force with which the thread pulls the tissue [mN].
    pub force: DVec3,
    /// Force with which the thread pinches the flap at the hole [mN], not negative: about its tension.
    pub pressing_mn: f64,
}

/// Something lying on a flap during a tick: a limb of the thread, a knot, an instrument.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceLoad {
    /// Where [mm].
    pub point: DVec3,
    /// Force pressed into the surface [mN], not negative.
    pub force_mn: f64,
}

/// All loads of one tick; holes that are not named are not pulled.
#[derive(Debug, Clone, Copy, Default)]
pub struct TickLoads<'a> {
    /// Loads of holes, at most one a hole.
    pub holes: &'a [HoleLoad],
    /// Loads on the surface; those beside both flaps do nothing.
    pub presses: &'a [SurfaceLoad],
}

/// Two bites of one stitch whose edges may meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePair {
    /// Bite in the cheek flap.
    pub cheek: BiteId,
    /// Bite in the tongue flap.
    pub tongue: BiteId,
    /// How their edges meet.
    pub law: EdgeLaw,
}

/// The gap at one place along the wound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeGap {
    /// Along the wound [mm].
    pub x_mm: f64,
    /// Edge of the cheek flap, its y [mm].
    pub cheek_y_mm: f64,
    /// Edge of the tongue flap, its y [mm].
    pub tongue_y_mm: f64,
    /// How much higher the cheek flap's edge stands than the tongue flap's [mm]: between bites the surface is a smooth
    /// bump, so this is an estimate.
    pub step_mm: f64,
}

impl EdgeGap {
    /// Distance between the edges [mm]; 0 where they meet.
    #[must_use]
    pub fn gap_mm(&self) -> f64 {
        (self.cheek_y_mm - self.tongue_y_mm).max(0.0)
    }
}

/// The two flaps of one wound.
///
/// ```
/// use knotwright::math::DVec3;
/// use knotwright::tissue::{BiteSpec, Flaps, FlapsSettings, HoleLoad, Side, TickLoads};
///
/// let mut flaps = Flaps::new(FlapsSettings::default()).expect("the defaults are in range");
/// let spec = BiteSpec { side: Side::Cheek, x_mm: 0.0, edge_distance_mm: 2.5, thread_diameter_mm: 0.15 };
/// let bite = flaps.add_bite(spec).expect("the bite is in range");
/// let pull = HoleLoad { bite, force: DVec3::new(0.0, -100.0, 0.0), pressing_mn: 50.0 };
/// flaps.update(&TickLoads { holes: &[pull], presses: &[] }, 16.0);
/// assert!(flaps.hole_displacement(bite).y < 0.0, "the cheek flap comes toward the wound");
/// ```
#[derive(Debug, Clone)]
pub struct Flaps {
    settings: FlapsSettings,
    cheek: Flap,
    tongue: Flap,
    pairs: Vec<EdgePair>,
    blanched_mm2_s: f64,
}

impl Flaps {
    /// Flaps at rest, or every number of `settings` that is out of its range.
    pub fn new(settings: FlapsSettings) -> Result<Self, Vec<OutOfRange>> {
        settings.check()?;
        let half_gap = 0.5 * settings.gap_mm;
        Ok(Self {
            settings,
            cheek: Flap::new(Side::Cheek, settings.length_mm, half_gap, settings.cheek),
            tongue: Flap::new(Side::Tongue, settings.length_mm, half_gap, settings.tongue),
            pairs: Vec::new(),
            blanched_mm2_s: 0.0,
        })
    }

    /// One of the flaps.
    #[must_use]
    pub fn flap(&self, side: Side) -> &Flap {
        match side {
            Side::Cheek => &self.cheek,
            Side::Tongue => &self.tongue,
        }
    }

    /// Makes a hole with a thread in it, or says every number of it that is out of range.
    pub fn add_bite(&mut self, spec: BiteSpec) -> Result<BiteId, Vec<OutOfRange>> {
        self.flap(spec.side).check_bite(&spec)?;
        let bite = self.flap_mut(spec.side).add_bite(spec);
        self.renew_pairs();
        Ok(bite)
    }

    /// The thread has left the hole: the hole stays, but bears nothing.
    pub fn release(&mut self, bite: BiteId) {
        self.flap_mut(bite.side).release(bite.index);
        self.renew_pairs();
    }

    /// Where the thread's seat in a bite rests [mm]; it moves toward the edge as the hole tears.
    #[must_use]
    pub fn rest_point(&self, bite: BiteId) -> DVec3 {
        self.flap(bite.side).rest_point(bite.index)
    }

    /// Displacement of a bite from its rest point in the last tick [mm].
    #[must_use]
    pub fn hole_displacement(&self, bite: BiteId) -> DVec3 {
        self.flap(bite.side).hole_displacement(bite.index)
    }

    /// How far a bite has torn.
    #[must_use]
    pub fn tear(&self, bite: BiteId) -> Tear {
        self.flap(bite.side).bites[bite.index].tear
    }

    /// Force toward edge and up at which a bite begins to slit now [mN].
    #[must_use]
    pub fn tear_force(&self, bite: BiteId) -> f64 {
        let bite = &self.flap(bite.side).bites[bite.index];
        bite.limit.force(bite.seat().y)
    }

    /// Energy of a bite displaced from its rest point by `displacement` [mm], all other bites at rest.
    ///
    /// The energy of all bites together is the sum of these, of the [`couplings`](Self::couplings) and of the
    /// [`edge_contact`](Self::edge_contact)s. A bite that is released or torn through has none: drop its node.
    #[must_use]
    pub fn bite_energy(&self, bite: BiteId, displacement: DVec3) -> BiteEnergy {
        self.flap(bite.side).bite_energy(bite.index, displacement)
    }

    /// Elastic links between bites of the same flap.
    #[must_use]
    pub fn couplings(&self) -> Vec<Coupling> {
        let mut couplings = self.cheek.couplings();
        couplings.extend(self.tongue.couplings());
        couplings
    }

    /// Pairs of bites whose edges may meet, by cheek bite.
    #[must_use]
    pub fn edge_pairs(&self) -> &[EdgePair] {
        &self.pairs
    }

    /// Energy of the edges meeting between the bites of `pair`, displaced from their rest points [mm].
    #[must_use]
    pub fn edge_contact(&self, pair: &EdgePair, cheek: DVec3, tongue: DVec3) -> EdgeContact {
        pair.law.at(cheek, tongue)
    }

    /// Lets `loads` act for `tick_ms`: displaces, presses, pales and tears.
    ///
    /// # Panics
    /// If a force is not finite, a pressing force is negative, or `tick_ms` is not positive.
    pub fn update(&mut self, loads: &TickLoads<'_>, tick_ms: f64) {
        assert!(tick_ms > 0.0 && tick_ms.is_finite(), "a tick of {tick_ms} ms");
        let mut forces = Side::BOTH.map(|side| self.forces(loads.holes, side));
        self.add_edge_forces(&mut forces);
        let mut changed = false;
        for (side, forces) in Side::BOTH.into_iter().zip(&forces) {
            self.flap_mut(side).deform(forces);
            let halos = self.halos(loads, side);
            let (tension_share, perfusion) = (self.settings.pressure.tension_share, self.settings.perfusion);
            let flap = self.flap_mut(side);
            flap.press(&halos, tension_share, &perfusion, tick_ms / 1000.0);
            changed |= flap.tear(forces, tick_ms);
        }
        if changed {
            self.renew_pairs();
        }
        self.blanched_mm2_s += self.blanched_area_mm2() * tick_ms / 1000.0;
    }

    /// Pale area of both flaps outside the discs round the holes [mm^2].
    #[must_use]
    pub fn blanched_area_mm2(&self) -> f64 {
        self.cheek.blood().blanched_area() + self.tongue.blood().blanched_area()
    }

    /// That area summed over time [mm^2 s].
    #[must_use]
    pub fn blanched_mm2_s(&self) -> f64 {
        self.blanched_mm2_s
    }

    /// The edges along the wound.
    #[must_use]
    pub fn gap_profile(&self) -> Vec<EdgeGap> {
        let columns = 0..=self.cheek.surface().cells()[0];
        let stations = columns.map(|column| {
            let x_mm = self.cheek.surface().node_position(column, 0).x;
            let (cheek, tongue) = (self.cheek.edge(x_mm), self.tongue.edge(x_mm));
            EdgeGap { x_mm, cheek_y_mm: cheek.y, tongue_y_mm: tongue.y, step_mm: cheek.z - tongue.z }
        });
        stations.collect()
    }

    fn flap_mut(&mut self, side: Side) -> &mut Flap {
        match side {
            Side::Cheek => &mut self.cheek,
            Side::Tongue => &mut self.tongue,
        }
    }

    /// The thread's forces on one flap, sorted by bite.
    fn forces(&self, holes: &[HoleLoad], side: Side) -> FlapForces {
        let flap = self.flap(side);
        let count = flap.bites.len();
        let mut forces = FlapForces { pull: vec![DVec2::ZERO; count], lift: vec![0.0; count], edge: vec![0.0; count] };
        for load in holes.iter().filter(|load| load.bite.side == side && flap.bites[load.bite.index].bears) {
            assert!(load.force.is_finite(), "force {} on {:?}", load.force, load.bite);
            forces.pull[load.bite.index] += flap.own_vector(load.force);
            forces.lift[load.bite.index] += load.force.z;
        }
        forces
    }

    /// What pinches and presses on one flap.
    fn halos(&self, loads: &TickLoads<'_>, side: Side) -> Vec<Halo> {
        let flap = self.flap(side);
        let settings = &self.settings.pressure;
        let mut halos = Vec::with_capacity(loads.holes.len() + loads.presses.len());
        for load in loads.holes.iter().filter(|load| load.bite.side == side && flap.bites[load.bite.index].bears) {
            assert!(load.pressing_mn >= 0.0, "pressing force {} mN on {:?}", load.pressing_mn, load.bite);
            let centre = flap.bites[load.bite.index].seat();
            halos.push(Halo { centre, force: load.pressing_mn, width: settings.pinch_width_mm });
        }
        for press in loads.presses {
            assert!(press.force_mn >= 0.0, "pressing force {} mN at {}", press.force_mn, press.point);
            let centre = flap.material_point(press.point);
            halos.push(Halo { centre, force: press.force_mn, width: settings.press_width_mm });
        }
        halos
    }

    /// Forces between edges that meet, from the thread's pulls: none where there is a gap, no gap where there is one.
    fn add_edge_forces(&self, forces: &mut [FlapForces; 2]) {
        // Each sweep sets every pair in turn; a single pair is settled by the first.
        const SWEEPS: usize = 50;
        let sweeps = if self.pairs.len() > 1 { SWEEPS } else { self.pairs.len() };
        for _ in 0..sweeps {
            for pair in &self.pairs {
                let closing = self.closing(pair, forces);
                let (own, at) = (self.closing_per_force(pair), [pair.cheek.index, pair.tongue.index]);
                let held = forces[0].edge[at[0]];
                let force = (held + (closing - held / pair.law.stiffness) / (own + 1.0 / pair.law.stiffness)).max(0.0);
                forces[0].edge[at[0]] = force;
                forces[1].edge[at[1]] = force;
            }
        }
    }

    /// Closing of a pair's gap beyond touching [mm] under pulls and edge forces.
    fn closing(&self, pair: &EdgePair, forces: &[FlapForces; 2]) -> f64 {
        let mut closing = -pair.law.gap;
        for (side, forces) in Side::BOTH.into_iter().zip(forces) {
            let flap = self.flap(side);
            let bite = if side == Side::Cheek { pair.cheek } else { pair.tongue };
            let mut carried = forces.pull.clone();
            for ((carried, bite), edge) in carried.iter_mut().zip(&flap.bites).zip(&forces.edge) {
                *carried += bite.fields.edge.slope * *edge;
            }
            closing -= flap.bites[bite.index].fields.edge.slope.dot(flap.hole_answers(&carried)[bite.index]);
        }
        closing
    }

    /// How much a force between a pair's edges opens its gap through the sheets [mm/mN].
    fn closing_per_force(&self, pair: &EdgePair) -> f64 {
        let mut opening = 0.0;
        for bite in [pair.cheek, pair.tongue] {
            let flap = self.flap(bite.side);
            let slope = flap.bites[bite.index].fields.edge.slope;
            let mut unit = vec![DVec2::ZERO; flap.bites.len()];
            unit[bite.index] = slope;
            opening += slope.dot(flap.hole_answers(&unit)[bite.index]);
        }
        opening
    }

    fn renew_pairs(&mut self) {
        let mut pairs: Vec<EdgePair> = Vec::new();
        for (index, bite) in self.cheek.bites.iter().enumerate().filter(|(_, bite)| bite.bears) {
            let mut nearest: Option<(f64, usize)> = None;
            for (other, opposite) in self.tongue.bites.iter().enumerate().filter(|(_, bite)| bite.bears) {
                let distance = (bite.spec.x_mm - opposite.spec.x_mm).abs();
                let is_free = pairs.iter().all(|pair| pair.tongue.index != other);
                if is_free && distance <= PAIR_REACH && nearest.is_none_or(|(least, _)| distance < least) {
                    nearest = Some((distance, other));
                }
            }
            if let Some((_, other)) = nearest {
                pairs.push(self.pair(index, other));
            }
        }
        self.pairs = pairs;
    }

    fn pair(&self, cheek: usize, tongue: usize) -> EdgePair {
        let fields = [&self.cheek.bites[cheek].fields, &self.tongue.bites[tongue].fields];
        let law = EdgeLaw {
            slopes: [self.cheek.world_vector(-fields[0].edge.slope), self.tongue.world_vector(-fields[1].edge.slope)],
            gap: self.settings.gap_mm,
            stiffness: 1.0 / (fields[0].edge.compliance + fields[1].edge.compliance),
        };
        let cheek = BiteId { side: Side::Cheek, index: cheek };
        EdgePair { cheek, tongue: BiteId { side: Side::Tongue, index: tongue }, law }
    }
}
