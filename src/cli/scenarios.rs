//! `scenario new`, `explain`, `list` and `schema`: what an instructor needs to write a case and to trust it.

use super::files::{self, FIRST_SCENARIO, Found, SHIPPED};
use super::output::{complain, say};
use super::{Case, Failure, Status, case};
use crate::report::{case_schema, explain_case};
use crate::scenario::{Course, Reading, Scenario, aim, opening_comment, template};
use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::Path;

/// Writes a scenario to be changed by hand, made from another one.
pub(super) fn new(file: &Path, from: Option<&Path>) -> Result<Status, Failure> {
    let found = match from {
        None => files::need(Path::new(FIRST_SCENARIO))?,
        Some(name) => find_named(name)?,
    };
    let case = Case::found(&found)?;
    let text = template(&case.text, &head(&found));
    let made = OpenOptions::new().write(true).create_new(true).open(file);
    let refused = |error: std::io::Error| {
        let why = match error.kind() {
            ErrorKind::AlreadyExists => "it is there already, and nothing is written over it".to_owned(),
            _ => error.to_string(),
        };
        Failure::new(Status::Usage, format!("{}: {why}", file.display()))
    };
    made.and_then(|mut made| made.write_all(text.as_bytes())).map_err(refused)?;
    let name = file.display();
    say(&format!("{name}: made from {}; change it, then `knotwright scenario check {name}`\n", found.name))?;
    Ok(Status::Done)
}

/// A scenario by its place, or by the name of a shipped one.
fn find_named(name: &Path) -> Result<Found, Failure> {
    if let Some(found) = files::find(name)? {
        return Ok(found);
    }
    let shipped = Path::new(SHIPPED).join(name).with_extension("ron");
    files::find(&shipped)?.ok_or_else(|| {
        let why = "no such file, and no shipped scenario of this name: `knotwright scenario list` names them";
        Failure::new(Status::ScenarioInvalid, format!("{}: {why}", name.display()))
    })
}

fn head(found: &Found) -> Vec<String> {
    let mut lines = vec![
        format!("Made from {}. Above every field stands what it means and what it may be.", found.name),
        "Say here what the case is for, and where its thresholds come from; so far they are those it was made from."
            .into(),
        String::new(),
    ];
    lines.extend(opening_comment(&found.text));
    lines
}

/// Says in sentences what a scenario asks for and how it marks.
pub(super) fn explain(file: &Path) -> Result<Status, Failure> {
    let found = find_named(file)?;
    let case = Case::found(&found)?;
    say(&explain_case(&case.scenario, &case.rubric, &opening_comment(&found.text)))?;
    Ok(Status::Done)
}

/// Prints what a scenario's file may say.
pub(super) fn schema() -> Result<Status, Failure> {
    say(&case_schema()).map(|()| Status::Done)
}

/// One line of the list.
struct Row([String; 6]);

/// Lists the scenarios of a folder, or the shipped ones.
pub(super) fn list(folder: Option<&Path>) -> Result<Status, Failure> {
    let files = match folder {
        Some(folder) => files::with_extension(&[folder.to_owned()], "ron")?,
        None => files::shipped()?,
    };
    let (mut rows, mut status) = (Vec::new(), Status::Done);
    for file in files {
        match row(&file) {
            Ok(found) => rows.push(found),
            Err(failure) => {
                complain(&failure.message);
                status = failure.status;
            }
        }
    }
    // Those outside the course come last; those of one place by their names.
    rows.sort_by_key(|(course, _)| course.map_or((true, None, 0), |course| (false, Some(course.level), course.number)));
    say(&table(&rows.into_iter().map(|(_, row)| row).collect::<Vec<_>>()))?;
    Ok(status)
}

fn row(file: &Path) -> Result<(Option<Course>, Row), Failure> {
    let Reading { scenario, problems, sources, .. } = case::read(&files::need(file)?);
    let Some(Scenario { title, task, thread, course, .. }) = scenario else {
        let name = file.display();
        let count = problems.0.len();
        let more = format!("{name}: not in order, {count} problems: `knotwright scenario check {name}` says which");
        return Err(Failure::new(Status::ScenarioInvalid, more));
    };
    let aim = sources.iter().map(|source| aim(&source.text)).find(|aim| !aim.is_empty()).unwrap_or_default();
    // The first sentence is enough for a list; `explain` gives the rest.
    let aim = aim.split_inclusive(". ").next().unwrap_or_default().trim_end().to_owned();
    let name = file.display().to_string();
    let knots = format!("{} x {}", task.stitches, task.notation());
    let place = course.map_or_else(|| "-".to_owned(), |course| course.to_string());
    Ok((course, Row([place, name, knots, format!("{} {}", thread.material, thread.size), title, aim])))
}

/// The aim, which is the longest, stands below the rest.
fn table(rows: &[Row]) -> String {
    let heading = Row(["course", "file", "knots", "thread", "title", ""].map(str::to_owned));
    let width = |column: usize| {
        rows.iter().chain([&heading]).map(|Row(row)| row[column].chars().count()).max().unwrap_or_default()
    };
    let widths = [width(0), width(1), width(2), width(3)];
    let mut lines = Vec::new();
    for Row([place, name, knots, thread, title, aim]) in std::iter::once(&heading).chain(rows) {
        let [a, b, c, d] = widths;
        lines.push(format!("{place:<a$}  {name:<b$}  {knots:<c$}  {thread:<d$}  {title}"));
        if !aim.is_empty() {
            lines.push(format!("    {aim}"));
        }
    }
    lines.join("\n") + "\n"
}
