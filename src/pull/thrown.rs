//! Knots thrown on the bench, throw upon throw, by what two hands do to the ends of the strands.
//!
//! The hands look: at the turns before they draw them down, at the throw when it is drawn, and at the knot when its ends
//! are cut. A throw that is not what it is to be is taken back and thrown again at another distance from the post.

use super::bench::Bench;
use super::hands::{Hands, WINDINGS, strand};
use super::knot::{Fault, Knot};
use super::notation::{Throw, notation};
use super::running::Running;
use super::test::Test;
use super::tie::centreline;
use crate::analysis::reading::{Form, Reading, read};
use crate::math::DVec3;

/// How steeply ends are held up to be cut [1], 63 degrees; estimate: ends that are let go of along the limbs wind round
/// them as they spring.
const RAISED: f64 = 2.0;

/// Why a knot could not be thrown.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Untied {
    /// A step could not be done soundly.
    #[error("throw {throw}: {fault}")]
    Unsound {
        /// Which throw, from 1.
        throw: usize,
        /// What went wrong.
        fault: Fault,
    },
    /// The thread broke.
    #[error("throw {throw}: the thread breaks while it is drawn down")]
    Broke {
        /// Which throw, from 1.
        throw: usize,
    },
    /// The throw did not become what was asked for.
    #[error("throw {throw}: the thread then reads {found}, asked for was {wanted}")]
    Misthrown {
        /// Which throw, from 1.
        throw: usize,
        /// What the thread reads.
        found: String,
        /// What it was to read.
        wanted: String,
    },
    /// The throws were right until the ends were held up and cut.
    #[error("with its ends cut it reads {found}, asked for was {wanted}")]
    Miscut {
        /// What the thread reads.
        found: String,
        /// What it was to read.
        wanted: String,
    },
}

/// A knot with the ends still drawn.
pub(super) struct Thrown {
    bench: Bench,
    /// Where the strands ran when it was tight.
    pub(super) tight: [Running; 2],
}

impl Thrown {
    /// The knot as it is.
    pub(super) fn knot(&self) -> &Knot {
        &self.bench.knot
    }

    /// Holds both ends up and cuts them `tail` [mm] beyond the knot, in hand; their lengths then [mm].
    pub(super) fn cut(&mut self, tail: f64) -> [f64; 2] {
        let Thrown { bench, tight } = self;
        let exits = [0, 1].map(|k| bench.knot.rod.positions[bench.node_at(k, tight[k].exit)]);
        let middle = 0.5 * (exits[0] + exits[1]);
        let reach = 1.3 * bench.length(0).max(bench.length(1));
        let raised = |bench: &Bench, strand: usize| {
            let side = (bench.end(strand).x - middle.x).signum();
            middle + DVec3::new(side, 0.0, RAISED).normalize() * reach
        };
        let to = [raised(bench, 0), raised(bench, 1)];
        bench.carry(to, 0);
        bench.settle();
        let lengths = [0, 1].map(|k| {
            bench.cut_in_hand(k, bench.node_at(k, tight[k].exit + tail));
            bench.length(k) - tight[k].exit
        });
        bench.settle();
        lengths
    }

    /// The knot with its ends let go.
    pub(super) fn released(mut self) -> Knot {
        self.bench.release();
        self.bench.knot
    }
}

/// Throws the knot, throw upon throw; a throw that does not read as it should is taken back and thrown again otherwise.
///
/// # Errors
/// Which throw did not come out, and how.
pub(super) fn thrown(test: &Test, mesh: f64, form: Form) -> Result<Thrown, Untied> {
    let mut bench = Bench::new(test.section, mesh, strand(&test.throws, 0, form));
    if form == Form::Sliding {
        bench.open_below();
    }
    for number in 0..test.throws.len() {
        let mut tried = WINDINGS.iter().map(|&winding| tried(&bench, test, number, form, winding));
        let first = tried.next().expect("there are windings");
        bench = first.or_else(|first| tried.find_map(Result::ok).ok_or(first))?;
    }
    let wanted = in_words(&test.throws, form);
    let untouched = || Untied::Misthrown { throw: test.throws.len(), found: "no throw".to_owned(), wanted };
    let tight = Running::of(&bench.knot, test.wraps_max()).ok_or_else(untouched)?;
    Ok(Thrown { bench, tight })
}

/// The bench after throw `number`, wound at this distance from the post.
fn tried(bench: &Bench, test: &Test, number: usize, form: Form, winding: f64) -> Result<Bench, Untied> {
    let mut bench = bench.clone();
    let mut hands = Hands::at(&mut bench, test, number, form, winding);
    hands.raise_post();
    hands.wind();
    // Turns that are not drawn down lie anyhow, but they are there.
    let wound = &test.throws[..=number];
    judged(
        hands.knot(),
        number,
        |reading| reading.clear && reading.notation == notation(wound),
        words(&notation(wound), None),
    )?;
    hands.draw();
    let wanted = in_words(wound, form);
    judged(&bench.knot, number, |reading| said(reading) == wanted, wanted.clone())?;
    Ok(bench)
}

/// Whether the thread is sound and reads as it should after throw `number`, from 0.
fn judged(knot: &Knot, number: usize, right: impl Fn(&Reading) -> bool, wanted: String) -> Result<(), Untied> {
    let throw = number + 1;
    if let Some(fault) = knot.fault {
        return Err(Untied::Unsound { throw, fault });
    }
    if knot.thread_break.is_some() {
        return Err(Untied::Broke { throw });
    }
    let reading = read(&centreline(knot));
    if right(&reading) { Ok(()) } else { Err(Untied::Misthrown { throw, found: said(&reading), wanted }) }
}

/// A knot and its form as a reading says it.
pub(super) fn in_words(throws: &[Throw], form: Form) -> String {
    words(&notation(throws), Some(form))
}

/// What a reading says.
pub(super) fn said(reading: &Reading) -> String {
    if reading.clear { words(&reading.notation, reading.form) } else { "unclear".to_owned() }
}

fn words(notation: &str, form: Option<Form>) -> String {
    match form {
        Some(Form::Flat) => format!("`{notation}`, flat"),
        Some(Form::Sliding) => format!("`{notation}`, sliding"),
        None if notation.is_empty() => "no throw".to_owned(),
        None => format!("`{notation}`"),
    }
}
