//! `read`: stitches as tables of points, marked or not, and as recordings.

use super::{call, path, scratch};
use crate::topology::stacks::{Layout, Turn, flat_stack, stack_with_crossing_tails, throws_of, turns_on_a_post};
use knotwright::analysis::reading::StitchCurve;
use serde_json::Value;
use std::fmt::Write;
use std::fs;
use std::path::PathBuf;

const HEAD: &str = "x_mm,y_mm,z_mm\n";

/// The plainest table of a curve.
fn rows(curve: &StitchCurve) -> String {
    curve.points.iter().fold(String::new(), |mut rows, point| {
        let _ = writeln!(rows, "{},{},{}", point.x, point.y, point.z);
        rows
    })
}

fn file(name: &str, text: &str) -> PathBuf {
    let file = scratch(name);
    fs::write(&file, text).expect("the scratch folder is writable");
    file
}

fn stitches(file: &std::path::Path) -> Vec<Value> {
    let called = call(&["read", path(file), "--json"]);
    assert_eq!(called.code, 0, "{}", called.err);
    let read: Value = serde_json::from_str(&called.out).expect("exactly one object");
    read["stitches"].as_array().expect("a list").clone()
}

#[test]
fn one_polyline_without_marks_reads_as_it_was_tied() {
    for notation in ["1", "2", "1=1", "1x1", "2=1=1", "3=1=1", "1x1x1", "2=1x1=1"] {
        let curves = [flat_stack, stack_with_crossing_tails].map(|lay| lay(&throws_of(notation), Layout::LOOSE));
        for (number, curve) in curves.iter().enumerate() {
            let read = stitches(&file(&format!("plain_{number}_{notation}.csv"), &(HEAD.to_owned() + &rows(curve))));
            assert_eq!(read.len(), 1);
            let asked = ["notation", "clear"].map(|key| &read[0][key]);
            assert_eq!(asked, [&Value::from(notation), &true.into()], "{notation}: {}", read[0]);
            // How one throw alone shares its bending hangs on where it is taken to end.
            assert!(notation.len() == 1 || read[0]["form"] == "flat", "{notation}: {}", read[0]);
            assert_eq!(read[0]["throws"].as_array().map(Vec::len), Some(throws_of(notation).len()));
        }
    }
}

#[test]
fn hitches_round_a_straight_limb_read_as_sliding_round_it() {
    let curve = turns_on_a_post(&[(Turn::Hitch, 1), (Turn::Hitch, -1)], 0.3);
    let read = stitches(&file("sliding.csv", &(HEAD.to_owned() + &rows(&curve))));
    assert_eq!((&read[0]["form"], &read[0]["post"]), (&"sliding".into(), &"A".into()), "{}", read[0]);
}

#[test]
fn several_stitches_in_one_table_are_read_one_by_one() {
    let notations = ["2=1=1", "1x1"];
    let tables = notations.map(|notation| rows(&flat_stack(&throws_of(notation), Layout::LOOSE)));
    let read = stitches(&file("several.csv", &(HEAD.to_owned() + &tables.join("\n"))));
    assert_eq!(read.iter().map(|stitch| &stitch["notation"]).collect::<Vec<_>>(), notations);
    assert_eq!(read[1]["throws"][1]["to_the_one_below"], "crossed");
}

#[test]
fn a_thread_with_two_knots_is_unclear_until_its_loop_is_marked() {
    let curve = flat_stack(&throws_of("1=1"), Layout::LOOSE);
    // The same knot once more, upside down, in what was the last tail: two stretches part as many crossings.
    let shift = curve.points[curve.points.len() - 1] - curve.points[0];
    let again = curve.points.iter().skip(1).map(|&point| point + shift);
    let double = StitchCurve { points: curve.points.iter().copied().chain(again).collect(), ..curve.clone() };
    let unmarked = stitches(&file("two_loops.csv", &(HEAD.to_owned() + &rows(&double))));
    assert_eq!((&unmarked[0]["clear"], &unmarked[0]["notation"]), (&false.into(), &"".into()), "{}", unmarked[0]);
    let reason = unmarked[0]["reason"].as_str().expect("a reason");
    assert!(reason.contains("could both be the loop"), "{reason}");
}

#[test]
fn a_marked_loop_is_taken_as_marked() {
    let curve = flat_stack(&throws_of("2=1"), Layout::LOOSE);
    let table: String = (rows(&curve).lines().enumerate())
        .map(|(index, row)| format!("{row},{}\n", u8::from(index == curve.loop_start || index == curve.loop_end)))
        .collect();
    let read = stitches(&file("marked.csv", &format!("x_mm,y_mm,z_mm,hole\n{table}")));
    assert_eq!(read[0]["notation"], "2=1");
    assert_eq!(read[0]["loop_points"], serde_json::json!([curve.loop_start, curve.loop_end]));
}

#[test]
fn in_words_a_stitch_has_its_throws_their_hands_and_its_invariants() {
    let curve = flat_stack(&throws_of("2x1"), Layout::LOOSE);
    let called = call(&["read", path(&file("words.csv", &(HEAD.to_owned() + &rows(&curve))))]);
    assert_eq!((called.code, called.err.as_str()), (0, ""));
    // However the lines are broken.
    let out = called.out.split_whitespace().collect::<Vec<_>>().join(" ");
    // Both throws add a torus knot, T(2, 5) and T(2, 3): determinants 5 and 3 multiply, signatures -4 and -2 add (textbook).
    for part in [
        "Stitch 1: 2x1, flat, clear",
        "throw 1: 2 wraps, left-handed; winds -2.",
        "throw 2: 1 wrap, left-handed, crossed to the one below; winds -1.",
        "closed: determinant 15, signature -6, Alexander polynomial 1 - 2t + 3t^2 - 3t^3 + 3t^4 - 2t^5 + t^6",
    ] {
        assert!(out.contains(part), "{part}:\n{}", called.out);
    }
}

#[test]
fn a_picture_is_drawn_for_each_stitch_with_every_throw_named() {
    let tables = ["2=1=1", "1x1"].map(|notation| rows(&flat_stack(&throws_of(notation), Layout::LOOSE)));
    let table = file("pictures.csv", &(HEAD.to_owned() + &tables.join("\n")));
    let called = call(&["read", path(&table), "--picture", path(&scratch("pictures.svg"))]);
    assert_eq!((called.code, called.err.as_str()), (0, ""));
    for (number, throw_count) in [(1, 3), (2, 2)] {
        let drawn = fs::read_to_string(scratch(&format!("pictures_{number}.svg"))).expect("it was drawn");
        assert!(drawn.contains(&format!("throw {throw_count}: 1 wrap")), "{drawn}");
        assert!(!drawn.contains(&format!("throw {}:", throw_count + 1)));
        // Each panel shows at least what the throws need, three crossings for one wrap and two more for each further,
        // and a strand that runs under another is in two pieces.
        let breaks = drawn.matches("<path").count();
        assert!(breaks > 2 * 3 * throw_count, "{breaks} lines");
    }
}

#[test]
fn what_is_no_table_and_no_recording_is_refused_with_code_4_and_all_of_its_faults() {
    let table = file("wrong.csv", "x_mm,y_mm,z_mm\n0,0,up\n1,,0\n");
    let refused = call(&["read", path(&table)]);
    assert_eq!((refused.code, refused.out.as_str()), (4, ""));
    assert!(refused.err.contains("wrong.csv:2:3: z_mm is \"up\", allowed a number\n"), "{}", refused.err);
    assert!(refused.err.contains("wrong.csv:3:2: y_mm is \"\", allowed a number\n"), "{}", refused.err);
    let missing = call(&["read", "no_such_file.csv"]);
    assert_eq!(missing.code, 4, "{}", missing.err);
}
