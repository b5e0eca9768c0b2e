//! The shape a text must have, a scenario's above all: every field, its kind, its limits, and why they are so.
//!
//! One table serves every message about a missing, unknown, mistyped or outlying field. It follows the structs of
//! [`super::schema`] field by field.

/// What may stand in one place of the text.
pub(crate) enum Shape {
    /// `(name: value, ..)` with these fields.
    Group(&'static [Field]),
    /// `Word(name: value, ..)`, one of these words with its fields; a word without fields stands alone.
    Variant(&'static [(&'static str, &'static [Field])]),
    /// `(x, y, z)`, each a number from `min` to `max`.
    Vector(Limits),
    /// A number from `min` to `max`.
    Number(Limits),
    /// A whole number from `min` to `max`.
    Whole(Limits),
    /// `Fixed(x)` or `Range(min, max)`, numbers from `min` to `max`.
    Amount(Limits),
    /// Text in quotes of 1 to so many characters.
    Text(usize),
    /// `true` or `false`.
    Switch,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// `[value, ..]`
    List { of: &'static Shape, min: usize, max: usize },
    /// `{"name": value, ..}`; which names, the rules say.
    Map(&'static Shape),
}

/// The numbers allowed in a place.
#[derive(Clone, Copy)]
pub(crate) struct Limits {
    pub(crate) min: f64,
    pub(crate) max: f64,
    pub(crate) unit: &'static str,
}

/// A field of a group.
pub(crate) struct Field {
    pub(crate) name: &'static str,
    pub(crate) shape: Shape,
    /// Why it is limited so, or what to do; shown with every problem of this field.
    pub(crate) hint: &'static str,
    /// Whether it has to be there.
    pub(crate) required: bool,
}

/// A field that has to be there.
pub(crate) const fn field(name: &'static str, shape: Shape, hint: &'static str) -> Field {
    Field { name, shape, hint, required: true }
}

/// A field that may be left out.
pub(crate) const fn optional(name: &'static str, shape: Shape, hint: &'static str) -> Field {
    Field { name, shape, hint, required: false }
}

/// From `min` to `max`, in `unit`.
pub(crate) const fn limits(min: f64, max: f64, unit: &'static str) -> Limits {
    Limits { min, max, unit }
}

const fn mm(min: f64, max: f64) -> Shape {
    Shape::Number(limits(min, max, "mm"))
}

const fn whole(min: f64, max: f64) -> Shape {
    Shape::Whole(limits(min, max, ""))
}

/// The field that names another scenario; it is gone once that one has been taken in.
pub(crate) const EXTENDS: &str = "extends";

/// A whole scenario.
pub(crate) const SCENARIO: Shape = Shape::Group(&[
    field("format", whole(1.0, 1.0), "the version of the scenario language that this program reads"),
    optional(
        EXTENDS,
        Shape::Text(200),
        "a scenario beside this one, or a shipped one; all of it holds but what this one names",
    ),
    field("title", Shape::Text(80), "a line for the list of cases"),
    field("case_text", Shape::Text(2000), "what the student is told about the case"),
    // 2^53 - 1: beyond it, readers that keep numbers as 64-bit floats (JSON among them) change it.
    field("seed", whole(0.0, 9_007_199_254_740_991.0), "fixes everything that is drawn: any number will do"),
    field("site", SITE, ""),
    field("thread", THREAD, ""),
    field("needle", NEEDLE, ""),
    field("hands", HANDS, ""),
    optional(
        "start",
        Shape::Choice(&["Armed", "Threaded"]),
        "Threaded: one stitch is through both flaps already and is only to be tied; Armed if it is left out",
    ),
    field("task", TASK, ""),
    field("rubric", RUBRIC, ""),
    optional("aids", AIDS, ""),
    field("demonstration", Shape::Text(200), "path of a hand script, relative to the scenarios' folder"),
    optional("fault", FAULT, ""),
    optional("course", COURSE, ""),
]);

const FAULT: Shape = Shape::Group(&[
    field(
        "hands",
        Shape::Text(200),
        "path of a hand script that does one thing wrong, relative to the scenarios' folder",
    ),
    field("fails", Shape::Text(40), "the criterion of the rubric that it fails on"),
]);

const COURSE: Shape = Shape::Group(&[
    field("level", Shape::Choice(&["Lesson", "Assessment", "Drill"]), "what the case is for"),
    field("number", whole(1.0, 99.0), "its number among those of its level"),
]);

const SITE: Shape = Shape::Group(&[
    field("tooth", whole(11.0, 48.0), "ISO 3950 notation, such as 35 for the lower left second premolar"),
    field("cheek", Shape::Choice(&["Far", "Near"]), "where the operator sees the cheek"),
    field("socket", SOCKET, ""),
    // The widest molar socket is about 10 mm from cheek to tongue (Ash & Nelson), opened by retraction.
    field("edge_gap_mm", Shape::Amount(limits(0.0, 12.0, "mm")), "gap between the two flap edges over the membrane"),
    field("flap", FLAP, ""),
    field("membrane", MEMBRANE, ""),
    field("mesial_neighbour", NEIGHBOUR, ""),
    field("distal_neighbour", NEIGHBOUR, ""),
]);

/// Neck sizes of Ash & Nelson, Dental Anatomy, run from 5 to 10 mm; a socket is up to 1 mm wider (from memory), and
/// small teeth and joined roots need room.
const SOCKET: Shape = Shape::Group(&[
    field("mesiodistal_mm", mm(3.0, 15.0), "sockets are as wide as the tooth's neck or 1 mm wider: 5 to 11 mm"),
    field("buccolingual_mm", mm(3.0, 15.0), "sockets are as wide as the tooth's neck or 1 mm wider: 6 to 11 mm"),
]);

const FLAP: Shape = Shape::Group(&[
    field(
        "thickness_mm",
        Shape::Amount(limits(0.5, 4.0, "mm")),
        "lining mucosa from 0.5 mm, raised gum 1 to 2 mm, palate to 4 mm (from memory)",
    ),
    field("height_mm", mm(4.0, 20.0), "from the free edge to the fold"),
    field("length_mm", mm(8.0, 40.0), "along the wound"),
    field(
        "modulus_kpa",
        Shape::Number(limits(60.0, 8900.0, "kPa")),
        "mucosa 60 to 8900 kPa: Chen 2015, J R Soc Interface 12:20150325; 150 to 210 gives as pig flaps do",
    ),
    field("quality", Shape::Number(limits(0.4, 1.0, "")), "share of sound gum's strength against tearing (estimate)"),
]);

const MEMBRANE: Shape = Shape::Group(&[
    field("overlap_mm", mm(0.0, 5.0), "2 to 3 mm in Jung 2018, Clin Oral Implants Res 29(5)"),
    field("thickness_mm", mm(0.1, 1.0), "common practice, no source"),
]);

const NEIGHBOUR: Shape = Shape::Group(&[
    field("crown_width_mm", mm(4.0, 13.0), "crowns 5 to 11 mm: Ash & Nelson, Dental Anatomy (from memory)"),
    field("crown_height_mm", mm(3.0, 13.0), "crowns 6 to 11 mm: Ash & Nelson, Dental Anatomy (from memory)"),
]);

const THREAD: Shape = Shape::Group(&[
    field("material", Shape::Text(40), "a generic name, no brand"),
    field("size", Shape::Text(8), "pharmacopoeia size in quotes, such as \"4-0\""),
    field("length_mm", mm(80.0, 750.0), "the working length; the rest of a packed strand is not simulated"),
    field("wet", Shape::Switch, "true for a soaked, supple thread"),
]);

const NEEDLE: Shape = Shape::Group(&[
    field("arc_eighths", whole(2.0, 5.0), "eighths of a circle: 3 and 4 are usual in the mouth"),
    field("length_mm", mm(8.0, 40.0), "along the arc: 11 to 19 mm are usual in the mouth (from memory)"),
    field("point", Shape::Choice(&["ReverseCutting", "Taper"]), "reverse cutting for gum"),
    field("wire_mm", mm(0.2, 0.8), "0.3 to 0.5 mm for 5-0 and 4-0 (from memory)"),
]);

const HANDS: Shape = Shape::Group(&[
    field(
        "speed_cap_mm_per_s",
        Shape::Number(limits(10.0, 500.0, "mm/s")),
        "no hand works in a mouth faster (common practice, no source)",
    ),
    field(
        "force_cap_n",
        Shape::Number(limits(1.0, 20.0, "N")),
        "knots are pulled snug with up to 14.7 N: Rosin & Robinson 1989, Vet Surg 18:269",
    ),
]);

const TASK: Shape = Shape::Group(&[
    field("stitches", whole(1.0, 6.0), "more do not find room over one socket"),
    field("throws", Shape::List { of: &THROW, min: 1, max: 8 }, "more than 6 throws are only bulk"),
    field("knot_side", Shape::Choice(&["Cheek", "Tongue"]), "the knot lies off the socket, on one of the flaps"),
    field("bite_mm", BITE, ""),
    field("tail_mm", TAIL, ""),
    field(
        "closure",
        Shape::Choice(&["OpenHealing", "Approximation"]),
        "whether the membrane may stay bare between the flaps' edges, or they shall meet",
    ),
]);

const THROW: Shape = Shape::Group(&[
    field("wraps", whole(1.0, 4.0), "turns of the long strand round the holder; a throw without one is no throw"),
    field("direction", Shape::Choice(&["Away", "Toward"]), "which way the long strand is carried over the holder"),
]);

const BITE_HINT: &str =
    "not nearer than 2 to 3 mm; beyond 3 mm nothing tore: Jeong 2024, Clin Oral Implants Res 35:739";

const BITE: Shape = Shape::Group(&[field("min", mm(0.5, 6.0), BITE_HINT), field("max", mm(0.5, 6.0), BITE_HINT)]);

const TAIL_HINT: &str = "ends of 3 to 10 mm: J Am Acad Dermatol 2022, PMC9043372; a flush cut needs one more throw";

const TAIL: Shape = Shape::Group(&[field("min", mm(1.0, 15.0), TAIL_HINT), field("max", mm(1.0, 15.0), TAIL_HINT)]);

const RUBRIC: Shape = Shape::Group(&[
    field("pass_mark", Shape::Number(limits(0.0, 100.0, "%")), "60 to 70 is usual in practical exams"),
    field("criteria", Shape::List { of: &RUBRIC_ITEM, min: 1, max: 20 }, "what is marked"),
    field("critical", Shape::List { of: &Shape::Text(40), min: 0, max: 20 }, CRITICAL_HINT),
]);

const CRITICAL_HINT: &str = "ids in quotes; [] for none; \"wrong_site\" has the site marked on the arch before the first bite, \
                             without it there is no such check";

const RUBRIC_ITEM: Shape = Shape::Group(&[
    field("id", Shape::Text(40), ""),
    field("weight", Shape::Number(limits(0.0, 100.0, "")), "only the ratio to the other weights counts"),
    field("bands", Shape::Map(&BAND), "{} for a criterion without bands"),
]);

const AIDS: Shape = Shape::Group(&[
    field("gauges", Shape::Switch, "false hides the tensions and the pale area while tying"),
    field("throws", Shape::Switch, "false hides the throws as they are read"),
    optional("ghost", Shape::Switch, "true shows the hands of the demonstration beside one's own while tying"),
]);

const BAND: Shape = Shape::Group(&[
    field("full", Shape::Number(limits(-100.0, 1000.0, "")), "the number that earns the full mark"),
    field("zero", Shape::Number(limits(-100.0, 1000.0, "")), "the number that earns none"),
]);

#[cfg(test)]
mod tests {
    use super::*;

    const SCHEMA: &str = include_str!("schema.rs");

    /// The groups of the table beside the structs they stand for.
    const PAIRS: &[(&str, &Shape)] = &[
        ("Scenario", &SCENARIO),
        ("Site", &SITE),
        ("Socket", &SOCKET),
        ("Flap", &FLAP),
        ("Membrane", &MEMBRANE),
        ("Neighbour", &NEIGHBOUR),
        ("Thread", &THREAD),
        ("Needle", &NEEDLE),
        ("Hands", &HANDS),
        ("Task", &TASK),
        ("Throw", &THROW),
        ("Rubric", &RUBRIC),
        ("RubricItem", &RUBRIC_ITEM),
        ("Aids", &AIDS),
        ("Fault", &FAULT),
        ("Course", &COURSE),
        ("Band", &BAND),
    ];

    /// Name and documentation of every field of `struct_name`.
    fn documented(struct_name: &str) -> Vec<(String, String)> {
        let start = SCHEMA.find(&format!("pub struct {struct_name} {{")).expect("the struct exists");
        let body = SCHEMA[start..].split("\n}").next().expect("it has an end");
        let mut fields = Vec::new();
        let mut text = String::new();
        for line in body.lines().skip(1).map(str::trim) {
            match line.strip_prefix("///") {
                Some(comment) => text += comment,
                None if line.starts_with("#[") => {}
                None => {
                    let name = line.trim_start_matches("pub ").split(':').next().expect("a field has a name");
                    fields.push((name.to_string(), std::mem::take(&mut text)));
                }
            }
        }
        fields
    }

    /// What the documentation of a field of this shape must say.
    fn limits_in_words(shape: &Shape) -> Vec<String> {
        match shape {
            Shape::Number(l) | Shape::Whole(l) | Shape::Amount(l) => {
                let unit = if l.unit.is_empty() { String::new() } else { format!("[{}]", l.unit) };
                vec![format!("{} to {}", l.min, l.max), unit]
            }
            Shape::Text(max) => vec![format!("text of 1 to {max} characters")],
            Shape::List { min, max, .. } => vec![format!("list of {min} to {max}")],
            Shape::Choice(words) => words.iter().map(|word| format!("`{word}`")).collect(),
            // An interval's limits stand at the field that holds it.
            Shape::Group(fields) if fields[0].name == "min" => limits_in_words(&fields[0].shape),
            Shape::Group(_) | Shape::Switch | Shape::Map(_) | Shape::Variant(_) | Shape::Vector(_) => Vec::new(),
        }
    }

    #[test]
    fn the_table_has_the_fields_of_the_structs_and_their_documented_limits() {
        for (struct_name, shape) in PAIRS {
            let Shape::Group(fields) = shape else { panic!("{struct_name} is a group") };
            let documented = documented(struct_name);
            let names: Vec<&str> = documented.iter().map(|(name, _)| name.as_str()).collect();
            let fields: Vec<&Field> = fields.iter().filter(|field| field.name != EXTENDS).collect();
            assert_eq!(names, fields.iter().map(|field| field.name).collect::<Vec<_>>(), "fields of {struct_name}");
            for (field, (_, text)) in fields.into_iter().zip(&documented) {
                for words in limits_in_words(&field.shape) {
                    assert!(text.contains(&words), "{struct_name}.{}: `{words}` is not in `{text}`", field.name);
                }
            }
        }
    }
}
