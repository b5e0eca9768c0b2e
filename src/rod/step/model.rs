//! The model of one iteration, and the motion to its least energy.
//!
//! What is smooth the model takes to second order. It keeps the kinks: a pair presses only while it overlaps, a friction
//! holds up to its limit and slips beyond. Its equations are solved for a guess of what touches and slips; where that
//! leads, the next guess is taken. Going the whole way each time may go round in circles between guesses; going only
//! to where the model's energy is least on the way does not.
//!
//! Sources: guesses, Christensen, Klarbring, Pang, Stroemberg 1998, Int. J. Numer. Meth. Engng 42:145; the search on the way,
//! Pang 1990, Math. Oper. Res. 15:311, from memory.

use super::newton::{dot, shift};
use super::terms::pair_weights;
use super::{Active, DAMPING, Memory, Reach, Solve};
use crate::math::DVec3;
use crate::rod::contact::friction::Friction;
use crate::rod::contact::{Closest, Partner};
use crate::rod::equations::Equations;
use crate::rod::sparse::Quad;

/// Linear systems at most for the motion of one iteration.
const ROUNDS_MAX: usize = 9;
/// Share of the first way's fall below which a way is not worth going; found by trying, on two demonstrations 0 to 0.05 cost alike.
const FALL_SHARE: f64 = 1e-3;
/// Share of a way's first fall that counts as none at its end: rounding.
const LEVEL_SHARE: f64 = 1e-9;
/// Unbalanced force that the model may be left with, as a share of what a step may be: little beside what the motion itself
/// leaves; found by trying.
const LEFT_SHARE: f64 = 0.01;
/// Halvings in the search for the least energy on a way: to a billionth of it.
const HALVINGS: usize = 30;

/// Which tangent the equations hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tangent {
    /// The true one, which need not be positive.
    True,
    /// Without what could make it negative.
    Positive,
    /// The same with a little of everything, for a slack thread whose own stiffness is lost in rounding.
    Damped,
}

/// What the linear equations of one round take for granted.
struct Model {
    /// Pairs apart at the iterate that touch where the motion has led so far.
    coming: Vec<Active>,
    /// Stretch about which each friction is linearised [mm].
    slips: Vec<DVec3>,
}

/// The kinks that a further way may meet.
struct Kinks<'a> {
    /// Each friction with its stretch so far and what the way adds [mm].
    frictions: Vec<(&'a Friction, DVec3, DVec3)>,
    /// Each pair with its stiffness [mN/mm], its overlap so far and what the way adds [mm].
    pairs: Vec<(Active, f64, f64, f64)>,
}

impl Kinks<'_> {
    /// Slope of their energy along the way, after a share of it.
    fn slope(&self, share: f64) -> f64 {
        let pull =
            |(friction, stretch, by): &(&Friction, DVec3, DVec3)| friction.force(*stretch + *by * share).0.dot(*by);
        let press =
            |(_, stiffness, overlap, by): &(Active, f64, f64, f64)| stiffness * (overlap + share * by).max(0.0) * by;
        self.frictions.iter().map(pull).sum::<f64>() + self.pairs.iter().map(press).sum::<f64>()
    }

    /// The pairs that touch after a share of the way.
    fn coming(&self, share: f64) -> Vec<Active> {
        self.pairs.iter().filter(|(_, _, overlap, by)| overlap + share * by > 0.0).map(|pair| pair.0).collect()
    }

    /// Each friction with its stretch after a share of the way.
    fn stretches(&self, share: f64) -> impl Iterator<Item = (&Friction, DVec3)> {
        self.frictions.iter().map(move |(friction, stretch, by)| (*friction, *stretch + *by * share))
    }
}

/// Brings the stretches about which frictions are linearised into line with those they have `there`; whether that changed
/// whether or where to any of them slips. One that turns against its slip sticks first.
fn slip<'a>(there: impl Iterator<Item = (&'a Friction, DVec3)>, slips: &mut [DVec3]) -> bool {
    let mut changed = false;
    for ((friction, there), slip) in there.zip(slips) {
        let reach = friction.limit / friction.stiffness;
        let slipped = slip.length() > reach;
        let slips_there = there.length() > reach && !(slipped && slip.dot(there) < 0.0);
        let next = if slips_there { there } else { DVec3::ZERO };
        let turned = slips_there && next.dot(*slip) < 0.95 * next.length() * slip.length();
        changed |= slips_there != slipped || turned;
        *slip = next;
    }
    changed
}

/// `motion` += `share` * `way`
fn go(motion: &mut [Quad], way: &[Quad], share: f64) {
    for (motion, way) in motion.iter_mut().zip(way) {
        for (m, w) in motion.iter_mut().zip(way) {
            *m += share * w;
        }
    }
}

fn product(a: &[Quad], b: &[Quad]) -> f64 {
    a.iter().zip(b).map(|(a, b)| dot(a, b)).sum()
}

impl Solve<'_> {
    /// The motion to the least energy of the model. `None` if the equations have no solution.
    pub(super) fn motion(
        &self,
        memory: &mut Memory,
        active: &[Active],
        base: &mut Option<Tangent>,
    ) -> Option<Vec<Quad>> {
        let stretches: Vec<DVec3> =
            self.all_frictions().map(|friction| friction.stretch(|b| self.since_start(b))).collect();
        match self.settings.reach {
            Reach::Whole => self.motion_of_guesses(memory, active, base, &stretches),
            Reach::Least => self.least_motion(memory, active, base, &stretches),
        }
    }

    /// Where guess after guess leads, until one holds.
    fn motion_of_guesses(
        &self,
        memory: &mut Memory,
        active: &[Active],
        base: &mut Option<Tangent>,
        stretches: &[DVec3],
    ) -> Option<Vec<Quad>> {
        let mut model = Model { coming: Vec::new(), slips: stretches.to_vec() };
        let plain = self.model_motion(memory, active, &model, base)?;
        let mut motion = plain.clone();
        for _round in 1..ROUNDS_MAX {
            let met = self.meet(memory, active, &mut model.coming, &motion);
            let by = |b: usize| (shift(&motion[b]), motion[b][3]);
            let there = self.all_frictions().zip(stretches).map(|(f, stretch)| *stretch + f.stretch(by) - f.anchor);
            let slipped = slip(self.all_frictions().zip(there), &mut model.slips);
            if !met && !slipped {
                break;
            }
            motion = self.model_motion(memory, active, &model, base)?;
        }
        Some(if product(&motion, &memory.gradient) < 0.0 { motion } else { plain })
    }

    /// Brings the list of pairs that come to touch into line with a motion; whether that changed it.
    fn meet(&self, memory: &mut Memory, active: &[Active], coming: &mut Vec<Active>, motion: &[Quad]) -> bool {
        let presses =
            |(i, partner, closest): &Active| closest.overlap + self.approach(*i, *partner, closest, motion) > 0.0;
        let before = coming.len();
        coming.retain(presses);
        let mut changed = coming.len() != before;
        let new = self.new_pairs(memory, active, coming, motion);
        for pair in new.into_iter().filter(presses) {
            coming.push(pair);
            changed = true;
        }
        changed
    }

    /// The pairs that may come to touch on a motion and are in neither list.
    fn new_pairs(&self, memory: &mut Memory, active: &[Active], coming: &[Active], motion: &[Quad]) -> Vec<Active> {
        let (_, near) = self.step_share(&mut memory.candidates, motion);
        let near = near.into_iter().map(|k| memory.candidates.pairs()[k]);
        let known = |list: &[Active], pair: (usize, Partner)| list.iter().any(|a| (a.0, a.1) == pair);
        let new = near.filter(|&pair| !known(active, pair) && !known(coming, pair));
        new.map(|(i, partner)| (i, partner, self.closest(i, partner, &self.places, &self.cones))).collect()
    }

    /// The way down through the kinks.
    fn least_motion(
        &self,
        memory: &mut Memory,
        active: &[Active],
        base: &mut Option<Tangent>,
        stretches: &[DVec3],
    ) -> Option<Vec<Quad>> {
        let mut model = Model { coming: Vec::new(), slips: stretches.to_vec() };
        let mut motion = vec![[0.0; 4]; self.blocks];
        let (mut plain, mut slope, mut first_fall) = (Vec::new(), Vec::<Quad>::new(), 0.0);
        for round in 0..ROUNDS_MAX {
            let tangent = *base;
            let mut way = self.model_motion(memory, active, &model, base)?;
            if round == 0 {
                plain.clone_from(&way);
            }
            if round == 0 || tangent != *base {
                // The smooth part's gradient where the motion has led.
                slope.clone_from(&memory.equations.kept_gradient);
                if round > 0 {
                    go(&mut slope, &memory.equations.matrix.times(&motion), 1.0);
                }
                self.hold(&mut slope);
            }
            go(&mut way, &motion, -1.0);
            let kinks = self.kinks(memory, active, &model, stretches, &motion, &way);
            let bend = memory.equations.matrix.times(&way);
            let (first, second) = (product(&slope, &way), product(&bend, &way));
            let along = |share: f64| first + share * second + kinks.slope(share);
            let fall = -along(0.0);
            if round == 0 {
                first_fall = fall;
            }
            if fall <= FALL_SHARE * first_fall && round > 0 {
                break;
            }
            let share = least(along, LEVEL_SHARE * fall);
            go(&mut motion, &way, share);
            go(&mut slope, &bend, share);
            if self.residual(&self.gradient_after(&kinks, share, &slope)) < LEFT_SHARE * self.settings.tolerance {
                break;
            }
            model.coming = kinks.coming(share);
            slip(kinks.stretches(share), &mut model.slips);
        }
        Some(if product(&motion, &memory.gradient) < 0.0 { motion } else { plain })
    }

    /// The model's gradient after a share of the way, from that of its smooth part.
    fn gradient_after(&self, kinks: &Kinks, share: f64, smooth: &[Quad]) -> Vec<Quad> {
        let mut gradient = smooth.to_vec();
        let mut pull = |block: usize, by_place: DVec3, by_spin: f64| {
            let by = [by_place.x, by_place.y, by_place.z, by_spin];
            gradient[block].iter_mut().zip(by).for_each(|(g, by)| *g += by);
        };
        for (friction, stretch) in kinks.stretches(share) {
            let (force, _) = friction.force(stretch);
            for lever in &friction.levers {
                pull(lever.block, lever.by_position.transpose() * force, lever.by_spin.dot(force));
            }
        }
        for ((i, partner, closest), stiffness, overlap, by) in &kinks.pairs {
            let force = stiffness * (overlap + share * by).max(0.0);
            let (blocks, count) = self.pair_blocks(*i, *partner);
            for (&block, weight) in blocks[..count].iter().zip(pair_weights(*partner, closest)) {
                pull(block, closest.normal * (-force * weight), 0.0);
            }
        }
        self.hold(&mut gradient);
        gradient
    }

    /// The kinks that a further way after a motion may meet.
    fn kinks(
        &self,
        memory: &mut Memory,
        active: &[Active],
        model: &Model,
        stretches: &[DVec3],
        motion: &[Quad],
        way: &[Quad],
    ) -> Kinks<'_> {
        let frictions = self.all_frictions().zip(stretches).map(|(friction, stretch)| {
            let by = |motion: &[Quad]| friction.stretch(|b| (shift(&motion[b]), motion[b][3])) - friction.anchor;
            (friction, *stretch + by(motion), by(way))
        });
        let frictions = frictions.collect();
        let mut whole = motion.to_vec();
        go(&mut whole, way, 1.0);
        let new = self.new_pairs(memory, active, &model.coming, &whole);
        let pairs = model.coming.iter().copied().chain(new).map(|pair| {
            let (i, partner, closest) = &pair;
            let by = |motion: &[Quad]| self.approach(*i, *partner, closest, motion);
            (pair, self.pressing(*partner).stiffness, closest.overlap + by(motion), by(way))
        });
        Kinks { frictions, pairs: pairs.collect() }
    }

    /// Solves the linear model, with the true tangent if that is positive. What does not change from one model to the
    /// next of the same iteration is kept in `base`, which says of what kind it is.
    fn model_motion(
        &self,
        memory: &mut Memory,
        active: &[Active],
        model: &Model,
        base: &mut Option<Tangent>,
    ) -> Option<Vec<Quad>> {
        let all: Vec<Active> = active.iter().chain(&model.coming).copied().collect();
        if self.ensure_pattern(memory, &all) && *base != Some(Tangent::True) {
            *base = None;
        }
        let mut equations = std::mem::take(&mut memory.equations);
        let mut solved = false;
        while !solved {
            let kind = *base.get_or_insert_with(|| {
                self.assemble_base(active, Tangent::True, &mut equations);
                Tangent::True
            });
            equations.load();
            self.assemble_frictions(&self.places, &self.spin, Some(&model.slips), &mut equations);
            for (i, partner, closest) in &model.coming {
                self.assemble_coming(*i, *partner, closest, &mut equations);
            }
            self.hold(&mut equations.gradient);
            solved = equations.matrix.factor();
            memory.solves += 1;
            if !solved {
                let next = match kind {
                    Tangent::True => Tangent::Positive,
                    Tangent::Positive => Tangent::Damped,
                    Tangent::Damped => break,
                };
                self.assemble_base(active, next, &mut equations);
                *base = Some(next);
            }
        }
        let mut motion: Vec<Quad> = equations.gradient.iter().map(|g| g.map(|v| -v)).collect();
        if solved {
            equations.matrix.solve(&mut motion);
        }
        memory.equations = equations;
        solved.then_some(motion)
    }

    pub(super) fn assemble_base(&self, active: &[Active], kind: Tangent, equations: &mut Equations) -> f64 {
        equations.exact = kind == Tangent::True;
        equations.clear(self.blocks);
        let energy = self.assemble_smooth(&self.places, &self.spin, &self.turned, active, equations);
        if kind == Tangent::Damped {
            (0..self.blocks).for_each(|i| equations.add_trace(i, [DAMPING; 4]));
        }
        equations.keep();
        energy
    }

    /// How much deeper a pair gets by a motion, to first order [mm].
    fn approach(&self, i: usize, partner: Partner, closest: &Closest, motion: &[Quad]) -> f64 {
        let own = shift(&motion[i]).lerp(shift(&motion[i + 1]), closest.along);
        let other = match partner {
            Partner::Edge(j) => shift(&motion[j]).lerp(shift(&motion[j + 1]), closest.along_partner),
            Partner::Shape(t, _) => shift(&motion[self.nodes + t]),
        };
        (other - own).dot(closest.normal)
    }
}

/// The share of a way, up to the whole, at which a slope that only rises passes through zero; the whole if it is not above
/// `level` there.
fn least(slope: impl Fn(f64) -> f64, level: f64) -> f64 {
    if slope(1.0) <= level {
        return 1.0;
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if slope(middle) <= 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::super::Settings;
    use super::super::tests::tangle;
    use super::*;
    use crate::rod::surroundings::NoTissue;
    use rand::{Rng, SeedableRng};

    #[test]
    fn the_slope_along_a_way_is_the_gradient_times_the_way_with_all_kinks() {
        let (rod, around) = tangle();
        let mut memory = Memory::default();
        let solve = Solve::new(&rod, &around, &NoTissue, &mut memory, &Settings::default(), 2.0);
        let stretches: Vec<DVec3> =
            solve.all_frictions().map(|friction| friction.stretch(|b| solve.since_start(b))).collect();
        let model = Model { coming: Vec::new(), slips: stretches.clone() };
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(4);
        let mut some = |size: f64| -> Vec<Quad> {
            let mut motion: Vec<Quad> =
                (0..solve.blocks).map(|_| std::array::from_fn(|_| size * (random.random::<f64>() - 0.5))).collect();
            solve.hold(&mut motion);
            motion
        };
        let (motion, way) = (some(0.02), some(0.1));
        let kinks = solve.kinks(&mut memory, &[], &model, &stretches, &motion, &way);
        for share in [0.0, 0.4, 1.0] {
            let pressing = kinks.coming(share).len();
            assert!(pressing > 0 && pressing < kinks.pairs.len(), "{pressing} of {} pairs press", kinks.pairs.len());
            let gradient = solve.gradient_after(&kinks, share, &vec![[0.0; 4]; solve.blocks]);
            let (found, slope) = (product(&gradient, &way), kinks.slope(share));
            // Two sums of the same few hundred forces, in another order.
            assert!((found - slope).abs() < 1e-9 * slope.abs(), "share {share}: {found}, slope {slope}");
        }
    }

    #[test]
    fn a_way_is_gone_to_where_its_slope_changes_sign_or_to_its_end() {
        let kinked = |share: f64| if share < 0.25 { 2.0 * share - 1.0 } else { 2.0 * share + 4.0 };
        for (name, found, wanted) in [
            ("a jump over zero", least(kinked, 0.0), 0.25),
            ("a zero between", least(|share| share - 0.625, 0.0), 0.625),
            ("down all the way", least(|share| share - 2.0, 0.0), 1.0),
            ("level at the end but for rounding", least(|share| share - 1.0 + 1e-12, 1e-9), 1.0),
        ] {
            assert!((found - wanted).abs() < 1e-8, "{name}: {found}, not {wanted}");
        }
    }
}
