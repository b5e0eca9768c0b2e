//! `grade`: a folder of recordings, some of which are not what they should be.

use super::attempts::recorded;
use super::{Call, call, path, scratch};
use crate::scoring::structure::faults;
use crate::slow;
use knotwright::analysis::kept::MEASURING_VERSION;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

/// A folder with one good recording, one with a byte changed, one cut off within its header, one of words, and notes.
fn class(name: &str) -> PathBuf {
    let (good, _) = recorded(&format!("of_{name}"));
    let folder = scratch(name);
    fs::create_dir_all(folder.join("b")).expect("the scratch folder is writable");
    let bytes = fs::read(good).expect("it was written");
    // Its last block.
    let late = bytes.len() - 40;
    let mut flipped = bytes.clone();
    flipped[late] ^= 1;
    for (name, content) in [
        ("a.attempt", bytes.as_slice()),
        ("b/flipped.attempt", flipped.as_slice()),
        ("c.attempt", &bytes[..20]),
        ("d.attempt", b"no recording"),
        ("notes.txt", b"of the instructor"),
    ] {
        fs::write(folder.join(name), content).expect("the scratch folder is writable");
    }
    folder
}

fn parsed(text: &str) -> Vec<Value> {
    serde_json::from_str::<Value>(text).expect("exactly one list").as_array().expect("a list").clone()
}

#[test]
fn a_bad_recording_stops_no_other_and_gets_no_marks() {
    let folder = class("class");
    let graded = call(&["grade", path(&folder), "--json"]);
    assert_eq!(graded.code, 5, "not all are verified: {}", graded.err);
    let grades = parsed(&graded.out);
    let told: Vec<(&str, bool)> =
        grades.iter().map(|grade| (grade["status"].as_str().expect("a word"), grade["total"].is_number())).collect();
    assert_eq!(told, [("verified", true), ("damaged", false), ("unreadable", false), ("unreadable", false)]);
    assert_eq!(grades[0]["criteria"].as_array().map(Vec::len), Some(13));
    assert!(
        grades[1..].iter().all(|grade| grade["passed"].is_null() && !grade["verdict"].as_str().unwrap().is_empty())
    );
    // The same bytes, however many work at once.
    assert_eq!(call(&["grade", path(&folder), "--json", "--jobs", "2"]).out, graded.out);
    let table = call(&["grade", path(&folder)]);
    assert!(table.out.contains("of 4 recordings 1 were marked, 0 passed"), "{}", table.out);
}

#[test]
fn marks_are_those_of_a_replay_and_another_scenario_gives_none() {
    let (file, report) = recorded("graded_alone");
    let graded = call(&["grade", path(&file), "--json"]);
    assert_eq!(graded.code, 0, "{}", graded.err);
    let grade = &parsed(&graded.out)[0];
    assert_eq!((&grade["total"], &grade["passed"]), (&report["score"]["total"], &report["score"]["passed"]));
    for (mine, reported) in
        grade["criteria"].as_array().unwrap().iter().zip(report["score"]["criteria"].as_array().unwrap())
    {
        assert_eq!((&mine["id"], &mine["mark"]), (&reported["id"], &reported["mark"]));
    }
    let other = call(&["grade", path(&file), "--json", "--scenario", "scenarios/triple_first_throw.ron"]);
    assert_eq!((other.code, &parsed(&other.out)[0]["status"]), (5, &"wrong scenario".into()));
}

#[test]
fn a_place_that_takes_no_pages_is_told_before_anything_is_graded() {
    let folder = class("early");
    let graded = call(&["grade", path(&folder), "--html", path(&folder.join("notes.txt"))]);
    assert_eq!((graded.code, graded.out.as_str(), graded.err.contains("notes.txt")), (2, "", true), "{}", graded.err);
}

#[test]
fn a_folder_without_a_recording_is_refused() {
    let folder = scratch("empty_class");
    fs::create_dir_all(&folder).expect("the scratch folder is writable");
    let refused = call(&["grade", path(&folder)]);
    assert_eq!((refused.code, refused.err.contains("allowed")), (2, false));
    assert!(refused.err.contains("holds no file that ends in .attempt"), "{}", refused.err);
}

/// Lines of a table below its heading, and the heading.
fn table(file: &Path) -> (String, Vec<String>) {
    let text = fs::read_to_string(file).expect("it was written");
    let mut lines = text.lines().map(str::to_owned);
    (lines.next().expect("a heading"), lines.collect())
}

#[test]
fn a_class_has_a_page_for_each_attempt_one_for_all_and_a_table_and_names_no_file_unasked() {
    let (folder, pages, marks) = (class("paged"), scratch("paged_pages"), scratch("paged.csv"));
    let _ = fs::remove_dir_all(&pages);
    let graded = call(&["grade", path(&folder), "--html", path(&pages), "--csv", path(&marks)]);
    assert_eq!(graded.code, 5, "{}", graded.err);
    let names: Vec<String> = fs::read_dir(&pages)
        .expect("the folder was made")
        .map(|entry| entry.expect("it can be listed").file_name().into_string().expect("plain letters"))
        .collect();
    assert_eq!(names.len(), 2, "{names:?}");
    for name in &names {
        let page = fs::read_to_string(pages.join(name)).expect("it can be read");
        assert_eq!(faults(&page), Vec::<String>::new(), "{name}");
        assert!(!page.contains(".attempt") && !page.contains("paged"), "{name} names a file");
    }
    let all = fs::read_to_string(pages.join("index.html")).expect("it was written");
    let attempt = names.iter().find(|name| name.starts_with("attempt-")).expect("one was marked");
    assert!(all.contains(&format!("href=\"{attempt}\"")), "the class leads to the attempt");
    assert!(all.contains("damaged") && all.contains("unreadable"), "those without marks are listed");
    let (heading, rows) = table(&marks);
    assert_eq!((rows.len(), heading.contains("file"), rows[0].contains("paged")), (1, false, false));

    let graded = call(&["grade", path(&folder), "--csv", path(&marks), "--names"]);
    assert_eq!(graded.code, 5, "{}", graded.err);
    let (heading, rows) = table(&marks);
    assert!(heading.contains(",file,") && rows[0].contains("a.attempt"), "{heading}");
}

#[test]
fn what_was_measured_is_marked_again_by_another_rubric_and_no_stored_mark_is_there_to_believe() {
    let (file, report) = recorded("marked_again");
    let folder = scratch("marked_again_findings");
    let _ = fs::remove_dir_all(&folder);
    let graded = call(&["grade", path(&file), "--json", "--findings", path(&folder)]);
    assert_eq!(graded.code, 0, "{}", graded.err);
    let own = call(&["regrade", path(&folder), "--json", "--rubric", "scenarios/first_stitch.ron"]);
    let marks = |call: &Call| parsed(&call.out)[0]["criteria"].clone();
    assert_eq!((own.code, marks(&own)), (0, marks(&graded)), "{}", own.err);
    assert_eq!(parsed(&own.out)[0]["total"], report["score"]["total"]);

    // A rubric that asks for one thing only, and passes whoever has nothing torn.
    let shipped = fs::read_to_string("scenarios/first_stitch.ron").expect("it is shipped");
    let (before, after) = shipped.split_once("criteria: [").expect("it has a rubric");
    let (_, after) = after.split_once("critical:").expect("it lists critical faults");
    let rubric = scratch("only_tearing.ron");
    let tearing = "(id: \"tearing\", weight: 1.0, bands: {\"slit_mm\": (full: 0.0, zero: 1.0)})";
    let text = format!("{before}criteria: [{tearing}], critical:{after}");
    fs::write(&rubric, text).expect("the scratch folder is writable");
    let pages = scratch("marked_again_pages");
    let other = call(&["regrade", path(&folder), "--json", "--rubric", path(&rubric), "--html", path(&pages)]);
    assert_eq!(other.code, 0, "{}", other.err);
    assert_eq!(parsed(&other.out)[0]["criteria"].as_array().map(Vec::len), Some(1));
    let page = fs::read_to_string(pages.join("index.html")).expect("it was written");
    assert_eq!(faults(&page), Vec::<String>::new());
    assert!(
        page.contains(&format!("measuring version {MEASURING_VERSION}, simulation version")),
        "the versions are named"
    );
    let table = call(&["regrade", path(&folder), "--rubric", path(&rubric)]);
    assert!(table.out.starts_with("Marked by the rubric of “First stitch"), "{}", table.out);
}

#[test]
fn findings_that_were_altered_or_are_of_another_version_get_no_marks() {
    let (file, _) = recorded("altered_findings");
    let store = scratch("altered.findings");
    let _ = fs::remove_file(&store);
    assert_eq!(call(&["grade", path(&file), "--resume", path(&store)]).code, 0);
    let line = fs::read_to_string(&store).expect("it was written");
    let (_, rest) = line.trim_end().split_once(' ').expect("a hash and the rest");
    let (_, findings) = rest.split_once(' ').expect("versions and the rest");
    let other = format!("1.99 {findings}");
    let other = format!("{} {other}\n", blake3::hash(other.as_bytes()).to_hex());
    let altered = line.replacen("duration:(", "duration:(1", 1);
    for (text, status) in [(line.as_str(), "verified when measured"), (&other, "other version"), (&altered, "altered")]
    {
        fs::write(&store, text).expect("the scratch folder is writable");
        let again = call(&["regrade", path(&store), "--json", "--rubric", "scenarios/first_stitch.ron"]);
        let marked = status.starts_with("verified");
        assert_eq!(again.code, if marked { 0 } else { 5 }, "{status}: {}", again.err);
        let row = &parsed(&again.out)[0];
        assert_eq!((row["status"].as_str(), row["total"].is_number()), (Some(status), marked));
    }
}

#[test]
fn a_grading_goes_on_where_it_stopped_whatever_is_left_of_its_last_line() {
    let (file, _) = recorded("resumed");
    let store = scratch("resumed.findings");
    let _ = fs::remove_file(&store);
    let grade = || call(&["grade", path(&file), "--json", "--resume", path(&store)]);
    let first = grade();
    let whole = fs::read(&store).expect("it was written");
    assert_eq!((first.code, whole.iter().filter(|&&byte| byte == b'\n').count()), (0, 1), "{}", first.err);
    // Nothing is measured again, so nothing is added.
    assert_eq!((grade().out, fs::read(&store).expect("it is there")), (first.out.clone(), whole.clone()));
    // Cut off at any place: what is left is not believed, and the attempt is added anew on a line of its own.
    for left in [10, whole.len() / 2, whole.len() - 1] {
        fs::write(&store, &whole[..left]).expect("the scratch folder is writable");
        let again = grade();
        assert_eq!((again.code, &again.out), (0, &first.out), "{left}: {}", again.err);
        let text = fs::read(&store).expect("it is there");
        let lines: Vec<&[u8]> = text.split_inclusive(|&byte| byte == b'\n').collect();
        // Without its line break only, the line was whole.
        let added = if left + 1 == whole.len() { 1 } else { 2 };
        assert_eq!((lines.len(), lines[lines.len() - 1]), (added, whole.as_slice()), "{left}");
    }
    fs::write(&store, "notes of the instructor\n").expect("the scratch folder is writable");
    let refused = grade();
    assert_eq!((refused.code, refused.err.contains("nothing is added")), (2, true), "{}", refused.err);
    assert_eq!(fs::read_to_string(&store).expect("it is there"), "notes of the instructor\n");
}

#[test]
fn how_far_a_mark_moves_with_the_thread_is_said_and_is_the_same_however_many_work_at_once() {
    let folder = class("sensitive");
    let pages = scratch("sensitive_pages");
    let asked = ["grade", path(&folder), "--sensitivity", "3", "--seed", "7"];
    let graded = call(&[&asked[..], &["--json", "--html", path(&pages)]].concat());
    assert_eq!(graded.code, 5, "one of four recordings is whole: {}", graded.err);
    let grades = parsed(&graded.out);
    let found = &grades[0]["sensitivity"];
    assert_eq!((&found["threads"], &found["seed"], &found["missing"]), (&3.into(), &7.into(), &0.into()));
    let totals = found["totals"].as_array().expect("a list");
    assert!(totals.len() == 3 && totals.iter().all(Value::is_number), "{found}");
    // Hands that hold still tie nothing in any thread.
    assert_eq!((&found["passing"], &found["flips"]), (&0.into(), &false.into()));
    assert!(grades[1..].iter().all(|grade| grade["sensitivity"].is_null()), "what has no mark has no error of it");
    let two = call(&[&asked[..], &["--json", "--jobs", "2"]].concat());
    assert_eq!(two.out, graded.out);
    let table = call(&asked);
    assert!(table.out.contains("plus or minus") && table.out.contains("in 3 threads drawn"), "{}", table.out);
    let page = fs::read_dir(&pages).expect("it was made").map(|entry| entry.expect("it can be listed").path());
    let page = page.into_iter().find(|page| page.to_str().is_some_and(|name| name.contains("attempt-")));
    let page = fs::read_to_string(page.expect("one was marked")).expect("it can be read");
    assert!(page.contains("How sure the mark is"), "{page}");
    assert_eq!(call(&["grade", path(&folder), "--json"]).out.matches("sensitivity").count(), 0, "nobody asked");
    assert_eq!(call(&["grade", path(&folder), "--seed", "7"]).code, 2, "a seed of nothing");
}

#[test]
fn a_drawn_thread_is_another_and_ties_otherwise() {
    // A throw drawn by the same hands in threads of other friction and stiffness does not end in the same state.
    let case = super::tied::case("one_throw");
    let thread = |index| knotwright::pull::tying_thread("chromic gut", "4-0", true, 7, index).expect("it is known");
    assert_ne!(thread(0).section, thread(1).section);
    let begun = |index| knotwright::simulation::attempt::Attempt::begin_in(&case.scenario, &thread(index));
    let stiffness = |index| begun(index).expect("it begins").world.rod.section.bending_stiffness;
    assert!((stiffness(0) / stiffness(1) - 1.0).abs() > 1e-3, "the thread is simulated as it was drawn");
}

#[test]
fn hands_that_pass_in_their_own_thread_are_told_that_they_fail_in_others() {
    if !slow::wanted() {
        return;
    }
    let file = scratch("hangs_on_the_thread.attempt");
    let hands = "scenarios/hands/double_first_throw.hands";
    let done = call(&["demo", "scenarios/double_first_throw.ron", "--hands", hands, "--record", path(&file)]);
    assert_eq!(done.code, 0, "{}", done.err);
    let graded = call(&["grade", path(&file), "--sensitivity", "3", "--seed", "7", "--json"]);
    assert_eq!(graded.code, 0, "{}", graded.err);
    let grade = &parsed(&graded.out)[0];
    let found = &grade["sensitivity"];
    let totals = found["totals"].as_array().expect("a list");
    // They repeat what they did and do not feel how a softer or a smoother thread lies: that much is told by the totals.
    assert!(grade["passed"] == true && totals.iter().any(|total| *total != grade["total"]), "{grade}");
    assert_eq!(found["flips"], true, "{found}");
}
