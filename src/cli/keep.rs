//! The folder in which attempts made in the window are kept, each on disk as it happens.
//!
//! An attempt under way is `unfinished-N.attempt`, and its file is locked: the lock ends with the program, however that
//! ends. What is found unfinished and unlocked was broken off.

use super::marked::{VERSIONS, kept};
use super::session::{Event, Outcome, SIMULATION_VERSION, Sink};
use super::{Case, Failure, Status, history};
use crate::record::{Header, Recording, read, refusal};
use crate::score::Past;
use crate::simulation::snapshot::OWN_HANDS;
use std::fmt::Display;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

/// What a recording of the window says its hands held.
const DEVICE: &str = if cfg!(feature = "gamepad") { "mouse and keyboard, or gamepad" } else { "mouse and keyboard" };
/// Attempts that can be under way at once: more windows than anyone opens.
const WINDOWS_MAX: u32 = 1000;
const UNFINISHED: &str = "unfinished-";
const ENDING: &str = ".attempt";
/// The file that says what gives which act.
const KEYS: &str = "keys.ron";
/// The file that says which language the window speaks.
const LANGUAGE: &str = "language.txt";
/// The file that says that the tutorial is over.
const TUTORIAL: &str = "tutorial-is-over.txt";

/// A folder of attempts.
#[derive(Debug, Clone)]
pub(super) struct Folder {
    place: PathBuf,
    /// Whether a port for tracked hands was asked for.
    tracked_hands: bool,
}

/// An attempt that is being kept.
#[derive(Debug)]
pub(super) struct Kept {
    path: PathBuf,
    folder: Folder,
    /// Held as long as the attempt is under way.
    lock: File,
}

/// An attempt that was broken off.
#[derive(Debug)]
pub(super) struct BrokenOff {
    /// Its file.
    pub path: PathBuf,
    /// What it holds.
    pub recording: Recording<Event>,
    /// What it was an attempt at.
    pub case: Case,
    lock: File,
}

impl Folder {
    /// The folder named, or the user's own for this program; it is made if it is not there.
    ///
    /// # Errors
    /// If there is none, or it cannot be made or written to.
    pub(super) fn of(named: Option<&Path>, variable: impl Fn(&str) -> Option<String>) -> Result<Folder, String> {
        let place = match named {
            Some(named) => named.to_owned(),
            None => users(variable).ok_or("no folder for a user's data is known here: name one with --data-dir DIR")?,
        };
        fs::create_dir_all(&place).map_err(|error| format!("{}: {error}", place.display()))?;
        Ok(Folder { place, tracked_hands: false })
    }

    /// Has recordings say that hands may have been tracked, if a port for that was asked for.
    #[cfg(feature = "tracked-hands")]
    pub(super) fn with_tracked_hands(self, tracked_hands: bool) -> Folder {
        Folder { tracked_hands, ..self }
    }

    /// The header of an attempt made in the window.
    pub(super) fn header(&self, case: &Case) -> Header {
        let device = if self.tracked_hands { format!("{DEVICE}, or tracked hands") } else { DEVICE.to_owned() };
        Header { aids: case.scenario.aids.names(), ..case.header(&device) }
    }

    /// Keeps what was measured of a recording of the folder beside it.
    ///
    /// # Errors
    /// If the recording cannot be read, or the file cannot be written.
    pub(super) fn keep_measured(recording: &Path, case: &Case, outcome: Outcome) -> Result<(), Failure> {
        let failed = |why: &dyn Display| Failure::new(Status::Internal, format!("{}: {why}", recording.display()));
        let bytes = fs::read(recording).map_err(|error| failed(&error))?;
        let (read, integrity) = read::<Event>(&bytes).map_err(|error| failed(&error))?;
        let hash = blake3::hash(&bytes).to_hex().to_string();
        let kept = kept(hash, read.header.student_key, &integrity, case, outcome);
        fs::write(recording.with_extension("findings"), kept.line(VERSIONS)).map_err(|error| failed(&error))
    }

    /// What all attempts at a case that nobody is named for were worth, in order.
    ///
    /// # Errors
    /// If the folder cannot be read.
    pub(super) fn past(&self, case: &Case) -> Result<Vec<Past>, Failure> {
        history::past(&self.place, &case.scenario.title, "")
    }

    /// Begins to keep an attempt; gives where its recording goes.
    ///
    /// # Errors
    /// If no file can be made there.
    pub(super) fn begin(&self) -> io::Result<(Kept, Sink)> {
        for number in 1..=WINDOWS_MAX {
            let path = self.place.join(format!("{UNFINISHED}{number}{ENDING}"));
            match File::options().read(true).write(true).create_new(true).open(&path) {
                Ok(lock) => {
                    lock.lock()?;
                    let sink: Sink = Box::new(lock.try_clone()?);
                    return Ok((Kept { path, folder: self.clone(), lock }, sink));
                }
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error),
            }
        }
        Err(io::Error::other(format!("{WINDOWS_MAX} attempts are unfinished in {}", self.place.display())))
    }

    /// The last attempt with hands of someone's own in it that was broken off and can be gone on with here. Those that
    /// hold nothing of anyone are removed.
    pub(super) fn broken_off(&self) -> Option<BrokenOff> {
        let mut found = Vec::new();
        for entry in fs::read_dir(&self.place).ok()?.flatten() {
            let (path, name) = (entry.path(), entry.file_name().to_string_lossy().into_owned());
            if !name.starts_with(UNFINISHED) || !name.ends_with(ENDING) {
                continue;
            }
            let changed = entry.metadata().and_then(|data| data.modified()).unwrap_or(UNIX_EPOCH);
            let Ok(lock) = File::open(&path) else { continue };
            // Another window is still at it.
            if lock.try_lock().is_err() {
                continue;
            }
            match looked_at(path.clone(), lock) {
                Some(Some(attempt)) => found.push((changed, attempt)),
                Some(None) => drop(fs::remove_file(path)),
                None => {}
            }
        }
        found.into_iter().max_by_key(|(changed, _)| *changed).map(|(_, attempt)| attempt)
    }

    /// The file that says what gives which act, if there is one.
    pub(super) fn keys(&self) -> Option<PathBuf> {
        Some(self.place.join(KEYS)).filter(|path| path.exists())
    }

    /// The code of the language that was chosen here last, if there was one.
    pub(super) fn language(&self) -> Option<String> {
        fs::read_to_string(self.place.join(LANGUAGE)).ok().map(|code| code.trim().to_owned())
    }

    /// Remembers the code of a language.
    pub(super) fn remember_language(&self, code: &str) -> io::Result<()> {
        fs::write(self.place.join(LANGUAGE), format!("{code}\n"))
    }

    /// Whether the tutorial has been done or skipped here.
    pub(super) fn knows_hands(&self) -> bool {
        self.place.join(TUTORIAL).exists()
    }

    /// Remembers that the tutorial has been done or skipped.
    pub(super) fn remember_hands(&self) -> io::Result<()> {
        fs::write(self.place.join(TUTORIAL), "The tutorial was done or skipped. Without this file it comes again.\n")
    }

    /// A name for an attempt that is over: by the clock, so that a folder's order is that of its attempts.
    #[expect(clippy::disallowed_methods, reason = "only a file's name is told by it, never what was done")]
    fn name(&self) -> PathBuf {
        let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |time| time.as_secs());
        let free = |path: &PathBuf| !path.exists();
        let named = |extra: u32| {
            let extra = if extra == 0 { String::new() } else { format!("-{extra}") };
            self.place.join(format!("attempt-{seconds}{extra}{ENDING}"))
        };
        (0..).map(named).find(free).expect("a folder has fewer than 2^32 files")
    }
}

/// What an unlocked recording is worth: to be offered, holding nothing of anyone, or (`None`) to be left alone.
fn looked_at(path: PathBuf, lock: File) -> Option<Option<BrokenOff>> {
    let mut bytes = Vec::new();
    // By the handle that has the lock: some systems let no other one read.
    (&lock).read_to_end(&mut bytes).ok()?;
    let Ok((recording, integrity)) = read::<Event>(&bytes) else {
        // Torn before its header was whole; anything else is not ours to judge.
        return bytes.len().lt(&8).then_some(None);
    };
    if !has_hands(&recording) {
        return Some(None);
    }
    let case = Case::read("the attempt's scenario", &recording.header.scenario_text).ok()?;
    if refusal(&recording.header, &integrity, &case.text, SIMULATION_VERSION).is_some() {
        return None;
    }
    Some(Some(BrokenOff { path, recording, case, lock }))
}

/// Whether someone's own hands took part.
fn has_hands(recording: &Recording<Event>) -> bool {
    recording.ticks.iter().flat_map(|tick| &tick.events).any(|Event::Phase(words)| words == OWN_HANDS)
}

impl Kept {
    /// The attempt is over: it gets a name of its own, which is given, if someone's hands took part, else it goes.
    pub(super) fn end(self, hands: bool) -> io::Result<Option<PathBuf>> {
        drop(self.lock);
        if !hands {
            return fs::remove_file(&self.path).map(|()| None);
        }
        let name = self.folder.name();
        fs::rename(&self.path, &name).map(|()| Some(name))
    }
}

impl BrokenOff {
    /// Sets it aside under a name of its own, whatever there is of it.
    pub(super) fn set_aside(self, folder: &Folder) -> io::Result<()> {
        drop(self.lock);
        fs::rename(&self.path, folder.name())
    }

    /// Removes it: it lives on in another one.
    pub(super) fn remove(self) -> io::Result<()> {
        drop(self.lock);
        fs::remove_file(&self.path)
    }

    /// Its length [s].
    pub(super) fn seconds(&self) -> f64 {
        self.recording.ticks.len() as f64 / f64::from(crate::quantity::TICKS_PER_SECOND)
    }
}

/// The user's folder for this program's data, as each system has it.
fn users(variable: impl Fn(&str) -> Option<String>) -> Option<PathBuf> {
    let set = |name: &str| variable(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    let base = set("XDG_DATA_HOME")
        .or_else(|| set("APPDATA"))
        .or_else(|| set("HOME").map(|home| home.join(".local").join("share")))?;
    Some(base.join("knotwright"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::session::{Hands, Session};
    use crate::input::TickCommand;
    use crate::performer::{Performer, Unsteadiness};

    /// A new folder for a test of this name.
    fn folder(name: &str) -> Folder {
        let place = std::env::temp_dir().join(format!("knotwright-keep-{name}-{}", std::process::id()));
        drop(fs::remove_dir_all(&place));
        Folder::of(Some(&place), |_| None).expect("a folder for passing files can be made")
    }

    fn case() -> Case {
        let text = include_str!("../../scenarios/first_stitch.ron");
        Case::read("first_stitch.ron", text).expect("it is shipped")
    }

    /// An attempt of so many ticks, hands of someone's own in it if `own`; its file is left as it is then.
    fn attempt(folder: &Folder, ticks: u32, own: bool) -> (Kept, Vec<TickCommand>) {
        let (kept, sink) = folder.begin().expect("a file can be made");
        let case = case();
        let mut session = Session::begin(&case, Some((sink, folder.header(&case)))).expect("it can begin");
        let script = include_str!("../../scenarios/hands/first_stitch.hands");
        let script = crate::input::script::parse("first_stitch.hands", script).expect("it is shipped");
        let mut hands = Hands::Scripted(Box::new(Performer::new(script, session.world(), Unsteadiness::default())));
        let mut commands = Vec::new();
        for _ in 0..ticks {
            let command = hands.command(session.world()).expect("the script is longer");
            session.tick(&command, if own { OWN_HANDS } else { hands.phase() }).expect("it is sound");
            commands.push(command);
        }
        (kept, commands)
    }

    fn files(folder: &Folder) -> Vec<String> {
        let entries = fs::read_dir(&folder.place).expect("it is there").flatten();
        let mut names: Vec<String> = entries.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
        names.sort_unstable();
        names
    }

    #[test]
    fn an_attempt_that_was_broken_off_is_found_to_its_last_whole_second() {
        let folder = folder("broken");
        let (kept, commands) = attempt(&folder, 150, true);
        assert!(folder.broken_off().is_none(), "its window is still at it");
        drop(kept);
        let found = folder.broken_off().expect("it is on the disk");
        let read: Vec<TickCommand> = found.recording.ticks.iter().map(|tick| tick.command.clone()).collect();
        assert_eq!(read, commands[..120]);
        assert_eq!(found.case.text, case().text);
        found.set_aside(&folder).expect("it can be named");
        assert!(folder.broken_off().is_none());
        let [name] = &files(&folder)[..] else { panic!("{:?}", files(&folder)) };
        assert!(name.starts_with("attempt-") && name.ends_with(ENDING), "{name}");
    }

    #[test]
    fn what_only_a_script_did_is_not_offered_and_does_not_stay() {
        let folder = folder("script");
        drop(attempt(&folder, 130, false));
        fs::write(folder.place.join("unfinished-7.attempt"), b"").expect("it can be written");
        assert!(folder.broken_off().is_none());
        assert_eq!(files(&folder), [""; 0]);
        let (kept, _) = attempt(&folder, 10, false);
        kept.end(false).expect("it can be removed");
        assert_eq!(files(&folder), [""; 0]);
    }

    #[test]
    fn two_windows_keep_two_attempts_and_an_attempt_that_ended_gets_its_own_name() {
        let folder = folder("two");
        let [(first, _), (second, _)] = [(); 2].map(|()| attempt(&folder, 70, true));
        assert_eq!(files(&folder), ["unfinished-1.attempt", "unfinished-2.attempt"]);
        first.end(true).expect("it can be named");
        second.end(true).expect("it can be named");
        let names = files(&folder);
        assert!(names.len() == 2 && names.iter().all(|name| name.starts_with("attempt-")), "{names:?}");
    }

    #[test]
    fn what_is_damaged_or_strange_is_left_alone() {
        let folder = folder("strange");
        drop(attempt(&folder, 130, true));
        let path = folder.place.join("unfinished-1.attempt");
        let mut bytes = fs::read(&path).expect("it is there");
        let last = bytes.len() - 10;
        bytes[last] ^= 1;
        fs::write(&path, &bytes).expect("it can be written");
        fs::write(folder.place.join("unfinished-2.attempt"), b"not a recording").expect("it can be written");
        assert!(folder.broken_off().is_none());
        assert_eq!(files(&folder).len(), 2);
    }

    #[test]
    fn the_users_folder_is_where_each_system_has_it() {
        let of = |set: &[(&str, &str)]| {
            let set: Vec<(String, String)> =
                set.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect();
            users(|name| set.iter().find(|(known, _)| known == name).map(|(_, value)| value.clone()))
        };
        assert_eq!(of(&[("HOME", "h")]), Some(Path::new("h").join(".local").join("share").join("knotwright")));
        assert_eq!(of(&[("HOME", "h"), ("XDG_DATA_HOME", "d")]), Some(Path::new("d").join("knotwright")));
        assert_eq!(of(&[("XDG_DATA_HOME", "")]), None);
    }
}
