//! What each verb of the hand-script language does, one tick at a time.

use super::eyes::Eyes;
use super::{Performer, Plan, number, word};
use crate::input::script::Value;
use crate::instruments::Kind;
use crate::math::{DVec3, acos, atan2, cos, sin};
use crate::quantity::TICK_MS;
use crate::simulation::{LEFT, RIGHT, World, opening_that_holds};
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// No act but waiting may last longer than this many ticks: a hand that gets nowhere lets go of the plan.
const PATIENCE: u32 = 60 * 12;

impl Performer {
    /// Does one tick of a verb; true when it is done.
    pub(super) fn act(&mut self, verb: &str, values: &BTreeMap<String, Value>, world: &World) -> bool {
        let eyes = Eyes::on(world);
        if self.clock > PATIENCE && verb != "wait" {
            self.log.push((world.tick.0, format!("{verb}: out of patience")));
            return true;
        }
        match verb {
            "plan" => self.look(values, &eyes),
            "gather" => self.gather(values, &eyes),
            "stand" => self.stand(values, &eyes),
            "wrap" => self.wrap(values, &eyes),
            "reach" => self.reach(values, &eyes, world),
            "grasp" => self.grasp(values, &eyes),
            "withdraw" => self.withdraw(values, &eyes),
            "cross" => self.cross(values, &eyes),
            "pull" => self.pull(values, &eyes),
            "lay" => self.lay(values, &eyes),
            "release" => self.release(values, world),
            "clear" => self.clear(values, &eyes, world),
            "arm" => self.arm(values, world),
            "drive" => self.drive(values, world),
            "sweep" => self.sweep(values, world),
            "prick" => self.prick(values, world),
            "regrip" => self.regrip(values, world),
            "draw" => self.draw(values, &eyes, world),
            "take_strand" => self.take_strand(values, &eyes, world),
            "cut" => self.cut(values, &eyes, world),
            "wait" => f64::from(self.clock) * TICK_MS >= number(values, "for"),
            _ => true,
        }
    }

    /// Whether a condition holds.
    pub(super) fn holds(&self, condition: &str, world: &World) -> bool {
        let eyes = Eyes::on(world);
        let Some(plan) = self.plan else { return false };
        match condition {
            "loops_on" => eyes.winding().abs() > plan.wraps - 0.25,
            "tail_held" => tail_held(&eyes),
            // A person sees the tuck of the tail that is held; for the script the knot of the whole thread shows it: n
            // wraps without a tuck change nothing.
            "throw_made" => {
                #[expect(clippy::cast_possible_truncation, reason = "a count of wraps from 1 to 4")]
                let wanted = plan.determinant_before * (2.0 * plan.wraps + 1.0).round() as i64;
                tail_held(&eyes) && eyes.determinant() == Some(wanted)
            }
            _ => false,
        }
    }

    /// Leads a hand toward a place; true when there.
    pub(super) fn go(&mut self, hand: usize, to: DVec3, speed: f64) -> bool {
        let way = to - self.hands.tip[hand];
        let reach = speed * self.pace * TICK_MS;
        if way.length() <= reach {
            self.hands.tip[hand] = to;
            true
        } else {
            self.hands.tip[hand] += way * (reach / way.length());
            false
        }
    }

    /// Leads a hand toward a place no faster than the thread's tension allows, and gives way above `limit` [mN].
    pub(super) fn go_feeling(
        &mut self,
        hand: usize,
        to: DVec3,
        speed: f64,
        tension: f64,
        limit: f64,
        anchor: DVec3,
    ) -> bool {
        let allowed = GIVE * (limit - tension);
        if allowed > 0.0 {
            self.go(hand, to, speed.min(allowed))
        } else {
            let back = (anchor - self.hands.tip[hand]).normalize_or_zero();
            self.hands.tip[hand] += back * ((-allowed).min(0.06) * TICK_MS);
            false
        }
    }

    /// Left hand lets the strand slip through above this tension [mN].
    pub(super) fn hold_strand(&mut self, tension: f64) {
        self.hands.jaw[LEFT] = opening_that_holds(Kind::Forceps, tension);
    }

    fn look(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes) -> bool {
        let side = if word(values, "strand") == "near" { -1.0 } else { 1.0 };
        let (loops, tilt) = (number(values, "loops"), number(values, "tilt"));
        let knot = eyes.knot().filter(|_| self.throws > 0);
        let root = knot.unwrap_or(0.5 * (eyes.strand_hole() + eyes.tail_hole()));
        let strand_root = knot.unwrap_or(eyes.strand_hole());
        let (tail, _) = eyes.tail();
        let relative = tail - root;
        // The way to the tail must be sideways, not a withdrawal: the tail's end lies as far ahead of the tip, along
        // the shaft, as the loops lie behind it.
        let level = (relative.x * relative.x + relative.y * relative.y).sqrt().max(1e-6);
        let wanted = (-(loops + 1.0) - relative.z * sin(tilt)) / (cos(tilt) * level);
        let toward = atan2(relative.y, relative.x);
        let off = acos(wanted);
        let azimuth = [toward + off, toward - off]
            .into_iter()
            .map(|a| {
                if a > PI {
                    a - 2.0 * PI
                } else if a < -PI {
                    a + 2.0 * PI
                } else {
                    a
                }
            })
            .min_by(|a, b| a.abs().total_cmp(&b.abs()))
            .unwrap_or(0.0)
            .clamp(-0.75, 0.75);
        let axis = DVec3::new(cos(azimuth) * cos(tilt), sin(azimuth) * cos(tilt), sin(tilt));
        let up = (DVec3::Z - axis * axis.z).normalize();
        let across = up.cross(axis);
        let across = if across.y > 0.0 { across } else { -across };
        // The strand from its root to the loops keeps its length while the holder goes to the tail.
        let height = (tail + axis * (loops - 2.2) - strand_root).length().max(number(values, "height"));
        let centre = strand_root + up * height - axis;
        self.plan = Some(Plan {
            side,
            wraps: number(values, "wraps"),
            loops,
            radius: number(values, "radius"),
            over: if word(values, "round") == "under" { -1.0 } else { 1.0 },
            axis,
            up,
            across,
            centre,
            root,
            throw: self.throws,
            determinant_before: self
                .plan
                .filter(|before| before.throw == self.throws)
                .map_or_else(|| eyes.determinant().unwrap_or(0), |before| before.determinant_before),
        });
        true
    }

    /// Whether this is the first tick of an act.
    pub(super) fn begins(&self) -> bool {
        self.stage == 0 && self.clock == 0
    }

    /// Whether the wraps have slid off the holder: nothing is left to draw the tail through.
    fn loops_lost(&self, eyes: &Eyes) -> bool {
        eyes.winding().abs() < self.plan().wraps - 0.5
    }

    fn plan(&self) -> Plan {
        self.plan.expect("a script plans a throw before it ties it")
    }

    /// Where the strand hand starts to circle.
    fn circle_start(&self) -> DVec3 {
        let p = self.plan();
        p.centre + p.across * (p.side * p.radius) - p.axis * 0.5
    }

    fn gather(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes) -> bool {
        let root = eyes.knot().filter(|_| self.throws > 0).unwrap_or(eyes.strand_hole());
        let there = self.go(LEFT, self.circle_start(), number(values, "speed"));
        let wanted = (self.circle_start() - root).length() + number(values, "slack");
        let gathered = eyes.free_strand() <= wanted;
        self.hold_strand(if gathered { LOOSE } else { 0.0 });
        there && (gathered || self.clock > 120)
    }

    fn stand(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes) -> bool {
        let p = self.plan();
        self.hands.jaw[RIGHT] = 0.0;
        self.hands.turn[RIGHT] = (p.axis, p.up);
        self.hold_strand(2000.0);
        let speed = number(values, "speed");
        let start = self.circle_start();
        // The strand goes out of the way first: the holder comes between the limbs, not through them.
        let left = self.go(LEFT, start, speed);
        let place = p.centre - p.axis * p.loops;
        let above = place + DVec3::Z * 14.0;
        // The strand may stand up in a bow that the holder has gone under: it comes anew from above then.
        let to = match self.stage {
            1 => above + p.axis * 30.0,
            2 => above,
            _ => place,
        };
        let right = self.go(RIGHT, to, speed);
        if !(left && right && self.clock > 20) {
            return false;
        }
        let passed_under = eyes.winding().abs() > 0.5;
        if self.stage == 0 && !passed_under || self.stage == 3 {
            return true;
        }
        self.next_stage();
        false
    }

    fn wrap(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes) -> bool {
        let p = self.plan();
        self.hold_strand(number(values, "tension"));
        let turns = p.wraps + number(values, "extra");
        let total = 2.0 * PI * turns;
        if eyes.strand_tension() < 3.0 * number(values, "tension") + 150.0 {
            self.angle += number(values, "speed") * self.pace * TICK_MS / p.radius;
        }
        let angle = self.angle.min(total);
        let along = -0.5 - number(values, "pitch") * p.wraps * angle / total;
        let circle = p.across * (p.side * cos(angle)) + p.up * (p.over * sin(angle));
        self.go(LEFT, p.centre + circle * p.radius + p.axis * along, 0.12);
        self.angle >= total
    }

    /// Where the strand hand goes while the holder is at the tail: its own side, beside the loops.
    fn beside_loops(&self) -> DVec3 {
        let p = self.plan();
        self.hands.tip[RIGHT] + p.axis * (p.loops + 1.0) + p.across * (p.side * 14.0) + DVec3::Z * 8.0
    }

    fn reach(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes, world: &World) -> bool {
        let p = self.plan();
        if self.loops_lost(eyes) {
            return true;
        }
        self.hold_strand(number(values, "tension"));
        let (tail, along) = eyes.tail();
        self.hands.turn[RIGHT] = (p.axis, opening_for(p.axis, along, p.up, 0.2));
        self.hands.jaw[RIGHT] = 0.75;
        let speed = number(values, "speed");
        let there = self.go(RIGHT, tail + p.axis * 4.0, speed);
        self.go(LEFT, self.beside_loops(), 1.3 * speed);
        there && world.instruments[RIGHT].gap > 2.0
    }

    fn grasp(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes) -> bool {
        let p = self.plan();
        if self.stage == 0 {
            if self.loops_lost(eyes) {
                return true;
            }
            let (tail, _) = eyes.tail();
            if self.begins() {
                self.memo = tail;
            }
            if tail.distance(self.memo) > CHASE {
                return true;
            }
            let there = self.go(RIGHT, tail - p.axis * number(values, "depth"), number(values, "speed"));
            self.go(LEFT, self.beside_loops(), 0.08);
            if there {
                self.next_stage();
            }
            return false;
        }
        self.hands.jaw[RIGHT] = 0.0;
        self.clock > 14
    }

    fn withdraw(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes) -> bool {
        let p = self.plan();
        if self.begins() && !tail_held(eyes) {
            return true;
        }
        let speed = number(values, "speed");
        let off = eyes.winding().abs() < 0.4 && eyes.loops_behind_tip().is_none();
        if self.stage == 0 {
            // The holder goes back through the loops with the tail.
            self.hold_strand(number(values, "tension"));
            let free_tail = 0.9 * (eyes.tail_length() - 3.0);
            let to = p.root + DVec3::new(0.9, 0.1 * p.side, 0.5).normalize() * free_tail;
            let there = self.go_feeling(RIGHT, to, 0.7 * speed, eyes.tail_tension(), 400.0, p.root);
            self.go(LEFT, p.root + DVec3::new(-16.0, 18.0 * p.side, 14.0), 0.6 * speed);
            if there && off && self.clock > 40 {
                return true;
            }
            // Once the holder is there, loops that still hang do not come off by waiting.
            let patience = if there { 60 } else { 150 };
            if self.clock > patience {
                self.next_stage();
            }
            return false;
        }
        match self.stage.checked_sub(1 + SHED_TRIES) {
            Some(act) if act < TAKE_ANEW => {
                self.take_tail_anew(act, eyes, speed);
                false
            }
            _ => self.shed(values, eyes, off),
        }
    }

    /// Loops may hang on the jaws, or on the tail where it leaves them: with the holder in line with the taut tail they
    /// are drawn off forward, or given slack to be drawn anew.
    fn shed(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes, off: bool) -> bool {
        let p = self.plan();
        let (speed, pull) = (number(values, "speed"), number(values, "shed"));
        let tip = eyes.pose(RIGHT).position;
        let back = (tip - p.root).normalize_or_zero();
        self.hands.turn[RIGHT] = (back, (p.up - back * back.dot(p.up)).normalize_or_zero());
        let taut = p.root + back * (eyes.tail_length() + 4.0);
        self.go_feeling(RIGHT, taut, 0.5 * speed, eyes.tail_tension(), TAUT, p.root);
        self.hold_strand(2.0 * pull);
        let ahead = if self.stage % 2 == 1 { 60.0 } else { 12.0 };
        let to = tip - back * ahead + p.across * (p.side * 8.0) + DVec3::Z * 6.0;
        self.go_feeling(LEFT, to, speed, eyes.strand_tension(), pull, tip);
        if off && self.clock > 10 {
            return true;
        }
        if self.clock > 40 {
            self.next_stage();
        }
        self.stage > 2 * SHED_TRIES + TAKE_ANEW
    }

    /// Lets the tail go and takes it again, which frees a loop that has caught on it.
    fn take_tail_anew(&mut self, act: u32, eyes: &Eyes, speed: f64) {
        let axis = self.hands.turn[RIGHT].0;
        let (tail, along) = eyes.tail();
        self.hold_strand(LOOSE);
        if act > 0 {
            self.hands.turn[RIGHT].1 = opening_for(axis, along, self.plan().up, 0.0);
        }
        let there = match act {
            0 => {
                self.hands.jaw[RIGHT] = 0.75;
                self.memo = self.hands.tip[RIGHT] + axis * 8.0;
                self.clock > 20
            }
            1 => self.go(RIGHT, self.memo, speed),
            2 => self.go(RIGHT, tail + axis * 4.0, speed),
            3 => self.go(RIGHT, tail - axis * DEPTH, speed),
            _ => {
                self.hands.jaw[RIGHT] = 0.0;
                self.clock > 14
            }
        };
        if there || self.clock > 90 {
            self.next_stage();
        }
    }

    fn next_stage(&mut self) {
        self.stage += 1;
        self.clock = 0;
    }

    fn cross(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes) -> bool {
        let p = self.plan();
        if self.begins() && !tail_held(eyes) {
            return true;
        }
        let (speed, limit) = (number(values, "speed"), number(values, "tension"));
        self.hold_strand(2500.0);
        self.hands.turn[RIGHT] = (p.axis, p.up);
        let places = [
            (DVec3::new(8.0, 12.0 * p.side, 12.0), DVec3::new(-12.0, 0.0, 30.0)),
            (DVec3::new(2.0, 14.0 * p.side, 4.0), DVec3::new(-5.0, -30.0 * p.side, 8.0)),
        ];
        let (right, left) = places[self.stage as usize];
        let at_right = self.go_feeling(RIGHT, p.root + right, speed, eyes.tail_tension(), limit, p.root);
        let at_left = self.go_feeling(LEFT, p.root + left, 1.3 * speed, eyes.strand_tension(), limit, p.root);
        if (at_right && at_left) || self.clock > 150 {
            self.next_stage();
        }
        self.stage as usize >= places.len()
    }

    fn pull(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes) -> bool {
        let p = self.plan();
        let (speed, strand, tail) = (number(values, "speed"), number(values, "strand"), number(values, "tail"));
        self.hold_strand(3.0 * strand);
        // Level with the gum: pulling upward would lift the flaps and leave the throw standing over the wound.
        // Along the wound: across it, both limbs would lie along one line with both holes and the throw could stretch
        // from one to the other without end.
        let lean = number(values, "lean");
        let right = p.root + DVec3::new(60.0, 60.0 * lean, 3.0);
        let left = p.root + DVec3::new(-110.0, 110.0 * lean, 6.0);
        self.go_feeling(RIGHT, right, speed, eyes.tail_tension(), tail, p.root);
        self.go_feeling(LEFT, left, speed, eyes.strand_tension(), strand, p.root);
        if eyes.strand_tension() > 0.85 * strand && eyes.tail_tension() > 0.85 * tail {
            self.stage += 1;
        }
        if self.stage > 20 || self.clock > 300 {
            self.throws += 1;
            return true;
        }
        false
    }

    fn lay(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes) -> bool {
        let p = self.plan();
        let knot = eyes.knot().unwrap_or(p.root);
        if self.stage == 0 {
            for (hand, back) in [(RIGHT, 0.1), (LEFT, 0.15)] {
                let toward = (knot - self.hands.tip[hand]).normalize_or_zero();
                self.hands.tip[hand] += toward * back;
            }
            if self.clock > 40 {
                self.next_stage();
                self.memo = knot;
            }
            return false;
        }
        // The tail is led round the knot, not over it, and laid out straight so that its end can be found again.
        let reach = laid_reach(eyes);
        let aside = self.memo + DVec3::new(0.4, p.side, 0.3).normalize() * reach;
        let down = self.memo + DVec3::new(-0.6, p.side, 0.05).normalize() * reach + DVec3::Z * 1.5;
        let speed = number(values, "speed");
        let to = if self.stage == 1 { aside } else { down };
        let there = self.go_feeling(RIGHT, to, speed, eyes.tail_tension(), 150.0, self.memo);
        let left = self.memo + DVec3::new(-8.0, -34.0 * p.side, 20.0);
        self.go_feeling(LEFT, left, speed, eyes.strand_tension(), 60.0, self.memo);
        if (there || self.clock > 120) && self.stage == 1 {
            self.next_stage();
            return false;
        }
        there || self.clock > 120
    }

    fn release(&mut self, values: &BTreeMap<String, Value>, world: &World) -> bool {
        if self.stage == 0 {
            self.hands.jaw[RIGHT] = 0.7;
            if world.instruments[RIGHT].gap > 1.5 {
                self.stage = 1;
                self.memo = self.hands.tip[RIGHT] + self.hands.turn[RIGHT].0 * 25.0;
            }
            return false;
        }
        if !self.go(RIGHT, self.memo, number(values, "speed")) {
            return false;
        }
        self.hands.jaw[RIGHT] = 0.0;
        true
    }
}

impl Performer {
    /// Opens the holder, wherever it is, and backs it out of the way; after a throw that came to nothing the tail is
    /// first put back on its side, where the next try can take it.
    fn clear(&mut self, values: &BTreeMap<String, Value>, eyes: &Eyes, world: &World) -> bool {
        let speed = number(values, "speed");
        let unfinished = self.plan.filter(|plan| plan.throw == self.throws);
        match (self.stage, unfinished) {
            (0, Some(p)) => {
                let (tail, _) = eyes.tail();
                let astray = (p.root.y - tail.y) * p.side < ON_ITS_SIDE;
                self.stage = if eyes.grasped().0 > 0 { PUT_BACK } else { 1 + u32::from(!astray) * PUT_BACK };
                self.clock = 0;
            }
            (act @ 1..PUT_BACK, Some(_)) => self.take_tail_anew(act - 1, eyes, speed),
            (PUT_BACK, Some(p)) => {
                let back = p.root + DVec3::new(-0.6, -p.side, 0.2).normalize() * laid_reach(eyes);
                self.hold_strand(LOOSE);
                if self.go_feeling(RIGHT, back, speed, eyes.tail_tension(), TAUT, p.root) || self.clock > 120 {
                    self.next_stage();
                }
            }
            (..=OPEN, _) => {
                self.hands.jaw[RIGHT] = 0.7;
                self.memo = self.hands.tip[RIGHT] + self.hands.turn[RIGHT].0 * 25.0;
                if !world.holds_thread(RIGHT) || world.instruments[RIGHT].gap > 1.5 {
                    self.stage = OPEN + 1;
                }
            }
            _ => {
                let out = DVec3::new(self.memo.x.max(22.0), self.memo.y, self.memo.z.max(16.0));
                if self.go(RIGHT, out, speed) {
                    self.hands.jaw[RIGHT] = 0.0;
                    return true;
                }
            }
        }
        false
    }
}

/// How far from its root a tail's end is laid [mm].
fn laid_reach(eyes: &Eyes) -> f64 {
    0.85 * (eyes.tail_length() - 5.0)
}

/// Which way jaws whose shaft lies along `axis` open to close on a thread along `along`; `up` if the sine between the two
/// is no more than `sine_min`.
fn opening_for(axis: DVec3, along: DVec3, up: DVec3, sine_min: f64) -> DVec3 {
    let across = axis.cross(along);
    let opening = if across.length() > sine_min { across.normalize() } else { up };
    if opening.z < 0.0 { -opening } else { opening }
}

/// Whether the holder has the tail and nothing else of the thread: without it there is nothing to draw through.
fn tail_held(eyes: &Eyes) -> bool {
    let (tail, other) = eyes.grasped();
    tail > 1 && other == 0
}

/// How often a loop that hangs is drawn at, before the tail is taken anew and again after.
const SHED_TRIES: u32 = 7;
/// Acts of taking the tail anew: open, back off, come to it, round it, close.
const TAKE_ANEW: u32 = 5;
/// Where the acts of clearing up put a tail back, and open the jaws.
const PUT_BACK: u32 = 1 + TAKE_ANEW;
const OPEN: u32 = PUT_BACK + 1;
/// A tail this far on its own side of where the limbs rise can be taken there [mm].
const ON_ITS_SIDE: f64 = 5.0;
/// Pull above which a strand that is only not to be lost runs through the pads [mN]; estimate: what straightens a slack one.
const LOOSE: f64 = 50.0;
/// A tail that is pushed along farther than this is come to anew [mm].
const CHASE: f64 = 5.0;
/// How far past the tail the jaws reach round it [mm].
const DEPTH: f64 = 1.5;

/// Pull that straightens a tail without moving the gum much [mN]; estimate.
const TAUT: f64 = 200.0;

/// How fast a feeling hand goes for each mN still allowed [mm/ms/mN].
const GIVE: f64 = 0.4e-3;
