//! What the window shows and steers: anything that can be ticked and looked at.

use crate::input::TickCommand;
use crate::score::Score;
use crate::simulation::snapshot::Snapshot;

/// An attempt as the window sees it. The window never reaches past this.
pub trait Stage: Send + Sync + 'static {
    /// One tick of the simulation. `None` lets the script play, `Some` is what live hands command.
    fn tick(&mut self, hands: Option<&TickCommand>);

    /// What there is to see now.
    fn snapshot(&self) -> Snapshot;

    /// Where the hands are now, for taking over from the script.
    fn current_command(&self) -> TickCommand;

    /// The marks, once the attempt has been handed in.
    fn finished(&self) -> Option<Score>;
}
