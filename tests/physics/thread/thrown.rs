//! Knots thrown by the ends of their strands become what was asked for: the throws, and flat or sliding.

use crate::slow::runs;
use knotwright::analysis::reading::{Form, Reading, read};
use knotwright::material;
use knotwright::pull::{Test, parse, throw};

/// Notation, material, form; those that are quick first.
const TIES: [(&str, &str, Form); 5] = [
    ("1", "silk", Form::Sliding),
    ("1=1", "silk", Form::Sliding),
    ("1=1", "silk", Form::Flat),
    ("2=1=1", "chromic gut", Form::Flat),
    ("2=1=1", "silk", Form::Flat),
];

fn thrown(notation: &str, name: &str, form: Form) -> Result<Reading, String> {
    let section = material::find(name, "4-0", true).expect("it is known").section;
    let throws = parse(notation).expect("it is in order");
    let test = Test { throws, section, pretension: 2000.0, tail: 3.0 };
    throw(&test, form).map(|curve| read(&curve)).map_err(|untied| untied.to_string())
}

#[test]
fn a_thrown_knot_reads_as_it_was_asked_for_flat_or_sliding() {
    let count = usize::try_from(runs([2, 3, TIES.len() as u64])).expect("it is small");
    let wrong: Vec<String> = TIES[..count]
        .iter()
        .filter_map(|&(notation, name, form)| {
            let found = match thrown(notation, name, form) {
                Ok(reading) if (&*reading.notation, reading.form, reading.clear) == (notation, Some(form), true) => {
                    return None;
                }
                Ok(reading) => format!("{} {:?} {:?}", reading.notation, reading.form, reading.reason),
                Err(untied) => untied,
            };
            Some(format!("{notation} {name} {form:?}: {found}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_knot_that_breaks_its_thread_is_no_knot_and_the_throw_is_named() {
    let section = material::find("silk", "4-0", true).expect("it is known").section;
    let throws = parse("1").expect("it is in order");
    let untied = throw(&Test { throws, section, pretension: 20_000.0, tail: 3.0 }, Form::Flat);
    assert_eq!(
        untied.expect_err("20 N are more than silk bears").to_string(),
        "throw 1: the thread breaks while it is drawn down"
    );
}
