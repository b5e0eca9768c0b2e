//! The pull test of knots against what bench tests of sutures found: which knot holds more, and how it ends.

use super::several::{FEW, MEMBERS, alike, median};
use crate::slow;
use knotwright::material::find;
use knotwright::math::DVec3;
use knotwright::pull::{
    End, Frame, Knot, LAID_RADIUS, Place, Pull, SLIP_MAX, Test, TiedStitch, looped, mesh_error, of_stitch,
    of_stitch_refined, of_stitch_watched, parse, pull, resampled, tie,
};
use knotwright::rod::contact::friction::LoadLaw;
use knotwright::rod::step::Memory;
use knotwright::rod::{Rod, Section};

/// Knots in a thread of size 4-0, wet, each to hold more than the one before it.
struct Order {
    law: &'static str,
    source: &'static str,
    material: &'static str,
    knots: &'static [&'static str],
    /// How many of each.
    counts: [u64; 3],
    slow: bool,
}

const TERA_ABERG: &str = "Tera & Aberg 1976, Acta Chir. Scand. 142:1";
const ROSIN: &str = "Rosin & Robinson 1989, Vet. Surg. 18:269";
const SILVER: &str = "Silver, Wu, Grady & Song 2016, J. Oral Maxillofac. Surg.";
const PATIL: &str = "Patil, Sandt, Kolle & Dunkel 2020, Science 367:71";

const fn order(material: &'static str, slow: bool) -> Order {
    let law = "one throw holds less than a granny, a granny less than a square knot";
    Order { law, source: PATIL, material, knots: &["1", "1x1", "1=1"], counts: FEW, slow }
}

const fn throws(material: &'static str, slow: bool) -> Order {
    let law = "more throws hold more";
    Order { law, source: TERA_ABERG, material, knots: &["1=1", "1=1=1", "1=1=1=1"], counts: FEW, slow }
}

const fn doubled(material: &'static str, slow: bool) -> Order {
    let law = "of three throws, a double first one holds more than a single first one";
    // More of them: three throws in silk hold until it breaks in two of seven.
    Order { law, source: SILVER, material, knots: &["1=1=1", "2=1=1"], counts: MEMBERS, slow }
}

const ORDERS: &[Order] = &[
    order("silk", false),
    order("chromic gut", true),
    order("nylon", true),
    order("polypropylene", true),
    order("polyglactin 910", true),
    order("PTFE", true),
    throws("silk", true),
    throws("polyglactin 910", true),
    doubled("silk", true),
    doubled("polyglactin 910", true),
];

fn test(knot: &str, section: Section) -> Test {
    Test { throws: parse(knot).expect("it is in order"), section, pretension: 2000.0, tail: 3.0, slip_limit: SLIP_MAX }
}

fn pulled(knot: &str, section: Section) -> Pull {
    pull(&test(knot, section)).unwrap_or_else(|fault| panic!("{knot}: {fault}"))
}

fn section(material: &str) -> Section {
    find(material, "4-0", true).expect("it is known").section
}

/// What several alike do.
#[derive(Debug)]
struct Several {
    /// The median of what they hold [mN].
    force: f64,
    /// How many break the thread at the knot, and how many slip or come open.
    breaks: usize,
    slips: usize,
    count: usize,
}

impl Several {
    fn mostly_break(&self) -> bool {
        2 * self.breaks > self.count
    }

    fn mostly_slip(&self) -> bool {
        2 * self.slips > self.count
    }
}

fn several(counts: [u64; 3], knot: &str, material: &str) -> Several {
    let all = alike(counts, section(material), |section| pulled(knot, section));
    let ending = |ends: &[End]| all.iter().filter(|pull| ends.contains(&pull.end)).count();
    Several {
        force: median(all.iter().map(|pull| pull.holding_force)),
        breaks: ending(&[End::Broke(Place::Knot)]),
        slips: ending(&[End::Slipped, End::Opened]),
        count: all.len(),
    }
}

#[test]
fn knots_hold_in_the_order_that_benches_find() {
    for Order { law, source, material, knots, counts, slow } in ORDERS {
        if *slow && !slow::wanted() {
            continue;
        }
        let all: Vec<Several> = knots.iter().map(|knot| several(*counts, knot, material)).collect();
        // An order has no tolerance. But a knot that breaks the thread holds what the thread does, and no knot holds more.
        let in_order = |pair: &[Several]| pair[0].force < pair[1].force || pair.iter().all(Several::mostly_break);
        assert!(all.windows(2).all(in_order), "{law}: {knots:?} in {material} held {all:?} mN; {source}");
    }
}

#[test]
fn more_friction_holds_more() {
    // Johanns et al. 2023, Sci. Adv. 9:eadg8861, over this range of friction; Coulomb's, so that nothing else changes.
    // These knots slip at all of them but the greatest.
    let frictions = [0.1, 0.15, 0.2, 0.25];
    for (material, knot, slow) in
        [("chromic gut", "1x1", false), ("chromic gut", "1=1", true), ("polypropylene", "1x1", true)]
    {
        if slow && !slow::wanted() {
            continue;
        }
        let with = |friction_thread| Section { friction_thread, friction_load: LoadLaw::COULOMB, ..section(material) };
        let forces = frictions.map(|friction| pulled(knot, with(friction)).holding_force);
        assert!(forces.is_sorted_by(|a, b| a < b), "{knot} in {material}: {forces:?} mN");
    }
}

#[test]
fn a_secure_knot_breaks_at_the_knot_below_the_straight_strength() {
    // Secure is what breaks and does not untie. Three throws suffice in gut and polypropylene (Rosin & Robinson 1989), and a
    // tight knot breaks where the thread enters it (Pieranski et al. 2001, New J. Phys. 3:10).
    for (material, slow) in [("chromic gut", false), ("polypropylene", true)] {
        if slow && !slow::wanted() {
            continue;
        }
        let section = section(material);
        let found = pulled("1=1=1", section);
        assert_eq!(found.end, End::Broke(Place::Knot), "{material}; {ROSIN}");
        assert!(found.holding_force < section.strength, "{material}: {} mN", found.holding_force);
        assert!(found.curve.iter().all(|point| point.slip <= SLIP_MAX), "{material}");
    }
}

#[test]
fn four_throws_are_secure_in_every_material_of_a_dental_bench_and_a_fifth_adds_nothing() {
    // Wet, 1.8 mm of slip, 3-0 to 5-0, size without effect: four throws needed, "square or surgeon's", no gain past five.
    // What breaks cannot hold more. Secure is what mostly breaks, of several alike. Fewer than four did not suffice there in any; here
    // three do in nylon and two in gut.
    for (material, too_few, slow) in [
        ("silk", Some("1=1=1"), true),
        ("polyglactin 910", Some("1=1=1"), true),
        ("nylon", Some("1=1"), true),
        ("chromic gut", None, false),
    ] {
        if slow && !slow::wanted() {
            continue;
        }
        for enough in ["1=1=1=1", "2=1=1=1", "1=1=1=1=1"] {
            let found = several(FEW, enough, material);
            assert!(found.mostly_break(), "{enough} in {material}: {found:?}; {SILVER}");
        }
        if let Some(too_few) = too_few {
            let found = several(MEMBERS, too_few, material);
            assert!(found.mostly_slip(), "{too_few} in {material}: {found:?}; {SILVER}");
        }
    }
}

#[test]
fn a_granny_slips_by_what_its_limbs_give_and_its_tails_lose() {
    let found = pulled("1x1", section("silk"));
    assert_eq!(found.end, End::Opened);
    // Nothing of the knot is left: both tails have run through it.
    let last = found.curve[found.curve.len() - 1];
    assert!(last.given > found.tails[0] + found.tails[1], "{last:?}, tails {:?} mm", found.tails);
    assert!(last.slip > SLIP_MAX, "{last:?}");
}

/// A knot tied in an uncut thread whose loop is held, as in tissue, drawn tight by its tails.
fn tied_in_a_loop(knot: &str, section: Section) -> TiedStitch {
    let (throws, scale) = (parse(knot).expect("it is in order"), section.radius / LAID_RADIUS);
    let points: Vec<DVec3> = looped(&throws, 3.0, 8.0).iter().map(|&point| point * scale).collect();
    let rod = Rod::at_rest(section, resampled(&points, 4.0 * section.radius));
    let (last, middle) = (rod.node_count() - 1, rod.node_count() / 2);
    let mut tied = Knot::of(rod, [middle, middle + 1]);
    let held = middle - 5..middle + 7;
    held.clone().for_each(|node| tied.rod.free[node] = false);
    let draw = |tied: &mut Knot, pull: f64| {
        let outward = |end: usize| DVec3::new(tied.rod.positions[end].x.signum(), 0.0, 0.5).normalize();
        tied.around.loads = [0, last].map(|end| (end, outward(end) * pull)).to_vec();
    };
    tied.settings.yields = false;
    draw(&mut tied, 1000.0);
    tied.run(60, 2.0);
    tied.settings.yields = true;
    tied.ramp(|tied, share| draw(tied, 1000.0 * (1.0 + share)), 300, 3.0);
    tied.ramp(|tied, share| draw(tied, 2000.0 * (1.0 - share)), 60, 3.0);
    tied.around.loads.clear();
    tied.run(30, 3.0);
    assert_eq!(tied.fault, None, "{knot}");
    let wraps = throws.iter().map(|throw| throw.wraps).max().expect("there are some");
    let holes = [held.start, held.end - 1];
    TiedStitch {
        piece: 0..last + 1,
        memory: tied.memory,
        holes,
        section,
        wraps,
        tight: None,
        slip_limit: SLIP_MAX,
        rod: tied.rod,
    }
}

#[test]
fn a_knot_taken_out_of_the_loop_it_was_tied_in_holds_what_it_holds_on_the_bench() {
    for (knot, material, tolerance) in [("2=1=1", "chromic gut", 0.05), ("1x1", "silk", 0.5)] {
        let stitch = tied_in_a_loop(knot, section(material));
        let found = of_stitch(&stitch).expect("it is done soundly").expect("there is a knot");
        let bench = pulled(knot, section(material));
        assert_eq!(found.end, bench.end, "{knot}");
        // Gut breaks at the knot, wherever that was tied. What a granny of silk holds before it slips goes with how
        // tight it is, and here one pull drew all throws and not the loop.
        let off = (found.holding_force / bench.holding_force - 1.0).abs();
        assert!(off < tolerance, "{knot}: {} mN, on the bench {} mN", found.holding_force, bench.holding_force);
        // Where it breaks the state is nearly all that counts, and splitting edges keeps that.
        if knot == "2=1=1" {
            let fine = of_stitch_refined(&stitch).expect("it is done soundly").expect("there is a knot");
            let off = mesh_error(&found, &fine) / found.holding_force;
            assert!(
                fine.end == found.end && off > 0.0 && off < 0.1,
                "{} and {} mN",
                found.holding_force,
                fine.holding_force
            );
        }
        let open = TiedStitch { memory: Memory::default(), ..stitch };
        assert_eq!(of_stitch(&open), Ok(None), "where nothing presses there is no knot");
    }
}

#[test]
fn a_knot_whose_centreline_alone_is_known_holds_about_what_it_holds_on_the_bench() {
    for (knot, material) in [("2=1=1", "chromic gut"), ("1=1", "silk")] {
        let shares = alike(MEMBERS, section(material), |section| {
            let tied = tie(&test(knot, section)).expect("it is done soundly").expect("it is tied");
            let stitch = TiedStitch::of_curve(&tied.curve, section, 2).expect("its limbs are long enough");
            let found = of_stitch(&stitch).expect("it is done soundly").expect("there is a knot");
            found.holding_force / pulled(knot, section).holding_force
        });
        // Gut breaks at the knot either way. How silk was drawn tight and set decides when it slips, and a shape does not
        // tell that: one of nine holds 2.3 times as much. Six pulls of the very same knot that began 1e-7 mm apart scattered by
        // 0.16 of their mean (one standard deviation).
        let share = median(shares.iter().copied());
        assert!((0.5..1.5).contains(&share), "{knot}: of what they hold on the bench {shares:?}");
    }
}

#[test]
fn who_watches_a_pull_sees_the_same_pull_from_the_slack_to_its_end() {
    let stitch = tied_in_a_loop("1x1", section("silk"));
    let mut frames = Vec::new();
    let pull = of_stitch_watched(&stitch, &mut |frame| frames.push(frame));
    assert_eq!(pull, of_stitch(&stitch));
    let pull = pull.expect("it is done soundly").expect("there is a knot");
    let (first, last) = (frames.first().expect("there are some"), frames.last().expect("there are some"));
    assert_eq!((first.point, last.point), (None, pull.curve.last().copied()));
    // The limbs' ends are where the pull moves them, the tails' ends are what slips.
    let apart = |frame: &Frame| frame.strands[0].last().zip(frame.strands[1].last()).map(|(a, b)| a.distance(*b));
    let opened = apart(last).expect("it has strands") - apart(first).expect("it has strands");
    let extension = pull.curve.last().expect("it was pulled").extension;
    assert!(opened >= extension, "{opened} mm in the frames, {extension} mm in the curve");
    assert!(frames.windows(2).all(|pair| apart(&pair[0]) < apart(&pair[1])));
}

#[test]
fn the_same_pull_gives_the_same_bits() {
    let [a, b] = [(); 2].map(|()| pulled("1x1", section("silk")));
    assert_eq!(a, b);
}
