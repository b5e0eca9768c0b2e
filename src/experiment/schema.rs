//! What an experiment file says, as it is written: units in the names, places along a thread in mm of unstretched
//! thread. Limits and words stand in the table of [`super::shape`], which `knotwright experiment schema` prints.

use super::tissue_schema::{FlapSide, TensionKey, TissueSpec};
use serde::{Deserialize, Serialize};

/// A vector `(x, y, z)`, z up.
pub type Vector = [f64; 3];

/// A whole experiment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Experiment {
    /// Version of the language, 1.
    pub format: u32,
    /// One line.
    pub title: String,
    /// What is shown, by which law and source.
    pub about: String,
    /// What every thread is made of.
    pub section: Option<SectionSpec>,
    /// The threads.
    #[serde(default)]
    pub threads: Vec<Thread>,
    /// Gum that they run through, or that is loaded by itself.
    pub tissue: Option<TissueSpec>,
    /// Solids that the threads meet.
    #[serde(default)]
    pub obstacles: Vec<Obstacle>,
    /// What holds and moves the threads.
    #[serde(default)]
    pub holds: Vec<Hold>,
    /// Dead loads and moments.
    #[serde(default)]
    pub loads: Vec<Load>,
    /// How long, in which steps.
    pub time: Time,
    /// How a step is solved.
    #[serde(default)]
    pub solver: SolverSpec,
    /// What is measured.
    pub measures: Vec<Measure>,
    /// What is made of the measures.
    #[serde(default)]
    pub derived: Vec<Derived>,
    /// What ends the experiment or marks a moment of it.
    #[serde(default)]
    pub events: Vec<Event>,
    /// When a row is taken.
    #[serde(default)]
    pub samples: Samples,
    /// What is plotted.
    pub plot: Option<Plot>,
    /// What has to come out.
    #[serde(default)]
    pub expect: Vec<Expect>,
}

/// What every thread of the experiment is made of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum SectionSpec {
    /// By numbers.
    Numbers {
        /// Radius [mm].
        radius_mm: f64,
        /// EA [N].
        axial_stiffness_n: f64,
        /// Force over strain beyond Hooke's law; Hooke's law, if left out.
        #[serde(default)]
        force_strain: Vec<ForcePoint>,
        /// Force that breaks a straight strand [N]; it never breaks, if left out.
        strength_n: Option<f64>,
        /// EI [N mm^2].
        bending_stiffness_n_mm2: f64,
        /// GJ [N mm^2].
        twist_stiffness_n_mm2: f64,
        /// Curvature beyond which it takes a set [1/mm]; never, if left out.
        yield_curvature_per_mm: Option<f64>,
        /// Time in which the set follows the curvature [s]; it remembers for ever, if left out.
        set_relaxation_s: Option<f64>,
        /// Weight per length [N/m], along -z.
        #[serde(default)]
        weight_n_per_m: f64,
        /// Coulomb friction of thread on thread.
        #[serde(default)]
        friction: f64,
        /// How all frictions go with the force that presses; not at all, if left out.
        friction_load: Option<FrictionLoad>,
        /// Stiffness of a contact at first touch [N/mm].
        contact_stiffness_n_per_mm: Option<f64>,
    },
    /// By the table of materials.
    Material {
        /// Generic name.
        name: String,
        /// Pharmacopoeia size.
        size: String,
        /// Soaked.
        wet: bool,
        /// Whether it weighs anything.
        weightless: Option<bool>,
    },
}

/// A point of the curve of force over strain.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ForcePoint {
    /// Strain.
    pub strain: f64,
    /// Force [N].
    pub force_n: f64,
}

/// How friction goes with the force that presses: with a power of it, between bounds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FrictionLoad {
    /// Power of the force.
    pub exponent: f64,
    /// Force of one contact at which the frictions hold [N].
    pub at_n: f64,
    /// Least share of a friction.
    pub share_min: Option<f64>,
    /// Greatest share of a friction.
    pub share_max: Option<f64>,
}

/// One thread.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thread {
    /// What the rest of the file calls it.
    pub name: String,
    /// How it lies before anything moves.
    pub shape: Lie,
    /// Edge length aimed at [mm].
    pub segment_mm: f64,
    /// Edge length aimed at where it presses on threads or bends sharply, as it moves [mm].
    pub contact_segment_mm: Option<f64>,
    /// The shape that it has without load.
    #[serde(default)]
    pub stress_free: StressFree,
}

/// How a thread lies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Lie {
    /// A straight line.
    Straight {
        /// Start [mm].
        from_mm: Vector,
        /// End [mm].
        to_mm: Vector,
    },
    /// A closed ring: the last edge lies on the first, and clamps on both ends join it.
    Ring {
        /// Centre [mm].
        centre_mm: Vector,
        /// Where it begins [mm].
        start_mm: Vector,
        /// It runs right-handed about this.
        axis: Vector,
    },
    /// A helix about an axis, an open circle with pitch 0, with straight ends.
    Helix {
        /// A place on the axis [mm].
        centre_mm: Vector,
        /// Where it begins [mm].
        start_mm: Vector,
        /// It runs right-handed about this.
        axis: Vector,
        /// Rise along the axis of one turn [mm].
        pitch_mm: f64,
        /// Turns.
        turns: f64,
        /// Straight thread before it [mm].
        #[serde(default)]
        lead_in_mm: f64,
        /// Straight thread after it [mm].
        #[serde(default)]
        lead_out_mm: f64,
    },
    /// Lines and arcs, each going on where and whither the last ended.
    Arcs {
        /// Where it begins [mm].
        start_mm: Vector,
        /// Whither it begins.
        toward: Vector,
        /// The pieces.
        pieces: Vec<Piece>,
    },
    /// Through the points of a table, `x_mm,y_mm,z_mm`.
    Points {
        /// Name of the CSV file, relative to the experiment's.
        file: String,
    },
}

/// A piece of a thread's way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Piece {
    /// Straight on.
    Line {
        /// Length [mm].
        length_mm: f64,
    },
    /// Round an axis, right-handed.
    Arc {
        /// Radius [mm].
        radius_mm: f64,
        /// Angle [deg].
        angle_deg: f64,
        /// Axis; its part along the thread is left out.
        axis: Vector,
    },
}

/// The shape a thread has without load.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum StressFree {
    /// Straight: it lies bent.
    #[default]
    Straight,
    /// As it lies.
    AsLaid,
}

/// A solid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Obstacle {
    /// What the rest of the file calls it.
    pub name: String,
    /// Its shape.
    pub shape: Solid,
    /// Coulomb friction of thread on it.
    pub friction: f64,
    /// How it moves.
    #[serde(default)]
    pub motion: Vec<Key>,
    /// What it turns about, through its centre.
    pub turn_axis: Option<Vector>,
}

/// The shape of an obstacle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Solid {
    /// A cylinder with round ends.
    Cylinder {
        /// One end of its axis [mm].
        from_mm: Vector,
        /// The other [mm].
        to_mm: Vector,
        /// Radius [mm].
        radius_mm: f64,
    },
    /// A sphere.
    Sphere {
        /// Centre [mm].
        centre_mm: Vector,
        /// Radius [mm].
        radius_mm: f64,
    },
    /// A flat solid.
    Plane {
        /// A place on it [mm].
        point_mm: Vector,
        /// Out of the solid.
        normal: Vector,
    },
    /// A torus, as a ring of straight cylinders.
    Torus {
        /// Centre [mm].
        centre_mm: Vector,
        /// Axis of the ring.
        axis: Vector,
        /// Radius of the ring [mm].
        ring_radius_mm: f64,
        /// Radius of the tube [mm].
        tube_radius_mm: f64,
    },
}

/// Where a holder or an obstacle is at a time, against where it began; straight changes between keys.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Key {
    /// Time [ms].
    pub at_ms: f64,
    /// Shift [mm].
    #[serde(default)]
    pub shift_mm: Vector,
    /// Turn about `turn_axis` [deg].
    #[serde(default)]
    pub turn_deg: f64,
    /// Turn of a clamp about the thread's own direction [turns].
    #[serde(default)]
    pub spin_turns: f64,
}

/// A place along a thread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Place {
    /// Its first node.
    Start,
    /// Its last node.
    End,
    /// So far from its start along the unstretched thread.
    At {
        /// [mm]
        along_mm: f64,
    },
}

/// Something that holds a thread.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hold {
    /// What the rest of the file calls it.
    pub name: String,
    /// The thread.
    pub thread: String,
    /// Where.
    pub place: Place,
    /// How much of it.
    pub kind: HoldKind,
    /// What `turn_deg` turns about, through the held node.
    pub turn_axis: Option<Vector>,
    /// How it moves.
    #[serde(default)]
    pub motion: Vec<Key>,
    /// A pull beside that motion.
    pub pull: Option<Pull>,
    /// When it lets go [ms].
    pub release_ms: Option<f64>,
}

/// How much a hold holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum HoldKind {
    /// Place and direction: two nodes.
    Clamp,
    /// Place alone: one node, free to turn.
    Pin,
}

/// A pull at a speed until a force.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pull {
    /// Whither.
    pub toward: Vector,
    /// Speed [mm/s].
    pub speed_mm_per_s: f64,
    /// Force against it at which it stops for good [N].
    pub until_n: Option<f64>,
    /// When it begins [ms].
    #[serde(default)]
    pub from_ms: f64,
}

/// A load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Load {
    /// A force that keeps its direction.
    Force {
        /// The thread.
        thread: String,
        /// Where.
        place: Place,
        /// How much, and when.
        keys: Vec<ForceKey>,
    },
    /// A moment on an end: two forces on its last edge that turn with it.
    Moment {
        /// The thread.
        thread: String,
        /// Which end.
        place: Place,
        /// How much, and when.
        keys: Vec<MomentKey>,
    },
    /// A pull on a hole in gum, which pinches it as a loop's that pulls so.
    Hole {
        /// The hole.
        hole: String,
        /// How much, and when.
        keys: Vec<ForceKey>,
    },
    /// A loop of thread through two holes under tension: it pulls each with twice that to the other, and pinches it.
    Loop {
        /// The two holes.
        holes: Vec<String>,
        /// Its tension, and when.
        keys: Vec<TensionKey>,
    },
    /// Something that presses on a flap from above.
    Press {
        /// Where [mm].
        point_mm: Vector,
        /// How hard, and when.
        keys: Vec<TensionKey>,
    },
}

/// A force at a time; straight changes between keys, and none before the first.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ForceKey {
    /// Time [ms].
    pub at_ms: f64,
    /// Force [N].
    pub force_n: Vector,
}

/// A moment at a time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MomentKey {
    /// Time [ms].
    pub at_ms: f64,
    /// Moment [N mm]; its part along the thread is left out.
    pub moment_n_mm: Vector,
}

/// How long, in which steps.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Time {
    /// From time 0 [ms].
    pub duration_ms: f64,
    /// One step [ms].
    pub step_ms: f64,
    /// Time before 0 in which everything stays as it is at 0 [ms].
    #[serde(default)]
    pub settle_ms: f64,
}

/// How a step is solved.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SolverSpec {
    /// Unbalanced force allowed at any node [N].
    pub tolerance_n: Option<f64>,
    /// Newton iterations at most in one step.
    pub iterations_max: Option<u32>,
    /// Drag per length and speed [N s/m^2].
    pub drag_n_s_per_m2: Option<f64>,
    /// Of which moment of a step the pressing forces are that limit friction; its start, if left out.
    pub slip_limit: Option<SlipLimitSpec>,
}

/// Of which moment of a step the pressing forces are that limit friction.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum SlipLimitSpec {
    /// Its start.
    StepStart,
    /// Its end: each step is solved again until no force of friction changes any more.
    StepEnd {
        /// By more than this much of its limit [%].
        within_percent: f64,
    },
}

/// A measured column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measure {
    /// Its name.
    pub name: String,
    /// What it measures.
    pub of: Quantity,
}

/// What can be measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Quantity {
    /// What the thread pulls on a hold with [N].
    HoldForce {
        /// The hold.
        hold: String,
        /// Its part along this, or its size.
        along: Option<Vector>,
    },
    /// Torque about the thread's direction that a clamp bears [N mm].
    HoldTorque {
        /// The clamp.
        hold: String,
    },
    /// How far a hold has gone [mm].
    HoldShift {
        /// The hold.
        hold: String,
        /// Its part along this, or its size.
        along: Option<Vector>,
    },
    /// How far a clamp has spun [turns].
    HoldSpin {
        /// The clamp.
        hold: String,
    },
    /// What the threads push an obstacle with, friction included [N].
    ObstacleForce {
        /// The obstacle.
        obstacle: String,
        /// Its part along this, or its size.
        along: Option<Vector>,
    },
    /// How far an obstacle has turned [turns].
    ObstacleTurn {
        /// The obstacle.
        obstacle: String,
    },
    /// Sum of the pressing forces [N].
    Contact {
        /// Of which contacts.
        of: Contacts,
    },
    /// Share of the pressing forces whose friction is at its limit.
    Sliding {
        /// Of which contacts.
        of: Contacts,
    },
    /// Tension [N].
    Tension {
        /// The thread.
        thread: String,
        /// Where.
        place: Place,
    },
    /// Strain.
    Strain {
        /// The thread.
        thread: String,
        /// Where.
        place: Place,
    },
    /// Place along a direction [mm].
    Position {
        /// The thread.
        thread: String,
        /// Where.
        place: Place,
        /// Direction.
        along: Vector,
    },
    /// Way from where it was at time 0 [mm].
    Displacement {
        /// The thread.
        thread: String,
        /// Where.
        place: Place,
        /// Its part along this, or its size.
        along: Option<Vector>,
    },
    /// Distance of two places [mm].
    Distance {
        /// The first place's thread.
        thread: String,
        /// The first place.
        place: Place,
        /// The second place's thread.
        other_thread: String,
        /// The second place.
        other_place: Place,
    },
    /// Angle between the thread and a direction [deg].
    Slope {
        /// The thread.
        thread: String,
        /// Where.
        place: Place,
        /// Direction.
        against: Vector,
    },
    /// Curvature [1/mm].
    Curvature {
        /// The thread.
        thread: String,
        /// Where.
        place: Place,
    },
    /// Sum of the corners between two places [deg].
    Turning {
        /// The thread.
        thread: String,
        /// From here.
        from: Place,
        /// To here.
        to: Place,
    },
    /// Twist of the material per length [rad/mm].
    TwistRate {
        /// The thread.
        thread: String,
        /// Where.
        place: Place,
    },
    /// Twisting moment [N mm].
    TwistMoment {
        /// The thread.
        thread: String,
        /// Where.
        place: Place,
    },
    /// Twist of the whole material [turns].
    Twist {
        /// The thread.
        thread: String,
    },
    /// Writhe of the thread led straight on from both ends and closed far away [turns].
    Writhe {
        /// The thread.
        thread: String,
    },
    /// Twist and writhe together [turns].
    Linking {
        /// The thread.
        thread: String,
    },
    /// Gauss integral between two threads [turns].
    Winding {
        /// One.
        thread: String,
        /// The other.
        other: String,
    },
    /// What the outermost fibre bore over the whole section where the thread first broke; 0 while it is whole [N].
    BreakLoad,
    /// Elastic energy [N mm].
    Energy {
        /// Of which kind.
        of: EnergyKind,
    },
    /// Largest unbalanced force that the last step left [N].
    Residual,
    /// How far a hole in gum has gone [mm].
    HoleDisplacement {
        /// The hole.
        hole: String,
        /// Its part along this, or its size.
        along: Option<Vector>,
    },
    /// What pulls at a hole [N].
    HoleForce {
        /// The hole.
        hole: String,
        /// Its part along this, or its size.
        along: Option<Vector>,
    },
    /// Length of the slit from a hole toward the edge [mm].
    TearLength {
        /// The hole.
        hole: String,
    },
    /// Pull at which a hole slits now [N].
    TearForce {
        /// The hole.
        hole: String,
    },
    /// Area of both flaps on whose blood more than a pressure lies, holes and all [mm^2].
    PressedArea {
        /// The pressure [mmHg].
        above_mmhg: f64,
    },
    /// Pale area of both flaps outside the discs round the holes [mm^2].
    PaleArea,
    /// That area summed over time [mm^2 s].
    PaleDose,
    /// How pale a place is: 0 rosy, 1 white.
    Paleness {
        /// The flap.
        flap: FlapSide,
        /// Along the wound [mm].
        along_wound_mm: f64,
        /// From the free edge [mm].
        from_edge_mm: f64,
    },
    /// Distance of the flaps' edges [mm]; negative where they overlap.
    EdgeGap {
        /// Along the wound [mm].
        along_wound_mm: f64,
    },
    /// What both flaps store [N mm].
    TissueEnergy,
    /// What gum holds a needle back with [N].
    NeedleForce {
        /// The needle.
        needle: String,
    },
}

/// Which contacts are added up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Contacts {
    /// All of them.
    All,
    /// Those on an obstacle.
    Obstacle {
        /// The obstacle.
        name: String,
    },
    /// Those between two threads, or of one with itself.
    Threads {
        /// One.
        first: String,
        /// The other.
        second: String,
    },
    /// Those between two stretches of one thread.
    Stretches {
        /// The thread.
        thread: String,
        /// First stretch, from [mm].
        from_mm: f64,
        /// First stretch, to [mm].
        to_mm: f64,
        /// Second stretch, from [mm].
        other_from_mm: f64,
        /// Second stretch, to [mm].
        other_to_mm: f64,
    },
}

/// A kind of elastic energy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum EnergyKind {
    /// All three.
    All,
    /// Of stretch.
    Stretch,
    /// Of bending.
    Bending,
    /// Of twist.
    Twist,
}

/// A column made of others.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Derived {
    /// Its name.
    pub name: String,
    /// How it is made.
    pub by: Formula,
}

/// How a derived column is made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Formula {
    /// One over another.
    Ratio {
        /// The one.
        of: String,
        /// The other.
        over: String,
    },
    /// Natural logarithm of one over another.
    LogRatio {
        /// The one.
        of: String,
        /// The other.
        over: String,
    },
    /// A sum.
    Sum {
        /// Of these.
        of: Vec<String>,
    },
    /// One less another.
    Difference {
        /// The one.
        of: String,
        /// The other.
        less: String,
    },
    /// One times a number; its unit becomes the one given.
    Scaled {
        /// The column.
        of: String,
        /// The number.
        by: f64,
        /// Unit of the product; none for a pure number.
        unit: Option<String>,
    },
    /// Greatest in the rows so far.
    Max {
        /// The column.
        of: String,
        /// Rows from this time on [ms].
        #[serde(default)]
        since_ms: f64,
    },
    /// Least in the rows so far.
    Min {
        /// The column.
        of: String,
        /// Rows from this time on [ms].
        #[serde(default)]
        since_ms: f64,
    },
    /// Mean of the rows so far.
    Mean {
        /// The column.
        of: String,
        /// Rows from this time on [ms].
        #[serde(default)]
        since_ms: f64,
    },
}

/// A moment that is marked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Event {
    /// Its name.
    pub name: String,
    /// The measure that is watched, in each step.
    pub measure: String,
    /// The number that it has to reach or pass, from the side on which it is at time 0.
    pub reaches: f64,
    /// Whether the experiment ends there.
    #[serde(default)]
    pub stop: bool,
}

/// When a row is taken, beside time 0, the end and every event.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Samples {
    /// Each time so much has passed [ms].
    pub every_ms: Option<f64>,
    /// At these times [ms].
    #[serde(default)]
    pub at_ms: Vec<f64>,
}

/// What is plotted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plot {
    /// A column, or `time`.
    pub x: String,
    /// Columns.
    pub y: Vec<String>,
}

/// Something that has to come out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expect {
    /// The column.
    pub column: String,
    /// When.
    pub at: When,
    /// The number that it should be, in the column's unit.
    pub value: f64,
    /// How near.
    pub within: Within,
    /// The law.
    pub law: String,
    /// Who published it.
    pub source: String,
    /// Why so near and no nearer.
    pub reason: String,
}

/// A row.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum When {
    /// The first row, of time 0.
    Start,
    /// The last row.
    End,
    /// The first row at or after a time.
    Time {
        /// [ms]
        ms: f64,
    },
    /// The row of an event.
    Event {
        /// Its name.
        name: String,
    },
}

/// How near a number has to be.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Within {
    /// In the column's unit.
    Absolute {
        /// The most it may be off.
        by: f64,
    },
    /// In per cent of the value.
    Percent {
        /// The most it may be off.
        by: f64,
    },
}
