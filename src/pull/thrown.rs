//! Knots thrown on the bench, throw upon throw, by what two hands do to the ends of the strands.
//!
//! The hands look: at the turns before they draw them down, at the throw when it is drawn, and at the knot when its ends
//! are cut. A throw that is not what it is to be is taken back and thrown again in another way.

use super::bench::Bench;
use super::hands::{Drawing, Hands, WINDINGS, Way, drawings, strand};
use super::knot::{Fault, Knot};
use super::notation::{Throw, notation};
use super::running::Running;
use super::test::Test;
use super::tie::centreline;
use crate::analysis::reading::{Form, Reading, read};

/// Throws that are tried at most for a knot, for each of the ways; estimate: half a minute's worth; a throw
/// that is wound counts, and so does each further way to draw it down.
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
    /// A hitch of a sliding knot was not run down.
    #[error(
        "throw {throw}: the hitch stays {height:.1} mm above what is below it, at most {allowed:.1} mm is run down"
    )]
    Open {
        /// Which throw, from 1.
        throw: usize,
        /// How far its top is above what is below [mm].
        height: f64,
        /// How far it may be [mm].
        allowed: f64,
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

    /// Whether it has a hitch that was not run down.
    pub(super) fn stands_open(&self) -> bool {
        self.bench.stands_open
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
            bench.stand(1);
        }
        thrown_on(&bench, test, 0, form, way, &mut { TRIES_MAX })
    });
    let first = ways.next().expect("there are ways");
    first.or_else(|first| match first {
        // No other way spares the thread.
        Untied::Broke { .. } => Err(first),
        _ => ways.find_map(Result::ok).ok_or(first),
    })
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
        let hands = match wound(bench, test, number, form, way, winding) {
            Ok(hands) => hands,
            Err(untied) => {
                failed = failed.or(Some(untied));
                continue;
            }
        };
        for (again, drawing) in drawings(form).into_iter().enumerate() {
            if again > 0 {
                if *left == 0 {
                    break;
                }
                *left -= 1;
            }
            let drawn = drawn(hands.clone(), test, number, form, way, drawing);
            match drawn.and_then(|bench| thrown_on(&bench, test, number + 1, form, way, left)) {
                Ok(thrown) => return Ok(thrown),
                Err(untied) => {
                    if matches!(untied, Untied::Broke { .. }) {
                        *left = 0;
                    }
                    failed = failed.or(Some(untied));
                }
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

/// Both hands when throw `number` is wound but not yet drawn down.
fn wound(bench: &Bench, test: &Test, number: usize, form: Form, way: Way, winding: f64) -> Result<Hands, Untied> {
    let mut hands = Hands::at(bench, test, number, form, way, winding);
    hands.raise_post();
    hands.wind();
    // Turns that are not drawn down lie anyhow, but they are there.
    let wanted = notation(&test.throws[..=number]);
    let right = |reading: &Reading| reading.clear && reading.notation == wanted;
    judged(hands.knot(), number, right, words(&wanted, None))?;
    Ok(hands)
}

/// The bench when throw `number` is drawn down.
fn drawn(
    mut hands: Hands,
    test: &Test,
    number: usize,
    form: Form,
    way: Way,
    drawing: Option<Drawing>,
) -> Result<Bench, Untied> {
    hands.draw(drawing);
    let open = hands.stands_open();
    if way.run_down
        && let Some((height, allowed)) = open
    {
        return Err(Untied::Open { throw: number + 1, height, allowed });
    }
    let wanted = in_words(&test.throws[..=number], form);
    judged(hands.knot(), number, |reading| said(reading) == wanted, wanted.clone())?;
    let mut bench = hands.bench();
    bench.stands_open |= open.is_some();
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
