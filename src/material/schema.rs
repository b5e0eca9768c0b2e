//! The table of materials as it is written: cells of one number or a range, each with its origin.
//!
//! Shape only; what the numbers must be is checked beside it.

use serde::Deserialize;
use std::collections::BTreeMap;

/// The whole table, format 1.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    /// Version of this shape, 1.
    pub format: u32,
    /// Full references by the keys that origins name.
    pub sources: BTreeMap<String, String>,
    /// What a size means, by the class of thread.
    pub size_classes: BTreeMap<String, SizeClass>,
    /// The materials.
    pub materials: Vec<Entry>,
}

/// Sizes of one class of thread, thickest first.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SizeClass {
    /// How the pharmacopoeia measures threads of this class.
    pub tested: Wetness,
    /// The sizes.
    pub sizes: Vec<Size>,
}

/// Whether a thread is soaked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum Wetness {
    /// As it comes dry, or as it dries.
    Dry,
    /// Soaked.
    Wet,
}

/// What one size of a class is.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Size {
    /// Pharmacopoeia size, such as `4-0`.
    pub size: String,
    /// Metric size of the European Pharmacopoeia [0.1 mm].
    pub metric: Option<Cell>,
    /// Limits of the average diameter [mm].
    pub diameter_mm: Cell,
    /// Least average force that breaks a knotted strand [N].
    pub knot_pull_min_n: Option<Cell>,
}

/// One material.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Generic name.
    pub name: String,
    /// Key of its sizes in [`Table::size_classes`].
    pub size_class: String,
    /// How the thread is made.
    pub construction: Fact<Construction>,
    /// Whether tissue absorbs it.
    pub absorbable: Fact<bool>,
    /// Days for which a stitch in tissue can be relied on.
    pub strength_days: Option<Cell>,
    /// Days for which strength was seen to last in the mouth.
    pub strength_days_in_mouth: Option<Cell>,
    /// Density of the solid [g/cm^3].
    pub density_g_per_cm3: Cell,
    /// Share of the round outline that is solid [1].
    pub fill_share: Cell,
    /// Poisson's ratio [1].
    pub poisson_ratio: Cell,
    /// Bending stiffness over that of a solid round section of the same modulus [1].
    pub bending_share: Cell,
    /// Twist stiffness over that of a solid round section of the same modulus [1].
    pub twist_share: Cell,
    /// Normal stiffness where two threads cross [N/mm].
    pub contact_stiffness_n_per_mm: Cell,
    /// Power of the normal force with which friction goes [1]: -0.2 means 37 % less at ten times the force.
    pub friction_load_exponent: Cell,
    /// Normal force at which the frictions hold [N].
    pub friction_load_n: Cell,
    /// As it is dry.
    pub dry: Condition,
    /// As it is soaked.
    pub wet: Condition,
}

/// What wetness changes.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Condition {
    /// Young's modulus in tension, over the round outline [GPa].
    pub young_modulus_gpa: Cell,
    /// Stress that breaks a straight strand, over the round outline [MPa].
    pub straight_strength_mpa: Cell,
    /// Stress that breaks a knotted strand [MPa].
    pub knotted_strength_mpa: Cell,
    /// Strain at which a straight strand breaks [1].
    pub break_strain: Cell,
    /// What lies between rest and break.
    pub stress_strain: Curve,
    /// Strain of the outermost fibre of a bend at which it stops springing back [1].
    pub yield_strain: Cell,
    /// Time in which the rest curvature follows most of the way to the curvature a thread is held in [s].
    pub set_relaxation_s: Cell,
    /// Coulomb friction of thread on thread [1].
    pub friction_on_thread: Cell,
    /// Coulomb friction of thread on an instrument's steel [1].
    pub friction_on_steel: Cell,
    /// Coulomb friction of thread in tissue [1].
    pub friction_in_tissue: Cell,
}

/// How a thread is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum Construction {
    /// One filament.
    Monofilament,
    /// Strips twisted into one strand.
    Twisted,
    /// Many filaments, braided.
    Braided,
}

impl Construction {
    /// In a word.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Construction::Monofilament => "monofilament",
            Construction::Twisted => "twisted",
            Construction::Braided => "braided",
        }
    }
}

/// Something that is no number, and where that is from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fact<T> {
    /// What is so.
    pub is: T,
    /// Where this is from.
    pub from: Origin,
}

/// Points of a curve from rest to break, both left out, and where they are from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Curve {
    /// The points, by rising strain.
    pub points: Vec<CurvePoint>,
    /// Where they are from.
    pub from: Origin,
}

/// A point of a stress-strain curve.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CurvePoint {
    /// Strain [1].
    pub strain: f64,
    /// Stress over the round outline [MPa].
    pub stress_mpa: f64,
}

/// Where a cell is from.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub enum Origin {
    /// Read in the source of this key.
    Read(String),
    /// The source of this key as remembered.
    FromMemory(String),
    /// A choice of ours, and why.
    Estimate(String),
}

impl Origin {
    /// Key of the source, if it is one.
    #[must_use]
    pub fn key(&self) -> Option<&str> {
        match self {
            Origin::Read(key) | Origin::FromMemory(key) => Some(key),
            Origin::Estimate(_) => None,
        }
    }
}

impl std::fmt::Display for Origin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Origin::Read(key) => f.write_str(key),
            Origin::FromMemory(key) => write!(f, "from_memory: {key}"),
            Origin::Estimate(why) => write!(f, "estimate: {why}"),
        }
    }
}

/// A number or a range of it, and where it is from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "WrittenCell")]
pub struct Cell {
    /// Lower end; a cell of one number has it twice.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Where number or range are from.
    pub from: Origin,
    /// The number within the range that is used, if it is not the middle.
    pub chosen: Option<Chosen>,
}

/// A number chosen within a range, and where the choice is from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Chosen {
    /// The number.
    pub value: f64,
    /// Where it is from.
    pub from: Origin,
}

impl Cell {
    /// What the simulation takes: the chosen number, or the middle of the range.
    #[must_use]
    pub fn used(&self) -> f64 {
        self.chosen.as_ref().map_or(0.5 * (self.low + self.high), |chosen| chosen.value)
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenCell {
    value: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    used: Option<Chosen>,
    from: Origin,
}

impl TryFrom<WrittenCell> for Cell {
    type Error = &'static str;

    fn try_from(written: WrittenCell) -> Result<Cell, Self::Error> {
        let WrittenCell { value, low, high, used, from } = written;
        match (value, low, high, used) {
            (Some(value), None, None, None) => Ok(Cell { low: value, high: value, from, chosen: None }),
            (None, Some(low), Some(high), chosen) => Ok(Cell { low, high, from, chosen }),
            _ => Err("a cell has either `value`, or `low` and `high` and maybe `used`"),
        }
    }
}

/// A cell with its key, its name in words, its unit and the limits of what it may be at all.
#[derive(Debug, Clone, Copy)]
pub struct Field<'a> {
    /// Name of the field in the text, with its unit.
    pub key: &'static str,
    /// In words.
    pub title: &'static str,
    /// Unit for people; empty for a plain number.
    pub unit: &'static str,
    /// Least and greatest number that makes sense.
    pub limits: [f64; 2],
    /// The cell.
    pub cell: &'a Cell,
}

/// Lists cells by their fields: `field: title, unit, least to greatest;`.
macro_rules! fields {
    ($of:expr; $($key:ident: $title:literal, $unit:literal, $low:literal to $high:literal;)*) => {
        [$({
            let cell = CellOf::cell(&$of.$key);
            cell.map(|cell| Field { key: stringify!($key), title: $title, unit: $unit, limits: [$low, $high], cell })
        }),*]
        .into_iter()
        .flatten()
        .collect()
    };
}

/// A cell that may be missing.
trait CellOf {
    fn cell(&self) -> Option<&Cell>;
}

impl CellOf for Cell {
    fn cell(&self) -> Option<&Cell> {
        Some(self)
    }
}

impl CellOf for Option<Cell> {
    fn cell(&self) -> Option<&Cell> {
        self.as_ref()
    }
}

impl Size {
    /// Its cells, in the order of the text.
    #[must_use]
    pub fn fields(&self) -> Vec<Field<'_>> {
        fields![self;
            metric: "metric size", "", 0.1 to 10.0;
            diameter_mm: "diameter", "mm", 0.01 to 1.0;
            knot_pull_min_n: "least knot pull, mean of a batch", "N", 0.1 to 100.0;
        ]
    }
}

impl Entry {
    /// Its cells that do not depend on wetness or size, in the order of the text.
    #[must_use]
    pub fn fields(&self) -> Vec<Field<'_>> {
        fields![self;
            strength_days: "strength to rely on in tissue", "days", 1.0 to 2000.0;
            strength_days_in_mouth: "strength seen to last in the mouth", "days", 1.0 to 2000.0;
            density_g_per_cm3: "density", "g/cm^3", 0.5 to 9.0;
            fill_share: "solid share of the outline", "", 0.3 to 1.0;
            poisson_ratio: "Poisson's ratio", "", 0.0 to 0.5;
            bending_share: "bending stiffness over solid", "", 0.001 to 1.0;
            twist_share: "twist stiffness over solid", "", 0.001 to 1.0;
            contact_stiffness_n_per_mm: "stiffness where threads cross", "N/mm", 1.0 to 1000.0;
            friction_load_exponent: "friction goes with force to the power", "", -0.34 to 0.0;
            friction_load_n: "force at which the frictions hold", "N", 0.01 to 20.0;
        ]
    }

    /// As it is dry or wet.
    #[must_use]
    pub fn condition(&self, wetness: Wetness) -> &Condition {
        match wetness {
            Wetness::Dry => &self.dry,
            Wetness::Wet => &self.wet,
        }
    }
}

impl Condition {
    /// Strain [1] and stress [MPa] of a straight strand, from rest to break, both included.
    #[must_use]
    pub fn stress_strain_curve(&self) -> Vec<[f64; 2]> {
        let points = self.stress_strain.points.iter().map(|point| [point.strain, point.stress_mpa]);
        let end = [self.break_strain.used(), self.straight_strength_mpa.used()];
        std::iter::once([0.0, 0.0]).chain(points).chain([end]).collect()
    }

    /// Its cells, in the order of the text.
    #[must_use]
    pub fn fields(&self) -> Vec<Field<'_>> {
        fields![self;
            young_modulus_gpa: "Young's modulus", "GPa", 0.05 to 250.0;
            straight_strength_mpa: "strength, straight", "MPa", 10.0 to 3000.0;
            knotted_strength_mpa: "strength, knotted", "MPa", 10.0 to 3000.0;
            break_strain: "strain at break", "", 0.01 to 3.0;
            yield_strain: "strain at which a bend takes a set", "", 0.001 to 0.3;
            set_relaxation_s: "relaxation time of the set", "s", 0.1 to 1e6;
            friction_on_thread: "friction on thread", "", 0.01 to 1.0;
            friction_on_steel: "friction on steel", "", 0.01 to 1.0;
            friction_in_tissue: "friction in tissue", "", 0.01 to 1.0;
        ]
    }
}
