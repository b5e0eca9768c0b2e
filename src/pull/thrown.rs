//! Knots thrown on the bench, throw upon throw, by what two hands do to the ends of the strands.
//!
//! The hands look: at the turns before they draw them down, at the throw when it is drawn, and at the knot when its ends
//! are cut. A throw that is not what it is to be is taken back and thrown again in another way.

use super::bench::Bench;
use super::hands::{Hands, WINDINGS, Way, strand};
use super::knot::{Fault, Knot};
use super::notation::{Throw, notation};
use super::running::Running;
use super::test::Test;
use super::tie::centreline;
use crate::analysis::reading::{Form, Reading, read};

/// Throws that are tried at most for a knot, for each of the ways; estimate: about a minute's worth.
const TRIES_MAX: usize = 20;

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

/// A knot with its ends cut, still in hand.
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

    /// The knot with its ends let go.
    pub(super) fn released(mut self) -> Knot {
        self.bench.release();
        self.bench.knot
    }
}

/// Throws the knot, throw upon throw, and cuts its ends in hand; a throw that does not read as it should, or after which
/// nothing comes of those that follow, is taken back and thrown again otherwise.
///
/// # Errors
/// Which throw did not come out at first, and how.
pub(super) fn thrown(test: &Test, mesh: f64, form: Form) -> Result<Thrown, Untied> {
    let mut ways = Way::all(form).map(|way| {
        let mut bench = Bench::new(test.section, mesh, strand(&test.throws, 0, way));
        if form == Form::Sliding {
            bench.open_below();
        }
        thrown_on(&bench, test, 0, form, way, &mut { TRIES_MAX })
    });
    let first = ways.next().expect("there are ways");
    first.or_else(|first| ways.find_map(Result::ok).ok_or(first))
}

/// Throw `number` and those that follow, in as many tries as are left, each with another winding.
fn thrown_on(
    bench: &Bench,
    test: &Test,
    number: usize,
    form: Form,
    way: Way,
    left: &mut usize,
) -> Result<Thrown, Untied> {
    if number == test.throws.len() {
        return cut(bench, test, form);
    }
    let mut failed = None;
    for winding in WINDINGS {
        if *left == 0 {
            break;
        }
        *left -= 1;
        let thrown = tried(bench, test, number, form, Way { winding, ..way });
        match thrown.and_then(|bench| thrown_on(&bench, test, number + 1, form, way, left)) {
            Ok(thrown) => return Ok(thrown),
            Err(untied) => {
                // No other way spares the thread.
                if matches!(untied, Untied::Broke { .. }) {
                    *left = 0;
                }
                failed = failed.or(Some(untied));
            }
        }
    }
    Err(failed.unwrap_or_else(|| misthrown(number, "no throw".to_owned(), in_words(&test.throws, form))))
}

/// Cuts both ends [`Test::tail`] beyond the knot, in hand: held up, or if that undoes it, as they are drawn.
fn cut(bench: &Bench, test: &Test, form: Form) -> Result<Thrown, Untied> {
    let last = test.throws.len() - 1;
    let wanted = in_words(&test.throws, form);
    let untouched = || misthrown(last, "no throw".to_owned(), wanted.clone());
    let tight = Running::of(&bench.knot, test.wraps_apart(form, test.throws.len())).ok_or_else(untouched)?;
    let in_hand = |hold_up: bool| {
        let mut bench = bench.clone();
        if hold_up {
            bench.hold_up(tight);
        }
        for (strand, Running { exit, .. }) in tight.into_iter().enumerate() {
            bench.cut_in_hand(strand, bench.node_at(strand, exit + test.tail));
        }
        bench.settle();
        if let Some(fault) = bench.knot.fault {
            return Err(Untied::Unsound { throw: last + 1, fault });
        }
        let found = said(&read(&centreline(&bench.knot)));
        if found == wanted {
            Ok(Thrown { bench, tight })
        } else {
            Err(Untied::Miscut { found, wanted: wanted.clone() })
        }
    };
    in_hand(true).or_else(|held_up| in_hand(false).map_err(|_| held_up))
}

fn misthrown(number: usize, found: String, wanted: String) -> Untied {
    Untied::Misthrown { throw: number + 1, found, wanted }
}

/// The bench after throw `number`, thrown in this way.
fn tried(bench: &Bench, test: &Test, number: usize, form: Form, way: Way) -> Result<Bench, Untied> {
    let mut bench = bench.clone();
    let mut hands = Hands::at(&mut bench, test, number, form, way);
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
