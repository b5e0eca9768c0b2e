//! `grade --sensitivity`: the recorded hands again, in threads drawn from the ranges that are published for the material.

use super::marked::Graded;
use super::runs::in_order;
use super::session::{Event, Hands, Session};
use super::{Case, Failure, Status, progress};
use crate::input::TickCommand;
use crate::pull::tying_thread;
use crate::record::read;
use crate::score::Sensitivity;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// How many threads, and which.
#[derive(Debug, Clone, Copy)]
pub(super) struct Asked {
    pub(super) samples: u32,
    pub(super) seed: u64,
    pub(super) jobs: usize,
}

/// Finds of every attempt that has marks how far they move. However many work at once, what comes out is the same: each
/// sample has its own thread by its number, and they are put together in their order.
///
/// # Errors
/// If there are more attempts and samples than can be counted.
pub(super) fn measure(class: &mut [Graded], Asked { samples, seed, jobs }: Asked) -> Result<(), Failure> {
    let marked: Vec<usize> = (0..class.len()).filter(|&index| class[index].marked.is_some()).collect();
    let count = u32::try_from(marked.len()).ok().and_then(|count| count.checked_mul(samples));
    let count = count.ok_or_else(|| Failure::new(Status::Usage, "--sensitivity: too many attempts and threads"))?;
    let bar = progress::runs(count);
    let mut drawn = Vec::new();
    let graded: &[Graded] = class;
    in_order(
        count,
        jobs,
        |task| sample(&graded[marked[(task / samples) as usize]], seed, task % samples),
        |total| {
            bar.inc(1);
            drawn.push(total);
            Ok(())
        },
    )?;
    bar.finish_and_clear();
    for (&index, drawn) in marked.iter().zip(drawn.chunks(samples as usize)) {
        if let Some(marked) = &mut class[index].marked {
            marked.sensitivity = Some(Sensitivity::of(&marked.score, seed, drawn.to_vec()));
        }
    }
    Ok(())
}

/// Total, and whether it passes, of an attempt's hands in one drawn thread; `None` if that comes to no end.
fn sample(graded: &Graded, seed: u64, index: u32) -> Option<(f64, bool)> {
    let case = &graded.marked.as_ref()?.case;
    let thread = &case.scenario.thread;
    let thread = tying_thread(&thread.material, &thread.size, thread.wet, seed, index)?;
    // The recording was read and found whole when it was graded.
    let (recording, _) = read::<Event>(&fs::read(&graded.file).ok()?).ok()?;
    let commands: Vec<TickCommand> = recording.ticks.into_iter().map(|tick| tick.command).collect();
    // What nobody's hands can do in this thread is a fact of the thread, not an end of the class.
    catch_unwind(AssertUnwindSafe(|| carried_out(case, &thread, commands))).ok()?.ok()
}

fn carried_out(
    case: &Case,
    thread: &crate::material::Material,
    commands: Vec<TickCommand>,
) -> Result<(f64, bool), Failure> {
    let mut session = Session::begin_in(case, thread)?;
    let mut hands = Hands::Recorded(commands.into_iter());
    while session.advance(&mut hands)?.is_some() {}
    let (_, score) = session.marked(case);
    Ok((score.total, score.passed))
}
