//! Every example of an experiment file comes out as it expects, and would not if its physics were another.
//!
//! The files are in `experiments/`. Those in `experiments/slow/` run when `KNOTWRIGHT_SLOW_TESTS` is set.

use knotwright::experiment::schema::{Lie, SlipLimitSpec};
use knotwright::experiment::{Experiment, Outcome, PointFiles, parse, parse_points, run};
use std::fs;
use std::path::{Path, PathBuf};

/// For each example what is changed in it, so that no expectation can be met by something else than its physics.
const CHANGES: &[(&str, &str, &str)] = &[
    ("cantilever.ron", "bending_stiffness_n_mm2: 0.1,", "bending_stiffness_n_mm2: 0.102,"),
    ("catenary.ron", "weight_n_per_m: 5e-4", "weight_n_per_m: 5.1e-4"),
    ("circle.ron", "bending_stiffness_n_mm2: 0.1,", "bending_stiffness_n_mm2: 0.101,"),
    ("elastica.ron", "bending_stiffness_n_mm2: 0.1,", "bending_stiffness_n_mm2: 0.102,"),
    ("greenhill.ron", "bending_stiffness_n_mm2: 0.1,", "bending_stiffness_n_mm2: 0.103,"),
    ("hooked.ron", "radius_mm: 0.1125,", "radius_mm: 0.1125, friction: 0.05,"),
    ("linking.ron", "spin_turns: 3", "spin_turns: 2.9"),
    ("michell.ron", "bending_stiffness_n_mm2: 0.1,", "bending_stiffness_n_mm2: 0.103,"),
    ("overhand_friction.ron", "friction: 0.03,", "friction: 0.033,"),
    ("overhand_locks.ron", "friction: 0.305,", "friction: 0.1,"),
    ("overhand_opens.ron", "friction: 0.1,", "friction: 0.305,"),
    ("pulley.ron", "friction: 0.0,", "friction: 0.05,"),
    ("stick_slip.ron", "friction: 0.4", "friction: 0.41"),
    ("end_load.ron", "axial_stiffness_n: 32.0", "axial_stiffness_n: 32.1"),
    ("capstan_100_radii_friction_01.ron", "friction: 0.1,", "friction: 0.103,"),
    ("capstan_100_radii_friction_03.ron", "friction: 0.3,", "friction: 0.31,"),
    ("capstan_10_radii_friction_01.ron", "friction: 0.1,", "friction: 0.104,"),
    ("capstan_10_radii_friction_03.ron", "friction: 0.3,", "friction: 0.313,"),
    ("capstan_3_radii_friction_01.ron", "friction: 0.1,", "friction: 0.104,"),
    ("capstan_3_radii_friction_03.ron", "friction: 0.3,", "friction: 0.316,"),
    ("capstan_friction_load.ron", "exponent: -0.25", "exponent: -0.15"),
    ("force_strain.ron", "strain: 0.15, force_n: 4.35", "strain: 0.15, force_n: 4.4"),
    ("flap_give.ron", "modulus_kpa: 154.0", "modulus_kpa: 157.0"),
    ("flap_pulled_by_thread.ron", "modulus_kpa: 154.0", "modulus_kpa: 157.0"),
    ("loop_tension.ron", "modulus_kpa: 154.0", "modulus_kpa: 260.0"),
    ("needle_push.ron", "way_mm: 2), (at_ms: 60", "way_mm: 0.2), (at_ms: 60"),
    ("pull_out.ron", "quality: 1.0", "quality: 0.9"),
    ("pull_out_poor.ron", "quality: 0.4", "quality: 1.0"),
    ("refill.ron", "(at_ms: 0, tension_n: 5.0)", "(at_ms: 0, tension_n: 0.0)"),
    ("set_relaxation.ron", "set_relaxation_s: 100.0", "set_relaxation_s: 101.0"),
];

fn folder(slow: bool) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/physics/experiments");
    if slow { folder.join("slow") } else { folder }
}

fn examples(slow: bool) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder(slow)) else { return Vec::new() };
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("it can be listed").path()).collect();
    files.retain(|file| file.extension().is_some_and(|ending| ending == "ron"));
    files.sort();
    files
}

fn name(file: &Path) -> String {
    file.file_name().expect("it has a name").to_string_lossy().into_owned()
}

fn carried_out(file: &Path, text: &str) -> Outcome {
    carried_out_by(file, text, None)
}

/// Carries an example out, with the given limits of friction instead of its own.
fn carried_out_by(file: &Path, text: &str, slip_limit: Option<SlipLimitSpec>) -> Outcome {
    let mut experiment: Experiment = parse(&name(file), text).unwrap_or_else(|problems| panic!("{problems}"));
    experiment.solver.slip_limit = slip_limit.or(experiment.solver.slip_limit);
    let mut points = PointFiles::new();
    for thread in &experiment.threads {
        if let Lie::Points { file: table } = &thread.shape {
            let text = fs::read_to_string(file.with_file_name(table)).expect("the table lies beside the example");
            points.insert(table.clone(), parse_points(table, &text).expect("it is a table of points"));
        }
    }
    run(&experiment, &points, |_| {}).unwrap_or_else(|message| panic!("{}: {message}", file.display()))
}

fn check(files: &[PathBuf]) {
    let mut wrong = Vec::new();
    for file in files {
        let text = fs::read_to_string(file).expect("it can be read");
        let outcome = carried_out(file, &text);
        assert!(!outcome.verdicts.is_empty(), "{} expects nothing", file.display());
        if !outcome.met() {
            wrong.push(format!("{}: {}", name(file), outcome.text()));
        }
    }
    assert!(wrong.is_empty(), "{} of {} examples:\n{}", wrong.len(), files.len(), wrong.join("\n"));
}

#[test]
fn every_example_comes_out_as_it_expects() {
    let files = examples(false);
    assert!(files.len() >= 2, "{files:?}");
    check(&files);
}

#[test]
#[expect(clippy::print_stderr, reason = "a test that leaves something out has to say so")]
fn every_slow_example_comes_out_as_it_expects_when_slow_tests_are_asked_for() {
    let files = examples(true);
    if crate::slow::wanted() {
        check(&files);
    } else if !files.is_empty() {
        eprintln!("NOT RUN: {} slow experiments; set KNOTWRIGHT_SLOW_TESTS=required to run them", files.len());
    }
}

#[test]
fn every_capstan_slides_alike_with_friction_limited_at_the_start_and_at_the_end_of_a_step() {
    let mut capstans = examples(false);
    capstans.retain(|file| name(file).starts_with("capstan"));
    assert!(capstans.len() >= 7, "{capstans:?}");
    for file in capstans {
        let text = fs::read_to_string(&file).expect("it can be read");
        let exponent = |percent: Option<f64>| {
            let outcome =
                carried_out_by(&file, &text, percent.map(|within_percent| SlipLimitSpec::StepEnd { within_percent }));
            assert!(outcome.met() && outcome.unbalanced_steps == 0, "{percent:?}: {}", outcome.text());
            outcome.verdicts[0].found.expect("it is met")
        };
        let [start, end, exact] = [None, Some(0.1), Some(1e-4)].map(exponent);
        // A lag of one step in what presses is a lag of the tension's change in one step, below a thousandth here.
        assert!((start / end - 1.0).abs() < 1e-3, "{}: {start} by the start, {end} by the end", name(&file));
        // Forces of friction are to err by no more than a thousandth, and their sum is what tension grows by.
        assert!((end / exact - 1.0).abs() < 1e-3, "{}: {end} to a thousandth, {exact} exactly", name(&file));
    }
}

#[test]
fn no_example_comes_out_as_it_expects_when_its_physics_is_another() {
    let mut unchanged: Vec<String> = examples(false).iter().map(|file| name(file)).collect();
    for (example, from, to) in CHANGES {
        let file = folder(false).join(example);
        let text = fs::read_to_string(&file).expect("it can be read");
        assert!(text.contains(from), "{example} does not say `{from}`");
        let outcome = carried_out(&file, &text.replace(from, to));
        assert!(!outcome.met(), "{example} with `{to}`: {}", outcome.text());
        unchanged.retain(|name| name != example);
    }
    assert_eq!(unchanged, [""; 0], "these have no entry in CHANGES");
}
