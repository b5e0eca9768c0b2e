//! No strand passes through another while it is thrown: a straight strand led through a ring, wound once round a bar,
//! drawn through its own turn and pulled at 100 mm/s; each is judged by what knot its centreline is.

use super::SUB_STEP_MS;
use super::lay::GUT;
use super::seeds::{all_go_right, led_out_knot};
use crate::slow::runs;
use knotwright::math::{DVec3, cos, sin};
use knotwright::pull::{pieces, resampled};
use knotwright::rod::step::{Memory, Settings, step};
use knotwright::rod::surroundings::{Grip, Hand, NoTissue, RoundCone, Surroundings, Tool};
use knotwright::rod::{Rod, Section};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::PI;

/// Thread on the winding and on the other side of the ring [mm].
const LIMBS: [f64; 2] = [25.0, 16.0];
/// The bar's tip above the ring [mm]; the bar lies along y.
const TIP: DVec3 = DVec3::new(0.0, 8.0, 11.0);
/// The end is wound on this circle round the bar [mm].
const WINDING: f64 = 9.0;
/// Where along the bar the turn begins and where it would end [mm].
const WOUND: [f64; 2] = [-5.0, 2.0];
/// How far the bar is drawn back with the other end at its tip [mm].
const WITHDRAWN: f64 = 18.0;
/// Every place on the way is drawn up to this far off [mm], along each axis.
const ASTRAY: f64 = 0.5;
/// Speed while throwing and while pulling [mm/ms].
const SPEED: [f64; 2] = [0.2, 0.1];
/// Then both ends are pulled apart so far [mm], or until the hands' force is spent.
const PULL: f64 = 25.0;
/// Largest force of a hand that pulls, and of one that winds and gives way when the strand is taut [mN].
const FIRM: f64 = 5000.0;
const GENTLE: f64 = 200.0;

/// The winding end's holder, the bar, the other end's holder, the ring.
const WINDER: usize = 0;
const BAR: usize = 1;
const OTHER: usize = 2;

fn tool(position: DVec3, shapes: Vec<RoundCone>, held: bool) -> Tool {
    let hand = Hand { target: position, stiffness: 2000.0, force_max: FIRM, damping: 200.0 };
    Tool::new(position, shapes, held.then_some(hand))
}

/// A fixed ring of eight bars in the plane x = 0 for the strand to run through.
fn ring() -> Tool {
    let at = |k: u32| {
        let angle = PI / 4.0 * f64::from(k);
        DVec3::new(0.0, 1.2 * cos(angle), 1.2 * sin(angle))
    };
    let side = |k| RoundCone::capsule(at(k), at(k + 1), 0.4);
    tool(DVec3::ZERO, (0..8).map(side).collect(), false)
}

/// A thread under way: what was drawn for it, and what holds it.
struct Throw {
    rod: Rod,
    around: Surroundings,
    memory: Memory,
    drawn: String,
}

impl Throw {
    /// Moves the tools along straight ways at `speed`, all arriving together.
    fn carry(&mut self, ways: &[(usize, DVec3)], speed: f64) -> Result<(), String> {
        let hand_of = |around: &Surroundings, tool: usize| around.tools[tool].hand.expect("a held tool").target;
        let starts: Vec<DVec3> = ways.iter().map(|&(tool, _)| hand_of(&self.around, tool)).collect();
        let longest = ways.iter().zip(&starts).map(|((_, to), from)| from.distance(*to)).fold(0.0, f64::max);
        let steps = pieces(longest, speed * SUB_STEP_MS);
        for k in 0..steps {
            for (&(tool, to), from) in ways.iter().zip(&starts) {
                self.around.tools[tool].hand.as_mut().expect("a held tool").target =
                    from.lerp(to, (k + 1) as f64 / steps as f64);
            }
            let report =
                step(&mut self.rod, &mut self.around, &NoTissue, &mut self.memory, &Settings::default(), SUB_STEP_MS);
            if report.broken || report.passed_through {
                return Err(format!("{}: on the way to {ways:?}, step {k} says {report:?}", self.drawn));
            }
        }
        Ok(())
    }

    /// Changes the largest force [mN] of the hand at a tool.
    fn hold(&mut self, tool: usize, force_max: f64) {
        self.around.tools[tool].hand.as_mut().expect("a held tool").force_max = force_max;
    }

    /// Determinant and signature of the thread led on straight from both ends along y and closed far above.
    fn knot(&self) -> Option<(i64, i32)> {
        led_out_knot(&self.rod, |end, other| DVec3::new(end.x, (end.y - other.y).signum() * 200.0, end.z))
    }
}

/// One strand, thrown and pulled: what knot it was and is, whether the solver saw a passing, and what was drawn.
fn thrown(seed: u64) -> Result<(), String> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut between = |low: f64, high: f64| low + (high - low) * random.random::<f64>();
    let section = Section { friction_thread: between(0.1, 0.4), bending_stiffness: between(30.0, 300.0), ..GUT };
    let mesh = between(0.45, 0.6);
    let hand = if between(0.0, 1.0) < 0.5 { 1.0 } else { -1.0 };
    // The left hand's throw is the right hand's seen in a mirror.
    let mirrored = |place: DVec3| DVec3::new(place.x, hand * place.y, place.z);
    let mut astray = |place: DVec3| {
        mirrored(place) + DVec3::new(between(-ASTRAY, ASTRAY), between(-ASTRAY, ASTRAY), between(-ASTRAY, ASTRAY))
    };
    let ends = [DVec3::new(LIMBS[0], 0.0, 0.0), DVec3::new(-LIMBS[1], 0.0, 0.0)];
    let rod = Rod::at_rest(section, resampled(&ends, mesh));
    let last = rod.node_count() - 1;
    let handle = mirrored(DVec3::new(0.0, -30.0, 0.0));
    let bar = RoundCone { start: DVec3::ZERO, end: handle, start_radius: 0.4, end_radius: 0.9 };
    let grip = |node, tool, place| Grip { node, tool, place, stiffness: 1e5, limit: 1e5, spin: 0.0 };
    let around = Surroundings {
        tools: vec![
            tool(ends[0], Vec::new(), true),
            Tool { friction: Some(0.1), ..tool(mirrored(TIP), vec![bar], true) },
            tool(ends[1], Vec::new(), true),
            ring(),
        ],
        grips: vec![grip(0, WINDER, DVec3::ZERO), grip(last, OTHER, DVec3::ZERO)],
        ..Surroundings::default()
    };
    let drawn = format!("seed {seed}: mesh {mesh}, hand {hand}, {section:?}");
    let mut throw = Throw { rod, around, memory: Memory::default(), drawn };
    let before = throw.knot();

    // Wind once round the bar, from its handle toward its tip, and draw the turn close.
    throw.hold(WINDER, GENTLE);
    let wound = |turns: f64, radius: f64| {
        let along = WOUND[0] + (WOUND[1] - WOUND[0]) * turns;
        DVec3::new(radius * cos(2.0 * PI * turns), along, TIP.z + radius * sin(2.0 * PI * turns))
    };
    for eighth in 0..=9 {
        throw.carry(&[(WINDER, astray(wound(f64::from(eighth) / 8.0, WINDING)))], SPEED[0])?;
    }
    throw.carry(&[(WINDER, astray(wound(9.0 / 8.0, 1.6 * WINDING)))], SPEED[0])?;
    // The bar's tip takes the other end and draws it back through the turn.
    throw.carry(&[(OTHER, astray(TIP + DVec3::new(-5.0, 5.0, -3.0)))], SPEED[0])?;
    let at_tip = mirrored(DVec3::new(0.0, 0.5, 0.0));
    throw.carry(&[(OTHER, mirrored(TIP) + at_tip)], SPEED[0])?;
    throw.around.grips[1] = grip(last, BAR, at_tip);
    throw.carry(&[(BAR, astray(TIP - DVec3::new(0.0, WITHDRAWN, 0.0)))], SPEED[0])?;
    // Pull.
    throw.hold(WINDER, FIRM);
    let [winder, bar] = [WINDER, BAR].map(|tool| throw.around.tools[tool].position);
    let way = astray(DVec3::new(0.0, PULL, 0.0));
    throw.carry(&[(WINDER, winder + way), (BAR, bar - way)], SPEED[1])?;
    let after = throw.knot();
    if before.map(|knot| knot.0) != Some(1) || after != Some((3, if hand > 0.0 { 2 } else { -2 })) {
        return Err(format!("{}: was {before:?}, is {after:?}", throw.drawn));
    }
    Ok(())
}

#[test]
fn no_strand_passes_through_another_however_it_is_thrown() {
    all_go_right(runs([50, 1000, 1000]), thrown);
}
