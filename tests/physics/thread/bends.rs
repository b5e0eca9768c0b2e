//! Four bends of two ropes that differ in which ends are pulled, against a rule from their crossings.

use super::lay::{GUT, MESH, single};
use super::several::{MEMBERS, alike, median};
use crate::slow;
use knotwright::pull::Knot;
use knotwright::rod::Section;

const SOURCE: &str = "Patil, Sandt, Kolle & Dunkel 2020, Science 367:71";

/// A force at which a bend counts as one that holds [mN].
const ENOUGH: f64 = 20_000.0;

/// A bend: the handedness of its second throw, and whether it is pulled by a tail in a limb's place.
struct BendKind {
    name: &'static str,
    second: f64,
    by_tail: bool,
}

/// In the order in which they are to hold.
const BENDS: [BendKind; 4] = [
    BendKind { name: "grief", second: 1.0, by_tail: true },
    BendKind { name: "thief", second: -1.0, by_tail: true },
    BendKind { name: "granny", second: 1.0, by_tail: false },
    BendKind { name: "reef", second: -1.0, by_tail: false },
];

/// The largest pull while the two ends are drawn apart until one strand has run through [mN].
fn holding(bend: &BendKind, section: Section) -> f64 {
    let section = Section { weight: 0.0, ..section };
    // Limbs and tails are of one length, so that nothing but the way it is pulled differs.
    let mut knot = Knot::tied(&[single(1.0), single(bend.second)], section, MESH, 2000.0, 6.0);
    let last = knot.rod.node_count() - 1;
    if bend.by_tail {
        knot.limbs[1] = last;
    }
    let [held, drawn] = knot.limbs;
    knot.hold_limbs();
    knot.drawn = (knot.rod.positions[drawn] - knot.rod.positions[held]).normalize() * 0.003;
    let edges = [held - 1, if bend.by_tail { last - 1 } else { drawn }];
    let (start, mut most) = (knot.separation(), 0.0);
    while knot.separation() < start + 20.0 && most < ENOUGH {
        knot.run(1, 4.0);
        most = edges.iter().map(|&edge| 0.5 * knot.rod.tension(edge)).sum::<f64>().max(most);
    }
    most
}

/// The median of what several alike hold at this friction, for each of the [`BENDS`] [mN].
fn medians(friction: f64) -> [f64; 4] {
    [0, 1, 2, 3].map(|kind| {
        median(alike(MEMBERS, GUT, |section| holding(&BENDS[kind], Section { friction_thread: friction, ..section })))
    })
}

#[test]
fn a_grief_holds_less_than_a_thief_a_thief_less_than_a_granny_and_a_granny_less_than_a_reef() {
    let forces = medians(0.35);
    // An order has no tolerance.
    assert!(forces.is_sorted_by(|a, b| a < b), "{:?}: {forces:?} mN; {SOURCE}", BENDS.map(|bend| bend.name));
}

#[test]
fn with_little_friction_a_grief_still_holds_less_and_a_reef_more_than_a_thief_and_a_granny() {
    if !slow::wanted() {
        return;
    }
    // Of thief and granny now the one holds more and now the other: there the source's order is not met.
    let [grief, thief, granny, reef] = medians(0.2);
    let between = [thief, granny];
    assert!(between.iter().all(|&force| grief < force && force < reef), "{grief}, {between:?}, {reef} mN; {SOURCE}");
}
