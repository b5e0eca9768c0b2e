//! An attempt as the window sees it: the script plays until live hands take over.

use super::session::{Hands, Session};
use super::{Case, Failure};
use crate::app::Stage;
use crate::input::script::Script;
use crate::input::{HandCommand, HandEvent, TickCommand};
use crate::performer::{Performer, Unsteadiness};
use crate::score::Score;
use crate::simulation::snapshot::Snapshot;
use crate::simulation::{LEFT, RIGHT};

/// An attempt at a case, and a script that plays it when no hands do.
pub(super) struct Desk {
    case: Case,
    session: Session,
    hands: Hands,
    last: TickCommand,
    score: Option<Score>,
}

impl Desk {
    pub(super) fn new(case: Case, script: Script) -> Result<Desk, Failure> {
        let session = Session::begin(&case, None)?;
        let world = session.world();
        let hold = |hand: usize| {
            let instrument = &world.instruments[hand];
            HandCommand::new(world.pose(hand), instrument.gap / instrument.kind.design().gap_max)
        };
        let last = TickCommand { right: hold(RIGHT), left: hold(LEFT), events: Vec::new() };
        let hands = Hands::Scripted(Box::new(Performer::new(script, world, Unsteadiness::default())));
        Ok(Desk { case, session, hands, last, score: None })
    }
}

impl Stage for Desk {
    fn tick(&mut self, live: Option<&TickCommand>) {
        if self.score.is_some() {
            return;
        }
        let done = match live {
            Some(command) => self.session.tick(command, "").map(|()| Some(command.clone())),
            None => self.session.advance(&mut self.hands),
        };
        match done {
            Ok(Some(command)) => self.last = command,
            // A state that is not a number is marked as far as it goes: its findings say that it is invalid.
            Ok(None) | Err(_) => self.last.events = vec![HandEvent::Finish],
        }
        if self.last.events.contains(&HandEvent::Finish) {
            self.score = Some(self.session.marked(&self.case).1);
        }
    }

    fn snapshot(&self) -> Snapshot {
        self.session.snapshot()
    }

    fn current_command(&self) -> TickCommand {
        TickCommand { events: Vec::new(), ..self.last.clone() }
    }

    fn finished(&self) -> Option<Score> {
        self.score.clone()
    }
}
