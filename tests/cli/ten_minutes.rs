//! The instructor's ten minutes, as README writes them.

use super::{path, scratch};
use std::fs;
use std::path::Path;
use std::process::Command;

/// The commands of README's fenced block below the heading of this name.
fn commands(heading: &str) -> String {
    let readme = fs::read_to_string("README.md").expect("it is shipped");
    let (_, section) = readme.split_once(&format!("\n## {heading}\n")).expect("README has this section");
    let (_, block) = section.split_once("```sh\n").expect("it has commands");
    block.split_once("```").expect("they end").0.to_owned()
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("the scratch folder is writable");
    for entry in fs::read_dir(from).expect("the folder is shipped") {
        let from = entry.expect("it can be listed").path();
        let to = to.join(from.file_name().expect("it has a name"));
        if from.is_dir() {
            copy(&from, &to);
        } else {
            fs::copy(&from, &to).expect("the scratch folder is writable");
        }
    }
}

#[test]
#[cfg(unix)]
fn an_instructors_ten_minutes_go_as_the_readme_writes_them() {
    let folder = scratch("ten_minutes");
    let _ = fs::remove_dir_all(&folder);
    copy(Path::new("scenarios"), &folder.join("scenarios"));
    // What the school's system exported.
    fs::write(folder.join("exported.csv"), "Student,ID,Knots\nDoe,k-17,\nRoe,k-18,\n").expect("it is writable");
    let program = Path::new(env!("CARGO_BIN_EXE_knotwright")).parent().expect("it lies in a folder");
    let found = std::env::var("PATH").unwrap_or_default();
    let commands = commands("An instructor's ten minutes");
    let done = Command::new("sh")
        .args(["-e", "-c", &commands])
        .current_dir(&folder)
        .env("PATH", format!("{}:{found}", path(program)))
        .output()
        .expect("a shell starts");
    let told = String::from_utf8_lossy(&done.stdout).into_owned() + &String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{commands}\n{told}");
    assert!(told.contains("mine.ron: in order: One throw"), "{told}");
    assert!(told.contains("of 2 recordings 2 were marked, 1 passed"), "{told}");
    let handout = fs::read_to_string(folder.join("handout.txt")).expect("it was written");
    assert!(handout.contains("What varies") && handout.contains("Source: "), "{handout}");
    let pages = fs::read_dir(folder.join("pages")).expect("they were written").count();
    assert_eq!(pages, 3, "the class and two attempts");
    let filled = fs::read_to_string(folder.join("filled.csv")).expect("it was written");
    let marks: Vec<f64> = (filled.lines().skip(1))
        .map(|line| line.rsplit(',').next().expect("a cell").parse().expect("a mark"))
        .collect();
    assert!(marks.len() == 2 && marks[0] > 70.0 && marks[1] < 70.0, "{filled}");
}
