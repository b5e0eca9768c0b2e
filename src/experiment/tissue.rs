//! The gum of an experiment: built from its text, loaded by threads and by the clock, and measured.

use super::curve::vector;
use super::drive::amount_at;
use super::schema::{Experiment, Load, Quantity, Vector};
use super::tissue_schema::{FlapSide, TissueSpec, WayKey};
use crate::math::{DVec2, DVec3};
use crate::quantity::MN_PER_N;
use crate::rod::Rod;
use crate::rod::surroundings::{Host, Sleeve, Surroundings};
use crate::simulation::gum::Gum;
use crate::simulation::needle::{Needle, Passage, State, piercing_force};
use crate::tissue::{
    BiteId, BiteSpec, Flaps, FlapsSettings, HoleLoad, Membrane, OutOfRange, Side, SurfaceLoad, TickLoads,
};

/// Stiffness of a hole that has thread in it [mN/mm], as in an attempt.
const HOLE_STIFFNESS: f64 = 20_000.0;

/// mmHg in a kPa.
const MMHG_PER_KPA: f64 = 1.0 / 0.133_322;

/// Both flaps, their holes, and what is pushed into them.
#[derive(Debug, Clone)]
pub(super) struct Bed {
    pub(super) gum: Gum,
    holes: Vec<HoleState>,
    needles: Vec<NeedleState>,
    loads: Vec<Load>,
}

/// One hole.
#[derive(Debug, Clone)]
struct HoleState {
    name: String,
    /// Where the thread's seat rests now [mm].
    seat: DVec3,
    /// Force on it in the last step [mN].
    force: DVec3,
}

#[derive(Debug, Clone)]
struct NeedleState {
    name: String,
    motion: Vec<WayKey>,
    needle: Needle,
    way: f64,
}

/// The flaps' settings.
pub(super) fn settings(spec: &TissueSpec) -> FlapsSettings {
    let flap = spec.flap;
    let mut settings =
        FlapsSettings { length_mm: flap.length_mm, gap_mm: spec.edge_gap_mm, ..FlapsSettings::default() };
    for side in [&mut settings.cheek, &mut settings.tongue] {
        side.thickness_mm = flap.thickness_mm;
        side.height_mm = flap.height_mm;
        side.modulus_kpa = flap.modulus_kpa;
        side.tear.quality = flap.quality;
    }
    settings
}

/// A number that flaps cannot have, with the hole that has it, if it is a hole's.
pub(super) type Misfit = (Option<usize>, OutOfRange);

/// Flaps with all their holes; or what cannot be, each number with the hole that has it.
pub(super) fn flaps(spec: &TissueSpec) -> Result<(Flaps, Vec<BiteId>), Vec<Misfit>> {
    // Both flaps are alike, so one of them says all that is wrong.
    let whole = |found: Vec<OutOfRange>| -> Vec<Misfit> {
        found.into_iter().filter(|found| !found.place.starts_with("tongue.")).map(|found| (None, found)).collect()
    };
    let mut flaps = Flaps::new(settings(spec)).map_err(whole)?;
    let (mut bites, mut wrong) = (Vec::new(), Vec::new());
    for (k, hole) in spec.holes.iter().enumerate() {
        let bite = BiteSpec {
            side: side(hole.flap),
            x_mm: hole.along_wound_mm,
            edge_distance_mm: hole.edge_distance_mm,
            thread_diameter_mm: hole.diameter_mm,
        };
        match flaps.add_bite(bite) {
            Ok(bite) => bites.push(bite),
            Err(found) => wrong.extend(found.into_iter().map(|found| (Some(k), found))),
        }
    }
    if wrong.is_empty() { Ok((flaps, bites)) } else { Err(wrong) }
}

pub(super) fn side(flap: FlapSide) -> Side {
    match flap {
        FlapSide::Cheek => Side::Cheek,
        FlapSide::Tongue => Side::Tongue,
    }
}

impl Bed {
    /// The gum of an experiment, and the threads through its holes put into `around`; `node` finds a place's node.
    ///
    /// # Errors
    /// What no check of the text alone can see.
    pub(super) fn lay(
        experiment: &Experiment,
        spec: &TissueSpec,
        rod: &Rod,
        around: &mut Surroundings,
        node: impl Fn(&str, super::schema::Place) -> Option<usize>,
    ) -> Result<Bed, String> {
        let (flaps, bites) =
            flaps(spec).map_err(|wrong| wrong.iter().map(|(_, w)| w.to_string()).collect::<Vec<_>>().join("; "))?;
        let mut holes = Vec::new();
        for (k, hole) in spec.holes.iter().enumerate() {
            let seat = flaps.rest_point(bites[k]);
            for pass in &hole.threads {
                let node = node(&pass.thread, pass.place).ok_or("a hole's thread is not there")?;
                let off = (rod.positions[node] - seat).truncate().length();
                if off > hole.diameter_mm + 0.5 * rod.rest_lengths[node.min(rod.rest_lengths.len() - 1)] {
                    return Err(format!("thread {} lies {off:.3} mm beside hole {}", pass.thread, hole.name));
                }
                around.sleeves.push(Sleeve {
                    host: Host::Bite(k),
                    rest: rod.positions[node],
                    material: rod.material[node],
                    stiffness: HOLE_STIFFNESS,
                    friction: pass.friction,
                    drag: pass.grip_n * MN_PER_N,
                    anchor: 0.0,
                    force: DVec3::ZERO,
                });
            }
            holes.push(HoleState { name: hole.name.clone(), seat, force: DVec3::ZERO });
        }
        around.sleeves.sort_by(|a, b| a.material.total_cmp(&b.material));
        around.bites = vec![DVec3::ZERO; bites.len()];
        let needle = |push: &super::tissue_schema::NeedlePush| {
            let (radius, arc) = (8.0, 2.0);
            let pose = crate::math::Pose { position: DVec3::ZERO, rotation: crate::math::DQuat::IDENTITY };
            let mut needle = Needle::held(radius, arc, 0.5, 0, &pose, &pose);
            needle.state = State::Resting(pose);
            NeedleState { name: push.name.clone(), motion: push.motion.clone(), needle, way: 0.0 }
        };
        let membrane = Membrane::new(DVec2::ZERO, DVec2::ZERO);
        let needles = spec.needles.iter().map(needle).collect();
        Ok(Bed { gum: Gum { flaps, membrane, bites }, holes, needles, loads: experiment.loads.clone() })
    }

    /// Lets threads and clocked loads act on the gum until `time` [ms], `dt` after the step before.
    pub(super) fn advance(&mut self, rod: &Rod, around: &mut Surroundings, time: f64, dt: f64) {
        if dt <= 0.0 {
            return;
        }
        let (mut forces, mut pinches) = self.of_threads(rod, around);
        for load in &self.loads {
            match load {
                Load::Hole { hole, keys } => {
                    let k = self.place(hole);
                    let force = amount_at(keys.iter().map(|key| (key.at_ms, key.force_n)), time) * MN_PER_N;
                    forces[k] += force;
                    // As a loop that pulls so.
                    pinches[k] += 0.5 * force.length();
                }
                Load::Loop { holes, keys } => {
                    let tension = amount_at(keys.iter().map(|key| (key.at_ms, [key.tension_n, 0.0, 0.0])), time).x;
                    let tension = tension * MN_PER_N;
                    let [a, b] = [0, 1].map(|end| self.place(&holes[end]));
                    let way = (self.holes[b].seat - self.holes[a].seat).normalize_or_zero();
                    forces[a] += way * (2.0 * tension);
                    forces[b] -= way * (2.0 * tension);
                    pinches[a] += tension;
                    pinches[b] += tension;
                }
                Load::Force { .. } | Load::Moment { .. } | Load::Press { .. } => {}
            }
        }
        let bites = &self.gum.bites;
        let loads: Vec<HoleLoad> = (0..bites.len())
            .map(|k| HoleLoad { bite: bites[k], force: forces[k], pressing_mn: pinches[k].max(0.0) })
            .collect();
        let presses = self.presses(time);
        self.gum.flaps.update(&TickLoads { holes: &loads, presses: &presses }, dt);
        for (hole, force) in self.holes.iter_mut().zip(forces) {
            hole.force = force;
        }
        self.follow_tears(around);
        for needle in &mut self.needles {
            needle.advance(time, dt);
        }
    }

    /// Force [mN] of the threads on each hole, and how hard they pinch it.
    fn of_threads(&self, rod: &Rod, around: &Surroundings) -> (Vec<DVec3>, Vec<f64>) {
        let mut forces = vec![DVec3::ZERO; self.holes.len()];
        let mut pinches = vec![0.0; self.holes.len()];
        for sleeve in &around.sleeves {
            let Host::Bite(k) = sleeve.host else { continue };
            forces[k] += sleeve.force;
            let node = rod.node_at(sleeve.material);
            let beside = [node.checked_sub(1), Some(node)].into_iter().flatten();
            let tension =
                beside.filter(|&edge| edge < rod.rest_lengths.len() && rod.live(edge)).map(|e| rod.tension(e));
            pinches[k] = tension.fold(pinches[k], f64::max);
        }
        (forces, pinches)
    }

    fn presses(&self, time: f64) -> Vec<SurfaceLoad> {
        let press = |load: &Load| match load {
            Load::Press { point_mm, keys } => {
                let force = amount_at(keys.iter().map(|key| (key.at_ms, [key.tension_n, 0.0, 0.0])), time).x;
                Some(SurfaceLoad { point: vector(*point_mm), force_mn: force.max(0.0) * MN_PER_N })
            }
            _ => None,
        };
        self.loads.iter().filter_map(press).collect()
    }

    /// Holes follow their seat as it tears; one that has torn out holds nothing.
    fn follow_tears(&mut self, around: &mut Surroundings) {
        for (k, hole) in self.holes.iter_mut().enumerate() {
            let now = self.gum.flaps.rest_point(self.gum.bites[k]);
            let shift = now - std::mem::replace(&mut hole.seat, now);
            let host = Host::Bite(k);
            around.sleeves.iter_mut().filter(|s| s.host == host).for_each(|s| s.rest += shift);
            if self.gum.flaps.tear(self.gum.bites[k]).torn_through {
                around.sleeves.retain(|s| s.host != host);
            }
        }
    }

    fn place(&self, name: &str) -> usize {
        self.holes.iter().position(|hole| hole.name == name).expect("checked: the hole exists")
    }

    /// A quantity of the gum in its unit; `None` if it is none of the gum's.
    pub(super) fn measure(&self, quantity: &Quantity) -> Option<f64> {
        let flaps = &self.gum.flaps;
        let bite = |name: &str| self.gum.bites[self.place(name)];
        Some(match quantity {
            Quantity::HoleDisplacement { hole, along } => part(flaps.hole_displacement(bite(hole)), *along),
            Quantity::HoleForce { hole, along } => part(self.holes[self.place(hole)].force, *along) / MN_PER_N,
            Quantity::TearLength { hole } => flaps.tear(bite(hole)).slit_mm,
            Quantity::TearForce { hole } => flaps.tear_force(bite(hole)) / MN_PER_N,
            Quantity::PressedArea { above_mmhg } => self.pressed_area(above_mmhg / MMHG_PER_KPA),
            Quantity::PaleArea => flaps.blanched_area_mm2(),
            Quantity::PaleDose => flaps.blanched_mm2_s(),
            Quantity::Paleness { flap, along_wound_mm, from_edge_mm } => {
                let blood = flaps.flap(side(*flap)).blood();
                blood.mean_around(DVec2::new(*along_wound_mm, *from_edge_mm), blood.spots().spacing() * 1.5)[0]
            }
            Quantity::EdgeGap { along_wound_mm } => {
                let edge = |side| flaps.flap(side).edge_y(*along_wound_mm);
                edge(Side::Cheek) - edge(Side::Tongue)
            }
            Quantity::TissueEnergy => self.energy() / MN_PER_N,
            Quantity::NeedleForce { needle } => {
                let found = self.needles.iter().find(|n| n.name == *needle).expect("checked: the needle exists");
                found.needle.resistance(DVec3::X).length() / MN_PER_N
            }
            _ => return None,
        })
    }

    /// Area of both flaps on whose blood more than this presses [kPa], holes and all [mm^2].
    fn pressed_area(&self, above: f64) -> f64 {
        let of = |side| {
            let blood = self.gum.flaps.flap(side).blood();
            let spot = blood.spots().spacing();
            blood.pressure().iter().filter(|&&pressure| pressure > above).count() as f64 * spot.x * spot.y
        };
        Side::BOTH.into_iter().map(of).sum()
    }

    /// What both flaps store [mN mm].
    fn energy(&self) -> f64 {
        let flaps = &self.gum.flaps;
        let moved = |bite| flaps.hole_displacement(bite);
        let own: f64 = self.gum.bites.iter().map(|&bite| flaps.bite_energy(bite, moved(bite)).energy).sum();
        let shared: f64 = flaps.couplings().iter().map(|c| moved(c.a).dot(c.stiffness * moved(c.b))).sum();
        let pairs = flaps.edge_pairs().iter();
        let met: f64 = pairs.map(|pair| flaps.edge_contact(pair, moved(pair.cheek), moved(pair.tongue)).energy).sum();
        own + shared + met
    }
}

impl NeedleState {
    fn advance(&mut self, time: f64, dt: f64) {
        let keys = self.motion.iter().map(|key| (key.at_ms, [key.way_mm, 0.0, 0.0]));
        let start = std::iter::once((0.0, [0.0; 3])).filter(|_| self.motion.first().is_some_and(|key| key.at_ms > 0.0));
        let way = amount_at(start.chain(keys), time).x;
        self.needle.speed = (way - self.way) / dt;
        self.way = way;
        let new = || Passage {
            side: Side::Cheek,
            entry: DVec3::ZERO,
            entry_forward: DVec3::X,
            depth: 0.0,
            way: 0.0,
            push: piercing_force(1.0, 1.0),
            pierced: false,
        };
        let passage = self.needle.passage.get_or_insert_with(new);
        passage.way = way;
        // Gum of any thickness: the point goes straight in.
        passage.pierced |= passage.gives_way(f64::INFINITY);
    }
}

/// A vector's part along a direction, or its size.
fn part(v: DVec3, along: Option<Vector>) -> f64 {
    along.map_or(v.length(), |along| v.dot(vector(along).normalize()))
}
