//! The files of a form: what it begins with, and what it writes. A file that somebody wrote by hand is never written over.

use super::watch::Watch;
use crate::app::FormSource;
use crate::app::form::FORM_MARK;
use crate::cli::{Case, case, files};
use crate::scenario::opening_comment;
use std::fs::{self, OpenOptions};
use std::io::{ErrorKind, Write};

/// What the form of a case begins with; `None` if its file cannot be read.
pub(super) fn source(watch: &Watch, case: &Case) -> Option<FormSource> {
    let found = files::find(watch.file()).ok()??;
    let reading = case::read(&found);
    let comment = opening_comment(&found.text);
    let own = reading.scenario.is_some() && is_own(&found.text) && watch.file().is_file();
    let (text, on_disk) = match reading.scenario {
        Some(_) => (reading.text, found.text),
        None => (case.text.clone(), String::new()),
    };
    let file = watch.file().display().to_string();
    let unsaved = fs::read_to_string(unsaved_of(&file)).ok();
    Some(FormSource { file, text, comment, own, on_disk, unsaved })
}

/// Where that is kept which is changed and not saved.
fn unsaved_of(file: &str) -> String {
    format!("{file}.unsaved")
}

/// Keeps what is changed and not saved beside its file, or nothing any more.
pub(super) fn keep_unsaved(file: &str, changes: Option<&str>) -> Result<(), String> {
    let unsaved = unsaved_of(file);
    let kept = match changes {
        Some(changes) => write_whole(&unsaved, changes),
        None => fs::remove_file(&unsaved).or_else(|error| match error.kind() {
            ErrorKind::NotFound => Ok(()),
            _ => Err(error),
        }),
    };
    kept.map_err(|error| format!("{unsaved}: {error}"))
}

/// Writes all of a file or leaves it as it was, on a disk that is full too.
fn write_whole(file: &str, text: &str) -> std::io::Result<()> {
    let beside = format!("{file}.new");
    fs::write(&beside, text).and_then(|()| fs::rename(&beside, file)).inspect_err(|_| drop(fs::remove_file(&beside)))
}

/// Writes a case; over a file only if the form wrote that and it is what it was `before`.
pub(super) fn write(file: &str, text: &str, before: Option<&str>) -> Result<(), String> {
    let in_words = |error: std::io::Error| match error.kind() {
        ErrorKind::AlreadyExists => format!("{file}: it is there already, and nothing is written over it"),
        _ => format!("{file}: {error}"),
    };
    if !file.ends_with(".ron") {
        return Err(format!("{file}: a scenario's file ends in .ron"));
    }
    let Some(before) = before else {
        return write_new(file, text).map_err(in_words);
    };
    let found = fs::read_to_string(file).map_err(in_words)?;
    if found != before || !is_own(&found) {
        return Err(format!(
            "{file}: it was changed meanwhile, and nothing is written over that: save as another file"
        ));
    }
    write_whole(file, text).map_err(in_words)
}

/// Writes a file that is not there, all of it or none.
fn write_new(file: &str, text: &str) -> std::io::Result<()> {
    let mut made = OpenOptions::new().write(true).create_new(true).open(file)?;
    made.write_all(text.as_bytes()).inspect_err(|_| drop(fs::remove_file(file)))
}

fn is_own(text: &str) -> bool {
    opening_comment(text).first().is_some_and(|line| line == FORM_MARK)
}
