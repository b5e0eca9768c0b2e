//! Scenario files: what is shipped, what is refused and how, what is drawn.

mod amounts;
mod drafted;
mod extending;
mod malformed;
mod mutated;
mod rewritten;
mod shipped;
mod writing;

use knotwright::scenario::{Reading, Source, read_extending};
use std::fs;
use std::path::{Path, PathBuf};

/// The files with the ending `.ron` in `folder` of this package, in the order of their names.
fn ron_files(folder: &str) -> Vec<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(folder);
    let entries = fs::read_dir(&folder).expect("the folder exists");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("it can be listed").path()).collect();
    files.retain(|file| file.extension().is_some_and(|ending| ending == "ron"));
    files.sort();
    files
}

/// The shipped scenario `name`, as text.
fn shipped_text(name: &str) -> String {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name);
    fs::read_to_string(file).expect("the scenario is shipped")
}

/// A shipped scenario, read with all that it extends.
fn whole(file: &Path) -> Reading {
    let name = file.file_name().and_then(|name| name.to_str()).expect("plain letters").to_owned();
    let source = Source { text: shipped_text(&name), name };
    read_extending(&source, &mut |_, asked| Ok(Source { name: asked.to_owned(), text: shipped_text(asked) }))
}
