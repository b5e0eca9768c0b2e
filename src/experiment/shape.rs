//! The shape an experiment's text must have: one table for every message and for the printed schema. It follows the types
//! of [`super::schema`] field by field; `check` tests hold the two together.

use crate::scenario::shape::{Field, Limits, Shape, field, limits, optional};

const fn number(min: f64, max: f64, unit: &'static str) -> Shape {
    Shape::Number(limits(min, max, unit))
}

/// Farther than any thread reaches [mm].
const FAR: Limits = limits(-10_000.0, 10_000.0, "mm");
const PLACE_VECTOR: Shape = Shape::Vector(FAR);
const DIRECTION: Shape = Shape::Vector(limits(-1_000.0, 1_000.0, ""));
const LENGTH: Shape = number(0.0, 10_000.0, "mm");
/// A name, or a list of them.
pub(crate) const NAME: Shape = Shape::Text(40);
const TIME: Shape = number(0.0, 1e12, "ms");
const TURN_AXIS: Field = optional("turn_axis", DIRECTION, "turn_deg turns about it, right-handed");

/// A whole experiment.
pub(crate) const EXPERIMENT: Shape = Shape::Group(&[
    field(
        "format",
        Shape::Whole(limits(1.0, 1.0, "")),
        "the version of the experiment language that this program reads",
    ),
    field("title", Shape::Text(100), "one line"),
    field("about", Shape::Text(4000), "what is shown, by which law and source"),
    optional("section", SECTION, "all threads of one experiment share it; none without threads"),
    optional("threads", Shape::List { of: &THREAD, min: 0, max: 20 }, "there may be none where there is tissue"),
    optional("tissue", TISSUE, "gum that threads run through, or that is loaded by itself"),
    optional(
        "obstacles",
        Shape::List { of: &OBSTACLE, min: 0, max: 50 },
        "solids that the threads meet; they do not yield",
    ),
    optional("holds", Shape::List { of: &HOLD, min: 0, max: 50 }, "what holds and moves the threads"),
    optional("loads", Shape::List { of: &LOAD, min: 0, max: 500 }, "loads of one node add up"),
    field("time", TIME_GROUP, ""),
    optional("solver", SOLVER, ""),
    field("measures", Shape::List { of: &MEASURE, min: 1, max: 100 }, "columns that are measured"),
    optional("derived", Shape::List { of: &DERIVED, min: 0, max: 100 }, "columns made of columns before them"),
    optional("events", Shape::List { of: &EVENT, min: 0, max: 50 }, "each gives a row when it comes, once"),
    optional("samples", SAMPLES, "rows beside those of time 0, the end and the events"),
    optional("plot", PLOT, "all columns over time, if left out"),
    optional("expect", Shape::List { of: &EXPECT, min: 0, max: 100 }, "what has to come out"),
]);

pub(super) const SECTION: Shape = Shape::Variant(&[
    (
        "Numbers",
        &[
            field("radius_mm", number(1e-4, 10.0, "mm"), ""),
            field("axial_stiffness_n", number(1e-6, 1e7, "N"), "EA, force per strain"),
            optional(
                "force_strain",
                Shape::List { of: &FORCE_POINT, min: 0, max: 7 },
                "tension beyond rest, a monotone curve through these; Hooke's law, if left out",
            ),
            optional("strength_n", number(1e-6, 1e7, "N"), "breaks a straight strand; it never breaks, if left out"),
            field("bending_stiffness_n_mm2", number(1e-9, 1e7, "N mm^2"), "EI, moment per curvature"),
            field("twist_stiffness_n_mm2", number(1e-9, 1e7, "N mm^2"), "GJ, torque per twist rate"),
            optional("yield_curvature_per_mm", number(1e-4, 1e3, "1/mm"), "it takes no set, if left out"),
            optional("set_relaxation_s", number(1e-3, 1e9, "s"), "the set follows the curvature; never, if left out"),
            optional("weight_n_per_m", number(0.0, 100.0, "N/m"), "along -z; none, if left out"),
            optional("friction", number(0.0, 2.0, ""), "Coulomb, thread on thread; none, if left out"),
            optional("friction_load", FRICTION_LOAD, "all frictions go with the pressing force; Coulomb, if left out"),
            optional(
                "contact_stiffness_n_per_mm",
                number(0.01, 1e5, "N/mm"),
                "of a contact at first touch; 200, if left out",
            ),
        ],
    ),
    (
        "Material",
        &[
            field("name", NAME, "generic name of the table of materials"),
            field("size", Shape::Text(8), "pharmacopoeia size in quotes, such as \"4-0\""),
            field("wet", Shape::Switch, "true for a soaked, supple thread"),
            optional("weightless", Shape::Switch, "true for a thread without weight"),
        ],
    ),
]);

pub(super) const FORCE_POINT: Shape = Shape::Group(&[
    field("strain", number(1e-9, 10.0, ""), "rising"),
    field("force_n", number(1e-9, 1e7, "N"), "rising"),
]);

pub(super) const FRICTION_LOAD: Shape = Shape::Group(&[
    field("exponent", number(-0.34, 0.0, ""), "power of the force: 0 for Coulomb, -1/3 for smooth elastic solids"),
    field("at_n", number(1e-6, 1e4, "N"), "force of one contact, an edge's or on a plane a node's, at which they hold"),
    optional("share_min", number(0.0, 1.0, ""), "least share of a friction; 0, if left out"),
    optional("share_max", number(1.0, 1e3, ""), "greatest share of a friction; no bound, if left out"),
]);

pub(super) const THREAD: Shape = Shape::Group(&[
    field("name", NAME, "what the rest of the file calls it"),
    field("shape", LIE, "how it lies before anything moves, without stretch or twist"),
    field("segment_mm", number(1e-3, 1_000.0, "mm"), "edge length; each piece gets the nearest whole number of edges"),
    optional(
        "contact_segment_mm",
        number(1e-3, 1_000.0, "mm"),
        "edge length where it presses on threads or turns by more than 30 degrees a node; the same, if left out",
    ),
    optional("stress_free", Shape::Choice(&["Straight", "AsLaid"]), "Straight, if left out: it lies bent"),
]);

pub(super) const LIE: Shape = Shape::Variant(&[
    ("Straight", &[field("from_mm", PLACE_VECTOR, ""), field("to_mm", PLACE_VECTOR, "")]),
    (
        "Ring",
        &[
            field("centre_mm", PLACE_VECTOR, "the last edge lies on the first: clamps at Start and End join the ring"),
            field("start_mm", PLACE_VECTOR, "where it begins"),
            field("axis", DIRECTION, "it runs right-handed about this"),
        ],
    ),
    (
        "Helix",
        &[
            field("centre_mm", PLACE_VECTOR, "a place on the axis, level with the start"),
            field("start_mm", PLACE_VECTOR, "where it begins"),
            field("axis", DIRECTION, "it runs right-handed about this"),
            field("pitch_mm", number(-1_000.0, 1_000.0, "mm"), "rise of one turn; 0 for an open circle"),
            field("turns", number(0.001, 1_000.0, ""), ""),
            optional("lead_in_mm", LENGTH, "straight thread before it"),
            optional("lead_out_mm", LENGTH, "straight thread after it"),
        ],
    ),
    (
        "Arcs",
        &[
            field("start_mm", PLACE_VECTOR, "where it begins"),
            field("toward", DIRECTION, "whither it begins"),
            field(
                "pieces",
                Shape::List { of: &PIECE, min: 1, max: 200 },
                "each goes on where and whither the last ended",
            ),
        ],
    ),
    ("Points", &[field("file", Shape::Text(200), "a CSV file x_mm,y_mm,z_mm, relative to this file")]),
]);

pub(super) const PIECE: Shape = Shape::Variant(&[
    ("Line", &[field("length_mm", number(1e-3, 10_000.0, "mm"), "")]),
    (
        "Arc",
        &[
            field("radius_mm", number(1e-3, 10_000.0, "mm"), ""),
            field("angle_deg", number(0.01, 36_000.0, "deg"), ""),
            field("axis", DIRECTION, "right-handed; its part along the thread is left out"),
        ],
    ),
]);

pub(super) const OBSTACLE: Shape = Shape::Group(&[
    field("name", NAME, "what the rest of the file calls it"),
    field("shape", SOLID, ""),
    field(
        "friction",
        number(0.0, 2.0, ""),
        "Coulomb, thread on this obstacle; 0 for a pulley, which passes the tension on",
    ),
    optional("motion", Shape::List { of: &KEY, min: 1, max: 1_000 }, "it stands still, if left out"),
    TURN_AXIS,
]);

pub(super) const SOLID: Shape = Shape::Variant(&[
    (
        "Cylinder",
        &[
            field("from_mm", PLACE_VECTOR, "one end of its axis; round ends reach beyond by the radius"),
            field("to_mm", PLACE_VECTOR, ""),
            field("radius_mm", number(1e-3, 10_000.0, "mm"), ""),
        ],
    ),
    ("Sphere", &[field("centre_mm", PLACE_VECTOR, ""), field("radius_mm", number(1e-3, 10_000.0, "mm"), "")]),
    (
        "Plane",
        &[
            field("point_mm", PLACE_VECTOR, "it meets nodes, without couple: thread on it does not roll"),
            field("normal", DIRECTION, "out of the solid"),
        ],
    ),
    (
        "Torus",
        &[
            field(
                "centre_mm",
                PLACE_VECTOR,
                "a ring of 96 straight cylinders, 5e-4 of ring_radius_mm from the true one at most",
            ),
            field("axis", DIRECTION, ""),
            field("ring_radius_mm", number(1e-2, 10_000.0, "mm"), ""),
            field("tube_radius_mm", number(1e-3, 10_000.0, "mm"), ""),
        ],
    ),
]);

pub(super) const KEY: Shape = Shape::Group(&[
    field("at_ms", TIME, "straight changes between keys; nothing has moved at time 0; what is left out is 0"),
    optional("shift_mm", PLACE_VECTOR, ""),
    optional("turn_deg", number(-1e6, 1e6, "deg"), ""),
    optional("spin_turns", number(-1e4, 1e4, ""), "of a clamp, about the thread's own direction"),
]);

pub(super) const PLACE: Shape = Shape::Variant(&[
    ("Start", &[]),
    ("End", &[]),
    ("At", &[field("along_mm", LENGTH, "from its start along the unstretched thread; the nearest node or edge")]),
]);

pub(super) const HOLD: Shape = Shape::Group(&[
    field("name", NAME, "what the rest of the file calls it"),
    field("thread", NAME, ""),
    field("place", PLACE, ""),
    field(
        "kind",
        Shape::Choice(&["Clamp", "Pin"]),
        "Clamp holds an edge, and thread bends from its middle on; Pin holds a node and lets it turn",
    ),
    TURN_AXIS,
    optional("motion", Shape::List { of: &KEY, min: 1, max: 1_000 }, "it stands still, if left out"),
    optional("pull", PULL, "beside the motion"),
    optional("release_ms", TIME, "when it lets go"),
]);

pub(super) const PULL: Shape = Shape::Group(&[
    field("toward", DIRECTION, ""),
    field("speed_mm_per_s", number(1e-9, 1e4, "mm/s"), ""),
    optional("until_n", number(0.0, 1e6, "N"), "force against it at which it stops for good"),
    optional("from_ms", TIME, "when it begins"),
]);

pub(super) const LOAD: Shape = Shape::Variant(&[
    (
        "Force",
        &[
            field("thread", NAME, ""),
            field("place", PLACE, ""),
            field(
                "keys",
                Shape::List { of: &FORCE_KEY, min: 1, max: 1_000 },
                "straight changes between keys, nothing before the first",
            ),
        ],
    ),
    (
        "Moment",
        &[
            field("thread", NAME, ""),
            field("place", PLACE, "Start or End: two forces on the last edge that turn with it"),
            field(
                "keys",
                Shape::List { of: &MOMENT_KEY, min: 1, max: 1_000 },
                "straight changes between keys, nothing before the first",
            ),
        ],
    ),
    (
        "Hole",
        &[
            field("hole", NAME, "a hole without threads; it is pinched as by a loop that pulls so"),
            field("keys", Shape::List { of: &FORCE_KEY, min: 1, max: 1_000 }, ""),
        ],
    ),
    (
        "Loop",
        &[
            field(
                "holes",
                Shape::List { of: &NAME, min: 2, max: 2 },
                "it pulls each to the other with twice its tension",
            ),
            field("keys", Shape::List { of: &TENSION_KEY, min: 1, max: 1_000 }, ""),
        ],
    ),
    (
        "Press",
        &[
            field("point_mm", PLACE_VECTOR, "on a flap, from above"),
            field("keys", Shape::List { of: &TENSION_KEY, min: 1, max: 1_000 }, ""),
        ],
    ),
]);

pub(super) const TISSUE: Shape = Shape::Group(&[
    field("edge_gap_mm", number(0.0, 20.0, "mm"), "the wound lies along x, the cheek's flap at positive y"),
    field("flap", FLAP, "both flaps, as in a scenario"),
    optional("holes", Shape::List { of: &HOLE, min: 0, max: 40 }, "holes through them"),
    optional("needles", Shape::List { of: &NEEDLE, min: 0, max: 10 }, "needles that are pushed into them"),
]);

pub(super) const FLAP: Shape = Shape::Group(&[
    field("thickness_mm", number(0.3, 5.0, "mm"), ""),
    field("height_mm", number(5.0, 25.0, "mm"), "from the free edge to the fold"),
    field("length_mm", number(5.0, 60.0, "mm"), "along the wound"),
    field("modulus_kpa", number(20.0, 50_000.0, "kPa"), "Young's modulus that stands for the give of the whole flap"),
    field("quality", number(0.1, 2.0, ""), "share of the force at which sound pig gum tears"),
]);

pub(super) const HOLE: Shape = Shape::Group(&[
    field("name", NAME, "what the rest of the file calls it"),
    field("flap", Shape::Choice(&["Cheek", "Tongue"]), ""),
    field("along_wound_mm", number(-30.0, 30.0, "mm"), "from the flap's middle; no nearer than 1 mm to its ends"),
    field("edge_distance_mm", number(0.3, 25.0, "mm"), "no nearer than 1.5 mm to the fold"),
    field("diameter_mm", number(0.02, 1.0, "mm"), "of the thread that made it"),
    optional("threads", Shape::List { of: &PASS, min: 0, max: 10 }, "those that run through it"),
]);

pub(super) const PASS: Shape = Shape::Group(&[
    field("thread", NAME, ""),
    field("place", PLACE, "what lies in the hole at first: the thread has to be laid through it"),
    optional("friction", number(0.0, 2.0, ""), "Coulomb, gum on thread; none, if left out"),
    optional("grip_n", number(0.0, 1e6, "N"), "grip of the hole whatever presses; much of it ties the thread"),
]);

pub(super) const NEEDLE: Shape = Shape::Group(&[
    field("name", NAME, "what the rest of the file calls it"),
    field("motion", Shape::List { of: &WAY_KEY, min: 1, max: 1_000 }, "of its point along its own way"),
]);

pub(super) const WAY_KEY: Shape = Shape::Group(&[
    field("at_ms", TIME, "straight changes between keys; it meets the gum at time 0"),
    field("way_mm", number(0.0, 50.0, "mm"), ""),
]);

pub(super) const TENSION_KEY: Shape =
    Shape::Group(&[field("at_ms", TIME, ""), field("tension_n", number(0.0, 1e3, "N"), "or the force that presses")]);

pub(super) const FORCE_KEY: Shape = Shape::Group(&[
    field("at_ms", TIME, ""),
    field("force_n", Shape::Vector(limits(-1e6, 1e6, "N")), "it keeps its direction"),
]);

pub(super) const MOMENT_KEY: Shape = Shape::Group(&[
    field("at_ms", TIME, ""),
    field(
        "moment_n_mm",
        Shape::Vector(limits(-1e6, 1e6, "N mm")),
        "its part along the thread is left out: spin a clamp",
    ),
]);

pub(super) const TIME_GROUP: Shape = Shape::Group(&[
    field("duration_ms", number(1e-3, 1e12, "ms"), "from time 0 on"),
    field("step_ms", number(1e-3, 1e12, "ms"), "no mass: with long steps each is a rest under the loads of its end"),
    optional("settle_ms", TIME, "before time 0, with everything as it is at 0"),
]);

pub(super) const SOLVER: Shape = Shape::Group(&[
    optional("tolerance_n", number(1e-12, 1.0, "N"), "unbalanced force allowed at any node; 1e-7, if left out"),
    optional("iterations_max", Shape::Whole(limits(1.0, 1_000.0, "")), "in one step; 40, if left out"),
    optional("drag_n_s_per_m2", number(1e-6, 1e6, "N s/m^2"), "per length and speed; 3, if left out"),
    optional("slip_limit", SLIP_LIMIT, "when what presses limits friction; at a step's start, if left out"),
]);

pub(super) const SLIP_LIMIT: Shape = Shape::Variant(&[
    ("StepStart", &[]),
    ("StepEnd", &[field("within_percent", number(1e-6, 10.0, "%"), "no friction changes by more of its limit")]),
]);

pub(super) const MEASURE: Shape = Shape::Group(&[
    field("name", NAME, "small letters, digits and _; outputs add the unit"),
    field("of", QUANTITY, ""),
]);

const PART: Field = optional("along", DIRECTION, "its part along this; its size, if left out");
const ON_THREAD: &[Field] = &[field("thread", NAME, ""), field("place", PLACE, "")];
const OF_THREAD: &[Field] = &[field("thread", NAME, "")];
const OF_HOLD: &[Field] = &[field("hold", NAME, "")];
const OF_CONTACTS: &[Field] = &[field("of", CONTACTS, "")];

pub(super) const QUANTITY: Shape = Shape::Variant(&[
    ("HoldForce", &[field("hold", NAME, "what the thread pulls on it with [N]"), PART]),
    ("HoldTorque", &[field("hold", NAME, "torque about the thread that a clamp bears [N mm]")]),
    ("HoldShift", &[field("hold", NAME, "how far it has gone [mm]"), PART]),
    ("HoldSpin", OF_HOLD),
    ("ObstacleForce", &[field("obstacle", NAME, "what threads push it with, friction included [N]"), PART]),
    ("ObstacleTurn", &[field("obstacle", NAME, "how far it has turned [turns]")]),
    ("Contact", &[field("of", CONTACTS, "sum of the pressing forces [N]")]),
    ("Sliding", OF_CONTACTS),
    ("Tension", ON_THREAD),
    ("Strain", ON_THREAD),
    ("Position", &[field("thread", NAME, ""), field("place", PLACE, ""), field("along", DIRECTION, "")]),
    ("Displacement", &[field("thread", NAME, "from where it was at time 0"), field("place", PLACE, ""), PART]),
    (
        "Distance",
        &[
            field("thread", NAME, ""),
            field("place", PLACE, ""),
            field("other_thread", NAME, ""),
            field("other_place", PLACE, ""),
        ],
    ),
    ("Slope", &[field("thread", NAME, "angle [deg]"), field("place", PLACE, ""), field("against", DIRECTION, "")]),
    ("Curvature", ON_THREAD),
    ("Turning", &[field("thread", NAME, "sum of its corners [deg]"), field("from", PLACE, ""), field("to", PLACE, "")]),
    ("TwistRate", ON_THREAD),
    ("TwistMoment", ON_THREAD),
    ("Twist", OF_THREAD),
    ("Writhe", &[field("thread", NAME, "led straight on from both ends and closed far away [turns]")]),
    ("Linking", &[field("thread", NAME, "twist and writhe [turns]")]),
    ("Winding", &[field("thread", NAME, "Gauss integral of two threads [turns]"), field("other", NAME, "")]),
    ("BreakLoad", &[]),
    ("Energy", &[field("of", Shape::Choice(&["All", "Stretch", "Bending", "Twist"]), "elastic [N mm]")]),
    ("Residual", &[]),
    ("HoleDisplacement", &[field("hole", NAME, "how far a hole in gum has gone [mm]"), PART]),
    ("HoleForce", &[field("hole", NAME, "what pulls at it [N]"), PART]),
    ("TearLength", &[field("hole", NAME, "length of its slit toward the edge [mm]")]),
    ("TearForce", &[field("hole", NAME, "pull at which it slits now [N]")]),
    ("PressedArea", &[field("above_mmhg", number(0.0, 1e5, "mmHg"), "area of both flaps pressed so, holes and all")]),
    ("PaleArea", &[]),
    ("PaleDose", &[]),
    (
        "Paleness",
        &[
            field("flap", Shape::Choice(&["Cheek", "Tongue"]), "0 rosy, 1 white"),
            field("along_wound_mm", number(-30.0, 30.0, "mm"), ""),
            field("from_edge_mm", number(0.0, 25.0, "mm"), ""),
        ],
    ),
    ("EdgeGap", &[field("along_wound_mm", number(-30.0, 30.0, "mm"), "distance of the flaps' edges [mm]")]),
    ("TissueEnergy", &[]),
    ("NeedleForce", &[field("needle", NAME, "what gum holds it back with [N]")]),
]);

pub(super) const CONTACTS: Shape = Shape::Variant(&[
    ("All", &[]),
    ("Obstacle", &[field("name", NAME, "")]),
    ("Threads", &[field("first", NAME, ""), field("second", NAME, "the same for a thread with itself")]),
    (
        "Stretches",
        &[
            field("thread", NAME, ""),
            field("from_mm", LENGTH, ""),
            field("to_mm", LENGTH, ""),
            field("other_from_mm", LENGTH, ""),
            field("other_to_mm", LENGTH, ""),
        ],
    ),
]);

pub(super) const DERIVED: Shape = Shape::Group(&[field("name", NAME, ""), field("by", FORMULA, "")]);

const SO_FAR: &[Field] = &[field("of", NAME, ""), optional("since_ms", TIME, "of the rows from then on")];
const OF_TWO: &[Field] = &[field("of", NAME, ""), field("over", NAME, "")];

pub(super) const FORMULA: Shape = Shape::Variant(&[
    ("Ratio", OF_TWO),
    ("LogRatio", OF_TWO),
    ("Sum", &[field("of", Shape::List { of: &NAME, min: 1, max: 100 }, "")]),
    ("Difference", &[field("of", NAME, ""), field("less", NAME, "")]),
    (
        "Scaled",
        &[
            field("of", NAME, ""),
            field("by", number(-1e12, 1e12, ""), ""),
            optional("unit", Shape::Text(20), "of the product; a pure number, if left out"),
        ],
    ),
    ("Max", SO_FAR),
    ("Min", SO_FAR),
    ("Mean", SO_FAR),
]);

pub(super) const EVENT: Shape = Shape::Group(&[
    field("name", NAME, ""),
    field("measure", NAME, "watched in each step; Sliding tells when slip begins"),
    field("reaches", number(-1e9, 1e9, ""), "in the measure's unit, from whichever side it is at time 0"),
    optional("stop", Shape::Switch, "true to end there"),
]);

pub(super) const SAMPLES: Shape = Shape::Group(&[
    optional("every_ms", number(1e-3, 1e12, "ms"), ""),
    optional("at_ms", Shape::List { of: &TIME, min: 0, max: 10_000 }, ""),
]);

pub(super) const PLOT: Shape = Shape::Group(&[
    field("x", NAME, "a column, or \"time\""),
    field("y", Shape::List { of: &NAME, min: 1, max: 20 }, ""),
]);

pub(super) const EXPECT: Shape = Shape::Group(&[
    field("column", NAME, ""),
    field("at", WHEN, ""),
    field("value", number(-1e12, 1e12, ""), "in the column's unit"),
    field("within", WITHIN, ""),
    field("law", Shape::Text(400), ""),
    field("source", Shape::Text(400), "who published it"),
    field("reason", Shape::Text(400), "why so near and no nearer"),
]);

pub(super) const WHEN: Shape = Shape::Variant(&[
    ("Start", &[]),
    ("End", &[]),
    ("Time", &[field("ms", TIME, "the first row from then on")]),
    ("Event", &[field("name", NAME, "")]),
]);

pub(super) const WITHIN: Shape = Shape::Variant(&[
    ("Absolute", &[field("by", number(0.0, 1e12, ""), "in the column's unit")]),
    ("Percent", &[field("by", number(0.0, 100.0, "%"), "of the value")]),
]);

#[cfg(test)]
mod tests {
    use super::*;

    const SCHEMA: &str = concat!(include_str!("schema.rs"), include_str!("tissue_schema.rs"));

    /// The table beside the types it stands for.
    const PAIRS: &[(&str, &Shape)] = &[
        ("Experiment", &EXPERIMENT),
        ("SectionSpec", &SECTION),
        ("ForcePoint", &FORCE_POINT),
        ("FrictionLoad", &FRICTION_LOAD),
        ("Thread", &THREAD),
        ("Lie", &LIE),
        ("Piece", &PIECE),
        ("Obstacle", &OBSTACLE),
        ("Solid", &SOLID),
        ("Key", &KEY),
        ("TissueSpec", &TISSUE),
        ("FlapSpec", &FLAP),
        ("Hole", &HOLE),
        ("Pass", &PASS),
        ("NeedlePush", &NEEDLE),
        ("WayKey", &WAY_KEY),
        ("TensionKey", &TENSION_KEY),
        ("Place", &PLACE),
        ("Hold", &HOLD),
        ("Pull", &PULL),
        ("Load", &LOAD),
        ("ForceKey", &FORCE_KEY),
        ("MomentKey", &MOMENT_KEY),
        ("Time", &TIME_GROUP),
        ("SolverSpec", &SOLVER),
        ("SlipLimitSpec", &SLIP_LIMIT),
        ("Measure", &MEASURE),
        ("Quantity", &QUANTITY),
        ("Contacts", &CONTACTS),
        ("Derived", &DERIVED),
        ("Formula", &FORMULA),
        ("Event", &EVENT),
        ("Samples", &SAMPLES),
        ("Plot", &PLOT),
        ("Expect", &EXPECT),
        ("When", &WHEN),
        ("Within", &WITHIN),
    ];

    /// Names of fields and variants in the order of the text, `name?` where it may be left out.
    fn declared(type_name: &str) -> Vec<String> {
        let start = ["struct", "enum"]
            .iter()
            .find_map(|kind| SCHEMA.find(&format!("pub {kind} {type_name} {{")))
            .expect("the type exists");
        let body = SCHEMA[start..].split("\n}").next().expect("it has an end");
        let mut names = Vec::new();
        let mut default = false;
        for line in body.lines().skip(1).map(str::trim) {
            match line.trim_start_matches("pub ").split_once(':') {
                _ if line.starts_with("//") => {}
                Some((name, kind)) => {
                    names.push(format!("{name}{}", if default || kind.contains("Option<") { "?" } else { "" }));
                }
                None if line.ends_with(" {") || line.ends_with(',') && line != "}," => {
                    names.push(line.trim_end_matches([' ', '{', ',']).to_string());
                }
                None => {}
            }
            default = line == "#[serde(default)]";
        }
        names
    }

    fn listed(fields: &[Field]) -> Vec<String> {
        fields.iter().map(|field| format!("{}{}", field.name, if field.required { "" } else { "?" })).collect()
    }

    #[test]
    fn the_table_has_the_fields_and_variants_of_the_types() {
        for (type_name, shape) in PAIRS {
            let names = match shape {
                Shape::Group(fields) => listed(fields),
                Shape::Variant(kinds) => kinds
                    .iter()
                    .flat_map(|(name, fields)| std::iter::once((*name).to_string()).chain(listed(fields)))
                    .collect(),
                _ => panic!("{type_name} is a group or a choice"),
            };
            assert_eq!(declared(type_name), names, "{type_name}");
        }
    }
}
