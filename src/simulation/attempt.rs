//! An attempt at a scenario: the world it begins with, its ticks, and what is drawn of it.

use super::arming::{Armed, NotArmed};
use super::cutting::BLADES;
use super::gum::Gum;
use super::needle::Needle;
use super::snapshot::{FlapView, Readout, Snapshot, ToolView};
use super::threaded::Threaded;
use super::watch::{StitchWatch, Watch};
use super::{HandLimits, LEFT, RIGHT, World, wet_floor};
use crate::analysis::findings::{NeedleEventKind, SiteCheck, SiteMark};
use crate::input::{HandEvent, STEPS_PER_MM, TickCommand};
use crate::material::{self, Material};
use crate::math::{DVec3, Pose};
use crate::performer::facing;
use crate::quantity::{MN_PER_N, TICK_MS};
use crate::rod::contact::Partner;
use crate::rod::contact::friction::LoadLaw;
use crate::rod::step::Touch;
use crate::rod::surroundings::{Host, Surroundings};
use crate::rod::{Rod, Section};
use crate::scenario::{Scenario, Start};
use crate::site::{Site, laid_thread, thread_mesh};
use crate::tissue::{HoleLoad, OutOfRange, Side, SurfaceLoad, TickLoads};
use std::f64::consts::PI;

/// Pressing forces below this leave the blood alone [mN].
const PRESS_MIN: f64 = 1.0;

/// Why a scenario cannot begin.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BeginError {
    /// No such thread.
    #[error("thread is `{name}` {size}, allowed: {allowed}")]
    Thread {
        /// Material asked for.
        name: String,
        /// Size asked for.
        size: String,
        /// What there is.
        allowed: String,
    },
    /// Gum the flaps cannot be made of.
    #[error("gum: {}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Gum(Vec<OutOfRange>),
    /// A needle that cannot make the bites in one pass.
    #[error(
        "needle.length_mm gives a radius of {radius_mm:.1} mm, allowed at least {least_mm:.1} mm to span both bites"
    )]
    Needle {
        /// Radius of the arc [mm].
        radius_mm: f64,
        /// Half the way between the holes [mm].
        least_mm: f64,
    },
}

/// What a hand asked for and did not get.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// To have the needle set in the holder.
    #[error("The needle is not set: {0}")]
    Arm(NotArmed),
    /// To cut.
    #[error("Nothing is cut: no thread is within {BLADES} mm of the blades")]
    Cut,
    /// To mark the site.
    #[error("The mark counts no more: the first bite has been begun")]
    Mark,
}

/// One attempt.
pub struct Attempt {
    /// The world.
    pub world: World,
    /// The case.
    pub scenario: Scenario,
    /// What its thread is made of, with the material's own law of friction.
    pub thread: Section,
    /// What was noted on the way.
    pub watch: Watch,
    /// What was marked as the site, in order of time.
    pub marks: Vec<SiteMark>,
    /// Whether it was handed in.
    pub finished: bool,
    /// What the hands asked for in the last tick and did not get.
    pub refused: Vec<Refusal>,
}

impl Attempt {
    /// Everything as it is before the first move, in the thread that the scenario names.
    ///
    /// # Errors
    /// If the material is unknown, the flaps cannot be built or the needle cannot span both bites.
    pub fn begin(scenario: &Scenario) -> Result<Attempt, BeginError> {
        let thread = &scenario.thread;
        let known = material::find(&thread.material, &thread.size, thread.wet).ok_or_else(|| BeginError::Thread {
            name: thread.material.clone(),
            size: thread.size.clone(),
            allowed: material::names().join(", "),
        })?;
        Attempt::begin_in(scenario, &known)
    }

    /// The same in another thread than the scenario names: one drawn from its material's ranges.
    ///
    /// # Errors
    /// If the flaps cannot be built or the needle cannot span both bites.
    pub fn begin_in(scenario: &Scenario, thread: &Material) -> Result<Attempt, BeginError> {
        let site = Site::of(scenario).map_err(BeginError::Gum)?;
        let (radius, arc) = (scenario.needle.radius_mm(), f64::from(scenario.needle.arc_eighths) * 0.25 * PI);
        let half_span = 0.5 * site.gap + scenario.task.bite_mm.middle();
        if radius <= half_span {
            return Err(BeginError::Needle { radius_mm: radius, least_mm: half_span });
        }
        // The scripted hands were taught on friction in proportion to load. With the material's own law the second
        // demonstration's third throw more often draws the strand straight, so that the knot slides.
        let section = Section { friction_load: LoadLaw::COULOMB, ..thread.section };
        let (membrane_depth, wire, hard) = (site.membrane_depth, scenario.needle.wire_mm, site.hard.clone());
        let mut world = match scenario.start {
            Start::Armed => armed(scenario, site, section, [radius, arc, half_span]),
            Start::Threaded => {
                let mut world = Threaded {
                    section,
                    length: scenario.thread.length_mm,
                    thickness: membrane_depth - scenario.site.membrane.thickness_mm,
                    flaps: site.flaps,
                    membrane: site.membrane,
                    gap: site.gap,
                    bite: scenario.task.bite_mm.middle(),
                }
                .world()
                .map_err(BeginError::Gum)?;
                world.needle = Some(Needle::in_palm(radius, arc, wire));
                world
            }
        };
        world.order = Some(scenario.site.lost_tooth());
        world.limit_hands(&scenario.hands);
        world.hard = hard;
        world.membrane_face = membrane_depth - scenario.site.membrane.thickness_mm;
        if let Some(needle) = &mut world.needle {
            needle.membrane_depth = membrane_depth;
        }
        Ok(Attempt {
            world,
            scenario: scenario.clone(),
            thread: thread.section,
            watch: Watch::default(),
            marks: Vec::new(),
            finished: false,
            refused: Vec::new(),
        })
    }

    /// One tick: the events of the hands, the world, then the slow answers of the gum.
    pub fn tick(&mut self, command: &TickCommand) {
        self.refused.clear();
        for event in &command.events {
            match event {
                HandEvent::Cut { at } => {
                    let [x, y, z] = at.map(|step| f64::from(step) / STEPS_PER_MM);
                    if !self.world.cut(DVec3::new(x, y, z)) {
                        self.refused.push(Refusal::Cut);
                    }
                }
                HandEvent::Arm => self.refused.extend(self.world.arm().err().map(Refusal::Arm)),
                HandEvent::Mark { tooth } => {
                    self.marks.push(SiteMark { tooth: *tooth, tick: self.world.tick });
                    if self.site_check().first_bite.is_some() {
                        self.refused.push(Refusal::Mark);
                    }
                }
                HandEvent::Mirror => self.world.hard.mirror(),
                HandEvent::Finish => self.finished = true,
            }
        }
        self.world.step(command);
        self.world.load_gum();
        self.world.follow_tears();
        self.watch.observe(&self.world);
    }

    /// What was marked as the site up to now, and whether the first bite was begun.
    #[must_use]
    pub fn site_check(&self) -> SiteCheck {
        let entered = self.world.needle_events.iter().find(|(_, kind, _)| *kind == NeedleEventKind::Entered);
        SiteCheck { marks: self.marks.clone(), first_bite: entered.map(|&(tick, ..)| tick) }
    }

    /// All that makes the state, for [`crate::record::Digest`]: thread, instruments, bites, holes, blood.
    #[must_use]
    pub fn state_digest_parts(&self) -> Vec<Vec<f64>> {
        let world = &self.world;
        let flat = |places: &[DVec3]| places.iter().flat_map(|p| p.to_array()).collect::<Vec<f64>>();
        let tools = world.around.tools.iter().flat_map(|t| {
            let turn = t.rotation.to_array();
            t.position.to_array().into_iter().chain(turn)
        });
        let holes = world.around.sleeves.iter().flat_map(|s| [s.material, s.anchor]);
        let blood = Side::BOTH.into_iter().flat_map(|side| {
            world.gum.flaps.flap(side).blood().perfusion().iter().flat_map(|p| [p.blanch, p.ischaemia_s, p.redness])
        });
        vec![
            flat(&world.rod.positions),
            world.rod.spin.clone(),
            flat(&world.rod.set),
            tools.collect(),
            flat(&world.around.bites),
            holes.collect(),
            blood.collect(),
        ]
    }

    /// What there is to see now; `phase` is what the hands are doing, in words.
    #[must_use]
    pub fn snapshot(&self, phase: &str) -> Snapshot {
        let world = &self.world;
        let needle = world.needle.as_ref();
        let knot = self.watch.stitches.get(world.current_stitch());
        let site = self.site_check();
        let centreline = needle.zip(world.needle_pose()).map(|(n, pose)| n.centreline(&pose));
        Snapshot {
            tick: world.tick,
            strands: world.strands(),
            thread_radius: world.rod.section.radius,
            tools: [world.tool_view(RIGHT), world.tool_view(LEFT)],
            needle: centreline.unwrap_or_default(),
            needle_radius: needle.map_or(0.0, |n| 0.5 * n.wire),
            flaps: Side::BOTH.map(|side| world.flap_view(side)),
            readout: Readout {
                loop_tension_mn: world.loop_tension(world.current_stitch()),
                strand_tension_mn: world.strand_tension(),
                tail_tension_mn: world.tail_tension(),
                throws: knot.map(StitchWatch::throws).unwrap_or_default(),
                half_knots: knot.map(|knot| knot.half_knots.clone()).unwrap_or_default(),
                blanched_area_mm2: world.gum.flaps.blanched_area_mm2(),
                marked: site.marked().map(|(tooth, _)| tooth),
                bitten: site.first_bite.is_some(),
                bites: u32::try_from(self.world.gum.bites.len()).unwrap_or(u32::MAX),
                phase: phase.to_owned(),
            },
        }
    }
}

/// The needle in the holder, above the wound, the thread laid to the far side; of the needle its radius [mm], its arc [rad]
/// and half of what it has to span [mm].
fn armed(scenario: &Scenario, site: Site, section: Section, [radius, arc, half_span]: [f64; 3]) -> World {
    let Armed { needle: pose, holder: right } = Armed::above(radius, arc, 0.0, half_span);
    let left =
        Pose { position: DVec3::new(-22.0, -26.0, 26.0), rotation: facing(DVec3::new(-1.0, 0.0, 0.3), DVec3::Z) };
    let needle = Needle::held(radius, arc, scenario.needle.wire_mm, RIGHT, &right, &pose);
    let (swage, back) = (needle.point(&pose, arc), -needle.forward(&pose, arc));
    let steps = thread_mesh(scenario.thread.length_mm, scenario.task.stitches);
    let nodes = laid_thread(&steps, swage, back, section.radius);
    let around = Surroundings { floor: Some(wet_floor()), ..Surroundings::default() };
    let gum = Gum { flaps: site.flaps, membrane: site.membrane, bites: Vec::new() };
    let mut world = World::new(Rod::at_rest(section, nodes), around, gum, right, left);
    world.set_needle(needle);
    world
}

impl World {
    fn limit_hands(&mut self, hands: &crate::scenario::Hands) {
        self.limits = HandLimits {
            speed_max: hands.speed_cap_mm_per_s / 1000.0,
            force_max: hands.force_cap_n * MN_PER_N,
            ..self.limits
        };
        for hand in self.around.tools.iter_mut().filter_map(|tool| tool.hand.as_mut()) {
            hand.force_max = self.limits.force_max;
        }
    }

    /// Lets the thread's forces of the last sub-step act on the gum for a tick.
    fn load_gum(&mut self) {
        let pinches: Vec<f64> = (0..self.stitch_count()).map(|stitch| self.loop_tension(stitch)).collect();
        let hole = |(index, bite)| HoleLoad {
            bite,
            force: self.around.sleeves.iter().filter(|s| s.host == Host::Bite(index)).map(|s| s.force).sum::<DVec3>()
                + self.push_on_collars(index),
            pressing_mn: pinches[self.stitch_of(index)],
        };
        let holes: Vec<HoleLoad> = self.gum.bites.iter().copied().enumerate().map(hole).collect();
        let mut presses = self.presses();
        presses
            .extend(self.collar_touches(None).map(|touch| SurfaceLoad { point: touch.place, force_mn: touch.force }));
        self.gum.flaps.update(&TickLoads { holes: &holes, presses: &presses }, TICK_MS);
    }

    /// What presses on the surface round the holes, of one bite or of all.
    fn collar_touches(&self, bite: Option<usize>) -> impl Iterator<Item = &Touch> {
        self.memory.touches.iter().filter(move |touch| {
            let Partner::Shape(tool, _) = touch.partner else { return false };
            self.around.collars.iter().any(|c| c.tool == tool && bite.is_none_or(|bite| c.bite == bite))
        })
    }

    fn push_on_collars(&self, bite: usize) -> DVec3 {
        self.collar_touches(Some(bite)).map(|touch| touch.normal * -touch.force).sum()
    }

    /// Where the thread lies on the flaps, and how hard.
    fn presses(&self) -> Vec<SurfaceLoad> {
        let Some(floor) = self.around.floor else { return Vec::new() };
        let inside: Vec<(usize, usize)> = (0..self.stitch_count()).filter_map(|k| self.loop_nodes(k)).collect();
        let presses = self.rod.positions.iter().enumerate().filter_map(|(node, &point)| {
            let below = inside.iter().any(|loop_| node + 2 > loop_.0 && node < loop_.1 + 2);
            let overlap = floor.height + self.rod.section.radius - point.z;
            let force_mn = floor.stiffness * overlap;
            (self.rod.free[node] && !below && force_mn > PRESS_MIN).then_some(SurfaceLoad { point, force_mn })
        });
        presses.collect()
    }

    /// Tension of the strand near the left hand [mN].
    #[must_use]
    pub fn strand_tension(&self) -> f64 {
        let Some(hold) = self.strand_hold(LEFT) else { return 0.0 };
        let last = self.rod.rest_lengths.len();
        let node = self.rod.node_at(hold.material);
        self.mean_tension((node + 3).min(last)..(node + 8).min(last))
    }

    /// Tension of the tail next to the holder's jaws [mN], 0 when they hold none.
    #[must_use]
    pub fn tail_tension(&self) -> f64 {
        let held = self.around.grips.iter().filter(|g| g.tool == RIGHT && !self.is_swage(g)).map(|g| g.node).min();
        held.filter(|&n| n > 7).map_or(0.0, |n| self.mean_tension(n - 6..n - 1))
    }

    /// The pieces of thread in the field, each a polyline [mm].
    fn strands(&self) -> Vec<Vec<DVec3>> {
        let shown = self.rod.pieces().into_iter().map(|piece| {
            piece.filter(|&node| !self.rod.carried[node]).map(|node| self.rod.positions[node]).collect::<Vec<_>>()
        });
        shown.filter(|strand| strand.len() > 1).collect()
    }

    fn tool_view(&self, hand: usize) -> ToolView {
        let (tool, instrument) = (&self.around.tools[hand], &self.instruments[hand]);
        ToolView {
            kind: instrument.kind,
            pose: self.pose(hand),
            gap: instrument.gap,
            cones: tool.shapes.iter().map(|s| s.placed(tool.position, tool.rotation)).collect(),
        }
    }

    fn flap_view(&self, side: Side) -> FlapView {
        let flap = self.gum.flaps.flap(side);
        let points = flap.surface_points();
        let [columns, rows] = flap.surface().cells();
        FlapView {
            columns: columns + 1,
            rows: rows + 1,
            points: points.iter().map(|p| p.position).collect(),
            blanch: points.iter().map(|p| p.blanch).collect(),
            redness: points.iter().map(|p| p.redness).collect(),
            thickness: flap.settings().thickness_mm,
        }
    }
}
