//! The pull test of knots against what bench tests of sutures found: which knot holds more, and how it ends.

use crate::slow;
use knotwright::material::find;
use knotwright::pull::{End, Place, Pull, SLIP_MAX, Test, parse, pull};
use knotwright::rod::Section;
use knotwright::rod::contact::friction::LoadLaw;

/// Knots in a thread of size 4-0, wet, each to hold more than the one before it.
struct Order {
    law: &'static str,
    source: &'static str,
    material: &'static str,
    knots: &'static [&'static str],
    slow: bool,
}

const TERA_ABERG: &str = "Tera & Aberg 1976, Acta Chir. Scand. 142:1";
const ROSIN: &str = "Rosin & Robinson 1989, Vet. Surg. 18:269";
const PATIL: &str = "Patil, Sandt, Kolle & Dunkel 2020, Science 367:71";

const fn order(material: &'static str, slow: bool) -> Order {
    let law = "one throw holds less than a granny, a granny less than a square knot";
    Order { law, source: PATIL, material, knots: &["1", "1x1", "1=1"], slow }
}

const fn throws(material: &'static str, slow: bool) -> Order {
    let law = "more throws hold more";
    Order { law, source: TERA_ABERG, material, knots: &["1=1", "1=1=1", "1=1=1=1"], slow }
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
];

fn pulled(knot: &str, section: Section) -> Pull {
    let throws = parse(knot).expect("it is in order");
    let test = Test { throws, section, pretension: 2000.0, tail: 3.0 };
    pull(&test).unwrap_or_else(|fault| panic!("{knot}: {fault}"))
}

fn section(material: &str) -> Section {
    find(material, "4-0", true).expect("it is known").section
}

#[test]
fn knots_hold_in_the_order_that_benches_find() {
    for Order { law, source, material, knots, slow } in ORDERS {
        if *slow && !slow::wanted() {
            continue;
        }
        let forces: Vec<f64> = knots.iter().map(|knot| pulled(knot, section(material)).holding_force).collect();
        // An order has no tolerance.
        assert!(forces.is_sorted_by(|a, b| a < b), "{law}: {knots:?} in {material} held {forces:?} mN; {source}");
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
fn a_granny_slips_by_what_its_limbs_give_and_its_tails_lose() {
    let found = pulled("1x1", section("silk"));
    assert_eq!(found.end, End::Opened);
    // Nothing of the knot is left: both tails have run through it.
    let last = found.curve[found.curve.len() - 1];
    assert!(last.given > found.tails[0] + found.tails[1], "{last:?}, tails {:?} mm", found.tails);
    assert!(last.slip > SLIP_MAX, "{last:?}");
}

#[test]
fn the_same_pull_gives_the_same_bits() {
    let [a, b] = [(); 2].map(|()| pulled("1x1", section("silk")));
    assert_eq!(a, b);
}
