//! What a scenario file holds, field by field: `[unit], limits, meaning`.
//!
//! The limits stand once more in the shape table that checks them; a test keeps the two equal.
//! Where a limit has a source, the shape table names it, and the message to the instructor shows it.

use super::amount::{Amount, Dice, Drawn};
use super::rubric::WRONG_SITE;
use crate::math::sin;
use crate::tooth::Tooth;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// One case to practise: the site, the tools, the task and how it is marked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// Version of this language, 1 to 1; looked at before anything else.
    pub format: u32,
    /// Name of the case, text of 1 to 80 characters.
    pub title: String,
    /// What the student is told, text of 1 to 2000 characters.
    pub case_text: String,
    /// Seed of everything that is drawn, 0 to 9007199254740991 (a whole number that every reader of a report keeps).
    pub seed: u64,
    /// Where the stitch is placed.
    pub site: Site,
    /// What it is placed with.
    pub thread: Thread,
    /// The needle swaged to the thread.
    pub needle: Needle,
    /// What the operator's hands can do.
    pub hands: Hands,
    /// How far the stitch is when the attempt begins: `Armed` or `Threaded`; armed if it is left out.
    #[serde(default)]
    pub start: Start,
    /// What is asked for.
    pub task: Task,
    /// How it is marked.
    pub rubric: Rubric,
    /// What the window shows beside the field; everything if it is left out.
    #[serde(default)]
    pub aids: Aids,
    /// Hand script that shows the task, text of 1 to 200 characters: a path relative to the scenarios' folder.
    pub demonstration: String,
    /// What it looks like when it goes wrong; nothing is shown if it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "left_out")]
    pub fault: Option<Fault>,
    /// Its place in the course; outside of it if it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "left_out")]
    pub course: Option<Course>,
}

/// A group that may be left out stands in the text as itself, not as `Some(..)`.
mod left_out {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub(super) fn serialize<T: Serialize, S: Serializer>(group: &Option<T>, to: S) -> Result<S::Ok, S::Error> {
        match group {
            Some(group) => group.serialize(to),
            None => to.serialize_unit(),
        }
    }

    pub(super) fn deserialize<'a, T: Deserialize<'a>, D: Deserializer<'a>>(from: D) -> Result<Option<T>, D::Error> {
        T::deserialize(from).map(Some)
    }
}

impl Scenario {
    /// Whether the site is to be marked on the arch before the first bite: so it is where the rubric lists
    /// [`WRONG_SITE`] among the critical faults, and nowhere else.
    #[must_use]
    pub fn checks_site(&self) -> bool {
        self.rubric.critical.iter().any(|id| id == WRONG_SITE)
    }

    /// Every amount of the scenario as a number: fixed ones as written, ranges drawn from the scenario's seed.
    ///
    /// The same scenario gives the same numbers on every machine. Each amount takes one draw in the order of its
    /// field, whether it is fixed or a range, so that changing one of them leaves the others alone.
    #[must_use]
    pub fn draw(&self) -> Drawn {
        let mut dice = Dice::new(self.seed);
        Drawn {
            edge_gap_mm: self.site.edge_gap_mm.draw(&mut dice),
            flap_thickness_mm: self.site.flap.thickness_mm.draw(&mut dice),
        }
    }
}

/// The extraction site: a socket filled with graft, a membrane over it, and two raised flaps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// The lost tooth in ISO 3950 notation, 11 to 48: quadrant (1 upper right, 2 upper left, 3 lower left, 4 lower
    /// right), then place from the midline (1 to 8).
    pub tooth: u8,
    /// Where the cheek is, seen by the operator: `Far` or `Near`.
    pub cheek: OperatorSide,
    /// The socket's mouth.
    pub socket: Socket,
    /// Gap between the edges of the two flaps [mm], 0 to 12; they need not meet (open healing).
    pub edge_gap_mm: Amount,
    /// Both flaps, cheek and tongue side alike.
    pub flap: Flap,
    /// The membrane over the graft.
    pub membrane: Membrane,
    /// The neighbour toward the midline.
    pub mesial_neighbour: Neighbour,
    /// The neighbour away from the midline.
    pub distal_neighbour: Neighbour,
}

impl Site {
    /// The lost tooth.
    ///
    /// # Panics
    /// If there is no such tooth, which the check of a scenario finds.
    #[must_use]
    pub fn lost_tooth(&self) -> Tooth {
        Tooth::try_from(self.tooth).expect("a scenario that was checked names a tooth that exists")
    }
}

/// A side of the wound as the operator sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum OperatorSide {
    /// Beyond the wound, +y.
    Far,
    /// On the operator's side of the wound, -y.
    Near,
}

/// The mouth of the socket, level with the crest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Socket {
    /// Width along the arch [mm], 3 to 15.
    pub mesiodistal_mm: f64,
    /// Width from cheek to tongue [mm], 3 to 15.
    pub buccolingual_mm: f64,
}

/// A raised full-thickness flap.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Flap {
    /// Thickness [mm], 0.5 to 4.
    pub thickness_mm: Amount,
    /// Height from the free edge to the fold where it is still attached [mm], 4 to 20.
    pub height_mm: f64,
    /// Length along the wound [mm], 8 to 40.
    pub length_mm: f64,
    /// Young's modulus of a uniform flap that gives way as this one does [kPa], 60 to 8900.
    pub modulus_kpa: f64,
    /// Share of sound gum's strength against tearing [1], 0.4 to 1.
    pub quality: f64,
}

/// The membrane that covers the graft and is tucked under both flaps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Membrane {
    /// How far it reaches past the socket's mouth on every side [mm], 0 to 5.
    pub overlap_mm: f64,
    /// Thickness [mm], 0.1 to 1.
    pub thickness_mm: f64,
}

/// A neighbouring tooth's crown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Neighbour {
    /// Width of the crown along the arch [mm], 4 to 13.
    pub crown_width_mm: f64,
    /// Height of the crown above the gum [mm], 3 to 13.
    pub crown_height_mm: f64,
}

/// The thread, by its generic material and pharmacopoeia size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thread {
    /// Generic name of a material of [`crate::material`], text of 1 to 40 characters.
    pub material: String,
    /// Pharmacopoeia size, such as `"4-0"`, text of 1 to 8 characters.
    pub size: String,
    /// Working length that is simulated [mm], 80 to 750.
    pub length_mm: f64,
    /// Soaked and supple (`true`), or dry and springy (`false`).
    pub wet: bool,
}

/// A curved needle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Needle {
    /// Arc in eighths of a circle, 2 to 5.
    pub arc_eighths: u8,
    /// Length along the arc [mm], 8 to 40.
    pub length_mm: f64,
    /// Shape of the point: `ReverseCutting` or `Taper`.
    pub point: NeedlePoint,
    /// Diameter of the wire [mm], 0.2 to 0.8.
    pub wire_mm: f64,
}

impl Needle {
    /// Radius of the arc [mm].
    #[must_use]
    pub fn radius_mm(&self) -> f64 {
        self.length_mm / (f64::from(self.arc_eighths) * PI / 4.0)
    }

    /// Straight distance [mm] between two points of the needle that are `arc_mm` apart along it.
    #[must_use]
    pub fn chord_mm(&self, arc_mm: f64) -> f64 {
        2.0 * self.radius_mm() * sin(0.5 * arc_mm / self.radius_mm())
    }
}

/// Shape of a needle's point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum NeedlePoint {
    /// Triangular, its cutting edge on the outside of the curve; for gum.
    ReverseCutting,
    /// Round, no edge; for soft lining.
    Taper,
}

/// Limits of both hands, the same for every input device.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hands {
    /// Greatest speed of an instrument's tip [mm/s], 10 to 500.
    pub speed_cap_mm_per_s: f64,
    /// Greatest force of a hand on its instrument [N], 1 to 20.
    pub force_cap_n: f64,
}

/// Aids beside the field. What is shown all the time helps to practise and hinders keeping what was learnt (Schmidt & Wulf
/// 1997, Hum. Factors 39:509; from memory): they fade from case to case, and an assessment has none.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Aids {
    /// Gauges of the tensions and of pale gum, `true` or `false`.
    pub gauges: bool,
    /// The throws as they are read, `true` or `false`.
    pub throws: bool,
    /// The hands of the demonstration beside one's own while tying, `true` or `false`; left out where aids are given: `false`.
    #[serde(default)]
    pub ghost: bool,
}

impl Default for Aids {
    fn default() -> Aids {
        Aids { gauges: true, throws: true, ghost: true }
    }
}

impl Aids {
    /// The names of those that are on, as a recording keeps them.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        let all = [(self.gauges, "gauges"), (self.throws, "throws"), (self.ghost, "ghost")];
        all.iter().filter(|(on, _)| *on).map(|(_, name)| (*name).to_owned()).collect()
    }
}

/// How far the stitch is when an attempt begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Start {
    /// The needle is in the holder, above the wound; no bite is taken.
    #[default]
    Armed,
    /// One stitch is through both flaps, its tail short, its strand and the needle in the left hand: it is to be tied.
    Threaded,
}

/// A demonstration of what a case is there to prevent.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fault {
    /// Hand script that shows it, text of 1 to 200 characters: a path relative to the scenarios' folder.
    pub hands: String,
    /// The criterion that it fails on, text of 1 to 40 characters: an id that the rubric marks.
    pub fails: String,
}

/// A place in the course of cases.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Course {
    /// What it is for: `Lesson`, `Assessment` or `Drill`.
    pub level: Level,
    /// Its number among those, 1 to 99.
    pub number: u8,
}

/// What a case of the course is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Level {
    /// One thing to learn, with aids.
    Lesson,
    /// All of it shown without aids.
    Assessment,
    /// One thing to keep in practice.
    Drill,
}

impl std::fmt::Display for Course {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let level = match self.level {
            Level::Lesson => "lesson",
            Level::Assessment => "assessment",
            Level::Drill => "drill",
        };
        write!(f, "{level} {}", self.number)
    }
}

/// What the student is asked to do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Task {
    /// Number of stitches, 1 to 6.
    pub stitches: u32,
    /// The knot's throws in the order of tying, list of 1 to 8.
    pub throws: Vec<Throw>,
    /// Flap on which the knot has to lie: `Cheek` or `Tongue`.
    pub knot_side: KnotSide,
    /// Distance of a bite from the flap's edge [mm], 0.5 to 6; the middle is the aim.
    pub bite_mm: Interval,
    /// Length of each cut end beyond the knot [mm], 1 to 15.
    pub tail_mm: Interval,
    /// How the wound is meant to heal: `OpenHealing` or `Approximation`.
    pub closure: Closure,
}

impl Task {
    /// The ordered knot in the scientific notation (Tera and Aberg 1976), such as `2=1=1`: the wraps of each throw,
    /// joined by `=` where the direction changes (square) and by `x` where it does not (granny).
    #[must_use]
    pub fn notation(&self) -> String {
        let mut notation = String::new();
        for (index, throw) in self.throws.iter().enumerate() {
            if index > 0 {
                notation.push(if self.throws[index - 1].direction == throw.direction { 'x' } else { '=' });
            }
            notation.push_str(&throw.wraps.to_string());
        }
        notation
    }
}

/// One throw: the long strand is carried round the holder, which then draws the tail through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Throw {
    /// Turns of the long strand round the holder, 1 to 4.
    pub wraps: u8,
    /// Which way it is carried over the holder: `Away` or `Toward`.
    pub direction: Direction,
}

/// Which way the long strand is carried over the holder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Direction {
    /// Away from the operator.
    Away,
    /// Toward the operator.
    Toward,
}

/// A flap, named by what it faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum KnotSide {
    /// The cheek's side (buccal).
    Cheek,
    /// The tongue's side, or the palate's in the upper jaw.
    Tongue,
}

/// How the wound is meant to heal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Closure {
    /// The membrane may stay bare between the flap edges; the gap is not marked.
    OpenHealing,
    /// The flaps' edges shall meet.
    Approximation,
}

/// Numbers from `min` to `max`, both allowed; unit and limits are those of the field that holds it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Interval {
    /// Least value that is still right.
    pub min: f64,
    /// Greatest value that is still right.
    pub max: f64,
}

impl Interval {
    /// The middle, which is the aim.
    #[must_use]
    pub fn middle(self) -> f64 {
        0.5 * (self.min + self.max)
    }

    /// How far `value` lies outside; 0 inside.
    #[must_use]
    pub fn outside(self, value: f64) -> f64 {
        (self.min - value).max(value - self.max).max(0.0)
    }
}

/// How the attempt is marked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rubric {
    /// Least score that passes [%], 0 to 100.
    pub pass_mark: f64,
    /// What is marked, list of 1 to 20.
    pub criteria: Vec<RubricItem>,
    /// Ids of the faults that fail the attempt whatever its score, list of 0 to 20; see `CRITICAL_FAULT_IDS`. With
    /// `wrong_site` the site is to be marked on the arch before the first bite.
    pub critical: Vec<String>,
}

/// One criterion, its weight and the bands that turn what was measured into a mark.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RubricItem {
    /// The criterion's id, text of 1 to 40 characters; see `CRITERION_IDS`.
    pub id: String,
    /// Its share of the score, 0 to 100; only the ratio to the other weights counts.
    pub weight: f64,
    /// Its bands by name, all that `BAND_RULES` lists for this id and no other.
    pub bands: BTreeMap<String, Band>,
}

/// A ramp from no mark to full mark over a measured number, whose unit is in the band's name.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Band {
    /// Measured number that earns the full mark, -100 to 1000.
    pub full: f64,
    /// Measured number that earns none, -100 to 1000.
    pub zero: f64,
}

impl Band {
    /// Mark of a measured number, 0..=1: straight from `zero` to `full`, flat beyond both.
    #[must_use]
    pub fn mark(self, measured: f64) -> f64 {
        ((measured - self.zero) / (self.full - self.zero)).clamp(0.0, 1.0)
    }
}
