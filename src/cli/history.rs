//! `history`: what a folder holds of each student: progress, everything to take away, and everything to delete.
//!
//! The folder has plain files: recordings (`.attempt`) and what `grade --findings` kept of them (`.findings`). An index,
//! `index.json`, is made anew from them whenever the history is looked at, for other programs; nothing is read from it.

use super::arguments::{HistoryArguments, HistoryCommand};
use super::class::short;
use super::files::all_with_extension as files;
use super::marked::{Graded, Marked};
use super::output::{complain, json, say};
use super::session::Event;
use super::{Failure, Status, store};
use crate::analysis::kept::LineProblem;
use crate::record::read;
#[cfg(feature = "window")]
use crate::score::Past;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, UNIX_EPOCH};

/// The file that is made from all others.
const INDEX: &str = "index.json";

/// A recording of the folder.
struct Recorded {
    file: PathBuf,
    student: String,
    hash: String,
    /// When the file was last written, since 1970: that is when the attempt ended unless somebody touched it.
    written: Duration,
}

/// What a line of findings is worth.
#[derive(Debug, Clone, Serialize)]
struct Entry {
    student: String,
    /// Day of the attempt, `YYYY-MM-DD`; empty if its recording is not in the folder.
    day: String,
    scenario: String,
    total: f64,
    passed: bool,
    marks: BTreeMap<String, f64>,
    recording: String,
    findings: String,
    #[serde(skip)]
    written: Duration,
}

/// Everything a folder holds.
struct History {
    recordings: Vec<Recorded>,
    entries: Vec<Entry>,
    findings: Vec<PathBuf>,
}

pub(super) fn history(arguments: &HistoryArguments) -> Result<Status, Failure> {
    let folder = &arguments.folder;
    let history = History::of(folder)?;
    match &arguments.command {
        None => {
            history.write_index(folder);
            if arguments.json { say(&json(&history.entries)?)? } else { say(&history.progress())? }
        }
        Some(HistoryCommand::Export { key, output }) => history.export(key, output)?,
        Some(HistoryCommand::Forget { key }) => {
            history.forget(key, folder)?;
            History::of(folder)?.write_index(folder);
        }
    }
    Ok(Status::Done)
}

/// All attempts of a student at the case of this title in a folder, in the order in which they were made.
///
/// # Errors
/// If the folder cannot be read.
#[cfg(feature = "window")]
pub(super) fn past(folder: &Path, scenario: &str, student: &str) -> Result<Vec<Past>, Failure> {
    let entries = History::of(folder)?.entries;
    let theirs = entries.into_iter().filter(|entry| entry.scenario == scenario && entry.student == student);
    let past =
        |Entry { day, total, passed, marks, .. }| Past { day, total, passed, marks: marks.into_iter().collect() };
    Ok(theirs.map(past).collect())
}

impl History {
    fn of(folder: &Path) -> Result<History, Failure> {
        if !folder.is_dir() {
            return Err(failed(folder, &"no such folder: `--folder` names it"));
        }
        let recordings = recordings(folder)?;
        let findings = files(folder, "findings")?;
        let (mut entries, mut seen) = (Vec::new(), BTreeSet::new());
        for path in &findings {
            for (number, line) in store::read(path)? {
                let name = format!("{}:{number}", path.display());
                let marked = match line {
                    Ok(kept) => Graded::of(name.clone(), "verified", kept, None).marked,
                    Err(problem) => {
                        complain(&format!("{name}: {problem}; it is not shown"));
                        None
                    }
                };
                // The same recording may have been measured twice; it is one attempt all the same.
                if let Some(marked) = marked.filter(|marked| seen.insert(marked.kept.recording_hash.clone())) {
                    entries.push(entry(&marked, path, &recordings));
                }
            }
        }
        entries.sort_by(|a, b| (&a.student, a.written, &a.recording).cmp(&(&b.student, b.written, &b.recording)));
        Ok(History { recordings, entries, findings })
    }

    /// Writes the index; a folder that takes none still has its history.
    fn write_index(&self, folder: &Path) {
        let file = folder.join(INDEX);
        let written =
            json(&self.entries).and_then(|text| fs::write(&file, text).map_err(|error| failed(&file, &error)));
        if let Err(failure) = written {
            complain(&format!("the index is not written: {}", failure.message));
        }
    }

    fn progress(&self) -> String {
        let mut lines = Vec::new();
        for attempts in self.entries.chunk_by(|a, b| a.student == b.student) {
            let student = if attempts[0].student.is_empty() { "no student named" } else { &attempts[0].student };
            lines.push(format!("{student}: {} graded", attempts.len()));
            for (number, attempt) in (1..).zip(attempts) {
                let Entry { day, scenario, total, passed, .. } = attempt;
                let passed = if *passed { "passed" } else { "not passed" };
                lines.push(format!("  {number:>3}  {day:<10}  {total:>5.1}  {passed:<10}  {scenario}"));
            }
            let ids: BTreeSet<&String> = attempts.iter().flat_map(|attempt| attempt.marks.keys()).collect();
            for id in ids {
                let marks: Vec<String> = attempts
                    .iter()
                    .map(|attempt| attempt.marks.get(id).map_or("   -".to_owned(), |mark| format!("{mark:.2}")))
                    .collect();
                lines.push(format!("       {id:<16} {}", marks.join("  ")));
            }
        }
        let graded: BTreeSet<&str> = self.entries.iter().map(|entry| entry.recording.as_str()).collect();
        let waiting = self.recordings.iter().filter(|one| !graded.contains(one.hash.as_str())).count();
        lines.push(format!("{} attempts graded, {waiting} recordings not graded", self.entries.len()));
        lines.join("\n") + "\n"
    }

    /// Whether anything is kept of a student.
    fn knows(&self, key: &str) -> Result<(), Failure> {
        let known = self.recordings.iter().any(|one| one.student == key)
            || self.entries.iter().any(|entry| entry.student == key)
            || self.findings.iter().any(|path| lines_of(path, key).is_ok_and(|(theirs, _)| !theirs.is_empty()));
        let why = format!("nothing is kept of student {key:?}");
        if known { Ok(()) } else { Err(Failure::new(Status::Usage, why)) }
    }

    fn export(&self, key: &str, output: &Path) -> Result<(), Failure> {
        self.knows(key)?;
        fs::create_dir(output).map_err(|error| failed(output, &error))?;
        let mut told = Vec::new();
        for (number, recording) in (1..).zip(self.recordings.iter().filter(|one| one.student == key)) {
            // Two folders may have a file of one name.
            let file = output.join(format!("{number:03}-{}.attempt", short(&recording.hash)));
            fs::copy(&recording.file, &file).map_err(|error| failed(&file, &error))?;
            told.push(format!("{} as {}", recording.file.display(), file.display()));
        }
        let mut lines = Vec::new();
        for path in &self.findings {
            lines.extend(lines_of(path, key)?.0);
        }
        let file = output.join("kept.findings");
        fs::write(&file, lines.concat()).map_err(|error| failed(&file, &error))?;
        told.push(format!("{} lines of findings as {}", lines.len(), file.display()));
        let theirs: Vec<&Entry> = self.entries.iter().filter(|entry| entry.student == key).collect();
        let file = output.join("progress.json");
        fs::write(&file, json(&theirs)?).map_err(|error| failed(&file, &error))?;
        told.push(format!("{} graded attempts as {}", theirs.len(), file.display()));
        say(&(told.join("\n") + "\n"))
    }

    fn forget(&self, key: &str, folder: &Path) -> Result<(), Failure> {
        self.knows(key)?;
        let mut told = Vec::new();
        let mut remove = |path: &Path| {
            told.push(format!("deleted {}", path.display()));
            fs::remove_file(path).map_err(|error| failed(path, &error))
        };
        let theirs = self.recordings.iter().filter(|one| one.student == key);
        let mut hashes: BTreeSet<String> = theirs.clone().map(|one| one.hash.clone()).collect();
        hashes.extend(self.entries.iter().filter(|one| one.student == key).map(|one| one.recording.clone()));
        theirs.into_iter().try_for_each(|recording| remove(&recording.file))?;
        for page in files(folder, "html")? {
            let name = page.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            if hashes.iter().any(|hash| name == format!("attempt-{}.html", short(hash))) {
                remove(&page)?;
            }
        }
        let mut shortened = Vec::new();
        for path in &self.findings {
            let (gone, rest) = lines_of(path, key)?;
            if gone.is_empty() {
                continue;
            }
            if rest.is_empty() {
                remove(path)?;
                continue;
            }
            // A crash leaves the old file or the new one, never half of either.
            let new = path.with_extension("findings.new");
            fs::write(&new, rest.concat()).map_err(|error| failed(&new, &error))?;
            fs::rename(&new, path).map_err(|error| failed(path, &error))?;
            shortened.push(format!("deleted {} lines of {}", gone.len(), path.display()));
        }
        told.extend(shortened);
        told.push("pages and tables of a whole class, and what was exported, are not touched".to_owned());
        say(&(told.join("\n") + "\n"))
    }
}

fn entry(marked: &Marked, path: &Path, recordings: &[Recorded]) -> Entry {
    let Marked { case, kept, score, .. } = marked;
    let recorded = recordings.iter().find(|one| one.hash == kept.recording_hash);
    Entry {
        student: kept.student_key.clone(),
        day: recorded.map(|one| day(one.written.as_secs())).unwrap_or_default(),
        scenario: case.scenario.title.clone(),
        total: score.total,
        passed: score.passed,
        marks: score.criteria.iter().map(|one| (one.id.clone(), one.mark)).collect(),
        recording: kept.recording_hash.clone(),
        findings: path.display().to_string(),
        written: recorded.map_or(Duration::ZERO, |one| one.written),
    }
}

fn recordings(folder: &Path) -> Result<Vec<Recorded>, Failure> {
    let mut recordings = Vec::new();
    for file in files(folder, "attempt")? {
        let bytes = fs::read(&file).map_err(|error| failed(&file, &error))?;
        let written = fs::metadata(&file).and_then(|data| data.modified()).map_err(|error| failed(&file, &error))?;
        match read::<Event>(&bytes) {
            Ok((recording, _)) => recordings.push(Recorded {
                student: recording.header.student_key,
                hash: blake3::hash(&bytes).to_hex().to_string(),
                written: written.duration_since(UNIX_EPOCH).unwrap_or_default(),
                file,
            }),
            Err(error) => complain(&format!("{}: {error}; nobody can say whose it is", file.display())),
        }
    }
    Ok(recordings)
}

/// The lines of a file of findings that are of a student, and the others. A line that cannot be read is theirs if it
/// holds their key as such lines are written.
fn lines_of(path: &Path, key: &str) -> Result<(Vec<String>, Vec<String>), Failure> {
    let text = String::from_utf8_lossy(&fs::read(path).map_err(|error| failed(path, &error))?).into_owned();
    let quoted = ron::to_string(key).map_err(|error| failed(path, &error))?;
    let written = format!("student_key:{quoted}");
    let read = store::read(path)?;
    let (mut theirs, mut others) = (Vec::new(), Vec::new());
    for (number, line) in (1..).zip(text.split_inclusive('\n')) {
        let found = read.iter().find(|(place, _)| *place == number).map(|(_, line)| line);
        let is_theirs = match found {
            Some(Ok(kept)) => kept.student_key == key,
            Some(Err(LineProblem::Altered | LineProblem::OtherVersion { .. } | LineProblem::Unreadable(_))) | None => {
                line.contains(&written)
            }
        };
        if is_theirs { &mut theirs } else { &mut others }.push(line.to_owned());
    }
    Ok((theirs, others))
}

/// Day of the calendar of seconds since 1970, UTC.
///
/// Source: days to year, month and day in eras of 400 years from 1 March: Hinnant, chrono-compatible low-level date
/// algorithms, `civil_from_days` (from memory).
fn day(seconds: u64) -> String {
    let days = seconds / 86_400 + 719_468;
    let (era, of_era) = (days / 146_097, days % 146_097);
    let year = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year + year / 4 - year / 100);
    let month = (5 * of_year + 2) / 153;
    let day = of_year - (153 * month + 2) / 5 + 1;
    let (month, next) = if month < 10 { (month + 3, 0) } else { (month - 9, 1) };
    format!("{:04}-{month:02}-{day:02}", year + era * 400 + next)
}

fn failed(path: &Path, why: &dyn std::fmt::Display) -> Failure {
    Failure::new(Status::Usage, format!("{}: {why}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::day;

    #[test]
    fn days_are_those_of_the_calendar() {
        // 10^9 s: 2001-09-09 01:46:40 UTC, widely told; the others by counting days by hand.
        let cases = [
            (0, "1970-01-01"),
            (86_399, "1970-01-01"),
            (1_000_000_000, "2001-09-09"),
            (951_782_400, "2000-02-29"),
            (951_868_800, "2000-03-01"),
            (1_735_603_200, "2024-12-31"),
        ];
        for (seconds, expected) in cases {
            assert_eq!(day(seconds), expected, "{seconds}");
        }
    }
}
