//! An attempt as the window sees it: the script plays until live hands take over.

use super::demonstrated::demonstrated;
use super::form;
use super::resumed::Resumed;
use super::watch::Watch;
use crate::app::words::Text;
use crate::app::{FileNews, FormSource, Measured, Newer, Scene, Stage, ToPull};
use crate::cli::check::Checked;
use crate::cli::files::FIRST_SCENARIO;
use crate::cli::keep::{BrokenOff, Folder, Kept};
use crate::cli::session::{Hands, Session};
use crate::cli::{Case, Failure};
use crate::input::script::Script;
use crate::input::{HandCommand, HandEvent, TickCommand};
use crate::performer::{Performer, Unsteadiness};
use crate::pull::TiedStitch;
use crate::score::Score;
use crate::simulation::snapshot::{OWN_HANDS, Snapshot};
use crate::simulation::{LEFT, RIGHT, World};
use std::fmt::Display;
use std::panic::resume_unwind;
use std::path::Path;
use std::sync::mpsc::Receiver;
use std::thread::{JoinHandle, spawn};

/// An attempt at a case, and a script that plays it when no hands do.
pub(crate) struct Desk {
    case: Case,
    /// Where attempts are kept, if they can be.
    folder: Option<Folder>,
    /// The file of this one.
    kept: Option<Kept>,
    /// Whether live hands took part in it.
    own: bool,
    /// An attempt that was broken off, until it is gone on with or left.
    offer: Option<BrokenOff>,
    /// The same while it is carried out again, so that it can be gone on with.
    resumed: Option<Resumed>,
    /// The attempt while it is under way.
    session: Option<Box<Session>>,
    /// Marking pulls the knots, which takes seconds: the window goes on meanwhile.
    marking: Option<JoinHandle<Marked>>,
    marked: Option<Marked>,
    /// What the script says.
    demonstration: Script,
    /// The script on its way; `None` where only live hands go on.
    script: Option<Hands>,
    last: TickCommand,
    /// What is to be seen while no attempt is under way.
    still: Snapshot,
    refused: Option<Text>,
    /// The file that the case is from, where that is looked at.
    file: Option<File>,
    /// Whether the window has not been told yet of another case.
    other_scene: bool,
    /// Whether the field is shown mirrored.
    mirrored: bool,
}

/// The file of the case, as it has become.
struct File {
    watch: Watch,
    news: FileNews,
    /// Another case in order than the one on stage.
    newer: Option<(Case, Script)>,
}

/// What came of an attempt.
struct Marked {
    score: Score,
    measured: Measured,
    tied: Vec<TiedStitch>,
    /// What was not kept of it, if anything.
    trouble: Option<Text>,
}

impl Desk {
    /// An attempt, kept in a folder if there is one, else `folder` says why not; `offer` is one that was broken off at the same case.
    pub(crate) fn new(
        case: Case,
        script: Script,
        folder: Result<Folder, String>,
        offer: Option<BrokenOff>,
    ) -> Result<Desk, Failure> {
        let (session, kept, trouble) = begin(&case, folder.as_ref().ok())?;
        let trouble = trouble.or_else(|| folder.as_ref().err().map(|why| Text::why("stage-attempts-not-kept", why)));
        let world = session.world();
        let last = resting(world);
        let performer = Performer::new(script.clone(), world, Unsteadiness::default());
        Ok(Desk {
            case,
            folder: folder.ok(),
            kept,
            own: false,
            offer,
            resumed: None,
            still: session.snapshot(),
            session: Some(Box::new(session)),
            marking: None,
            marked: None,
            demonstration: script,
            script: Some(Hands::Scripted(Box::new(performer))),
            last,
            refused: trouble,
            file: None,
            other_scene: false,
            mirrored: false,
        })
    }

    /// The same, with what becomes of the file that its case is from.
    pub(crate) fn watching(mut self, watch: Watch) -> Desk {
        let news = FileNews { name: watch.name(), ..FileNews::default() };
        self.file = Some(File { watch, news, newer: None });
        self
    }

    /// Looks whether the file has changed.
    fn look_at_file(&mut self) {
        let Some(file) = &mut self.file else { return };
        let Some(read) = file.watch.look() else { return };
        (file.newer, file.news.problems, file.news.warnings) = (None, String::new(), String::new());
        match read {
            Ok(Checked { case, demonstration: Some(script), warnings, .. }) => {
                file.news.warnings = warnings.join("\n");
                let other = case.text != self.case.text || script != self.demonstration;
                file.newer = other.then_some((case, script));
            }
            // Without a demonstration there is nothing to play.
            Ok(Checked { warnings, .. }) => file.news.problems = warnings.join("\n"),
            Err(problems) => file.news.problems = problems,
        }
    }

    /// Whether the stage can be given to another attempt without an attempt of someone's own hands being given up for it.
    fn is_free(&self) -> bool {
        !self.own && self.offer.is_none() && self.resumed.is_none() && self.marking.is_none()
    }

    /// One tick of an attempt under way; whether it has been handed in.
    fn advance(&mut self, live: Option<&TickCommand>) -> bool {
        let Some(session) = &mut self.session else { return false };
        let done = match (live, &mut self.script) {
            (Some(command), _) => {
                self.own = true;
                session.tick(command, OWN_HANDS).map(|()| Some(command.clone()))
            }
            (None, Some(script)) => session.advance(script),
            (None, None) => return false,
        };
        if let Some(refusal) = session.refused().last() {
            self.refused = Some((*refusal).into());
        }
        match done {
            Ok(Some(command)) => self.last = command,
            // A state that is not a number, or a disk that is full: it is marked as far as it goes, and says so.
            Err(failure) => {
                self.refused = Some(failure.message.into());
                self.last.events = vec![HandEvent::Finish];
            }
            Ok(None) => self.last.events = vec![HandEvent::Finish],
        }
        self.last.events.contains(&HandEvent::Finish)
    }

    /// Hands the attempt over to be marked.
    fn hand_in(&mut self, mut session: Session) {
        self.still = session.snapshot();
        let (case, folder) = (self.case.clone(), self.folder.clone());
        let (kept, own) = (self.kept.take(), self.own);
        self.marking = Some(spawn(move || {
            let not_kept = |why: &dyn Display| Text::why("stage-attempt-not-kept", why);
            let closed = session.close_recording().map_err(|failure| Text::from(failure.message));
            let ended = closed.and_then(|()| kept.map_or(Ok(None), |kept| kept.end(own)).map_err(|why| not_kept(&why)));
            let tied = session.tied_stitches();
            let outcome = session.close(&case).expect("its recording is closed already");
            let (score, findings, view) = (outcome.score.clone(), outcome.findings.clone(), outcome.view.clone());
            let past = ended.and_then(|recording| {
                let (Some(recording), Some(folder)) = (recording, folder) else { return Ok(Vec::new()) };
                let kept = Folder::keep_measured(&recording, &case, outcome);
                kept.and_then(|()| folder.past(&case)).map_err(|failure| not_kept(&failure.message))
            });
            let trouble = past.as_ref().err().cloned();
            let measured = Measured::of(findings, view, case.order, past.unwrap_or_default());
            Marked { score, measured, tied, trouble }
        }));
    }

    /// Takes over an attempt that was broken off, once it has been carried out again.
    fn go_on(&mut self, resumed: Resumed) {
        let end = resumed.wait();
        self.refused = end.trouble;
        if let Some((session, kept, last)) = end.attempt {
            // Nothing stays of the one that was begun beside it.
            self.drop_session();
            self.last = TickCommand { events: Vec::new(), ..last };
            (self.session, self.kept, self.own, self.script) = (Some(session), kept, true, None);
        }
    }

    /// The case.
    #[cfg(test)]
    pub(super) fn scenario(&self) -> &crate::scenario::Scenario {
        &self.case.scenario
    }

    /// The world while an attempt is under way.
    #[cfg(test)]
    pub(super) fn world(&self) -> Option<&World> {
        self.session.as_ref().map(|session| session.world())
    }

    fn drop_session(&mut self) {
        self.session = None;
        if let Some(Err(error)) = self.kept.take().map(|kept| kept.end(self.own)) {
            self.refused = Some(Text::why("stage-attempt-not-kept", error));
        }
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        // A window that is shut leaves what someone's hands did to be gone on with; a script's own playing goes.
        if !self.own {
            self.drop_session();
        }
    }
}

/// A new attempt, and its file if it can be kept; else why it is not.
pub(super) fn begin(case: &Case, folder: Option<&Folder>) -> Result<(Session, Option<Kept>, Option<Text>), Failure> {
    let not_kept = |error: &dyn std::fmt::Display| Some(Text::why("stage-this-not-kept", error));
    let Some(folder) = folder else { return Ok((Session::begin(case, None)?, None, None)) };
    match folder.begin() {
        Ok((kept, sink)) => match Session::begin(case, Some((sink, folder.header(case)))) {
            Ok(session) => Ok((session, Some(kept), None)),
            Err(failure) => Ok((Session::begin(case, None)?, None, not_kept(&failure.message))),
        },
        Err(error) => Ok((Session::begin(case, None)?, None, not_kept(&error))),
    }
}

/// Hands that stay where they are.
fn resting(world: &World) -> TickCommand {
    let hold = |hand: usize| {
        let instrument = &world.instruments[hand];
        HandCommand::new(world.pose(hand), instrument.gap / instrument.kind.design().gap_max)
    };
    TickCommand { right: hold(RIGHT), left: hold(LEFT), events: Vec::new() }
}

impl Stage for Desk {
    fn tick(&mut self, live: Option<&TickCommand>) {
        if let Some(marking) = self.marking.take_if(|marking| marking.is_finished()) {
            let mut marked = marking.join().unwrap_or_else(|panic| resume_unwind(panic));
            self.refused = marked.trouble.take().or(self.refused.take());
            self.marked = Some(marked);
        }
        if let Some(resumed) = self.resumed.take_if(|resumed| resumed.is_finished()) {
            self.go_on(resumed);
        }
        if self.advance(live)
            && let Some(session) = self.session.take()
        {
            self.hand_in(*session);
        }
    }

    fn snapshot(&self) -> Snapshot {
        self.session.as_ref().map_or_else(|| self.still.clone(), |session| session.snapshot())
    }

    fn current_command(&self) -> TickCommand {
        TickCommand { events: Vec::new(), ..self.last.clone() }
    }

    fn finished(&self) -> Option<Score> {
        self.marked.as_ref().map(|marked| marked.score.clone())
    }

    fn measured(&mut self) -> Option<Measured> {
        self.marked.as_ref().map(|marked| marked.measured.clone())
    }

    fn busy(&self) -> Option<Text> {
        if let Some(resumed) = &self.resumed {
            return Some(Text::Key("stage-resuming", vec![("percent", resumed.percent().to_string())]));
        }
        self.marking.as_ref().map(|_| Text::of("stage-marking"))
    }

    fn refused(&mut self) -> Option<Text> {
        self.refused.take()
    }

    fn to_pull(&mut self) -> Vec<ToPull> {
        let tied = self.marked.iter().flat_map(|marked| &marked.tied);
        tied.cloned().map(Box::new).map(ToPull::Stitch).collect()
    }

    fn file(&self) -> FileNews {
        let Some(file) = &self.file else { return FileNews::default() };
        let newer = match file.newer {
            None => Newer::None,
            Some(_) if self.is_free() => Newer::Ready,
            Some(_) => Newer::Waits,
        };
        FileNews { newer, ..file.news.clone() }
    }

    fn form_source(&mut self) -> Option<FormSource> {
        form::source(&self.file.as_ref()?.watch, &self.case)
    }

    fn write_form(&mut self, file: &str, text: &str, before: Option<&str>) -> Result<(), String> {
        form::write(file, text, before)?;
        if let Some(followed) = &mut self.file {
            followed.watch = Watch::anew(file.into());
            followed.news.name = followed.watch.name();
        }
        Ok(())
    }

    fn keep_unsaved(&mut self, file: &str, changes: Option<&str>) -> Result<(), String> {
        form::keep_unsaved(file, changes)
    }

    fn take_newer(&mut self) -> bool {
        self.file().newer == Newer::Ready && self.begin_anew()
    }

    fn new_scene(&mut self) -> Option<Scene> {
        let other = std::mem::take(&mut self.other_scene);
        other.then(|| Scene::Mouth(Box::new(self.case.scenario.clone())))
    }

    fn frames(&mut self) -> Vec<Snapshot> {
        self.look_at_file();
        let mut frames = self.resumed.as_ref().map(Resumed::frames).unwrap_or_default();
        if let Some(last) = frames.last() {
            self.still = last.clone();
        } else {
            frames.push(self.snapshot());
        }
        frames
    }

    fn offer(&self) -> Option<Text> {
        let offer = self.offer.as_ref()?;
        Some(Text::Key("stage-broken-off", vec![("seconds", format!("{:.0}", offer.seconds()))]))
    }

    fn answer(&mut self, taken: bool) {
        let Some(offer) = self.offer.take() else { return };
        if taken {
            // The one that was begun waits for nothing more.
            self.drop_session();
            self.script = None;
            self.resumed = Some(Resumed::of(offer, self.case.clone(), self.folder.clone()));
        } else if let Some(folder) = &self.folder
            && let Err(error) = offer.set_aside(folder)
        {
            self.refused = Some(Text::why("stage-not-set-aside", error));
        }
    }

    fn mirror(&mut self) {
        self.mirrored = true;
        self.session.iter_mut().for_each(|session| session.mirror());
    }

    fn begin_anew(&mut self) -> bool {
        if self.resumed.is_some() || self.marking.is_some() {
            return false;
        }
        self.drop_session();
        let folder = self.folder.clone().ok_or_else(String::new);
        let newer = self.file.as_mut().and_then(|file| file.newer.take());
        let taken = newer.is_some();
        let (case, script) = newer.unwrap_or_else(|| (self.case.clone(), self.demonstration.clone()));
        match Desk::new(case, script, folder, None) {
            Ok(mut anew) => {
                // That attempts are not kept was said when the window opened.
                anew.refused.take_if(|_| self.folder.is_none());
                anew.file = self.file.take();
                anew.other_scene = taken || self.other_scene;
                if self.mirrored {
                    anew.mirror();
                }
                if let Some(file) = &mut anew.file {
                    file.news.taken += u32::from(taken);
                }
                *self = anew;
                true
            }
            Err(failure) => {
                self.refused = Some(failure.message.into());
                false
            }
        }
    }

    fn demonstration(&mut self) -> Option<Receiver<Snapshot>> {
        let place = self.file.as_ref().map_or(Path::new(FIRST_SCENARIO), |file| file.watch.file());
        demonstrated(&self.case, place, self.mirrored)
    }

    fn tutorial_due(&self) -> bool {
        self.offer.is_none() && self.folder.as_ref().is_some_and(|folder| !folder.knows_hands())
    }

    fn tutorial_over(&mut self) {
        if let Some(Err(error)) = self.folder.as_ref().map(Folder::remember_hands) {
            self.refused = Some(Text::why("stage-tutorial-again", error));
        }
    }

    fn remember_language(&mut self, code: &str) {
        if let Some(Err(error)) = self.folder.as_ref().map(|folder| folder.remember_language(code)) {
            self.refused = Some(Text::why("stage-language", error));
        }
    }

    fn waits_for_hands(&self) -> bool {
        self.session.is_some() && self.script.is_none()
    }
}
