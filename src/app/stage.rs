//! What the window shows and steers: anything that can be ticked and looked at.

use std::sync::mpsc::Receiver;

use super::Scene;
use super::words::Text;
use crate::analysis::findings::Findings;
use crate::analysis::view::{SitePlan, View};
use crate::input::TickCommand;
use crate::math::DVec3;
use crate::pull::{Tabled, TiedStitch};
use crate::report::{Event, ReadStitch, events, pale_over_time, tension_over_time};
use crate::rod::Section;
use crate::score::{Past, Score, TaskOrder};
use crate::simulation::snapshot::Snapshot;

/// Ticks that one picture may catch up where it waits for them.
pub const CATCH_UP: u32 = 3;

/// An attempt as the window sees it. The window never reaches past this.
pub trait Stage: Send + Sync + 'static {
    /// One tick of the simulation. `None` lets the script play, `Some` is what live hands command.
    fn tick(&mut self, hands: Option<&TickCommand>);

    /// Looks at what has been done since this was last called.
    fn look(&mut self) {}

    /// How many ticks had been asked for and were not done when that was last looked at.
    fn waiting(&self) -> usize {
        0
    }

    /// Ticks that one picture may catch up. Beyond it simulated time falls behind the clock instead of taking ever longer.
    fn catch_up(&self) -> u32 {
        CATCH_UP
    }

    /// Waits until every tick that was asked for is done.
    fn settle(&mut self) {}

    /// What there is to see now.
    fn snapshot(&self) -> Snapshot;

    /// Where the hands are now, for taking over from the script.
    fn current_command(&self) -> TickCommand;

    /// The marks, once the attempt has been handed in.
    fn finished(&self) -> Option<Score>;

    /// What was measured, once there are marks.
    fn measured(&mut self) -> Option<Measured> {
        None
    }

    /// What is being worked out beside the window and has to be waited for.
    fn busy(&self) -> Option<Text> {
        None
    }

    /// What a hand asked for since this was last called and did not get, and why.
    fn refused(&mut self) -> Option<Text> {
        None
    }

    /// The knots that can be pulled open, once there are marks or a reading.
    fn to_pull(&mut self) -> Vec<ToPull> {
        Vec::new()
    }

    /// The recording that is gone through again, if it is one.
    fn recording(&self) -> Option<Replayed> {
        None
    }

    /// What was to be seen since this was last called, in order: of the ticks, or of what is carried out beside them.
    fn frames(&mut self) -> Vec<Snapshot> {
        vec![self.snapshot()]
    }

    /// Told before the first tick if the field is shown mirrored: so are all attempts that begin here, and their recordings say so.
    fn mirror(&mut self) {}

    /// Begins the same case anew, if that can be done; whether it was.
    fn begin_anew(&mut self) -> bool {
        false
    }

    /// What is known of the file that the case on stage is from.
    fn file(&self) -> FileNews {
        FileNews::default()
    }

    /// Puts the case on stage as its file has it by now, if [`Newer::Ready`] says that it can be; whether it was.
    fn take_newer(&mut self) -> bool {
        false
    }

    /// What is around the thread, if that is something else since this was last called.
    fn new_scene(&mut self) -> Option<Scene> {
        None
    }

    /// What the form of the case is made of, if there can be one.
    fn form_source(&mut self) -> Option<FormSource> {
        None
    }

    /// Writes a case into a file, and follows that from now on. Over a file that is there only if it is what it was `before`.
    ///
    /// # Errors
    /// In words, if it was not written.
    fn write_form(&mut self, file: &str, _text: &str, _before: Option<&str>) -> Result<(), String> {
        Err(format!("{file}: nothing can be written from here"))
    }

    /// Keeps what is changed about a case beside its file until it is saved; `None` once nothing is.
    ///
    /// # Errors
    /// In words, if it is not kept.
    fn keep_unsaved(&mut self, _file: &str, _changes: Option<&str>) -> Result<(), String> {
        Ok(())
    }

    /// What there is to choose before anything goes on, such as an attempt that was broken off.
    fn offer(&self) -> Option<Text> {
        None
    }

    /// The offer is taken, or declined.
    fn answer(&mut self, _taken: bool) {}

    /// Whether a tutorial is due: nobody has done or skipped it here.
    fn tutorial_due(&self) -> bool {
        false
    }

    /// The tutorial has been done or skipped, which is to be remembered.
    fn tutorial_over(&mut self) {}

    /// The language of this code has been chosen, which is to be remembered.
    fn remember_language(&mut self, _code: &str) {}

    /// The case's demonstration, carried out from its beginning in the background, frame by frame; `None` without one.
    fn demonstration(&mut self) -> Option<Receiver<Snapshot>> {
        None
    }

    /// Whether only live hands move anything on.
    fn waits_for_hands(&self) -> bool {
        false
    }

    /// A knot without a mouth around it: what was read of it.
    fn reading(&self) -> Option<&ReadStitch> {
        None
    }
}

/// What was measured of an attempt and is drawn in its debrief.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// What its marks rest on.
    pub findings: Findings,
    /// The site at its end.
    pub site: SitePlan,
    /// The stitches at its end, read once more.
    pub stitches: Vec<ReadStitch>,
    /// Tension of the loop [N] over time [s].
    pub tension: Vec<(f64, f64)>,
    /// Pale gum [mm2] over time [s].
    pub pale: Vec<(f64, f64)>,
    /// What happened, in order of time.
    pub events: Vec<Event>,
    /// What was asked for.
    pub order: TaskOrder,
    /// All of one's own attempts at the case, this one last; empty if they are not kept.
    pub past: Vec<Past>,
}

impl Measured {
    /// What was measured, worked out as far as that takes time: it is drawn in every picture.
    #[must_use]
    pub fn of(findings: Findings, view: View, order: TaskOrder, past: Vec<Past>) -> Measured {
        Measured {
            tension: tension_over_time(&findings, &view),
            pale: pale_over_time(&findings, &view),
            events: events(&findings),
            stitches: ReadStitch::numbered(view.stitches),
            site: view.site,
            findings,
            order,
            past,
        }
    }

    /// Middle of each knot that was read [mm].
    pub fn knots(&self) -> impl Iterator<Item = DVec3> {
        self.stitches.iter().filter_map(|stitch| stitch.reading.knot_centre)
    }
}

/// A case as a form is made of it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FormSource {
    /// The file that it was read from.
    pub file: String,
    /// The text that says all of it, extending nothing.
    pub text: String,
    /// What the file says before the case begins.
    pub comment: Vec<String>,
    /// Whether a form wrote the file, so that one may write over it.
    pub own: bool,
    /// The file as it is, which may extend others; empty while it is not in order.
    pub on_disk: String,
    /// What was changed and not saved when the form was there last, see [`Stage::keep_unsaved`].
    pub unsaved: Option<String>,
}

/// Whether a file has another case in order than the one on stage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Newer {
    /// It has not.
    #[default]
    None,
    /// It has, and nothing that someone's own hands made would be given up for it.
    Ready,
    /// It has, and waits until someone's own attempt is begun anew.
    Waits,
}

/// What is known of the file that a case is from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FileNews {
    /// What it is called.
    pub name: String,
    /// Everything that is wrong with it, as `scenario check` says it; empty if it is in order.
    pub problems: String,
    /// What its author should know although it is in order; empty if nothing.
    pub warnings: String,
    /// Whether it has another case than the one on stage.
    pub newer: Newer,
    /// How often another case has been taken from it.
    pub taken: u32,
}

/// A knot to be pulled open.
#[derive(Debug, Clone)]
pub enum ToPull {
    /// This one.
    Stitch(Box<TiedStitch>),
    /// One of a table.
    Table {
        /// As the table has it.
        knot: Box<Tabled>,
        /// Its thread.
        section: Box<Section>,
    },
    /// None, for this reason.
    Nothing {
        /// Radius of the thread as it is drawn [mm].
        radius: f64,
        /// Why not.
        why: Text,
    },
}

impl ToPull {
    /// Radius of the thread [mm].
    #[must_use]
    pub fn radius(&self) -> f64 {
        match self {
            ToPull::Stitch(stitch) => stitch.section.radius,
            ToPull::Table { section, .. } => section.radius,
            ToPull::Nothing { radius, .. } => *radius,
        }
    }
}

/// A recording as it is carried out again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Replayed {
    /// Its last tick.
    pub end: u32,
    /// What is to be thought of it so far.
    pub note: Text,
}
