//! What was measured in an attempt: plain numbers, each with the tick it belongs to.
//!
//! Nothing here judges. A measurement that could not be made is `None` or an empty list, never a made-up number.

use serde::{Deserialize, Serialize};

use crate::quantity::{MN_PER_N, Tick};
use crate::said::{Said, said};
use crate::tooth::Tooth;

/// A number and the tick at which it was so. The unit is in the name of the field that holds it.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Measured {
    /// The number, in the unit that the field's name ends with.
    pub value: f64,
    /// When it was measured.
    pub tick: Tick,
}

impl Measured {
    /// `value` as it was at `tick`.
    #[must_use]
    pub const fn new(value: f64, tick: Tick) -> Self {
        Self { value, tick }
    }
}

/// Everything measured in one attempt. The default is an attempt in which nothing happened.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Findings {
    /// The attempt's last tick.
    pub duration: Tick,
    /// What was marked as the site, and when the needle first went in.
    #[serde(default)]
    pub site: SiteCheck,
    /// Stitches in the order in which their first bite was taken.
    pub stitches: Vec<Stitch>,
    /// What happened to the gum.
    pub tissue: Tissue,
    /// What happened to the needle, in order of time.
    pub needle: Vec<NeedleEvent>,
    /// What was done to the thread.
    #[serde(default)]
    pub thread_use: ThreadUse,
    /// Where the thread broke, in order of time.
    pub thread_breaks: Vec<ThreadBreak>,
    /// How far the simulation itself can be trusted.
    pub validity: Validity,
}

impl Findings {
    /// The knots, in the order of their stitches.
    pub fn knots(&self) -> impl Iterator<Item = &Knot> {
        self.stitches.iter().filter_map(|stitch| stitch.knot.as_ref())
    }

    /// The notations of all knots, in the order of their stitches, with commas between; `None` if none is tied.
    #[must_use]
    pub fn notations(&self) -> Option<String> {
        let all: Vec<&str> = self.knots().map(|knot| knot.notation.as_str()).collect();
        (!all.is_empty()).then(|| all.join(", "))
    }
}

/// What was marked on the arch as the site, and when the first bite was begun.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct SiteCheck {
    /// Every mark, in order of time.
    pub marks: Vec<SiteMark>,
    /// When the needle's point first went into a flap; `None` if it never did.
    pub first_bite: Option<Tick>,
}

impl SiteCheck {
    /// The tooth that counts as marked, and since when: the last mark before the first bite, unless it wiped one off. A
    /// tick's marks are made before anything moves in it.
    #[must_use]
    pub fn marked(&self) -> Option<(Tooth, Tick)> {
        let last = self.marks.iter().rfind(|mark| self.first_bite.is_none_or(|bite| mark.tick <= bite))?;
        Some((last.tooth?, last.tick))
    }
}

/// A tooth that was marked as the site.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct SiteMark {
    /// The tooth; `None` if a mark was wiped off.
    pub tooth: Option<Tooth>,
    /// When.
    pub tick: Tick,
}

/// One stitch: its bites, its knot, its tension and its ends.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Stitch {
    /// Bites in the order taken.
    pub bites: Vec<Bite>,
    /// The knot as it lies at the end of the attempt; `None` if none is tied.
    pub knot: Option<Knot>,
    /// When a knot that had been tied came open, if the stitch has none that holds at the end.
    pub knot_undone: Option<Tick>,
    /// Tension of the loop through the tissue; `None` while there is no loop.
    pub loop_tension: Option<LoopTension>,
    /// What was left beyond the knot when the thread was cut.
    pub tails: Tails,
}

/// A side of the wound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Side {
    /// The cheek's side: the side to which distances from the wound line are positive.
    Cheek,
    /// The tongue's side; in an upper jaw, the palate's.
    Tongue,
}

impl Side {
    /// The side's name in a sentence.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Cheek => "cheek",
            Self::Tongue => "tongue",
        }
    }

    /// The same for other languages too.
    #[must_use]
    pub fn said(self) -> Said {
        match self {
            Self::Cheek => said!("mark-side-cheek", "cheek"),
            Self::Tongue => said!("mark-side-tongue", "tongue"),
        }
    }
}

/// One passage of the needle through a flap.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Bite {
    /// The flap that was pierced.
    pub flap: Side,
    /// Place of the hole along the wound, from the middle of the site [mm], positive to the operator's right.
    pub along_wound_mm: f64,
    /// From the hole to the nearest point of the flap's free edge, along the surface [mm].
    pub distance_from_edge_mm: f64,
    /// Thickness of the tissue taken, from the surface [mm].
    pub depth_mm: f64,
    /// Angle between the needle's path and the surface where it entered [deg], 90 = at a right angle.
    pub angle_deg: f64,
    /// When the needle's tip came out.
    pub tick: Tick,
}

/// A knot, as read from the thread's shape.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Knot {
    /// Wraps of each throw, joined by `=` (parallel) or `x` (crossed), after `S` if the knot is sliding: `2=1=1`.
    /// The notation is that of Tera & Aberg 1976, Acta Chir Scand 142:1.
    pub notation: String,
    /// Throws in the order laid.
    pub throws: Vec<Throw>,
    /// Whether the throws lie flat or slide along one straight strand.
    pub form: Form,
    /// How unevenly the two limbs share the knot's curvature: 0 = alike (flat), 1 = one limb is a straight post.
    pub form_measure: f64,
    /// Why the reading is not clear; `None` if it is.
    pub unclear: Option<String>,
    /// Determinant of the closed-up curve, if it was worked out.
    pub determinant: Option<u64>,
    /// From the wound line to the knot's middle [mm], positive toward the cheek.
    pub from_wound_line_mm: Measured,
    /// From the line of the socket's mouth and flap edge to the knot's middle [mm], negative = over the socket.
    pub outside_socket_mm: Measured,
    /// What a pull of the knot found; `None` if it was not pulled.
    #[serde(default)]
    pub holding: Option<Holding>,
}

/// What came of a pull of the knot, its loop cut opposite it and drawn open.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Holding {
    /// Greatest force before the thread broke or the knot had slipped by more than 1.8 mm [mN], with the tick in whose
    /// state the knot was pulled.
    pub force_mn: Measured,
    /// How far it had slipped at that force [mm].
    pub slip_mm: f64,
    /// Whether the thread broke before the knot slipped.
    pub broke: bool,
}

impl Holding {
    /// The force [N].
    #[must_use]
    pub fn force_n(&self) -> f64 {
        self.force_mn.value / MN_PER_N
    }
}

/// One throw of a knot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Throw {
    /// Times the strand goes round: 1 = single, 2 = double.
    pub wraps: u32,
    /// Sign of the throw's crossings. Neighbours of opposite handedness are parallel (square).
    pub handedness: Handedness,
    /// Which way the long strand was carried round the holder.
    pub direction: Direction,
    /// When the throw was laid down.
    pub tick: Tick,
}

/// Sign of the crossings of a throw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Handedness {
    /// Negative crossings.
    Left,
    /// Positive crossings.
    Right,
}

impl Handedness {
    /// The hand's name in a sentence.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    /// The same for other languages too.
    #[must_use]
    pub fn said(self) -> Said {
        match self {
            Self::Left => said!("mark-hand-left", "left"),
            Self::Right => said!("mark-hand-right", "right"),
        }
    }
}

/// Which way the long strand is carried over the top of the holder's shaft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Direction {
    /// Away from the operator.
    Away,
    /// Toward the operator.
    Toward,
}

impl Direction {
    /// The direction's name in a sentence.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Away => "away",
            Self::Toward => "toward",
        }
    }

    /// The same for other languages too.
    #[must_use]
    pub fn said(self) -> Said {
        match self {
            Self::Away => said!("mark-direction-away", "away"),
            Self::Toward => said!("mark-direction-toward", "toward"),
        }
    }
}

/// How a knot's throws lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Form {
    /// Both limbs turn about each other.
    Flat,
    /// One limb runs straight and the other turns about it.
    Sliding,
}

impl Form {
    /// The form's name in a sentence.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Flat => "flat",
            Self::Sliding => "sliding",
        }
    }

    /// The same for other languages too.
    #[must_use]
    pub fn said(self) -> Said {
        match self {
            Self::Flat => said!("mark-form-flat", "flat"),
            Self::Sliding => said!("mark-form-sliding", "sliding"),
        }
    }
}

/// Tension of a stitch's loop [mN].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LoopTension {
    /// At the end of the attempt [mN].
    pub now_mn: Measured,
    /// The largest since the first throw was laid [mN].
    pub peak_mn: Measured,
}

impl LoopTension {
    /// Tension at the end [N].
    #[must_use]
    pub fn now_n(&self) -> f64 {
        self.now_mn.value / MN_PER_N
    }

    /// Largest tension [N].
    #[must_use]
    pub fn peak_n(&self) -> f64 {
        self.peak_mn.value / MN_PER_N
    }
}

/// Thread left beyond the knot, from the knot to the cut; `None` = not cut.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Tails {
    /// The short end [mm].
    pub tail_mm: Option<Measured>,
    /// The end of the long strand, on which the needle was [mm].
    pub strand_mm: Option<Measured>,
}

/// What happened to the gum.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Tissue {
    /// Where and how long blood left the gum; `None` if it was not measured.
    pub blanching: Option<Blanching>,
    /// Slits at the holes, in order of time.
    pub tears: Vec<Tear>,
    /// Largest distance between the flap edges at the stitch [mm].
    pub edges_gap_mm: Option<Measured>,
    /// How the edges lie to each other at the end; `None` if that was not measured.
    #[serde(default)]
    pub edges: Option<Edges>,
    /// How the membrane lies at the end; `None` if it was not measured.
    pub membrane: Option<MembraneCover>,
}

/// How the membrane over the graft lies under the flaps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MembraneCover {
    /// Least overlap under the cheek flap [mm]; negative = bare graft beside it.
    pub under_cheek_mm: Measured,
    /// Least overlap under the tongue flap [mm].
    pub under_tongue_mm: Measured,
    /// When the needle went through it, in order of time.
    pub pierced: Vec<Tick>,
    /// How far it was dragged from where it lay [mm], and when it last moved; `None` if it never did.
    #[serde(default)]
    pub dragged_mm: Option<Measured>,
}

/// How the two flaps' free edges lie to each other, along the wound.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Edges {
    /// Places along the wound, from left to right.
    pub stations: Vec<EdgeStation>,
    /// When they were measured.
    pub tick: Tick,
}

/// The two edges at one place along the wound.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct EdgeStation {
    /// Place along the wound, from the middle of the site [mm], positive to the operator's right.
    pub along_wound_mm: f64,
    /// Distance between the edges [mm]; 0 where they meet.
    pub gap_mm: f64,
    /// How much higher the cheek's edge stands than the tongue's [mm].
    pub step_mm: f64,
}

/// A place on a flap.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FlapPlace {
    /// The flap.
    pub flap: Side,
    /// Along the wound, from the middle of the site [mm], positive to the operator's right.
    pub along_wound_mm: f64,
    /// From the flap's free edge [mm], along the surface at rest.
    pub from_edge_mm: f64,
}

/// Pale gum: paleness (0 to 1) summed over the surface, leaving out a disc of 1 mm radius round each hole.
///
/// A thread pinches the gum at its own hole in every stitch, however gentle, so that halo says nothing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Blanching {
    /// Pale area at the end [mm2].
    pub end_mm2: Measured,
    /// The largest pale area [mm2].
    pub peak_mm2: Measured,
    /// Pale area summed over the time of the attempt [mm2 s].
    pub integral_mm2_s: Measured,
    /// Pale area 5 s after the last throw was laid [mm2]; `None` if the attempt ended before.
    pub persisting_mm2: Option<Measured>,
    /// Middle of the pale area when it was largest, in the flap that had more of it; `None` if nothing was pale.
    #[serde(default)]
    pub peak_place: Option<FlapPlace>,
    /// The same 5 s after the last throw, or at the end if the attempt ended before.
    #[serde(default)]
    pub lasting_place: Option<FlapPlace>,
}

/// A slit that runs from a hole toward the flap's edge.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tear {
    /// Place of the stitch in [`Findings::stitches`].
    pub stitch: u32,
    /// Place of the bite in [`Stitch::bites`].
    pub bite: u32,
    /// Length of the slit at the end [mm].
    pub slit_mm: f64,
    /// Whether it has reached the edge, so that the thread is out.
    pub through: bool,
    /// When the slit began, or, if it went through, when it did.
    pub tick: Tick,
}

/// Something that happened to the needle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct NeedleEvent {
    /// What happened.
    pub kind: NeedleEventKind,
    /// Where its point then was along the wound, from the middle of the site [mm].
    pub along_wound_mm: f64,
    /// Where its point then was across the wound, from its line [mm], positive toward the cheek.
    pub across_mm: f64,
    /// How hard its point pressed on bone or tooth at most [N]; `None` for what is no such meeting.
    pub force_n: Option<f64>,
    /// When; of a meeting, when it was hardest.
    pub tick: Tick,
}

/// The kinds of [`NeedleEvent`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum NeedleEventKind {
    /// The tip went into a flap.
    Entered,
    /// The tip came out of a flap.
    Exited,
    /// It pierced the membrane.
    PiercedMembrane,
    /// It was held by no instrument and by no tissue.
    Dropped,
    /// It was never taken up again.
    Lost,
    /// Its point came on bone.
    MetBone,
    /// Its point came on a tooth.
    MetTooth,
}

impl NeedleEventKind {
    /// The event's name in a report.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Entered => "entered",
            Self::Exited => "exited",
            Self::PiercedMembrane => "pierced_membrane",
            Self::Dropped => "dropped",
            Self::Lost => "lost",
            Self::MetBone => "met_bone",
            Self::MetTooth => "met_tooth",
        }
    }
}

/// What was done to the thread that may weaken it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct ThreadUse {
    /// Where the holder's jaws closed on thread that is still in a stitch, in order of time.
    pub crushed: Vec<Crush>,
    /// The largest tension; `None` if the thread was never pulled.
    pub peak: Option<PeakTension>,
    /// How each bite's thread was drawn through it, in the order of the bites.
    pub sawing: Vec<Sawing>,
}

/// Steel jaws closed on thread that is still in a stitch.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Crush {
    /// Place of the stitch in [`Findings::stitches`].
    pub stitch: u32,
    /// Along the thread from the swaged end to the middle of what the jaws held [mm].
    pub from_swage_mm: f64,
    /// How far beyond the knot that is, on either limb [mm]; 0 in the knot or the loop.
    pub beyond_knot_mm: f64,
    /// When.
    pub tick: Tick,
}

/// The largest tension anywhere in the thread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PeakTension {
    /// The tension [N].
    pub tension_n: f64,
    /// The same as a share of what the thread bears when it is straight.
    pub share: f64,
    /// Place along the thread, from the swaged end [mm].
    pub from_swage_mm: f64,
    /// When.
    pub tick: Tick,
}

/// Thread drawn through a bite under load.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Sawing {
    /// Place of the stitch in [`Findings::stitches`].
    pub stitch: u32,
    /// Place of the bite in [`Stitch::bites`].
    pub bite: u32,
    /// Way of the thread through the hole, each bit of it times the tension there [N mm].
    pub work_n_mm: f64,
    /// When most of it was done.
    pub tick: Tick,
}

/// A break of the thread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ThreadBreak {
    /// Place along the thread, from the swaged end [mm].
    pub from_swage_mm: f64,
    /// Tension there [N].
    pub tension_n: f64,
    /// Tension with what the bend added in the outermost fibre [N]: more than the straight strength.
    pub load_n: f64,
    /// When.
    pub tick: Tick,
}

/// How far the simulation itself can be trusted.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Validity {
    /// Ticks at which something happened that matter cannot do, such as thread passing through thread.
    pub invalid_ticks: Vec<Tick>,
    /// Largest force left unbalanced by the solver, as a share of the largest force then acting.
    pub residual: Measured,
    /// Steps of the thread that were solved; those it slept through were not.
    pub substeps: u32,
    /// How many of them ended with more force left unbalanced than the solver's tolerance.
    pub substeps_above_tolerance: u32,
}

impl Validity {
    /// Share of the solved steps that ended above the solver's tolerance; 0 if none was solved.
    #[must_use]
    pub fn share_above_tolerance(&self) -> f64 {
        f64::from(self.substeps_above_tolerance) / f64::from(self.substeps.max(1))
    }
}
