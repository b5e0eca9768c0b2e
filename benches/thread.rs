//! What 1/60 s of thread costs on one core, how that grows with nodes and contacts, and which part of a step takes it.
//!
//! `cargo bench --no-default-features --bench thread`. Beside every frame a fixed piece of arithmetic is timed: what this
//! swings by is the machine's doing, not the solver's. The core has no clock; all of them are here.

#![expect(clippy::print_stdout, clippy::disallowed_methods, reason = "a timing reads the clock and prints")]

mod costs;
#[path = "../tests/physics/thread/lay.rs"]
mod lay;

use costs::{Costs, fixed_arithmetic, timed};
use knotwright::math::{DVec3, sin};
use knotwright::pull::{Knot, Throw};
use knotwright::rod::contact::Partner;
use knotwright::rod::contact::candidates::Candidates;
use knotwright::rod::sparse::{Block, BlockSystem, Quad};
use knotwright::rod::step::{Memory, Settings, forces, step};
use knotwright::rod::surroundings::{NoTissue, Surroundings};
use knotwright::rod::{Rod, Section};
use lay::{GUT, MESH, SURGEONS, single};
use std::hint::black_box;
use std::time::Instant;

/// Sub-steps in 1/60 s.
const SUBSTEPS: usize = 8;
const DT_MS: f64 = 1000.0 / 60.0 / SUBSTEPS as f64;
/// Pull on each end while tying, and load on the loop while holding [mN].
const TYING: f64 = 2000.0;
const HOLDING: f64 = 500.0;
/// Half of [`MESH`] [mm].
const FINE: f64 = 0.5 * MESH;
/// Frames looked at: ten seconds.
const FRAMES: usize = 600;

/// Mean time of something done often [ms].
fn mean_of(times: usize, mut what: impl FnMut()) -> f64 {
    timed(|| (0..times).for_each(|_| what())) / times as f64
}

/// Time that this process has had a core so far [ms]; none where the system does not say.
fn on_core() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/schedstat").ok()?;
    text.split_whitespace().next()?.parse::<f64>().ok().map(|nanoseconds| nanoseconds * 1e-6)
}

/// Runs frames, told before each how far through they are, and prints what they cost; their mean [ms].
fn frames(what: &str, knot: &mut Knot, count: usize, mut set: impl FnMut(&mut Knot, f64)) -> f64 {
    let (work, solves, converged) = (knot.work, knot.solves, knot.converged);
    let (mut costs, mut beside) = (Vec::new(), Vec::new());
    let (core, started) = (on_core(), Instant::now());
    for frame in 0..count {
        set(knot, (frame + 1) as f64 / count as f64);
        costs.push(timed(|| knot.run(SUBSTEPS, DT_MS)));
        beside.push(timed(fixed_arithmetic));
    }
    let had = on_core().zip(core).map(|(now, then)| 0.1 * (now - then) / started.elapsed().as_secs_f64());
    let had = had.map_or_else(|| "unknown".to_owned(), |percent| format!("{percent:.0} %"));
    let steps = (knot.work.0 - work.0) as f64;
    let (costs, beside) = (Costs::of(costs), Costs::of(beside));
    println!("{what}: {}", costs.text());
    println!(
        "    {} contacts, {:.2} iterations and {:.2} solves a sub-step, {:.1} % converged; fixed arithmetic: {}; had a core {had} of the time",
        knot.memory.touches.len(),
        (knot.work.1 - work.1) as f64 / steps,
        (knot.solves - solves) as f64 / steps,
        100.0 * (knot.converged - converged) as f64 / steps,
        beside.text(),
    );
    costs.mean()
}

/// A knot laid loosely and settled, in a thread of about so many nodes, its ends about to be pulled.
fn settled(throws: &[Throw], nodes: usize, mesh: f64) -> Knot {
    let count = |tail: f64| Knot::laid(throws, GUT, mesh, 6.0, tail).rod.node_count();
    let tail = 1.0 + (nodes.saturating_sub(count(1.0))) as f64 * mesh / 2.0;
    let mut knot = Knot::laid(throws, GUT, mesh, 6.0, tail);
    knot.rod.free[knot.limbs[0]] = false;
    knot.settings.yields = false;
    knot.pull_ends(0.02 * TYING);
    knot.run(60, DT_MS);
    knot.settings.yields = true;
    knot
}

/// The frames of a knot that is drawn down and then bears a load: `2=1=1`, 250 nodes.
fn knot(mesh: f64) {
    let mut knot = settled(SURGEONS, 250, mesh);
    let nodes = knot.rod.node_count();
    println!("\nFrames of 1/60 s: 2=1=1 in {nodes} nodes of {mesh} mm, {SUBSTEPS} sub-steps a frame");
    frames("pulled tight, 0 to 2 N     ", &mut knot, 60, |knot, share| knot.pull_ends(TYING * share));
    frames("held tight at 2 N          ", &mut knot, FRAMES, |_, _| {});
    frames("let go                     ", &mut knot, 30, |knot, share| knot.pull_ends(TYING * (1.0 - share)));
    knot.load_limb(0.0);
    frames("loop loaded, 0 to 0.5 N    ", &mut knot, 30, |knot, share| knot.load_limb(HOLDING * share));
    let before = knot.separation();
    let mean = frames("tight knot held at 0.5 N   ", &mut knot, FRAMES, |_, _| {});
    println!("    opened by {:.4} um in those {} s", 1e3 * (knot.separation() - before), FRAMES / 60);
    let mut shaken = knot.clone();
    let shake = |knot: &mut Knot, share: f64| knot.load_limb(HOLDING * (1.0 + 0.1 * sin(share * 300.0)));
    frames("the same, load +-10 % at 5 Hz", &mut shaken, FRAMES, shake);
    phases(&knot, mean);
}

/// The coupled pairs of blocks of a thread with its contacts: neighbours, next neighbours, and strands in touch.
fn coupled(knot: &Knot) -> Vec<(usize, usize)> {
    let nodes = knot.rod.node_count();
    let mut pairs: Vec<(usize, usize)> = (1..nodes).map(|i| (i - 1, i)).collect();
    pairs.extend((2..nodes).map(|i| (i - 2, i)));
    for touch in &knot.memory.touches {
        let Partner::Edge(j) = touch.partner else { continue };
        let corners = [touch.edge, touch.edge + 1, j, j + 1];
        pairs.extend(corners.iter().flat_map(|&a| corners.iter().map(move |&b| (a, b))).filter(|(a, b)| a < b));
    }
    pairs
}

/// Fills a matrix of that pattern, positive definite.
fn fill(system: &mut BlockSystem, nodes: usize, pairs: &[(usize, usize)]) {
    let diagonal: Block = std::array::from_fn(|k| if k % 5 == 0 { 1000.0 } else { 0.1 });
    system.clear();
    (0..nodes).for_each(|i| system.add_diagonal(i, &diagonal));
    pairs.iter().for_each(|&(i, j)| system.add_pair(i, j, &[0.3; 16]));
}

/// What it takes to factor and solve with new entries, and again when only what touches has changed [ms].
fn factoring(knot: &Knot) -> [f64; 2] {
    let (nodes, pairs) = (knot.rod.node_count(), coupled(knot));
    let touching: Vec<(usize, usize)> = (knot.memory.touches.iter())
        .filter_map(|touch| if let Partner::Edge(j) = touch.partner { Some((touch.edge, j)) } else { None })
        .collect();
    let mut system = BlockSystem::default();
    system.set_pattern(nodes, &pairs);
    let mut right: Vec<Quad> = vec![[1.0; 4]; nodes];
    let mut solve = |system: &mut BlockSystem, on_top: f64| {
        system.load();
        touching.iter().for_each(|&(i, j)| system.add_pair(i, j, &[on_top; 16]));
        assert!(system.factor(), "the pattern's matrix is positive definite");
        system.solve(&mut right);
    };
    let filling = mean_of(500, || fill(&mut system, nodes, &pairs));
    let anew = mean_of(500, || {
        fill(&mut system, nodes, &pairs);
        solve(&mut system, 0.1);
    });
    let mut on_top = 0.1;
    let again = mean_of(500, || {
        on_top = -on_top;
        solve(&mut system, on_top);
    });
    [anew - filling, again]
}

/// The share of each part in the frames just timed: each part is timed alone on the same knot, and taken as often as the
/// solver takes it. What is left is the tangent's assembly, the models of contact and slip, and the line search.
fn phases(knot: &Knot, frame_ms: f64) {
    let mut knot = knot.clone();
    let (work, solves) = (knot.work, knot.solves);
    knot.run(SUBSTEPS * 20, DT_MS);
    let frames = 20.0;
    let iterations = (knot.work.1 - work.1) as f64 / frames;
    let solves = (knot.solves - solves) as f64 / frames;
    let [anew, again] = factoring(&knot);
    let gradient = mean_of(500, || {
        black_box(forces(&knot.rod, &knot.around, &NoTissue, &mut knot.memory, &knot.settings));
    });
    let mut candidates = Candidates::default();
    let listing = mean_of(200, || {
        candidates.forget();
        candidates.refresh(&knot.rod, &knot.rod.positions, &[], 0.0);
    });
    let transport = mean_of(500, || {
        let mut rod = knot.rod.clone();
        rod.transport(&knot.rod.positions, &knot.rod.spin);
        rod.take_set(DT_MS, &[]);
        black_box(rod);
    });
    let parts = [
        ("factor and solve", iterations * anew + (solves - iterations) * again),
        ("gradient, with contacts and friction", (iterations + SUBSTEPS as f64) * gradient),
        ("frames and set carried on", SUBSTEPS as f64 * transport),
    ];
    println!(
        "\nShares of that frame ({iterations:.1} iterations, {solves:.1} solves: {anew:.4} ms anew, {again:.4} ms again)"
    );
    let known: f64 = parts.iter().map(|(_, ms)| ms).sum();
    for (name, ms) in parts.into_iter().chain([("tangent, models, line search: the rest", frame_ms - known)]) {
        println!("    {name:40} {ms:6.3} ms, {:4.1} %", 100.0 * ms / frame_ms);
    }
    println!("    (all pairs listed anew: {listing:.3} ms, only after something has moved by half a millimetre)");
}

/// Cost of a frame by nodes: a free thread swinging on its end; and by contacts: more throws in as many nodes.
fn scaling() {
    println!("\nNodes, no contacts: a thread shaken by its end, mean of 60 frames");
    for nodes in [60, 120, 240, 480] {
        let section = Section { weight: 5e-3, ..GUT };
        let mut rod = Rod::at_rest(section, (0..nodes).map(|k| DVec3::X * (MESH * k as f64)).collect());
        rod.free[0] = false;
        let (mut around, mut memory) = (Surroundings::default(), Memory::default());
        let settings = Settings::default();
        let mut iterations = 0;
        let mut frame = |rod: &mut Rod, k: usize| {
            around.loads = vec![(nodes - 1, DVec3::Y * (5.0 * sin(0.1 * k as f64)))];
            for _ in 0..SUBSTEPS {
                iterations += step(rod, &mut around, &NoTissue, &mut memory, &settings, DT_MS).iterations;
            }
        };
        (0..20).for_each(|k| frame(&mut rod, k));
        let mut k = 20;
        let cost = mean_of(60, || {
            frame(&mut rod, k);
            k += 1;
        });
        let a_step = iterations as f64 / (80 * SUBSTEPS) as f64;
        println!(
            "    {nodes:4} nodes {cost:7.3} ms, {:6.2} us a node, {a_step:.2} iterations a sub-step",
            1e3 * cost / nodes as f64
        );
    }
    println!("\nContacts, 250 nodes: throws held tight at 2 N");
    let throws: Vec<Throw> = (0..5).map(|k| single(if k % 2 == 0 { 1.0 } else { -1.0 })).collect();
    for count in 1..=throws.len() {
        let mut knot = settled(&throws[..count], 250, MESH);
        knot.ramp(|knot, share| knot.pull_ends(TYING * share), 240, DT_MS);
        frames(&format!("    {count} throws, {} nodes", knot.rod.node_count()), &mut knot, 120, |_, _| {});
    }
}

fn main() {
    // As coarse as an attempt's thread, two diameters; and so fine that the tight knot has about sixty contacts.
    knot(MESH);
    knot(FINE);
    scaling();
}
